#include <string.h>

#include "report/sample_for_tests.h"

#include "optics/calibration.h"
#include "result/build.h"

static char *
screen (const Sample *sample)
{
  return ws_report_text (&sample->report, WS_TEXT_SCREEN);
}

static char *
details (const Sample *sample)
{
  return ws_report_text (&sample->report, WS_TEXT_DETAILS);
}

static gsize
count_lines (const char *text)
{
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  return g_strv_length (lines) - 1;
}

/* What to do comes before what was measured; a built-in limit is known from the card's. */
static void
test_a_screen (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *text = screen (sample);
  assert_string_equal (
    text, "==== R E J E C T ==== QT-D-0118 · twist-drill 6.5 mm ==========================\n"
          "Regrind. Outside the limits: point angle.\n"
          "Picture: drill.png, drill-side, 2026-11-25 10:15:02 UTC\n"
          "What to do:\n"
          "- Grind lip a 1.5° sharper.\n"
          "Take care: Wear eye protection.\n"
          "\n"
          "Quantity            Value     ± U  Unit  Limits          Verdict\n"
          "Point angle       121.457   0.022  deg   116 .. 120      reject\n"
          "Half angle a       60.700   0.012  deg                   -\n"
          "Diameter           6.4912  0.0042  mm    6.478 .. 6.5 *  accept\n"
          "Chip depth a       0.0000  0.0042  mm    .. 0.065 *      accept\n"
          "Turn of the lips  unknown          deg                   -\n"
          "* built in. More with --details.\n");
}

/* A quantity of its own name, unlimited, accepted or rejected. */
static void
add (Sample *sample, const char *label, WsVerdict verdict)
{
  WsQuantityInfo *info = g_new (WsQuantityInfo, 1);
  *info = (WsQuantityInfo){ "more", WS_UNIT_DEGREE, NULL, label, "" };
  WsQuantity *quantity = wsi_result_add_quantity (sample->result, info, TRUE);
  sample_set (quantity, 1, 0.1, verdict);
  if (verdict != WS_VERDICT_NONE)
    sample_limit (quantity, 0, verdict == WS_VERDICT_REJECT ? 0.5 : 2, "tool card");
}

static void
drop_infos (Sample *sample)
{
  for (guint i = 5; i < sample->result->quantities->len; i++)
    g_free ((gpointer)((WsQuantity *)g_ptr_array_index (sample->result->quantities, i))->info);
}

/* What doesn't fit is counted: first what has no limits goes, then what is accepted, and the view's
 * order stays. */
static void
test_a_screen_that_is_too_full (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  for (int i = 0; i < 6; i++)
    add (sample, "Free", WS_VERDICT_NONE);
  for (int i = 0; i < 12; i++)
    add (sample, "Good", WS_VERDICT_ACCEPT);
  add (sample, "Last", WS_VERDICT_REJECT);
  g_autofree char *text = screen (sample);
  assert_int_equal (count_lines (text), 23);
  assert_contains (text, "\nPoint angle   121.457");
  assert_contains (text, "\nLast             1.00");
  assert_contains (text, "\nDiameter       6.4912");
  assert_lacks (text, "Half angle a");
  assert_lacks (text, "Free");
  assert_true (strstr (text, "\nDiameter") < strstr (text, "\nGood"));
  assert_true (strstr (text, "\nGood") < strstr (text, "\nLast"));
  assert_true (g_str_has_suffix (text, "\n* built in. More with --details: 2 "
                                       "accepted, 8 without limit.\n"));
  drop_infos (sample);
}

/* However much there is to do, it is said, and two of what is wrong are shown. */
static void
test_long_advice (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  for (int i = 0; i < 20; i++)
    g_ptr_array_add (sample->result->advice, g_strdup ("Measure again."));
  for (int i = 0; i < 4; i++)
    add (sample, "Bad", WS_VERDICT_REJECT);
  g_autofree char *text = screen (sample);
  assert_int_equal (count_lines (text), 4 + 21 + 1 + 3 + 1);
  assert_true (g_str_has_suffix (
    text, "\nMore with --details: 3 not accepted, 2 accepted, 2 without limit.\n"));
  drop_infos (sample);
}

