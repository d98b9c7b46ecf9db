/*
 * An archive of a few rows, and what somebody may do to it, for the tests of the archive.
 */
#ifndef WS_ARCHIVE_ARCHIVE_FOR_TESTS_H
#define WS_ARCHIVE_ARCHIVE_FOR_TESTS_H

#include "base/testing.h"

#include <glib/gstdio.h>
#include <sqlite3.h>
#include <whetsight/archive.h>
#include <whetsight/error.h>

#include "archive/sample_for_tests.h"

#define N_ROWS 5

typedef struct
{
  char *folder;
} Fixture;

static inline int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = quick_folder ();
  *state = fixture;
  return 0;
}

static inline int
tear_down (void **state)
{
  Fixture *fixture = *state;
  sample_remove_tree (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture);
  return 0;
}

static inline WsArchive *
open_archive (const Fixture *fixture, WsArchiveMode mode)
{
  g_autoptr (GError) error = NULL;
  WsArchive *archive = ws_archive_open (fixture->folder, mode, &error);
  assert_null (error);
  assert_non_null (archive);
  return archive;
}

/* Row i: tool QT-D-000i, point angle 117 + i (and a bit, so that those from the third on are
 * rejected), times one hour apart. */
static inline void
store_row (WsArchive *archive, int i, WsInspection **stored)
{
  g_autofree char *id = g_strdup_printf ("id-%d", i);
  g_autofree char *time =
    g_strdup_printf ("2026-11-%02dT%02d:00:00Z", 25 + (10 + i) / 24, (10 + i) % 24);
  g_autofree char *tool = g_strdup_printf ("QT-D-000%d", i);
  g_autofree char *bytes = g_strdup_printf ("picture %d", i);
  g_autofree char *drawn = g_strdup_printf ("drawn on %d", i);
  g_autoptr (GBytes) original = g_bytes_new (bytes, strlen (bytes));
  g_autoptr (GBytes) annotated = g_bytes_new (drawn, strlen (drawn));
  const Sample sample = {
    id, time, tool, i > 2 ? "reject" : "accept", i > 2 ? 117.06 + i : 117.0 + i, original
  };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autoptr (GError) error = NULL;
  const WsPictures pictures = { .original = original, .annotated = annotated };
  assert_true (ws_archive_store (archive, inspection, &pictures, &error));
  if (stored != NULL)
    *stored = g_steal_pointer (&inspection);
}

static inline void
fill (const Fixture *fixture)
{
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  for (int i = 1; i <= N_ROWS; i++)
    store_row (archive, i, NULL);
}

static inline void
collect (const char *what, gpointer data)
{
  g_string_append_printf (data, "%s\n", what);
}

/* What verify tells, one a line; free with g_free(). */
static inline char *
verify (const Fixture *fixture, const char *seal, guint64 *n_wrong)
{
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  g_autoptr (GError) error = NULL;
  WsVerification found;
  GString *told = g_string_new (NULL);
  const WsVerifier verifier = { collect, NULL, told };
  assert_true (ws_archive_verify (archive, seal, &verifier, &found, &error));
  *n_wrong = found.wrong;
  return g_string_free (told, FALSE);
}

static inline void
change (const Fixture *fixture, const char *sql)
{
  sqlite3 *db = NULL;
  g_autofree char *path = g_build_filename (fixture->folder, "archive.db", NULL);
  assert_int_equal (sqlite3_open (path, &db), SQLITE_OK);
  assert_int_equal (sqlite3_exec (db, sql, NULL, NULL, NULL), SQLITE_OK);
  sqlite3_close (db);
}

#endif
