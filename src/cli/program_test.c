#include "cli/program_for_tests.h"

#include <jansson.h>

static void
test_help_and_version (void **state)
{
  (void)state;
  g_auto (Run) help = run ("--help", NULL);
  assert_int_equal (help.status, 0);
  assert_contains (help.out, "measure");
  assert_contains (help.out, "views");
  g_auto (Run) version = run ("--version", NULL);
  assert_int_equal (version.status, 0);
  assert_string_equal (version.out, "whetsight " WS_VERSION "\n");
  g_auto (Run) measure = run ("measure", "--help", NULL);
  assert_int_equal (measure.status, 0);
  assert_contains (measure.out, "--scale=MM_PER_PX");
  g_auto (Run) views = run ("views", NULL);
  assert_int_equal (views.status, 0);
  assert_contains (views.out, "drill-side");
  assert_contains (views.out, "point_angle_deg");
}

static void
test_wrong_calls (void **state)
{
  const Fixture *fixture = *state;
  const char *good = fixture->good;
  const struct
  {
    const char *arguments[6];
    const char *said;
  } calls[] = {
    { { NULL }, "name a verb" },
    { { "mesure", good }, "did you mean measure?" },
    { { "frobnicate" }, "no verb" },
    { { "views", "x" }, "no arguments" },
    { { "views", "--x" }, "--x" },
    { { "measure" }, "at least one picture" },
    { { "measure", "--nonsense", good }, "--nonsense" },
    { { "measure", "--scale", "0", good }, "--scale" },
    { { "measure", "--scale", "-1", good }, "--scale" },
    { { "measure", "--scale", "0,01", good }, "decimal point" },
    { { "measure", "--scale", "nan", good }, "--scale" },
    { { "measure", "--scale", "1e999", good }, "--scale" },
    { { "measure", "--scale", "70", good }, "larger than 1 mm or smaller than 0.0001 mm" },
    { { "measure", "--scale", "0.00001", good }, "larger than 1 mm or smaller than 0.0001 mm" },
    { { "measure", "--scale-u", "0.001", good }, "--scale-u" },
    { { "measure", "--fixture-direction-u", "0.1", good }, "with --fixture-direction only" },
    { { "measure", "--lens-distortion", "0", good }, "--lens-distortion: expected a number of" },
    { { "measure", "--lens-distortion", "21", good }, "--lens-distortion: expected a number of" },
    { { "measure", "--lens-distortion", "0.1", "--calib", "x.calib", good }, "--calib tells it" },
    { { "measure", "--known-diameter-u", "0.001", good }, "with --known-diameter only" },
    { { "measure", "--known-width-u", "0.001", good }, "with --known-width only" },
    { { "measure", "--scale", "0.01", "--known-diameter", "6", good }, "give one of --scale" },
    { { "measure", "--known-diameter", "31918", good }, "200 at most" },
    { { "measure", "--known-width", "6", good }, "drill-side doesn't show it" },
    { { "measure", "--scale", "1/3", good }, "or inches such as 1/4" },
    { { "card", "--size", "6.5" }, "--kind: expected one of" },
    { { "card", "--kind", "twist-drill" }, "--size: expected a size" },
    { { "card", "--kind", "twist-drill", "--size", "#81" }, "found \"#81\"" },
    { { "card", "--kind", "form-tool", "--hand", "left" }, "a form-tool has none" },
    { { "measure", "--plan", "/nonexistent.csv", good }, "names the pictures" },
    { { "measure", "--plan", "a.csv", "--tool", "b.tool" }, "leave --tool and --view" },
    { { "measure", "--plan", "a.csv", "--known-width", "3" }, "known_width" },
    { { "measure", "--max-megapixels", "many", good }, "--max-megapixels" },
    { { "measure", "--view", "drill-sid", good }, "did you mean drill-side?" },
    { { "measure", "--view", "zzz", good }, "no view" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
  {
    const char *const *a = calls[i].arguments;
    g_auto (Run) wrong = run (a[0], a[1], a[2], a[3], a[4], a[5], NULL);
    if (wrong.status != 64)
      fail_msg ("call %zu: status %d", i, wrong.status);
    assert_contains (wrong.err, calls[i].said);
    assert_int_equal (count_lines (wrong.err), 1);
    assert_string_equal (wrong.out, "");
  }
}

static void
test_bad_cards (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *slip = write_card (fixture, "slip.tool", "point_angel_deg = 116 .. 120\n");
  g_auto (Run) unknown = run ("measure", "--tool", slip, fixture->good, NULL);
  assert_int_equal (unknown.status, 65);
  assert_contains (unknown.err, "[limits] point_angel_deg");
  assert_contains (unknown.err, "did you mean point_angle_deg?");
  g_auto (Run) missing = run ("measure", "--tool", "/nonexistent/a.tool", fixture->good, NULL);
  assert_int_equal (missing.status, 66);

  g_autofree char *blade = file_in (fixture, "blade.tool");
  g_file_set_contents (blade, "[tool]\nid = b\nkind = cutoff-blade\n", -1, NULL);
  g_auto (Run) no_view =
    run ("measure", "--tool", blade, "--view", "drill-side", fixture->good, NULL);
  assert_int_equal (no_view.status, 64);
}

static void
test_verdicts_as_statuses (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  const struct
  {
    const char *limits;
    int status;
    const char *word;
  } cases[] = { { "point_angle_deg = 110 .. 126\n", 0, "A C C E P T" },
                { "point_angle_deg = 119 .. 125\n", 1, "R E J E C T" },
                { "point_angle_deg = 117.999 .. 118.001\n", 2, "U N D E C I D E D" } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *card = write_card (fixture, "case.tool", cases[i].limits);
    g_auto (Run) measured = run ("measure", "--tool", card, "--scale", scale, fixture->good, NULL);
    assert_contains (measured.out, cases[i].word);
    assert_int_equal (measured.status, cases[i].status);
    assert_string_equal (measured.err, "");
  }
  g_auto (Run) retake = run ("measure", fixture->blank, NULL);
  assert_int_equal (retake.status, 3);
  assert_contains (retake.out, "R E T A K E");
}

/* A card to begin with judges as the built-in limits do, and is never written over another. */
static void
test_a_card_to_begin_with (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *path = file_in (fixture, "QT-D-0009.tool");
  g_autofree char *plain = file_in (fixture, "plain.tool");
  assert_true (g_file_set_contents (
    plain, "[tool]\nid = QT-D-0009\nkind = twist-drill\ndiameter_mm = 10\n", -1, NULL));
  g_auto (Run) written = run ("card", "--kind", "twist-drill", "--size", "10 mm", path, NULL);
  assert_int_equal (written.status, 0);
  g_auto (Run) ours = run ("measure", "--tool", path, "--scale", scale, fixture->good, NULL);
  g_auto (Run) theirs = run ("measure", "--tool", plain, "--scale", scale, fixture->good, NULL);
  assert_int_equal (ours.status, theirs.status);
  assert_true (g_str_has_prefix (ours.out, "==== "));
  assert_memory_equal (ours.out, theirs.out, 40);
  assert_contains (ours.out, "QT-D-0009");
  g_auto (Run) again = run ("card", "--kind", "twist-drill", "--size", "10 mm", path, NULL);
  assert_int_equal (again.status, 73);
  assert_contains (again.err, "is there already");
  g_auto (Run) printed = run ("card", "--kind", "spot-drill", "--size", "1/4", NULL);
  assert_contains (printed.out, "\ndiameter = 1/4\n");
}

/* The same in inches as in millimetres. */
static void
test_inches (void **state)
{
  const Fixture *fixture = *state;
  char inches[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd (inches, sizeof inches, "%.14g in", good_scale / 25.4);
  g_autofree char *scale = scale_text ();
  g_auto (Run) ours = run ("measure", "--json", "--scale", inches, fixture->good, NULL);
  g_auto (Run) theirs = run ("measure", "--json", "--scale", scale, fixture->good, NULL);
  assert_int_equal (ours.status, theirs.status);
  const char *from = strstr (ours.out, "\"quantities\""),
             *also = strstr (theirs.out, "\"quantities\"");
  assert_memory_equal (from, also, 200);
  g_auto (Run) explained =
    run ("explain", "centre-height", "--diameter", "1/2 in", "--error", "0.01 in", NULL);
  g_auto (Run) metric =
    run ("explain", "centre-height", "--diameter", "12.7", "--error", "0.254", NULL);
  assert_int_equal (explained.status, 0);
  assert_string_equal (explained.out, metric.out);
  g_auto (Run) told = run ("explain", "centre-height", "--units", "in", "--diameter", "1/2",
                           "--error", "0.01 in", NULL);
  assert_contains (told.out, "0.5 in, edge 0.01 in above centre");
  assert_contains (told.out, "->   0.01000 ");
  assert_lacks (told.out, " mm");
}

/* What people read is in inches; the record is not. */
static void
test_units_for_people (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *config = file_in (fixture, "whetsight");
  g_autofree char *settings = g_build_filename (config, "whetsight.conf", NULL);
  g_auto (Run) inches =
    run ("measure", "-d", "--units", "in", "--scale", scale, fixture->good, NULL);
  assert_contains (inches.out, "  in  ");
  assert_lacks (inches.out, "  mm  ");
  assert_lacks (inches.out, "_mm");
  g_auto (Run) record =
    run ("measure", "--json", "--units", "in", "--scale", scale, fixture->good, NULL);
  assert_contains (record.out, "lip_length_a_mm");
  assert_lacks (record.out, "_in\"");

  g_autofree char *before = g_strdup (g_getenv ("XDG_CONFIG_HOME"));
  assert_int_equal (g_mkdir_with_parents (config, 0700), 0);
  assert_true (g_file_set_contents (settings, "[show]\nunits = both\n", -1, NULL));
  g_setenv ("XDG_CONFIG_HOME", fixture->folder, TRUE);
  g_auto (Run) both = run ("measure", "-d", "--scale", scale, fixture->good, NULL);
  assert_true (g_file_set_contents (settings, "[show]\nunist = both\n", -1, NULL));
  g_auto (Run) slip = run ("measure", "-d", "--scale", scale, fixture->good, NULL);
  if (before != NULL)
    g_setenv ("XDG_CONFIG_HOME", before, TRUE);
  else
    g_unsetenv ("XDG_CONFIG_HOME");
  assert_contains (both.out, "  in  ");
  assert_contains (both.out, "  mm  ");
  assert_int_equal (slip.status, 65);
  assert_contains (slip.err, "no such setting");
}

/* A screen: the verdict first, what to do before the numbers, and one line to spare. */
static void
test_a_text_fits_a_screen (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *card = write_card (fixture, "screen.tool", "point_angle_deg = 110 .. 126\n");
  g_auto (Run) measured = run ("measure", "--tool", card, "--scale", scale, fixture->good, NULL);
  assert_true (count_lines (measured.out) <= 23);
  assert_true (g_str_has_prefix (measured.out, "==== A C C E P T "));
  assert_true (strstr (measured.out, "What to do:") < strstr (measured.out, "Quantity"));
  assert_null (strstr (measured.out, "Camera"));
  g_auto (Run) all =
    run ("measure", "--details", "--tool", card, "--scale", scale, fixture->good, NULL);
  assert_contains (all.out, "Camera    not calibrated");
  assert_contains (all.out, "Inside  Verdict");
  assert_contains (all.out, "[1] ");
}

/* A line each, in their order, then how many of what. */
static void
test_several_pictures_are_told_in_lines (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *card = write_card (fixture, "lines.tool", "point_angle_deg = 119 .. 125\n");
  g_auto (Run) both =
    run ("measure", "--tool", card, "--scale", scale, fixture->good, fixture->blank, NULL);
  assert_int_equal (both.status, 3);
  assert_int_equal (count_lines (both.out), 2);
  assert_true (g_str_has_prefix (both.out, "reject     good.png: Outside the limits: "));
  assert_contains (both.out, "\nretake     blank.png: ");
  assert_contains (both.err,
                   "2 pictures: 0 accept, 1 reject, 0 undecided, 1 retake, 0 with errors");
}

/* Without a card, or without a scale, there is nothing to accept a tool by. */
static void
test_what_is_not_judged_is_not_accepted (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *card = write_card (fixture, "unjudged.tool", "");
  g_auto (Run) no_card =
    run ("measure", "--view", "drill-side", fixture->good, fixture->good, NULL);
  assert_int_equal (no_card.status, 2);
  assert_contains (no_card.err, "2 pictures: 0 accept, 0 reject, 2 undecided, 0 retake, 0 with "
                                "errors; 2 measured, but not judged");
  g_auto (Run) no_scale = run ("measure", "--tool", card, fixture->good, fixture->blank, NULL);
  assert_int_equal (no_scale.status, 3);
  assert_contains (no_scale.err, "2 pictures: 0 accept, 0 reject, 1 undecided, 1 retake, 0 with "
                                 "errors; 1 measured, but not judged");
}

static json_t *
parse_line (const char *line)
{
  json_t *record = json_loads (line, JSON_REJECT_DUPLICATES, NULL);
  assert_non_null (record);
  return record;
}

static const char *
reason_of (const json_t *record)
{
  return json_string_value (json_object_get (record, "reason"));
}

static void
test_a_batch_goes_on (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) batch = run ("measure", "--json", "/nonexistent.png", fixture->broken,
                            fixture->blank, fixture->good, NULL);
  assert_int_equal (batch.status, 66);
  assert_int_equal (count_lines (batch.err), 2);
  assert_contains (batch.err, "/nonexistent.png");
  assert_contains (batch.err, "broken.png");

  g_auto (GStrv) lines = g_strsplit (g_strchomp (batch.out), "\n", -1);
  assert_int_equal (g_strv_length (lines), 3);
  json_t *broken = parse_line (lines[0]);
  json_t *blank = parse_line (lines[1]);
  json_t *good = parse_line (lines[2]);
  assert_string_equal (reason_of (broken), "not-an-image");
  assert_string_equal (json_string_value (json_object_get (blank, "verdict")), "retake");
  assert_string_equal (reason_of (good), "not-judged");
  const json_t *image = json_object_get (broken, "image");
  const char *sha256 = json_string_value (json_object_get (image, "sha256"));
  assert_int_equal (strlen (sha256), 64);
  assert_true (json_is_null (json_object_get (image, "width")));
  assert_memory_equal (strchr (json_string_value (json_object_get (broken, "id")), '-') + 1, sha256,
                       8);
  json_decref (broken);
  json_decref (blank);
  json_decref (good);
}

static void
test_unusable_pictures (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) broken = run ("measure", fixture->broken, NULL);
  assert_int_equal (broken.status, 65);
  assert_string_equal (broken.out, "");
  assert_int_equal (count_lines (broken.err), 1);
  g_auto (Run) large = run ("measure", "--json", "--max-megapixels", "0.1", fixture->good, NULL);
  assert_int_equal (large.status, 65);
  json_t *record = parse_line (large.out);
  assert_string_equal (reason_of (record), "too-large");
  json_decref (record);
}

static void
test_output_files (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *out = g_build_filename (fixture->folder, "deep", "er", NULL);
  g_autofree char *picture = g_build_filename (out, "good.annotated.png", NULL);
  g_autofree char *record_path = g_build_filename (out, "good.record.json", NULL);
  g_autofree char *broken_record = g_build_filename (out, "broken.record.json", NULL);
  g_autofree char *broken_picture = g_build_filename (out, "broken.annotated.png", NULL);
  g_auto (Run) measured =
    run ("measure", "--json", "--out", out, fixture->good, fixture->broken, NULL);
  assert_int_equal (measured.status, 65);
  assert_true (g_file_test (picture, G_FILE_TEST_IS_REGULAR));
  assert_true (g_file_test (broken_record, G_FILE_TEST_IS_REGULAR));
  assert_false (g_file_test (broken_picture, G_FILE_TEST_EXISTS));
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (record_path, &text, NULL, NULL));
  assert_true (g_str_has_prefix (measured.out, text));
}

