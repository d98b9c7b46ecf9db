#include "tool/known_size.h"

#include <math.h>

#include <whetsight/judge.h>

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"

/* How much narrower a rounded corner lets a micrometer's flat anvils come, px: they touch the arc
 * where it runs along the tool, r tan c inside the theoretical corner of a side with clearance c.
 */
static double
touch (const WsResult *seen, const char *radius, const char *clearance)
{
  const WsQuantity *r = ws_result_quantity (seen, radius),
                   *c = ws_result_quantity (seen, clearance);
  return r != NULL && c != NULL ? r->value * tan (wsi_radians (MAX (c->value, 0))) : 0;
}

/* One-sided, and taken as wide as it can be: what is left of a corner is not always round. */
static double
u_touch (const WsResult *seen)
{
  return touch (seen, "corner_radius_left", "side_clearance_mean") +
         touch (seen, "corner_radius_right", "side_clearance_mean");
}

/* s = D / n; both shares of its uncertainty are relative (JCGM 100:2008, 5.1.6). */
gboolean
wsi_known_size_scale (const char *stem, const WsResult *seen, WsOptics *optics)
{
  const WsQuantity *size = stem != NULL ? ws_result_quantity (seen, stem) : NULL;
  if (seen->reason != WS_RETAKE_NONE || size == NULL || !(size->value > 0))
    return FALSE;
  const double u_px = hypot (size->U / size->k, u_touch (seen));
  optics->has_scale = TRUE;
  optics->mm_per_px = optics->known_mm / size->value;
  optics->u_mm_per_px =
    optics->mm_per_px * hypot (optics->u_known_mm / optics->known_mm, u_px / size->value);
  return TRUE;
}

/* A size that was told outside its limits is no picture's fault, but nothing to accept either. */
static void
hold_outside (WsQuantity *size, const WsToolCard *card, WsResult *result)
{
  size->given = FALSE;
  ws_limits_apply (result, card);
  size->given = TRUE;
  if (ws_verdict_for (size->value, size->U, size->lower, size->upper) != WS_VERDICT_REJECT)
    return;
  g_autofree char *told = wsi_number_format (size->value, wsi_number_places (size->U));
  wsi_result_hold (result, WS_HOLD_TOOL, "given-size-outside",
                   "The size that was given, %s mm, lies outside its limits, so the tool can't be "
                   "accepted by it.",
                   told);
}

void
wsi_known_size_give (const char *stem, const WsOptics *optics, const WsToolCard *card,
                     WsResult *result)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (!g_str_equal (quantity->info->stem, stem))
      continue;
    wsi_quantity_forget (quantity);
    wsi_quantity_set (quantity, optics->known_mm);
    quantity->given = TRUE;
    wsi_quantity_add_line (quantity, "given size", WS_DISTRIBUTION_NORMAL, optics->u_known_mm, 1);
    wsi_quantity_combine (quantity);
    hold_outside (quantity, card, result);
  }
}
