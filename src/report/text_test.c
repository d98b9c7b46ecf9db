#include "report/sample_for_tests.h"

#include "optics/calibration.h"
#include "result/build.h"

static void
test_the_verdict_comes_first (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *text = ws_report_text (&sample->report);
  assert_true (g_str_has_prefix (text, "====================\n    R E J E C T\n"));
  assert_true (g_str_has_suffix (text, "\n"));
  assert_contains (text, "Outside the limits");
  assert_contains (text, "QT-D-0118 · twist-drill 6.5 mm");
  assert_contains (text, "drill.png (64 x 64 px)");
  assert_contains (text, "2026-11-25 10:15:02 UTC");
  assert_contains (text, "0.0125 mm a pixel, standard uncertainty 2e-06");
}

/* Values are rounded by their uncertainty. */
static void
test_the_table (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *text = ws_report_text (&sample->report);
  assert_contains (text,
                   "Quantity            Value     ± U  Unit  Limits             Inside  Verdict\n");
  assert_contains (text,
                   "Point angle       121.457   0.022  deg   116 .. 120         <0.1 %  reject\n");
  assert_contains (text, "Half angle a       60.700   0.012  deg                              -\n");
  assert_contains (text,
                   "Diameter           6.4912  0.0042  mm    6.478 .. 6.5 [1]  >99.9 %  accept\n");
  assert_contains (text,
                   "Chip depth a       0.0000  0.0042  mm    .. 0.065 [2]      >99.9 %  accept\n");
  assert_contains (text, "Turn of the lips  unknown          deg                              -\n");
  assert_contains (text, "[1] from memory, check your drawing\n");
  assert_contains (text, "[2] common practice, no source\n");
  assert_contains (text, "not on the tool card");
}

static void
test_the_rest (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *text = ws_report_text (&sample->report);
  assert_contains (text, "\nWhat was found\n  - The point is too flat.\n");
  assert_contains (text, "\nWhat to do\n  - Grind lip a 1.5° sharper.\n");
  assert_contains (text, "\nTake care\n  - Wear eye protection.\n");
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
  g_autofree char *text = ws_report_text (&sample->report);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  for (gsize i = 0; lines[i] != NULL; i++)
    assert_in_range (g_utf8_strlen (lines[i], -1), 0, 78);
  assert_contains (text, "\n    grind grind");
}

static void
test_without_a_card_and_a_scale (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  g_clear_pointer (&sample->card->id, g_free);
  sample->card->diameter_mm = NAN;
  sample->result->verdict = WS_VERDICT_ACCEPT;
  g_autofree char *text = ws_report_text (&sample->report);
  assert_contains (text, "A C C E P T  (angles only)");
  assert_contains (text, "Lengths were not judged: no scale.");
  assert_contains (text, "Tool      twist-drill\n");
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
  g_autofree char *text = ws_report_text (&sample->report);
  assert_contains (text, "0.0125 mm a pixel, taken as exact");
}

static void
test_retake_says_what_to_change (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_OUT_OF_FOCUS, "edge blur %d px", 14);
  g_autofree char *text = ws_report_text (&sample->report);
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
    g_autofree char *text = ws_report_text (&sample->report);
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
  g_autofree char *text = ws_report_text (&sample->report);
  assert_contains (text, "px    on the card");
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
  g_autofree char *text = ws_report_text (&sample->report);
  assert_string_equal (
    text, "====================\n"
          "    R E J E C T\n"
          "====================\n"
          "Outside the limits, beyond the uncertainty.\n"
          "\n"
          "Tool      QT-D-0118 · twist-drill 6.5 mm\n"
          "Picture   drill.png (64 x 64 px)\n"
          "View      drill-side\n"
          "Scale     0.0125 mm a pixel, standard uncertainty 2e-06\n"
          "Camera    not calibrated: lens and perspective are not corrected\n"
          "Measured  2026-11-25 10:15:02 UTC\n"
          "Record    20261125T101502Z-1f0c9a3b\n"
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
          "What was found\n"
          "  - The point is too flat.\n"
          "  - Lip a has a chip.\n"
          "\n"
          "What to do\n"
          "  - Grind lip a 1.5° sharper.\n"
          "\n"
          "Take care\n"
          "  - Wear eye protection.\n");
}

