#include "tool/drill/point.h"

#include "base/geometry.h"
#include "tool/drill/envelope.h"
#include "tool/drill/first_axis.h"
#include "tool/drill/wire_edge.h"

#include <string.h>

/* Rounds of axis, envelope and lips, each resting on the others. */
#define ROUNDS 3

/* Lips flatter or steeper than this belong to no drill we know. */
#define MIN_HALF_ANGLE_DEG 25.0
#define MAX_HALF_ANGLE_DEG 82.0

/* A drill narrower than this has lips of fewer than 40 px. */
#define MIN_DIAMETER_PX 80.0

/* The body must be seen over this many radii for its symmetry to give an axis. */
#define MIN_BODY_RADII 0.6

static WsPoint
picture_point (const WsEdgePoint *p)
{
  return wsi_point (p->x, p->y);
}

static const WsEdgePoint *
edge_points (const WsOutline *outline)
{
  return (const WsEdgePoint *)(void *)outline->points->data;
}

static void
update_frame (WsDrillPoint *point)
{
  const WsEdgePoint *points = edge_points (point->outline);
  point->tip = wsi_point (0, -HUGE_VAL);
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    point->uz[i] = wsi_axis_to_tool (&point->mirror.axis, picture_point (&points[i]));
    if (!points[i].on_frame && point->uz[i].y > point->tip.y)
      point->tip = point->uz[i];
  }
}

/* Lowest height of the outline off the border. */
static double
lowest (const WsDrillPoint *point)
{
  const WsEdgePoint *points = edge_points (point->outline);
  double low = HUGE_VAL;
  for (guint i = 0; i < point->outline->points->len; i++)
    if (!points[i].on_frame)
      low = MIN (low, point->uz[i].y);
  return low;
}

/* The farthest point on one side in the direction between the lip's normal and the side's:
 * the outer corner, near enough to start from. */
static WsPoint
rough_corner (const WsDrillPoint *point, double side, double half_angle)
{
  const WsEdgePoint *points = edge_points (point->outline);
  const double tilt = MIN (0.5 * (G_PI / 2 - half_angle), wsi_radians (12));
  const WsPoint toward = wsi_point (side * cos (tilt), sin (tilt));
  WsPoint best = point->tip;
  double most = -HUGE_VAL;
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    if (points[i].on_frame || point->uz[i].x * side < 0)
      continue;
    const double reach = wsi_point_dot (point->uz[i], toward);
    if (reach > most)
    {
      most = reach;
      best = point->uz[i];
    }
  }
  return best;
}

/* Outline points of one lip within its range, from the axis outward. */
static void
collect_lip (WsDrillPoint *point, WsDrillLip *lip, double corner_z)
{
  const WsEdgePoint *points = edge_points (point->outline);
  const guint n = point->outline->points->len;
  const double from = WS_LIP_FROM * point->radius, to = WS_LIP_TO * point->radius;
  g_array_set_size (lip->points, 0);
  for (guint k = 0; k < n; k++)
  {
    /* Walking with the tool on the right, lip b comes from the axis outward, lip a inward. */
    const guint i = lip->side > 0 ? k : n - 1 - k;
    const double distance = point->uz[i].x * lip->side;
    if (!points[i].on_frame && distance >= from && distance <= to && point->uz[i].y > corner_z)
      g_array_append_val (lip->points, point->uz[i]);
  }
  lip->used = g_realloc (lip->used, lip->points->len + 1);
  memset (lip->used, 0, lip->points->len + 1);
}

static int
outward (gconstpointer a, gconstpointer b)
{
  const double da = fabs (((const WsPoint *)a)->x), db = fabs (((const WsPoint *)b)->x);
  return (da > db) - (da < db);
}

/* As they mostly are. */
static gboolean
goes_outward (const GArray *points)
{
  const WsPoint *p = (const WsPoint *)(const void *)points->data;
  for (guint i = 1; i < points->len; i++)
    if (outward (&p[i - 1], &p[i]) > 0)
      return FALSE;
  return TRUE;
}

static void
collect_outward (WsDrillPoint *point, WsDrillLip *lip, double corner_z)
{
  collect_lip (point, lip, corner_z);
  if (!goes_outward (lip->points))
    g_array_sort (lip->points, outward);
}

/* Where the outline passes over a place of the lip more than once, as round a hair, the innermost
 * counts: points farther out than this, px, go.  Usual half angle, to tell what is out. */
