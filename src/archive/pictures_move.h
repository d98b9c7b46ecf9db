/*
 * Pictures moved to an object store.
 */
#ifndef WS_ARCHIVE_PICTURES_MOVE_H
#define WS_ARCHIVE_PICTURES_MOVE_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

/* Copies all pictures that rows name to the store of the file `conf`, reads each back, and keeps
 * the file as the archive's own.  Errors: those of the settings, WS_ERROR_CANT_WRITE, WS_ERROR_DATA
 * for a picture that is missing or altered. */
gboolean wsi_pictures_move (WsArchive *archive, const char *conf, guint *n_moved, GError **error);

G_END_DECLS

#endif
