/*
 * An archive whose pictures lie in an object store.
 */
#include "archive/bucket_for_tests.h"

#include <whetsight/backup.h>
#include <whetsight/clear.h>

#include "archive/pictures_move.h"

static void
move (const Shop *shop)
{
  guint n = 0;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
  assert_true (wsi_pictures_move (archive, shop->conf, &n, &error));
  assert_null (error);
}

static void
remove_images (const Shop *shop)
{
  g_autofree char *images = g_build_filename (shop->archive->folder, "images", NULL);
  sample_remove_tree (images);
}

static void
an_archive_moves_its_pictures (void **state)
{
  Shop *shop = *state;
  guint64 n_wrong;
  need_curl ();
  fill (shop->archive);
  move (shop);
  remove_images (shop); /* nothing is in the folder any more */
  assert_int_equal (g_hash_table_size (shop->s3.objects), 2 * N_ROWS);
  g_autofree char *told = verify (shop->archive, NULL, &n_wrong);
  assert_string_equal (told, "");
  assert_int_equal (n_wrong, 0);
  {
    g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
    store_row (archive, 7, NULL);
    assert_int_equal (g_hash_table_size (shop->s3.objects), 2 * N_ROWS + 2);
    g_autofree char *local = g_build_filename (shop->archive->folder, "images", NULL);
    assert_false (g_file_test (local, G_FILE_TEST_EXISTS)); /* written to the store alone */
    g_autoptr (WsInspection) row = ws_archive_find (archive, "id-3", NULL);
    assert_null (ws_archive_check_pictures (archive, row));
    g_autofree char *path = ws_archive_picture_path (archive, row->image);
    g_autofree char *text = NULL;
    assert_true (g_file_get_contents (path, &text, NULL, NULL));
    assert_string_equal (text, "picture 3");
    assert_true (g_file_set_contents (path, "another", -1, NULL)); /* what was taken goes bad */
    g_autofree char *again = ws_archive_picture_path (archive, row->image);
    g_autofree char *text_again = NULL;
    assert_true (g_file_get_contents (again, &text_again, NULL, NULL));
    assert_string_equal (text_again, "picture 3");
  }
  g_autofree char *told_again = verify (shop->archive, NULL, &n_wrong);
  assert_string_equal (told_again, "");
}

static gboolean
put_row (const Shop *shop, GError **error)
{
  g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
  g_autoptr (GBytes) original = g_bytes_new_static ("picture 9", strlen ("picture 9"));
  const Sample sample = { "id-9", "2026-11-27T10:00:00Z", "QT-D-0009", "accept", 118, original };
  const WsPictures pictures = { .original = original };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  return ws_archive_store (archive, inspection, &pictures, error);
}

static guint64
count_rows (const Shop *shop)
{
  guint64 count;
  char hash[65];
  g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_READ);
  assert_true (ws_archive_head (archive, &count, hash, NULL));
  return count;
}

/* A row is only there once the store has its picture. */
static void
nothing_is_acknowledged_before_the_store_has_it (void **state)
{
  Shop *shop = *state;
  g_autoptr (GError) error = NULL;
  need_curl ();
  fill (shop->archive);
  move (shop);
  shop->s3.busy = 1000;
  assert_false (put_row (shop, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANT_WRITE));
  assert_int_equal (count_rows (shop), N_ROWS);
  shop->s3.busy = 0;
  g_clear_error (&error);
  shop->s3.drop = 1;
  assert_true (put_row (shop, &error));
  assert_int_equal (count_rows (shop), N_ROWS + 1);
  g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) row = ws_archive_find (archive, "id-9", NULL);
  assert_null (ws_archive_check_pictures (archive, row));
}

/* Altered, missing, and not to be told are three things. */
static void
what_is_wrong_in_the_store_is_told (void **state)
{
  Shop *shop = *state;
  guint64 n_wrong;
  need_curl ();
  fill (shop->archive);
  move (shop);
  remove_images (shop);
  shop->s3.alter = TRUE;
  g_autofree char *altered = verify (shop->archive, NULL, &n_wrong);
  assert_contains (altered, ": altered");
  assert_int_equal (n_wrong, 2 * N_ROWS);
  {
    g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_READ);
    g_autoptr (WsInspection) row = ws_archive_find (archive, "id-3", NULL);
    g_autofree char *path = ws_archive_picture_path (archive, row->image);
    assert_false (g_file_test (path, G_FILE_TEST_EXISTS)); /* nobody is shown it */
    g_autofree char *wrong = ws_archive_check_pictures (archive, row);
    assert_string_equal (wrong, "its picture was altered");
  }
  shop->s3.alter = FALSE;
  g_hash_table_remove_all (shop->s3.objects);
  g_autofree char *missing = verify (shop->archive, NULL, &n_wrong);
  assert_contains (missing, ": missing");
  write_keys (shop, "another", 0600);
  g_autofree char *refused = verify (shop->archive, NULL, &n_wrong);
  assert_contains (refused, "can't be checked");
  assert_lacks (refused, ": missing");
}

