#include "tool/drill/perspective.h"

#include "base/geometry.h"
#include "tool/drill/leading_edge.h"
#include "tool/drill/view_turn.h"

#include <string.h>

/* A usual helix, where the leading edges aren't seen. */
#define USUAL_HELIX_DEG 28.0

/* Depth depends on axis and helix, and they on depth.  Four to six rounds are enough but for the
 * nearest cameras, where the helix is far off at first. */
#define MAX_ROUNDS 30

/* Settled when nothing changes by more than this, px and rad; past MAX_ROUNDS twenty times as
 * much must do. */
#define SETTLED_PX 0.003
#define SETTLED_RAD 2e-5
#define HARDLY_SETTLED 20

/* From one distance to the next one: what isn't settled then goes round in circles. */
#define FOLLOW_ROUNDS 12

/* One that moves by as much in so many rounds, but for this part, and by more than hardly settled,
 * goes round in circles for good (rendered near drills: none of those that settled did so). */
#define CIRCLING_ROUNDS 4
#define CIRCLING_PART 0.01

/* Outline points on either side over which the slope is taken. */
#define SLOPE_POINTS 7

/* From the lip's end the outline follows the flank's rim on the envelope, outward, down to margin
 * or silhouette: within this part of the radius below the corner, and steeper than any edge of the
 * body there. */
#define RIM_RADII 0.5
#define RIM_SLOPE 0.1

/* The flutes' hand is told when less than this part of the asymmetry is left (rendered drills: 0.06
 * at most; twice as much as there was with the wrong hand). */
#define DECISIVE 0.6

/* Where perspective makes a body less asymmetric than this, the hand may stay open. */
#define HARMLESS_PX 0.01

/* A side deeper than this is an edge. */
#define SMOOTH_RADII 0.02

gboolean
wsi_perspective_of (const WsOptics *optics, const WsToolCard *card, WsPerspective *perspective)
{
  *perspective =
    (WsPerspective){ .web_px = optics->has_scale ? card->web_mm / optics->mm_per_px : NAN,
                     .hand = card->hand == WS_HAND_LEFT ? -1 : 1,
                     .hand_stated = card->hand != WS_HAND_UNKNOWN };
  if (optics->lens == NULL || optics->lens->model != WS_LENS_PINHOLE)
    return FALSE;
  perspective->distance =
    ws_lens_distance_mm (optics->lens, &perspective->foot) / optics->mm_per_px;
  return perspective->distance > 0;
}

static const WsEdgePoint *
edge_points (const WsOutline *outline)
{
  return (const WsEdgePoint *)(void *)outline->points->data;
}

/* d|u| / dz by least squares over the neighbours along the outline; 0 where it breaks off. */
static double
slope_at (const WsDrillPoint *point, guint i)
{
  const WsEdgePoint *points = edge_points (point->outline);
  const guint n = point->outline->points->len;
  const double side = point->uz[i].x < 0 ? -1 : 1;
  double zz = 0, zu = 0, z = 0, u = 0;
  guint count = 0;
  guint j = (i + n - SLOPE_POINTS % n) % n;
  for (guint k = 0; k <= 2 * SLOPE_POINTS; k++, j = j + 1 < n ? j + 1 : 0)
  {
    const WsPoint d = wsi_point_sub (point->uz[j], point->uz[i]);
    if (points[j].on_frame || fabs (d.y) > 4 * SLOPE_POINTS)
      continue;
    z += d.y;
    u += side * d.x;
    zz += d.y * d.y;
    zu += side * d.x * d.y;
    count++;
  }
  if (count < SLOPE_POINTS)
    return 0;
  const double spread = zz - z * z / count;
  return spread > count ? (zu - z * u / count) / spread : 0;
}

/*
 * Depth of the body at the seen point p, px, from the seen slope.  With q = |u|, both measured from
 * the foot (q0, z0), s the sign of depth by side and hand, and D the distance:
 *
 *   q seen = q + h (q - q0) / D,   z seen = z + h (z - z0) / D,   dq / dz = s rate h;
 *
 * an edge turns with the body, dh / dz = -s rate q, so that its slope as seen is
 *
 *   m = (dq/dz + (dh/dz (q - q0) + h dq/dz) / D) / (1 + (dh/dz (z - z0) + h) / D).
 *
 * A smooth side stays where it is, m = 0.
 */
static double
body_depth (const WsPerspective *perspective, double radius, WsPoint foot, WsPoint p, double m)
{
  const double side = p.x < 0 ? -1 : 1, D = perspective->distance;
  const double rate = side * perspective->hand * perspective->rate;
  if (fabs (m / rate) < SMOOTH_RADII * radius)
    return 0;
  double h = m / rate;
  for (guint i = 0; i < 8; i++)
  {
    const WsPoint at = wsi_point_along (p, -h / D, wsi_point_sub (p, foot));
    const double turn = -rate * fabs (at.x);
    const double next =
      (m * (1 + (turn * (at.y - foot.y) + h) / D) - turn * side * (at.x - foot.x) / D) /
      (rate * (1 + h / D));
    const double before = h;
    h = CLAMP (next, -radius, radius);
    if (!(fabs (h - before) > 0))
      break;
  }
  return h;
}

