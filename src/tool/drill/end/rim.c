#include "tool/drill/end/rim.h"

#include "edge/circle.h"
#include "maths/stats.h"

/* Means on either side of a step are taken over so many px: more in large pictures, whose edges are
 * wider. */
static guint
arm_of (const WsEndPoint *point)
{
  return (guint)CLAMP (0.008 * point->radius, 4, 20);
}

/* Mean lightness about a place, over a few px to both sides along `along`. */
static double
level_at (const WsEndPicture *picture, WsPoint at, WsPoint along, double half)
{
  double sum = 0;
  guint n = 0;
  for (double t = -half; t <= half; t += 1, n++)
    sum += wsi_end_lightness (picture, wsi_point_along (at, t, along));
  return sum / n;
}

/* A search outward, over what ends where the ground begins. */
typedef struct
{
  WsPoint from, out, along; /* `along` is square to `out` */
  double reach;
} Outward;

/* Where the flank ends: light falls outward, or inward where the ground is lighter.  Distance from
 * the start, px; NAN without. */
static double
flank_end (const WsEndPicture *picture, const Outward *search, guint arm, gint smooth)
{
  const WsPoint end = wsi_point_along (search->from, search->reach, search->out);
  const double half = 2 * arm;
  double drop;
  if (level_at (picture, search->from, search->along, half) >=
      level_at (picture, end, search->along, half))
  {
    const double at = wsi_end_steepest_fall (picture, search->from, search->out, search->along,
                                             search->reach, arm, smooth, &drop);
    return drop < WS_END_LEAST_FALL ? (double)NAN : at;
  }
  const double at = wsi_end_steepest_fall (picture, end, wsi_end_scaled (search->out, -1),
                                           search->along, search->reach, arm, smooth, &drop);
  return drop < WS_END_LEAST_FALL ? (double)NAN : search->reach - at;
}

/* The flank's end just inside the lip. */
static gboolean
find_corner (const WsEndPicture *picture, const WsEndPoint *point, WsEndLip *lip)
{
  const double inside = CLAMP (0.012 * point->radius, 3, 12);
  const WsPoint foot = wsi_end_lip_foot (lip, point->centre);
  const double from = 0.88 * point->radius, reach = MIN (0.26 * point->radius, WS_END_MAX_WINDOW);
  const WsPoint start =
    wsi_point_along (wsi_point_along (foot, from, lip->outward), inside, lip->inward);
  const Outward search = { start, lip->outward, lip->inward, reach };
  const double at = flank_end (picture, &search, arm_of (point), 1);
  if (isnan (at))
    return FALSE;
  lip->corner = wsi_point_along (foot, from + at, lip->outward);
  return TRUE;
}

/* Margin arcs are followed so far from the corner, degrees, in steps. */
#define ARC_DEG 30.0
#define ARC_STEPS 240

typedef struct
{
  double radius[ARC_STEPS]; /* of the flank's rim, px; NAN where not seen */
  double direction;         /* of growing angle: 1 or -1 */
  double start;             /* angle of the corner, rad */
} Rim;

static WsPoint
polar (WsPoint centre, double radius, double angle)
{
  return wsi_point (centre.x + radius * cos (angle), centre.y + radius * sin (angle));
}

static void
trace_rim (const WsEndPicture *picture, const WsEndPoint *point, const WsEndLip *lip, Rim *rim)
{
  const WsPoint arm = wsi_point_sub (lip->corner, point->centre);
  const double length = wsi_point_length (arm), from = 0.9 * length;
  rim->start = atan2 (arm.y, arm.x);
  rim->direction = wsi_point_cross (arm, lip->inward) > 0 ? 1 : -1;
  for (guint i = 0; i < ARC_STEPS; i++)
  {
    const double angle =
      rim->start + rim->direction * wsi_radians (ARC_DEG * (i + 4.0) / ARC_STEPS);
    const WsPoint out = polar (wsi_point (0, 0), 1, angle);
    const Outward search = { wsi_point_along (point->centre, from, out), out,
                             wsi_point (-out.y, out.x), 0.16 * length };
    rim->radius[i] = from + flank_end (picture, &search, arm_of (point), 1);
  }
}

