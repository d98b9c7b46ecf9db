/*
 * The engine below an archive: SQLite for one in a folder, PostgreSQL for one that many benches
 * share.  All else in this folder speaks to it in one SQL: parameters are ?1, ?2, …, and what
 * stands in braces is for an archive of many benches alone.
 */
#ifndef WS_ARCHIVE_ENGINE_H
#define WS_ARCHIVE_ENGINE_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* Versions before 3 had a head without hashes of its own, those before 4 no notes, those before 5
 * no accounts and no events.  Archives of many benches began with the last. */
#define WS_VERSION_OF_DIGESTS 3
#define WS_VERSION_OF_NOTES 4
#define WS_VERSION_OF_ACCOUNTS 5

typedef struct WsEngine WsEngine;
typedef struct WsQuery WsQuery;

typedef enum
{
  WS_QUERY_ROW,
  WS_QUERY_DONE,
  WS_QUERY_FAILED
} WsQueryStep;

typedef enum
{
  WS_QUERY_ONCE,
  WS_QUERY_KEPT, /* asked again and again */
  WS_QUERY_LONG  /* may find more rows than fit into memory */
} WsQueryKind;

typedef enum
{
  WS_ENGINE_READING, /* one view of the rows, whatever others write meanwhile */
  WS_ENGINE_WRITING  /* keeps others off the chain that is written to */
} WsEngineTurn;

/* Within the transaction that brought older tables up to what they are now, in a writer: what SQL
 * can't fill. */
typedef gboolean (*WsEngineCover) (WsEngine *engine, GError **error);

/* What isn't as we make it: "trigger keep: not ours". */
typedef void (*WsEngineVisit) (const char *what, gpointer data);

typedef struct
{
  void (*close) (WsEngine *engine);
  gboolean (*refuse) (WsEngine *engine, GError **error);
  gboolean (*expect_still) (WsEngine *engine, GError **error);
  gboolean (*check_tables) (WsEngine *engine, WsEngineVisit visit, gpointer data, GError **error);

  gboolean (*begin) (WsEngine *engine, WsEngineTurn turn, GError **error);
  gboolean (*commit) (WsEngine *engine, GError **error);
  void (*roll_back) (WsEngine *engine);

  WsQuery *(*prepare) (WsEngine *engine, const char *sql, WsQueryKind kind);
  WsQueryStep (*step) (WsQuery *query);
  void (*reset) (WsQuery *query);
  void (*free_query) (WsQuery *query);
  void (*bind_text) (WsQuery *query, int at, const char *text);
  void (*bind_integer) (WsQuery *query, int at, gint64 value);
  void (*bind_number) (WsQuery *query, int at, double value);
  const char *(*text) (WsQuery *query, int column);
  gint64 (*integer) (WsQuery *query, int column);
  double (*number) (WsQuery *query, int column);
} WsEngineCalls;

/* Each engine's own begins with it. */
struct WsEngine
{
  const WsEngineCalls *calls;
  char *name;         /* as it is shown: the folder, or the address without a password */
  char *bench;        /* whose chain is written to; NULL where there is but one */
  char *pictures;     /* the folder that images/ lies in */
  const char *like;   /* compares with what wsi_engine_pattern() makes */
  int version;        /* of the tables: a reader doesn't bring them up */
  gboolean is_folder; /* all of it lies in the folder `name` */
};

struct WsQuery
{
  WsEngine *engine;
};

/* NULL is fine. */
void wsi_engine_free (WsEngine *engine);

/* Sets `error` by what failed last; returns FALSE. */
gboolean wsi_engine_refuse (WsEngine *engine, GError **error);

/* A pattern with * and ? as the engine has it; free with g_free(). */
char *wsi_engine_pattern (const WsEngine *engine, const char *pattern);

/* The engine's own words for `sql`: braces and their content go where there is but one chain; free
 * with g_free(). */
char *wsi_engine_words (const WsEngine *engine, const char *sql);

/* NULL when it can't be prepared; free with wsi_query_free(). */
WsQuery *wsi_query_new (WsEngine *engine, const char *sql, WsQueryKind kind);

/* For all of these a query may be NULL: nothing is bound then, and its step fails. */
void wsi_query_free (WsQuery *query);
WsQueryStep wsi_step (WsQuery *query);

/* Readies it for other values. */
void wsi_reset (WsQuery *query);

/* The text has to outlive the step; NULL and NAN are SQL's NULL. */
void wsi_bind_text (WsQuery *query, int at, const char *text);
void wsi_bind_count (WsQuery *query, int at, guint64 count);
void wsi_bind_integer (WsQuery *query, int at, gint64 value);
void wsi_bind_number (WsQuery *query, int at, double value);

/* A bench, or for NULL the one whose chain is written to; nothing where there is but one chain. */
void wsi_bind_bench (WsQuery *query, int at, const char *bench);

/* Borrowed until the next step.  A damaged database may hold nothing where something must be. */
const char *wsi_column_text (WsQuery *query, int column);
const char *wsi_column_text_or (WsQuery *query, int column, const char *otherwise);
gint64 wsi_column_integer (WsQuery *query, int column);
guint64 wsi_column_count (WsQuery *query, int column);

/* NAN for NULL. */
double wsi_column_number (WsQuery *query, int column);

G_END_DECLS

#endif
