#include "report/sample_for_tests.h"

#include "optics/calibration.h"
#include "result/build.h"

#include <jansson.h>
#include <locale.h>

static json_t *
parse (const WsReport *report)
{
  g_autofree char *line = ws_report_record (report);
  json_error_t error;
  assert_non_null (line);
  assert_lacks (line, "\n");
  assert_lacks (line, "nan");
  assert_lacks (line, "inf");
  json_t *record = json_loads (line, JSON_REJECT_DUPLICATES, &error);
  if (record == NULL)
    fail_msg ("%s in %s", error.text, line);
  return record;
}

static const char *
string_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

static void
assert_null_at (const json_t *object, const char *key)
{
  if (!json_is_null (json_object_get (object, key)))
    fail_msg ("%s is not null", key);
}

static double
real_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  if (!json_is_number (value))
    fail_msg ("%s is no number", key);
  return json_number_value (value);
}

static void
test_head (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  json_t *record = parse (&sample->report);
  assert_string_equal (string_at (record, "record"), "whetsight/1");
  assert_string_equal (string_at (record, "id"), "20261125T101502Z-1f0c9a3b");
  assert_string_equal (string_at (record, "time"), "2026-11-25T10:15:02Z");
  assert_string_equal (string_at (record, "program"), "whetsight " WS_VERSION);
  assert_string_equal (string_at (record, "view"), "drill-side");
  assert_string_equal (string_at (record, "verdict"), "reject");
  assert_string_equal (string_at (record, "hand"), "right");
  assert_null_at (record, "reason");
  assert_null_at (record, "calibration");

  const json_t *tool = json_object_get (record, "tool");
  assert_string_equal (string_at (tool, "id"), "QT-D-0118");
  assert_string_equal (string_at (tool, "kind"), "twist-drill");
  assert_near (real_at (tool, "diameter_mm"), 6.5, 0.0);
  assert_null_at (tool, "width_mm");
  const json_t *image = json_object_get (record, "image");
  assert_string_equal (string_at (image, "name"), "drill.png");
  assert_int_equal (json_integer_value (json_object_get (image, "width")), 64);
  const json_t *scale = json_object_get (record, "scale");
  assert_near (real_at (scale, "mm_per_px"), 0.0125, 0.0);
  assert_near (real_at (scale, "u_mm_per_px"), 2e-6, 1e-16);
  json_decref (record);
}

static void
test_quantities (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  json_t *record = parse (&sample->report);
  const json_t *quantities = json_object_get (record, "quantities");
  assert_int_equal (json_object_size (quantities), G_N_ELEMENTS (sample_infos));

  const json_t *angle = json_object_get (quantities, "point_angle_deg");
  assert_near (real_at (angle, "value"), 121.4567, 1e-7);
  assert_near (real_at (angle, "U"), 0.022, 1e-9);
  assert_near (real_at (angle, "k"), 2.0, 0.0);
  assert_near (real_at (angle, "lower"), 116.0, 0.0);
  assert_string_equal (string_at (angle, "verdict"), "reject");
  /* 1.4567 degrees beyond a limit with u = 0.011. */
  assert_near (real_at (angle, "conformance"), 0, 1e-12);
  assert_near (real_at (json_object_get (quantities, "diameter_mm"), "conformance"), 1, 0.0001);
  assert_string_equal (string_at (angle, "limit_source"), "tool card");
  const json_t *line = json_array_get (json_object_get (angle, "budget"), 0);
  assert_string_equal (string_at (line, "name"), "edge noise");
  assert_string_equal (string_at (line, "distribution"), "normal");
  assert_near (real_at (line, "standard_uncertainty"), 0.011, 1e-12);
  assert_near (real_at (line, "sensitivity"), 1.0, 0.0);
  assert_near (real_at (line, "contribution"), 0.011, 1e-12);
  json_decref (record);
}

