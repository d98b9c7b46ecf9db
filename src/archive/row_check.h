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

G_END_DECLS

#endif
