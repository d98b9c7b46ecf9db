#include "tool/set_out/places.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/blade/blade.h"
#include "tool/blade/blade_side.h"
#include "tool/blade/lines.h"
#include "tool/blade/plan_corner.h"
#include "tool/blade/side_layout.h"
#include "tool/drill/lines.h"
#include "tool/drill/point.h"
#include "tool/silhouette.h"

WsEdgeKind
wsi_edge_kind (const WsView *view)
{
  static const struct
  {
    const char *view;
    WsEdgeKind kind;
  } kinds[] = { { "drill-side", WS_EDGE_DRILL },
                { "blade-plan", WS_EDGE_FRONT },
                { "blade-side", WS_EDGE_TIP },
                { "form-side", WS_EDGE_TIP },
                { "form-plan", WS_EDGE_PROFILE } };
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    if (g_str_equal (view->name, kinds[i].view))
      return kinds[i].kind;
  return WS_N_EDGES;
}

static WsPoint
place (const WsEdgePoint *p)
{
  return wsi_point (p->x, p->y);
}

/* The outline's points at heights of the tool's frame below `most`, or above, away from the frame's
 * blur. */
static void
take_points (const WsOutline *outline, const WsAxis *axis, double most, gboolean below, GArray *out)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)outline->points->data;
  const guint n = outline->points->len, clear = (guint)ceil (3 + 3 * outline->blur_px);
  for (guint i = 0; i < n; i++)
  {
    const gboolean at_frame = points[i].on_frame || points[(i + clear) % n].on_frame ||
                              points[(i + n - clear % n) % n].on_frame;
    const double z = wsi_axis_to_tool (axis, place (&points[i])).y;
    if (!at_frame && (below ? z < most : z > most))
      g_array_append_val (out, points[i]);
  }
}

/* What the places are read from. */
typedef struct
{
  const WsImage *image;
  const WsOptics *optics;
} Sight;

/* ---- Drills -------------------------------------------------------------------------------- */

/* Rings alone, such as the shoulder of a shank, look the same however a drill is turned about its
 * axis: its flutes don't, they climb as it turns.  Cosine to the axis. */
#define RING 0.93

/* Nothing is ground farther behind the corners, in diameters. */
#define DRILL_UNTOUCHED 0.5

static void
take_rings (const WsDrillPoint *point, const WsAxis *axis, double corner, GArray *body)
{
  g_autoptr (GArray) behind = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  take_points (point->outline, axis, corner - 2 * DRILL_UNTOUCHED * point->radius, TRUE, behind);
  for (guint i = 0; i < behind->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (behind, WsEdgePoint, i);
    const WsPoint looks = wsi_point ((double)p->nx, (double)p->ny);
    if (fabs (wsi_point_dot (looks, axis->direction)) > RING)
      g_array_append_val (body, *p);
  }
}

/* Standard uncertainty of a lip line's height at `across` from its middle, along the axis. */
static double
lip_u (const WsDrillLip *lip, double across)
{
  const double s = sin (lip->half_angle);
  const double place = hypot (lip->line.u_offset, lip->proud.u_offset);
  const double turn = hypot (lip->line.u_angle, lip->proud.u_angle);
  return hypot (place, turn * across / s) / s;
}

static gboolean
find_drill (const Sight *sight, WsEdgePlaces *places, WsRefusal *refusal)
{
  (void)sight;
  g_autoptr (WsDrillPoint) point = wsi_drill_point_locate (places->outline, refusal);
  if (point == NULL)
    return FALSE;
  const WsDrillLines lines = wsi_drill_lines_of (point);
  const WsPoint apex = wsi_drill_lines_apex (&lines);
  double height = 0, u = 0, u_apex = 0, outward = 0;
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *lip = &point->lips[k];
    const WsPoint corner = wsi_drill_lines_corner (&lines, k);
    const double slope = 1 / tan (lip->half_angle);
    height += 0.5 * corner.y;
    u = hypot (u, 0.5 * hypot (lip_u (lip, point->radius - fabs (lines.centre[k].x)),
                               slope * point->u_radius));
    u_apex = hypot (u_apex, 0.5 * lip_u (lip, lines.centre[k].x));
    outward += 0.5 * (1 / sin (lip->half_angle) - slope);
    places->point.outward += 0.5 / sin (lip->half_angle);
  }
  places->axis = point->mirror.axis;
  places->edge =
    (WsEdgePlace){ wsi_axis_to_picture (&places->axis, wsi_point (0, height)), u, outward };
  places->point.at = wsi_axis_to_picture (&places->axis, wsi_point (0, apex.y));
  places->point.u = u_apex;
  take_rings (point, &places->axis, height, places->body);
  return TRUE;
}

/* ---- Blades from above ----------------------------------------------------------------------- */

/* Nothing is ground farther behind the rear corner, in widths of the front. */
#define BLADE_UNTOUCHED 0.3

/* Where the picture's lens was corrected the corner's light lies elsewhere than its outline.  By
 * that alone a round corner's radius is known to some 15 per cent and 1.2 px, below which it looks
 * sharp.
 */
