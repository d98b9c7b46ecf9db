/*
 * What was changed behind the archive's back, and what is no archive at all.
 */
#include "archive/archive_for_tests.h"
#include "archive/columns.h"

#include <unistd.h>

static void
check_told (const Fixture *fixture, const char *const parts[])
{
  guint64 wrong;
  g_autofree char *told = verify (fixture, NULL, &wrong);
  assert_true (wrong > 0);
  for (gsize i = 0; parts[i] != NULL; i++)
    assert_contains (told, parts[i]);
}

#define check_tells(fixture, ...) check_told (fixture, (const char *const[]){ __VA_ARGS__, NULL })

static void
test_untouched (void **state)
{
  guint64 wrong;
  fill (*state);
  g_autofree char *told = verify (*state, NULL, &wrong);
  assert_string_equal (told, "");
  assert_int_equal (wrong, 0);
}

static void
test_edited_record (void **state)
{
  fill (*state);
  change (*state, "UPDATE record SET record = replace (record, '119.0000', '118.0000')");
  check_tells (*state, "row 2 (id-2): edited");
}

static void
test_edited_columns (void **state)
{
  fill (*state);
  change (*state, "UPDATE inspection SET verdict = 'accept' WHERE number = 4;"
                  "UPDATE inspection SET grinder = 'Q. Quill' WHERE number = 1;"
                  "UPDATE quantity SET value = 118 WHERE number = 5 AND name = 'point_angle_deg';"
                  "DELETE FROM quantity WHERE number = 3 AND name = 'diameter_mm'");
  check_tells (*state, "row 4 (id-4): edited: verdict", "row 1 (id-1): edited",
               "row 5 (id-5): edited: quantity point_angle_deg", "row 3 (id-3): edited");
}

static void
test_edited_flags_and_sizes (void **state)
{
  fill (*state);
  change (*state, "UPDATE inspection SET reground = 3 WHERE number = 1;"
                  "UPDATE inspection SET pictures = 3 WHERE number = 2;"
                  "UPDATE file SET size = size + 1 WHERE sha256 = (SELECT image FROM inspection"
                  " WHERE number = 3)");
  check_tells (*state, "row 1 (id-1): edited", "row 2 (id-2): edited", "(of id-3): the table has");
}

static gboolean
collect_wrong (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  if (inspection->wrong != NULL)
    g_string_append_printf (data, "%s: %s\n", inspection->id, inspection->wrong);
  return TRUE;
}

/* Free with g_free(). */
static char *
read_wrong (const Fixture *fixture)
{
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  GString *told = g_string_new (NULL);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  assert_true (ws_archive_each (archive, &all, TRUE, collect_wrong, told, NULL));
  return g_string_free (told, FALSE);
}

/* One that the program made before it knew of imports. */
static void
test_an_archive_of_the_first_version (void **state)
{
  const Fixture *fixture = *state;
  guint64 wrong;
  fill (fixture);
  change (fixture, "DROP TABLE account;"
                   "DROP INDEX inspection_about; ALTER TABLE inspection DROP COLUMN about;"
                   "ALTER TABLE inspection DROP COLUMN clock;"
                   "ALTER TABLE inspection DROP COLUMN imported;"
                   "ALTER TABLE head DROP COLUMN seals_hash;"
                   "ALTER TABLE head DROP COLUMN digest; PRAGMA user_version = 1");
  g_autofree char *before = verify (fixture, NULL, &wrong);
  assert_string_equal (before, "");
  g_autofree char *read = read_wrong (fixture);
  assert_string_equal (read, "");
  {
    g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
    store_row (archive, 6, NULL);
  }
  g_autofree char *after = verify (fixture, NULL, &wrong);
  assert_string_equal (after, "");
}