#define OVER_PX 2.0
#define USUAL_HALF_DEG 59.0

static void
leave_innermost (GArray *points, double side)
{
  const double c = cos (wsi_radians (USUAL_HALF_DEG)), s = sin (wsi_radians (USUAL_HALF_DEG));
  WsPoint *p = (WsPoint *)(void *)points->data;
  guint kept = 0;
  for (guint i = 0; i < points->len;)
  {
    guint end = i;
    double least = HUGE_VAL;
    for (; end < points->len && floor (fabs (p[end].x)) <= floor (fabs (p[i].x)); end++)
      least = MIN (least, side * p[end].x * c + p[end].y * s);
    for (; i < end; i++)
      if (side * p[i].x * c + p[i].y * s < least + OVER_PX)
        p[kept++] = p[i];
  }
  g_array_set_size (points, kept);
}

/* What follows from the line. */
static void
place_lip (const WsDrillPoint *point, WsDrillLip *lip)
{
  const WsPoint d = lip->line.direction;
  lip->half_angle = atan2 (fabs (d.x), fabs (d.y));
  /* A lip falls away from the axis. */
  if (d.x * d.y * lip->side > 0)
    lip->half_angle = G_PI - lip->half_angle;
  const double t = (lip->side * point->radius - lip->line.centre.x) / d.x;
  lip->corner = wsi_point_along (lip->line.centre, t, d);
}

/* The line, and what follows from it. */
static gboolean
fit_line (WsDrillPoint *point, WsDrillLip *lip, const WsBow *bow)
{
  const WsPoint away = wsi_point (lip->side, 1);
  if (!wsi_line_fit_under ((const WsPoint *)(void *)lip->points->data, lip->points->len, away, bow,
                           lip->used, &lip->line, &lip->proud))
    return FALSE;
  place_lip (point, lip);
  return TRUE;
}

static gboolean
fit_lip (WsDrillPoint *point, WsDrillLip *lip, double corner_z)
{
  collect_outward (point, lip, corner_z);
  leave_innermost (lip->points, lip->side);
  return fit_line (point, lip, NULL);
}

/* Near enough where the whole point is near enough: what stands proud isn't looked for. */
static gboolean
fit_lip_roughly (WsDrillPoint *point, WsDrillLip *lip, double corner_z)
{
  collect_outward (point, lip, corner_z);
  leave_innermost (lip->points, lip->side);
  if (!wsi_line_fit ((const WsPoint *)(void *)lip->points->data, lip->points->len, lip->used,
                     &lip->line))
    return FALSE;
  place_lip (point, lip);
  return TRUE;
}

/* A lip's bow follows from how far its half angle is off the one that its flute was made for, (1):
 * by so much R for each degree, and its standard deviation (rendered drills); what else bows one
 * lip and not the other, in parts of its length, is assumed. */
#define BOW_PER_DEG 0.00018
#define BOW_PER_DEG_SD 0.00006
#define BOW_UNLIKE 0.0004
#define BOW_UNSURE 0.001

/* Positive when the lip's ends stand out. */
static double
outward_bow (const WsDrillLip *lip)
{
  const WsPoint d = lip->line.direction;
  return d.x - d.y * lip->side < 0 ? -lip->line.bow : lip->line.bow;
}

/* Both lips are ground alike: the other one tells what bow to expect of lip k. */
static WsBow
expected_bow (const WsDrillPoint *point, guint k)
{
  const WsDrillLip *other = &point->lips[1 - k];
  const double length = other->line.t_high - other->line.t_low;
  const double apart = point->radius * wsi_degrees (point->lips[k].half_angle - other->half_angle);
  const double unlike = other->proud.height > 0 ? BOW_UNSURE : BOW_UNLIKE;
  const WsBow bow = { outward_bow (other) + BOW_PER_DEG * apart,
                      hypot (unlike * length, BOW_PER_DEG_SD * apart) };
  return bow;
}

double
wsi_drill_bows_apart (const WsDrillPoint *point, double *unsure)
{
  const double apart =
    point->radius * wsi_degrees (point->lips[0].half_angle - point->lips[1].half_angle);
  *unsure = BOW_PER_DEG_SD * fabs (apart);
  return fabs (outward_bow (&point->lips[0]) - expected_bow (point, 0).outward);
}

/* What hardly shows on a lip, a wire edge with a chip beside it or one rolled over all of it, can
 * bow its line.  Where the lips disagree by so many standard deviations, the one that is bowed more
 * tells nothing of the other. */
