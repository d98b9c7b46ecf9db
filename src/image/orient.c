#include "image/decoder.h"

#include <math.h>

#include <string.h>

/* Pixels are turned in squares of this side, so that both planes stay in the cache. */
#define TILE 32U

typedef struct
{
  guint width, height; /* of the picture as stored */
  gboolean mirror_x;   /* stored columns run from right to left */
  gboolean mirror_y;   /* stored rows run from bottom to top */
  gboolean transpose;  /* stored rows are columns */
} Turn;

static Turn
turn_for (const WsImage *image, guint orientation)
{
  return (Turn){
    .width = image->width,
    .height = image->height,
    .mirror_x = orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8,
    .mirror_y = orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7,
    .transpose = orientation >= 5,
  };
}

/* Where the stored pixel (x, y) belongs. */
static inline gsize
target (const Turn *turn, guint x, guint y)
{
  const guint column = turn->mirror_x ? turn->width - 1 - x : x;
  const guint row = turn->mirror_y ? turn->height - 1 - y : y;
  return turn->transpose ? (gsize)column * turn->height + row : (gsize)row * turn->width + column;
}

/* Inlined with a constant `size`, bytes a pixel. */
static inline void
turn_tile (const Turn *turn, const guint8 *from, guint8 *to, gsize size, guint x0, guint y0)
{
  const guint x1 = MIN (x0 + TILE, turn->width);
  const guint y1 = MIN (y0 + TILE, turn->height);

  for (guint y = y0; y < y1; y++)
    for (guint x = x0; x < x1; x++)
      memcpy (to + size * target (turn, x, y), from + size * ((gsize)y * turn->width + x), size);
}

/* Takes the plane, unless there is no memory for it: then NULL. */
static gpointer
turn_plane (const Turn *turn, gpointer plane, gsize size)
{
  guint8 *turned = g_try_malloc_n ((gsize)turn->width * turn->height, size);
  if (turned == NULL)
    return NULL;
  for (guint y = 0; y < turn->height; y += TILE)
    for (guint x = 0; x < turn->width; x += TILE)
      size == 1   ? turn_tile (turn, plane, turned, 1, x, y)
      : size == 2 ? turn_tile (turn, plane, turned, 2, x, y)
                  : turn_tile (turn, plane, turned, 3, x, y);
  g_free (plane);
  return turned;
}

static gboolean
turn_planes (const Turn *turn, WsImage *image)
{
  gpointer planes[] = { image->linear, image->coded, image->rgb };
  static const gsize sizes[] = { sizeof (guint16), 1, 3 };
  gboolean done = TRUE;
  for (guint i = 0; done && i < G_N_ELEMENTS (planes); i++)
  {
    gpointer turned = planes[i] != NULL ? turn_plane (turn, planes[i], sizes[i]) : NULL;
    done = turned != NULL || planes[i] == NULL;
    planes[i] = done ? turned : planes[i];
  }
  image->linear = planes[0];
  image->coded = planes[1];
  image->rgb = planes[2];
  return done;
}

gboolean
wsi_image_orient (WsImage *image, guint orientation, GError **error)
{
  if (orientation < 2 || orientation > 8)
    return TRUE;

  const Turn turn = turn_for (image, orientation);
  if (!turn_planes (&turn, image))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                 "no memory to turn a picture of %u x %u pixels; take a smaller one", turn.width,
                 turn.height);
    return FALSE;
  }
  image->width = turn.transpose ? turn.height : turn.width;
  image->height = turn.transpose ? turn.width : turn.height;
  if (turn.transpose && image->pixel_aspect > 0)
    image->pixel_aspect = 1 / image->pixel_aspect;
  return TRUE;
}

double
wsi_image_aspect (double along_x, double along_y)
{
  return along_x > 0 && along_y > 0 && isfinite (along_y / along_x) ? along_y / along_x : 0;
}
