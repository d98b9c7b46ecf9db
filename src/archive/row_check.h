/*
 * Is one row as it was written?
 */
#ifndef WS_ARCHIVE_ROW_CHECK_H
#define WS_ARCHIVE_ROW_CHECK_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* What the row says otherwise than its record, in words; NULL when nothing.  Free with g_free().
 * FALSE when it can't be read. */
gboolean wsi_row_compare (WsArchive *archive, const WsInspection *row, char **what, GError **error);

/* All that a row by itself can tell: its record by the hash, what it says twice, and its
 * neighbours in the chain.  Results as wsi_row_compare(). */
gboolean wsi_row_check (WsArchive *archive, const WsInspection *row, char **what, GError **error);

G_END_DECLS

#endif
