#include "tool/blade/blade.h"

#include "base/geometry.h"
#include "edge/runs.h"
#include "tool/blade/corner.h"
#include "tool/blade/gates.h"

#include <string.h>

/* The walk is thinned to so many points for the search of the corners. */
#define SEARCH_POINTS 240

/* Rounds of lines and corners, each resting on the others. */
#define ROUNDS 4

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
  g_autofree WsRunSums *sums =
    wsi_runs_new (wsi_blade_points (blade), blade->path->len, stride, &n);
  double best = HUGE_VAL;
  for (guint i = shortest; i + 2 * shortest <= n; i++)
  {
    const double before = wsi_runs_misfit (sums, 0, i);
    for (guint j = i + shortest; before < best && j + shortest <= n; j++)
    {
      const double cost = before + wsi_runs_misfit (sums, i, j) + wsi_runs_misfit (sums, j, n);
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
    d[i] = edge->used[i] ? wsi_line_bowed_distance (&edge->line, p[i]) : 0;
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
  edge->u_place = hypot (hypot (MAX (place, line->u_offset), EDGE_BIAS_PX), edge->proud.u_offset);
  edge->u_angle =
    hypot (hypot (MAX (sqrt (12.0) * place / length, line->u_angle), EDGE_BIAS_PX / length),
           edge->proud.u_angle);
}

static void
collect_edge (WsBlade *blade, guint e, gboolean first)
{
  WsBladeEdge *edge = &blade->edges[e];
  const WsEdgePoint *points = wsi_blade_points (blade);
  const guint from = wsi_blade_begin (blade, e), to = wsi_blade_end (blade, e);
  /* Nothing is known of the corners yet: a twelfth at either end is left out. */
  const guint trim = first ? (to - from) / 12 : 0;
  g_array_set_size (edge->points, 0);
  for (guint i = from + trim; i + trim < to; i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    if (first || wsi_blade_is_clear (blade, e, p))
      g_array_append_val (edge->points, p);
  }
  edge->used = g_renew (guint8, edge->used, MAX (edge->points->len, 1));
}

/* What stands proud of an edge by more, px and deviations of its form, is no roughness. */
#define PROUD_PX 1.0
#define PROUD_SCATTERS 4.5

/* The line under a wire edge, where one stands beyond doubt; else the edge is as it was. */
static void
fit_under (WsBladeEdge *edge)
{
  const WsPoint *points = (const WsPoint *)(void *)edge->points->data;
  const WsPoint outward = wsi_point (edge->line.direction.y, -edge->line.direction.x);
  WsLineFit line;
  WsProud proud;
  g_autofree guint8 *used = g_new0 (guint8, edge->points->len + 1);
  if (!wsi_line_fit_under (points, edge->points->len, outward, NULL, used, &line, &proud) ||
      !(proud.height > MAX (PROUD_PX, PROUD_SCATTERS * line.scatter)))
    return;
  edge->line = line;
  edge->proud = proud;
  memcpy (edge->used, used, edge->points->len);
}

/* A wheel's rim leaves a hollow that nearly all points lie on, its ends proud of a straight line; a
 * deep circle's ends are no parabola's.  px. */
#define ONE_BOW 0.95
#define ONE_BOW_SCATTER 0.25
#define LEAST_HOLLOW 1.0

static gboolean
is_hollow (const WsLineFit *line)
{
  return line->n_used >= ONE_BOW * line->n && line->scatter < ONE_BOW_SCATTER &&
         -1.5 * line->bow > LEAST_HOLLOW;
}

static gboolean
fit_edges (WsBlade *blade, gboolean first)
{
  for (guint e = 0; e < blade->n_edges; e++)
  {
    WsBladeEdge *edge = &blade->edges[e];
    collect_edge (blade, e, first);
    if (!wsi_line_fit ((const WsPoint *)(void *)edge->points->data, edge->points->len, edge->used,
                       &edge->line))
      return FALSE;
    memset (&edge->proud, 0, sizeof edge->proud);
    if (!is_hollow (&edge->line))
      fit_under (edge);
  }
  return TRUE;
}

static gboolean
gate_walk (const Walk *walk, WsRefusal *refusal)
{
  if (walk->length == 0)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "no blade that runs out of the picture on one side");
  if (walk->stretches > 1)
    return wsi_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME,
                            "the outline leaves the picture at more than one place");
  return TRUE;
}

/* ---- All of it --------------------------------------------------------------------------- */

WsBlade *
wsi_blade_walk (const WsOutline *outline, double most_bow, WsRefusal *refusal)
{
  g_autoptr (WsBlade) blade = g_new0 (WsBlade, 1);
  blade->outline = outline;
  blade->most_bow = most_bow;
  blade->path = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint e = 0; e < WS_BLADE_MAX_EDGES; e++)
    blade->edges[e].points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const Walk walk = find_walk (outline);
  if (!gate_walk (&walk, refusal))
    return NULL;
  take_walk (blade, &walk);
  return g_steal_pointer (&blade);
}

/* The tail bends the edge by 0.05 blurs at its end, which only a short edge, as a ground top may
 * be, feels. */
#define CLEAR_LONG 2.0
#define CLEAR_SHORT 3.0

/* Lines and corners, each resting on the others. */
static gboolean
settle (WsBlade *blade, const WsBladeJoint *joints, guint n_joints, WsRefusal *refusal)
{
  blade->n_edges = n_joints + 1;
  memcpy (blade->joints, joints, sizeof *joints * n_joints);
  for (guint round = 0; round < ROUNDS; round++)
  {
    if (!fit_edges (blade, round == 0))
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                              "there are no straight edges as a blade has them");
    for (guint k = 0; k < n_joints; k++)
      if (!joints[k].is_step && !wsi_blade_corner_place (blade, k))
        return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the edges make no corners");
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
      blade->corners[k].radius = wsi_blade_corner_radius (
        blade->corners[k].interior, blade->corners[k].gap, blade->outline->blur_px);
}

gboolean
wsi_blade_fit (WsBlade *blade, const WsBladeJoint *joints, guint n_joints, WsRefusal *refusal)
{
  blade->clear_blurs = CLEAR_SHORT;
  if (!settle (blade, joints, n_joints, refusal) || !wsi_blade_gate_edges (blade, refusal) ||
      !wsi_blade_gate_sharp (blade, refusal))
    return FALSE;
  finish (blade);
  return TRUE;
}

WsBlade *
wsi_blade_locate (const WsOutline *outline, double most_bow, WsRefusal *refusal)
{
  g_autoptr (WsBlade) blade = wsi_blade_walk (outline, most_bow, refusal);
  WsBladeJoint joints[2];
  if (blade == NULL)
    return NULL;
  if (blade->path->len < 3 * WS_LINE_MIN_POINTS || !split (blade, joints))
  {
    wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the blade is too small in the picture");
    return NULL;
  }
  blade->clear_blurs = CLEAR_LONG;
  if (!settle (blade, joints, 2, refusal) || !wsi_blade_gate_whole (blade, refusal))
    return NULL;
  finish (blade);
  return g_steal_pointer (&blade);
}

void
wsi_blade_free (WsBlade *blade)
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
