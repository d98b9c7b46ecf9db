#include "archive/engine_postgresql.h"

#include <errno.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/postgresql_address.h"
#include "archive/postgresql_link.h"
#include "archive/postgresql_tables.h"

/* The oldest server whose tables can be as ours are. */
#define OLDEST_SERVER 130000

#define MODE_NEW_FOLDER 0777 /* less the umask */

static gboolean
check_server (WsPostgresql *pg, WsArchiveMode mode, GError **error)
{
  WsQuery *query =
    wsi_query_new (&pg->engine,
                   "SELECT current_setting ('fsync'), current_setting ('full_page_writes'),"
                   " current_setting ('server_encoding')",
                   WS_QUERY_ONCE);
  const gboolean read = wsi_step (query) == WS_QUERY_ROW;
  const char *wrong = NULL;
  if (PQserverVersion (pg->connection) < OLDEST_SERVER)
    wrong = "its server is too old; PostgreSQL 13 or newer is needed";
  else if (read && !g_str_equal (wsi_column_text (query, 2), "UTF8"))
    wrong = "its database isn't in UTF-8; make one that is";
  else if (read && mode == WS_ARCHIVE_WRITE &&
           (g_str_equal (wsi_column_text (query, 0), "off") ||
            g_str_equal (wsi_column_text (query, 1), "off")))
    wrong = "its server has fsync or full_page_writes off, so a power cut would take what it says "
            "is stored; switch them on";
  if (wrong != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "archive %s: %s", pg->engine.name, wrong);
  else if (!read)
    wsi_postgresql_refuse (&pg->engine, error);
  wsi_query_free (query);
  return read && wrong == NULL;
}

/* Where the pictures lie, and the form of the tables. */
static gboolean
read_plant (WsPostgresql *pg, GError **error)
{
  WsEngine *engine = &pg->engine;
  WsQuery *query = wsi_query_new (engine, "SELECT form, pictures FROM plant", WS_QUERY_ONCE);
  const gboolean read = wsi_step (query) == WS_QUERY_ROW;
  if (read)
  {
    engine->version = WS_VERSION_OF_ACCOUNTS;
    engine->pictures = g_strdup (wsi_column_text (query, 1));
  }
  if (read && wsi_column_integer (query, 0) > WS_POSTGRESQL_FORM)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: made by a newer version of this program (form %d); use that",
                 engine->name, (int)wsi_column_integer (query, 0));
  else if (!read && (g_str_equal (pg->state, "42P01") || g_str_equal (pg->state, "")))
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "%s: no archive there that this login may read; whetsight archive make makes one",
                 engine->name);
  else if (!read)
    wsi_postgresql_refuse (engine, error);
  const gboolean good = read && wsi_column_integer (query, 0) <= WS_POSTGRESQL_FORM;
  wsi_query_free (query);
  return good;
}

static WsPostgresql *
connect_to (const char *address, WsArchiveMode mode, GError **error)
{
  g_autoptr (GError) missing = NULL;
  if (!wsi_late_has_postgresql (&missing))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL,
                 "PostgreSQL's client library can't be opened, so that archives are in folders "
                 "only; install libpq5 (%s)",
                 missing->message);
    return NULL;
  }
  char *shown = wsi_postgresql_address_shown (address, error);
  if (shown == NULL)
    return NULL;
  WsPostgresql *pg = g_new0 (WsPostgresql, 1);
  pg->engine = (WsEngine){ .calls = &wsi_postgresql_calls, .name = shown, .like = "LIKE" };
  pg->plans = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  pg->connection = wsi_postgresql_connect (address);
  if (PQstatus (pg->connection) == CONNECTION_OK && wsi_postgresql_prepare_session (pg))
  {
    pg->engine.bench = wsi_postgresql_bench (pg->connection);
    return pg;
  }
  wsi_postgresql_note_failure (pg, NULL);
  g_set_error (error, WS_ERROR, mode == WS_ARCHIVE_READ ? WS_ERROR_NO_INPUT : WS_ERROR_CANT_WRITE,
               "archive %s: its server can't be reached: %s", shown, pg->what);
  wsi_engine_free (&pg->engine);
  return NULL;
}

WsEngine *
wsi_engine_postgresql_open (const char *address, WsArchiveMode mode, GError **error)
{
  WsPostgresql *pg = connect_to (address, mode, error);
  if (pg != NULL && check_server (pg, mode, error) && read_plant (pg, error))
    return &pg->engine;
  if (pg != NULL)
    wsi_engine_free (&pg->engine);
  return NULL;
}

/* ---- Making one ------------------------------------------------------------------------------ */

static gboolean
insert_plant (WsPostgresql *pg, const char *pictures, GError **error)
{
  WsQuery *query = wsi_query_new (
    &pg->engine, "INSERT INTO plant (one, form, pictures) VALUES (1, ?1, ?2)", WS_QUERY_ONCE);
  wsi_bind_integer (query, 1, WS_POSTGRESQL_FORM);
  wsi_bind_text (query, 2, pictures);
  const gboolean done =
    wsi_step (query) == WS_QUERY_DONE || wsi_postgresql_refuse (&pg->engine, error);
  wsi_query_free (query);
  return done;
}

/* All of it or nothing: the server keeps tables, too, out of what failed. */
static gboolean
make_tables (WsPostgresql *pg, const char *pictures, GError **error)
{
  if (wsi_postgresql_run (pg, "BEGIN", error) &&
      wsi_postgresql_run (pg, wsi_postgresql_tables, error) && insert_plant (pg, pictures, error) &&
      wsi_postgresql_run (pg, "COMMIT", error))
    return TRUE;
  wsi_postgresql_roll_back (&pg->engine);
  return FALSE;
}

static gboolean
make_folder (const char *pictures, GError **error)
{
  if (g_path_is_absolute (pictures) && g_mkdir_with_parents (pictures, MODE_NEW_FOLDER) == 0)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't be the folder of pictures: %s",
               pictures,
               g_path_is_absolute (pictures)
                 ? g_strerror (errno)
                 : "give its whole path, since each computer looks for it by that");
  return FALSE;
}

gboolean
wsi_engine_postgresql_make (const char *address, const char *pictures, GError **error)
{
  WsPostgresql *pg = connect_to (address, WS_ARCHIVE_WRITE, error);
  const gboolean made = pg != NULL && check_server (pg, WS_ARCHIVE_WRITE, error) &&
                        make_folder (pictures, error) && make_tables (pg, pictures, error);
  if (pg != NULL)
    wsi_engine_free (&pg->engine);
  return made;
}
