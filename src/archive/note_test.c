/*
 * Sign-offs, releases and comments: in the chain, and told when they were changed.
 */
#include "archive/archive_for_tests.h"
#include "archive/note.h"

static gboolean
add (const Fixture *fixture, const char *id, WsNoteKind kind, GError **error)
{
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  const WsNoteWords words = { kind, "Q. Quill", "customer agreed", "quill" };
  return ws_archive_add_note (archive, id, &words, NULL, error);
}

/* What is wrong with it as readers see it; free with g_free(). */
static char *
wrong_of (const Fixture *fixture, const char *id)
{
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) found = ws_archive_find (archive, id, NULL);
  return g_strdup (found->wrong);
}

static void
test_notes_stand_on_their_inspection (void **state)
{
  guint64 wrong;
  fill (*state);
  assert_true (add (*state, "id-1", WS_NOTE_SIGN_OFF, NULL));
  assert_true (add (*state, "id-4", WS_NOTE_RELEASE, NULL));
  assert_true (add (*state, "id-4", WS_NOTE_COMMENT, NULL));
  g_autofree char *told = verify (*state, NULL, &wrong);
  assert_string_equal (told, "");
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-4", NULL);
  assert_null (found->wrong);
  assert_int_equal (found->notes->len, 2);
  const WsNote *note = g_ptr_array_index (found->notes, 0);
  assert_int_equal (note->kind, WS_NOTE_RELEASE);
  assert_int_equal (note->number, N_ROWS + 2);
  assert_string_equal (note->by, "Q. Quill");
  assert_string_equal (note->text, "customer agreed");
  assert_string_equal (found->verdict, "reject");
}

/* The newest inspection is of 2026-11-25; one of a later day was stored before the note. */
static void
test_a_clock_set_back (void **state)
{
  fill (*state);
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    const Sample sample = { "id-late", "2099-01-01T00:00:00Z", "QT-D-1", "accept", 118.0, NULL };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  }
  assert_true (add (*state, "id-1", WS_NOTE_SIGN_OFF, NULL));
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-1", NULL);
  const WsNote *note = g_ptr_array_index (found->notes, 0);
  assert_string_equal (note->clock, "2099-01-01T00:00:00Z");
  g_autofree char *words = wsi_note_words (note, note->time);
  assert_contains (words, ", CLOCK SET BACK: customer agreed");
}

static void
test_release_of_what_is_accepted (void **state)
{
  g_autoptr (GError) error = NULL;
  fill (*state);
  assert_false (add (*state, "id-1", WS_NOTE_RELEASE, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
}

/* Who signed a retake would have signed nothing; what is undecided may be released. */
static void
test_what_each_verdict_allows (void **state)
{
  static const struct
  {
    const char *verdict;
    gboolean sign, release;
  } cases[] = {
    { "accept", TRUE, FALSE },
    { "reject", TRUE, TRUE },
    { "undecided", TRUE, TRUE },
    { "retake", FALSE, FALSE },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%s", cases[i].verdict);
    {
      g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
      const Sample sample = { id, "2026-11-25T10:15:02Z", "QT-D-1", cases[i].verdict, 118.0, NULL };
      g_autoptr (WsInspection) inspection = sample_inspection (&sample);
      assert_true (ws_archive_store (archive, inspection, NULL, NULL));
    }
    assert_int_equal (add (*state, id, WS_NOTE_SIGN_OFF, NULL), cases[i].sign);
    assert_int_equal (add (*state, id, WS_NOTE_RELEASE, NULL), cases[i].release);
    assert_true (add (*state, id, WS_NOTE_COMMENT, NULL));
  }
}

static void
test_edits_are_told (void **state)
{
  static const char *const edits[] = {
    "UPDATE record SET record = replace (record, 'Quill', 'Vane') WHERE number = 6",
    "UPDATE inspection SET time = '2026-01-01T00:00:00Z' WHERE number = 6",
    "UPDATE inspection SET kind = 'sign-off' WHERE number = 6",
    "UPDATE inspection SET hash = previous WHERE number = 6",
    "UPDATE inspection SET imported = 'elsewhere' WHERE number = 6",
    "UPDATE inspection SET verdict = 'accept' WHERE number = 6",
    "UPDATE inspection SET id = 'id-7' WHERE number = 6",
    "DELETE FROM record WHERE number = 6",
    ("UPDATE record SET record = replace (record, 'release', 'comment') WHERE number = 6;"
     "UPDATE inspection SET kind = 'comment' WHERE number = 6"),
  };
  guint64 wrong;
  for (gsize i = 0; i < G_N_ELEMENTS (edits); i++)
  {
    void *one = NULL;
    set_up (&one);
    fill (one);
    assert_true (add (one, "id-4", WS_NOTE_RELEASE, NULL));
    change (one, edits[i]);
    g_autofree char *told = verify (one, NULL, &wrong);
    g_autofree char *read = wrong_of (one, "id-4");
    assert_true (wrong > 0);
    assert_string_not_equal (told, "");
    assert_non_null (read);
    tear_down (&one);
  }
  fill (*state);
  assert_true (add (*state, "id-4", WS_NOTE_RELEASE, NULL));
  change (*state, "UPDATE inspection SET about = 'id-5' WHERE number = 6");
  g_autofree char *moved = verify (*state, NULL, &wrong);
  g_autofree char *other = wrong_of (*state, "id-5");
  assert_contains (moved, "about is not what the record says");
  assert_non_null (other);
}

/* Bringing up a form that had notes of nothing doesn't write down a head that somebody changed. */
static void
test_an_archive_of_the_third_version (void **state)
{
  g_autoptr (GError) error = NULL;
  const Fixture *fixture = *state;
  guint64 wrong;
  fill (fixture);
  change (
    fixture,
    "DROP TABLE account; DROP INDEX inspection_about; ALTER TABLE inspection DROP COLUMN about;"
    "PRAGMA user_version = 3; DELETE FROM quantity WHERE number = 5;"
    "DELETE FROM record WHERE number = 5; DELETE FROM inspection WHERE number = 5;"
    "UPDATE head SET count = 4, hash = (SELECT hash FROM inspection WHERE"
    " number = 4)");
  g_autofree char *before = verify (fixture, NULL, &wrong);
  assert_contains (before, "the head was edited");
  {
    g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
    assert_null (ws_archive_seal (archive, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  }
  g_autofree char *after = verify (fixture, NULL, &wrong);
  assert_contains (after, "the head was edited");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_notes_stand_on_their_inspection, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_clock_set_back, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_release_of_what_is_accepted, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_each_verdict_allows, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_edits_are_told, set_up, tear_down),
  };
  const struct CMUnitTest of_a_file[] = {
    cmocka_unit_test_setup_teardown (test_an_archive_of_the_third_version, set_up, tear_down),
  };
  const int failed = cmocka_run_group_tests (of_a_file, NULL, NULL);
  return failed + run_on_both_engines (tests);
}
