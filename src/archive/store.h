/*
 * What reads and writes rows, for the rest of this folder.
 */
#ifndef WS_ARCHIVE_STORE_H
#define WS_ARCHIVE_STORE_H

#include "archive/columns.h"
#include "archive/engine.h"

G_BEGIN_DECLS

typedef struct
{
  guint64 count;
  char hash[WS_SHA256_HEX_SIZE];
  guint64 seals;
  char seals_hash[WS_SHA256_HEX_SIZE]; /* of all seals, as wsi_head_add_seal() has it */
  char digest[WS_SHA256_HEX_SIZE];     /* of all these */
} WsHead;

/* Of one bench, or for NULL of the one that is written as; of the only chain in a folder. */
gboolean wsi_store_head (WsArchive *archive, const char *bench, WsHead *head, GError **error);

/* Of what is written after it; a head that was changed is refused, so that nothing hides it.
 * Errors: WS_ERROR_DATA. */
gboolean wsi_store_head_to_go_on (WsArchive *archive, WsHead *head, GError **error);

/* Sets `digest`, too. */
gboolean wsi_store_set_head (WsArchive *archive, const WsHead *head, GError **error);

/* What the head's digest should be. */
void wsi_head_digest (const WsHead *head, char digest[WS_SHA256_HEX_SIZE]);

/* `hash` goes from all seals before to all with this one. */
void wsi_head_add_seal (char hash[WS_SHA256_HEX_SIZE], const char *time, guint64 count,
                        const char *head);

typedef void (*WsBenchVisit) (const char *bench, guint64 count, const char *hash, gpointer data);

/* The heads of an archive of many benches, by their names. */
gboolean wsi_store_each_bench (WsArchive *archive, WsBenchVisit visit, gpointer data,
                               GError **error);

/* What a seal on all heads says of them: "COUNT HASH BENCH" a line, by the benches' names. */
void wsi_heads_digest (const char *heads, char digest[WS_SHA256_HEX_SIZE]);

/* How many seals there should be, and the hash of all. */
gboolean wsi_store_seals (WsArchive *archive, guint64 *n, char hash[WS_SHA256_HEX_SIZE],
                          GError **error);

/* Inside a transaction: sets the hashes that an older version's head lacks. */
gboolean wsi_head_cover (WsArchive *archive, GError **error);

/* Hash of the row in that place of a bench's chain, and what the row says of the one before it; ""
 * where there is no such row.  Benches as for wsi_store_head(). */
gboolean wsi_store_hash (WsArchive *archive, const char *bench, guint64 place,
                         char hash[WS_SHA256_HEX_SIZE], gboolean *found, GError **error);
gboolean wsi_store_previous (WsArchive *archive, const char *bench, guint64 place,
                             char hash[WS_SHA256_HEX_SIZE], gboolean *found, GError **error);

/* The first `most` rows behind that place of the own chain, in its order, with their records, as
 * they are, unchecked. */
gboolean wsi_store_each_row_after (WsArchive *archive, guint64 place, guint64 most,
                                   WsArchiveVisit visit, gpointer data, GError **error);

/* Rows of all benches, notes too, whose number is greater, in the order of their numbers; without
 * records, unchecked. */
gboolean wsi_store_each_row_behind (WsArchive *archive, guint64 number, WsArchiveVisit visit,
                                    gpointer data, GError **error);

/* All rows with their records, as they are, unchecked. */
gboolean wsi_store_each_row (WsArchive *archive, WsArchiveVisit visit, gpointer data,
                             GError **error);

typedef gboolean (*WsRecordVisit) (const WsInspection *row, json_t *record, gpointer data,
                                   GError **error);

/* As ws_archive_each() with records; `record` is what the row's was parsed to, NULL where it
 * couldn't be. */
gboolean wsi_store_each_record (WsArchive *archive, const WsArchiveFilter *filter,
                                WsRecordVisit visit, gpointer data, GError **error);

/* ws_archive_store() of an inspection whose record was read to `lean`. */
gboolean wsi_store_parsed (WsArchive *archive, WsInspection *inspection, const WsLean *lean,
                           const WsPictures *pictures, GError **error);

/* Inside a transaction: is the row there as it was just written, and in its place?  `quantities` as
 * for wsi_row_check_written().  What isn't, in words, or NULL; free with g_free(). */
gboolean wsi_store_expect (WsArchive *archive, const WsInspection *written, GArray *quantities,
                           char **what, GError **error);

/* The notes on the inspection of that id, checked, in the order of storing. */
gboolean wsi_store_each_note (WsArchive *archive, const char *about, WsArchiveVisit visit,
                              gpointer data, GError **error);

/* Is a row of that id there? */
gboolean wsi_store_has_id (WsArchive *archive, const char *id);

/* As ws_archive_find(), notes too. */
WsInspection *wsi_store_find (WsArchive *archive, const char *id, GError **error);

/* What a filter finds, with records and notes, checked, in the order of storing.  Of WsInspection;
 * free with g_ptr_array_unref(). */
GPtrArray *wsi_store_find_all (WsArchive *archive, const WsArchiveFilter *filter, GError **error);

/* A picture that comes by itself: announced and saved outside of a transaction, entered into the
 * table within the one that names it. */
gboolean wsi_store_save_picture (WsArchive *archive, GBytes *bytes, const char *sha256,
                                 GError **error);
gboolean wsi_store_enter_file (WsArchive *archive, const char *sha256, guint64 size,
                               GError **error);
/* The same, and saved again if it is gone. */
gboolean wsi_store_insert_file (WsArchive *archive, GBytes *bytes, const char *sha256,
                                GError **error);

typedef gboolean (*WsFileVisit) (const char *sha256, gint64 size, gpointer data);

/* In the order of their names, until `visit` returns FALSE. */
gboolean wsi_store_each_file (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error);

/* Files that were announced but not stored. */
gboolean wsi_store_each_pending (WsArchive *archive, WsFileVisit visit, gpointer data,
                                 GError **error);

/* A row's quantities, by name. */
gboolean wsi_store_each_quantity (WsArchive *archive, guint64 number, WsRowVisit visit,
                                  gpointer data, GError **error);

/* Borrowed. */
typedef struct
{
  guint64 number, count;
  const char *time, *hash;
  const char *heads; /* what of many benches was sealed, as for wsi_heads_digest(); else NULL */
} WsStoredSeal;

typedef void (*WsSealVisit) (const WsStoredSeal *seal, gpointer data);

gboolean wsi_store_each_seal (WsArchive *archive, WsSealVisit visit, gpointer data, GError **error);

/* Records and quantities that no inspection owns. */
gboolean wsi_store_strays (WsArchive *archive, guint64 *n, GError **error);

/* Of the database. */
gboolean wsi_store_bytes (WsArchive *archive, guint64 *n, GError **error);

/* SQLite's own check of its pages and indexes; `visit` gets its lines as `sha256`. */
gboolean wsi_store_check_pages (WsArchive *archive, WsFileVisit visit, gpointer data,
                                GError **error);

/* Tables, indexes, triggers and views that aren't as we make them. */
gboolean wsi_store_check_tables (WsArchive *archive, WsEngineVisit visit, gpointer data,
                                 GError **error);

/* One view of the rows from here to there, whatever others write meanwhile. */
gboolean wsi_store_begin_reading (WsArchive *archive, GError **error);
void wsi_store_end_reading (WsArchive *archive);

G_END_DECLS

#endif
