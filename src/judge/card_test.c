#include "base/file_for_tests.h"

#include <whetsight/card.h>
#include <whetsight/error.h>

#define HEAD "[tool]\nid = QT-D-0118\nkind = twist-drill\n"

static int
set_up (void **state)
{
  return file_set_up (state, "a.tool");
}

static WsToolCard *
load (const Fixture *fixture, const char *text, GError **error)
{
  assert_true (g_file_set_contents (fixture->path, text, -1, NULL));
  return ws_tool_card_load (fixture->path, error);
}

static void
test_reads_a_card (void **state)
{
  GError *error = NULL;
  g_autoptr (WsToolCard) card =
    load (*state,
          "# a comment\n" HEAD "diameter_mm = 6.5\nweb_mm=0.9\nhand = left\n"
          "material = high-speed-steel\n\n[limits]\n"
          "point_angle_deg = 116 .. 120\nlip_height_difference_mm = -0.05..0.05\n"
          "chip_depth_a_mm = .. 0.1\npoint_length_mm = 1.5 ..\n",
          &error);
  assert_null (error);
  assert_string_equal (card->id, "QT-D-0118");
  assert_int_equal (card->kind, WS_KIND_TWIST_DRILL);
  assert_near (card->diameter_mm, 6.5, 0.0);
  assert_near (card->web_mm, 0.9, 0.0);
  assert_int_equal (card->hand, WS_HAND_LEFT);
  assert_int_equal (card->material, WS_MATERIAL_HIGH_SPEED_STEEL);
  assert_true (isnan (card->width_mm));
  assert_int_equal (card->limits->len, 4);

  const WsLimit *limit = ws_tool_card_limit (card, "lip_height_difference_mm");
  assert_near (limit->lower, -0.05, 0.0);
  assert_near (limit->upper, 0.05, 0.0);
  limit = ws_tool_card_limit (card, "chip_depth_a_mm");
  assert_true (limit->lower < 0.0 && isinf (limit->lower));
  limit = ws_tool_card_limit (card, "point_length_mm");
  assert_near (limit->lower, 1.5, 0.0);
  assert_true (limit->upper > 0.0 && isinf (limit->upper));
  assert_null (ws_tool_card_limit (card, "diameter_mm"));
}

/* Sizes say their unit; limits may be in inches; all of it is kept in mm. */
static void
test_reads_what_is_required (void **state)
{
  GError *error = NULL;
  g_autoptr (WsToolCard) card =
    load (*state, HEAD "required = chisel_flat_mm,burn_area_share , segment_2_angle_deg\n", &error);
  assert_null (error);
  assert_int_equal (g_strv_length (card->required), 3);
  assert_string_equal (card->required[0], "chisel_flat_mm");
  assert_string_equal (card->required[1], "burn_area_share");
  assert_string_equal (card->required[2], "segment_2_angle_deg");
}