static void
test_unknown_is_null (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  json_t *record = parse (&sample->report);
  const json_t *quantities = json_object_get (record, "quantities");
  const json_t *turn = json_object_get (quantities, "view_turn_deg");
  assert_null_at (turn, "value");
  assert_null_at (turn, "U");
  assert_null_at (turn, "lower");
  assert_null_at (turn, "upper");
  assert_null_at (turn, "verdict");
  assert_null_at (turn, "conformance");
  assert_null_at (turn, "limit_source");
  assert_non_null (json_object_get (quantities, "diameter_px"));
  assert_null (json_object_get (quantities, "diameter_mm"));
  const json_t *chip = json_object_get (quantities, "chip_depth_a_px");
  assert_null_at (chip, "lower");
  assert_near (real_at (chip, "value"), 0.0, 0.0);
  assert_null_at (chip, "smallest_seen");
  assert_null_at (record, "scale");
  json_decref (record);
}

static void
test_smallest_seen (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_quantity_set_smallest_seen (g_ptr_array_index (sample->result->quantities, 3), 3,
                                  &sample->optics);
  json_t *record = parse (&sample->report);
  const json_t *quantities = json_object_get (record, "quantities");
  assert_near (real_at (json_object_get (quantities, "chip_depth_a_mm"), "smallest_seen"),
               3 * 0.0125, 1e-9);
  assert_null_at (json_object_get (quantities, "diameter_mm"), "smallest_seen");
  json_decref (record);
}

static void
test_findings_and_advice (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  json_t *record = parse (&sample->report);
  const json_t *findings = json_object_get (record, "findings");
  assert_int_equal (json_array_size (findings), 2);
  assert_null_at (json_array_get (findings, 0), "where_px");
  const json_t *place = json_object_get (json_array_get (findings, 1), "where_px");
  assert_near (json_number_value (json_array_get (place, 1)), 36.0, 0.0);
  assert_string_equal (json_string_value (json_array_get (json_object_get (record, "advice"), 0)),
                       "Grind lip a 1.5° sharper.");
  assert_int_equal (json_array_size (json_object_get (record, "cautions")), 1);
  json_decref (record);
}

static void
test_retake_without_a_picture (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_NOT_AN_IMAGE, "truncated");
  sample->report.image_sha256 = NULL;
  sample->report.image_width = sample->report.image_height = 0;
  g_clear_pointer (&sample->card->id, g_free);
  json_t *record = parse (&sample->report);
  assert_string_equal (string_at (record, "verdict"), "retake");
  assert_string_equal (string_at (record, "reason"), "not-an-image");
  assert_string_equal (string_at (record, "detail"), "truncated");
  assert_int_equal (json_object_size (json_object_get (record, "quantities")), 0);
  assert_int_equal (json_array_size (json_object_get (record, "findings")), 0);
  const json_t *image = json_object_get (record, "image");
  assert_null_at (image, "sha256");
  assert_null_at (image, "width");
  assert_null_at (image, "height");
  assert_null_at (json_object_get (record, "tool"), "id");
  json_decref (record);
}

/* File names are bytes; the record stays UTF-8. */
static void
test_names_that_are_no_utf8 (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  sample->report.image_name = "bohrer \xfc \"x\"\n.png";
  json_t *record = parse (&sample->report);
  assert_contains (string_at (json_object_get (record, "image"), "name"), "\"x\"");
  json_decref (record);
}

static void
test_numbers_ignore_the_locale (void **state)
{
  (void)state;
  if (setlocale (LC_NUMERIC, "de_DE.UTF-8") == NULL)
    skip ();
  Sample *sample = sample_new (TRUE);
  json_t *record = parse (&sample->report);
  char *text = ws_report_text (&sample->report, WS_TEXT_SCREEN);
  setlocale (LC_NUMERIC, "C");
  assert_contains (text, "121.457");
  json_decref (record);
  g_free (text);
  sample_free (sample);
}

