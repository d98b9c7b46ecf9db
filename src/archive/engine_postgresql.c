#include "archive/engine_postgresql.h"

#include <math.h>
#include <string.h>

#include "archive/postgresql_link.h"
#include "archive/postgresql_tables.h"

#define MOST_VALUES 32
#define NUMBER_SIZE 40

/* Rows that a long query brings at a time. */
#define BATCH 500
#define BATCH_TEXT "500"

typedef struct
{
  WsQuery query;
  WsQueryKind kind;
  char *sql;
  char name[NUMBER_SIZE];
  const char *values[MOST_VALUES];
  char numbers[MOST_VALUES][NUMBER_SIZE];
  int n;
  PGresult *result;
  int row;
  gboolean is_open; /* of a long one */
} PostgresqlQuery;

static WsPostgresql *
self (WsEngine *engine)
{
  return (WsPostgresql *)engine;
}

static void
close_engine (WsEngine *engine)
{
  WsPostgresql *pg = self (engine);
  if (pg->connection != NULL)
    PQfinish (pg->connection);
  g_hash_table_unref (pg->plans);
  g_free (pg->what);
  g_free (pg);
}

static gboolean
expect_still (WsEngine *engine, GError **error)
{
  (void)engine;
  (void)error;
  return TRUE; /* the server keeps those apart who read and who write */
}

/* ---- Queries --------------------------------------------------------------------------------- */

static PostgresqlQuery *
of (WsQuery *query)
{
  return (PostgresqlQuery *)query;
}

/* ?3 is $3 here. */
static char *
with_dollars (const char *sql)
{
  char *words = g_strdup (sql);
  for (char *c = words; *c != '\0'; c++)
    if (*c == '?' && g_ascii_isdigit (c[1]))
      *c = '$';
  return words;
}

static WsQuery *
prepare (WsEngine *engine, const char *sql, WsQueryKind kind)
{
  WsPostgresql *pg = self (engine);
  PostgresqlQuery *query = g_new0 (PostgresqlQuery, 1);
  query->query.engine = engine;
  query->kind = kind;
  query->sql = with_dollars (sql);
  g_snprintf (query->name, sizeof query->name, "whetsight_%u", ++pg->names);
  return &query->query;
}

static gboolean
take (PostgresqlQuery *query, PGresult *result)
{
  const ExecStatusType status = PQresultStatus (result);
  if (status == PGRES_TUPLES_OK || status == PGRES_COMMAND_OK)
  {
    query->result = result;
    query->row = -1;
    return TRUE;
  }
  wsi_postgresql_note_failure (self (query->query.engine), result);
  PQclear (result);
  return FALSE;
}

static PGresult *
execute (const PostgresqlQuery *query, const char *sql)
{
  return PQexecParams (self (query->query.engine)->connection, sql, query->n, NULL, query->values,
                       NULL, NULL, 0);
}

/* Planned once a connection: the same words are asked again and again.  NULL when they can't be. */
static const char *
plan_of (WsPostgresql *pg, const PostgresqlQuery *query)
{
  const char *known = g_hash_table_lookup (pg->plans, query->sql);
  if (known != NULL)
    return known;
  char *name = g_strdup_printf ("plan_%u", g_hash_table_size (pg->plans));
  if (wsi_postgresql_succeed (pg, PQprepare (pg->connection, name, query->sql, query->n, NULL)))
    g_hash_table_insert (pg->plans, g_strdup (query->sql), name);
  else
    g_clear_pointer (&name, g_free);
  return name;
}

static gboolean
run_planned (PostgresqlQuery *query)
{
  WsPostgresql *pg = self (query->query.engine);
  const char *plan = plan_of (pg, query);
  return plan != NULL && take (query, PQexecPrepared (pg->connection, plan, query->n, query->values,
                                                      NULL, NULL, 0));
}

static gboolean
fetch (PostgresqlQuery *query)
{
  g_autofree char *sql = g_strdup_printf ("FETCH " BATCH_TEXT " FROM %s", query->name);
  return take (query, PQexec (self (query->query.engine)->connection, sql));
}

/* Its own transaction isn't under way yet, as far as a lost connection goes. */
static gboolean
begin_scan (WsPostgresql *pg)
{
  pg->scans = 0;
  const gboolean begun = wsi_postgresql_run_first (pg, WS_BEGIN_READING);
  pg->scans = 1;
  return begun;
}

/* Other queries go on between its rows, so they come a number at a time. */
static gboolean
open_long (PostgresqlQuery *query)
{
  WsPostgresql *pg = self (query->query.engine);
  g_autofree char *sql =
    g_strdup_printf ("DECLARE %s NO SCROLL CURSOR FOR %s", query->name, query->sql);
  if (!pg->in_turn && pg->scans++ == 0 && !begin_scan (pg))
  {
    pg->scans = 0;
    return FALSE;
  }
  query->is_open = TRUE;
  return wsi_postgresql_succeed (pg, execute (query, sql)) && fetch (query);
}

static void
close_long (PostgresqlQuery *query)
{
  WsPostgresql *pg = self (query->query.engine);
  g_autofree char *sql = g_strdup_printf ("CLOSE %s", query->name);
  query->is_open = FALSE;
  if (PQstatus (pg->connection) == CONNECTION_OK &&
      PQtransactionStatus (pg->connection) == PQTRANS_INTRANS)
    PQclear (PQexec (pg->connection, sql));
  if (pg->in_turn || pg->scans == 0 || --pg->scans > 0)
    return;
  if (PQstatus (pg->connection) == CONNECTION_OK)
    PQclear (PQexec (pg->connection, "ROLLBACK")); /* of one that only read */
}