/* Cautions are told in one line before what is wrong with the tool would find no room. */
static void
test_cautions_make_room (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  sample->result->work = WS_WORK_GRIND;
  g_ptr_array_set_size (sample->result->advice, 0);
  for (int i = 0; i < 14; i++)
    g_ptr_array_add (sample->result->advice, g_strdup ("Measure again."));
  g_ptr_array_add (sample->result->cautions, g_strnfill (70, 'c'));
  g_autofree char *full = screen (sample);
  assert_int_equal (count_lines (full), 23);
  assert_contains (full, "\nTake care: Wear eye protection.");
  assert_contains (full, "cccc\nQuantity");
  g_ptr_array_add (sample->result->advice, g_strdup ("Measure again."));
  g_autofree char *few = screen (sample);
  assert_int_equal (count_lines (few), 23);
  assert_contains (few,
                   "\nTake care: eye protection, guards, sharp edges; local rules come first.");
  g_autofree char *all = details (sample);
  assert_contains (all, "\nTake care: Wear eye protection.");
}

/* What one must know of the camera before one believes the verdict. */
static void
test_a_screen_says_what_is_wrong_with_the_camera (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("pin", "bench");
  WsCalibrationUse use = { .calibration = calibration, .expired = TRUE, .check = "never" };
  g_autofree char *no_scale = screen (sample);
  assert_contains (no_scale, "UTC, no scale\n");
  sample->report.optics = NULL;
  g_autofree char *no_optics = screen (sample);
  assert_contains (no_optics, "UTC, no scale\n");
  sample->optics.has_scale = TRUE;
  sample->report.optics = &sample->optics;
  sample->report.calibration = &use;
  g_autofree char *expired = screen (sample);
  assert_contains (expired, "UTC, calibration EXPIRED\n");
  use.expired = FALSE;
  use.check_ignored = TRUE;
  g_autofree char *ignored = screen (sample);
  assert_contains (ignored, "UTC, failed check not\n  counted\n");
}

/* One of many pictures: verdict, name, reason; a retake's in short. */
static void
test_a_line (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *reject = ws_report_line (&sample->report);
  assert_string_equal (reject, "reject     drill.png: Outside the limits: point angle.");
  sample->result->verdict = WS_VERDICT_NONE;
  g_autofree char *none = ws_report_line (&sample->report);
  assert_string_equal (none,
                       "no limits  drill.png: Measured, but there are no limits to judge by.");
  wsi_result_retake (sample->result, WS_RETAKE_OUT_OF_FOCUS, "edge blur %d px", 14);
  g_autofree char *blurred = ws_report_line (&sample->report);
  assert_string_equal (blurred, "retake     drill.png: out-of-focus, edge blur 14 px");
  g_clear_pointer (&sample->result->detail, g_free);
  g_autofree char *bare = ws_report_line (&sample->report);
  assert_string_equal (bare, "retake     drill.png: out-of-focus");
}

static void
test_long_lines_are_broken (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  GString *words = g_string_new (NULL);
  for (int i = 0; i < 40; i++)
    g_string_append (words, "grind ");
  g_ptr_array_add (sample->result->advice, g_string_free (words, FALSE));
  g_autofree char *text = screen (sample);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  for (gsize i = 0; lines[i] != NULL; i++)
    assert_in_range (g_utf8_strlen (lines[i], -1), 0, 79);
  assert_contains (text, "\n  grind grind");
}

static void
test_without_a_card_and_a_scale (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  g_clear_pointer (&sample->card->id, g_free);
  sample->card->diameter_mm = NAN;
  wsi_result_hold (sample->result, WS_HOLD_TOOL, "not-judged", "Not judged: lengths.");
  sample->result->verdict = WS_VERDICT_UNDECIDED;
  g_autofree char *text = details (sample);
  assert_contains (text, "==== U N D E C I D E D ==== twist-drill ====");
  assert_contains (text, "Measure again. Not judged: lengths.\n");
  assert_contains (text, "none given; lengths in px");
  assert_contains (text, "They are built in for a\ntwist-drill:");
  assert_contains (text, "not from a tool card");
}

static void
test_a_scale_without_uncertainty_says_so (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  sample->optics.u_mm_per_px = 0.0;
  g_autofree char *text = details (sample);
  assert_contains (text, "0.0125 mm a pixel, taken as exact");
}

static void
test_retake_says_what_to_change (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_OUT_OF_FOCUS, "edge blur %d px", 14);
  g_autofree char *text = g_strdelimit (details (sample), "\n", ' ');
  assert_contains (text, "R E T A K E");
  assert_contains (text, ws_retake_sentence (WS_RETAKE_OUT_OF_FOCUS));
  assert_contains (text, "Seen: edge blur 14 px");
  assert_lacks (text, "Quantity");
  assert_lacks (text, "Take care");
}

