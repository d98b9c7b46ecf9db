#include "tool/blade/gates.h"

#include "base/geometry.h"
#include "tool/blade/edge_form.h"

/* A front of fewer px has too few points for its angle, common practice for drills too. */
#define MIN_FRONT_PX 60.0

/* Long edges seen over less than this part of the front give no reference. */
#define MIN_SIDE_SHARE 0.3

/* Part of an edge that must be left beside its corners, and that must be sound. */
#define MIN_LEFT_SHARE 0.3
#define MIN_SOUND 0.6

/* Ground edges are straight, or one bow: scatter beyond this belongs to something else.  Rough
 * rendered fronts scatter by up to 0.0015 of their length. */
#define MAX_SCATTER_SHARE 0.006

/* Interior angles of a blade's corners; common practice, no source: 30 degrees of side rake,
 * relief or top rake are never ground on a cutoff blade. */
#define MIN_INTERIOR_DEG 55.0
#define MAX_INTERIOR_DEG 125.0

/* Greatest angle between the long edges: plan and side view, as above. */
#define MAX_TAPER_DEG 25.0

static gboolean
gate_straight (const WsBladeEdge *edge, double most_bow, WsRefusal *refusal)
{
  if (edge->line.scatter > 1 + MAX_SCATTER_SHARE * wsi_blade_edge_length (edge) ||
      wsi_blade_is_bowed (edge, most_bow))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "an edge is not straight");
  /* What stands proud is no damage of the edge. */
  if (edge->line.n_used < MIN_SOUND * (1 - edge->proud.share) * edge->line.n)
    return wsi_refusal_set (refusal, WS_RETAKE_DIRTY_EDGE,
                            "less than 60 %% of an edge is clean and straight");
  return TRUE;
}

static gboolean
gate_corners (const WsBlade *blade, WsRefusal *refusal)
{
  const double taper = wsi_degrees (blade->corners[0].interior + blade->corners[1].interior) - 180;
  for (guint k = 0; k < 2; k++)
  {
    const double interior = wsi_degrees (blade->corners[k].interior);
    if (interior < MIN_INTERIOR_DEG || interior > MAX_INTERIOR_DEG)
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                              "the corners are not those of a blade");
  }
  if (fabs (taper) > MAX_TAPER_DEG)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the long edges are not those of a blade");
  return TRUE;
}

static gboolean
gate_sizes (const WsBlade *blade, WsRefusal *refusal)
{
  const double front = wsi_point_distance (blade->corners[0].place, blade->corners[1].place);
  if (front < MIN_FRONT_PX)
    return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the front is shorter than 60 px");
  if (wsi_blade_edge_length (&blade->edges[WS_BLADE_FRONT]) < MIN_LEFT_SHARE * front)
    return wsi_refusal_set (refusal, WS_RETAKE_DIRTY_EDGE,
                            "the corners are damaged over most of the front");
  for (guint e = 0; e < WS_BLADE_N_EDGES; e += 2)
    if (wsi_blade_edge_length (&blade->edges[e]) < MIN_SIDE_SHARE * front)
      return wsi_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME,
                              "too little of the blade behind its front is in the picture");
  return TRUE;
}

/* Median RMS residual over step of an edge's scan lines; the whole outline has passed the same
 * gate, but an edge that moves across itself is a part of it only. */
#define MAX_EDGE_NOISE 0.12

gboolean
wsi_blade_gate_sharp (const WsBlade *blade, WsRefusal *refusal)
{
  for (guint e = 0; e < blade->n_edges; e++)
    if (wsi_blade_edge_noise (blade, e) > MAX_EDGE_NOISE)
      return wsi_refusal_set (refusal, WS_RETAKE_MOTION_BLUR,
                              "one edge is far less sharp than the others");
  return TRUE;
}

gboolean
wsi_blade_gate_edges (const WsBlade *blade, WsRefusal *refusal)
{
  for (guint e = 0; e < blade->n_edges; e++)
    if (!gate_straight (&blade->edges[e], blade->most_bow, refusal))
      return FALSE;
  return TRUE;
}

/* Behind the front as far as this part of it, a blade lies within its three lines.  What stands out
 * farther, over a greater stretch, is no burr: a head on a shank, a bar's nose, a drop.  From the
 * second height on it is no blade.  Shares of the front; own choice. */
#define BESIDE_FRONT 0.7
#define PROUD_STRETCH 0.08
#define PROUD_HEIGHT 0.05
#define PROUD_PX 4.0
#define NO_BLADE_HEIGHT 0.15

/* How far the outline stands out of an edge's line, and over how much of it. */
typedef struct
{
  double height, from, to;
} Proud;

static Proud
stands_proud (const WsBlade *blade, guint e, double front)
{
  const WsLineFit *line = &blade->edges[e].line, *ahead = &blade->edges[WS_BLADE_FRONT].line;
  const WsEdgePoint *points = wsi_blade_points (blade);
  const double least = MAX (PROUD_HEIGHT * front, PROUD_PX);
  Proud proud = { 0, HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < blade->path->len; i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    const double height = -wsi_line_distance (line, p);
    if (height < least || wsi_line_distance (ahead, p) > BESIDE_FRONT * front)
      continue;
    const double along = wsi_point_dot (wsi_point_sub (p, line->centre), line->direction);
    proud.height = MAX (proud.height, height);
    proud.from = MIN (proud.from, along);
    proud.to = MAX (proud.to, along);
  }
  return proud;
}

static gboolean
gate_proud (const WsBlade *blade, WsRefusal *refusal)
{
  const double front = wsi_point_distance (blade->corners[0].place, blade->corners[1].place);
  for (guint e = 0; e < WS_BLADE_N_EDGES; e++)
  {
    const Proud proud = stands_proud (blade, e, front);
    if (!(proud.to - proud.from > PROUD_STRETCH * front))
      continue;
    return wsi_refusal_set (
      refusal, proud.height > NO_BLADE_HEIGHT * front ? WS_RETAKE_WRONG_VIEW : WS_RETAKE_DIRTY_EDGE,
      "beside the front the outline stands out of its straight edges by %.0f %% of the front's "
      "length",
      100 * proud.height / front);
  }
  return TRUE;
}

gboolean
wsi_blade_gate_whole (const WsBlade *blade, WsRefusal *refusal)
{
  return wsi_blade_gate_edges (blade, refusal) && gate_sizes (blade, refusal) &&
         gate_corners (blade, refusal) && gate_proud (blade, refusal) &&
         wsi_blade_gate_sharp (blade, refusal);
}
