/*
 * Benches with archives of their own and a centre on PostgreSQL, and what both hold, read past the
 * program: SQLite's and PostgreSQL's own words for it.
 */
#ifndef WS_ARCHIVE_PLANT_FOR_TESTS_H
#define WS_ARCHIVE_PLANT_FOR_TESTS_H

#include <sqlite3.h>

#include "aside_for_tests.h"
#include "server_for_tests.h"

#define BENCHES 2

/* All that rows and their quantities say, a line each: of number or place, joined by these, where.
 */
#define ROWS_SQL                                                                                   \
  "SELECT %1$s || '|' || id || '|' || time || '|' || coalesce (tool, '-') || '|' || kind || '|' "  \
  "|| view || '|' || coalesce (verdict, '-') || '|' || coalesce (reason, '-') || '|' ||"           \
  " coalesce (image_name, '-') || '|' || coalesce (image, '-') || '|' ||"                          \
  " coalesce (annotated, '-') || '|' || coalesce (settings, '-') || '|' ||"                        \
  " coalesce (station, '-') || '|' || coalesce (grinder, '-') || '|' || reground || '|' ||"        \
  " pictures || '|' || previous || '|' || hash || '|' || coalesce (imported, '-') || '|' ||"       \
  " coalesce (clock, '-') || '|' || coalesce (about, '-') || '|' || record"                        \
  " FROM inspection JOIN record USING (%2$s) WHERE %3$s ORDER BY %1$s"
#define QUANTITIES_SQL                                                                             \
  "SELECT %1$s || '|' || name || '|' || coalesce (CAST (round (value * 100000) AS INTEGER), -1) "  \
  "|| '|'"                                                                                         \
  " || coalesce (CAST (round (U * 100000) AS INTEGER), -1) || '|' ||"                              \
  " coalesce (CAST (round (lower * 100000) AS INTEGER), -1) || '|' ||"                             \
  " coalesce (CAST (round (upper * 100000) AS INTEGER), -1) || '|' || coalesce "                   \
  "(quantity.verdict, '-')"                                                                        \
  " FROM inspection JOIN quantity USING (%2$s) WHERE %3$s ORDER BY %1$s, name"

/* One server for all tests of a program, a database a test. */
typedef struct
{
  Server *server; /* NULL where none can be started */
  Aside *aside;   /* bench 1 lies in ROOT/archive, bench 2 in ROOT/other */
  Fixture benches[BENCHES];
  char *pictures;       /* the folder of the centre's */
  char *owner, *centre; /* its addresses: of who made it, and of a bench */
  GRand *rand;
  int written; /* rows in all, for their names */
} Plant;

static inline const char *
bench_name (int bench)
{
  static const char *const names[BENCHES] = { "bench 1", "bench 2" };
  return names[bench];
}

/* Of the centre; free with g_free(). */
static inline char *
ask_centre (const Plant *plant, const char *sql)
{
  char *said = NULL;
  int status;
  const char *const call[] = { SERVER_BIN "psql", "-XAtq", plant->owner, "-c", sql, NULL };
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_LEAVE_DESCRIPTORS_OPEN, NULL, NULL,
                             &said, NULL, &status, NULL));
  assert_int_equal (status, 0);
  return said;
}

/* "postgresql://LOGIN@/DATABASE?host=…"; free with g_free(). */
static inline char *
address_of (const Server *server, const char *login, const char *database)
{
  return g_strdup_printf ("postgresql://%s@/%s?host=%s", login, database, server->folder);
}

/* A database of its own, with an archive. */
static inline void
make_centre (Plant *plant)
{
  static guint n;
  g_autofree char *database = g_strdup_printf ("plant_%u", ++n);
  g_autofree char *sql = g_strdup_printf ("CREATE DATABASE %s", database);
  plant->owner = g_strdup (plant->server->address);
  g_free (ask_centre (plant, sql));
  g_free (plant->owner);
  plant->owner = address_of (plant->server, "plant", database);
  plant->centre = address_of (plant->server, "bench", database);
  g_auto (Run) made = run ("archive", "make", plant->owner, "--pictures", plant->pictures, NULL);
  if (made.status != 0)
    print_error ("%s", made.err);
  assert_int_equal (made.status, 0);
  g_free (ask_centre (plant, "SET client_min_messages = error; GRANT whetsight_bench TO bench"));
}

static inline int
start_server (void **state)
{
  if (!server_is_installed () || g_getenv ("WHETSIGHT") == NULL)
    return 0;
  Server *server = g_new (Server, 1);
  Plant first = { .server = server };
  server_start (server, NULL);
  first.owner = server->address;
  g_free (ask_centre (&first, "CREATE ROLE bench LOGIN"));
  g_free (ask_centre (&first, "ALTER ROLE plant SET search_path = whetsight, public"));
  *state = server;
  return 0;
}

static inline int
stop_server (void **state)
{
  if (*state != NULL)
    server_stop (*state);
  g_free (*state);
  return 0;
}

static inline int
set_up_plant (void **state)
{
  Plant *plant = g_new0 (Plant, 1);
  plant->server = *state;
  *state = plant;
  if (plant->server == NULL)
    return 0;
  set_up_aside ((void **)&plant->aside);
  plant->benches[0].folder = g_strdup (plant->aside->archive.folder);
  plant->benches[1].folder = beside (plant->aside, "other");
  plant->pictures = beside (plant->aside, "pictures");
  plant->rand = g_rand_new_with_seed (20);
  plant->written = 100;
  make_centre (plant);
  return 0;
}

