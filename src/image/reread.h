/*
 * A picture's file that is read piece by piece, and once more if it is asked for: neither takes
 * the memory of all its bytes meanwhile.
 */
#ifndef WS_IMAGE_REREAD_H
#define WS_IMAGE_REREAD_H

#include <glib.h>

#include "base/sha256.h"

G_BEGIN_DECLS

typedef struct WsReread WsReread;

/* Of a plain file of at most so many bytes; NULL for any other, and where it can't be read. */
WsReread *wsi_reread_open (const char *path, guint64 max_bytes);
void wsi_reread_free (WsReread *file);

/* What it begins with. */
const guint8 *wsi_reread_first (const WsReread *file, gsize *n_bytes);

/* What comes next, and how many bytes, until the next call; 0 at the end, and where it can't be
 * read.  `data`: a WsReread. */
gsize wsi_reread_more (gpointer data, const guint8 **bytes);

/* Reads what is left; FALSE where it can't.  What only reading in pieces needs is freed. */
gboolean wsi_reread_finish (WsReread *file, char sha256[WS_SHA256_HEX_SIZE]);

/* All of it once more; NULL where it can't be read, or isn't what it was. */
GBytes *wsi_reread_again (const WsReread *file);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsReread, wsi_reread_free)

G_END_DECLS

#endif
