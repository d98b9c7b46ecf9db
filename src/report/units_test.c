#include "report/units.h"

#include "base/language.h"

#include "base/testing.h"
#include "report/words.h"
#include "result/build.h"

#include <whetsight/report.h>

static void
sentences_in_inches (void **state)
{
  (void)state;
  static const struct
  {
    const char *mm, *in, *both;
  } cases[] = {
    { "longer by 0.017 ± 0.014 mm.", "longer by 0.00067 ± 0.00055 in.",
      "longer by 0.017 ± 0.014 mm (0.00067 ± 0.00055 in)." },
    { "Grind 0.23 mm off", "Grind 0.0091 in off", "Grind 0.23 mm (0.0091 in) off" },
    { "-0.05 .. 0.05 mm", "-0.0020 .. 0.0020 in", "-0.05 .. 0.05 mm (-0.0020 .. 0.0020 in)" },
    { "6.5 mm, then 10 mm", "0.256 in, then 0.39 in", "6.5 mm (0.256 in), then 10 mm (0.39 in)" },
    { "0.000 mm", "0.00000 in", "0.000 mm (0.00000 in)" },
    { "by 0.15°, 3 px, 5 mmHg, v0.5 mm", "by 0.15°, 3 px, 5 mmHg, v0.5 mm",
      "by 0.15°, 3 px, 5 mmHg, v0.5 mm" },
    { "no number of mm", "no number of mm", "no number of mm" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *mm = wsi_units_sentence (cases[i].mm, WS_UNITS_MM);
    g_autofree char *in = wsi_units_sentence (cases[i].mm, WS_UNITS_IN);
    g_autofree char *both = wsi_units_sentence (cases[i].mm, WS_UNITS_BOTH);
    assert_string_equal (mm, cases[i].mm);
    assert_string_equal (in, cases[i].in);
    assert_string_equal (both, cases[i].both);
  }
  assert_null (wsi_units_sentence (NULL, WS_UNITS_IN));
}

static const WsQuantityInfo infos[] = {
  { "lip_height_difference", WS_UNIT_LENGTH, NULL, "Lip height a - b", "" },
  { "point_angle", WS_UNIT_DEGREE, NULL, "Point angle", "" },
};

static WsQuantity *
add (WsResult *result, guint which, gboolean has_scale, const char *source)
{
  WsQuantity *quantity = wsi_result_add_quantity (result, &infos[which], has_scale);
  wsi_quantity_set (quantity, 0.0254);
  wsi_quantity_add_line (quantity, "u", WS_DISTRIBUTION_NORMAL, 0.00508, 1);
  wsi_quantity_combine (quantity);
  quantity->lower = -0.0508;
  quantity->upper = 0.06;
  quantity->limit_source = source;
  return quantity;
}

static void
assert_words (char *words, const char *expected)
{
  assert_string_equal (words, expected);
  g_free (words);
}

static void
quantities_in_inches (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  const WsQuantity *length = add (result, 0, TRUE, "tool card");
  const WsQuantity *angle = add (result, 1, TRUE, "tool card");
  const WsQuantity *px = add (result, 0, FALSE, NULL);
  wsi_result_add_finding (result, "lip-longer", g_strdup ("by 0.25 mm"), NULL);
  ws_report_show_in (result, WS_UNITS_IN);
  assert_words (wsi_words_value (length), "0.00100");
  assert_words (wsi_words_uncertainty (length), "0.00040");
  assert_words (wsi_words_limits (length), "-0.002 .. 0.00236");
  assert_string_equal (wsi_words_unit (length), "in");
  assert_string_equal (wsi_words_unit (angle), "deg");
  assert_words (wsi_words_limits (angle), "-0.0508 .. 0.06");
  assert_string_equal (wsi_words_unit (px), "px");
  assert_string_equal (((WsFinding *)g_ptr_array_index (result->findings, 0))->text,
                       "by 0.0098 in");
  /* Records know nothing of it. */
  assert_near (length->value, 0.0254, 0);

  ws_report_show_in (result, WS_UNITS_BOTH);
  assert_words (wsi_words_value (length), "0.025 (0.00100)");
  assert_words (wsi_words_limits (length), "-0.0508 .. 0.06 (-0.002 .. 0.00236)");
  assert_string_equal (wsi_words_unit (length), "mm (in)");
}

/* In the language of who reads it first, whose patterns have mm. */
static void
sentences_in_german (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  g_ptr_array_add (result->advice,
                   g_strdup ("Grind lip a back by 0.254 mm along the drill's axis (0.127 mm "
                             "square to the lip). Keep its angle."));
  wsi_language_use ("de");
  ws_report_show_in (result, WS_UNITS_IN);
  wsi_language_use (NULL);
  assert_string_equal (g_ptr_array_index (result->advice, 0),
                       "Schneide a um 0.01000 in längs der Bohrerachse zurückschleifen "
                       "(0.00500 in quer zur Schneide). Ihren Winkel behalten.");
  char *words = wsi_units_sentence ("0.254 bis 0.508 mm", WS_UNITS_IN);
  assert_words (words, "0.01000 bis 0.02000 in");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (sentences_in_inches),
    cmocka_unit_test (quantities_in_inches),
    cmocka_unit_test (sentences_in_german),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
