#include "tool/blade/corner.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "maths/stats.h"

#define GAP_STEPS 64
#define GAP_HALVINGS 30
#define GAP_REACH 5.0 /* blurs */

/* Where a rounded corner begins at v across from its bisector, along it from where its lines
 * meet. */
static double
border (double interior, double radius, double v)
{
  const double half = 0.5 * interior;
  if (v < radius * cos (half))
    return radius / sin (half) - sqrt (radius * radius - v * v);
  return v / tan (half);
}

/* A blurred corner, in steps across from its bisector. */
typedef struct
{
  double blur, step;
  double weight[GAP_STEPS], border[GAP_STEPS];
  double most; /* its gap is no greater */
} Rounded;

static Rounded
rounded (double interior, double radius, double blur)
{
  Rounded shape = { .blur = blur,
                    .step = GAP_REACH * blur / GAP_STEPS,
                    .most = radius * (1 / sin (0.5 * interior) - 1) + 4 * blur };
  for (guint i = 0; i < GAP_STEPS; i++)
  {
    const double v = (i + 0.5) * shape.step;
    shape.weight[i] = wsi_normal_pdf (v / blur);
    shape.border[i] = border (interior, radius, v);
  }
  return shape;
}

/* Is less than half the light taken away at a place of the bisector?  The shape weighted by the
 * blur, along in closed form, across by the midpoint rule, both sides alike. */
static gboolean
is_before_gap (const Rounded *shape, double at)
{
  double sum = 0;
  for (guint i = 0; i < GAP_STEPS; i++)
    sum += shape->weight[i] * wsi_normal_cdf ((at - shape->border[i]) / shape->blur);
  return 2 * sum * shape->step / shape->blur < 0.5;
}

double
wsi_blade_corner_gap (double interior, double radius, double blur)
{
  const Rounded shape = rounded (interior, radius, blur);
  double low = 0, high = shape.most;
  for (guint i = 0; i < GAP_HALVINGS; i++)
  {
    const double middle = 0.5 * (low + high);
    if (is_before_gap (&shape, middle))
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* Whether wsi_blade_corner_gap() is less than `gap`, by looking only at the ends of the interval
 * that its halvings would come to there: light grows along the bisector. */
static gboolean
has_less_gap (double interior, double radius, double blur, double gap)
{
  const Rounded shape = rounded (interior, radius, blur);
  double low = 0, high = shape.most;
  for (guint i = 0; i < GAP_HALVINGS; i++)
  {
    const double middle = 0.5 * (low + high);
    if (middle < gap)
      low = middle;
    else
      high = middle;
  }
  if (low > 0 && !is_before_gap (&shape, low))
    return TRUE;
  if (high < shape.most && is_before_gap (&shape, high))
    return FALSE;
  return 0.5 * (low + high) < gap;
}

double
wsi_blade_corner_radius (double interior, double gap, double blur)
{
  double low = 0, high = gap / (1 / sin (0.5 * interior) - 1);
  if (gap <= wsi_blade_corner_gap (interior, 0, blur))
    return 0;
  for (guint i = 0; i < 20; i++)
  {
    const double middle = 0.5 * (low + high);
    if (has_less_gap (interior, middle, blur, gap))
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* The outline near a corner in its own frame: x along the bisector inward, y across. */
static WsPoint
in_corner (const WsBladeCorner *corner, WsPoint p)
{
  const WsPoint d = wsi_point_sub (p, corner->place);
  return wsi_point (wsi_point_dot (d, corner->inward), wsi_point_cross (corner->inward, d));
}

/* Where the outline crosses the bisector nearest the corner. */
static double
crossing (const WsBlade *blade, const WsBladeCorner *corner)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  double nearest = HUGE_VAL;
  for (guint i = 1; i < blade->path->len; i++)
  {
    const WsPoint p = in_corner (corner, wsi_blade_place (&points[i - 1]));
    const WsPoint q = in_corner (corner, wsi_blade_place (&points[i]));
    if ((p.y > 0) == (q.y > 0))
      continue;
    const double x = p.x + (q.x - p.x) * p.y / (p.y - q.y);
    if (fabs (x) < fabs (nearest))
      nearest = x;
  }
  return isfinite (nearest) ? nearest : 0;
}

/* A parabola through the outline about the crossing: one point alone would carry its noise,
 * 2.4 times greater, into the radius. */
static double
measure_gap (const WsBlade *blade, const WsBladeCorner *corner)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const double rough = crossing (blade, corner);
  const double reach = MAX (1.5, 0.8 * rough); /* a third of the radius at a right angle */
  double b[3];
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, 3);
  for (guint i = 0; i < blade->path->len; i++)
  {
    const WsPoint p = in_corner (corner, wsi_blade_place (&points[i]));
    if (fabs (p.y) > reach || fabs (p.x - rough) > 2 + reach)
      continue;
    const double terms[3] = { 1, p.y / reach, p.y * p.y / (reach * reach) };
    wsi_least_squares_add (&sums, terms, p.x, 1);
  }
  /* A[0] counts the points. */
  const gboolean enough = sums.A[0] > 5.5 && wsi_least_squares_solve (&sums, b, NULL);
  return MAX (enough ? b[0] : rough, 0.0);
}

double
wsi_blade_corner_off_arc (const WsBlade *blade, const WsBladeCorner *corner, double radius)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const double half = 0.5 * corner->interior, centre = radius / sin (half);
  double most = 0;
  for (guint i = 0; i < blade->path->len; i++)
  {
    const WsPoint p = in_corner (corner, wsi_blade_place (&points[i]));
    const double x = centre - p.x, distance = hypot (x, p.y);
    /* As seen from its centre, an arc spans what the corner lacks of two right angles. */
    if (distance < 2 * radius && fabs (atan2 (p.y, x)) < G_PI_2 - half)
      most = MAX (most, fabs (distance - radius));
  }
  return most;
}

