#include "tool/blade/proud.h"

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/silhouette.h"

/* What stands off an edge by less is noise, or the edge's own form: px, standard deviations of a
 * point, and of the edge's form; own trials on rendered rough edges. */
#define LEAST_PX 0.5
#define SIGMAS 5.0
#define SCATTERS 4.5

/* Lit from the front, what light makes of a clean edge, px: own trials, 0.6. */
#define LEAST_LIT_PX 1.5

/* Behind the front, in lengths of it, a side is ground and not looked at. */
#define BEHIND 1.0

/* Beyond a corner's own reach a wire edge hides it, in blurs and px. */
#define BESIDE_BLURS 4.0
#define BESIDE_PX 10.0

/* Scan lines across a sharp corner stand out of its edges by less than the first, px, and
 * beside it by nothing from the second on: own trials. */
#define OVERSHOOT_PX 2.5
#define SURE_PX 4.0

/* How far the edge's line under it is off, px. */
#define LINE_PX 0.07

static const char *const names[WS_BLADE_N_EDGES] = { "left side", "front edge", "right side" };

static double
least_of (const WsBlade *blade, guint e)
{
  const WsLineFit *line = &blade->edges[e].line;
  const double floor = blade->outline->front_lit ? LEAST_LIT_PX : LEAST_PX;
  return MAX (MAX (floor, SIGMAS * wsi_silhouette_point_u (blade->outline)),
              SCATTERS * line->scatter) +
         fabs (line->bow);
}

static double
height_above (const WsBlade *blade, guint e, WsPoint p)
{
  return -wsi_line_distance (&blade->edges[e].line, p);
}

static double
reach_of (const WsBlade *blade, guint k)
{
  const WsBladeCorner *corner = &blade->corners[k];
  return MAX (corner->reach[0], corner->reach[1]);
}

/* Of edge e, and no overshoot of the scan lines at corner k. */
static gboolean
is_sure (const WsBlade *blade, guint k, guint e, WsPoint p)
{
  const double beside = reach_of (blade, k) + blade->outline->blur_px + SURE_PX;
  return height_above (blade, e, p) > OVERSHOOT_PX ||
         wsi_point_distance (p, blade->corners[k].place) > beside;
}

/* So near that its rounding lies under it. */
static gboolean
is_at_corner (const WsBlade *blade, guint k, guint e, WsPoint p)
{
  const double near = reach_of (blade, k) + BESIDE_BLURS * blade->outline->blur_px + BESIDE_PX;
  return wsi_point_distance (p, blade->corners[k].place) < near &&
         height_above (blade, e, p) > least_of (blade, e) && is_sure (blade, k, e, p);
}

gboolean
wsi_blade_hides_corner (const WsBlade *blade, guint k)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  for (guint i = 0; i < blade->path->len; i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    if (is_at_corner (blade, k, k, p) || is_at_corner (blade, k, k + 1, p))
      return TRUE;
  }
  return FALSE;
}

static int
by_along (gconstpointer a, gconstpointer b)
{
  const double one = ((const WsBurrPlace *)a)->along, other = ((const WsBurrPlace *)b)->along;
  return (one > other) - (one < other);
}

/* Of the front clear of its corners, of a side as far behind. */
static GArray *
read_places (const WsBlade *blade, guint e)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const WsLineFit *line = &blade->edges[e].line;
  const WsPoint from = blade->corners[e == WS_BLADE_RIGHT ? 1 : 0].place;
  const double front = wsi_point_distance (blade->corners[0].place, blade->corners[1].place);
  const double low = e == WS_BLADE_LEFT ? -BEHIND * front : 0, high = e == WS_BLADE_LEFT ? 0
                                                                      : e == WS_BLADE_FRONT
                                                                        ? front
                                                                        : BEHIND * front;
  GArray *places = g_array_new (FALSE, FALSE, sizeof (WsBurrPlace));
  for (guint i = wsi_blade_begin (blade, e); i < wsi_blade_end (blade, e); i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    const WsBurrPlace place = { wsi_point_dot (wsi_point_sub (p, from), line->direction),
                                -wsi_line_bowed_distance (line, p) };
    if (place.along >= low && place.along <= high && wsi_blade_is_clear (blade, e, p) &&
        is_sure (blade, 0, e, p) && is_sure (blade, 1, e, p))
      g_array_append_val (places, place);
  }
  g_array_sort (places, by_along);
  return places;
}