/* All fields, in their order. */
static const char whole[] =
  "{\"record\":\"whetsight/1\",\"id\":\"20261125T101502Z-1f0c9a3b\","
  "\"time\":\"2026-11-25T10:15:02Z\",\"program\":\"whetsight " WS_VERSION
  "\",\"measured_by\":\"M. Quill\",\"machine\":\"lathe 3\","
  "\"tool\":{\"id\":\"QT-D-0118\",\"card_sha256\":\"0118\",\"kind\":\"twist-drill\",\"diameter_"
  "mm\":6.5,\"width_mm\":3.25,"
  "\"web_mm\":0.75,\"hand\":\"left\",\"views\":null,\"material\":\"carbide\"},"
  "\"view\":\"drill-side\","
  "\"image\":{\"name\":\"drill.png\",\"sha256\":\"1f0c9a3b\",\"width\":64,\"height\":48},"
  "\"calibration\":{\"id\":\"20261101T080000Z-396c459d\",\"sha256\":\"396c459d\","
  "\"camera\":\"bench\",\"model\":\"pinhole\",\"made\":\"2026-11-01T08:00:00Z\",\"expires\":\"2026-"
  "11-20T08:00:00Z\",\"expired\":true,\"check\":\"failed\","
  "\"check_time\":\"2026-11-21T07:00:00Z\",\"check_ignored\":false},"
  "\"corrected\":{\"lens\":true,\"perspective\":true},"
  "\"scale\":{\"mm_per_px\":0.0125,\"u_mm_per_px\":2e-6},"
  "\"lens_distortion\":null,\"fixture\":null,"
  "\"verdict\":\"reject\",\"reason\":null,\"detail\":null,"
  "\"action\":\"regrind\",\"set_aside\":null,\"hand\":\"right\","
  "\"quantities\":{\"point_angle_deg\":{\"value\":121.4567,\"U\":0.022,\"k\":2.0,\"smallest_seen\":"
  "null,"
  "\"lower\":116.0,\"upper\":121.4567,\"limit_source\":\"tool card\",\"conformance\":0.5,"
  "\"verdict\":\"reject\",\"budget\":[{\"name\":\"edge noise\",\"distribution\":\"normal\","
  "\"standard_uncertainty\":0.011,\"sensitivity\":1.0,\"contribution\":0.011},"
  "{\"name\":\"squareness\",\"distribution\":\"rectangular\",\"standard_uncertainty\":0.25,"
  "\"sensitivity\":-0.5,\"contribution\":0.125}]},"
  "\"half_angle_a_deg\":{\"value\":60.7,\"U\":0.012,\"k\":2.0,\"smallest_seen\":null,\"lower\":"
  "null,\"upper\":null,"
  "\"limit_source\":null,\"conformance\":null,\"verdict\":null,"
  "\"budget\":[{\"name\":\"edge noise\",\"distribution\":\"normal\","
  "\"standard_uncertainty\":0.006,\"sensitivity\":1.0,\"contribution\":0.006}]}},"
  "\"findings\":[{\"code\":\"point-flat\",\"text\":\"The point is too flat.\",\"where_px\":null},"
  "{\"code\":\"chip\",\"text\":\"Lip a has a chip.\",\"where_px\":[21.0,36.0]}],"
  "\"advice\":[\"Grind lip a 1.5° sharper.\"],"
  "\"grinding\":{\"lip_a_half_angle_deg\":59.2},\"cautions\":[\"Wear eye protection.\"]}";

static void
test_the_whole (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("target", "bench");
  const WsCalibrationUse use = { .calibration = calibration,
                                 .expired = TRUE,
                                 .check = "failed",
                                 .check_time = "2026-11-21T07:00:00Z" };
  g_free (calibration->id);
  calibration->id = g_strdup ("20261101T080000Z-396c459d");
  calibration->sha256 = g_strdup ("396c459d");
  g_date_time_unref (calibration->made);
  calibration->made = g_date_time_new_utc (2026, 11, 1, 8, 0, 0.0);
  calibration->expires = g_date_time_new_utc (2026, 11, 20, 8, 0, 0.0);
  sample->report.measured_by = "M. Quill";
  sample->report.machine = "lathe 3";
  sample->card->sha256 = g_strdup ("0118");
  calibration->lens.model = WS_LENS_PINHOLE;
  sample->report.calibration = &use;
  sample->report.image_height = 48;
  sample->card->width_mm = 3.25;
  sample->card->web_mm = 0.75;
  sample->card->hand = WS_HAND_LEFT;
  sample->card->material = WS_MATERIAL_CARBIDE;
  g_ptr_array_set_size (sample->result->quantities, 2);
  WsQuantity *angle = g_ptr_array_index (sample->result->quantities, 0);
  sample_limit (angle, 116.0, angle->value, "tool card");
  wsi_quantity_add_line (angle, "squareness", WS_DISTRIBUTION_RECTANGULAR, 0.25, -0.5);
  g_autofree char *line = ws_report_record (&sample->report);
  assert_string_equal (line, whole);
}

