#include "tool/blade/side_layout.h"

#include "base/geometry.h"
#include "edge/runs.h"

#include <string.h>

/* The walk is thinned to so many points for this. */
#define SEARCH_POINTS 300

/* What one more straight stretch must save in squared distances of the thinned points, px^2: a
 * step of 3 px between stretches of some 10 points each, say.  Own choice. */
#define PRICE 30.0
#define SHORTEST 3

/* Shorter stretches are no edges.  Own choice: half the shortest front, blade.c. */
#define MIN_EDGE_PX 30.0

/* Stretches are one edge, with a chip between or bent by the lens, below this angle and distance
 * from each other's line.  Own choice. */
#define ALIKE_DEG 1.5
#define ALIKE_PX 2.0
#define ALIKE_SHARE 0.01

/* Top rakes, and interior angles of corners; common practice, no source, as for blade.c. */
#define MAX_BEND_DEG 25.0
#define MIN_CORNER_DEG 55.0
#define MAX_CORNER_DEG 125.0

/* Beside a step, where wheels leave a fillet: part of an edge that is left out. */
#define FILLET_SHARE 0.04

/* Of an undivided top, what is taken for the stretch at the edge. */
#define NEAR_SHARE 0.35

/* Long stretches of the walk, whole-numbered like it. */
typedef struct
{
  guint from, to; /* points of the walk */
  WsPoint begin, end;
  WsPoint direction;
} Edge;

typedef enum
{
  IS_CORNER,
  IS_STEP,
  IS_NOTHING
} JointKind;

static const WsEdgePoint *
points_of (const WsBlade *walk)
{
  return (const WsEdgePoint *)(void *)walk->path->data;
}

static Edge
edge_of (const WsBlade *walk, const WsRun *run, guint stride)
{
  const WsEdgePoint *first = &points_of (walk)[run->from * stride];
  const WsEdgePoint *last = &points_of (walk)[(run->to - 1) * stride];
  /* The last stretch's end is the walk's. */
  const guint to = (run->to + 1) * stride > walk->path->len ? walk->path->len : run->to * stride;
  return (Edge){ run->from * stride, to, wsi_point (first->x, first->y),
                 wsi_point (last->x, last->y), run->direction };
}

static double
turn_deg (const Edge *a, const Edge *b)
{
  return wsi_degrees (atan2 (wsi_point_cross (a->direction, b->direction),
                             wsi_point_dot (a->direction, b->direction)));
}

static double
length_of (const Edge *edge)
{
  return wsi_point_distance (edge->begin, edge->end);
}

/* Within so many times the angle and distance of stretches that are one edge. */
static gboolean
are_alike (const Edge *a, const Edge *b, double times)
{
  const double gap = wsi_point_distance (a->end, b->begin);
  const double aside = fabs (wsi_point_cross (a->direction, wsi_point_sub (b->begin, a->end)));
  return fabs (turn_deg (a, b)) < times * ALIKE_DEG &&
         aside < times * (ALIKE_PX + ALIKE_SHARE * gap);
}

static gboolean
are_one (const Edge *a, const Edge *b)
{
  return are_alike (a, b, 1);
}

static void
merge (Edge *a, const Edge *b)
{
  if (length_of (b) > length_of (a))
    a->direction = b->direction;
  a->end = b->end;
  a->to = b->to;
}

static GArray *
long_edges (const WsBlade *walk)
{
  const guint stride = MAX (walk->path->len / SEARCH_POINTS, 1);
  g_autoptr (GArray) runs =
    wsi_runs_cut (points_of (walk), walk->path->len, stride, SHORTEST, PRICE);
  GArray *edges = g_array_new (FALSE, FALSE, sizeof (Edge));
  for (guint i = 0; i < runs->len; i++)
  {
    const Edge edge = edge_of (walk, &g_array_index (runs, WsRun, i), stride);
    if (length_of (&edge) >= MIN_EDGE_PX)
      g_array_append_val (edges, edge);
  }
  return edges;
}

