#include "tool/drill/point.h"

#include "base/geometry.h"
#include "maths/stats.h"

#include <string.h>

/* The axis is searched this far about the first guess. */
#define SEARCH_DEG 36.0
#define SEARCH_STEP_DEG 2.0
#define SEARCH_POINTS 1200

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
  return ws_point (p->x, p->y);
}

static const WsEdgePoint *
edge_points (const WsOutline *outline)
{
  return (const WsEdgePoint *)(void *)outline->points->data;
}

typedef struct
{
  guint runs; /* stretches of the outline that lie on the picture's border */
  guint points;
  WsPoint centre; /* of all points on the border */
} FrameContact;

/* Where the tool leaves the picture.  A gap of a few points does not end a stretch. */
static FrameContact
frame_contact (const WsOutline *outline)
{
  const WsEdgePoint *points = edge_points (outline);
  const guint n = outline->points->len;
  FrameContact contact = { 0, 0, { 0, 0 } };
  guint since = 0;
  guint start = 0;
  while (start < n && points[start].on_frame)
    start++;
  for (guint k = 0; k < n; k++)
  {
    const WsEdgePoint *p = &points[(start + k) % n];
    if (!p->on_frame)
    {
      since++;
      continue;
    }
    if (contact.points == 0 || since > 10)
      contact.runs++;
    since = 0;
    contact.points++;
    contact.centre = ws_point_add (contact.centre, picture_point (p));
  }
  if (contact.points > 0)
    contact.centre =
      ws_point (contact.centre.x / contact.points, contact.centre.y / contact.points);
  return contact;
}

static WsPoint
farthest_from (const WsOutline *outline, WsPoint from)
{
  const WsEdgePoint *points = edge_points (outline);
  WsPoint best = from;
  double most = -1;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const double distance = ws_point_distance (picture_point (&points[i]), from);
    if (distance > most)
    {
      most = distance;
      best = picture_point (&points[i]);
    }
  }
  return best;
}

static WsAxis
axis_turned (const WsAxis *axis, double angle)
{
  const WsPoint d = axis->direction;
  const double c = cos (angle), s = sin (angle);
  return (WsAxis){ axis->origin, ws_point (c * d.x - s * d.y, s * d.x + c * d.y) };
}

typedef struct
{
  double z_low, z_high; /* of the outline off the border */
  double half_width;    /* 95 % quantile of |u - median u| */
} Extent;

static Extent
extent_along (const WsOutline *outline, const WsAxis *axis)
{
  const WsEdgePoint *points = edge_points (outline);
  const guint n = outline->points->len;
  g_autofree double *u = g_new (double, n + 1);
  Extent extent = { HUGE_VAL, -HUGE_VAL, 0 };
  guint kept = 0;
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    if (points[i].on_frame)
      continue;
    const WsPoint p = ws_axis_to_tool (axis, picture_point (&points[i]));
    extent.z_low = MIN (extent.z_low, p.y);
    extent.z_high = MAX (extent.z_high, p.y);
    u[kept++] = p.x;
  }
  if (kept == 0)
    return extent;
  low = ws_quantile (u, kept, 0.05);
  high = ws_quantile (u, kept, 0.95);
  extent.half_width = 0.5 * (high - low);
  return extent;
}

/* Every so many-th point off the border. */
static GArray *
thinned (const WsOutline *outline, guint stride)
{
  const WsEdgePoint *points = edge_points (outline);
  GArray *thin = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint i = 0; i < outline->points->len; i += stride)
    if (!points[i].on_frame)
      g_array_append_val (thin, points[i]);
  return thin;
}

/* The direction about `guess` in which the body is most nearly mirror-symmetric. */
static gboolean
search_axis (const WsOutline *outline, const WsAxis *guess, WsAxis *best)
{
  const guint stride = 1 + outline->points->len / SEARCH_POINTS;
  g_autoptr (GArray) points = thinned (outline, stride);
  const WsOutline thin = { .points = points };
  double least = HUGE_VAL;
  for (double turn = -SEARCH_DEG; turn <= SEARCH_DEG; turn += SEARCH_STEP_DEG)
  {
    const WsAxis axis = axis_turned (guess, ws_radians (turn));
    const Extent e = extent_along (&thin, &axis);
    const double defect =
      ws_mirror_defect (edge_points (&thin), points->len, &axis, e.z_low,
                        e.z_high - 0.9 * e.half_width, stride * outline->spacing_px);
    if (defect < least)
    {
      least = defect;
      *best = axis;
    }
  }
  return least < HUGE_VAL;
}