/* The rim lies on the envelope, between the silhouette and the lip's end at depth `end`. */
static double
rim_depth (const WsPerspective *perspective, double radius, WsPoint foot, WsPoint p, double end)
{
  double h = fabs (end);
  for (guint i = 0; i < 8; i++)
  {
    const double toward = end < 0 ? -h : h;
    const double u = p.x - toward / perspective->distance * (p.x - foot.x);
    h = MIN (sqrt (MAX (radius * radius - u * u, 0)), fabs (end));
  }
  return end < 0 ? -h : h;
}

/* Depth of lip k as if it lay toward the camera, r from the axis, px. */
static double
lip_depth (const WsPerspective *perspective, guint k, double r)
{
  return perspective->depth[k] + perspective->slope[k] * r;
}

/* What the depths on one side rest on. */
typedef struct
{
  double end;    /* of the lip, as if it lay toward the camera, px */
  double end_z;  /* above it there is lip, below it body or rim */
  double chisel; /* half of its length, across */
} Side;

static Side
side_of (const WsPerspective *perspective, const WsDrillPoint *point, guint k)
{
  const WsDrillLip *lip = &point->lips[k];
  const double end = lip_depth (perspective, k, point->radius);
  const double slope = tan (lip->half_angle);
  return (Side){ end, lip->corner.y + 0.5 * end * end / point->radius / slope,
                 (point->apex.y - point->tip.y) * slope };
}

/* The chisel edge passes through the axis' plane below the apex; it is about level, so it ends
 * where the lip lines fall below the tip. */
static double
ahead_depth (const WsPerspective *perspective, const WsDrillPoint *point, const Side sides[2],
             WsPoint p)
{
  const double aside = p.x - point->apex.x;
  const guint k = aside < 0 ? 0 : 1;
  return lip_depth (perspective, k, fabs (p.x)) * MIN (fabs (aside) / MAX (sides[k].chisel, 1), 1) *
         (aside < 0 ? 1 : -1);
}

/* How much nearer than the axis' plane the seen point p lies, px.  A right-hand drill turns its lip
 * b away from the camera: the lip lies behind the axis. */
static double
depth_at (const WsPerspective *perspective, const WsDrillPoint *point, const Side sides[2],
          WsPoint foot, WsPoint p, double slope)
{
  const guint k = p.x < 0 ? 0 : 1;
  if (p.y > sides[k].end_z)
    return perspective->hand * ahead_depth (perspective, point, sides, p);
  if (p.y > point->lips[k].corner.y - RIM_RADII * point->radius && slope < -RIM_SLOPE)
    return rim_depth (perspective, point->radius, foot, p,
                      -wsi_drill_side (k) * perspective->hand * sides[k].end);
  return body_depth (perspective, point->radius, foot, p, slope);
}

/* Where parallel projection would show the seen point.  A smooth side is touched by another line
 * of sight, the more so the farther it lies from the foot: by second order. */
static WsPoint
undone (const WsPerspective *perspective, const WsDrillPoint *point, const Side sides[2],
        WsPoint foot, WsPoint seen, double slope)
{
  const double depth = depth_at (perspective, point, sides, foot, seen, slope);
  WsPoint p = wsi_point_along (seen, -depth / perspective->distance, wsi_point_sub (seen, foot));
  const double side = seen.x < 0 ? -1 : 1;
  if (p.y < point->lips[side < 0 ? 0 : 1].corner.y && !(fabs (depth) > 0))
  {
    const double aside = (seen.x - foot.x) / perspective->distance;
    p.x -= side * 0.5 * point->radius * aside * aside;
  }
  return p;
}

static void
move_outline (const WsPerspective *perspective, const WsDrillPoint *point, const WsPoint *seen)
{
  GArray *points = point->outline->points;
  const WsAxis *axis = &point->mirror.axis;
  const WsPoint foot = wsi_axis_to_tool (axis, perspective->foot);
  const Side sides[2] = { side_of (perspective, point, 0), side_of (perspective, point, 1) };
  for (guint i = 0; i < points->len; i++)
    point->uz[i] = wsi_axis_to_tool (axis, seen[i]);
  for (guint i = 0; i < points->len; i++)
  {
    WsEdgePoint *moved = &g_array_index (points, WsEdgePoint, i);
    if (moved->on_frame)
      continue;
    const WsPoint p = wsi_axis_to_picture (
      axis, undone (perspective, point, sides, foot, point->uz[i], slope_at (point, i)));
    moved->x = p.x;
    moved->y = p.y;
  }
}