#define STRANGE_BOW 3.0

static gboolean
is_astray (const WsDrillPoint *point, guint k, const WsBow *bow)
{
  const WsDrillLip *lip = &point->lips[k], *other = &point->lips[1 - k];
  return fabs (outward_bow (lip) - bow->outward) > STRANGE_BOW * bow->sigma &&
         fabs (lip->line.bow) > fabs (other->line.bow);
}

/* More of the lip than this stood proud of its line alone, by more than this many px. */
#define COVERED 0.7
#define COVERED_PX 1.0

static gboolean
fit_alike (WsDrillPoint *point)
{
  const WsBow bows[2] = { expected_bow (point, 0), expected_bow (point, 1) };
  const gboolean astray[2] = { is_astray (point, 0, &bows[0]), is_astray (point, 1, &bows[1]) };
  for (guint k = 0; k < 2; k++)
  {
    const WsProud alone = point->lips[k].proud;
    if (!fit_line (point, &point->lips[k], astray[1 - k] ? NULL : &bows[k]))
      return FALSE;
    /* Of what covers most of a lip, evenly, the top is as good a line: either may be the lip. */
    WsProud *proud = &point->lips[k].proud;
    if (alone.unclear && alone.share > COVERED && alone.height > COVERED_PX && !(proud->height > 0))
      proud->unclear = TRUE;
  }
  return wsi_line_meet (&point->lips[0].line, &point->lips[1].line, &point->apex);
}

static double
distance_to_segment (WsPoint p, WsPoint a, WsPoint b)
{
  const WsPoint run = wsi_point_sub (b, a);
  const double square = MAX (wsi_point_dot (run, run), 1e-12);
  const double t = CLAMP (wsi_point_dot (wsi_point_sub (p, a), run) / square, 0, 1);
  return wsi_point_distance (p, wsi_point_along (a, t, run));
}

/* So far that rounding makes it no nearer. */
static gboolean
is_beyond (WsPoint p, WsPoint a, WsPoint b, double distance)
{
  const double beyond = distance + 1e-6;
  return p.x + beyond < MIN (a.x, b.x) || p.x - beyond > MAX (a.x, b.x) ||
         p.y + beyond < MIN (a.y, b.y) || p.y - beyond > MAX (a.y, b.y);
}

static double
corner_gap (const WsDrillPoint *point, WsPoint corner)
{
  const WsEdgePoint *points = edge_points (point->outline);
  const guint n = point->outline->points->len;
  double least = HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    const guint j = i + 1 < n ? i + 1 : 0;
    if (!points[i].on_frame && !points[j].on_frame &&
        !is_beyond (corner, point->uz[i], point->uz[j], least))
      least = MIN (least, distance_to_segment (corner, point->uz[i], point->uz[j]));
  }
  return least;
}

static gboolean
fit_body (WsDrillPoint *point, double z_low, double z_high)
{
  WsMirror mirror;
  if (!wsi_mirror_fit (edge_points (point->outline), point->outline->points->len,
                       &point->mirror.axis, z_low, z_high, point->outline->spacing_px, &mirror))
    return FALSE;
  point->mirror = mirror;
  update_frame (point);
  return TRUE;
}

/* A lip is looked for down to so many radii below its corner. */
#define BELOW_CORNER 0.15

/* Height below which there is body alone. */
static double
top_of_body (const WsDrillPoint *point)
{
  return MIN (point->lips[0].corner.y, point->lips[1].corner.y) - 0.05 * point->radius;
}

static gboolean
fit_lips (WsDrillPoint *point, const WsPoint corners[2], WsRefusal *refusal)
{
  for (guint k = 0; k < 2; k++)
  {
    WsDrillLip *lip = &point->lips[k];
    /* What sticks out may be taken for the corner, but the line knows better. */
    const double corner_z = lip->half_angle > 0 ? lip->corner.y : corners[k].y;
    const double floor_z = corner_z - BELOW_CORNER * point->radius;
    if (!fit_lip (point, lip, floor_z))
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "no straight lip on the %s",
                              k == 0 ? "left" : "right");
    const double angle = wsi_degrees (lip->half_angle);
    if (angle < MIN_HALF_ANGLE_DEG || angle > MAX_HALF_ANGLE_DEG)
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                              "the edge on the %s makes %.0f deg with the axis",
                              k == 0 ? "left" : "right", angle);
  }
  if (!wsi_line_meet (&point->lips[0].line, &point->lips[1].line, &point->apex))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the lips are parallel");
  return TRUE;
}