static double
median_radius (const Rim *rim, guint from, guint to)
{
  double values[ARC_STEPS];
  guint n = 0;
  for (guint i = from; i < MIN (to, ARC_STEPS); i++)
    if (isfinite (rim->radius[i]))
      values[n++] = rim->radius[i];
  return n > 4 ? wsi_median (values, n) : NAN;
}

/* Body clearance falls short of the margin by this much of the radius at least. */
#define LEAST_STEP 0.008

/* Share of the step's height from which it has begun. */
#define STEP_BEGINS 0.2

static double
margin_radius (const Rim *rim)
{
  return median_radius (rim, 0, 24);
}

static double
clear_radius (const Rim *rim)
{
  return median_radius (rim, 160, ARC_STEPS);
}

/* Where the rim begins to fall from margin to clearance; 0 without. */
static guint
margin_end (const Rim *rim)
{
  const double margin = margin_radius (rim), clear = clear_radius (rim);
  if (!(margin - clear > LEAST_STEP * margin))
    return 0;
  const double level = margin - STEP_BEGINS * (margin - clear);
  for (guint i = 3; i + 3 < ARC_STEPS; i++)
    if (rim->radius[i] < level && rim->radius[i + 1] < level && rim->radius[i + 2] < level)
      return i;
  return 0;
}

/* The rim up to the margin's step, or so many steps without one, must be a part of a circle about
 * the axis: other things have corners, but no margins. */
#define ROUND_STEPS 120
#define LEAST_MARGIN_STEPS 20
#define MOST_OUT_OF_ROUND 0.008

static gboolean
is_round (const Rim *rim, guint end)
{
  const guint n = end > 0 ? end : ROUND_STEPS;
  if (n < LEAST_MARGIN_STEPS)
    return FALSE;
  const double first = median_radius (rim, 0, n / 2), second = median_radius (rim, n / 2, n);
  return fabs (first - second) < MOST_OUT_OF_ROUND * first;
}

/* The arcs' points within 1 % of the corners' radius, and the corners. */
static void
add_arc (const WsEndPoint *point, const Rim *rim, guint end, GArray *points)
{
  const double margin = margin_radius (rim);
  for (guint i = 0; i < (end > 0 ? end : 24); i++)
  {
    if (!(fabs (rim->radius[i] - margin) < 0.006 * margin))
      continue;
    const double angle =
      rim->start + rim->direction * wsi_radians (ARC_DEG * (i + 4.0) / ARC_STEPS);
    const WsPoint p = polar (point->centre, rim->radius[i], angle);
    g_array_append_val (points, p);
  }
}

/* Between clearance and margin there is flank up to the margin's step, and depth behind it: these
 * parts of the radius (body clearances of 1 to 2 % of the diameter: common practice, no source). */
#define MARGIN_BAND_FROM 0.980
#define MARGIN_BAND_TO 0.993

/* Margins end between these angles from the corner, degrees. */
#define MARGIN_LEAST_DEG 4.0
#define MARGIN_MOST_DEG 20.0

/* How much stronger the step is than any other, a few steps away. */
#define MARGIN_CLEAR 1.6
#define MARGIN_APART 12

static double
band_light (const WsEndPicture *picture, const WsEndPoint *point, double angle)
{
  const double from = MARGIN_BAND_FROM * point->radius, to = MARGIN_BAND_TO * point->radius;
  double sum = 0;
  guint n = 0;
  for (double r = from; r <= to; r += 1, n++)
    sum += wsi_end_lightness (picture, polar (point->centre, r, angle));
  return n > 0 ? sum / n : (double)NAN;
}

/* Arc from the corner to where the flank ends behind the margin, rad; NAN where no step stands
 * out. */
static double
margin_arc (const WsEndPicture *picture, const WsEndPoint *point, const Rim *rim)
{
  const guint arm = 8;
  double light[ARC_STEPS], change[ARC_STEPS] = { 0 };
  for (guint i = 0; i < ARC_STEPS; i++)
    light[i] = band_light (picture, point,
                           rim->start + rim->direction * wsi_radians (ARC_DEG * i / ARC_STEPS));
  const guint from = (guint)(MARGIN_LEAST_DEG * ARC_STEPS / ARC_DEG),
              to = (guint)(MARGIN_MOST_DEG * ARC_STEPS / ARC_DEG);
  guint best = from;
  for (guint i = from; i < to; i++)
  {
    double before = 0, after = 0;
    for (guint k = 0; k < arm; k++)
    {
      before += light[i - 1 - k] / arm;
      after += light[i + k] / arm;
    }
    change[i] = fabs (after - before);
    if (change[i] > change[best])
      best = i;
  }
  double second = 0;
  for (guint i = from; i < to; i++)
    if (i + MARGIN_APART < best || i > best + MARGIN_APART)
      second = MAX (second, change[i]);
  if (!(change[best] >= WS_END_LEAST_FALL && change[best] > MARGIN_CLEAR * second))
    return NAN;
  return wsi_radians (ARC_DEG * (best - 0.5) / ARC_STEPS);
}