static void
test_every_verdict_has_words (void **state)
{
  (void)state;
  static const char *const words[] = { "N O   L I M I T S", "A C C E P T", "U N D E C I D E D",
                                       "R E J E C T" };
  g_autoptr (Sample) sample = sample_new (TRUE);
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    sample->result->verdict = (WsVerdict)verdict;
    g_autofree char *text = details (sample);
    assert_contains (text, words[verdict]);
  }
}

static void
test_a_card_limit_that_cannot_be_checked (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  WsQuantity *diameter = g_ptr_array_index (sample->result->quantities, 2);
  sample_limit (diameter, -INFINITY, INFINITY, "tool card");
  diameter->verdict = WS_VERDICT_UNDECIDED;
  g_autofree char *text = details (sample);
  assert_contains (text, "px    on the card");
}

/* Never said to be less than it is. */
static void
test_the_smallest_seen_is_rounded_up (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  WsQuantity *chip = g_ptr_array_index (sample->result->quantities, 3);
  g_autofree char *before = details (sample);
  assert_null (strstr (before, "Smallest seen"));
  wsi_quantity_set_smallest_seen (chip, 2.401, &sample->optics);
  g_autofree char *text = details (sample);
  assert_contains (text, "\nSmallest seen: Chip depth a 0.031 mm. What is smaller doesn't show");
  chip->shown = WS_UNITS_IN;
  g_autofree char *inches = details (sample);
  assert_contains (inches, "Chip depth a 0.0012 in.");
}

/* All of it. */
static void
test_the_whole (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  WsQuantity *half = g_ptr_array_index (sample->result->quantities, 1);
  sample_limit (half, 58.0, INFINITY, "common practice, no source");
  half->verdict = WS_VERDICT_ACCEPT;
  g_autofree char *text = details (sample);
  assert_string_equal (
    text, "==== R E J E C T ==== QT-D-0118 · twist-drill 6.5 mm ==========================\n"
          "Regrind. Outside the limits: point angle.\n"
          "Picture: drill.png, drill-side, 2026-11-25 10:15:02 UTC\n"
          "What to do:\n"
          "- Grind lip a 1.5° sharper.\n"
          "Take care: Wear eye protection.\n"
          "\n"
          "Quantity            Value     ± U  Unit  Limits             Inside  Verdict\n"
          "Point angle       121.457   0.022  deg   116 .. 120         <0.1 %  reject\n"
          "Half angle a       60.700   0.012  deg   58 .. [1]         >99.9 %  accept\n"
          "Diameter           6.4912  0.0042  mm    6.478 .. 6.5 [2]  >99.9 %  accept\n"
          "Chip depth a       0.0000  0.0042  mm    .. 0.065 [1]      >99.9 %  accept\n"
          "Turn of the lips  unknown          deg                              -\n"
          "U is the expanded uncertainty, k = 2. Inside is the probability that the true\n"
          "value lies inside the limits (JCGM 106).\n"
          "Limits with a number are not on the tool card. They are built in for a\n"
          "twist-drill:\n"
          "  [1] common practice, no source\n"
          "  [2] from memory, check your drawing\n"
          "\n"
          "What was found:\n"
          "- The point is too flat.\n"
          "- Lip a has a chip.\n"
          "\n"
          "Picture   drill.png (64 x 64 px)\n"
          "View      drill-side\n"
          "Scale     0.0125 mm a pixel, standard uncertainty 2e-06\n"
          "Camera    not calibrated: lens and perspective are not corrected\n"
          "Measured  2026-11-25 10:15:02 UTC\n"
          "Record    20261125T101502Z-1f0c9a3b\n");
}

/* A retake of a file that is no picture says nothing of scale and camera. */
static void
test_the_whole_of_a_retake (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_NOT_AN_IMAGE, "truncated");
  sample->report.image_width = sample->report.image_height = 0;
  g_autofree char *text = details (sample);
  assert_true (g_str_has_prefix (text, "==== R E T A K E ==== QT-D-0118"));
  assert_true (g_str_has_suffix (text, "\nSeen: truncated\n"
                                       "Picture: drill.png, drill-side, 2026-11-25 10:15:02 UTC\n"
                                       "\n"
                                       "Picture   drill.png\n"
                                       "View      drill-side\n"
                                       "Measured  2026-11-25 10:15:02 UTC\n"
                                       "Record    20261125T101502Z-1f0c9a3b\n"));
}

/* The rule fills a line of 79; a longer one still ends in a rule. */
static void
test_rules_fill_the_line (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_free (sample->card->id);
  sample->card->id = g_strnfill (60, 'x');
  g_autofree char *text = screen (sample);
  g_auto (GStrv) lines = g_strsplit (text, "\n", 2);
  assert_true (g_str_has_suffix (lines[0], "x · twist-drill 6.5 mm ===="));
}

