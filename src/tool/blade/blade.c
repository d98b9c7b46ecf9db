#include "tool/blade/blade.h"

#include "base/geometry.h"
#include "edge/runs.h"
#include "maths/stats.h"

#include <string.h>

/* The walk is thinned to so many points for the search of the corners. */
#define SEARCH_POINTS 240

/* Rounds of lines and corners, each resting on the others. */
#define ROUNDS 4

/* A front of fewer px has too few points for its angle, common practice for drills too. */
#define MIN_FRONT_PX 60.0

/* Long edges seen over less than this part of the front give no reference. */
#define MIN_SIDE_SHARE 0.3

/* Part of an edge that must be left beside its corners, and that must be sound. */
#define MIN_LEFT_SHARE 0.3
#define MIN_SOUND 0.6

/* Ground edges are straight: scatter and bow beyond these belong to something else.  Rough
 * rendered fronts scatter by up to 0.0015 of their length. */
#define MAX_SCATTER_SHARE 0.006
#define MAX_BOW_SHARE 0.01

/* Interior angles of a blade's corners; common practice, no source: 30 degrees of side rake,
 * relief or top rake are never ground on a cutoff blade. */
#define MIN_INTERIOR_DEG 55.0
#define MAX_INTERIOR_DEG 125.0

/* Greatest angle between the long edges: plan and side view, as above. */
#define MAX_TAPER_DEG 25.0

static const WsEdgePoint *
path_points (const WsBlade *blade)
{
  return (const WsEdgePoint *)(void *)blade->path->data;
}

static WsPoint
place_of (const WsEdgePoint *p)
{
  return ws_point (p->x, p->y);
}

/* ---- The walk from frame to frame -------------------------------------------------- */

/* A gap in the contact with the frame of up to so many points is not the tool's outline. */
#define FRAME_GAP 10

typedef struct
{
  guint start, length; /* of the longest stretch off the frame, cyclic */
  guint stretches;     /* longer than FRAME_GAP */
} Walk;

static Walk
find_walk (const WsOutline *outline)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  const guint n = outline->points->len;
  Walk walk = { 0, 0, 0 };
  guint origin = 0;
  while (origin < n && !points[origin].on_frame)
    origin++;
  guint run = 0;
  for (guint k = 1; origin < n && k <= n; k++)
  {
    const guint i = (origin + k) % n;
    if (!points[i].on_frame)
    {
      run++;
      continue;
    }
    walk.stretches += run > FRAME_GAP;
    if (run > walk.length)
      walk = (Walk){ (i + n - run) % n, run, walk.stretches };
    run = 0;
  }
  return walk;
}

/* Without its ends, where the border cuts the edge's blur. */
static void
take_walk (WsBlade *blade, const Walk *walk)
{
  const WsOutline *outline = blade->outline;
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  const guint n = outline->points->len;
  const guint trim = (guint)ceil ((3 + 3 * outline->blur_px) / outline->spacing_px);
  for (guint k = trim; k + trim < walk->length; k++)
    g_array_append_val (blade->path, points[(walk->start + k) % n]);
}

/* ---- Corners, roughly --------------------------------------------------------------- */

/* The two places that cut the walk into the three straightest stretches. */
static gboolean
split (const WsBlade *blade, WsBladeJoint joints[2])
{
  const guint stride = MAX (blade->path->len / SEARCH_POINTS, 1);
  const guint shortest = 5;
  guint n;
  g_autofree WsRunSums *sums = ws_runs_new (path_points (blade), blade->path->len, stride, &n);
  double best = HUGE_VAL;
  for (guint i = shortest; i + 2 * shortest <= n; i++)
  {
    const double before = ws_runs_misfit (sums, 0, i);
    for (guint j = i + shortest; before < best && j + shortest <= n; j++)
    {
      const double cost = before + ws_runs_misfit (sums, i, j) + ws_runs_misfit (sums, j, n);
      if (cost >= best)
        continue;
      best = cost;
      joints[0] = (WsBladeJoint){ FALSE, i * stride, i * stride };
      joints[1] = (WsBladeJoint){ FALSE, j * stride, j * stride };
    }
  }
  return best < HUGE_VAL;
}

/* ---- Lines --------------------------------------------------------------------------- */

/* Integrated autocorrelation of the residuals, in points: how many neighbours say the same.
 * Bartlett's window over a sixth of the edge, at least 1. */