static void
test_nothing_is_overwritten (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *other = file_in (fixture, "good.jpg");
  g_autofree char *named_alike = file_in (fixture, "good.annotated.png");
  g_auto (Run) twice = run ("measure", "--out", fixture->folder, fixture->good, other, NULL);
  assert_int_equal (twice.status, 64);
  assert_contains (twice.err, "good.jpg");
  assert_string_equal (twice.out, "");
  g_auto (Run) input = run ("measure", "--out", fixture->folder, fixture->good, named_alike, NULL);
  assert_int_equal (input.status, 64);
  assert_contains (input.err, "overwrite");
}

static void
test_a_folder_that_cannot_be_written (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *out = g_build_filename (fixture->good, "below", NULL);
  g_auto (Run) measured = run ("measure", "--out", out, fixture->good, NULL);
  assert_int_equal (measured.status, 73);
  assert_contains (measured.err, out);
}

/* d = asin (2 h / D) by hand: 1.910 degrees for 0.2 mm on 12 mm. */
static void
test_explain_centre_height (void **state)
{
  (void)state;
  g_auto (Run) above = run ("explain", "centre-height", "--diameter", "12", "--error", "0.2",
                            "--rake", "5", "--relief", "10", NULL);
  assert_int_equal (above.status, 0);
  assert_contains (above.out, "6.910 deg as it cuts");
  assert_contains (above.out, "8.090 deg as it cuts");
  assert_contains (above.out, "Lock the machine out");
  g_auto (Run) below =
    run ("explain", "centre-height", "--diameter", "12", "--error", "-0.2", NULL);
  assert_contains (below.out, "11.910 deg as it cuts");
  assert_contains (above.out, "work diameter 12 mm");
  assert_contains (above.out, "a pip of 2 h = 0.4 mm");
  g_auto (Run) misses = run ("explain", "centre-height", "--diameter", "12", "--error", "7", NULL);
  assert_int_equal (misses.status, 64);
  g_auto (Run) unknown = run ("explain", "centre-hight", NULL);
  assert_int_equal (unknown.status, 64);
  assert_contains (unknown.err, "did you mean centre-height?");
}

