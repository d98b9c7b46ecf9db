/*
 * An open archive and its fixed statements: each is prepared when it is first needed.
 */
#ifndef WS_ARCHIVE_STATEMENTS_H
#define WS_ARCHIVE_STATEMENTS_H

#include <jansson.h>

#include "archive/engine.h"

G_BEGIN_DECLS

/* Of a row of `inspection`, its record aside, and what first versions knew nothing of. */
#define WS_ROW_COLUMNS                                                                             \
  "number, id, time, tool, kind, view, verdict, reason, image_name, image, annotated, settings, "  \
  "station, grinder, reground, pictures, previous, hash"

/* The record of such a row. */
#define WS_ROW_RECORD                                                                              \
  "(SELECT record FROM record WHERE record.number = inspection.number"                             \
  "{ AND record.month = inspection.month})"

/* The same in a folder's database, `kept.record` behind `FROM inspection` and this: SQLite would
 * copy the text once more, and make room for each anew, to hand it out of a query within a query.
 */
#define WS_KEPT_RECORD                                                                             \
  " LEFT JOIN (SELECT number AS owner, record FROM record) AS kept ON kept.owner ="                \
  " inspection.number"

/* So many at once go into a folder's database; all of them into one of many benches. */
#define WS_QUANTITIES_AT_ONCE 8

typedef enum
{
  WS_SQL_EACH_BENCH,
  WS_SQL_READ_HEAD,
  WS_SQL_READ_OLD_HEAD,
  WS_SQL_WRITE_HEAD,
  WS_SQL_INSERT_INSPECTION,
  WS_SQL_INSERT_RECORD,
  WS_SQL_INSERT_QUANTITY,
  WS_SQL_INSERT_QUANTITIES,
  WS_SQL_INSERT_FILE,
  WS_SQL_ANNOUNCE,
  WS_SQL_CONFIRM,
  WS_SQL_HAS_FILE,
  WS_SQL_EACH_FILE,
  WS_SQL_EACH_PENDING,
  WS_SQL_EACH_QUANTITY,
  WS_SQL_READ_SEALS,
  WS_SQL_READ_OLD_SEALS,
  WS_SQL_INSERT_SEAL,
  WS_SQL_MAKE_SEAL,
  WS_SQL_INSERT_SEAL_TEXT,
  WS_SQL_EACH_SEAL,
  WS_SQL_SEALED_ROWS,
  WS_SQL_COUNT_STRAYS,
  WS_SQL_CHECK_PAGES,
  WS_SQL_COUNT_BYTES,
  WS_SQL_ID_TAKEN,
  WS_SQL_RECORD_OF_ID,
  WS_SQL_ROW_OF_ID, /* of the newest version */
  WS_SQL_HAS_NOTES,
  WS_SQL_HOLD_ID, /* until the transaction ends, against others who hold the same */
  WS_SQL_READ_HASH,
  WS_SQL_READ_PREVIOUS,
  WS_SQL_NEWEST_TIME,
  WS_SQL_LAST_TIME,
  WS_SQL_PICTURES_AFTER,
  WS_SQL_REMOVE_FILE,
  WS_SQL_EACH_ACCOUNT,
  WS_SQL_FIND_ACCOUNT,
  WS_SQL_SET_ACCOUNT,
  WS_SQL_LOST_ACCOUNTS,
  WS_N_STATEMENTS
} WsStatement;

/* What a row is checked against, where it came with the row, since each statement is a way to the
 * server and back. */
typedef struct
{
  guint64 number;             /* of the row */
  const char *before, *after; /* the hash of the one before it, what the next says of it; or NULL */
  guint64 head_count;
  const char *head_hash;
  json_t *quantities; /* arrays of name, value, U, lower, upper, verdict, by name; or NULL */
  gboolean has_notes;
} WsBeside;

struct WsArchive
{
  WsEngine *engine;
  WsQuery *prepared[WS_N_STATEMENTS];
  const WsBeside *beside; /* of the row that is looked at, or NULL */
  gboolean in_batch;
  gboolean elsewhere;      /* pictures lie in a store, not in the folder */
  struct WsBucket *bucket; /* that store; NULL when its settings are wrong */
  GError *trouble;         /* which says why */
  gboolean clock_set_back; /* as ws_archive_take_clock() */
  gboolean mended;         /* as ws_archive_take_mended() */
};

/* Sets `error` by what failed last; returns FALSE. */
gboolean wsi_statement_refuse (WsArchive *archive, GError **error);

/* FALSE where what was read may be half of this and half of that, since somebody wrote to a
 * database that couldn't be locked.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_archive_expect_still (WsArchive *archive, GError **error);

/* Transactions: one that writes keeps other writers out until it ends; one that reads has one view
 * of the rows, whatever others write meanwhile. */
gboolean wsi_transaction_begin_writing (WsArchive *archive, GError **error);
gboolean wsi_transaction_begin_reading (WsArchive *archive, GError **error);
gboolean wsi_transaction_commit (WsArchive *archive, GError **error);
void wsi_transaction_roll_back (WsArchive *archive);

/* Ready to bind; owned by the archive.  NULL when it can't be prepared. */
WsQuery *wsi_statement (WsArchive *archive, WsStatement which);

/* Steps a statement whose rows, if any, say nothing, and readies it again. */
gboolean wsi_statement_finish (WsArchive *archive, WsQuery *query, GError **error);

void wsi_statements_clear (WsArchive *archive);

G_END_DECLS

#endif
