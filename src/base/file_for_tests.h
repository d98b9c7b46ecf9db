/*
 * A folder with one file, for tests that read what they write there.
 */
#ifndef WS_BASE_FILE_FOR_TESTS_H
#define WS_BASE_FILE_FOR_TESTS_H

#include "base/testing.h"

#include <glib/gstdio.h>

typedef struct
{
  char *folder;
  char *path; /* of the file, which isn't there yet */
} Fixture;

static inline int
file_set_up (void **state, const char *name)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  *state = fixture;
  if (fixture->folder != NULL)
    fixture->path = g_build_filename (fixture->folder, name, NULL);
  return fixture->folder == NULL;
}

static inline int
file_tear_down (void **state)
{
  Fixture *fixture = *state;
  g_unlink (fixture->path);
  g_rmdir (fixture->folder);
  g_free (fixture->path);
  g_free (fixture->folder);
  g_free (fixture);
  return 0;
}

#endif
