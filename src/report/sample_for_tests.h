/*
 * A report made by hand, for the tests of this folder.
 */
#ifndef WS_REPORT_SAMPLE_FOR_TESTS_H
#define WS_REPORT_SAMPLE_FOR_TESTS_H

#include <whetsight/report.h>
#include <whetsight/result.h>

#include "base/testing.h"
#include "result/build.h"

typedef struct
{
  WsToolCard *card;
  WsOptics optics;
  WsResult *result;
  WsReport report;
} Sample;

static const WsQuantityInfo sample_infos[] = {
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" },
  { "half_angle_a", WS_UNIT_DEGREE, NULL, "Half angle a", "" },
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "" },
  { "chip_depth_a", WS_UNIT_LENGTH, NULL, "Chip depth a", "" },
  { "view_turn", WS_UNIT_DEGREE, NULL, "Turn of the lips", "" },
};

static inline void
sample_set (WsQuantity *quantity, double value, double u, WsVerdict verdict)
{
  quantity->known = TRUE;
  quantity->value = value;
  quantity->verdict = verdict;
  wsi_quantity_add_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL, u, 1.0);
  wsi_quantity_combine (quantity);
}

static inline void
sample_limit (WsQuantity *quantity, double lower, double upper, const char *source)
{
  quantity->lower = lower;
  quantity->upper = upper;
  quantity->limit_source = source;
}

static inline void
sample_add_marks (WsResult *result)
{
  static const WsPoint lip_a[] = { { 10.0, 40.0 }, { 30.0, 28.0 } };
  static const WsPoint lip_b[] = { { 50.0, 40.0 }, { 30.0, 28.0 } };
  static const WsPoint outline[] = {
    { 10.0, 60.0 }, { 10.0, 40.0 }, { 30.0, 28.0 }, { 50.0, 40.0 }, { 50.0, 60.0 }
  };
  static const WsPoint axis[] = { { 30.0, 62.0 }, { 30.0, 20.0 } };
  static const WsPoint angle[] = { { 10.0, 40.0 }, { 30.0, 28.0 }, { 50.0, 40.0 } };
  static const WsPoint half[] = { { 10.0, 40.0 }, { 30.0, 28.0 }, { 30.0, 60.0 } };
  static const WsPoint chip[] = { { 20.0, 34.0 }, { 21.0, 36.0 } };
  wsi_result_add_mark (result, WS_MARK_OUTLINE, NULL, outline, G_N_ELEMENTS (outline));
  wsi_result_add_mark (result, WS_MARK_EDGE_LINE, "a", lip_a, 2);
  wsi_result_add_mark (result, WS_MARK_EDGE_LINE, "b", lip_b, 2);
  wsi_result_add_mark (result, WS_MARK_EDGE_USED, "a", lip_a, 2);
  wsi_result_add_mark (result, WS_MARK_AXIS, NULL, axis, 2);
  wsi_result_add_mark (result, WS_MARK_ENVELOPE, NULL, axis, 2);
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, lip_a + 1, 1);
  wsi_result_add_mark (result, WS_MARK_CORNER, NULL, lip_a, 1);
  wsi_result_add_mark (result, WS_MARK_ANGLE, "point_angle_deg", angle, 3);
  wsi_result_add_mark (result, WS_MARK_ANGLE, "half_angle_a_deg", half, 3);
  wsi_result_add_mark (result, WS_MARK_CHIP, "a", chip, 2);
}

static inline WsResult *
sample_result (gboolean has_scale)
{
  const WsPoint where = { 21.0, 36.0 };
  WsResult *result = wsi_result_new ("drill-side");
  WsQuantity *quantities[G_N_ELEMENTS (sample_infos)];
  for (gsize i = 0; i < G_N_ELEMENTS (sample_infos); i++)
    quantities[i] = wsi_result_add_quantity (result, &sample_infos[i], has_scale);

  sample_set (quantities[0], 121.4567, 0.011, WS_VERDICT_REJECT);
  sample_limit (quantities[0], 116.0, 120.0, "tool card");
  sample_set (quantities[1], 60.7, 0.006, WS_VERDICT_NONE);
  sample_set (quantities[2], 6.4912, 0.0021, WS_VERDICT_ACCEPT);
  sample_limit (quantities[2], 6.478, 6.5, "from memory, check your drawing");
  sample_set (quantities[3], 0.0, 0.0021, WS_VERDICT_ACCEPT);
  sample_limit (quantities[3], -INFINITY, 0.065, "common practice, no source");
  result->verdict = WS_VERDICT_REJECT;
  result->hand = "right";
  wsi_result_add_finding (result, "point-flat", g_strdup ("The point is too flat."), NULL);
  wsi_result_add_finding (result, "chip", g_strdup ("Lip a has a chip."), &where);
  g_ptr_array_add (result->advice, g_strdup ("Grind lip a 1.5° sharper."));
  wsi_result_add_grinding (result, 59.2, "lip_%s_half_angle_deg", "a");
  result->work = WS_WORK_GRIND;
  g_ptr_array_add (result->cautions, g_strdup ("Wear eye protection."));
  sample_add_marks (result);
  return result;
}

static inline Sample *
sample_new (gboolean has_scale)
{
  Sample *sample = g_new0 (Sample, 1);
  sample->card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  sample->card->id = g_strdup ("QT-D-0118");
  sample->card->diameter_mm = 6.5;
  sample->optics = (WsOptics){ .has_scale = has_scale,
                               .mm_per_px = has_scale ? 0.0125 : 1.0,
                               .u_mm_per_px = has_scale ? 2e-6 : 0.0,
                               .lens = NULL };
  sample->result = sample_result (has_scale);
  sample->report = (WsReport){
    .id = "20261125T101502Z-1f0c9a3b",
    .time = "2026-11-25T10:15:02Z",
    .image_name = "drill.png",
    .image_sha256 = "1f0c9a3b",
    .image_width = 64,
    .image_height = 64,
    .card = sample->card,
    .optics = &sample->optics,
    .result = sample->result,
  };
  return sample;
}

static inline void
sample_free (Sample *sample)
{
  ws_tool_card_free (sample->card);
  ws_result_free (sample->result);
  g_free (sample);
}

G_DEFINE_AUTOPTR_CLEANUP_FUNC (Sample, sample_free)

#endif