/* Merges each edge with the next one that goes on along the same line, if what lies between is
 * shorter than either. */
static void
bridge_gaps (GArray *edges)
{
  for (guint i = 0; i + 1 < edges->len; i++)
    for (guint k = edges->len - 1; k > i; k--)
    {
      Edge *a = &g_array_index (edges, Edge, i);
      const Edge *b = &g_array_index (edges, Edge, k);
      const double gap = wsi_point_distance (a->end, b->begin);
      if (!are_one (a, b) || gap > MIN (length_of (a), length_of (b)))
        continue;
      merge (a, b);
      g_array_remove_range (edges, i + 1, k - i);
    }
}

/* Turns one way and back again, as the rise from what is ground to the top does. */
#define MIN_RISE_DEG 15.0

static gboolean
is_rise (const Edge *before, const Edge *edge, const Edge *after)
{
  const double in = turn_deg (before, edge), out = turn_deg (edge, after);
  return in * out < 0 && fabs (in) > MIN_RISE_DEG && fabs (out) > MIN_RISE_DEG &&
         fabs (turn_deg (before, after)) < MAX_BEND_DEG &&
         length_of (edge) < MIN (length_of (before), length_of (after));
}

/* A worn corner's arc is no longer than this part of the edges beside it: as blade.c has it. */
#define MAX_ARC_SHARE 0.3

static gboolean
is_arc (const Edge *before, const Edge *edge, const Edge *after)
{
  return turn_deg (before, edge) > MAX_BEND_DEG && turn_deg (edge, after) > MAX_BEND_DEG &&
         length_of (edge) < MAX_ARC_SHARE * MIN (length_of (before), length_of (after));
}

static void
leave_out_joints (GArray *edges)
{
  for (guint i = 1; i + 1 < edges->len; i++)
  {
    const Edge *edge = &g_array_index (edges, Edge, i);
    if (is_rise (edge - 1, edge, edge + 1) || is_arc (edge - 1, edge, edge + 1))
      g_array_remove_index (edges, i--);
  }
}

static JointKind
kind_of (const Edge *a, const Edge *b)
{
  const double turn = turn_deg (a, b);
  if (fabs (turn) < MAX_BEND_DEG)
    return IS_STEP;
  return turn > 180 - MAX_CORNER_DEG && turn < 180 - MIN_CORNER_DEG ? IS_CORNER : IS_NOTHING;
}

static guint
margin (const WsBlade *walk, const Edge *edge)
{
  const double px = FILLET_SHARE * length_of (edge) + 3 * walk->outline->blur_px + 2;
  const guint stride = MAX (walk->path->len / SEARCH_POINTS, 1);
  return stride + (guint)ceil (px / walk->outline->spacing_px);
}

static WsBladeJoint
joint_of (const WsBlade *walk, const Edge *a, const Edge *b, JointKind kind)
{
  if (kind == IS_CORNER)
    return (WsBladeJoint){ FALSE, a->to, b->from };
  return (WsBladeJoint){ TRUE, a->to - MIN (a->to - a->from, margin (walk, a)),
                         b->from + margin (walk, b) };
}

/* What joints in a row make of edges: S a step, C a corner. */
static const struct
{
  const char *joints;
  gint rear, top, front, heel, base;
} layouts[] = {
  { "SC", 0, 1, 2, WS_SIDE_NONE, WS_SIDE_NONE },
  { "CS", 2, 1, 0, WS_SIDE_NONE, WS_SIDE_NONE },
  { "SCC", 0, 1, 2, WS_SIDE_NONE, 3 },
  { "CCS", 3, 2, 1, WS_SIDE_NONE, 0 },
  { "CSC", WS_SIDE_NONE, 0, 1, 2, 3 },
  { "csc", WS_SIDE_NONE, 3, 2, 1, 0 },
  { "SCSC", 0, 1, 2, 3, 4 },
  { "CSCS", 4, 3, 2, 1, 0 },
};

