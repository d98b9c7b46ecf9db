/*
 * The connection to a PostgreSQL server, and how its failures are told.
 */
#ifndef WS_ARCHIVE_POSTGRESQL_LINK_H
#define WS_ARCHIVE_POSTGRESQL_LINK_H

#include "archive/engine.h"
#include "late/postgresql.h"

G_BEGIN_DECLS

#define WS_SQLSTATE_SIZE 6

typedef struct
{
  WsEngine engine;
  PGconn *connection;
  GHashTable *plans; /* SQL -> the name under which this connection has it prepared */
  guint names;       /* given to what is prepared */
  guint scans;       /* long queries that a transaction was begun for */
  gint64 months_at;  /* when months were begun ahead, by the monotonic clock */
  gboolean lost;     /* the connection, as far as one was told */
  gboolean in_turn;  /* a transaction that somebody asked for */
  char state[WS_SQLSTATE_SIZE];
  char *what; /* the last failure, in the server's words */
} WsPostgresql;

/* Keeps what failed, for wsi_postgresql_refuse(); `result` may be NULL. */
void wsi_postgresql_note_failure (WsPostgresql *pg, const PGresult *result);

/* Takes `result`; TRUE when it is what was asked for. */
gboolean wsi_postgresql_succeed (WsPostgresql *pg, PGresult *result);

/* Sets `error` by what failed last; returns FALSE. */
gboolean wsi_postgresql_refuse (WsEngine *engine, GError **error);

/* Constant statements without results. */
gboolean wsi_postgresql_run (WsPostgresql *pg, const char *sql, GError **error);

/* Sets a new connection up. */
gboolean wsi_postgresql_prepare_session (WsPostgresql *pg);

/* A connection that was lost is made anew where nothing was under way on it. */
gboolean wsi_postgresql_revive (WsPostgresql *pg);

/* The first of what follows: one that waited while its server went and came is made anew. */
gboolean wsi_postgresql_run_first (WsPostgresql *pg, const char *sql);

#define WS_BEGIN_READING "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"

/* As in WsEngineCalls. */
gboolean wsi_postgresql_begin (WsEngine *engine, WsEngineTurn turn, GError **error);
gboolean wsi_postgresql_commit (WsEngine *engine, GError **error);
void wsi_postgresql_roll_back (WsEngine *engine);

G_END_DECLS

#endif
