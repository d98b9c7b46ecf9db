/*
 * An archive of a few rows, and what somebody may do to it, for the tests of the archive: in a
 * folder, and on a server of the test's own where PostgreSQL is installed.
 */
#ifndef WS_ARCHIVE_ARCHIVE_FOR_TESTS_H
#define WS_ARCHIVE_ARCHIVE_FOR_TESTS_H

#include "base/testing.h"

#include <glib/gstdio.h>
#include <sqlite3.h>
#include <whetsight/archive.h>
#include <whetsight/error.h>

#include "archive/engines.h"
#include "archive/sample_for_tests.h"
#include "archive/server_for_tests.h"

#define N_ROWS 5

typedef struct
{
  char *folder;  /* of all, or of the pictures */
  char *address; /* of the archive: as a bench writes to it; NULL for the folder */
  char *owner;   /* the same as who may do anything; NULL in a folder */
  char *name;    /* of the database, or NULL */
} Fixture;

/* Those that a test's program started, or NULL: archives are in folders then. */
static inline Server **
the_server (void)
{
  static Server *server;
  return &server;
}

/* ---- On a server ----------------------------------------------------------------------------- */

static inline void
run_sql (const char *address, const char *sql)
{
  g_autofree char *quiet = NULL;
  g_autofree char *complaints = NULL;
  int status = -1;
  const char *const call[] = { SERVER_BIN "psql", "-qXv", "ON_ERROR_STOP=1", "-c", sql,
                               address,           NULL };
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_LEAVE_DESCRIPTORS_OPEN, NULL, NULL,
                             &quiet, &complaints, &status, NULL));
  if (status != 0)
    print_error ("%s\n%s", sql, complaints);
  assert_int_equal (status, 0);
}

/* `bench` as it stands in an address. */
static inline char *
address_as (const char *login, const char *database, const char *bench)
{
  return g_strdup_printf ("postgresql://%s@/%s?host=%s&application_name=%s", login, database,
                          (*the_server ())->folder, bench);
}

/* A database for each test; logins of two benches, and of one who only reads. */
static inline void
make_shared (Fixture *fixture)
{
  static guint n;
  g_autoptr (GError) error = NULL;
  g_autofree char *name = g_strdup_printf ("plant%u", n);
  g_autofree char *create = g_strdup_printf ("CREATE DATABASE %s", name);
  run_sql ((*the_server ())->address, create);
  fixture->name = g_steal_pointer (&name);
  fixture->owner = address_as ("plant", fixture->name, "owner");
  fixture->address = address_as ("bench", fixture->name, "bench%202");
  assert_true (wsi_engine_make (fixture->owner, fixture->folder, &error));
  if (n++ == 0)
    run_sql (fixture->owner, "CREATE ROLE bench LOGIN IN ROLE whetsight_bench;"
                             "CREATE ROLE other LOGIN IN ROLE whetsight_bench;"
                             "CREATE ROLE looker LOGIN IN ROLE whetsight_reader");
}

/* As the setup of a group of tests.  Tests that find no server are told as skipped. */
static inline int
begin_sharing (void **state)
{
  (void)state;
  *the_server () = g_new0 (Server, 1);
  server_start (*the_server (), NULL);
  return 0;
}

static inline int
end_sharing (void **state)
{
  (void)state;
  server_stop (*the_server ());
  g_clear_pointer (the_server (), g_free);
  return 0;
}

static inline gboolean
has_servers (void)
{
  g_autoptr (GError) error = NULL;
  WsArchive *none =
    ws_archive_open ("postgresql://nobody@/none?host=/nowhere", WS_ARCHIVE_READ, &error);
  ws_archive_free (none);
  const gboolean built = strstr (error->message, "without") == NULL;
  if (built && server_is_installed ())
    return TRUE;
  print_message ("SKIP: %s\n", built ? "no PostgreSQL server is installed"
                                     : "built without PostgreSQL's client library");
  return FALSE;
}

/* The same tests twice. */
#define run_on_both_engines(in_a_folder)                                                           \
  (cmocka_run_group_tests (in_a_folder, NULL, NULL) +                                              \
   (has_servers ()                                                                                 \
      ? cmocka_run_group_tests_name ("on a server", in_a_folder, begin_sharing, end_sharing)       \
      : 0))

/* ---- The fixture ----------------------------------------------------------------------------- */

static inline int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = quick_folder ();
  if (*the_server () != NULL)
    make_shared (fixture);
  else
    fixture->address = g_strdup (fixture->folder);
  *state = fixture;
  return 0;
}

static inline int
tear_down (void **state)
{
  Fixture *fixture = *state;
  sample_remove_tree (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture->address);
  g_free (fixture->owner);
  g_free (fixture->name);
  g_free (fixture);
  return 0;
}

static inline WsArchive *
open_archive (const Fixture *fixture, WsArchiveMode mode)
{
  g_autoptr (GError) error = NULL;
  const char *address = fixture->address != NULL ? fixture->address : fixture->folder;
  WsArchive *archive = ws_archive_open (address, mode, &error);
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

/* Whatever it is: as who may write to the folder, or as the database's owner. */
static inline void
change (const Fixture *fixture, const char *sql)
{
  sqlite3 *db = NULL;
  if (fixture->owner != NULL)
  {
    g_autofree char *within = g_strconcat ("SET search_path = whetsight; ", sql, NULL);
    run_sql (fixture->owner, within);
    return;
  }
  g_autofree char *path = g_build_filename (fixture->folder, "archive.db", NULL);
  assert_int_equal (sqlite3_open (path, &db), SQLITE_OK);
  assert_int_equal (sqlite3_exec (db, sql, NULL, NULL, NULL), SQLITE_OK);
  sqlite3_close (db);
}

/* Where tables differ: rows of many benches are found by their place in a bench's chain. */
static inline void
change_either (const Fixture *fixture, const char *in_a_folder, const char *on_a_server)
{
  change (fixture, fixture->owner != NULL ? on_a_server : in_a_folder);
}

#endif