/*
 * The helix, and how the lips lie in depth.  A lip that is straight but turned by d passes from
 * w at the axis to R sin (f) at its end f; what the view's turn can't tell of d, the ends' own
 * difference does: lips ground at different heights lie turned against each other.
 */
static void
look (WsPerspective *perspective, const WsDrillPoint *point)
{
  const WsWeb web = wsi_web_of (perspective->web_px, 2 * point->radius);
  WsLeadingEdge edge;
  const gboolean is_seen = wsi_leading_edge_trace (point, &edge);
  const double turn = wsi_view_turn_by (point, &web, is_seen ? &edge : NULL).mean;
  const double usual = asin (web.half) + turn;
  if (!is_seen)
    edge.lip_end = edge.ends[0] = edge.ends[1] = usual;
  if (!isfinite (edge.helix))
    edge.helix = wsi_radians (USUAL_HELIX_DEG);
  perspective->rate = tan (edge.helix) / point->radius;
  for (guint k = 0; k < 2; k++)
  {
    perspective->slope[k] = sin (turn + edge.ends[k] - edge.lip_end);
    perspective->depth[k] = point->radius * (sin (edge.ends[k]) - perspective->slope[k]);
  }
}

WsPoint *
wsi_perspective_snapshot (const WsOutline *outline)
{
  WsPoint *seen = g_new (WsPoint, outline->points->len + 1);
  for (guint i = 0; i < outline->points->len; i++)
    seen[i] = wsi_point (edge_points (outline)[i].x, edge_points (outline)[i].y);
  return seen;
}

void
wsi_perspective_restore (WsOutline *outline, const WsPoint *seen)
{
  for (guint i = 0; i < outline->points->len; i++)
  {
    WsEdgePoint *point = &g_array_index (outline->points, WsEdgePoint, i);
    point->x = seen[i].x;
    point->y = seen[i].y;
  }
}

/* With little body in view a first, wrong step may lose the point: half of it may not. */
static void
halve (WsOutline *outline, const WsPoint *seen)
{
  for (guint i = 0; i < outline->points->len; i++)
  {
    WsEdgePoint *point = &g_array_index (outline->points, WsEdgePoint, i);
    point->x = 0.5 * (point->x + seen[i].x);
    point->y = 0.5 * (point->y + seen[i].y);
  }
}

/* By how much a round moved the lips and the envelope, in parts of what counts as settled. */
static double
movement (const WsDrillPoint *from, const WsDrillPoint *to)
{
  double most = fabs (to->radius - from->radius) / SETTLED_PX;
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *a = &from->lips[k], *b = &to->lips[k];
    most = MAX (most, fabs (b->half_angle - a->half_angle) / SETTLED_RAD);
    most =
      MAX (most, fabs (b->corner.y - a->corner.y - to->lips[0].corner.y + from->lips[0].corner.y) /
                   SETTLED_PX);
  }
  return most;
}

typedef struct
{
  double moved[CIRCLING_ROUNDS];
  guint n;
} Rounds;

static void
note_round (Rounds *rounds, double moved)
{
  rounds->moved[rounds->n++ % CIRCLING_ROUNDS] = moved;
}

static gboolean
is_circling (const Rounds *rounds)
{
  if (rounds->n < CIRCLING_ROUNDS)
    return FALSE;
  double least = HUGE_VAL, most = 0;
  for (guint i = 0; i < CIRCLING_ROUNDS; i++)
  {
    least = MIN (least, rounds->moved[i]);
    most = MAX (most, rounds->moved[i]);
  }
  return least > HARDLY_SETTLED && most - least < CIRCLING_PART * most;
}

WsDrillPoint *
wsi_perspective_undone (WsPerspective *perspective, WsOutline *outline, const WsPoint *seen,
                        WsRefusal *refusal)
{
  wsi_perspective_restore (outline, seen);
  double moved = HUGE_VAL;
  Rounds rounds = { 0 };
  WsDrillPoint *point = wsi_drill_point_locate (outline, refusal);
  while (point != NULL && rounds.n < MAX_ROUNDS && moved > 1 && !is_circling (&rounds))
  {
    look (perspective, point);
    move_outline (perspective, point, seen);
    WsDrillPoint *next = wsi_drill_point_locate (outline, refusal);
    if (next == NULL)
    {
      halve (outline, seen);
      next = wsi_drill_point_locate (outline, refusal);
    }
    moved = next != NULL ? movement (point, next) : HUGE_VAL;
    note_round (&rounds, moved);
    wsi_drill_point_free (point);
    point = next;
  }
  if (point != NULL && moved > HARDLY_SETTLED)
  {
    g_clear_pointer (&point, wsi_drill_point_free);
    wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                     "the camera's perspective on this outline can't be undone");
  }
  return point;
}