static double
correlated_points (const WsBladeEdge *edge)
{
  const WsPoint *p = (const WsPoint *)(void *)edge->points->data;
  const guint n = edge->points->len;
  g_autofree double *d = g_new0 (double, n);
  double variance = 0;
  for (guint i = 0; i < n; i++)
  {
    d[i] = edge->used[i] ? ws_line_bowed_distance (&edge->line, p[i]) : 0;
    variance += d[i] * d[i];
  }
  double sum = 1;
  const guint reach = n / 6;
  for (guint lag = 1; lag < reach && variance > 0; lag++)
  {
    double product = 0;
    for (guint i = 0; i + lag < n; i++)
      product += d[i] * d[i + lag];
    sum += 2 * (1 - (double)lag / reach) * product / variance;
  }
  return MAX (sum, 1);
}

/* The outline's own systematic errors, px: greatest bias of a scan line's fit, own trials (as
 * for drills), and what of it a direction over the whole length can take. */
#define EDGE_BIAS_PX 0.003

static void
state_uncertainty (WsBladeEdge *edge)
{
  const WsLineFit *line = &edge->line;
  const double n = MAX (line->n_used, 1), length = line->t_high - line->t_low;
  const double alike = correlated_points (edge);
  const double place = line->scatter * sqrt (alike / n);
  edge->u_place = hypot (MAX (place, line->u_offset), EDGE_BIAS_PX);
  edge->u_angle = hypot (MAX (sqrt (12.0) * place / length, line->u_angle), EDGE_BIAS_PX / length);
}

/* Distance of p from a corner's place along a direction. */
static double
run_from (const WsBladeCorner *corner, WsPoint p, WsPoint along)
{
  return ws_point_dot (ws_point_sub (p, corner->place), along);
}

/* Before edge `e`; 0 is where the first edge enters the picture. */
static gboolean
has_corner (const WsBlade *blade, guint e)
{
  return e > 0 && e < blade->n_edges && !blade->joints[e - 1].is_step;
}

/* Where edge `e` lies in the walk. */
static guint
begin_of (const WsBlade *blade, guint e)
{
  return e == 0 ? 0 : blade->joints[e - 1].after;
}

static guint
end_of (const WsBlade *blade, guint e)
{
  return e + 1 == blade->n_edges ? blade->path->len : blade->joints[e].before;
}

/* Is a point of edge `e` clear of what spoils its ends? */
static gboolean
is_clear (const WsBlade *blade, guint e, WsPoint p)
{
  const WsPoint along = blade->edges[e].line.direction;
  if (has_corner (blade, e) &&
      run_from (&blade->corners[e - 1], p, along) < blade->corners[e - 1].reach[1])
    return FALSE;
  return !has_corner (blade, e + 1) ||
         -run_from (&blade->corners[e], p, along) >= blade->corners[e].reach[0];
}

static void
collect_edge (WsBlade *blade, guint e, gboolean first)
{
  WsBladeEdge *edge = &blade->edges[e];
  const WsEdgePoint *points = path_points (blade);
  const guint from = begin_of (blade, e), to = end_of (blade, e);
  /* Nothing is known of the corners yet: a twelfth at either end is left out. */
  const guint trim = first ? (to - from) / 12 : 0;
  g_array_set_size (edge->points, 0);
  for (guint i = from + trim; i + trim < to; i++)
  {
    const WsPoint p = place_of (&points[i]);
    if (first || is_clear (blade, e, p))
      g_array_append_val (edge->points, p);
  }
  edge->used = g_renew (guint8, edge->used, MAX (edge->points->len, 1));
}

static gboolean
fit_edges (WsBlade *blade, gboolean first)
{
  for (guint e = 0; e < blade->n_edges; e++)
  {
    WsBladeEdge *edge = &blade->edges[e];
    collect_edge (blade, e, first);
    if (!ws_line_fit ((const WsPoint *)(void *)edge->points->data, edge->points->len, edge->used,
                      &edge->line))
      return FALSE;
  }
  return TRUE;
}

/* ---- Corners --------------------------------------------------------------------------- */

#define GAP_STEPS 64
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

/* Light taken away at a place of the bisector: the shape weighted by the blur, along in closed
 * form, across by the midpoint rule, both sides alike. */