static inline int
tear_down_plant (void **state)
{
  Plant *plant = *state;
  if (plant->aside != NULL)
  {
    tear_down_aside ((void **)&plant->aside);
    g_rand_free (plant->rand);
  }
  for (int i = 0; i < BENCHES; i++)
    g_free (plant->benches[i].folder);
  g_free (plant->pictures);
  g_free (plant->owner);
  g_free (plant->centre);
  g_free (plant);
  return 0;
}

/* Call first: the test is skipped where there is no server. */
#define need_server(plant)                                                                         \
  do                                                                                               \
    if ((plant)->aside == NULL)                                                                    \
      skip_for ("SKIP: PostgreSQL 15's server isn't installed, or WHETSIGHT isn't set");           \
  while (0)

/* ---- What is there --------------------------------------------------------------------------- */

static inline int
add_line (void *data, int n, char **values, char **names)
{
  (void)n;
  (void)names;
  g_string_append_printf (data, "%s\n", values[0] != NULL ? values[0] : "NULL");
  return 0;
}

/* Of a bench's archive; free with g_free(). */
static inline char *
ask_bench (const Fixture *bench, const char *sql)
{
  sqlite3 *db = NULL;
  GString *text = g_string_new (NULL);
  g_autofree char *path = g_build_filename (bench->folder, "archive.db", NULL);
  assert_int_equal (sqlite3_open (path, &db), SQLITE_OK);
  assert_int_equal (sqlite3_exec (db, sql, add_line, text, NULL), SQLITE_OK);
  sqlite3_close (db);
  return g_string_free (text, FALSE);
}

/* The first so many rows of a bench's archive with their quantities; free with g_free(). */
static inline char *
chain_here (const Plant *plant, int bench, int rows)
{
  g_autofree char *which = g_strdup_printf ("number <= %d", rows);
  g_autofree char *rows_sql = g_strdup_printf (ROWS_SQL, "number", "number", which);
  g_autofree char *quantities_sql = g_strdup_printf (QUANTITIES_SQL, "number", "number", which);
  g_autofree char *text = ask_bench (&plant->benches[bench], rows_sql);
  g_autofree char *quantities = ask_bench (&plant->benches[bench], quantities_sql);
  return g_strconcat (text, "\n", quantities, NULL);
}

static inline int
count_here (const Plant *plant, int bench)
{
  g_autofree char *n = ask_bench (&plant->benches[bench], "SELECT count (*) FROM inspection");
  return atoi (n);
}

/* The same of its chain at the centre. */
static inline char *
chain_there (const Plant *plant, int bench)
{
  g_autofree char *of = g_strdup_printf ("bench = '%s'", bench_name (bench));
  g_autofree char *rows_sql = g_strdup_printf (ROWS_SQL, "place", "number, month", of);
  g_autofree char *quantities_sql = g_strdup_printf (QUANTITIES_SQL, "place", "number, month", of);
  g_autofree char *text = ask_centre (plant, rows_sql);
  g_autofree char *quantities = ask_centre (plant, quantities_sql);
  return g_strconcat (text, "\n", quantities, NULL);
}

static inline int
count_there (const Plant *plant, int bench)
{
  g_autofree char *sql =
    g_strdup_printf ("SELECT count (*) FROM inspection WHERE bench = '%s'", bench_name (bench));
  g_autofree char *n = ask_centre (plant, sql);
  return atoi (n);
}

/* Every picture that rows at the centre name lies there, as it was. */
static inline void
expect_pictures (const Plant *plant)
{
  g_autofree char *names = ask_centre (
    plant, "SELECT sha256 FROM (SELECT image AS sha256 FROM inspection WHERE pictures = 1 UNION"
           " SELECT annotated FROM inspection WHERE pictures = 1) AS named"
           " LEFT JOIN file USING (sha256) WHERE sha256 IS NOT NULL AND size IS NULL");
  assert_string_equal (names, "");
  g_autofree char *kept = ask_centre (plant, "SELECT sha256 FROM file");
  g_auto (GStrv) list = g_strsplit (kept, "\n", -1);
  for (gsize i = 0; list[i] != NULL && *list[i] != '\0'; i++)
  {
    char hash[WS_SHA256_HEX_SIZE];
    g_autofree char *path =
      g_strdup_printf ("%s/images/%.2s/%s", plant->pictures, list[i], list[i]);
    assert_true (wsi_sha256_file (path, NULL, hash));
    assert_string_equal (hash, list[i]);
  }
}

/* What the centre has of a bench is what the bench's archive begins with; returns how many rows. */
static inline int
expect_beginning (const Plant *plant, int bench)
{
  const int n = count_there (plant, bench);
  if (n == 0)
    return 0;
  g_autofree char *there = chain_there (plant, bench);
  g_autofree char *here = chain_here (plant, bench, n);
  assert_string_equal (there, here);
  expect_pictures (plant);
  return n;
}

static inline void
expect_all (const Plant *plant, int bench)
{
  assert_int_equal (expect_beginning (plant, bench), count_here (plant, bench));
}

#endif