/* What else is in the database: it may do anything with what is written. */
static void
test_strange_tables (void **state)
{
  g_autoptr (GError) error = NULL;
  const Fixture *fixture = *state;
  fill (fixture);
  change (fixture, "CREATE TABLE notes (x); CREATE VIEW good AS SELECT * FROM inspection;"
                   "CREATE INDEX more ON inspection (grinder); DROP INDEX inspection_tool;"
                   "ALTER TABLE inspection ADD COLUMN remark TEXT;"
                   "CREATE TRIGGER keep AFTER INSERT ON record BEGIN DELETE FROM record WHERE"
                   " number = new.number; END");
  check_tells (fixture, "table notes: not ours", "view good: not ours", "index more: not ours",
               "index inspection_tool: missing", "table inspection: changed",
               "trigger keep: not ours");
  assert_null (ws_archive_open (fixture->folder, WS_ARCHIVE_WRITE, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  assert_contains (error->message, "its tables were changed");
}

/* One that comes while the archive is open for writing does nothing. */
static void
test_triggers_do_nothing (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  store_row (archive, 1, NULL);
  change (fixture, "CREATE TRIGGER keep AFTER INSERT ON record BEGIN DELETE FROM record WHERE"
                   " number = new.number; END");
  store_row (archive, 2, NULL);
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-2", NULL);
  assert_non_null (found);
  assert_non_null (found->record);
  assert_null (found->wrong);
}

/* Readers look at each row they use, not only verify. */
static void
test_reading_checks (void **state)
{
  static const struct
  {
    const char *change, *told;
  } cases[] = {
    { "UPDATE inspection SET verdict = 'accept' WHERE number = 4", "id-4: edited: verdict" },
    { "UPDATE inspection SET station = 'bench 9' WHERE number = 1", "id-1: edited: its hash" },
    { "UPDATE record SET record = replace (record, '120.0600', '118.0000')", "id-3: edited" },
    { "UPDATE quantity SET value = 118 WHERE number = 5 AND name = 'point_angle_deg'",
      "id-5: edited: quantity point_angle_deg" },
    { "DELETE FROM record WHERE number = 2", "id-2: its record was removed" },
    { "DELETE FROM inspection WHERE number = 3; DELETE FROM record WHERE number = 3",
      "id-4: its place in the chain" },
    { "UPDATE head SET count = 4, hash = (SELECT hash FROM inspection WHERE number = 4)",
      "id-5: its place in the chain" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    void *fresh;
    set_up (&fresh);
    fill (fresh);
    g_autofree char *untouched = read_wrong (fresh);
    assert_string_equal (untouched, "");
    change (fresh, cases[i].change);
    g_autofree char *told = read_wrong (fresh);
    assert_contains (told, cases[i].told);
    tear_down (&fresh);
  }
  (void)state;
}

static void
test_reading_checks_pictures (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) first = ws_archive_find (archive, "id-1", NULL);
  g_autoptr (WsInspection) second = ws_archive_find (archive, "id-2", NULL);
  assert_null (ws_archive_check_pictures (archive, first));
  g_autofree char *gone = ws_archive_picture_path (archive, first->image);
  g_autofree char *flipped = ws_archive_picture_path (archive, second->annotated);
  assert_int_equal (g_remove (gone), 0);
  assert_true (g_file_set_contents (flipped, "drawn nn 2", -1, NULL));
  g_autofree char *missing = ws_archive_check_pictures (archive, first);
  g_autofree char *altered = ws_archive_check_pictures (archive, second);
  assert_string_equal (missing, "its picture is missing");
  assert_string_equal (altered, "its annotated picture was altered");
}

/* The same picture comes again, of the same length as the damaged one. */
static void
test_a_damaged_picture_is_put_back (void **state)
{
  const Fixture *fixture = *state;
  guint64 wrong;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_autoptr (WsInspection) first = ws_archive_find (archive, "id-1", NULL);
  g_autofree char *path = ws_archive_picture_path (archive, first->image);
  g_autoptr (GBytes) original = g_bytes_new_static ("picture 1", 9);
  const Sample sample = { "again", "2026-11-25T19:00:00Z", "QT-D-0001", "accept", 118.0, original };
  g_autoptr (WsInspection) again = sample_inspection (&sample);
  const WsPictures pictures = { .original = original };
  assert_false (ws_archive_take_mended (archive));
  assert_true (g_file_set_contents (path, "picture x", -1, NULL));
  assert_true (ws_archive_store (archive, again, &pictures, NULL));
  assert_true (ws_archive_take_mended (archive));
  assert_false (ws_archive_take_mended (archive));
  g_autofree char *told = verify (fixture, NULL, &wrong);
  assert_string_equal (told, "");
}

/* A path out of the archive, in a row whose hash was made to fit. */
static void
test_a_hostile_path (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) last = ws_archive_find (archive, "id-5", NULL);
  char hash[WS_SHA256_HEX_SIZE];
  g_free (last->annotated);
  last->annotated = g_strdup ("../../../etc/hostname");
  wsi_columns_hash (last, hash);
  g_autofree char *sql =
    g_strdup_printf ("UPDATE inspection SET annotated = '%s', hash = '%s' WHERE number = 5;"
                     "UPDATE head SET hash = '%s'",
                     last->annotated, hash, hash);
  change (fixture, sql);
  g_autofree char *told = read_wrong (fixture);
  assert_contains (told, "id-5: the annotated picture's sha256 is none");
}

static void
test_removed_rows (void **state)
{
  fill (*state);
  change (*state, "DELETE FROM inspection WHERE number = 2");
  check_tells (*state, "row 2: removed", "belong to rows that were removed");
}

static void
test_removed_and_renumbered (void **state)
{
  fill (*state);
  change (*state, "DELETE FROM inspection WHERE number = 3; DELETE FROM record WHERE number = 3;"
                  "DELETE FROM quantity WHERE number = 3;");
  change_either (*state,
                 "UPDATE inspection SET number = number - 1 WHERE number > 3;"
                 "UPDATE record SET number = number - 1 WHERE number > 3;"
                 "UPDATE quantity SET number = number - 1 WHERE number > 3;",
                 "UPDATE inspection SET place = place - 1 WHERE place > 3");
  check_tells (*state, "row 3 (id-4): doesn't follow", "rows removed: 5 were written, 4 are there");
}

static void
test_removed_last (void **state)
{
  fill (*state);
  change (*state, "DELETE FROM inspection WHERE number = 5; DELETE FROM record WHERE number = 5;"
                  "DELETE FROM quantity WHERE number = 5;");
  check_tells (*state, "rows removed: 5 were written, 4 are there");
}

static void
test_inserted_rows (void **state)
{
  fill (*state);
  change_either (
    *state,
    "UPDATE inspection SET number = number + 1000 WHERE number > 2;"
    "UPDATE record SET number = number + 1000 WHERE number > 2;"
    "UPDATE quantity SET number = number + 1000 WHERE number > 2;"
    "INSERT INTO inspection SELECT 3, 'id-x', time, tool, kind, view, verdict, reason, image_name,"
    " image, annotated, settings, station, grinder, reground, pictures, hash, 'ab', imported,"
    " clock, about FROM inspection WHERE number = 2;"
    "INSERT INTO record SELECT 3, record FROM record WHERE number = 2;"
    "UPDATE inspection SET number = number - 999 WHERE number > 1000;"
    "UPDATE record SET number = number - 999 WHERE number > 1000;"
    "UPDATE quantity SET number = number - 999 WHERE number > 1000;",
    "ALTER TABLE inspection DISABLE TRIGGER follow;"
    "UPDATE inspection SET place = place + 1000 WHERE place > 2;"
    "INSERT INTO inspection (number, bench, place, id, time, kind, view, reground, pictures,"
    " previous, hash) SELECT 99, bench, 3, 'id-x', time, kind, view, reground, pictures, hash,"
    " repeat ('ab', 32) FROM inspection WHERE place = 2;"
    "INSERT INTO record SELECT 99, month, record FROM record WHERE number = 2;"
    "UPDATE inspection SET place = place - 999 WHERE place > 1000;"
    "ALTER TABLE inspection ENABLE TRIGGER follow");
  check_tells (*state, "row 3 (id-x)");
}

static void
test_swapped_rows (void **state)
{
  fill (*state);
  change_either (*state,
                 "UPDATE inspection SET number = 100 WHERE number = 2;"
                 "UPDATE inspection SET number = 2 WHERE number = 3;"
                 "UPDATE inspection SET number = 3 WHERE number = 100;"
                 "UPDATE record SET number = 100 WHERE number = 2;"
                 "UPDATE record SET number = 2 WHERE number = 3;"
                 "UPDATE record SET number = 3 WHERE number = 100;"
                 "UPDATE quantity SET number = 100 WHERE number = 2;"
                 "UPDATE quantity SET number = 2 WHERE number = 3;"
                 "UPDATE quantity SET number = 3 WHERE number = 100;",
                 "UPDATE inspection SET place = 100 WHERE place = 2;"
                 "UPDATE inspection SET place = 2 WHERE place = 3;"
                 "UPDATE inspection SET place = 3 WHERE place = 100");
  check_tells (*state, "row 2 (id-3): out of order", "row 3 (id-2): out of order");
}

static void
test_swapped_contents (void **state)
{
  fill (*state);
  change (*state, "UPDATE record SET number = 100 WHERE number = 2;"
                  "UPDATE record SET number = 2 WHERE number = 4;"
                  "UPDATE record SET number = 4 WHERE number = 100;"
                  "UPDATE inspection SET annotated = (SELECT annotated FROM inspection AS o WHERE"
                  " o.number = 4) WHERE number = 1");
  check_tells (*state, "row 2 (id-2): edited", "row 4 (id-4): edited");
}

static char *
picture_of (const Fixture *fixture, const char *id, gboolean annotated)
{
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) inspection = ws_archive_find (archive, id, NULL);
  assert_non_null (inspection);
  return ws_archive_picture_path (archive, annotated ? inspection->annotated : inspection->image);
}