static double
taken_at (double interior, double radius, double blur, double at)
{
  const double step = GAP_REACH * blur / GAP_STEPS;
  double sum = 0;
  for (guint i = 0; i < GAP_STEPS; i++)
  {
    const double v = (i + 0.5) * step;
    sum += ws_normal_pdf (v / blur) * ws_normal_cdf ((at - border (interior, radius, v)) / blur);
  }
  return 2 * sum * step / blur;
}

double
ws_blade_corner_gap (double interior, double radius, double blur)
{
  double low = 0, high = radius * (1 / sin (0.5 * interior) - 1) + 4 * blur;
  for (guint i = 0; i < 30; i++)
  {
    const double middle = 0.5 * (low + high);
    if (taken_at (interior, radius, blur, middle) < 0.5)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* The radius that has the gap; 0 when a sharp corner's is greater already. */
static double
radius_for_gap (double interior, double gap, double blur)
{
  double low = 0, high = gap / (1 / sin (0.5 * interior) - 1);
  if (gap <= ws_blade_corner_gap (interior, 0, blur))
    return 0;
  for (guint i = 0; i < 20; i++)
  {
    const double middle = 0.5 * (low + high);
    if (ws_blade_corner_gap (interior, middle, blur) < gap)
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
  const WsPoint d = ws_point_sub (p, corner->place);
  return ws_point (ws_point_dot (d, corner->inward), ws_point_cross (corner->inward, d));
}

/* Where the outline crosses the bisector nearest the corner. */
static double
crossing (const WsBlade *blade, const WsBladeCorner *corner)
{
  const WsEdgePoint *points = path_points (blade);
  double nearest = HUGE_VAL;
  for (guint i = 1; i < blade->path->len; i++)
  {
    const WsPoint p = in_corner (corner, place_of (&points[i - 1]));
    const WsPoint q = in_corner (corner, place_of (&points[i]));
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
  const WsEdgePoint *points = path_points (blade);
  const double rough = crossing (blade, corner);
  const double reach = MAX (1.5, 0.8 * rough); /* a third of the radius at a right angle */
  double A[9] = { 0 }, b[3] = { 0 };
  for (guint i = 0; i < blade->path->len; i++)
  {
    const WsPoint p = in_corner (corner, place_of (&points[i]));
    if (fabs (p.y) > reach || fabs (p.x - rough) > 2 + reach)
      continue;
    const double terms[3] = { 1, p.y / reach, p.y * p.y / (reach * reach) };
    for (guint j = 0; j < 3; j++)
    {
      for (guint k = 0; k < 3; k++)
        A[3 * j + k] += terms[j] * terms[k];
      b[j] += terms[j] * p.x;
    }
  }
  const gboolean enough = A[0] > 5.5 && ws_solve_spd (A, b, 3, FALSE);
  return MAX (enough ? b[0] : rough, 0.0);
}

/* The tail bends the edge by 0.05 blurs at its end, which only a short edge, as a ground top may
 * be, feels. */
#define CLEAR_LONG 2.0
#define CLEAR_SHORT 3.0

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
  const WsEdgePoint *points = path_points (blade);
  double least = HUGE_VAL;
  for (guint i = 0; i < blade->path->len; i++)
  {
    const double distance = ws_point_distance (place_of (&points[i]), blade->corners[k].place);
    if (distance < least)
    {
      least = distance;
      blade->joints[k].before = blade->joints[k].after = i;
    }
  }
}

static gboolean
place_corner (WsBlade *blade, guint k)
{
  WsBladeCorner *corner = &blade->corners[k];
  const WsLineFit *before = &blade->edges[k].line, *after = &blade->edges[k + 1].line;
  const WsPoint back = ws_point (-before->direction.x, -before->direction.y);
  if (!ws_line_meet (before, after, &corner->place))
    return FALSE;
  corner->interior = acos (CLAMP (ws_point_dot (back, after->direction), -1, 1));
  const WsPoint sum = ws_point_add (back, after->direction);
  const double length = ws_point_length (sum);
  /* A reflex corner, or none, belongs to no blade. */
  if (length < 1e-6 || ws_point_cross (before->direction, after->direction) <= 0)
    return FALSE;
  corner->inward = ws_point (sum.x / length, sum.y / length);
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
ws_blade_corner_spread (const WsBladeCorner *corner, double blur, double u_gap)
{
  const double gap = MAX (corner->gap, ws_blade_corner_gap (corner->interior, 0, blur));
  const double more = radius_for_gap (corner->interior, gap + 2 * u_gap, blur);
  const double less = radius_for_gap (corner->interior, gap - 2 * u_gap, blur);
  return ROUNDED_HALF * MAX (more - corner->radius, corner->radius - less);
}

/* ---- Gates ------------------------------------------------------------------------------ */

static gboolean
refuse (WsRetake *reason, WsRetake why, char detail[96], const char *text)
{
  *reason = why;
  g_strlcpy (detail, text, 96);
  return FALSE;
}

static gboolean
gate_walk (const Walk *walk, WsRetake *reason, char detail[96])
{
  if (walk->length == 0)
    return refuse (reason, WS_RETAKE_WRONG_VIEW, detail,
                   "no blade that runs out of the picture on one side");
  if (walk->stretches > 1)
    return refuse (reason, WS_RETAKE_CUT_BY_FRAME, detail,
                   "the outline leaves the picture at more than one place");
  return TRUE;
}

static double
length_of (const WsBladeEdge *edge)
{
  return edge->line.t_high - edge->line.t_low;
}

static gboolean
gate_straight (const WsBladeEdge *edge, WsRetake *reason, char detail[96])
{
  const double length = length_of (edge);
  if (edge->line.scatter > 1 + MAX_SCATTER_SHARE * length ||
      1.5 * fabs (edge->line.bow) > 1 + MAX_BOW_SHARE * length)
    return refuse (reason, WS_RETAKE_WRONG_VIEW, detail, "an edge is not straight");
  if (edge->line.n_used < MIN_SOUND * edge->line.n)
    return refuse (reason, WS_RETAKE_DIRTY_EDGE, detail,
                   "less than 60 % of an edge is clean and straight");
  return TRUE;
}

static gboolean
gate_corners (const WsBlade *blade, WsRetake *reason, char detail[96])
{
  const double taper = ws_degrees (blade->corners[0].interior + blade->corners[1].interior) - 180;
  for (guint k = 0; k < 2; k++)
  {
    const double interior = ws_degrees (blade->corners[k].interior);
    if (interior < MIN_INTERIOR_DEG || interior > MAX_INTERIOR_DEG)
      return refuse (reason, WS_RETAKE_WRONG_VIEW, detail, "the corners are not those of a blade");
  }
  if (fabs (taper) > MAX_TAPER_DEG)
    return refuse (reason, WS_RETAKE_WRONG_VIEW, detail, "the long edges are not those of a blade");
  return TRUE;
}

static gboolean
gate_sizes (const WsBlade *blade, WsRetake *reason, char detail[96])
{
  const double front = ws_point_distance (blade->corners[0].place, blade->corners[1].place);
  if (front < MIN_FRONT_PX)
    return refuse (reason, WS_RETAKE_TOO_SMALL, detail, "the front is shorter than 60 px");
  if (length_of (&blade->edges[WS_BLADE_FRONT]) < MIN_LEFT_SHARE * front)
    return refuse (reason, WS_RETAKE_DIRTY_EDGE, detail,
                   "the corners are damaged over most of the front");
  for (guint e = 0; e < WS_BLADE_N_EDGES; e += 2)
    if (length_of (&blade->edges[e]) < MIN_SIDE_SHARE * front)
      return refuse (reason, WS_RETAKE_CUT_BY_FRAME, detail,
                     "too little of the blade behind its front is in the picture");
  return TRUE;
}

/* Median RMS residual over step of an edge's scan lines; the whole outline has passed the same
 * gate, but an edge that moves across itself is a part of it only. */
#define MAX_EDGE_NOISE 0.12

static double
median_noise (const WsBlade *blade, guint e)
{
  const WsEdgePoint *points = path_points (blade);
  const guint from = begin_of (blade, e), to = MAX (end_of (blade, e), from);
  g_autofree double *noise = g_new (double, to - from + 1);
  for (guint i = from; i < to; i++)
    noise[i - from] = points[i].noise;
  return to > from ? ws_median (noise, to - from) : 0;
}

WsBladeScan
ws_blade_scan (const WsBlade *blade, guint edge)
{
  const WsEdgePoint *points = path_points (blade);
  const guint from = begin_of (blade, edge), to = MAX (end_of (blade, edge), from);
  g_autofree double *values = g_new (double, to - from + 1);
  for (guint i = from; i < to; i++)
    values[i - from] = (double)points[i].noise * (double)points[i].step;
  WsBladeScan scan = { to > from ? ws_median (values, to - from) : 0, 0 };
  for (guint i = from; i < to; i++)
    values[i - from] = (double)points[i].step;
  scan.step = to > from ? ws_median (values, to - from) : 0;
  return scan;
}

static gboolean
gate_sharp (const WsBlade *blade, WsRetake *reason, char detail[96])
{
  for (guint e = 0; e < blade->n_edges; e++)
    if (median_noise (blade, e) > MAX_EDGE_NOISE)
      return refuse (reason, WS_RETAKE_MOTION_BLUR, detail,
                     "one edge is far less sharp than the others");
  return TRUE;
}

static gboolean
gate_edges (const WsBlade *blade, WsRetake *reason, char detail[96])
{
  for (guint e = 0; e < blade->n_edges; e++)
    if (!gate_straight (&blade->edges[e], reason, detail))
      return FALSE;
  return TRUE;
}

static gboolean
gate_whole (const WsBlade *blade, WsRetake *reason, char detail[96])
{
  return gate_edges (blade, reason, detail) && gate_sizes (blade, reason, detail) &&
         gate_corners (blade, reason, detail) && gate_sharp (blade, reason, detail);
}

/* ---- All of it --------------------------------------------------------------------------- */

WsBlade *
ws_blade_walk (const WsOutline *outline, WsRetake *reason, char detail[96])
{
  g_autoptr (WsBlade) blade = g_new0 (WsBlade, 1);
  blade->outline = outline;
  blade->path = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint e = 0; e < WS_BLADE_MAX_EDGES; e++)
    blade->edges[e].points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const Walk walk = find_walk (outline);
  if (!gate_walk (&walk, reason, detail))
    return NULL;
  take_walk (blade, &walk);
  return g_steal_pointer (&blade);
}

/* Lines and corners, each resting on the others. */
static gboolean
settle (WsBlade *blade, const WsBladeJoint *joints, guint n_joints, WsRetake *reason,
        char detail[96])
{
  blade->n_edges = n_joints + 1;
  memcpy (blade->joints, joints, sizeof *joints * n_joints);
  for (guint round = 0; round < ROUNDS; round++)
  {
    if (!fit_edges (blade, round == 0))
      return refuse (reason, WS_RETAKE_WRONG_VIEW, detail,
                     "there are no straight edges as a blade has them");
    for (guint k = 0; k < n_joints; k++)
      if (!joints[k].is_step && !place_corner (blade, k))
        return refuse (reason, WS_RETAKE_WRONG_VIEW, detail, "the edges make no corners");
  }
  return TRUE;
}

static void
finish (WsBlade *blade)
{
  for (guint e = 0; e < blade->n_edges; e++)
    state_uncertainty (&blade->edges[e]);
  for (guint k = 0; k + 1 < blade->n_edges; k++)
    if (!blade->joints[k].is_step)
      blade->corners[k].radius =
        radius_for_gap (blade->corners[k].interior, blade->corners[k].gap, blade->outline->blur_px);
}

gboolean
ws_blade_fit (WsBlade *blade, const WsBladeJoint *joints, guint n_joints, WsRetake *reason,
              char detail[96])
{
  blade->clear_blurs = CLEAR_SHORT;
  if (!settle (blade, joints, n_joints, reason, detail) || !gate_edges (blade, reason, detail) ||
      !gate_sharp (blade, reason, detail))
    return FALSE;
  finish (blade);
  return TRUE;
}

WsBlade *
ws_blade_locate (const WsOutline *outline, WsRetake *reason, char detail[96])
{
  g_autoptr (WsBlade) blade = ws_blade_walk (outline, reason, detail);
  WsBladeJoint joints[2];
  if (blade == NULL)
    return NULL;
  if (blade->path->len < 3 * WS_LINE_MIN_POINTS || !split (blade, joints))
  {
    refuse (reason, WS_RETAKE_TOO_SMALL, detail, "the blade is too small in the picture");
    return NULL;
  }
  blade->clear_blurs = CLEAR_LONG;
  if (!settle (blade, joints, 2, reason, detail) || !gate_whole (blade, reason, detail))
    return NULL;
  finish (blade);
  return g_steal_pointer (&blade);
}

void
ws_blade_free (WsBlade *blade)
{
  if (blade == NULL)
    return;
  for (guint e = 0; e < WS_BLADE_MAX_EDGES; e++)
  {
    g_array_unref (blade->edges[e].points);
    g_free (blade->edges[e].used);
  }
  g_array_unref (blade->path);
  g_free (blade);
}

/* ---- Form --------------------------------------------------------------------------------- */

/* Running medians of so many points take the noise out of single ones but not the form. */
#define FORM_WINDOW 5

/* How much greater a mean of FORM_WINDOW neighbours scatters than if their noise were independent:
 * pictures that were sharpened, reduced or compressed have noise that goes on from pixel to
 * pixel. */
static double
alike (const double *d, guint n)
{
  double variance = 0, sum = 1;
  for (guint i = 0; i < n; i++)
    variance += d[i] * d[i];
  for (guint lag = 1; lag < FORM_WINDOW && variance > 0; lag++)
  {
    double product = 0;
    for (guint i = 0; i + lag < n; i++)
      product += d[i] * d[i + lag];
    sum += 2 * (1 - (double)lag / FORM_WINDOW) * product / variance;
  }
  return sqrt (MAX (sum, 1));
}

double
ws_blade_straightness (const WsBladeEdge *edge, double most, double *noise)
{
  const WsPoint *p = (const WsPoint *)(void *)edge->points->data;
  const guint n = edge->points->len, window = FORM_WINDOW;
  g_autofree double *kept = g_new (double, n + 1);
  double scratch[FORM_WINDOW];
  guint m = 0;
  for (guint i = 0; i < n; i++)
    if (edge->used[i])
      kept[m++] = ws_line_distance (&edge->line, p[i]);
  double low = HUGE_VAL, high = -HUGE_VAL;
  /* Of a median of normal values.  Form goes on from point to point as well. */
  const double scatter = edge->line.scatter;
  *noise =
    sqrt (0.5 * G_PI / window) * MIN (scatter, most) * (scatter <= most ? alike (kept, m) : 1);
  for (guint i = 0; i + window <= m; i += window / 2)
  {
    memcpy (scratch, kept + i, sizeof (double) * window);
    const double middle = ws_median (scratch, window);
    low = MIN (low, middle);
    high = MAX (high, middle);
  }
  return high > low ? high - low : 0;
}

/* A notch between the corners: what lies beyond their reach belongs to them. */
static gboolean
is_of_front (const WsBlade *blade, WsPoint p)
{
  return is_clear (blade, WS_BLADE_FRONT, p);
}

/* Blur lifts the bottom of a sharp notch by 0.8 s cot q, q half its opening, taken from its width
 * halfway down (docs/methods/drill.md, 12a). */
#define NOTCH_LIFT 0.8

static double
notch_lift (const WsBlade *blade, const WsBladeNotch *notch)
{
  const WsLineFit *line = &blade->edges[WS_BLADE_FRONT].line;
  const WsEdgePoint *points = path_points (blade);
  double before = HUGE_VAL, after = HUGE_VAL;
  for (guint i = blade->joints[0].after; i < blade->joints[1].before; i++)
  {
    const WsPoint p = place_of (&points[i]);
    if (ws_line_distance (line, p) > 0.5 * notch->depth)
      continue;
    const double along = ws_point_dot (ws_point_sub (p, notch->bottom), line->direction);
    if (along > 0)
      after = MIN (after, along);
    else
      before = MIN (before, -along);
  }
  const double width = before + after;
  if (!isfinite (width) || !(width > 0))
    return 0;
  return NOTCH_LIFT * blade->outline->blur_px * MIN (notch->depth / width, 1.5);
}

WsBladeNotch
ws_blade_notch (const WsBlade *blade, double least)
{
  const WsLineFit *line = &blade->edges[WS_BLADE_FRONT].line;
  const WsEdgePoint *points = path_points (blade);
  WsBladeNotch notch = { 0, 0, { 0, 0 }, { 0, 0 } };
  for (guint i = blade->joints[0].after; i < blade->joints[1].before; i++)
  {
    const WsPoint p = place_of (&points[i]);
    const double depth = ws_line_distance (line, p);
    if (depth > MAX (least, notch.depth) && is_of_front (blade, p))
    {
      notch.depth = depth;
      notch.bottom = p;
    }
  }
  if (notch.depth > 0)
  {
    const WsPoint outward = ws_point (line->direction.y, -line->direction.x);
    notch.on_line = ws_point_along (notch.bottom, notch.depth, outward);
    notch.lift = notch_lift (blade, &notch);
  }
  return notch;
}
