#include "base/testing.h"

#include <glib/gstdio.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <whetsight/error.h>

#include "base/file.h"

static int
set_up (void **state)
{
  *state = g_dir_make_tmp ("whetsight-file-XXXXXX", NULL);
  return *state == NULL;
}

static int
tear_down (void **state)
{
  g_rmdir (*state);
  g_free (*state);
  return 0;
}

static guint
count_files (const char *folder)
{
  guint n = 0;
  GDir *dir = g_dir_open (folder, 0, NULL);
  while (g_dir_read_name (dir) != NULL)
    n++;
  g_dir_close (dir);
  return n;
}

static void
test_writes_and_replaces (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.json", NULL);
  g_autofree char *text = NULL;
  gsize length;
  assert_true (wsi_file_save (path, "old and longer", 14, NULL));
  assert_true (wsi_file_save (path, "n\0w", 3, NULL));
  assert_true (g_file_get_contents (path, &text, &length, NULL));
  assert_int_equal (length, 3);
  assert_memory_equal (text, "n\0w", 3);
  assert_int_equal (count_files (*state), 1);
  g_unlink (path);
}

static void
test_an_empty_file (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.json", NULL);
  GStatBuf status;
  assert_true (wsi_file_save (path, "", 0, NULL));
  assert_int_equal (g_stat (path, &status), 0);
  assert_int_equal (status.st_size, 0);
  g_unlink (path);
}

static void
test_a_missing_folder (void **state)
{
  g_autofree char *path = g_build_filename (*state, "none", "a.json", NULL);
  g_autoptr (GError) error = NULL;
  assert_false (wsi_file_save (path, "x", 1, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANT_WRITE));
  assert_contains (error->message, path);
  assert_lacks (error->message, "\n");
}

/* A file that grows beyond the limit stands in for a full disk. */
static int
fill_the_disk (const char *path)
{
  static const char bytes[65536];
  pid_t child = fork ();
  if (child == 0)
  {
    signal (SIGXFSZ, SIG_IGN);
    struct rlimit limit = { 4096, 4096 };
    setrlimit (RLIMIT_FSIZE, &limit);
    GError *error = NULL;
    gboolean saved = wsi_file_save (path, bytes, sizeof bytes, &error);
    _exit (!saved && g_error_matches (error, WS_ERROR, WS_ERROR_CANT_WRITE) ? 0 : 1);
  }
  int status;
  waitpid (child, &status, 0);
  return WIFEXITED (status) ? WEXITSTATUS (status) : 99;
}

static void
test_failure_leaves_the_old_file (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.json", NULL);
  g_autofree char *text = NULL;
  assert_true (wsi_file_save (path, "old", 3, NULL));
  assert_int_equal (fill_the_disk (path), 0);
  assert_true (g_file_get_contents (path, &text, NULL, NULL));
  assert_string_equal (text, "old");
  assert_int_equal (count_files (*state), 1);
  g_unlink (path);
}

/* rename() refuses: nothing is left behind. */
static void
test_a_folder_in_the_way (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.json", NULL);
  g_autoptr (GError) error = NULL;
  assert_int_equal (g_mkdir (path, 0700), 0);
  assert_false (wsi_file_save (path, "x", 1, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANT_WRITE));
  assert_int_equal (count_files (*state), 1);
  g_rmdir (path);
}

static void
test_reads_text (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.txt", NULL);
  g_autoptr (GError) error = NULL;
  assert_true (wsi_file_save (path, "ten bytes\n", 10, NULL));
  g_autofree char *text = wsi_file_read_text (path, "list", 10, &error);
  assert_null (error);
  assert_string_equal (text, "ten bytes\n");

  assert_null (wsi_file_read_text (path, "list", 9, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  assert_contains (error->message, "a.txt: not a list");
  g_clear_error (&error);

  assert_true (wsi_file_save (path, "n\0l", 3, NULL));
  assert_null (wsi_file_read_text (path, "list", 10, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  g_unlink (path);
}

static void
test_reads_long_text (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.txt", NULL);
  /* About and beyond the blocks it is read in. */
  static const gsize sizes[] = { 16383, 16384, 16385, 32768, 50000 };
  for (gsize i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    const gsize n = sizes[i];
    g_autofree char *long_text = g_strnfill (n, 'x');
    assert_true (wsi_file_save (path, long_text, n, NULL));
    g_autofree char *text = wsi_file_read_text (path, "list", n, NULL);
    assert_string_equal (text, long_text);
    assert_null (wsi_file_read_text (path, "list", n - 1, NULL));
  }
  g_unlink (path);
}

static void
test_what_is_not_there (void **state)
{
  g_autofree char *path = g_build_filename (*state, "a.txt", NULL);
  const char *const missing[] = { path, *state };
  for (gsize i = 0; i < G_N_ELEMENTS (missing); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (wsi_file_read_text (missing[i], "list", 10, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
    assert_contains (error->message, "no such list");
  }
}

/* Whole when it is finished; nothing when it isn't, and what was there stays. */
static void
test_pieces (void **state)
{
  const char *folder = *state;
  g_autofree char *path = g_build_filename (folder, "pieces", NULL);
  g_autofree char *text = NULL;
  for (guint finish = 0; finish < 2; finish++)
  {
    g_autoptr (WsFilePieces) pieces = wsi_file_pieces_new (path, NULL);
    assert_true (wsi_file_pieces_add (pieces, "one ", 4, NULL));
    assert_true (wsi_file_pieces_add (pieces, "two", 3, NULL));
    assert_false (g_file_test (path, G_FILE_TEST_EXISTS));
    assert_int_equal (count_files (folder), 1);
    assert_true (finish == 0 || wsi_file_pieces_finish (pieces, NULL));
  }
  assert_true (g_file_get_contents (path, &text, NULL, NULL));
  assert_string_equal (text, "one two");
  assert_int_equal (count_files (folder), 1);
  g_unlink (path);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_writes_and_replaces),
    cmocka_unit_test (test_an_empty_file),
    cmocka_unit_test (test_pieces),
    cmocka_unit_test (test_a_missing_folder),
    cmocka_unit_test (test_failure_leaves_the_old_file),
    cmocka_unit_test (test_a_folder_in_the_way),
    cmocka_unit_test (test_reads_text),
    cmocka_unit_test (test_reads_long_text),
    cmocka_unit_test (test_what_is_not_there),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
