#include "tool/drill/flank_advice.h"

#include "tool/advise.h"

gboolean
wsi_drill_advise_relief (WsResult *result, const char *stem)
{
  const WsQuantity *relief = ws_result_quantity (result, stem);
  if (relief == NULL || relief->verdict != WS_VERDICT_REJECT)
    return FALSE;
  wsi_advise (result, WS_WORK_GRIND,
              g_strdup (relief->value < relief->lower
                          ? "Too little lip relief: the heel rubs, the drill heats up and "
                            "needs force. Grind more off the flank behind the lip."
                          : "Too much lip relief: the lips are weak, dig in and chip. Regrind "
                            "the flanks with less relief."));
  return TRUE;
}

void
wsi_drill_advise_chisel (WsResult *result)
{
  const WsQuantity *angle = ws_result_quantity (result, "chisel_edge_angle");
  if (angle == NULL || angle->verdict != WS_VERDICT_REJECT)
    return;
  wsi_advise (
    result, WS_WORK_GRIND,
    g_strdup (angle->value < angle->lower
                ? "The chisel edge stands too square to the lips: too little lip clearance near "
                  "the middle. Regrind with more clearance."
                : "The chisel edge lies too flat along the lips: too much clearance near the "
                  "middle, and the lips will chip. Regrind with less clearance."));
}
