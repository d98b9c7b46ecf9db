/*
 * An archive in a folder with room beside it, for what lies outside.
 */
#ifndef WS_ARCHIVE_ASIDE_FOR_TESTS_H
#define WS_ARCHIVE_ASIDE_FOR_TESTS_H

#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include "archive/archive_for_tests.h"
#include "cli/run_for_tests.h"

typedef struct
{
  char *root;
  Fixture archive; /* ROOT/archive */
} Aside;

static inline int
set_up_aside (void **state)
{
  Aside *aside = g_new0 (Aside, 1);
  aside->root = quick_folder ();
  aside->archive.folder = g_build_filename (aside->root, "archive", NULL);
  fill (&aside->archive);
  *state = aside;
  return g_getenv ("WHETSIGHT") == NULL;
}

static inline int
tear_down_aside (void **state)
{
  Aside *aside = *state;
  sample_remove_tree (aside->root);
  g_free (aside->root);
  g_free (aside->archive.folder);
  g_free (aside);
  return 0;
}

/* Free with g_free(). */
static inline char *
beside (const Aside *aside, const char *name)
{
  return g_build_filename (aside->root, name, NULL);
}

/* `to` becomes what `from` is, whatever it was. */
static inline void
copy_folder (const char *from, const char *to)
{
  const char *const call[] = { "cp", "-a", from, to, NULL };
  int status;
  sample_remove_tree (to);
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL, NULL,
                             &status, NULL));
  assert_int_equal (status, 0);
}

static inline void
store_more (const Aside *aside, int from, int to)
{
  g_autoptr (WsArchive) archive = open_archive (&aside->archive, WS_ARCHIVE_WRITE);
  for (int i = from; i <= to; i++)
    store_row (archive, i, NULL);
}

/* ---- Programs that are to die -----------------------------------------------------------------
 */

/* WHETSIGHT_KILLS, `otherwise` when it isn't set. */
static inline guint
n_kills (guint otherwise)
{
  const char *setting = g_getenv ("WHETSIGHT_KILLS");
  return setting != NULL ? (guint)atoi (setting) : otherwise;
}

/* Every other one has a disk that fails, or kills it in the middle of a write. */
static inline gboolean
dies_by_itself (guint i)
{
  return g_getenv ("WHETSIGHT_FAULT") != NULL && i % 2 == 1;
}

/* Starts the program with these arguments, which end in NULL; it dies by itself, or fails, at a
 * write below `under`, or has to be killed.  One as good as done may end well. */
static inline pid_t
start_to_die (const char *const *arguments, const char *under, guint i)
{
  const pid_t pid = fork ();
  if (pid != 0)
    return pid;
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  g_autofree char *seed = g_strdup_printf ("%u", i + 1);
  const int nowhere = open ("/dev/null", O_WRONLY);
  g_ptr_array_add (call, (gpointer)g_getenv ("WHETSIGHT"));
  for (; *arguments != NULL; arguments++)
    g_ptr_array_add (call, (gpointer)*arguments);
  g_ptr_array_add (call, NULL);
  dup2 (nowhere, STDOUT_FILENO);
  dup2 (nowhere, STDERR_FILENO);
  if (dies_by_itself (i))
  {
    g_setenv ("LD_PRELOAD", g_getenv ("WHETSIGHT_FAULT"), TRUE);
    g_setenv ("ASAN_OPTIONS", "verify_asan_link_order=0", TRUE);
    g_setenv ("WS_FAULT_UNDER", under, TRUE);
    g_setenv ("WS_FAULT_KILL", "2000", TRUE);
    g_setenv ("WS_FAULT_RATE", i % 4 == 1 ? "1000" : "0", TRUE);
    g_setenv ("WS_FAULT_SEED", seed, TRUE);
  }
  execv (g_getenv ("WHETSIGHT"), (char **)call->pdata);
  _exit (127);
}

/* Rows of what is there, -1 for no archive; what looks whole has to be. */
static inline int
count_whole (const char *folder)
{
  WsVerification found;
  g_autoptr (GError) error = NULL;
  g_autoptr (GString) lines = g_string_new (NULL);
  const WsVerifier verifier = { collect, NULL, lines };
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, &error);
  if (archive == NULL)
  {
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
    return -1;
  }
  assert_true (ws_archive_verify (archive, NULL, &verifier, &found, &error));
  assert_string_equal (lines->str, "");
  return (int)found.rows;
}

/* A database that nobody has written to yet, or that was being made, is none. */
static inline int
count_if_there (const char *folder)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, NULL);
  return archive != NULL ? count_whole (folder) : -1;
}

#endif