static void
test_pictures (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  g_autofree char *gone = picture_of (fixture, "id-1", FALSE);
  g_autofree char *flipped = picture_of (fixture, "id-2", TRUE);
  g_autofree char *extra = g_strconcat (gone, ".bak", NULL);
  g_autofree char *stranger = g_build_filename (fixture->folder, "notes.txt", NULL);
  assert_int_equal (g_remove (gone), 0);
  assert_true (g_file_set_contents (flipped, "drawn nn 2", -1, NULL));
  assert_true (g_file_set_contents (extra, "x", -1, NULL));
  assert_true (g_file_set_contents (stranger, "x", -1, NULL));
  g_autofree char *gone_name = g_path_get_basename (gone);
  g_autofree char *flipped_name = g_path_get_basename (flipped);
  g_autofree char *missing = g_strdup_printf ("picture %s (of id-1): missing", gone_name);
  g_autofree char *altered = g_strdup_printf ("picture %s (of id-2): altered", flipped_name);
  check_tells (fixture, missing, altered, ".bak: extra", "notes.txt: extra");
}

static void
test_a_row_without_its_file (void **state)
{
  fill (*state);
  change (*state,
          "DELETE FROM file WHERE sha256 = (SELECT image FROM inspection WHERE number = 1)");
  check_tells (*state, "(of id-1): removed from the table", ": extra");
}

