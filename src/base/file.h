/*
 * Files, whole or not at all.
 */
#ifndef WS_BASE_FILE_H
#define WS_BASE_FILE_H

#include <glib.h>

G_BEGIN_DECLS

/* Writes to a temporary name beside `path`, syncs, renames.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_file_save (const char *path, const void *bytes, gsize n_bytes, GError **error);

/* The same piece by piece: what isn't finished leaves nothing behind. */
typedef struct WsFilePieces WsFilePieces;

WsFilePieces *wsi_file_pieces_new (const char *path, GError **error);
gboolean wsi_file_pieces_add (WsFilePieces *pieces, const void *bytes, gsize n_bytes,
                              GError **error);
gboolean wsi_file_pieces_finish (WsFilePieces *pieces, GError **error);
void wsi_file_pieces_free (WsFilePieces *pieces);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsFilePieces, wsi_file_pieces_free)

/* The whole file as text that ends in a zero byte and holds no other.  `what` names the kind of
 * file in messages ("tool card").  Errors: WS_ERROR_NO_INPUT; WS_ERROR_DATA when it is longer
 * than `max_bytes` or no text.  Free with g_free(). */
char *wsi_file_read_text (const char *path, const char *what, gsize max_bytes, GError **error);

G_END_DECLS

#endif