/* A gap in a front-lit outline nearer to a corner than this, in radii, may hide its wear; the tip
 * has a lip's inner end for its border. */
#define CORNER_CLEAR 0.06

/* More of a lip hidden tells too little of it. */
#define MAX_HIDDEN 0.2

/* What the gap from a to b hides; FALSE when that is more than a lip's part. */
static gboolean
gap_spares (WsDrillPoint *point, WsPoint a, WsPoint b, WsRefusal *refusal)
{
  const double R = point->radius;
  const double low = MIN (point->lips[0].corner.y, point->lips[1].corner.y);
  for (guint k = 0; k < 2; k++)
    if (distance_to_segment (point->lips[k].corner, a, b) < CORNER_CLEAR * R)
      return wsi_refusal_set (refusal, WS_RETAKE_LOW_CONTRAST,
                              "the corner of lip %s is as bright as the ground",
                              k == 0 ? "a" : "b");
  if (MAX (a.y, b.y) < low)
    return TRUE;
  if (MIN (a.x, b.x) < WS_LIP_FROM * R && MAX (a.x, b.x) > -WS_LIP_FROM * R)
    return wsi_refusal_set (refusal, WS_RETAKE_LOW_CONTRAST, "the tip is as bright as the ground");
  point->lips[a.x > 0].hidden += fabs (b.x - a.x) / ((WS_LIP_TO - WS_LIP_FROM) * R);
  return TRUE;
}

static gboolean
check_gaps (WsDrillPoint *point, WsRefusal *refusal)
{
  const WsEdgePoint *points = edge_points (point->outline);
  const guint n = point->outline->points->len;
  for (guint i = 0; i < n; i++)
    if (points[i].after_gap &&
        !gap_spares (point, point->uz[(i + n - 1) % n], point->uz[i], refusal))
      return FALSE;
  for (guint k = 0; k < 2; k++)
    if (point->lips[k].hidden > MAX_HIDDEN)
      return wsi_refusal_set (refusal, WS_RETAKE_LOW_CONTRAST,
                              "%.0f %% of lip %s is as bright as the ground",
                              100 * point->lips[k].hidden, k == 0 ? "a" : "b");
  return TRUE;
}

/* Axis, envelope and lips in turn until each rests on the others. */
static gboolean
refine (WsDrillPoint *point, WsRefusal *refusal)
{
  double angles[2] = { wsi_radians (59), wsi_radians (59) };
  for (guint round = 0; round < ROUNDS; round++)
  {
    WsPoint corners[2];
    for (guint k = 0; k < 2; k++)
      corners[k] = rough_corner (point, k == 0 ? -1 : 1, angles[k]);
    const WsEnvelope envelope = wsi_envelope_find (point->outline, point->uz, corners);
    point->radius = envelope.radius;
    point->u_radius = envelope.u_radius;
    memcpy (point->bump, envelope.bump, sizeof point->bump);
    if (2 * point->radius < MIN_DIAMETER_PX)
      return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the tool is %.0f px wide",
                              2 * point->radius);
    if (!fit_lips (point, corners, refusal))
      return FALSE;
    for (guint k = 0; k < 2; k++)
      angles[k] = point->lips[k].half_angle;

    const double z_high = top_of_body (point);
    const double z_low = lowest (point) + 3;
    if (z_high - z_low < MIN_BODY_RADII * point->radius)
      return wsi_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME,
                              "only %.1f diameters of body are in the picture",
                              MAX (0.0, z_high - z_low) / (2 * point->radius));
    if (!fit_body (point, z_low, z_high))
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the body has no axis of symmetry");
  }
  if (!fit_alike (point))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "no straight lips");
  for (guint k = 0; k < 2; k++)
  {
    point->lips[k].corner_gap = corner_gap (point, point->lips[k].corner);
    /* The chisel edge cuts the apex off over this. */
    const double flat = (point->apex.y - point->tip.y) * tan (point->lips[k].half_angle);
    const WsWireSight sight = { point->outline, point->uz, point->radius,
                                1.6 * flat + fabs (point->apex.x) };
    point->lips[k].wire = wsi_wire_edge_find (&sight, &point->lips[k]);
  }
  return check_gaps (point, refusal);
}