static void
update_frame (WsDrillPoint *point)
{
  const WsEdgePoint *points = edge_points (point->outline);
  point->tip = ws_point (0, -HUGE_VAL);
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    point->uz[i] = ws_axis_to_tool (&point->mirror.axis, picture_point (&points[i]));
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
  const double tilt = MIN (0.5 * (G_PI / 2 - half_angle), ws_radians (12));
  const WsPoint toward = ws_point (side * cos (tilt), sin (tilt));
  WsPoint best = point->tip;
  double most = -HUGE_VAL;
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    if (points[i].on_frame || point->uz[i].x * side < 0)
      continue;
    const double reach = ws_point_dot (point->uz[i], toward);
    if (reach > most)
    {
      most = reach;
      best = point->uz[i];
    }
  }
  return best;
}

/* Distances from the axis of outline points between two heights, as (distance, z). */
static GArray *
distances_between (const WsDrillPoint *point, double z_low, double z_high)
{
  const WsEdgePoint *points = edge_points (point->outline);
  GArray *found = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < point->outline->points->len; i++)
    if (!points[i].on_frame && point->uz[i].y >= z_low && point->uz[i].y < z_high)
    {
      const WsPoint p = { fabs (point->uz[i].x), point->uz[i].y };
      g_array_append_val (found, p);
    }
  return found;
}

/* Greatest median distance in windows of `length` along the axis; 0 with too few points. */
static double
plateau_level (const WsDrillPoint *point, double z_low, double z_high, double length)
{
  g_autoptr (GArray) near = distances_between (point, z_low, z_high);
  g_autofree double *scratch = g_new (double, near->len + 1);
  double level = 0;
  for (double z = z_low; z + length <= z_high; z += 0.5 * length)
  {
    guint n = 0;
    for (guint i = 0; i < near->len; i++)
    {
      const WsPoint p = g_array_index (near, WsPoint, i);
      if (p.y >= z && p.y < z + length)
        scratch[n++] = p.x;
    }
    if (n >= 4)
      level = MAX (level, ws_median (scratch, n));
  }
  return level;
}

/* Mean and its standard error of the points within `band` of `level`. */
static void
mean_near (WsDrillPoint *point, double level, double band, double z_low, double z_high)
{
  const WsEdgePoint *points = edge_points (point->outline);
  double n = 0, sum = 0, squares = 0;
  point->margin_low = z_high;
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const double off = fabs (point->uz[i].x) - level;
    if (points[i].on_frame || point->uz[i].y < z_low || point->uz[i].y >= z_high ||
        fabs (off) > band)
      continue;
    n += 1;
    sum += off;
    squares += off * off;
    point->margin_low = MIN (point->margin_low, point->uz[i].y);
  }
  const double mean = n > 0 ? sum / n : 0;
  point->radius = level + mean;
  /* Neighbouring points share what the ground margin does: count one in five. */
  point->u_radius = n > 1 ? sqrt (MAX (squares / n - mean * mean, 1e-4) * 5 / n) : band;
}

/*
 * The envelope radius.  Below the corners the outline follows the margins, which lie on the
 * envelope, over a short length on both sides; there the distance from the axis is greatest
 * and constant.  Sliding medians find that plateau, its points' mean is the radius.
 */
