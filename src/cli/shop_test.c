/*
 * The program as a shop uses it: cards, plans, inches, several views of a tool.
 */
#include "cli/program_for_tests.h"

/* A good side alone makes no good tool where the card asks for its end too. */
static void
test_views_of_one_tool (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *card = file_in (fixture, "views.tool"), *bad = file_in (fixture, "badview.tool");
  g_autofree char *archive = file_in (fixture, "archive");
  const char *head = "[tool]\nid = QT-D-0011\nkind = twist-drill\ndiameter_mm = 10\nviews = ";
  g_autofree char *text =
    g_strconcat (head, "drill-side, drill-end\n[limits]\ndiameter_mm = 9.9 .. 10.1\n", NULL);
  g_autofree char *bad_text = g_strconcat (head, "drill-sid\n", NULL);
  assert_true (g_file_set_contents (card, text, -1, NULL));
  assert_true (g_file_set_contents (bad, bad_text, -1, NULL));
  g_auto (Run) side =
    run ("measure", "--tool", card, "--scale", scale, "--archive", archive, fixture->good, NULL);
  assert_int_equal (side.status, 2);
  assert_contains (side.out, "Good in this view; the card asks for drill-end as well.");
  assert_lacks (side.out, "Ready to use");
  assert_contains (side.out,
                   "Tool QT-D-0011 is incomplete: drill-side accept, drill-end not measured.");
  g_auto (Run) list = run ("archive", "list", archive, NULL);
  assert_contains (list.out,
                   "Tool QT-D-0011 is incomplete: drill-side accept, drill-end not measured.");
  g_auto (Run) slip = run ("measure", "--tool", bad, fixture->good, NULL);
  assert_int_equal (slip.status, 65);
  assert_contains (slip.err, "did you mean drill-side?");
}

/* Two tools, each judged by its own card. */
static void
test_a_plan_of_several_tools (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *wide = write_card (fixture, "wide.tool", "point_angle_deg = 110 .. 126\n");
  assert_non_null (wide);
  g_autofree char *steep = write_card (fixture, "steep.tool", "point_angle_deg = 119 .. 125\n");
  assert_non_null (steep);
  g_autofree char *plan = file_in (fixture, "plan.csv");
  g_autofree char *text = g_strdup_printf ("picture,card,scale\r\ngood.png,wide.tool,%s\r\n"
                                           "good.png,steep.tool,%s\r\n",
                                           scale, scale);
  assert_true (g_file_set_contents (plan, text, -1, NULL));
  g_auto (Run) measured = run ("measure", "--plan", plan, NULL);
  assert_int_equal (measured.status, 1);
  assert_true (g_str_has_prefix (measured.out, "accept "));
  assert_contains (measured.out, "\nreject ");
  assert_contains (measured.err, "2 pictures: 1 accept, 1 reject");
}

/* What the archive shows of it is what the record says. */
static void
test_a_given_size_stays_given (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = file_in (fixture, "given");
  g_auto (Run) measured =
    run ("measure", "--known-diameter", "10", "--archive", archive, fixture->good, NULL);
  assert_true (measured.status <= 2);
  g_auto (Run) list = run ("archive", "list", archive, NULL);
  g_auto (GStrv) words = g_strsplit (list.out, " ", 2);
  g_auto (Run) show = run ("archive", "show", archive, words[0], NULL);
  assert_true (
    g_regex_match_simple ("\ndiameter_mm +10 +given\n", show.out, 0, (GRegexMatchFlags)0));
}

/* Each by its own words, and at the end how many aren't the card's tool. */
static void
test_a_batch_tells_of_mismatches (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *own = write_card (fixture, "own.tool", "point_angle_deg = 110 .. 126\n");
  assert_non_null (own);
  g_autofree char *plan = file_in (fixture, "mixed.csv"), *small = file_in (fixture, "small.tool");
  g_autofree char *text =
    g_strdup_printf ("picture,card,scale,known_diameter\ngood.png,own.tool,%s,\n"
                     "good.png,small.tool,%s,\ngood.png,small.tool,,10\n",
                     scale, scale);
  assert_true (g_file_set_contents (
    small, "[tool]\nid = QT-D-0012\nkind = twist-drill\ndiameter_mm = 5\n", -1, NULL));
  assert_true (g_file_set_contents (plan, text, -1, NULL));
  g_auto (Run) mixed = run ("measure", "--details", "--plan", plan, NULL);
  assert_int_equal (mixed.status, 2);
  assert_contains (mixed.out, "The picture shows a diameter of");
  assert_contains (mixed.out, "What was told is a diameter of 10.00 mm");
  assert_contains (mixed.err, "2 of them show another tool than the card's");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_views_of_one_tool),
    cmocka_unit_test (test_a_plan_of_several_tools),
    cmocka_unit_test (test_a_given_size_stays_given),
    cmocka_unit_test (test_a_batch_tells_of_mismatches),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