/* Behind a bullet of two there is room for 77 columns: two words of 36 and 40 and the space
 * between them; one more doesn't fit.  Columns are letters, not bytes. */
static void
test_lines_are_filled (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *most = g_strnfill (36, 'm');
  GString *degrees = g_string_new (NULL);
  for (guint i = 0; i < 40; i++)
    g_string_append (degrees, "°");
  g_ptr_array_add (sample->result->advice, g_strdup_printf ("%s %s a", most, degrees->str));
  g_ptr_array_add (sample->result->advice, g_strdup_printf ("%s %sn", most, degrees->str));
  g_autofree char *full = g_strdup_printf ("\n- %s %s\n  a\n", most, degrees->str);
  g_autofree char *broken = g_strdup_printf ("\n- %s\n  %sn\n", most, degrees->str);
  g_autofree char *text = screen (sample);
  assert_contains (text, full);
  assert_contains (text, broken);
  g_string_free (degrees, TRUE);

  /* "Seen: " takes six, the lines after it two. */
  g_autofree char *first = g_strnfill (73, 'm');
  g_autofree char *second = g_strnfill (77, 'm');
  g_clear_pointer (&sample->result->detail, g_free);
  sample->result->detail = g_strdup_printf ("%s %s a", first, second);
  g_autofree char *seen = g_strdup_printf ("\nSeen: %s\n  %s\n  a\n", first, second);
  g_autofree char *with = screen (sample);
  assert_contains (with, seen);
}

static void
assert_camera (Sample *sample, const char *lines)
{
  g_autofree char *all = g_strconcat ("standard uncertainty 2e-06\n", lines, "Measured  ", NULL);
  g_autofree char *text = details (sample);
  assert_contains (text, all);
}

static void
test_the_camera (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("pin", "bench");
  WsCalibrationUse use = { .calibration = calibration, .check = "never" };
  g_free (calibration->id);
  calibration->id = g_strdup ("20261101T080000Z-396c459d");

  sample->result->perspective_undone = TRUE;
  assert_camera (sample, "Camera    not calibrated: the lens is not corrected; perspective is, by "
                         "the tool's outline\n");
  sample->report.calibration = &use;
  assert_camera (sample, "Camera    bench, calibration 20261101T080000Z-396c459d\n"
                         "Check     never; see whetsight verify\n");
  calibration->expires = g_date_time_new_utc (2026, 11, 20, 8, 0, 0);
  assert_camera (sample, "Camera    bench, calibration 20261101T080000Z-396c459d, valid until "
                         "2026-11-20\n"
                         "Check     never; see whetsight verify\n");
  use.expired = TRUE;
  use.check = "failed";
  g_strlcpy (use.check_time, "2026-11-21T07:00:00Z", sizeof use.check_time);
  assert_camera (sample, "Camera    bench, calibration 20261101T080000Z-396c459d, EXPIRED "
                         "2026-11-20\n"
                         "Check     failed 2026-11-21 07:00:00 UTC\n");
  use.check_ignored = TRUE;
  assert_camera (sample, "Camera    bench, calibration 20261101T080000Z-396c459d, EXPIRED "
                         "2026-11-20\n"
                         "Check     failed 2026-11-21 07:00:00 UTC, not counted\n");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_screen),
    cmocka_unit_test (test_a_screen_that_is_too_full),
    cmocka_unit_test (test_long_advice),
    cmocka_unit_test (test_cautions_make_room),
    cmocka_unit_test (test_a_screen_says_what_is_wrong_with_the_camera),
    cmocka_unit_test (test_a_line),
    cmocka_unit_test (test_long_lines_are_broken),
    cmocka_unit_test (test_without_a_card_and_a_scale),
    cmocka_unit_test (test_a_scale_without_uncertainty_says_so),
    cmocka_unit_test (test_retake_says_what_to_change),
    cmocka_unit_test (test_every_verdict_has_words),
    cmocka_unit_test (test_a_card_limit_that_cannot_be_checked),
    cmocka_unit_test (test_the_smallest_seen_is_rounded_up),
    cmocka_unit_test (test_the_whole),
    cmocka_unit_test (test_the_whole_of_a_retake),
    cmocka_unit_test (test_rules_fill_the_line),
    cmocka_unit_test (test_lines_are_filled),
    cmocka_unit_test (test_the_camera),
  };
  g_setenv ("TZ", "UTC0", TRUE);
  return cmocka_run_group_tests (tests, NULL, NULL);
}
