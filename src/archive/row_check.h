/*
 * Is one row as it was written?
 */
#ifndef WS_ARCHIVE_ROW_CHECK_H
#define WS_ARCHIVE_ROW_CHECK_H

#include <jansson.h>
#include <whetsight/archive.h>

G_BEGIN_DECLS

/* What the row says otherwise than its record, in words; NULL when nothing.  Free with g_free().
 * `record` is what the row's record was parsed to by wsi_columns_parse(), NULL when it couldn't be.
 * FALSE when the row can't be read. */
gboolean wsi_row_compare (WsArchive *archive, const WsInspection *row, json_t *record, char **what,
                          GError **error);

/* All that a row by itself can tell: its record by the hash, what it says twice, and its
 * neighbours in the chain.  As wsi_row_compare(). */
gboolean wsi_row_check (WsArchive *archive, const WsInspection *row, json_t *record, char **what,
                        GError **error);

/* Is `row`, as it was read, what was just written?  `written` is what was bound, its columns and
 * hash made of its record; `quantities` (of WsRow) the record's, in the order of
 * wsi_columns_by_name().  As wsi_row_check(), and as much of a proof: every byte that went into the
 * hash is compared. */
gboolean wsi_row_check_written (WsArchive *archive, const WsInspection *row,
                                const WsInspection *written, GArray *quantities, char **what,
                                GError **error);

G_END_DECLS

#endif