/* One lip's rim about the present centre; FALSE when it is no margin's. */
static gboolean
read_rim (const WsEndPicture *picture, const WsEndPoint *point, WsEndLip *lip, GArray *points)
{
  Rim rim;
  trace_rim (picture, point, lip, &rim);
  const guint end = margin_end (&rim);
  lip->margin = margin_arc (picture, point, &rim) * point->radius;
  lip->rim_step =
    end > 0 ? wsi_radians (ARC_DEG * (end + 4.0) / ARC_STEPS) * point->radius : (double)NAN;
  lip->clearance = 1 - clear_radius (&rim) / margin_radius (&rim);
  if (!is_round (&rim, end))
    return FALSE;
  add_arc (point, &rim, end, points);
  return TRUE;
}

/* Two short arcs: the circle may only refine what the corners say. */
static void
refine_circle (WsEndPoint *point, const GArray *points)
{
  WsCircle circle;
  if (points->len > 30 && wsi_circle_fit ((WsPoint *)(void *)points->data, points->len, &circle) &&
      wsi_point_distance (circle.centre, point->centre) < 0.012 * point->radius &&
      fabs (circle.radius - point->radius) < 0.01 * point->radius)
  {
    point->centre = wsi_point (0.5 * (circle.centre.x + point->centre.x),
                               0.5 * (circle.centre.y + point->centre.y));
    point->radius = circle.radius;
  }
}

/* Corners half a turn apart. */
static gboolean
by_both_corners (const WsEndPicture *picture, WsEndPoint *point, gboolean seen[2])
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const WsPoint a = point->lips[0].corner, b = point->lips[1].corner;
  point->centre = wsi_point (0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
  point->radius = 0.5 * wsi_point_distance (a, b);
  point->u_centre = 0.003 * point->radius + 0.7;
  for (guint k = 0; k < 2; k++)
    seen[k] = read_rim (picture, point, &point->lips[k], points);
  if (!seen[0] || !seen[1])
    return FALSE;
  refine_circle (point, points);
  return TRUE;
}

/* The centre of symmetry, which unequal light on the flanks moves by up to 0.07 R (rendered
 * points). */
#define U_SYMMETRY 0.03

/* The other flank has the ground's own light: its corner lies half a turn from this one. */
static gboolean
by_one_corner (const WsEndPicture *picture, WsEndPoint *point, guint k, WsPoint symmetry)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  WsEndLip *lip = &point->lips[k], *other = &point->lips[1 - k];
  point->centre = symmetry;
  point->radius = wsi_point_distance (lip->corner, symmetry);
  point->u_centre = U_SYMMETRY * point->radius;
  if (!read_rim (picture, point, lip, points))
    return FALSE;
  other->corner = wsi_point_sub (wsi_end_scaled (symmetry, 2), lip->corner);
  other->margin = other->rim_step = other->clearance = NAN;
  return TRUE;
}

gboolean
wsi_end_circle_find (const WsEndPicture *picture, WsEndPoint *point)
{
  const WsPoint symmetry = point->centre;
  gboolean seen[2];
  for (guint k = 0; k < 2; k++)
    seen[k] = find_corner (picture, point, &point->lips[k]);
  if (seen[0] && seen[1] && by_both_corners (picture, point, seen))
    return TRUE;
  for (guint k = 0; k < 2; k++)
    if (seen[k] && by_one_corner (picture, point, k, symmetry))
      return TRUE;
  return FALSE;
}

double
wsi_end_least_margin (const WsEndPoint *point)
{
  return wsi_radians (MARGIN_LEAST_DEG) * point->radius;
}
