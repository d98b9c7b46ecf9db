/*
 * Command `archive pictures`, as it is called.
 */
#include "cli/program_for_tests.h"

#include "archive/sample_for_tests.h"

static char *
archive_with_a_picture (const Fixture *fixture)
{
  char *folder = file_in (fixture, "kept");
  g_autoptr (GBytes) original = g_bytes_new_static ("picture", strlen ("picture"));
  const Sample sample = { "id-1", "2026-11-25T10:15:02Z", "QT-D-0001", "accept", 118, original };
  const WsPictures pictures = { .original = original };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  assert_non_null (archive);
  assert_true (ws_archive_store (archive, inspection, &pictures, NULL));
  return folder;
}

static void
it_says_where_they_lie (void **state)
{
  g_autofree char *folder = archive_with_a_picture (*state);
  g_auto (Run) told = run ("archive", "pictures", folder, NULL);
  assert_int_equal (told.status, 0);
  assert_contains (told.out, "Pictures lie in the folder ");
  g_auto (Run) wrong = run ("archive", "pictures", NULL);
  assert_int_equal (wrong.status, 64);
}

/* Nobody listens there: nothing is changed, and no key is told. */
static void
a_store_that_is_down_changes_nothing (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *folder = archive_with_a_picture (fixture);
  g_autofree char *conf = file_in (fixture, "store.conf");
  g_autofree char *keys = file_in (fixture, "s3.keys");
  g_autofree char *text =
    g_strdup_printf ("[pictures]\nstore = http://127.0.0.1:9/pictures\nkeys = %s\n", keys);
  g_autofree char *kept = g_build_filename (folder, "pictures.conf", NULL);
  assert_true (g_file_set_contents (conf, text, -1, NULL));
  assert_true (g_file_set_contents (
    keys, "[default]\naws_access_key_id = ABC\naws_secret_access_key = not/told\n", -1, NULL));
  g_chmod (keys, 0600);
  g_auto (Run) down = run ("archive", "pictures", folder, "--move-to", conf, NULL);
  assert_true (down.status == 73 || strstr (down.err, "libcurl") != NULL);
  assert_lacks (down.err, "not/told");
  assert_false (g_file_test (kept, G_FILE_TEST_EXISTS));
  g_chmod (keys, 0644);
  g_auto (Run) open_keys = run ("archive", "pictures", folder, "--move-to", conf, NULL);
  assert_int_equal (open_keys.status, 65);
  assert_contains (open_keys.err, "others may read these keys");
  /* A store whose settings are wrong is told, and rows are read all the same. */
  assert_true (g_file_set_contents (kept, "[pictures]\nstore = ftp://x\n", -1, NULL));
  g_auto (Run) told = run ("archive", "pictures", folder, NULL);
  assert_int_equal (told.status, 65);
  g_auto (Run) list = run ("archive", "list", folder, NULL);
  assert_int_equal (list.status, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (it_says_where_they_lie, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_store_that_is_down_changes_nothing, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