#define RADIUS_SHARE 0.15
#define RADIUS_PX 1.2

/* A corner's foremost point: the line's corner, or the arc's end. */
static WsEdgePlace
foremost (const WsBlade *blade, const Sight *sight, guint k, WsPoint ahead)
{
  const WsBladeCorner *corner = &blade->corners[k];
  const WsBladeEdge *front = &blade->edges[WS_BLADE_FRONT];
  const WsBladeEdge *side = &blade->edges[k == 0 ? WS_BLADE_LEFT : WS_BLADE_RIGHT];
  const double back = wsi_point_dot (corner->inward, ahead) / sin (0.5 * corner->interior);
  const double lost = MAX (-(back + 1), 0);
  const double half = 0.5 * wsi_blade_edge_length (front);
  const double cross = fabs (wsi_point_cross (front->line.direction, ahead));
  const double slope = fabs (wsi_point_dot (front->line.direction, ahead)) / MAX (cross, 0.1);
  const double line = hypot (front->u_place, front->u_angle * half) / MAX (cross, 0.1);
  double radius = corner->radius, u_radius = RADIUS_SHARE * corner->radius + RADIUS_PX;
  if (sight->optics->lens == NULL)
    radius = wsi_blade_corner_round (blade, sight->image, sight->optics, k, &u_radius);
  return (WsEdgePlace){ wsi_point_along (corner->place, -lost * radius, ahead),
                        hypot (hypot (line, slope * side->u_place), lost * u_radius), 1 };
}

static gboolean
find_front (const Sight *sight, WsEdgePlaces *places, WsRefusal *refusal)
{
  g_autoptr (WsBlade) blade = wsi_blade_locate (places->outline, WS_BLADE_STRAIGHT, refusal);
  if (blade == NULL)
    return FALSE;
  const WsBladeLines lines = wsi_blade_lines_of (blade);
  const WsPoint up = wsi_blade_lines_direction (&lines, WS_BLADE_LEFT);
  const WsPoint down = wsi_blade_lines_direction (&lines, WS_BLADE_RIGHT);
  const WsPoint sum = wsi_point_sub (up, down);
  const double length = MAX (wsi_point_length (sum), 1e-9);
  places->axis.direction = wsi_point (sum.x / length, sum.y / length);
  places->axis.origin = lines.centre[WS_BLADE_FRONT];
  const WsEdgePlace corners[2] = { foremost (blade, sight, 0, places->axis.direction),
                                   foremost (blade, sight, 1, places->axis.direction) };
  const double z[2] = { wsi_axis_to_tool (&places->axis, corners[0].at).y,
                        wsi_axis_to_tool (&places->axis, corners[1].at).y };
  places->edge = corners[z[1] > z[0] ? 1 : 0];
  take_points (places->outline, &places->axis,
               MIN (z[0], z[1]) -
                 BLADE_UNTOUCHED * wsi_blade_edge_length (&blade->edges[WS_BLADE_FRONT]),
               TRUE, places->body);
  return TRUE;
}

/* ---- From the side -----------------------------------------------------------------------------
 */

/* Where the lines of two edges meet, along the axis: each edge's place over the sine between it and
 * the other. */
static double
meeting_u (const WsBlade *blade, const WsSideLayout *layout)
{
  const WsBladeEdge *front = &blade->edges[layout->front], *top = &blade->edges[layout->top];
  const double between = fabs (wsi_point_cross (front->line.direction, top->line.direction));
  const double a = hypot (front->u_place, 0.5 * front->u_angle * wsi_blade_edge_length (front));
  const double b = hypot (top->u_place, 0.5 * top->u_angle * wsi_blade_edge_length (top));
  return hypot (a, b * sqrt (MAX (1 - between * between, 0))) / MAX (between, 0.1);
}

static void
find_height (const WsBlade *blade, const WsSideLayout *layout, WsPoint tip, WsEdgePlaces *places)
{
  places->tip_height = NAN;
  if (!wsi_side_layout_has_base (layout))
    return;
  const WsBladeEdge *base = &blade->edges[layout->base], *top = &blade->edges[layout->top];
  places->tip_height = fabs (wsi_line_distance (&base->line, tip));
  const double far = wsi_point_distance (tip, base->line.centre);
  places->u_tip_height =
    hypot (hypot (base->u_place, base->u_angle * far),
           hypot (top->u_place, 0.5 * top->u_angle * wsi_blade_edge_length (top)));
}

static gboolean
find_tip (const Sight *sight, WsEdgePlaces *places, WsRefusal *refusal)
{
  (void)sight;
  WsSideLayout layout;
  g_autoptr (WsBlade) blade = wsi_blade_side_find (places->outline, &layout, refusal);
  if (blade == NULL)
    return FALSE;
  const WsBladeLines lines = wsi_blade_lines_of (blade);
  const WsPoint tip = wsi_blade_lines_corner (&lines, layout.tip);
  const guint body = (guint)(wsi_side_layout_has_base (&layout) ? layout.base : layout.rear);
  const WsPoint along = wsi_blade_lines_direction (&lines, body);
  places->axis.direction = body < (guint)layout.front ? along : wsi_point (-along.x, -along.y);
  places->axis.origin = tip;
  places->edge = (WsEdgePlace){ tip, meeting_u (blade, &layout), 1 };
  find_height (blade, &layout, tip, places);
  return TRUE;
}

