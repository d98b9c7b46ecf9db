/*
 * Blades on a plain ground, painted for the tests of this folder.
 */
#ifndef WS_TOOL_FACE_BLADES_FOR_TESTS_H
#define WS_TOOL_FACE_BLADES_FOR_TESTS_H

#include <math.h>
#include <string.h>

#include "colour/colour.h"

#include <whetsight/image.h>
#include <whetsight/point.h>

#define WIDTH 480
#define HEIGHT 400
#define GROUND 0.08
#define STEEL 0.5

/* A blade of even width whose edge's middle and direction (toward the blade's left, the blade being
 * below when it points left) are told; it goes on out of the picture. */
typedef struct
{
  WsPoint middle;
  double turn; /* rad: 0 comes in from below */
  double width, length;
  double blur;      /* px: the edge is a ramp so wide, */
  double side_blur; /* and the sides, where not 0 */
} Blade;

static inline double
ramp (double distance, double width)
{
  return CLAMP (distance / MAX (width, 0.5) + 0.5, 0.0, 1.0);
}

static inline double
cover (const Blade *blade, double x, double y)
{
  const double dx = x - blade->middle.x, dy = y - blade->middle.y;
  const double u = cos (blade->turn) * dx + sin (blade->turn) * dy,
               v = cos (blade->turn) * dy - sin (blade->turn) * dx;
  return MIN (
    MIN (ramp (v, blade->blur), ramp (blade->length - v, blade->blur)),
    ramp (0.5 * blade->width - fabs (u), blade->side_blur > 0 ? blade->side_blur : blade->blur));
}

static inline WsImage *
picture (const Blade *blades, guint n, double steel)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  image->rgb = g_malloc (3 * WIDTH * HEIGHT);
  image->has_colour = TRUE;
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      double light = GROUND;
      for (guint i = 0; i < n; i++)
        light += cover (&blades[i], x, y) * (steel - GROUND);
      image->linear[y * WIDTH + x] = (guint16)lrint (light * WS_IMAGE_FULL_SCALE);
      memset (image->rgb + 3 * (y * WIDTH + x), (int)lrint (255 * wsi_colour_to_code (light)), 3);
    }
  return image;
}

static inline Blade
usual (void)
{
  return (Blade){ { 240, 130 }, 0.05, 200, 1000, 1.5, 0 };
}

#endif
