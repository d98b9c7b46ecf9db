#include "tool/measure_again.h"

#include "base/testing.h"
#include "result/build.h"

#include <math.h>

static const WsQuantityInfo info = { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" };
static const WsQuantityInfo length = { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "" };

typedef struct
{
  const char *name;
  double u;
} Line;

/* A quantity at its lower limit of 118. */
static WsResult *
undecided (const Line *lines, gsize n)
{
  WsResult *result = wsi_result_new ("drill-side");
  WsQuantity *quantity = wsi_result_add_quantity (result, &info, TRUE);
  wsi_quantity_set (quantity, 118.05);
  for (gsize i = 0; i < n; i++)
    wsi_quantity_add_line (quantity, lines[i].name, WS_DISTRIBUTION_NORMAL, lines[i].u, 1.0);
  wsi_quantity_combine (quantity);
  quantity->lower = 118.0;
  quantity->verdict = WS_VERDICT_UNDECIDED;
  return result;
}

static char *
cures (const Line *lines, gsize n, double web_mm)
{
  g_autoptr (WsResult) result = undecided (lines, n);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->web_mm = web_mm;
  return wsi_measuring_cures (card, g_ptr_array_index (result->quantities, 0));
}

/* U is 2 sqrt (0.03^2 + 0.012^2 + 0.004^2) = 0.0651; by hand 0.0253 and 0.0605 without each of the
 * first two; the last one brings less than a twentieth. */
static void
the_largest_comes_first_with_its_number (void **state)
{
  (void)state;
  static const Line lines[] = { { "edge noise and form, lip a direction", 0.012 },
                                { "alignment: lips turned", 0.03 },
                                { "scale", 0.004 } };
  g_autofree char *text = cures (lines, G_N_ELEMENTS (lines), NAN);
  assert_string_equal (text,
                       "with the web's thickness on the card (web_mm), or the lips square to the "
                       "camera, U falls from 0.065 to at best 0.025, enough to tell; with the edge "
                       "larger and sharper in the picture, from nearer by, to 0.061");
}

/* Lines that one change cures count together: sqrt (0.03^2 + 0.04^2) = 0.05 against 0.045. */
static void
lines_of_one_cure_are_one (void **state)
{
  (void)state;
  static const Line lines[] = { { "scale", 0.045 },
                                { "edge noise and form, lip a direction", 0.03 },
                                { "edge noise and form, lip b direction", 0.04 } };
  g_autofree char *text = cures (lines, G_N_ELEMENTS (lines), NAN);
  assert_true (g_str_has_prefix (text, "with the edge larger and sharper"));
  assert_contains (text, "U falls from 0.13 to at best 0.090;");
}

/* What the card says already isn't asked for. */
static void
a_card_with_a_web_asks_for_the_lips_alone (void **state)
{
  (void)state;
  static const Line lines[] = { { "alignment: lips turned", 0.03 } };
  g_autofree char *without = cures (lines, 1, NAN), *with = cures (lines, 1, 1.0);
  assert_contains (without, "web_mm");
  assert_lacks (with, "web_mm");
  assert_contains (with, "the lips square to the camera");
}

static void
each_line_has_its_cure (void **state)
{
  (void)state;
  static const struct
  {
    const char *line, *cure;
  } all[] = {
    { "unknown lens", "the lens calibrated" },
    { "alignment: fixture's direction", "direction measured in the fixture" },
    { "alignment: reference side against the body", "direction measured in the fixture" },
    { "distortion left over", "a better calibration" },
    { "alignment: blade off the calibrated plane", "the plane that was calibrated" },
    { "alignment: axis leaning", "a fixture" },
    { "alignment: camera off the axis", "in line with the drill's axis" },
    { "alignment: blade tilted", "lying flat" },
    { "alignment: feed against the reference line", "reference_side" },
    { "alignment: unground top against the base", "the base in the picture" },
    { "alignment: flank foreshortened", "the flank square" },
    { "notch rounded by blur", "a sharper picture" },
    { "tonal encoding and threshold", "without tone curve" },
    { "where the colour fades out", "more even light" },
    { "side rake by the tool card", "side_rake_deg" },
    { "given size", "own size measured more exactly" },
    { "alignment: fixture's direction", "measured in the fixture" },
    { "alignment: reference side against the body", "measured in the fixture" },
    { "greatest of many", "larger and sharper" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    const Line line = { all[i].line, 0.1 };
    g_autofree char *text = cures (&line, 1, NAN);
    assert_contains (text, all[i].cure);
  }
}

/* Every undecided quantity has its advice, whichever the view; long lists are cut short. */
static void
undecided_quantities_are_advised_on (void **state)
{
  (void)state;
  static const Line line = { "scale", 0.1 };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = undecided (&line, 1);
  WsQuantity *in_px = wsi_result_add_quantity (result, &length, FALSE);
  WsQuantity *unseen = wsi_result_add_quantity (result, &length, TRUE);
  wsi_quantity_set (in_px, 400.0);
  in_px->verdict = unseen->verdict = WS_VERDICT_UNDECIDED;
  unseen->limit_source = in_px->limit_source = "tool card";
  wsi_advise_measuring_again (card, result, NULL);
  assert_int_equal (result->advice->len, 3);
  assert_contains ((char *)g_ptr_array_index (result->advice, 0),
                   "118.05 ± 0.20° is too near a limit");
  assert_contains ((char *)g_ptr_array_index (result->advice, 1), "with a known scale");
  assert_contains ((char *)g_ptr_array_index (result->advice, 2), "so that it shows");
  assert_int_equal (result->cautions->len, 0);

  for (guint i = 0; i < 3; i++)
  {
    WsQuantity *more = wsi_result_add_quantity (result, &length, TRUE);
    more->verdict = WS_VERDICT_UNDECIDED;
    more->limit_source = "tool card";
  }
  g_ptr_array_set_size (result->advice, 0);
  wsi_advise_measuring_again (card, result, NULL);
  assert_int_equal (result->advice->len, 5);
  assert_contains ((char *)g_ptr_array_index (result->advice, 4), "2 more quantities");
}

/* A limit in parts of the diameter holds without a scale: no card's limit is spoken of. */
static void
a_limit_in_px_is_one (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  WsQuantity *worn = wsi_result_add_quantity (result, &length, FALSE);
  wsi_quantity_set (worn, 4.46);
  wsi_quantity_add_line (worn, "form", WS_DISTRIBUTION_NORMAL, 0.4, 1.0);
  wsi_quantity_combine (worn);
  worn->upper = 5.2;
  worn->limit_source = "common practice, no source";
  worn->verdict = WS_VERDICT_UNDECIDED;
  wsi_advise_measuring_again (card, result, NULL);
  assert_contains ((char *)g_ptr_array_index (result->advice, 0),
                   ": 4.46 ± 0.80 px is too near a limit");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_largest_comes_first_with_its_number),
    cmocka_unit_test (lines_of_one_cure_are_one),
    cmocka_unit_test (a_card_with_a_web_asks_for_the_lips_alone),
    cmocka_unit_test (each_line_has_its_cure),
    cmocka_unit_test (undecided_quantities_are_advised_on),
    cmocka_unit_test (a_limit_in_px_is_one),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