/* Without its keys rows are still read. */
static void
rows_are_read_without_the_store (void **state)
{
  Shop *shop = *state;
  g_autoptr (GError) error = NULL;
  need_curl ();
  fill (shop->archive);
  move (shop);
  g_remove (shop->keys);
  assert_int_equal (count_rows (shop), N_ROWS);
  assert_false (put_row (shop, &error));
  assert_contains (error->message, "s3.keys");
}

static void
a_store_that_answers_wrong_is_not_moved_to (void **state)
{
  Shop *shop = *state;
  guint n;
  g_autoptr (GError) error = NULL;
  need_curl ();
  fill (shop->archive);
  g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
  shop->s3.alter = TRUE;
  assert_false (wsi_pictures_move (archive, shop->conf, &n, &error));
  assert_contains (error->message, "doesn't come back");
  g_autofree char *conf = g_build_filename (shop->archive->folder, WS_PICTURES_NAME, NULL);
  assert_false (g_file_test (conf, G_FILE_TEST_EXISTS));
}

/* One that was open all along writes where pictures lie now. */
static void
who_has_it_open_follows (void **state)
{
  Shop *shop = *state;
  guint64 n_wrong;
  need_curl ();
  fill (shop->archive);
  {
    g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
    move (shop);
    store_row (archive, 7, NULL);
  }
  assert_int_equal (g_hash_table_size (shop->s3.objects), 2 * N_ROWS + 2);
  g_autofree char *told = verify (shop->archive, NULL, &n_wrong);
  assert_string_equal (told, "");
}

static void
note_told (const char *what, gpointer data)
{
  g_string_append_printf (data, "%s\n", what);
}

/* A rule takes pictures out of the store, too; rows and a note that says so stay. */
static void
a_rule_removes_pictures_from_the_store (void **state)
{
  Shop *shop = *state;
  guint64 n_wrong;
  WsCleared cleared;
  g_autoptr (GError) error = NULL;
  g_autoptr (GString) told = g_string_new (NULL);
  const WsVerifier verifier = { note_told, NULL, told };
  const WsClearRule rule = { .keep = "1d", .by = "M. Quill" };
  need_curl ();
  fill (shop->archive);
  move (shop);
  remove_images (shop);
  {
    g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
    store_row (archive, 60, NULL); /* two days later */
    assert_true (ws_archive_clear (archive, &rule, TRUE, &verifier, &cleared, &error));
    assert_int_equal (cleared.pictures, 2 * N_ROWS);
    assert_int_equal (g_hash_table_size (shop->s3.objects), 2 * N_ROWS + 2); /* dry */
    assert_true (ws_archive_clear (archive, &rule, FALSE, &verifier, &cleared, &error));
  }
  assert_string_equal (told->str, "");
  assert_int_equal (cleared.pictures, 2 * N_ROWS);
  assert_true (cleared.bytes > 0);
  assert_int_equal (g_hash_table_size (shop->s3.objects), 2);
  g_autofree char *wrong = verify (shop->archive, NULL, &n_wrong);
  assert_string_equal (wrong, "");
}

/* A copy has its pictures in its own folder. */
static void
a_copy_takes_pictures_from_the_store (void **state)
{
  Shop *shop = *state;
  guint64 n_wrong;
  WsBackup copied;
  g_autoptr (GError) error = NULL;
  g_autoptr (GString) told = g_string_new (NULL);
  const WsVerifier verifier = { note_told, NULL, told };
  Fixture copy = { .folder = g_build_filename (shop->root, "copy", NULL) };
  copy.address = copy.folder;
  need_curl ();
  fill (shop->archive);
  move (shop);
  remove_images (shop);
  assert_true (ws_archive_backup (shop->archive->folder, copy.folder, &verifier, &copied, &error));
  assert_int_equal (copied.copied, 2 * N_ROWS);
  http_server_free (g_steal_pointer (&shop->server));
  g_autofree char *wrong = verify (&copy, NULL, &n_wrong);
  assert_string_equal (wrong, "");
  g_free (copy.folder);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (an_archive_moves_its_pictures, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (nothing_is_acknowledged_before_the_store_has_it, set_up_shop,
                                     tear_down_shop),
    cmocka_unit_test_setup_teardown (what_is_wrong_in_the_store_is_told, set_up_shop,
                                     tear_down_shop),
    cmocka_unit_test_setup_teardown (rows_are_read_without_the_store, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (a_store_that_answers_wrong_is_not_moved_to, set_up_shop,
                                     tear_down_shop),
    cmocka_unit_test_setup_teardown (who_has_it_open_follows, set_up_shop, tear_down_shop),
  };
  const struct CMUnitTest in_a_folder[] = {
    cmocka_unit_test_setup_teardown (a_rule_removes_pictures_from_the_store, set_up_shop,
                                     tear_down_shop),
    cmocka_unit_test_setup_teardown (a_copy_takes_pictures_from_the_store, set_up_shop,
                                     tear_down_shop),
  };
  return run_on_both_engines (tests) + cmocka_run_group_tests (in_a_folder, NULL, NULL);
}
