#include "tool/drill/side/facts.h"

#include "judge/limits.h"

#include <math.h>

const char *const wsi_lip_names[WS_N_LIPS] = { "a", "b" };

WsDrillFacts
wsi_drill_facts_of (const WsToolCard *card, WsResult *result)
{
  WsDrillFacts drill = {
    .card = card,
    .result = result,
    .point_angle = ws_result_quantity (result, "point_angle"),
    .half_angle = { ws_result_quantity (result, "half_angle_a"),
                    ws_result_quantity (result, "half_angle_b") },
    .half_angle_difference = ws_result_quantity (result, "half_angle_difference"),
    .lip_height = ws_result_quantity (result, "lip_height_difference"),
    .lip_length = ws_result_quantity (result, "lip_length_difference"),
    .offset = ws_result_quantity (result, "point_offset"),
    .diameter = ws_result_quantity (result, "diameter"),
    .corner = { ws_result_quantity (result, "corner_wear_a"),
                ws_result_quantity (result, "corner_wear_b") },
    .chip = { ws_result_quantity (result, "chip_depth_a"),
              ws_result_quantity (result, "chip_depth_b") },
    .straightness = { ws_result_quantity (result, "lip_straightness_a"),
                      ws_result_quantity (result, "lip_straightness_b") },
  };
  drill.D = drill.diameter != NULL ? drill.diameter->value : NAN;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    drill.in_mm |= g_str_has_suffix (quantity->name, "_mm");
  }
  return drill;
}

gboolean
wsi_drill_is_real (const WsQuantity *quantity)
{
  return quantity != NULL && fabs (quantity->value) > quantity->U;
}

double
wsi_drill_corner_shortfall (const WsDrillFacts *drill)
{
  if (!isfinite (drill->D))
    return 0.0;
  return wsi_unworn_corner_shortfall (drill->D, drill->in_mm ? drill->card->web_mm : NAN);
}