/* A step in the front: it has two reliefs, and the sharper corner is the tip.  In small letters
 * where that comes last. */
static void
tell_tip (const Edge *e, char *joints)
{
  if (g_str_equal (joints, "CSC") && turn_deg (&e[2], &e[3]) > turn_deg (&e[0], &e[1]))
    strcpy (joints, "csc");
}

static gboolean
set_roles (const char *joints, WsSideLayout *layout)
{
  for (gsize i = 0; i < G_N_ELEMENTS (layouts); i++)
    if (g_str_equal (joints, layouts[i].joints))
    {
      layout->rear = layouts[i].rear;
      layout->top = layouts[i].top;
      layout->front = layouts[i].front;
      layout->heel = layouts[i].heel;
      layout->base = layouts[i].base;
      layout->tip = (guint)MIN (layout->top, layout->front);
      const gint above = layout->heel == WS_SIDE_NONE ? layout->front : layout->heel;
      layout->foot = layout->base == WS_SIDE_NONE ? WS_SIDE_NONE : MIN (above, layout->base);
      return TRUE;
    }
  return FALSE;
}

/* A film of oil on the base looks like a low step in it, which only a top has.  One that is so low
 * doesn't outweigh that the foot would then be sharper than the tip: a front without relief. */
static gboolean
is_film_on_base (const Edge *e, const char *joints)
{
  const gboolean step_first = g_str_equal (joints, "SCC");
  if (!step_first && !g_str_equal (joints, "CCS"))
    return FALSE;
  const guint step = step_first ? 0 : 2, foot = step_first ? 2 : 0;
  return are_alike (&e[step], &e[step + 1], 2) &&
         fabs (turn_deg (&e[1], &e[2])) < fabs (turn_deg (&e[foot], &e[foot + 1]));
}

/* A top and a front: the top is the one that lies nearer to level, which a picture without a base
 * can't tell otherwise.  It is cut in two, so that what is at the edge can be held against the
 * rest. */
static void
divide_top (GArray *edges, char *joints)
{
  const Edge *first = &g_array_index (edges, Edge, 0), *second = &g_array_index (edges, Edge, 1);
  const gboolean top_first = fabs (first->direction.x) > fabs (second->direction.x);
  Edge rear = top_first ? *first : *second, near = rear;
  const double share = top_first ? 1 - NEAR_SHARE : NEAR_SHARE;
  const guint at = rear.from + (guint)(share * (rear.to - rear.from));
  const WsPoint place = wsi_point_along (rear.begin, share, wsi_point_sub (rear.end, rear.begin));
  Edge *before = top_first ? &rear : &near, *after = top_first ? &near : &rear;
  before->to = after->from = at;
  before->end = after->begin = place;
  g_array_remove_index (edges, top_first ? 0 : 1);
  g_array_insert_val (edges, top_first ? 0 : 1, *before);
  g_array_insert_val (edges, top_first ? 1 : 2, *after);
  strcpy (joints, top_first ? "SC" : "CS");
}

static void
name_joints (const GArray *edges, char *joints)
{
  static const char letters[] = { [IS_CORNER] = 'C', [IS_STEP] = 'S', [IS_NOTHING] = '?' };
  const Edge *e = (const Edge *)(const void *)edges->data;
  for (guint k = 0; k + 1 < edges->len; k++)
    joints[k] = letters[kind_of (&e[k], &e[k + 1])];
  joints[edges->len - 1] = '\0';
}

/* Does one bow explain two edges better than their lines do? */
static gboolean
is_bow (const WsBlade *walk, const Edge *a, const Edge *b)
{
  const guint from = a->from + margin (walk, a), knee = a->to;
  const guint to = b->to - MIN (margin (walk, b), b->to);
  if (knee <= from + SHORTEST || to <= knee + SHORTEST)
    return FALSE;
  guint n;
  g_autofree WsRunSums *sums = wsi_runs_new (points_of (walk) + from, to - from, 1, &n);
  return wsi_runs_bow_misfit (points_of (walk) + from, n) <
         wsi_runs_misfit (sums, 0, knee - from) + wsi_runs_misfit (sums, knee - from, n);
}