static void
test_seals (void **state)
{
  guint64 wrong;
  fill (*state);
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  g_autofree char *seal = ws_archive_seal (archive, NULL);
  assert_non_null (seal);
  assert_true (g_str_has_prefix (seal, "whetsight-seal/1 20"));
  store_row (archive, 6, NULL);
  g_autofree char *told = verify (*state, seal, &wrong);
  assert_string_equal (told, "");

  /* Somebody takes the last two rows away and makes the head fit. */
  change (*state, "DELETE FROM inspection WHERE number > 4; DELETE FROM record WHERE number > 4;"
                  "DELETE FROM quantity WHERE number > 4; UPDATE head SET count = 4,"
                  " hash = (SELECT hash FROM inspection WHERE number = 4)");
  check_tells (*state, "seal of 20");
  change_either (*state, "DELETE FROM seal; UPDATE head SET seals = 0",
                 "DELETE FROM seal; UPDATE plant SET seals = 0, seals_hash = ''");
  change (*state, "DELETE FROM file WHERE sha256 NOT IN"
                  " (SELECT image FROM inspection UNION SELECT annotated FROM inspection)");
  g_autofree char *after = verify (*state, seal, &wrong);
  assert_contains (after, "seal of 20");

  g_autoptr (GError) error = NULL;
  WsVerification found;
  g_autoptr (GString) lines = g_string_new (NULL);
  const WsVerifier verifier = { collect, NULL, lines };
  assert_false (ws_archive_verify (archive, "whetsight-seal/1 x", &verifier, &found, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
}

/* The date of a seal, and an end that was cut off with what stands there already: a hash has to be
 * computed for either. */
static void
test_the_heads_digest (void **state)
{
  static const char *const changes[][2] = {
    { "UPDATE seal SET time = '2026-11-20T00:00:00Z' WHERE number = 1", "a seal was edited" },
    { "DELETE FROM seal; UPDATE head SET seals = 0, seals_hash = ''", "the head was edited" },
    { "DELETE FROM inspection WHERE number = 5; DELETE FROM record WHERE number = 5;"
      "DELETE FROM quantity WHERE number = 5; UPDATE head SET count = 4, hash = (SELECT hash FROM"
      " inspection WHERE number = 4); DELETE FROM seal WHERE number = 2",
      "the head was edited" },
    { "UPDATE head SET digest = ''", "the head was edited" },
    { "UPDATE head SET digest = digest || ' '", "the head was edited" },
    { "UPDATE head SET hash = hash || ' '", "the head was edited" },
    { "UPDATE head SET seals_hash = seals_hash || ' '", "the head was edited" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (changes); i++)
  {
    void *fresh;
    g_autoptr (GError) error = NULL;
    set_up (&fresh);
    fill (fresh);
    {
      g_autoptr (WsArchive) archive = open_archive (fresh, WS_ARCHIVE_WRITE);
      g_free (ws_archive_seal (archive, NULL));
      g_free (ws_archive_seal (archive, NULL));
    }
    change (fresh, changes[i][0]);
    check_tells (fresh, changes[i][1]);
    g_autoptr (WsArchive) archive = open_archive (fresh, WS_ARCHIVE_WRITE);
    g_autofree char *seal = ws_archive_seal (archive, &error);
    assert_true ((seal == NULL) == (i > 0)); /* and nothing covers it up */
    g_clear_pointer (&archive, ws_archive_free);
    tear_down (&fresh);
  }
}

static void
test_folders (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *elsewhere = g_strconcat (fixture->folder, "-elsewhere", NULL);
  g_autofree char *images = g_build_filename (fixture->folder, "images", NULL);
  g_autofree char *empty = NULL;
  fill (fixture);
  for (guint i = 0; i < 256; i++) /* one that no picture has */
  {
    char fan[3];
    g_snprintf (fan, sizeof fan, "%02x", i);
    g_autofree char *path = g_build_filename (images, fan, NULL);
    if (g_mkdir (path, 0700) == 0)
    {
      empty = g_steal_pointer (&path);
      break;
    }
  }
  assert_non_null (empty);
  check_tells (fixture, ": empty, no row knows it");
  assert_int_equal (g_rmdir (empty), 0);
  assert_int_equal (g_rename (images, elsewhere), 0);
  assert_int_equal (symlink (elsewhere, images), 0);
  check_tells (fixture, "folder images: a symbolic link");
  sample_remove_tree (elsewhere);
}

/* Marked for good, and the mark is part of the hash. */
static void
test_a_clock_set_back (void **state)
{
  guint64 wrong;
  g_autoptr (WsInspection) early = NULL, later = NULL;
  fill (*state);
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    const Sample sample = {
      "id-early", "2026-11-25T09:00:00Z", "QT-D-0001", "accept", 118.0, NULL
    };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    assert_false (ws_archive_take_clock (archive));
    assert_true (ws_archive_store (archive, inspection, NULL, NULL));
    assert_true (ws_archive_take_clock (archive));
    assert_false (ws_archive_take_clock (archive));
    store_row (archive, 7, NULL);
    assert_false (ws_archive_take_clock (archive));
    early = ws_archive_find (archive, "id-early", NULL);
    later = ws_archive_find (archive, "id-7", NULL);
  }
  assert_string_equal (early->clock, "2026-11-25T15:00:00Z");
  assert_null (early->wrong);
  assert_null (later->clock);
  g_autofree char *told = verify (*state, NULL, &wrong);
  assert_string_equal (told, "");
  change (*state, "UPDATE inspection SET clock = NULL WHERE id = 'id-early'");
  check_tells (*state, "(id-early): edited");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_untouched, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_edited_record, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_edited_columns, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_edited_flags_and_sizes, set_up, tear_down),
    cmocka_unit_test (test_reading_checks),
    cmocka_unit_test_setup_teardown (test_reading_checks_pictures, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_damaged_picture_is_put_back, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_hostile_path, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_removed_rows, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_removed_and_renumbered, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_removed_last, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_inserted_rows, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_swapped_rows, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_swapped_contents, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_pictures, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_row_without_its_file, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_seals, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_folders, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_clock_set_back, set_up, tear_down),
  };
  /* What only a file has that anybody may write to. */
  const struct CMUnitTest of_a_file[] = {
    cmocka_unit_test_setup_teardown (test_an_archive_of_the_first_version, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_strange_tables, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_triggers_do_nothing, set_up, tear_down),
    cmocka_unit_test (test_the_heads_digest),
  };
  const int failed = cmocka_run_group_tests (of_a_file, NULL, NULL);
  return failed + run_on_both_engines (tests);
}
