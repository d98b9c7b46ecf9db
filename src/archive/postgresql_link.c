#include "archive/postgresql_link.h"

#include <string.h>

#include <whetsight/error.h>

/* ---- Failures -------------------------------------------------------------------------------- */

/* The first line, without the full stop that some end in. */
static char *
first_line (const char *text)
{
  g_auto (GStrv) lines = g_strsplit (text != NULL ? text : "", "\n", 2);
  g_autofree char *line = g_strdup (lines[0] != NULL ? g_strstrip (lines[0]) : "");
  return g_utf8_make_valid (line, -1);
}

void
wsi_postgresql_note_failure (WsPostgresql *pg, const PGresult *result)
{
  const char *state = PQresultErrorField (result, PG_DIAG_SQLSTATE);
  const char *what = PQresultErrorField (result, PG_DIAG_MESSAGE_PRIMARY);
  g_free (pg->what);
  g_strlcpy (pg->state, state != NULL ? state : "", sizeof pg->state);
  /* What the server didn't say, this end did: there is nobody at the other. */
  pg->lost = pg->lost || state == NULL || strncmp (state, "57P", 3) == 0 ||
             strncmp (state, "08", 2) == 0 || PQstatus (pg->connection) != CONNECTION_OK;
  pg->what = first_line (what != NULL ? what : PQerrorMessage (pg->connection));
}

gboolean
wsi_postgresql_succeed (WsPostgresql *pg, PGresult *result)
{
  const ExecStatusType status = PQresultStatus (result);
  const gboolean done = status == PGRES_TUPLES_OK || status == PGRES_COMMAND_OK;
  if (!done)
    wsi_postgresql_note_failure (pg, result);
  PQclear (result);
  return done;
}

typedef struct
{
  const char *state; /* or what it begins with */
  WsErrorCode code;
  const char *words;
} Cause;

static const Cause causes[] = {
  { "53100", WS_ERROR_CANT_WRITE, "its server's disk is full" },
  { "53300", WS_ERROR_CANT_WRITE, "its server has too many connections; try again" },
  { "55P03", WS_ERROR_CANT_WRITE, "others kept it locked for a minute; try again" },
  { "40", WS_ERROR_CANT_WRITE, "others were in the way; try again" },
  { "42501", WS_ERROR_CANT_WRITE, "this login may not do that" },
  { "25006", WS_ERROR_CANT_WRITE, "its server only answers, and takes nothing now" },
  { "WS001", WS_ERROR_CANT_WRITE, "another login writes as this bench" },
  { "WS002", WS_ERROR_CANT_WRITE, "another program writes as this bench; try again" },
  { "42P06", WS_ERROR_DATA, "is there already" },
  { "23505", WS_ERROR_DATA, "holds another of that name already" },
};

gboolean
wsi_postgresql_refuse (WsEngine *engine, GError **error)
{
  const WsPostgresql *pg = (WsPostgresql *)engine;
  const char *what = pg->what != NULL ? pg->what : "";
  if (pg->lost)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                 "archive %s: the connection to its server was lost (%s); what was said to be "
                 "archived is there, try the rest again",
                 engine->name, what);
  for (gsize i = 0; !pg->lost && i < G_N_ELEMENTS (causes); i++)
    if (g_str_has_prefix (pg->state, causes[i].state))
    {
      g_set_error (error, WS_ERROR, (int)causes[i].code, "archive %s: %s (%s)", engine->name,
                   causes[i].words, what);
      return FALSE;
    }
  if (!pg->lost)
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "archive %s: %s", engine->name, what);
  return FALSE;
}

gboolean
wsi_postgresql_run (WsPostgresql *pg, const char *sql, GError **error)
{
  return wsi_postgresql_succeed (pg, PQexec (pg->connection, sql)) ||
         wsi_postgresql_refuse (&pg->engine, error);
}

/* ---- The connection -------------------------------------------------------------------------- */

static void
ignore_notice (void *data, const PGresult *result)
{
  (void)data;
  (void)result;
}

/* A plan that is compiled takes longer than what it finds.  What is committed has to be on disk,
 * whatever the server does by itself. */
