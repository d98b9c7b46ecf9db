#include "tool/drill/first_axis.h"

#include "base/geometry.h"
#include "edge/line.h"
#include "maths/stats.h"

/* The axis is searched this far about the first guess. */
#define SEARCH_DEG 36.0
#define SEARCH_STEP_DEG 2.0
#define SEARCH_POINTS 1200

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
    contact.centre = wsi_point_add (contact.centre, picture_point (p));
  }
  if (contact.points > 0)
    contact.centre =
      wsi_point (contact.centre.x / contact.points, contact.centre.y / contact.points);
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
    const double distance = wsi_point_distance (picture_point (&points[i]), from);
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
  return (WsAxis){ axis->origin, wsi_point (c * d.x - s * d.y, s * d.x + c * d.y) };
}

WsDrillExtent
wsi_drill_extent (const WsOutline *outline, const WsAxis *axis)
{
  const WsEdgePoint *points = edge_points (outline);
  const guint n = outline->points->len;
  g_autofree double *u = g_new (double, n + 1);
  WsDrillExtent extent = { HUGE_VAL, -HUGE_VAL, 0 };
  guint kept = 0;
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    if (points[i].on_frame)
      continue;
    const WsPoint p = wsi_axis_to_tool (axis, picture_point (&points[i]));
    extent.z_low = MIN (extent.z_low, p.y);
    extent.z_high = MAX (extent.z_high, p.y);
    u[kept++] = p.x;
  }
  if (kept == 0)
    return extent;
  low = wsi_quantile (u, kept, 0.05);
  high = wsi_quantile (u, kept, 0.95);
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

gboolean
wsi_drill_axis_search (const WsOutline *outline, const WsAxis *guess, WsAxis *best)
{
  const guint stride = 1 + outline->points->len / SEARCH_POINTS;
  g_autoptr (GArray) points = thinned (outline, stride);
  const WsOutline thin = { .points = points };
  double least = HUGE_VAL;
  for (double turn = -SEARCH_DEG; turn <= SEARCH_DEG; turn += SEARCH_STEP_DEG)
  {
    const WsAxis axis = axis_turned (guess, wsi_radians (turn));
    const WsDrillExtent e = wsi_drill_extent (&thin, &axis);
    const double defect =
      wsi_mirror_defect (edge_points (&thin), points->len, &axis, e.z_low,
                         e.z_high - 0.9 * e.half_width, stride * outline->spacing_px);
    if (defect < least)
    {
      least = defect;
      *best = axis;
    }
  }
  return least < HUGE_VAL;
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
  wsi_line_fit_total (places, n, &line);
  return (WsAxis){ line.centre, line.direction };
}

guint
wsi_drill_axis_guesses (const WsOutline *outline, WsAxis guesses[2], WsRefusal *refusal)
{
  const FrameContact contact = frame_contact (outline);
  if (contact.runs > 1)
  {
    wsi_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME, "the tool leaves the picture at %u places",
                     contact.runs);
    return 0;
  }
  if (contact.runs == 0)
  {
    guesses[0] = guesses[1] = long_axis (outline);
    guesses[1].direction = wsi_point (-guesses[0].direction.x, -guesses[0].direction.y);
    return 2;
  }
  const WsPoint far = farthest_from (outline, contact.centre);
  const WsPoint run = wsi_point_sub (far, contact.centre);
  const double length = MAX (wsi_point_length (run), 1);
  guesses[0] = (WsAxis){ contact.centre, wsi_point (run.x / length, run.y / length) };
  return 1;
}
