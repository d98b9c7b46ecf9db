#include "tool/blade/side_burr.h"

#include "base/geometry.h"
#include "base/number.h"
#include "edge/flake.h"
#include "edge/local_blur.h"
#include "result/build.h"
#include "tool/blade/proud.h"

/* Higher is no wire edge, mm; and without a scale, and at least and at most, px. */
#define MOST_MM 0.2
#define MOST_PX 40.0
#define MOST_LOW_PX 20.0
#define MOST_HIGH_PX 80.0

/* The edges' blur is read so far along them from the tip; sampling by pixels blurs as much, px. */
#define BESIDE_PX 60.0
#define LEAST_BLUR_PX 0.4

/* How far both lines may be off where they meet, beside what they say themselves, px. */
#define LINE_PX 0.07

static double
most_of (const WsOptics *optics)
{
  return optics->has_scale ? CLAMP (MOST_MM / optics->mm_per_px, MOST_LOW_PX, MOST_HIGH_PX)
                           : MOST_PX;
}

static WsFlakeSight
sight_of (const WsBlade *blade, const WsImage *image, guint tip, const WsOptics *optics)
{
  const WsBladeCorner *corner = &blade->corners[tip];
  const WsPoint before = blade->edges[tip].line.direction;
  const double reach = MAX (corner->reach[0], corner->reach[1]);
  return (WsFlakeSight){
    .place = corner->place,
    .away = { wsi_point (-before.x, -before.y), blade->edges[tip + 1].line.direction },
    .length = { reach + wsi_blade_edge_length (&blade->edges[tip]),
                reach + wsi_blade_edge_length (&blade->edges[tip + 1]) },
    .reach = reach,
    .blur =
      MAX (wsi_outline_blur_near (image, blade->outline, corner->place, reach, reach + BESIDE_PX),
           LEAST_BLUR_PX),
    .most = most_of (optics),
  };
}

/* So near to what would hardly be seen that the light doesn't tell how high it is. */
#define TOLD_FROM 1.5

static gboolean
is_low (const WsFlake *flake)
{
  return flake->height < TOLD_FROM * flake->least;
}

static void
tell (const WsFlake *flake, const WsOptics *optics, WsResult *result)
{
  const double height = is_low (flake) ? TOLD_FROM * flake->least : flake->height;
  g_autofree char *high =
    wsi_number_format (optics->has_scale ? height * optics->mm_per_px : height, 3);
  const char *unit = optics->has_scale ? "mm" : "px";
  if (is_low (flake))
    wsi_result_add_finding (
      result, "wire-edge",
      g_strdup_printf (
        "Something lower than %s %s hangs at the edge, a wire edge or dirt, and hides "
        "how round it is. Clean it, hone it lightly, and measure again.",
        high, unit),
      &flake->where);
  else if (flake->shape == WS_BURR_WIRE)
    wsi_result_add_finding (
      result, "wire-edge",
      g_strdup_printf ("A wire edge hangs at the edge, up to %s %s high, and hides how round it "
                       "is. Hone it off lightly before the tool is used, and measure again.",
                       high, unit),
      &flake->where);
  else
    wsi_result_add_finding (
      result, "dirt",
      g_strdup_printf ("Something clings to the edge, up to %s %s proud of it, and hides how round "
                       "it is: coolant, a fragment, a hair or a wire edge. Clean the tool and "
                       "measure again.",
                       high, unit),
      &flake->where);
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
set_height (const WsBlade *blade, guint tip, const WsFlake *flake, const WsOptics *optics,
            WsQuantity *height)
{
  const WsBladeEdge *a = &blade->edges[tip], *b = &blade->edges[tip + 1];
  wsi_quantity_set_seen (height, flake->height, optics);
  wsi_quantity_set_smallest_seen (height, flake->least, optics);
  wsi_quantity_add_seen_line (height, "where the wire edge ends", WS_DISTRIBUTION_NORMAL,
                              flake->u_height, optics);
  wsi_quantity_add_seen_line (
    height, "edge's line under it", WS_DISTRIBUTION_NORMAL,
    hypot (hypot (LINE_PX, MAX (a->line.scatter, b->line.scatter)), hypot (a->u_place, b->u_place)),
    optics);
  wsi_quantity_set_place (height, flake->where);
}

gboolean
wsi_blade_side_add_burr (const WsBlade *blade, const WsImage *image, guint tip,
                         const WsOptics *optics, WsQuantity *height, WsResult *result)
{
  const gboolean is_proud = wsi_blade_hides_corner (blade, tip);
  const WsFlakeSight sight = sight_of (blade, image, tip, optics);
  WsFlake flake;
  /* Lit from the front, the light before a clean edge varies as well. */
  if (!blade->outline->front_lit && wsi_flake_read (image, &sight, &flake) &&
      (flake.height > 0 || !is_proud))
  {
    if (!(flake.height > 0))
    {
      set_none (flake.least, optics, height);
      return FALSE;
    }
    tell (&flake, optics, result);
    if (flake.shape == WS_BURR_WIRE && !is_low (&flake))
      set_height (blade, tip, &flake, optics, height);
    return TRUE;
  }
  if (is_proud)
    wsi_result_add_finding (
      result, "wire-edge",
      g_strdup (
        "Something stands proud at the edge and hides how round it is: a wire edge or dirt. "
        "Clean it, hone it lightly, and measure again."),
      &blade->corners[tip].place);
  return is_proud;
}