/* 5 tan 1.5 deg and arcsin (0.5 / 10), worked by hand in tool/set_out/clearance_test.c. */
static void
test_explain_clearance (void **state)
{
  (void)state;
  g_auto (Run) told =
    run ("explain", "clearance", "--diameter", "20", "--bore", "10", "--side-clearance", "1.5",
         "--overhang", "8", "--height", "10", "--centre-height", "0.5", NULL);
  assert_int_equal (told.status, 0);
  assert_contains (told.out, "each side stands off by 0.131 mm");
  assert_contains (told.out, "at the outside: 7.13 deg");
  assert_contains (told.out, "Below 5.76 mm the heel rubs");
  assert_contains (told.out, "Between holder and part 3 mm are left");
  assert_contains (told.out, "Lock the machine out");
  g_auto (Run) rubs =
    run ("explain", "clearance", "--diameter", "20", "--side-clearance", "0", NULL);
  assert_contains (rubs.out, "Its sides RUB");
  g_auto (Run) hollow =
    run ("explain", "clearance", "--diameter", "20", "--bore", "20", "--side-clearance", "1", NULL);
  assert_int_equal (hollow.status, 64);
  assert_contains (hollow.err, "leaves nothing of a part");
  g_auto (Run) silent = run ("explain", "clearance", NULL);
  assert_int_equal (silent.status, 64);
}

