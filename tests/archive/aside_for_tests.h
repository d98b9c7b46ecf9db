/*
 * An archive in a folder with room beside it, for what lies outside.
 */
#ifndef WS_ARCHIVE_ASIDE_FOR_TESTS_H
#define WS_ARCHIVE_ASIDE_FOR_TESTS_H

#include <unistd.h>

#include "archive/archive_for_tests.h"
#include "cli/run_for_tests.h"

/* In memory, where syncing takes no time. */
#define QUICK_FOLDER "/dev/shm"

typedef struct
{
  char *root;
  Fixture archive; /* ROOT/archive */
} Aside;

static inline int
set_up_aside (void **state)
{
  Aside *aside = g_new0 (Aside, 1);
  if (g_access (QUICK_FOLDER, W_OK) == 0)
    aside->root = g_mkdtemp (g_build_filename (QUICK_FOLDER, "whetsight-aside-XXXXXX", NULL));
  else
    aside->root = g_dir_make_tmp ("whetsight-aside-XXXXXX", NULL);
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

#endif
