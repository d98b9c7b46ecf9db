/*
 * Pictures that lie in an object store, measured again: fetched, and not kept.
 */
#include "archive/bucket_for_tests.h"

#include "cli/run_for_tests.h"

#define SCALE "0.0142302632"

static const char picture[] = WS_SOURCE_DIR "/images/good-118.png";
static const char card[] = WS_SOURCE_DIR "/images/QT-D-0118.tool";

static guint
count_files (const char *folder)
{
  guint n = 0;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    n += g_file_test (path, G_FILE_TEST_IS_DIR) ? count_files (path) : 1;
  }
  return n;
}

static void
pictures_are_fetched_and_not_kept (void **state)
{
  Shop *shop = *state;
  need_curl ();
  if (g_getenv ("WHETSIGHT") == NULL)
    skip_for ("SKIP: WHETSIGHT isn't set");
  const char *folder = shop->archive->folder;
  g_autofree char *images = g_build_filename (folder, "images", NULL);
  g_auto (Run) measured = run ("measure", "--json", "--tool", card, "--scale", SCALE, "--archive",
                               folder, picture, picture, NULL);
  assert_int_equal (measured.status, 0);
  g_auto (Run) moved = run ("archive", "pictures", folder, "--move-to", shop->conf, NULL);
  assert_int_equal (moved.status, 0);
  sample_remove_tree (images);
  const guint before = shop->s3.n_get;
  g_auto (Run) dry = run ("remeasure", "--archive", folder, "--cards", card, "--dry-run", NULL);
  assert_string_equal (dry.out, "2 would be measured again, 0 are already\n");
  assert_int_equal (shop->s3.n_get, before);
  g_auto (Run) again = run ("remeasure", "--archive", folder, "--cards", card, NULL);
  assert_string_equal (again.out, "2 measured again, 0 were already; verdicts changed: 0\n");
  assert_true (shop->s3.n_get > before);
  assert_int_equal (count_files (images), 0);
  const guint measured_by = shop->s3.n_get;
  g_auto (Run) once_more = run ("remeasure", "--archive", folder, "--cards", card, NULL);
  assert_string_equal (once_more.out, "0 measured again, 2 were already; verdicts changed: 0\n");
  assert_int_equal (shop->s3.n_get, measured_by);
}

/* What the store has altered is told, and nothing is measured. */
static void
altered_pictures_are_told (void **state)
{
  Shop *shop = *state;
  need_curl ();
  if (g_getenv ("WHETSIGHT") == NULL)
    skip_for ("SKIP: WHETSIGHT isn't set");
  const char *folder = shop->archive->folder;
  g_autofree char *images = g_build_filename (folder, "images", NULL);
  g_auto (Run) measured =
    run ("measure", "--json", "--tool", card, "--scale", SCALE, "--archive", folder, picture, NULL);
  assert_int_equal (measured.status, 0);
  g_auto (Run) moved = run ("archive", "pictures", folder, "--move-to", shop->conf, NULL);
  assert_int_equal (moved.status, 0);
  sample_remove_tree (images);
  shop->s3.alter = TRUE;
  g_auto (Run) again = run ("remeasure", "--archive", folder, "--cards", card, NULL);
  assert_int_equal (again.status, 65);
  assert_contains (again.err, "its picture was altered");
  assert_contains (again.out, "0 measured again");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (pictures_are_fetched_and_not_kept, set_up_shop,
                                     tear_down_shop),
    cmocka_unit_test_setup_teardown (altered_pictures_are_told, set_up_shop, tear_down_shop),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