/* Where it is highest, in the picture. */
static WsPoint
place_of (const WsBlade *blade, guint e)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const guint from = wsi_blade_begin (blade, e), to = wsi_blade_end (blade, e);
  guint top = from;
  for (guint i = from; i < to; i++)
    if (height_above (blade, e, wsi_blade_place (&points[i])) >
        height_above (blade, e, wsi_blade_place (&points[top])))
      top = i;
  return wsi_blade_place (&points[top]);
}

static void
tell (const WsBlade *blade, guint e, const WsBurr *burr, const WsOptics *optics, WsResult *result)
{
  const WsPoint where = place_of (blade, e);
  g_autofree char *high =
    wsi_number_format (optics->has_scale ? burr->height * optics->mm_per_px : burr->height, 3);
  const char *unit = optics->has_scale ? "mm" : "px";
  if (burr->shape == WS_BURR_WIRE)
    wsi_result_add_finding (
      result, "wire-edge",
      g_strdup_printf ("The %s carries a wire edge, up to %s %s high. Hone it off lightly before "
                       "the blade is used, and measure again.",
                       names[e], high, unit),
      &where);
  else
    wsi_result_add_finding (
      result, "dirt",
      g_strdup_printf ("Something clings to the %s, up to %s %s proud of it: coolant, a fragment, "
                       "a hair or a short wire edge. Clean the blade and measure again.",
                       names[e], high, unit),
      &where);
}

static void
set_none (double least, const WsOptics *optics, WsQuantity *height)
{
  wsi_quantity_set_seen (height, 0, optics);
  wsi_quantity_set_smallest_seen (height, least, optics);
  wsi_quantity_add_seen_line (height, "smallest wire edge seen", WS_DISTRIBUTION_RECTANGULAR,
                              least / sqrt (3.0), optics);
}

static void
set_burr (const WsBlade *blade, guint e, const WsBurr *burr, const WsOptics *optics,
          WsQuantity *height, WsQuantity *length)
{
  const WsBladeEdge *edge = &blade->edges[e];
  wsi_quantity_set_seen (height, burr->height, optics);
  wsi_quantity_set_smallest_seen (height, least_of (blade, e), optics);
  wsi_quantity_add_seen_line (height, "edge noise, teeth lowered by blur", WS_DISTRIBUTION_NORMAL,
                              burr->u_height, optics);
  wsi_quantity_add_seen_line (height, "edge's line under it", WS_DISTRIBUTION_NORMAL,
                              hypot (hypot (LINE_PX, edge->line.scatter), edge->u_place), optics);
  wsi_quantity_set_place (height, place_of (blade, e));
  /* At a corner it can't be seen where it ends. */
  if (burr->is_beside_round || (e > 0 && wsi_blade_hides_corner (blade, e - 1)) ||
      (e < WS_BLADE_RIGHT && wsi_blade_hides_corner (blade, e)))
    return;
  wsi_quantity_set_seen (length, burr->length, optics);
  wsi_quantity_add_seen_line (length, "where the wire edge ends", WS_DISTRIBUTION_NORMAL,
                              burr->u_length, optics);
}

static WsBurr
read_edge (const WsBlade *blade, guint e)
{
  g_autoptr (GArray) places = read_places (blade, e);
  return wsi_burr_read ((const WsBurrPlace *)(void *)places->data, places->len,
                        blade->outline->blur_px, wsi_silhouette_point_u (blade->outline),
                        blade->edges[e].u_place);
}

gboolean
wsi_blade_hides_front (const WsBlade *blade)
{
  return read_edge (blade, WS_BLADE_FRONT).height >= least_of (blade, WS_BLADE_FRONT);
}

void
wsi_blade_plan_add_burr (const WsBlade *blade, const WsOptics *optics, WsQuantity *height,
                         WsQuantity *length, WsResult *result)
{
  WsBurr greatest = { .height = 0 };
  guint edge = WS_BLADE_FRONT;
  double least = 0;
  gboolean is_wire = TRUE;
  for (guint e = 0; e < WS_BLADE_N_EDGES; e++)
  {
    const WsBurr burr = read_edge (blade, e);
    least = MAX (least, least_of (blade, e));
    if (burr.height < least_of (blade, e))
      continue;
    tell (blade, e, &burr, optics, result);
    is_wire = is_wire && burr.shape == WS_BURR_WIRE;
    if (burr.height > greatest.height)
    {
      greatest = burr;
      edge = e;
    }
  }
  if (!(greatest.height > 0))
    set_none (least, optics, height);
  else if (is_wire)
    set_burr (blade, edge, &greatest, optics, height, length);
}