static void
test_aim_looks_once (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) picture = run ("aim", "--once", fixture->good, NULL);
  assert_int_equal (picture.status, 0);
  assert_contains (picture.out, "good.png");
  assert_contains (picture.out, " deg (+- ");
  g_auto (Run) blank = run ("aim", "--once", fixture->blank, NULL);
  assert_int_equal (blank.status, 0);
  assert_lacks (blank.out, " deg (+- ");
  assert_contains (blank.out, "no tool: put it before the light");
  g_auto (Run) missing = run ("aim", "--once", "no-such-place", NULL);
  assert_int_equal (missing.status, 66);
  g_auto (Run) broken = run ("aim", "--once", fixture->broken, NULL);
  assert_int_equal (broken.status, 65);
  g_auto (Run) two = run ("aim", fixture->good, fixture->good, NULL);
  assert_int_equal (two.status, 64);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_aim_looks_once),
    cmocka_unit_test (test_help_and_version),
    cmocka_unit_test (test_wrong_calls),
    cmocka_unit_test (test_explain_centre_height),
    cmocka_unit_test (test_explain_clearance),
    cmocka_unit_test (test_bad_cards),
    cmocka_unit_test (test_verdicts_as_statuses),
    cmocka_unit_test (test_a_card_to_begin_with),
    cmocka_unit_test (test_inches),
    cmocka_unit_test (test_units_for_people),
    cmocka_unit_test (test_a_text_fits_a_screen),
    cmocka_unit_test (test_several_pictures_are_told_in_lines),
    cmocka_unit_test (test_what_is_not_judged_is_not_accepted),
    cmocka_unit_test (test_a_batch_goes_on),
    cmocka_unit_test (test_unusable_pictures),
    cmocka_unit_test (test_output_files),
    cmocka_unit_test (test_nothing_is_overwritten),
    cmocka_unit_test (test_a_folder_that_cannot_be_written),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