gboolean
wsi_perspective_follow (WsPerspective *perspective, WsDrillPoint *point, const WsPoint *seen,
                        double settled)
{
  double moved = HUGE_VAL;
  Rounds rounds = { 0 };
  while (rounds.n < FOLLOW_ROUNDS && moved > settled && !is_circling (&rounds))
  {
    const WsDrillPoint before = *point;
    look (perspective, point);
    move_outline (perspective, point, seen);
    if (!wsi_drill_point_follow (point))
      return FALSE;
    moved = movement (&before, point);
    note_round (&rounds, moved);
  }
  return moved <= MAX (settled, HARDLY_SETTLED);
}

double
wsi_perspective_asymmetry (const WsDrillPoint *point)
{
  return point != NULL ? point->mirror.rms_px + 1 - point->mirror.kept : HUGE_VAL;
}

/* How asymmetric perspective makes a body, px: by a part of R^2 / D, about 0.1 (rendered drills).
 */
static double
expected_asymmetry (const WsPerspective *perspective, double radius)
{
  return 0.1 * radius * radius / perspective->distance;
}

gboolean
wsi_perspective_refuse_hand (const WsPerspective *perspective, WsRefusal *refusal)
{
  if (!perspective->hand_stated)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the flutes may be right-hand or left-hand: say it on the tool card");
  return wsi_refusal_set (
    refusal, WS_RETAKE_WRONG_VIEW, "the flutes are %s-hand, not %s-hand as the tool card says",
    perspective->hand > 0 ? "left" : "right", perspective->hand > 0 ? "right" : "left");
}

/* Nothing speaks for the other hand: the stated one, or, where the choice matters, none. */
static gboolean
may_assume (const WsPerspective *perspective, double radius)
{
  return perspective->hand_stated || expected_asymmetry (perspective, radius) < HARMLESS_PX;
}

/*
 * With flutes of the wrong hand depths change sides, and the body looks twice as asymmetric as
 * before instead of symmetric: the picture tells the hand.
 */
gboolean
wsi_perspective_undo (WsPerspective *perspective, WsDrillPoint **point, WsRefusal *refusal)
{
  WsOutline *outline = (*point)->outline;
  const double before = wsi_perspective_asymmetry (*point), radius = (*point)->radius;
  g_autofree WsPoint *seen = wsi_perspective_snapshot (outline);
  g_clear_pointer (point, wsi_drill_point_free);
  *point = wsi_perspective_undone (perspective, outline, seen, refusal);
  const double after = wsi_perspective_asymmetry (*point);
  perspective->hand_seen = after < DECISIVE * before;
  if (perspective->hand_seen)
    return TRUE;

  WsPerspective other = *perspective;
  other.hand = -perspective->hand;
  g_clear_pointer (point, wsi_drill_point_free);
  *point = wsi_perspective_undone (&other, outline, seen, refusal);
  other.hand_seen = wsi_perspective_asymmetry (*point) < DECISIVE * MIN (before, after);
  perspective->hand_seen = after < DECISIVE * wsi_perspective_asymmetry (*point);
  if (other.hand_seen && !perspective->hand_stated)
  {
    *perspective = other;
    return TRUE;
  }
  g_clear_pointer (point, wsi_drill_point_free);
  *point = wsi_perspective_undone (perspective, outline, seen, refusal);
  if (*point != NULL && !other.hand_seen &&
      (perspective->hand_seen || may_assume (perspective, radius)))
    return TRUE;
  if (*point != NULL || other.hand_seen)
    wsi_perspective_refuse_hand (perspective, refusal);
  return FALSE;
}

WsDrillLines
wsi_perspective_seen (const WsPerspective *perspective, const WsDrillPoint *point,
                      const WsDrillLines *lines, double depth, double slope)
{
  WsDrillLines seen = *lines;
  const WsPoint foot = wsi_axis_to_tool (&point->mirror.axis, perspective->foot);
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint along = wsi_drill_lines_along (lines, k);
    const double half = 0.5 * (WS_LIP_TO - WS_LIP_FROM) * lines->radius / fabs (along.x);
    WsPoint ends[2];
    for (guint e = 0; e < 2; e++)
    {
      const WsPoint p = wsi_point_along (lines->centre[k], e == 0 ? -half : half, along);
      const double nearer = wsi_drill_side (k) * (depth + slope * fabs (p.x));
      ends[e] = wsi_point_along (p, nearer / perspective->distance, wsi_point_sub (p, foot));
    }
    const WsPoint run = wsi_point_sub (ends[1], ends[0]);
    seen.centre[k] = wsi_point_along (ends[0], 0.5, run);
    seen.angle[k] = atan2 (fabs (run.x), -run.y);
  }
  return seen;
}
