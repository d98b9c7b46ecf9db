#include "tool/drill/side/proud.h"

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/drill/side/lip_burr.h"

/* A wire edge is thin: what stands prouder, in radii, is dirt; and so is what is rounder than long.
 */
#define WIRE_MOST 0.04

/* The outline's foremost point and a lip's highest places are means of neighbours. */
#define FOREMOST_PX 0.5

static const char *const names[2] = { "a", "b" };

gboolean
wsi_drill_is_proud (const WsDrillPoint *point, guint k)
{
  return point->lips[k].wire.height > 0 || point->lips[k].proud.height > 0 || point->bump[k] > 0;
}

gboolean
wsi_drill_is_dirt (const WsDrillPoint *point, guint k)
{
  if (!wsi_drill_is_proud (point, k))
    return FALSE;
  const WsBurr burr = wsi_drill_burr (point, k);
  return MAX (point->lips[k].wire.height, burr.height) > WIRE_MOST * point->radius ||
         point->bump[k] > 0 || burr.shape == WS_BURR_ROUND;
}

/* What is rounder than a wire edge and begins nearer the axis than a lip's line does overhangs the
 * chisel edge, if below the lip's line; and what reaches as far as the outline's foremost point is
 * that point. */
static gboolean
hides_tip (const WsDrillPoint *point, guint k)
{
  const WsWireEdge *wire = &point->lips[k].wire;
  return wire->at_tip ||
         (wire->height > 0 &&
          (wire->from < WS_LIP_FROM || wire->foremost > point->tip.y - FOREMOST_PX) &&
          wsi_drill_is_dirt (point, k));
}

/* A chip that is as deep as one may be, 0.01 of the diameter, is at least as wide: it finds room
 * under what is longer than this, radii. */
#define HIDES_CHIP 0.04

/* A wire edge doesn't: it ends at a notch. */
static gboolean
hides_chip (const WsDrillPoint *point, guint k)
{
  const WsWireEdge *wire = &point->lips[k].wire;
  return wire->height > 0 && wire->to - wire->from > HIDES_CHIP && wsi_drill_is_dirt (point, k);
}

const char *
wsi_drill_proud_place (const WsDrillPoint *point)
{
  for (guint k = 0; k < 2; k++)
  {
    const WsWireEdge *wire = &point->lips[k].wire;
    if (wire->on_tip || (hides_tip (point, k) && wire->height > 0))
      return "the tip";
    if (wire->at_corner || point->bump[k] > 0)
      return k == 0 ? "the corner of lip a" : "the corner of lip b";
    if (wire->height > WIRE_MOST * point->radius)
      return k == 0 ? "lip a" : "lip b";
  }
  return NULL;
}

gboolean
wsi_drill_gate_proud (const WsDrillPoint *point, WsResult *result)
{
  for (guint k = 0; k < 2; k++)
    if (hides_tip (point, k) && point->lips[k].wire.height > WIRE_MOST * point->radius)
      return wsi_result_retake (result, WS_RETAKE_DIRTY_EDGE,
                                "something clings to lip %s at the tip", names[k]);
  return TRUE;
}

/* All that rests on lip line k. */
static void
forget_line (guint k, WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  static const guint on_both[] = { WS_DRILL_POINT_ANGLE,           WS_DRILL_HALF_ANGLE_DIFFERENCE,
                                   WS_DRILL_LIP_LENGTH_A,          WS_DRILL_LIP_LENGTH_B,
                                   WS_DRILL_LIP_LENGTH_DIFFERENCE, WS_DRILL_LIP_HEIGHT_DIFFERENCE,
                                   WS_DRILL_POINT_OFFSET,          WS_DRILL_POINT_LENGTH,
                                   WS_DRILL_CHISEL_FLAT,           WS_DRILL_VIEW_TURN };
  for (guint i = 0; i < G_N_ELEMENTS (on_both); i++)
    wsi_quantity_forget (q[on_both[i]]);
  wsi_quantity_forget (q[WS_DRILL_HALF_ANGLE_A + k]);
  wsi_quantity_forget (q[WS_DRILL_CORNER_WEAR_A + k]);
  wsi_quantity_forget (q[WS_DRILL_LIP_STRAIGHTNESS_A + k]);
  wsi_quantity_forget (q[WS_DRILL_CHIP_DEPTH_A + k]);
}