/* Two parts of a front that is hollow, as a wheel's rim leaves it, not ground with two reliefs. */
static gboolean
join_hollow (const WsBlade *walk, GArray *edges, const char *joints)
{
  Edge *e = (Edge *)(void *)edges->data;
  for (guint k = 1; k + 2 < edges->len; k++)
  {
    if (joints[k - 1] != 'C' || joints[k] != 'S' || joints[k + 1] != 'C' ||
        !is_bow (walk, &e[k], &e[k + 1]))
      continue;
    merge (&e[k], &e[k + 1]);
    g_array_remove_index (edges, k + 1);
    return TRUE;
  }
  return FALSE;
}

/* Where two lines meet so near their joint, as parts of the shorter, nothing steps down. */
#define KNEE_SHARE 0.2

/* A top and a front, and a bend that isn't a step down: of the top, or of the front. */
static gboolean
has_knee (const Edge *e, const char *joints)
{
  if (!g_str_equal (joints, "SC") && !g_str_equal (joints, "CS"))
    return FALSE;
  const Edge *a = joints[0] == 'S' ? &e[0] : &e[1], *b = a + 1;
  const double sine = wsi_point_cross (a->direction, b->direction);
  const double off = wsi_point_cross (wsi_point_sub (b->begin, a->end), b->direction);
  return fabs (off) < KNEE_SHARE * MIN (length_of (a), length_of (b)) * fabs (sine);
}

/* The edges must account for the walk's ends: something else there is no blade's. */
static gboolean
reach_both_ends (const WsBlade *walk, const GArray *edges)
{
  const guint slack = 2 * MAX (walk->path->len / SEARCH_POINTS, 1);
  return g_array_index (edges, Edge, 0).from <= slack &&
         g_array_index (edges, Edge, edges->len - 1).to + slack >= walk->path->len;
}

gboolean
wsi_side_layout_find (const WsBlade *walk, WsSideLayout *layout)
{
  char joints[WS_BLADE_MAX_EDGES] = "";
  memset (layout, 0, sizeof *layout);
  g_autoptr (GArray) edges = long_edges (walk);
  bridge_gaps (edges);
  leave_out_joints (edges);
  if (edges->len < 2 || edges->len > WS_BLADE_MAX_EDGES || !reach_both_ends (walk, edges))
    return FALSE;
  name_joints (edges, joints);
  if (join_hollow (walk, edges, joints))
    name_joints (edges, joints);
  layout->has_knee = has_knee ((const Edge *)(void *)edges->data, joints);
  layout->is_one_top = g_str_equal (joints, "C");
  if (layout->is_one_top)
    divide_top (edges, joints);
  tell_tip ((const Edge *)(void *)edges->data, joints);
  if (is_film_on_base ((const Edge *)(void *)edges->data, joints) || !set_roles (joints, layout))
    return FALSE;
  const Edge *e = (const Edge *)(void *)edges->data;
  layout->n_joints = edges->len - 1;
  for (guint k = 0; k < layout->n_joints; k++)
    layout->joints[k] =
      joint_of (walk, &e[k], &e[k + 1], g_ascii_toupper (joints[k]) == 'C' ? IS_CORNER : IS_STEP);
  return TRUE;
}

WsSideLayout
wsi_side_layout_usual (const WsBlade *blade)
{
  const gboolean first = blade->corners[0].interior < blade->corners[1].interior;
  return (WsSideLayout){
    .rear = WS_SIDE_NONE,
    .top = first ? WS_BLADE_LEFT : WS_BLADE_RIGHT,
    .front = WS_BLADE_FRONT,
    .heel = WS_SIDE_NONE,
    .base = first ? WS_BLADE_RIGHT : WS_BLADE_LEFT,
    .tip = first ? 0 : 1,
    .foot = first ? 1 : 0,
  };
}