static void
find_radius (WsDrillPoint *point, const WsPoint corners[2])
{
  const double rough = 0.5 * (fabs (corners[0].x) + fabs (corners[1].x));
  const double z_high = MAX (corners[0].y, corners[1].y) + 0.1 * rough;
  const double z_low = z_high - 1.3 * rough;
  const double level = plateau_level (point, z_low, z_high, MAX (0.06 * rough, 4.0));
  const double scatter = point->outline->noise * point->outline->blur_px;
  const double band = MAX (0.35, 6 * scatter);
  mean_near (point, level, band, z_low, z_high);
  /* The plateau's lower end falls away gently: leave out its last third. */
  const double lip_end = MIN (corners[0].y, corners[1].y);
  const double z_from = point->margin_low + MAX (0.0, lip_end - point->margin_low) / 3;
  mean_near (point, point->radius, band, z_from, z_high);
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

static gboolean
fit_lip (WsDrillPoint *point, WsDrillLip *lip, double corner_z)
{
  collect_lip (point, lip, corner_z);
  g_array_sort (lip->points, outward);
  if (!ws_line_fit ((const WsPoint *)(void *)lip->points->data, lip->points->len, lip->used,
                    &lip->line))
    return FALSE;
  const WsPoint d = lip->line.direction;
  lip->half_angle = atan2 (fabs (d.x), fabs (d.y));
  /* A lip falls away from the axis. */
  if (d.x * d.y * lip->side > 0)
    lip->half_angle = G_PI - lip->half_angle;
  const double t = (lip->side * point->radius - lip->line.centre.x) / d.x;
  lip->corner = ws_point_along (lip->line.centre, t, d);
  return TRUE;
}

static double
distance_to_segment (WsPoint p, WsPoint a, WsPoint b)
{
  const WsPoint run = ws_point_sub (b, a);
  const double square = MAX (ws_point_dot (run, run), 1e-12);
  const double t = CLAMP (ws_point_dot (ws_point_sub (p, a), run) / square, 0, 1);
  return ws_point_distance (p, ws_point_along (a, t, run));
}

static double
corner_gap (const WsDrillPoint *point, WsPoint corner)
{
  const WsEdgePoint *points = edge_points (point->outline);
  const guint n = point->outline->points->len;
  double least = HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    const guint j = (i + 1) % n;
    if (!points[i].on_frame && !points[j].on_frame)
      least = MIN (least, distance_to_segment (corner, point->uz[i], point->uz[j]));
  }
  return least;
}

static gboolean
fit_body (WsDrillPoint *point, double z_low, double z_high)
{
  WsMirror mirror;
  if (!ws_mirror_fit (edge_points (point->outline), point->outline->points->len,
                      &point->mirror.axis, z_low, z_high, point->outline->spacing_px, &mirror))
    return FALSE;
  point->mirror = mirror;
  update_frame (point);
  return TRUE;
}

static gboolean
fit_lips (WsDrillPoint *point, const WsPoint corners[2], WsRefusal *refusal)
{
  for (guint k = 0; k < 2; k++)
  {
    WsDrillLip *lip = &point->lips[k];
    const double floor_z = corners[k].y - 0.15 * point->radius;
    if (!fit_lip (point, lip, floor_z))
      return ws_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "no straight lip on the %s",
                             k == 0 ? "left" : "right");
    const double angle = ws_degrees (lip->half_angle);
    if (angle < MIN_HALF_ANGLE_DEG || angle > MAX_HALF_ANGLE_DEG)
      return ws_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                             "the edge on the %s makes %.0f deg with the axis",
                             k == 0 ? "left" : "right", angle);
  }
  if (!ws_line_meet (&point->lips[0].line, &point->lips[1].line, &point->apex))
    return ws_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the lips are parallel");
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
      return ws_refusal_set (refusal, WS_RETAKE_LOW_CONTRAST,
                             "the corner of lip %s is as bright as the ground", k == 0 ? "a" : "b");
  if (MAX (a.y, b.y) < low)
    return TRUE;
  if (MIN (a.x, b.x) < WS_LIP_FROM * R && MAX (a.x, b.x) > -WS_LIP_FROM * R)
    return ws_refusal_set (refusal, WS_RETAKE_LOW_CONTRAST, "the tip is as bright as the ground");
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
      return ws_refusal_set (refusal, WS_RETAKE_LOW_CONTRAST,
                             "%.0f %% of lip %s is as bright as the ground",
                             100 * point->lips[k].hidden, k == 0 ? "a" : "b");
  return TRUE;
}

