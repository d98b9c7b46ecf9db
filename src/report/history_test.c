#include "report/history.h"

#include "base/testing.h"

#include <math.h>

/* Of the hour; `rest` goes into the record, `quantity` is corner wear with an upper limit of 0.1.
 */
static void
add (GPtrArray *inspections, guint hour, gboolean reground, const char *rest, double wear,
     const char *verdict)
{
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  WsInspection *inspection = g_new0 (WsInspection, 1);
  inspection->time = g_strdup_printf ("2026-11-25T%02u:00:00Z", hour);
  inspection->view = g_strdup ("drill-side");
  inspection->reground = reground;
  inspection->record = g_strdup_printf (
    "{\"tool\": {\"min_length_mm\": 50.0}%s, \"quantities\": {\"corner_wear_a_mm\": {\"value\": %s,"
    " \"U\": 0.01, \"k\": 2.0, \"lower\": null, \"upper\": 0.1, \"verdict\": \"%s\"},"
    " \"point_angle_deg\": {\"value\": 118.0, \"U\": 0.1, \"k\": 2.0, \"lower\": 116.0, \"upper\":"
    " 120.0, \"verdict\": \"accept\"}}}",
    rest, g_ascii_formatd (number, sizeof number, "%.4f", wear), verdict);
  g_ptr_array_add (inspections, inspection);
}

static GPtrArray *
life (void)
{
  GPtrArray *inspections = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  add (inspections, 8, FALSE, ", \"tool_length\": {\"value_mm\": 61.0, \"u_mm\": 0.03}", 0.02,
       "accept");
  add (inspections, 9, FALSE, "", 0.06, "accept");
  add (inspections, 10, FALSE, "", 0.12, "reject");
  add (inspections, 11, TRUE, ", \"tool_length\": {\"value_mm\": 60.5, \"u_mm\": 0.03}", 0.02,
       "accept");
  add (inspections, 12, FALSE, "", 0.05, "accept");
  /* Its length comes with a later picture. */
  add (inspections, 13, TRUE, "", 0.02, "accept");
  add (inspections, 14, FALSE, ", \"tool_length\": {\"value_mm\": 60.0, \"u_mm\": 0.03}", 0.04,
       "accept");
  return inspections;
}

static void
test_regrinds_left (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) inspections = life ();
  g_autoptr (WsHistory) history = wsi_history_new (inspections);
  assert_int_equal (history->n, 7);
  assert_int_equal (history->regrinds->len, 2);
  for (guint i = 0; i < 2; i++)
    assert_near (g_array_index (history->regrinds, WsRegrind, i).took, 0.5, 1e-12);
  assert_near (history->took, 0.5, 1e-12);
  /* No scatter: by the lengths' own. */
  assert_near (history->u_took, sqrt (2.0) * 0.03 / 2, 1e-12);
  assert_near (history->left, 20.0, 1e-9);
  assert_near (history->u_left, hypot (0.03, 20.0 * sqrt (2.0) * 0.015) / 0.5, 1e-9);
  g_autofree char *words = wsi_history_length_words (history);
  assert_contains (words, "2 regrinds on record. 60.000 ± 0.060 mm long, 50 mm must be left.");
  assert_contains (words, "Left: 20 regrinds, at least 18 with U.");
}

static void
test_what_is_not_known (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) inspections =
    g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  add (inspections, 8, TRUE, "", 0.02, "accept");
  add (inspections, 9, TRUE, ", \"tool_length\": {\"value_mm\": 60.0, \"u_mm\": 0.03}", 0.02,
       "accept");
  g_autoptr (WsHistory) history = wsi_history_new (inspections);
  assert_int_equal (history->regrinds->len, 2);
  assert_true (isnan (history->took));
  assert_true (isnan (history->left));
  g_autofree char *words = wsi_history_length_words (history);
  assert_contains (words, "What a regrind takes isn't known");
}

/* From 0.2 of the limit by 0.4 and 0.6 on the first edge, by 0.3 on the second, by 0.2 on the
 * third; no step across a regrind counts. */
static void
test_wear (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) inspections = life ();
  g_autoptr (WsHistory) history = wsi_history_new (inspections);
  assert_int_equal (history->wear->len, 2);
  const WsWear *wear = &g_array_index (history->wear, WsWear, 0);
  assert_string_equal (wear->name, "corner_wear_a_mm");
  assert_near (wear->use, 0.4, 1e-9);
  assert_near (wear->growth, (0.4 + 0.6 + 0.3 + 0.2) / 4.0, 1e-9);
  g_autofree char *words = wsi_history_wear_words (wear, "Corner wear a");
  assert_string_equal (words, "Corner wear a: 40 % of the way to its limit, +37.5 % from picture "
                              "to picture, rejected in 1 of 7");
  const WsWear *angle = &g_array_index (history->wear, WsWear, 1);
  assert_near (angle->use, 0.0, 1e-9);
  assert_near (angle->growth, 0.0, 1e-9);
}

/* A regrind whose first picture has no value is drawn at the next. */
static void
test_trend (void **state)
{
  (void)state;
  WsTrend trend = { 0 };
  g_autoptr (GPtrArray) inspections = life ();
  WsInspection *retake = g_ptr_array_index (inspections, 3);
  g_free (retake->record);
  retake->record = g_strdup ("{\"quantities\": {}}");
  g_autoptr (GArray) points = wsi_history_trend (inspections, "corner_wear_a_mm", &trend);
  assert_int_equal (points->len, 6);
  assert_int_equal (trend.n, 6);
  assert_string_equal (trend.unit, "mm");
  assert_true (trend.points[3].reground);
  assert_false (trend.points[2].reground);
  assert_near (trend.points[3].value, 0.05, 1e-9);
  assert_true (isinf (trend.points[3].lower));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_regrinds_left),
    cmocka_unit_test (test_what_is_not_known),
    cmocka_unit_test (test_wear),
    cmocka_unit_test (test_trend),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