static void
test_reads_inches (void **state)
{
  static const struct
  {
    const char *line;
    double mm;
  } cases[] = { { "diameter = 1/4 in\n", 6.35 },    { "diameter = 0.25 in\n", 6.35 },
                { "diameter = 1/4\n", 6.35 },       { "diameter = #7\n", 0.201 * 25.4 },
                { "diameter = F\n", 0.257 * 25.4 }, { "diameter = 6.5 mm\n", 6.5 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *text = g_strconcat (HEAD, cases[i].line, NULL);
    GError *error = NULL;
    g_autoptr (WsToolCard) card = load (*state, text, &error);
    assert_null (error);
    assert_near (card->diameter_mm, cases[i].mm, 1e-12);
  }
  GError *error = NULL;
  g_autoptr (WsToolCard) card =
    load (*state,
          HEAD "diameter = 1/4 in\nweb = 0.04 in\n[limits]\n"
               "lip_height_difference_in = -0.002 .. 0.002\nchip_depth_a_in = .. 0.004\n",
          &error);
  assert_null (error);
  assert_near (card->web_mm, 1.016, 1e-12);
  assert_near (ws_tool_card_limit (card, "lip_height_difference_mm")->lower, -0.0508, 1e-12);
  assert_near (ws_tool_card_limit (card, "lip_height_difference_mm")->upper, 0.0508, 1e-12);
  assert_near (ws_tool_card_limit (card, "chip_depth_a_mm")->upper, 0.1016, 1e-12);
  assert_true (isinf (ws_tool_card_limit (card, "chip_depth_a_mm")->lower));
}

static void
test_refuses_doubtful_units (void **state)
{
  static const char *const cases[][2] = {
    { "diameter = 6.5\n", "with its unit" },
    { "diameter = 1/3 in\n", "with its unit" },
    { "diameter_mm = 1/4\n", "millimetres above 0" },
    { "diameter_mm = 6.5\ndiameter = 1/4 in\n", "not in two units" },
    { "diameter = 1/4 in\ndiameter_mm = 6.5\n", "not in two units" },
    { "[limits]\nchip_depth_a_in = .. 0.004\nchip_depth_a_mm = .. 0.1\n", "not in two units" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *text = g_strconcat (HEAD, cases[i][0], NULL);
    g_autoptr (GError) error = NULL;
    assert_null (load (*state, text, &error));
    assert_contains (error->message, cases[i][1]);
  }
}

static void
test_reads_other_kinds (void **state)
{
  GError *error = NULL;
  g_autoptr (WsToolCard) blade =
    load (*state,
          "[tool]\nid=QT-B-7\nkind=cutoff-blade\nwidth_mm=3\npart_has_centre_hole=false\n"
          "reference_side=left\n",
          &error);
  assert_null (error);
  assert_int_equal (blade->kind, WS_KIND_CUTOFF_BLADE);
  assert_near (blade->width_mm, 3.0, 0.0);
  assert_int_equal (blade->part_has_centre_hole, WS_ANSWER_NO);
  assert_int_equal (blade->reference_side, WS_REFERENCE_LEFT);
  assert_true (isnan (blade->side_rake_deg));
}

#define FORM "[tool]\nid=QT-F-2\nkind=form-tool\n"

/* The profile's file is found beside the card. */
static void
test_reads_form_tools (void **state)
{
  GError *error = NULL;
  const char *profile = "start 0 0\nline 4 0\nline 4 5\n";
  const Fixture *fixture = *state;
  g_autofree char *path = g_build_filename (fixture->folder, "step.profile", NULL);
  assert_true (g_file_set_contents (path, profile, -1, NULL));

  g_autoptr (WsToolCard) nominal =
    load (*state, FORM "nominal_profile=step.profile\nreference=dovetail\n", &error);
  assert_null (error);
  assert_int_equal (nominal->form.nominal->n_numbers, 2);
  assert_true (nominal->form.by_dovetail);
  assert_null (nominal->form.part);

  g_autoptr (WsToolCard) part = load (*state,
                                      FORM "part_profile=step.profile\nrake_deg=10\nrelief_deg=8\n"
                                           "smallest_radius_mm=10\nprofile_mirrored=true\n",
                                      &error);
  assert_null (error);
  double least, greatest;
  ws_contour_heights (part->form.nominal, &least, &greatest);
  assert_near (greatest, 5.05107, 5e-6);
  assert_near (g_array_index (part->form.nominal->segments, WsContourSegment, 0).from.x, -4, 1e-9);

  const char *const bad[] = {
    FORM "nominal_profile=none.profile\n",
    FORM "part_profile=step.profile\nrake_deg=10\nrelief_deg=8\n",
    FORM "part_profile=step.profile\nnominal_profile=step.profile\n",
    FORM "rake_deg=nan\n",
    FORM "relief_deg=-1\n",
    FORM "reference=shank\n",
  };
  const char *const says[] = { "no such profile",
                               "smallest_radius_mm is missing",
                               "not both",
                               "rake_deg: expected degrees, -45 to 45",
                               "relief_deg: expected degrees, 0 to 45",
                               "profile or dovetail" };
  for (gsize i = 0; i < G_N_ELEMENTS (bad); i++)
  {
    g_autoptr (GError) refused = NULL;
    assert_null (load (*state, bad[i], &refused));
    assert_contains (refused->message, says[i]);
  }
  g_unlink (path);
}

static void
test_reads_what_a_blade_is_for (void **state)
{
  GError *error = NULL;
  g_autoptr (WsToolCard) blade =
    load (*state,
          "[tool]\nid=QT-B-8\nkind=cutoff-blade\npart_has_centre_hole=yes\n"
          "side_rake_deg=7.5\n",
          &error);
  assert_null (error);
  assert_int_equal (blade->part_has_centre_hole, WS_ANSWER_YES);
  assert_int_equal (blade->reference_side, WS_REFERENCE_CENTRE);
  assert_near (blade->side_rake_deg, 7.5, 0.0);
  g_autoptr (WsToolCard) silent = load (*state, "[tool]\nid=QT-B-9\nkind=cutoff-blade\n", &error);
  assert_null (error);
  assert_int_equal (silent->part_has_centre_hole, WS_ANSWER_UNKNOWN);
}

/* What is wrong, and what the message must name. */
static const struct
{
  const char *text;
  const char *parts[3];
} bad_cards[] = {
  { "", { "[tool] kind is missing", "twist-drill" } },
  { "[tool]\nkind = twist-drill\n", { "[tool] id is missing" } },
  { "[tool]\nid = \nkind = twist-drill\n", { "[tool] id: expected" } },
  { "[tool]\nid = a\nkind = twistdrill\n", { "[tool] kind", "twist-drill", "\"twistdrill\"" } },
  { HEAD "diameter = 6.5\n", { "[tool] diameter", "diameter_mm" } },
  { HEAD "width_mm = 6.5\n", { "[tool] width_mm", "not a key for a twist-drill" } },
  { HEAD "diameter_mm = 6,5\n", { "[tool] diameter_mm", "decimal point", "\"6,5\"" } },
  { HEAD "diameter_mm = 6.5 mm\n", { "[tool] diameter_mm" } },
  { HEAD "diameter_mm = 0\n", { "[tool] diameter_mm", "above 0" } },
  { HEAD "diameter_mm = nan\n", { "[tool] diameter_mm" } },
  { HEAD "diameter_mm = 1e9\n", { "[tool] diameter_mm" } },
  { HEAD "material = HSS\n", { "[tool] material", "carbon-steel, high-speed-steel", "\"HSS\"" } },
  { HEAD "hand = Right\n", { "[tool] hand", "right or left", "\"Right\"" } },
  { HEAD "diameter_mm = 5\nweb_mm = 6\n", { "[tool] web_mm", "less than diameter_mm" } },
  { HEAD "diameter_mm = 5\ndiameter_mm = 6\n", { "[tool] diameter_mm", "twice" } },
  { HEAD "[limits]\nx_mm=1..2\n[limits]\nx_mm = 3..4\n", { "[limits] x_mm", "twice" } },
  { HEAD "[limits]\nx_mm=1..2\n[limits]\xAC\nx_mm = 3..4\n", { "[limits] x_mm", "twice" } },
  { HEAD "[limit]\nx_mm = 1 .. 2\n", { "[limit]", "[limits]" } },
  { HEAD "[limits]\npoint_angle = 1 .. 2\n",
    { "[limits] point_angle", "_deg, _mm, _in or _share" } },
  { HEAD "required = point_angle\n", { "[tool] required", "commas between" } },
  { HEAD "required = point_angle_deg,, diameter_mm\n", { "[tool] required" } },
  { HEAD "[limits]\nN_angle_deg = 1 .. 2\n", { "[limits] N_angle_deg" } },
  { HEAD "[limits]\ncorner_NN_angle_deg = 1 .. 2\n", { "[limits] corner_NN_angle_deg" } },
  { HEAD "[limits]\ncornerN_angle_deg = 1 .. 2\n", { "[limits] cornerN_angle_deg" } },
  { HEAD "[limits]\nPoint_angle_deg = 1 .. 2\n", { "[limits] Point_angle_deg" } },
  { HEAD "[limits]\nx_mm = 1 - 2\n", { "[limits] x_mm", "lower .. upper", "\"1 - 2\"" } },
  { HEAD "[limits]\nx_mm = 5\n", { "[limits] x_mm" } },
  { HEAD "[limits]\nx_mm = ..\n", { "[limits] x_mm" } },
  { HEAD "[limits]\nx_mm = 2 .. 1\n", { "[limits] x_mm", "lower first" } },
  { HEAD "[limits]\nx_mm = 1 .. 1\n", { "[limits] x_mm" } },
  { HEAD "[limits]\nx_mm = -1...2\n", { "[limits] x_mm" } },
  { HEAD "[limits]\nx_mm = 1 .. 2 .. 3\n", { "[limits] x_mm" } },
  { HEAD "[limits]\nx_mm = -inf .. 3\n", { "[limits] x_mm" } },
  { "[tool]\nid=b\nkind=cutoff-blade\npart_has_centre_hole=maybe\n", { "yes or no" } },
  { "[tool]\nid=b\nkind=cutoff-blade\nside_rake_deg=60\n", { "degrees from 0 to 45" } },
  { "[tool]\nid=b\nkind=cutoff-blade\nreference_side=top\n", { "centre, left or right" } },
  { "[tool]\nid=b\nkind=form-tool\nnominal_profile=\n", { "[tool] nominal_profile" } },
  { "this is no card\n", { "not a tool card" } },
};

static void
test_names_what_is_wrong (void **state)
{
  for (gsize i = 0; i < G_N_ELEMENTS (bad_cards); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsToolCard) card = load (*state, bad_cards[i].text, &error);
    if (card != NULL)
      fail_msg ("took this card:\n%s", bad_cards[i].text);
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, "a.tool");
    for (int part = 0; part < 3 && bad_cards[i].parts[part] != NULL; part++)
      assert_contains (error->message, bad_cards[i].parts[part]);
    assert_lacks (error->message, "\n");
  }
}

static void
test_refuses_what_is_no_text (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  g_autofree char *long_text = g_strnfill (100000, '#');
  assert_null (load (fixture, long_text, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  g_clear_error (&error);

  assert_true (g_file_set_contents (fixture->path, HEAD "\0x", sizeof HEAD + 1, NULL));
  assert_null (ws_tool_card_load (fixture->path, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
}

static void
test_a_missing_card_is_no_input (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  assert_null (ws_tool_card_load ("/nonexistent/a.tool", &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  g_clear_error (&error);
  assert_null (ws_tool_card_load (fixture->folder, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_reads_a_card),
    cmocka_unit_test (test_reads_what_is_required),
    cmocka_unit_test (test_reads_inches),
    cmocka_unit_test (test_refuses_doubtful_units),
    cmocka_unit_test (test_reads_other_kinds),
    cmocka_unit_test (test_reads_what_a_blade_is_for),
    cmocka_unit_test (test_reads_form_tools),
    cmocka_unit_test (test_names_what_is_wrong),
    cmocka_unit_test (test_refuses_what_is_no_text),
    cmocka_unit_test (test_a_missing_card_is_no_input),
  };
  return cmocka_run_group_tests (tests, set_up, file_tear_down);
}