/* Axis, envelope and lips in turn until each rests on the others. */
static gboolean
refine (WsDrillPoint *point, WsRefusal *refusal)
{
  double angles[2] = { ws_radians (59), ws_radians (59) };
  for (guint round = 0; round < ROUNDS; round++)
  {
    WsPoint corners[2];
    for (guint k = 0; k < 2; k++)
      corners[k] = rough_corner (point, k == 0 ? -1 : 1, angles[k]);
    find_radius (point, corners);
    if (2 * point->radius < MIN_DIAMETER_PX)
      return ws_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the tool is %.0f px wide",
                             2 * point->radius);
    if (!fit_lips (point, corners, refusal))
      return FALSE;
    for (guint k = 0; k < 2; k++)
      angles[k] = point->lips[k].half_angle;

    const double z_high =
      MIN (point->lips[0].corner.y, point->lips[1].corner.y) - 0.05 * point->radius;
    const double z_low = lowest (point) + 3;
    if (z_high - z_low < MIN_BODY_RADII * point->radius)
      return ws_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME,
                             "only %.1f diameters of body are in the picture",
                             MAX (0.0, z_high - z_low) / (2 * point->radius));
    if (!fit_body (point, z_low, z_high))
      return ws_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the body has no axis of symmetry");
  }
  for (guint k = 0; k < 2; k++)
    point->lips[k].corner_gap = corner_gap (point, point->lips[k].corner);
  return check_gaps (point, refusal);
}

/* One end of the tool as the point. */
static gboolean
locate_at (WsDrillPoint *point, const WsAxis *guess, WsRefusal *refusal)
{
  WsAxis axis;
  if (!search_axis (point->outline, guess, &axis))
    return ws_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "too little of a body to find an axis");
  point->mirror.axis = axis;
  update_frame (point);
  const Extent e = extent_along (point->outline, &axis);
  if (2 * e.half_width < 0.7 * MIN_DIAMETER_PX)
    return ws_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the tool is %.0f px wide",
                           2 * e.half_width);
  if (!fit_body (point, e.z_low + 2, e.z_high - 0.9 * e.half_width))
    return ws_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the body has no axis of symmetry");
  return refine (point, refusal);
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

/* Long direction of an outline that lies wholly within the picture. */
static WsAxis
long_axis (const WsOutline *outline)
{
  const WsEdgePoint *points = edge_points (outline);
  const guint n = outline->points->len;
  g_autofree WsPoint *places = g_new (WsPoint, n + 1);
  for (guint i = 0; i < n; i++)
    places[i] = picture_point (&points[i]);
  WsLineFit line = { .direction = { 0, -1 } };
  ws_line_fit_total (places, n, &line);
  return (WsAxis){ line.centre, line.direction };
}

WsDrillPoint *
ws_drill_point_locate (WsOutline *outline, WsRefusal *refusal)
{
  g_autoptr (WsDrillPoint) point = new_point (outline);
  const FrameContact contact = frame_contact (outline);
  refusal->reason = WS_RETAKE_NONE;
  if (contact.runs > 1)
  {
    ws_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME, "the tool leaves the picture at %u places",
                    contact.runs);
    return NULL;
  }
  if (contact.runs == 1)
  {
    const WsPoint far = farthest_from (outline, contact.centre);
    const WsPoint run = ws_point_sub (far, contact.centre);
    const double length = MAX (ws_point_length (run), 1);
    const WsAxis guess = { contact.centre, ws_point (run.x / length, run.y / length) };
    return locate_at (point, &guess, refusal) ? g_steal_pointer (&point) : NULL;
  }

  WsAxis guess = long_axis (outline);
  for (guint end = 0; end < 2; end++)
  {
    if (locate_at (point, &guess, refusal))
      return g_steal_pointer (&point);
    guess.direction = ws_point (-guess.direction.x, -guess.direction.y);
  }
  return NULL;
}

double
ws_drill_point_tip_height (const WsDrillPoint *point)
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
ws_drill_point_free (WsDrillPoint *point)
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
