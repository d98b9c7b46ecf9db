/*
 * From a fault to its causes: the program as a toolroom asks it.
 */
#include "cli/program_for_tests.h"

#include <jansson.h>
#include <whetsight/view.h>

#include "judge/causes.h"

#define POINT_OFFSET WS_SOURCE_DIR "/images/point-offset.jpg"
#define ITS_CARD WS_SOURCE_DIR "/images/QT-D-0100.tool"
#define ITS_SCALE "0.023122685185185187"

/* Lines as one, whatever they were broken at.  Free with g_free(). */
static char *
flat (const char *text)
{
  g_autoptr (GRegex) gaps = g_regex_new ("\\s+", 0, 0, NULL);
  return g_regex_replace_literal (gaps, text, -1, 0, " ", 0, NULL);
}

/* A name that no view measures would never speak. */
static void
quantities_are_measured_by_a_view (void **state)
{
  (void)state;
  g_autoptr (WsCauses) causes = wsi_causes_parse ("built-in", wsi_causes_text, NULL);
  assert_non_null (causes);
  for (guint i = 0; i < causes->causes->len; i++)
  {
    const WsCause *cause = g_ptr_array_index (causes->causes, i);
    for (char **name = cause->quantities; name != NULL && *name != NULL; name++)
    {
      gboolean known = FALSE;
      for (const WsView *const *view = ws_views (); *view != NULL; view++)
        known = known || ws_view_lookup ((*view)->name, *name) != NULL;
      if (!known)
        fail_msg ("[cause %s]: no view measures %s", cause->name, *name);
    }
  }
}

static void
without_records_the_table_is_listed (void **state)
{
  (void)state;
  g_auto (Run) listed = run ("trace", "tip-left", "--kind", "cutoff-blade", NULL);
  assert_int_equal (listed.status, 0);
  assert_contains (listed.out, " 1. Bolts of the tool");
  g_autofree char *text = flat (listed.out);
  assert_contains (text, "whetsight explain centre-height tells");
  assert_contains (listed.out, "Take care");
  assert_lacks (listed.out, "Archive ");
  assert_lacks (listed.out, "drill-side");
  g_auto (Run) slip = run ("trace", "tipleft", NULL);
  assert_int_equal (slip.status, 64);
  assert_contains (slip.err, "did you mean tip-left?");
  g_auto (Run) none = run ("trace", NULL);
  assert_int_equal (none.status, 64);
  assert_contains (none.err, "name one symptom: oversize-hole, ");
  g_auto (Run) half = run ("trace", "burr", "--tool", "QT-D-0100", NULL);
  assert_int_equal (half.status, 64);
}

/* The drill's offset is 0.19 mm by its picture: at most 0.38 mm of oversize, whatever unit. */
static void
records_speak_for_and_against (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = file_in (fixture, "traced");
  g_auto (Run) measured = run ("measure", "--archive", archive, "--tool", ITS_CARD, "--scale",
                               ITS_SCALE, POINT_OFFSET, NULL);
  assert_int_equal (measured.status, 1);
  g_auto (Run) told = run ("trace", "oversize-hole", "--archive", archive, "--tool", "QT-D-0100",
                           "--by", "0.6", NULL);
  assert_int_equal (told.status, 0);
  g_autofree char *text = flat (told.out);
  assert_contains (text, "above its limits: explains at most 0.3799 ± 0.0077 mm of oversize, "
                         "which is not all");
  assert_contains (text, "(the archive speaks against it)");
  g_auto (Run) inches = run ("trace", "oversize-hole", "--archive", archive, "--tool", "QT-D-0100",
                             "--units", "in", NULL);
  g_autofree char *in_inches = flat (inches.out);
  assert_contains (in_inches, "explains at most 0.01496 ± 0.00030 in of oversize");
  g_auto (Run) json =
    run ("trace", "oversize-hole", "--archive", archive, "--tool", "QT-D-0100", "--json", NULL);
  json_t *all = json_loads (json.out, 0, NULL);
  assert_non_null (all);
  const json_t *causes = json_object_get (all, "causes");
  assert_string_equal (json_string_value (json_object_get (json_array_get (causes, 0), "cause")),
                       "bolts");
  json_decref (all);
  g_auto (Run) other = run ("trace", "burr", "--archive", archive, "--tool", "QT-D-0001", NULL);
  assert_int_equal (other.status, 66);
}

/* A value from before the regrind says nothing of the tool as it is. */
static void
a_regrind_ends_what_was_measured (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = file_in (fixture, "reground"), *scale = scale_text ();
  g_autofree char *card = file_in (fixture, "reground.tool");
  assert_true (g_file_set_contents (
    card, "[tool]\nid = QT-D-0100\nkind = twist-drill\ndiameter_mm = 10\n", -1, NULL));
  g_auto (Run) before =
    run ("measure", "--archive", archive, "--tool", card, "--scale", ITS_SCALE, POINT_OFFSET, NULL);
  assert_int_equal (before.status, 1);
  g_usleep (1100000); /* times are whole seconds */
  g_auto (Run) after = run ("measure", "--archive", archive, "--tool", card, "--scale", scale,
                            "--reground", fixture->blank, NULL);
  assert_int_equal (after.status, 3);
  g_auto (Run) told =
    run ("trace", "oversize-hole", "--archive", archive, "--tool", "QT-D-0100", NULL);
  g_autofree char *text = flat (told.out);
  assert_contains (text, "before the last regrind");
  assert_lacks (text, "(the archive speaks");
}

static void
a_shop_changes_the_table (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *own = file_in (fixture, "own.conf"), *text = NULL;
  g_auto (Run) written = run ("trace", "--write-table", own, NULL);
  assert_int_equal (written.status, 0);
  assert_true (g_file_get_contents (own, &text, NULL, NULL));
  g_autofree char *more = g_strconcat (text,
                                       "\n[cause moon]\nsymptoms = burr\nstage = set-up\n"
                                       "minutes = 1\nwhat = The belt slips\ncheck = Look\n"
                                       "cure = Tighten it\nsource = common practice\n",
                                       NULL);
  assert_true (g_file_set_contents (own, more, -1, NULL));
  g_auto (Run) told = run ("trace", "burr", "--table", own, NULL);
  assert_contains (told.out, "The belt slips");
  assert_true (g_file_set_contents (own, "[cause x]\n", -1, NULL));
  g_auto (Run) wrong = run ("trace", "burr", "--table", own, NULL);
  assert_int_equal (wrong.status, 65);
  assert_contains (wrong.err, "own.conf: [cause x]");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (quantities_are_measured_by_a_view),
    cmocka_unit_test (without_records_the_table_is_listed),
    cmocka_unit_test (records_speak_for_and_against),
    cmocka_unit_test (a_regrind_ends_what_was_measured),
    cmocka_unit_test (a_shop_changes_the_table),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