/* What of the camera's faults was undone, by lens or by the tool's outline. */
/* What was told of the setting stands in the record, as told. */
static void
test_lens_and_fixture (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  sample->optics.lens_distortion = 0.001;
  sample->optics.has_fixture = TRUE;
  sample->optics.fixture = 0.5 * G_PI;
  sample->optics.u_fixture = G_PI / 3600;
  g_autofree char *line = ws_report_record (&sample->report);
  json_t *record = json_loads (line, 0, NULL);
  const json_t *fixture = json_object_get (record, "fixture");
  assert_near (json_number_value (json_object_get (record, "lens_distortion")), 0.001, 1e-12);
  assert_near (json_number_value (json_object_get (fixture, "direction_deg")), 90, 1e-9);
  assert_near (json_number_value (json_object_get (fixture, "u_direction_deg")), 0.05, 1e-9);
  json_decref (record);
}

static void
test_what_is_corrected (void **state)
{
  (void)state;
  static const struct
  {
    gboolean calibrated;
    WsLensModel model;
    gboolean undone, lens, perspective;
  } cases[] = {
    { FALSE, WS_LENS_TELECENTRIC, FALSE, FALSE, FALSE },
    { FALSE, WS_LENS_TELECENTRIC, TRUE, FALSE, TRUE },
    { TRUE, WS_LENS_TELECENTRIC, FALSE, TRUE, FALSE },
    { TRUE, WS_LENS_TELECENTRIC, TRUE, TRUE, TRUE },
    { TRUE, WS_LENS_PINHOLE, FALSE, TRUE, TRUE },
  };
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("target", "bench");
  const WsCalibrationUse use = { .calibration = calibration,
                                 .check = "never",
                                 .check_ignored = TRUE };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    calibration->lens.model = cases[i].model;
    sample->report.calibration = cases[i].calibrated ? &use : NULL;
    sample->result->perspective_undone = cases[i].undone;
    json_t *record = parse (&sample->report);
    const json_t *corrected = json_object_get (record, "corrected");
    assert_int_equal (json_is_true (json_object_get (corrected, "lens")), cases[i].lens);
    assert_int_equal (json_is_true (json_object_get (corrected, "perspective")),
                      cases[i].perspective);
    const json_t *entry = json_object_get (record, "calibration");
    assert_int_equal (json_is_object (entry), cases[i].calibrated);
    if (cases[i].calibrated)
    {
      assert_null_at (entry, "check_time");
      assert_true (json_is_false (json_object_get (entry, "expired")));
      assert_true (json_is_true (json_object_get (entry, "check_ignored")));
    }
    json_decref (record);
  }
}

/* A scale of which nobody said how well it is known; a picture of one column. */
static void
test_a_scale_taken_as_exact (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  sample->optics.u_mm_per_px = 0;
  sample->report.image_width = 1;
  json_t *record = parse (&sample->report);
  assert_null_at (json_object_get (record, "scale"), "u_mm_per_px");
  assert_near (real_at (json_object_get (record, "image"), "width"), 1, 0);
  json_decref (record);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_head),
    cmocka_unit_test (test_quantities),
    cmocka_unit_test (test_unknown_is_null),
    cmocka_unit_test (test_smallest_seen),
    cmocka_unit_test (test_findings_and_advice),
    cmocka_unit_test (test_retake_without_a_picture),
    cmocka_unit_test (test_names_that_are_no_utf8),
    cmocka_unit_test (test_numbers_ignore_the_locale),
    cmocka_unit_test (test_the_whole),
    cmocka_unit_test (test_lens_and_fixture),
    cmocka_unit_test (test_what_is_corrected),
    cmocka_unit_test (test_a_scale_taken_as_exact),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