/* ---- Form tools from above
 * ----------------------------------------------------------------------- */

/* A side is straight within so much, px and blurs, and so long, px. */
#define STRAY_PX 1.2
#define STRAY_BLURS 0.5
#define SHORTEST_SIDE 40.0

/* How many points from an end of the walk lie on one line. */
static guint
side_points (const WsEdgePoint *points, guint n, gboolean from_end, double stray, WsLineFit *line)
{
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  guint good = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsPoint p = place (&points[from_end ? n - 1 - i : i]);
    g_array_append_val (run, p);
    if (i < (guint)(0.5 * SHORTEST_SIDE))
      continue;
    /* The line through what is held for the side is fitted anew each time that it has doubled. */
    if (i == (guint)(0.5 * SHORTEST_SIDE) || i >= 2 * good)
    {
      if (!wsi_line_fit_total ((const WsPoint *)(void *)run->data, run->len, line))
        return 0;
      good = i;
    }
    if (fabs (wsi_line_distance (line, p)) > stray)
      return wsi_line_fit_total ((const WsPoint *)(void *)run->data, run->len - 1, line) ? i : 0;
  }
  return n;
}

static gboolean
find_profile (const Sight *sight, WsEdgePlaces *places, WsRefusal *refusal)
{
  (void)sight;
  g_autoptr (WsBlade) walk = wsi_blade_walk (places->outline, WS_BLADE_STRAIGHT, refusal);
  if (walk == NULL)
    return FALSE;
  const WsEdgePoint *points = wsi_blade_points (walk);
  const guint n = walk->path->len;
  const double stray = STRAY_PX + STRAY_BLURS * places->outline->blur_px;
  WsLineFit sides[2];
  double rear = HUGE_VAL;
  guint ends[2];
  for (guint k = 0; k < 2; k++)
  {
    ends[k] = side_points (points, n, k == 1, stray, &sides[k]);
    if (ends[k] * places->outline->spacing_px < SHORTEST_SIDE || ends[k] >= n)
      return wsi_refusal_set (refusal, WS_RETAKE_CUT_BY_FRAME,
                              "no straight sides of the tool are seen behind its profile");
  }
  const WsPoint up = wsi_point_sub (place (&points[ends[0] - 1]), place (&points[0]));
  const WsPoint back = wsi_point_sub (place (&points[n - ends[1]]), place (&points[n - 1]));
  WsPoint d[2] = { sides[0].direction, sides[1].direction };
  for (guint k = 0; k < 2; k++)
    if (wsi_point_dot (d[k], k == 0 ? up : back) < 0)
      d[k] = wsi_point (-d[k].x, -d[k].y);
  const WsPoint sum = wsi_point_add (d[0], d[1]);
  const double length = MAX (wsi_point_length (sum), 1e-9);
  places->axis.direction = wsi_point (sum.x / length, sum.y / length);
  places->axis.origin = place (&points[ends[0] - 1]);
  rear = MIN (0, wsi_axis_to_tool (&places->axis, place (&points[n - ends[1]])).y);
  const double clear = 3 + 3 * places->outline->blur_px;
  take_points (places->outline, &places->axis, rear - clear, TRUE, places->body);
  take_points (places->outline, &places->axis, rear + clear, FALSE, places->profile);
  places->edge = (WsEdgePlace){ places->axis.origin, 0, 1 };
  return TRUE;
}

/* ---- All
 * ------------------------------------------------------------------------------------------- */

gboolean
wsi_edge_places_find (WsEdgeKind kind, const WsImage *image, const WsOptics *optics,
                      WsEdgePlaces *places, WsResult *result)
{
  static gboolean (*const finders[WS_N_EDGES]) (const Sight *, WsEdgePlaces *, WsRefusal *) = {
    [WS_EDGE_DRILL] = find_drill,
    [WS_EDGE_FRONT] = find_front,
    [WS_EDGE_TIP] = find_tip,
    [WS_EDGE_PROFILE] = find_profile,
  };
  WsRefusal refusal = { 0 };
  *places = (WsEdgePlaces){ .kind = kind, .tip_height = NAN };
  places->body = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  places->profile = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  places->outline = kind == WS_EDGE_TIP ? wsi_silhouette_trace_faces (image, optics, result)
                                        : wsi_silhouette_trace (image, optics, result);
  if (places->outline == NULL)
    return FALSE;
  places->level_u = wsi_silhouette_level_u (image, places->outline);
  places->blur = places->outline->blur_px;
  const Sight sight = { image, optics };
  return finders[kind](&sight, places, &refusal) || wsi_result_refuse (result, &refusal);
}

void
wsi_edge_places_clear (WsEdgePlaces *places)
{
  g_clear_pointer (&places->outline, wsi_outline_free);
  g_clear_pointer (&places->body, g_array_unref);
  g_clear_pointer (&places->profile, g_array_unref);
}