/* What only reads can be asked once more, by a new connection. */
static gboolean
ask_again (PostgresqlQuery *query)
{
  const WsPostgresql *pg = self (query->query.engine);
  return pg->lost && g_str_has_prefix (query->sql, "SELECT ") &&
         wsi_postgresql_revive (self (query->query.engine)) && run_planned (query);
}

static gboolean
start (PostgresqlQuery *query)
{
  if (query->kind == WS_QUERY_LONG)
    return open_long (query);
  return wsi_postgresql_revive (self (query->query.engine)) &&
         (run_planned (query) || ask_again (query));
}

static gboolean
go_on (PostgresqlQuery *query)
{
  const gboolean more = query->is_open && PQntuples (query->result) == BATCH;
  if (!more)
    return TRUE;
  g_clear_pointer (&query->result, PQclear);
  return fetch (query);
}

static WsQueryStep
step (WsQuery *base)
{
  PostgresqlQuery *query = of (base);
  if (query->result == NULL && !start (query))
    return WS_QUERY_FAILED;
  if (query->row + 1 == PQntuples (query->result) && !go_on (query))
    return WS_QUERY_FAILED;
  if (query->row + 1 < PQntuples (query->result))
  {
    query->row++;
    return WS_QUERY_ROW;
  }
  return WS_QUERY_DONE;
}

static void
reset (WsQuery *base)
{
  PostgresqlQuery *query = of (base);
  g_clear_pointer (&query->result, PQclear);
  if (query->is_open)
    close_long (query);
}

static void
free_query (WsQuery *base)
{
  reset (base);
  g_free (of (base)->sql);
  g_free (base);
}

static void
bind (PostgresqlQuery *query, int at, const char *value)
{
  g_return_if_fail (at > 0 && at <= MOST_VALUES);
  query->values[at - 1] = value;
  query->n = MAX (query->n, at);
}

static void
bind_text (WsQuery *base, int at, const char *text)
{
  bind (of (base), at, text);
}

static void
bind_integer (WsQuery *base, int at, gint64 value)
{
  char *number = of (base)->numbers[at - 1];
  g_snprintf (number, NUMBER_SIZE, "%" G_GINT64_FORMAT, value);
  bind (of (base), at, number);
}

static void
bind_number (WsQuery *base, int at, double value)
{
  char *number = of (base)->numbers[at - 1];
  bind (of (base), at, isnan (value) ? NULL : g_ascii_dtostr (number, NUMBER_SIZE, value));
}

static const char *
text_at (WsQuery *base, int column)
{
  const PostgresqlQuery *query = of (base);
  return PQgetisnull (query->result, query->row, column)
           ? NULL
           : PQgetvalue (query->result, query->row, column);
}

static gint64
integer_at (WsQuery *base, int column)
{
  const char *text = text_at (base, column);
  return text != NULL ? g_ascii_strtoll (text, NULL, 10) : 0;
}

static double
number_at (WsQuery *base, int column)
{
  const char *text = text_at (base, column);
  return text != NULL ? g_ascii_strtod (text, NULL) : NAN;
}

/* ---- Are the tables ours? ---------------------------------------------------------------------
 */

static void
tell (WsEngineVisit visit, gpointer data, const char *name, const char *what)
{
  g_autofree char *words = g_strdup_printf ("%s: %s", name, what);
  visit (words, data);
}

static gboolean
check_tables (WsEngine *engine, WsEngineVisit visit, gpointer data, GError **error)
{
  GHashTableIter iter;
  gpointer name;
  WsQueryStep found;
  g_autoptr (GHashTable) expected = wsi_postgresql_expected ();
  WsQuery *query = prepare (engine, wsi_postgresql_inventory, WS_QUERY_ONCE);
  while ((found = step (query)) == WS_QUERY_ROW)
  {
    const char *key = text_at (query, 0);
    const char *made = g_hash_table_lookup (expected, key);
    if (made == NULL)
      tell (visit, data, key, "not ours");
    else if (!g_str_equal (made, text_at (query, 1)))
      tell (visit, data, key, "changed");
    g_hash_table_remove (expected, key);
  }
  free_query (query);
  if (found == WS_QUERY_FAILED)
    return wsi_postgresql_refuse (engine, error);
  g_hash_table_iter_init (&iter, expected);
  while (g_hash_table_iter_next (&iter, &name, NULL))
    tell (visit, data, name, "missing");
  return TRUE;
}

const WsEngineCalls wsi_postgresql_calls = {
  .close = close_engine,
  .refuse = wsi_postgresql_refuse,
  .expect_still = expect_still,
  .check_tables = check_tables,
  .begin = wsi_postgresql_begin,
  .commit = wsi_postgresql_commit,
  .roll_back = wsi_postgresql_roll_back,
  .prepare = prepare,
  .step = step,
  .reset = reset,
  .free_query = free_query,
  .bind_text = bind_text,
  .bind_integer = bind_integer,
  .bind_number = bind_number,
  .text = text_at,
  .integer = integer_at,
  .number = number_at,
};
