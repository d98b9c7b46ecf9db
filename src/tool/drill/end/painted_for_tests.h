/*
 * A two-flute drill's point seen from the end, painted flat: what tests of finding it know by
 * construction.
 *
 * Frame: t along lip a from the axis outward, n toward lip a's side, so that lip a is n = web / 2
 * and lip b, half a turn on, n = - web / 2.
 */
#ifndef WS_TOOL_DRILL_END_PAINTED_FOR_TESTS_H
#define WS_TOOL_DRILL_END_PAINTED_FOR_TESTS_H

#include "base/testing.h"

#include "base/geometry.h"
#include "tool/drill/end/picture.h"

#include <whetsight/image.h>

typedef struct
{
  guint size; /* of the square picture, px */
  WsPoint centre;
  double radius, web; /* px */
  double roll_deg;    /* of lip a */
  gboolean left_hand;
  double acute_deg;  /* between chisel edge and lips */
  double bow;        /* the chisel edge is an S: so many px times s^3 - s over its half lengths */
  double shown;      /* the part of it at which the flanks' light differs */
  double margin_deg; /* arc from the corner to the margin's step */
  double clearance;  /* of the body behind it, in radii */
  double flank[2], flute, depth, ground; /* linear light; depth: of the body behind the margins */
  double noise;
} Painted;

#define PAINTED_POINT                                                                              \
  {                                                                                                \
    .size = 520, .centre = { 263.3, 256.8 }, .radius = 200, .web = 56, .roll_deg = 20,             \
    .acute_deg = 55, .shown = 1, .margin_deg = 10, .clearance = 0.025, .flank = { 0.6, 0.45 },     \
    .flute = 0.12, .depth = 0.06, .ground = 0.02                                                   \
  }

static inline WsPoint
painted_along (const Painted *painted)
{
  const double roll = wsi_radians (painted->roll_deg);
  return wsi_point (cos (roll), sin (roll));
}

static inline WsPoint
painted_across (const Painted *painted)
{
  const WsPoint e = painted_along (painted);
  return painted->left_hand ? wsi_point (-e.y, e.x) : wsi_point (e.y, -e.x);
}

/* A place of the frame in the picture. */
static inline WsPoint
painted_place (const Painted *painted, double t, double n)
{
  return wsi_point_along (wsi_point_along (painted->centre, t, painted_along (painted)), n,
                          painted_across (painted));
}

/* Light of flank k at (t, n), where it may end behind its margin. */
static inline double
painted_flank (const Painted *painted, guint k, double t, double n)
{
  const double r = hypot (t, n);
  const double turn = (k == 0 ? atan2 (n, t) : atan2 (-n, -t));
  const double behind = asin (0.5 * painted->web / painted->radius) - turn;
  const gboolean is_margin = behind >= 0 && behind <= wsi_radians (painted->margin_deg);
  if (!is_margin && r > (1 - painted->clearance) * painted->radius)
    return painted->depth;
  const double a = wsi_radians (painted->acute_deg);
  const double s = (t * cos (a) + n * sin (a)) * sin (a) / (0.5 * painted->web);
  const double o = n * cos (a) - t * sin (a);
  const gboolean is_hidden = fabs (s) > painted->shown && fabs (s) <= 1.2 && fabs (o) < 20;
  return painted->flank[is_hidden ? 0 : k];
}

static inline double
painted_light (const Painted *painted, double t, double n)
{
  const double a = wsi_radians (painted->acute_deg), half = 0.5 * painted->web / sin (a);
  if (hypot (t, n) > painted->radius)
    return painted->ground;
  /* Flutes reach from a lip to the other flank's heel, which is bent. */
  const double up = fabs (n) - 0.5 * painted->web, side = n > 0 ? t : -t;
  const double heel = half * cos (a) + 0.25 * up + 0.5 * up * up / painted->radius;
  if (up > 0)
    return side > heel ? painted->flute : painted_flank (painted, n > 0 ? 1 : 0, t, n);
  const double s = (t * cos (a) + n * sin (a)) / half, o = n * cos (a) - t * sin (a);
  const double edge = fabs (s) < 1 ? painted->bow * (s * s * s - s) : 0;
  return painted_flank (painted, o > edge ? 1 : 0, t, n);
}

#define PAINTED_FINE 4

/* Each pixel sees 2 px square.  The caller owns the result. */
static inline WsImage *
paint (const Painted *painted)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (20);
  WsImage *image = ws_image_new (painted->size, painted->size, NULL);
  const WsPoint e = painted_along (painted), across = painted_across (painted);
  for (guint y = 0; y < painted->size; y++)
    for (guint x = 0; x < painted->size; x++)
    {
      double sum = 0;
      for (guint k = 0; k < PAINTED_FINE * PAINTED_FINE; k++)
      {
        const guint column = k % PAINTED_FINE, row = k / PAINTED_FINE;
        const double dx = (column + 0.5) * 2 / PAINTED_FINE - 1,
                     dy = (row + 0.5) * 2 / PAINTED_FINE - 1;
        const WsPoint off = wsi_point_sub (wsi_point (x + dx, y + dy), painted->centre);
        sum += painted_light (painted, wsi_point_dot (off, e), wsi_point_dot (off, across));
      }
      const double noise = painted->noise * (g_rand_double (random) + g_rand_double (random) +
                                             g_rand_double (random) - 1.5);
      const double light = sum / (PAINTED_FINE * PAINTED_FINE) + noise;
      image->linear[(gsize)y * painted->size + x] =
        (guint16)(CLAMP (light, 0, 1) * WS_IMAGE_FULL_SCALE);
    }
  return image;
}

#endif