static char *
height_of (const WsDrillEvidence *seen, double px)
{
  const double part = px / (2 * seen->point->radius);
  return seen->optics->has_scale ? g_strdup_printf ("%.3f mm", px * seen->optics->mm_per_px)
                                 : g_strdup_printf ("%.2f %% of the diameter", 100 * part);
}

static void
tell (const WsDrillEvidence *seen, guint k, WsResult *result)
{
  const WsDrillPoint *point = seen->point;
  const WsWireEdge *wire = &point->lips[k].wire;
  const gboolean is_high = wire->height > 0;
  const gboolean is_dirt = wsi_drill_is_dirt (point, k);
  const double height = is_dirt
                          ? MAX (MAX (wire->height, point->lips[k].proud.height), point->bump[k])
                          : wsi_drill_burr (point, k).height;
  const WsPoint at = is_high                           ? wire->where
                     : point->lips[k].proud.height > 0 ? point->lips[k].proud.where
                                                       : point->lips[k].corner;
  const WsPoint where = wsi_axis_to_picture (&point->mirror.axis, at);
  g_autofree char *high = height_of (seen, height);
  if (is_dirt)
    wsi_result_add_finding (
      result, "dirt",
      g_strdup_printf ("Something clings to lip %s, up to %s proud of it: coolant, a fragment or a "
                       "hair. It was left out; clean the drill.",
                       names[k], high),
      &where);
  else if (wsi_drill_burr (point, k).is_smooth)
    wsi_result_add_finding (
      result, "wire-edge",
      g_strdup_printf (
        "Lip %s carries something smooth, up to %s high: a wire edge rolled over, or a "
        "film of oil. It was left out; wipe the drill, and hone off lightly what is "
        "still there.",
        names[k], high),
      &where);
  else
    wsi_result_add_finding (
      result, "wire-edge",
      g_strdup_printf ("Lip %s carries a wire edge, up to %s high. It was left out; hone it off "
                       "lightly before the drill is used.",
                       names[k], high),
      &where);
}

/* The chisel edge isn't to be seen as it is. */
static void
report_tip (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES], WsResult *result)
{
  const WsDrillLip *lips = seen->point->lips;
  if (hides_tip (seen->point, 0) || hides_tip (seen->point, 1) || lips[0].wire.on_tip ||
      lips[1].wire.on_tip)
  {
    wsi_quantity_forget (q[WS_DRILL_POINT_LENGTH]);
    wsi_quantity_forget (q[WS_DRILL_CHISEL_FLAT]);
  }
  if (!lips[0].wire.on_tip && !lips[1].wire.on_tip)
    return;
  /* What is beside it looks like a chip. */
  wsi_quantity_forget (q[WS_DRILL_CHIP_DEPTH_A]);
  wsi_quantity_forget (q[WS_DRILL_CHIP_DEPTH_B]);
  wsi_result_hold (result, WS_HOLD_TOOL, "dirt",
                   "The chisel edge doesn't look as it should: something clings to the tip, or it "
                   "is broken. Clean the drill, look at the tip, and measure again.");
}

void
wsi_drill_report_proud (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES],
                        WsResult *result)
{
  report_tip (seen, q, result);
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *lip = &seen->point->lips[k];
    const gboolean is_dirty = wsi_drill_is_dirt (seen->point, k),
                   at_corner = lip->wire.at_corner || seen->point->bump[k] > 0;
    const double height = MAX (MAX (lip->wire.height, lip->proud.height), seen->point->bump[k]);
    if (!(height > 0) && !lip->proud.unclear)
      continue;
    if (height > 0)
      tell (seen, k, result);
    if (lip->proud.unclear)
      forget_line (k, q);
    if (at_corner)
      wsi_quantity_forget (q[WS_DRILL_CORNER_WEAR_A + k]);
    if (hides_chip (seen->point, k))
      wsi_quantity_forget (q[WS_DRILL_CHIP_DEPTH_A + k]);
    if (lip->proud.unclear && !(height > 0))
      wsi_result_hold (result, WS_HOLD_TOOL, "wire-edge",
                       "Lip %s isn't straight enough to tell its edge from what may stand proud of "
                       "it. Clean it, hone it lightly, and measure again.",
                       names[k]);
    else if (lip->proud.unclear || at_corner)
      wsi_result_hold (result, WS_HOLD_TOOL, is_dirty ? "dirt" : "wire-edge",
                       "What stands proud of lip %s hides %s. %s, and measure again.", names[k],
                       lip->proud.unclear ? "too much of it" : "its corner",
                       is_dirty ? "Clean the drill" : "Hone the wire edge off lightly");
  }
}