gboolean
wsi_postgresql_prepare_session (WsPostgresql *pg)
{
  PQsetNoticeReceiver (pg->connection, ignore_notice, NULL);
  return wsi_postgresql_succeed (
    pg,
    PQexec (pg->connection, "SET search_path = whetsight, pg_temp; SET lock_timeout = '60s';"
                            " SET jit = off; SET cursor_tuple_fraction = 1; SET plan_cache_mode = "
                            "force_generic_plan; SET standard_conforming_strings = on;"
                            " SET extra_float_digits = 1; SET bytea_output = 'hex';"
                            " SELECT set_config ('synchronous_commit', 'on', false)"
                            " WHERE current_setting ('synchronous_commit') IN ('off', 'local')"));
}

gboolean
wsi_postgresql_revive (WsPostgresql *pg)
{
  if (!pg->lost)
    return TRUE;
  if (pg->in_turn || pg->scans > 0)
    return FALSE;
  PQreset (pg->connection);
  g_hash_table_remove_all (pg->plans);
  pg->lost = FALSE;
  if (PQstatus (pg->connection) == CONNECTION_OK)
    return wsi_postgresql_prepare_session (pg);
  wsi_postgresql_note_failure (pg, NULL);
  return FALSE;
}

/* ---- Transactions ---------------------------------------------------------------------------- */

static gboolean
hold_chain (WsPostgresql *pg)
{
  const char *const values[] = { pg->engine.bench };
  return wsi_postgresql_succeed (
    pg, PQexecParams (pg->connection, "SELECT hold ($1)", 1, NULL, values, NULL, NULL, 0));
}

gboolean
wsi_postgresql_run_first (WsPostgresql *pg, const char *sql)
{
  if (wsi_postgresql_revive (pg) && wsi_postgresql_succeed (pg, PQexec (pg->connection, sql)))
    return TRUE;
  return pg->lost && wsi_postgresql_revive (pg) &&
         wsi_postgresql_succeed (pg, PQexec (pg->connection, sql));
}

/* Once a day is often enough for the next month. */
#define MONTHS_US (G_GINT64_CONSTANT (86400) * G_USEC_PER_SEC)

static gboolean
begin_months (WsPostgresql *pg)
{
  const gint64 now = g_get_monotonic_time ();
  if (pg->months_at != 0 && now - pg->months_at < MONTHS_US)
    return TRUE;
  if (!wsi_postgresql_run_first (pg, "SELECT begin_months ()"))
    return FALSE;
  pg->months_at = now;
  return TRUE;
}

void
wsi_postgresql_roll_back (WsEngine *engine)
{
  WsPostgresql *pg = (WsPostgresql *)engine;
  if (PQstatus (pg->connection) == CONNECTION_OK)
    PQclear (PQexec (pg->connection, "ROLLBACK"));
  pg->in_turn = FALSE;
}

gboolean
wsi_postgresql_begin (WsEngine *engine, WsEngineTurn turn, GError **error)
{
  WsPostgresql *pg = (WsPostgresql *)engine;
  if (pg->scans > 0 || pg->in_turn)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL,
                 "archive %s: a transaction within another, which is our fault", engine->name);
    return FALSE;
  }
  if ((turn == WS_ENGINE_WRITING && !begin_months (pg)) ||
      !wsi_postgresql_run_first (pg, turn == WS_ENGINE_WRITING ? "BEGIN" : WS_BEGIN_READING))
    return wsi_postgresql_refuse (engine, error);
  pg->in_turn = TRUE;
  if (turn == WS_ENGINE_READING || hold_chain (pg))
    return TRUE;
  wsi_postgresql_refuse (engine, error);
  wsi_postgresql_roll_back (engine);
  return FALSE;
}

/* The server answers a transaction that failed with its opposite. */
gboolean
wsi_postgresql_commit (WsEngine *engine, GError **error)
{
  WsPostgresql *pg = (WsPostgresql *)engine;
  PGresult *result = PQexec (pg->connection, "COMMIT");
  const gboolean rolled_back = g_strcmp0 (PQcmdStatus (result), "ROLLBACK") == 0;
  if (!wsi_postgresql_succeed (pg, result))
    return wsi_postgresql_refuse (engine, error);
  pg->in_turn = FALSE;
  return !rolled_back || wsi_postgresql_refuse (engine, error);
}