/* A retake of a file that is no picture says nothing of scale and camera. */
static void
test_the_whole_of_a_retake (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_NOT_AN_IMAGE, "truncated");
  sample->report.image_width = sample->report.image_height = 0;
  g_autofree char *text = ws_report_text (&sample->report);
  g_autofree char *rest = g_strconcat ("\nSeen: truncated\n"
                                       "\n"
                                       "Tool      QT-D-0118 · twist-drill 6.5 mm\n"
                                       "Picture   drill.png\n"
                                       "View      drill-side\n"
                                       "Measured  2026-11-25 10:15:02 UTC\n"
                                       "Record    20261125T101502Z-1f0c9a3b\n",
                                       NULL);
  assert_true (g_str_has_prefix (text, "====================\n    R E T A K E\n"));
  assert_true (g_str_has_suffix (text, rest));
}

/* The rule is eight longer than the words, twenty at least. */
static void
test_rules_are_as_long_as_the_verdict (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  sample->result->verdict = WS_VERDICT_ACCEPT;
  g_autofree char *angles = ws_report_text (&sample->report);
  assert_true (g_str_has_prefix (angles, "==================================\n"
                                         "    A C C E P T  (angles only)\n"
                                         "==================================\n"));
  sample->result->verdict = WS_VERDICT_UNDECIDED;
  g_autofree char *undecided = ws_report_text (&sample->report);
  assert_true (g_str_has_prefix (undecided, "=========================\n"
                                            "    U N D E C I D E D\n"
                                            "=========================\n"));
}

/* Behind a bullet of four there is room for 74 columns: two words of 36 and 37 and the space
 * between them; one more doesn't fit.  Columns are letters, not bytes. */
static void
test_lines_are_filled (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autofree char *most = g_strnfill (36, 'm');
  GString *degrees = g_string_new (NULL);
  for (guint i = 0; i < 37; i++)
    g_string_append (degrees, "°");
  g_ptr_array_add (sample->result->advice, g_strdup_printf ("%s %s a", most, degrees->str));
  g_ptr_array_add (sample->result->advice, g_strdup_printf ("%s %sn", most, degrees->str));
  g_autofree char *full = g_strdup_printf ("\n  - %s %s\n    a\n", most, degrees->str);
  g_autofree char *broken = g_strdup_printf ("\n  - %s\n    %sn\n", most, degrees->str);
  g_autofree char *text = ws_report_text (&sample->report);
  assert_contains (text, full);
  assert_contains (text, broken);
  g_string_free (degrees, TRUE);

  /* "Seen: " takes six. */
  g_autofree char *longest = g_strnfill (72, 'm');
  g_clear_pointer (&sample->result->detail, g_free);
  sample->result->detail = g_strdup_printf ("%s %s a", longest, longest);
  g_autofree char *seen = g_strdup_printf ("\nSeen: %s\n      %s\n      a\n", longest, longest);
  g_autofree char *with = ws_report_text (&sample->report);
  assert_contains (with, seen);
}

static void
assert_camera (Sample *sample, const char *lines)
{
  g_autofree char *all = g_strconcat ("standard uncertainty 2e-06\n", lines, "Measured  ", NULL);
  g_autofree char *text = ws_report_text (&sample->report);
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
                         "Check     failed 2026-11-21T07:00:00Z\n");
  use.check_ignored = TRUE;
  assert_camera (sample, "Camera    bench, calibration 20261101T080000Z-396c459d, EXPIRED "
                         "2026-11-20\n"
                         "Check     failed 2026-11-21T07:00:00Z, not counted\n");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_the_verdict_comes_first),
    cmocka_unit_test (test_the_table),
    cmocka_unit_test (test_the_rest),
    cmocka_unit_test (test_long_lines_are_broken),
    cmocka_unit_test (test_without_a_card_and_a_scale),
    cmocka_unit_test (test_a_scale_without_uncertainty_says_so),
    cmocka_unit_test (test_retake_says_what_to_change),
    cmocka_unit_test (test_every_verdict_has_words),
    cmocka_unit_test (test_a_card_limit_that_cannot_be_checked),
    cmocka_unit_test (test_the_whole),
    cmocka_unit_test (test_the_whole_of_a_retake),
    cmocka_unit_test (test_rules_are_as_long_as_the_verdict),
    cmocka_unit_test (test_lines_are_filled),
    cmocka_unit_test (test_the_camera),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