/* One end of the tool as the point. */
static gboolean
locate_at (WsDrillPoint *point, const WsAxis *guess, WsRefusal *refusal)
{
  WsAxis axis;
  if (!wsi_drill_axis_search (point->outline, guess, &axis))
    return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "too little of a body to find an axis");
  point->mirror.axis = axis;
  update_frame (point);
  const WsDrillExtent e = wsi_drill_extent (point->outline, &axis);
  if (2 * e.half_width < 0.7 * MIN_DIAMETER_PX)
    return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the tool is %.0f px wide",
                            2 * e.half_width);
  if (!fit_body (point, e.z_low + 2, e.z_high - 0.9 * e.half_width))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the body has no axis of symmetry");
  return refine (point, refusal);
}

gboolean
wsi_drill_point_follow (WsDrillPoint *point)
{
  WsPoint corners[2];
  update_frame (point);
  for (guint k = 0; k < 2; k++)
    corners[k] = rough_corner (point, k == 0 ? -1 : 1, point->lips[k].half_angle);
  const WsEnvelope envelope = wsi_envelope_find (point->outline, point->uz, corners);
  point->radius = envelope.radius;
  if (2 * point->radius < MIN_DIAMETER_PX)
    return FALSE;
  for (guint k = 0; k < 2; k++)
  {
    WsDrillLip *lip = &point->lips[k];
    if (!fit_lip_roughly (point, lip, lip->corner.y - BELOW_CORNER * point->radius) ||
        wsi_degrees (lip->half_angle) < MIN_HALF_ANGLE_DEG ||
        wsi_degrees (lip->half_angle) > MAX_HALF_ANGLE_DEG)
      return FALSE;
  }
  for (guint k = 0; k < 2; k++)
    point->lips[k].corner_gap = corner_gap (point, point->lips[k].corner);
  const double z_high = top_of_body (point), z_low = lowest (point) + 3;
  return wsi_line_meet (&point->lips[0].line, &point->lips[1].line, &point->apex) &&
         z_high - z_low >= MIN_BODY_RADII * point->radius && fit_body (point, z_low, z_high);
}

static WsDrillPoint *
new_point (WsOutline *outline)
{
  WsDrillPoint *point = g_new0 (WsDrillPoint, 1);
  point->outline = outline;
  point->uz = g_new0 (WsPoint, outline->points->len + 1);
  for (guint k = 0; k < 2; k++)
  {
    point->lips[k].side = k == 0 ? -1 : 1;
    point->lips[k].points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  }
  return point;
}

WsDrillPoint *
wsi_drill_point_locate (WsOutline *outline, WsRefusal *refusal)
{
  g_autoptr (WsDrillPoint) point = new_point (outline);
  WsAxis guesses[2];
  refusal->reason = WS_RETAKE_NONE;
  const guint n = wsi_drill_axis_guesses (outline, guesses, refusal);
  for (guint i = 0; i < n; i++)
    if (locate_at (point, &guesses[i], refusal))
      return g_steal_pointer (&point);
  return NULL;
}

void
wsi_drill_point_turn_lip (WsDrillPoint *point, guint k, double turn)
{
  WsDrillLip *lip = &point->lips[k];
  const WsPoint d = lip->line.direction;
  lip->line.direction =
    wsi_point (cos (turn) * d.x - sin (turn) * d.y, cos (turn) * d.y + sin (turn) * d.x);
  place_lip (point, lip);
  lip->corner_gap = corner_gap (point, lip->corner);
  wsi_line_meet (&point->lips[0].line, &point->lips[1].line, &point->apex);
}

double
wsi_drill_point_tip_height (const WsDrillPoint *point)
{
  const WsEdgePoint *points = edge_points (point->outline);
  double sum = 0;
  guint n = 0;
  for (guint i = 0; i < point->outline->points->len; i++)
    if (!points[i].on_frame && fabs (point->uz[i].x - point->tip.x) < 3 &&
        point->uz[i].y > point->tip.y - 3)
    {
      sum += point->uz[i].y;
      n++;
    }
  return n > 0 ? sum / n : point->tip.y;
}

void
wsi_drill_point_free (WsDrillPoint *point)
{
  if (point == NULL)
    return;
  for (guint k = 0; k < 2; k++)
  {
    g_array_unref (point->lips[k].points);
    g_free (point->lips[k].used);
  }
  g_free (point->uz);
  g_free (point);
}
