/*
 * Advice of every view, on the pictures in `images`: work that it asks for is followed by that
 * work's cautions, and what the record says to do is what the advice is about.
 */
#include "base/testing.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <string.h>

/* The columns of images/shots.csv. */
enum
{
  SHOT_FILE,
  SHOT_CARD,
  SHOT_VIEW,
  SHOT_SCALE,
  SHOT_SCALE_U,
  SHOT_N
};

static gboolean
any_text (const json_t *record, const char *key, const char *pattern)
{
  gsize i;
  json_t *text;
  json_array_foreach (
    json_object_get (record, key), i,
    text) if (g_regex_match_simple (pattern, json_string_value (text), 0, 0)) return TRUE;
  return FALSE;
}

#define GRINDS "^Grind|[Rr]egrind|grind it|to be ground"
#define MOUNTS "[Ss]et the blade out|centre height"

static char *
check_cautions (const json_t *record)
{
  if (any_text (record, "advice", GRINDS) &&
      !(any_text (record, "cautions", "eye protection") && any_text (record, "cautions", "guards")))
    return g_strdup ("grinding without cautions");
  if (any_text (record, "advice", MOUNTS) && !any_text (record, "cautions", "Lock the machine out"))
    return g_strdup ("machine work without cautions");
  return NULL;
}

static char *
check_action (const json_t *record)
{
  const char *action = trial_text (record, "action"), *verdict = trial_text (record, "verdict");
  const gboolean grinds = any_text (record, "advice", GRINDS);
  const gboolean hones = g_strcmp0 (action, "hone") == 0;
  if (hones != any_text (record, "advice", "before it is used"))
    return g_strdup ("honing is advised, or meant, alone");
  if (g_strcmp0 (verdict, "accept") == 0 && (grinds || (!hones && g_strcmp0 (action, "use") != 0)))
    return g_strdup ("accepted, and yet to be ground");
  if (g_strcmp0 (verdict, "retake") == 0 && g_strcmp0 (action, "measure-again") != 0)
    return g_strdup ("a retake that isn't taken again");
  if (grinds && g_strcmp0 (action, "regrind") != 0)
    return g_strdup_printf ("grinding is advised under %s", action);
  return NULL;
}

static void
check_shot (GString *wrong, char **shot, gboolean with_card_and_scale)
{
  g_autofree char *picture = g_build_filename (WS_SOURCE_DIR, "images", shot[SHOT_FILE], NULL);
  g_autofree char *card = g_build_filename (WS_SOURCE_DIR, "images", shot[SHOT_CARD], NULL);
  const char *options[] = {
    "--scale", shot[SHOT_SCALE], "--scale-u", shot[SHOT_SCALE_U], "--tool", card, NULL
  };
  g_autoptr (TrialRun) run = trial_measure_with (trial_program (), shot[SHOT_VIEW], picture,
                                                 with_card_and_scale ? options : options + 6);
  g_autofree char *cautions = check_cautions (run->record), *action = check_action (run->record);
  assert_non_null (run->record);
  if (cautions != NULL)
    g_string_append_printf (wrong, "%s: %s\n", shot[SHOT_FILE], cautions);
  if (action != NULL)
    g_string_append_printf (wrong, "%s: %s\n", shot[SHOT_FILE], action);
}

static guint
check_shots (GString *wrong, gboolean with_card_and_scale)
{
  guint n = 0;
  g_autofree char *text = NULL;
  g_autofree char *path = g_build_filename (WS_SOURCE_DIR, "images", "shots.csv", NULL);
  assert_true (g_file_get_contents (path, &text, NULL, NULL));
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  for (char **line = lines + 1; *line != NULL && **line != '\0'; line++)
  {
    g_auto (GStrv) shot = g_strsplit (*line, ",", -1);
    assert_true (g_strv_length (shot) > SHOT_N);
    if (n++ % trial_scenes (1, 4) == 0)
      check_shot (wrong, shot, with_card_and_scale);
  }
  return n;
}

static void
work_advised_is_followed_by_its_cautions (void **state)
{
  (void)state;
  g_autoptr (GString) wrong = g_string_new (NULL);
  for (gboolean with = FALSE; with <= TRUE; with++)
    assert_true (check_shots (wrong, with) >= 20);
  if (wrong->len > 0)
    g_printerr ("%s", wrong->str);
  assert_int_equal (wrong->len, 0);
}

static TrialRun *
measure_good (const char *folder, const char *web)
{
  g_autofree char *card = g_build_filename (folder, "T.tool", NULL);
  g_autofree char *picture = g_build_filename (WS_SOURCE_DIR, "images", "good-118.png", NULL);
  g_autofree char *text =
    g_strdup_printf ("[tool]\nid = T\nkind = twist-drill\ndiameter_mm = 6.5\n%s\n[limits]\n"
                     "point_angle_deg = 118.02 .. 120\n",
                     web);
  assert_true (g_file_set_contents (card, text, -1, NULL));
  const char *options[] = { "--tool", card, "--scale", "0.01423", "--scale-u", "3e-6", NULL };
  TrialRun *run = trial_measure_with (trial_program (), "drill-side", picture, options);
  g_remove (card);
  return run;
}

static double
U_of (const TrialRun *run, const char *name)
{
  const json_t *entry = json_object_get (json_object_get (run->record, "quantities"), name);
  return json_number_value (json_object_get (entry, "U"));
}

/* Undecided, and the cure that is named first works: U falls, not below what is told "at best". */
static void
the_cure_named_first_works (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autoptr (TrialRun) without = measure_good (folder, "");
  g_autoptr (TrialRun) with = measure_good (folder, "web_mm = 0.98");
  assert_int_equal (g_rmdir (folder), 0);
  assert_string_equal (trial_text (without->record, "verdict"), "undecided");
  assert_string_equal (trial_text (without->record, "action"), "measure-again");
  const char *advice =
    json_string_value (json_array_get (json_object_get (without->record, "advice"), 0));
  assert_contains (advice, "with the web's thickness on the card (web_mm)");
  const char *best = strstr (advice, "to at best ");
  assert_non_null (best);
  const double told = g_ascii_strtod (best + strlen ("to at best "), NULL);
  const double before = U_of (without, "point_angle_deg"), after = U_of (with, "point_angle_deg");
  assert_true (after < 0.5 * before);
  assert_true (after >= told);
  assert_string_equal (trial_text (with->record, "verdict"), "accept");
}

int
main (void)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (work_advised_is_followed_by_its_cautions),
    cmocka_unit_test (the_cure_named_first_works),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
