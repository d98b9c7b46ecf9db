#include "archive/state.h"

#include "archive/archive_for_tests.h"

typedef struct
{
  void *place; /* Fixture */
  WsArchive *archive;
  guint n;
} States;

static int
set_up_states (void **state)
{
  States *states = g_new0 (States, 1);
  set_up (&states->place);
  states->archive = open_archive (states->place, WS_ARCHIVE_WRITE);
  *state = states;
  return 0;
}

static int
tear_down_states (void **state)
{
  States *states = *state;
  ws_archive_free (states->archive);
  tear_down (&states->place);
  g_free (states);
  return 0;
}

static char *
replaced (char *text, const char *old, const char *new)
{
  g_auto (GStrv) parts = g_strsplit (text, old, 2);
  assert_int_equal (g_strv_length (parts), 2);
  g_free (text);
  return g_strjoinv (new, parts);
}

/* `views`: as the record has them, "null" for none. */
static void
store (States *fixture, const char *time, const char *view, const char *verdict, const char *views,
       gboolean reground)
{
  g_autofree char *id = g_strdup_printf ("inspection-%u", fixture->n++);
  const Sample sample = {
    .id = id, .time = time, .tool = "QT-D-1", .verdict = verdict, .point_angle = 118
  };
  g_autoptr (WsInspection) inspection = g_new0 (WsInspection, 1);
  g_autofree char *named = g_strdup_printf ("\"view\": \"%s\"", view);
  g_autofree char *told = g_strdup_printf ("\"diameter_mm\": 6.5, \"views\": %s", views);
  GError *error = NULL;
  inspection->record = replaced (sample_record (&sample), "\"view\": \"drill-side\"", named);
  inspection->record = replaced (inspection->record, "\"diameter_mm\": 6.5", told);
  inspection->reground = reground;
  if (!ws_archive_store (fixture->archive, inspection, NULL, &error))
    fail_msg ("%s", error->message);
}

static void
assert_standing (const States *fixture, WsToolStanding standing, guint n_views)
{
  GError *error = NULL;
  g_autoptr (WsToolState) state = wsi_archive_tool_state (fixture->archive, "QT-D-1", &error);
  assert_null (error);
  assert_string_equal (wsi_tool_standing_name (state->standing), wsi_tool_standing_name (standing));
  assert_int_equal (state->views->len, n_views);
}

#define BOTH "[\"drill-side\", \"drill-end\"]"

static void
views_are_joined (void **state)
{
  States *f = *state;
  assert_standing (f, WS_TOOL_INCOMPLETE, 0);
  store (f, "2026-11-25T10:00:00Z", "drill-side", "accept", BOTH, FALSE);
  assert_standing (f, WS_TOOL_INCOMPLETE, 2);
  store (f, "2026-11-25T10:01:00Z", "drill-end", "accept", BOTH, FALSE);
  assert_standing (f, WS_TOOL_FIT, 2);
  store (f, "2026-11-25T10:02:00Z", "drill-end", "retake", BOTH, FALSE);
  assert_standing (f, WS_TOOL_INCOMPLETE, 2);
  store (f, "2026-11-25T10:03:00Z", "drill-side", "reject", BOTH, FALSE);
  assert_standing (f, WS_TOOL_NOT_FIT, 2);
  store (f, "2026-11-26T10:00:00Z", "drill-side", "accept", BOTH, TRUE);
  assert_standing (f, WS_TOOL_INCOMPLETE, 2);
}

/* The order is that of the pictures, not of storing. */
static void
time_decides (void **state)
{
  States *f = *state;
  store (f, "2026-11-25T10:02:00Z", "drill-side", "accept", "null", FALSE);
  store (f, "2026-11-25T10:01:00Z", "drill-side", "reject", "null", FALSE);
  assert_standing (f, WS_TOOL_FIT, 1);
}

static void
without_names_all_that_was_seen_counts (void **state)
{
  States *f = *state;
  store (f, "2026-11-25T10:00:00Z", "drill-side", "accept", "null", FALSE);
  assert_standing (f, WS_TOOL_FIT, 1);
  store (f, "2026-11-25T10:01:00Z", "drill-end", "undecided", "null", FALSE);
  assert_standing (f, WS_TOOL_INCOMPLETE, 2);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (views_are_joined, set_up_states, tear_down_states),
    cmocka_unit_test_setup_teardown (time_decides, set_up_states, tear_down_states),
    cmocka_unit_test_setup_teardown (without_names_all_that_was_seen_counts, set_up_states,
                                     tear_down_states),
  };
  return run_on_both_engines (tests);
}