static void
set_reaches (const WsBlade *blade, WsBladeCorner *corner)
{
  /* By the apparent radius, which holds the blur's rounding; the blur's tails beyond. */
  const double apparent = corner->gap / (1 / sin (0.5 * corner->interior) - 1);
  const double reach = 1.05 * apparent / tan (0.5 * corner->interior) +
                       blade->clear_blurs * blade->outline->blur_px + 1;
  corner->reach[0] = corner->reach[1] = reach;
}

static void
find_nearest (WsBlade *blade, guint k)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  double least = HUGE_VAL;
  for (guint i = 0; i < blade->path->len; i++)
  {
    const double distance =
      wsi_point_distance (wsi_blade_place (&points[i]), blade->corners[k].place);
    if (distance < least)
    {
      least = distance;
      blade->joints[k].before = blade->joints[k].after = i;
    }
  }
}

gboolean
wsi_blade_corner_place (WsBlade *blade, guint k)
{
  WsBladeCorner *corner = &blade->corners[k];
  const WsLineFit *before = &blade->edges[k].line, *after = &blade->edges[k + 1].line;
  const WsPoint back = wsi_point (-before->direction.x, -before->direction.y);
  if (!wsi_line_meet (before, after, &corner->place))
    return FALSE;
  corner->interior = acos (CLAMP (wsi_point_dot (back, after->direction), -1, 1));
  const WsPoint sum = wsi_point_add (back, after->direction);
  const double length = wsi_point_length (sum);
  /* A reflex corner, or none, belongs to no blade. */
  if (length < 1e-6 || wsi_point_cross (before->direction, after->direction) <= 0)
    return FALSE;
  corner->inward = wsi_point (sum.x / length, sum.y / length);
  corner->gap = measure_gap (blade, corner);
  set_reaches (blade, corner);
  find_nearest (blade, k);
  return TRUE;
}

/* A half, and so much more that U covers 0 where 0 can't be told from the radius. */
#define ROUNDED_HALF 0.51

/* By twice the deviation: near a sharp corner the radius grows with the root of the gap, and there
 * is none below zero. */
double
wsi_blade_corner_spread (const WsBladeCorner *corner, double blur, double u_gap)
{
  const double gap = MAX (corner->gap, wsi_blade_corner_gap (corner->interior, 0, blur));
  const double more = wsi_blade_corner_radius (corner->interior, gap + 2 * u_gap, blur);
  const double less = wsi_blade_corner_radius (corner->interior, gap - 2 * u_gap, blur);
  return ROUNDED_HALF * MAX (more - corner->radius, corner->radius - less);
}
