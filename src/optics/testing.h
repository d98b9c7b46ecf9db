/*
 * What tests of calibration share: pins and rings as pictures in memory.
 */
#ifndef WS_OPTICS_TESTING_H
#define WS_OPTICS_TESTING_H

#include "edge/testing.h"

#include "base/geometry.h"

#define CIRCLE_CORNERS 3000

/* Of 16 bits of linear light.  The caller owns the result. */
static inline WsImage *
take_polygons (const ScenePolygon *polygons, gsize n, const SceneCamera *camera)
{
  g_autoptr (SceneImage) scene = scene_render_polygons (polygons, n, camera);
  assert_true (scene->bits == 16 && scene->channels == 1 && scene->encoding == SCENE_LINEAR);
  WsImage *image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  image->tone = WS_TONE_LINEAR;
  return image;
}

/* A pin about its middle; `direction` is where its centre line goes. */
typedef struct
{
  WsPoint middle;
  double angle_deg;
  double length, width; /* px */
} PinShape;

static inline void
pin_corners (const PinShape *pin, ScenePoint corners[4])
{
  const double a = wsi_radians (pin->angle_deg), c = cos (a), s = sin (a);
  const double l = 0.5 * pin->length, w = 0.5 * pin->width;
  const double at[4][2] = { { -l, -w }, { l, -w }, { l, w }, { -l, w } };
  for (guint i = 0; i < 4; i++)
    corners[i] = (ScenePoint){ pin->middle.x + at[i][0] * c - at[i][1] * s,
                               pin->middle.y + at[i][0] * s + at[i][1] * c };
}

static inline WsImage *
take_pin (const PinShape *pin, const SceneCamera *camera)
{
  ScenePoint corners[4];
  pin_corners (pin, corners);
  const ScenePolygon polygon = { corners, 4, 1.0 };
  return take_polygons (&polygon, 1, camera);
}

/* The corners lie outside the circle so that the polygon has its area. */
static inline void
circle_corners (WsPoint centre, double radius, ScenePoint *corners)
{
  const double step = 2 * G_PI / CIRCLE_CORNERS, r = radius * sqrt (step / sin (step));
  for (guint i = 0; i < CIRCLE_CORNERS; i++)
    corners[i] = (ScenePoint){ centre.x + r * cos (i * step), centre.y + r * sin (i * step) };
}

/* A ring; a disc when `inner` is 0. */
static inline WsImage *
take_ring (WsPoint centre, double outer, double inner, const SceneCamera *camera)
{
  g_autofree ScenePoint *corners = g_new (ScenePoint, 2 * CIRCLE_CORNERS);
  circle_corners (centre, outer, corners);
  circle_corners (centre, inner, corners + CIRCLE_CORNERS);
  const ScenePolygon polygons[2] = { { corners, CIRCLE_CORNERS, 1.0 },
                                     { corners + CIRCLE_CORNERS, CIRCLE_CORNERS, -1.0 } };
  return take_polygons (polygons, inner > 0 ? 2 : 1, camera);
}

#endif
