/*
 * What lies in an archive's folder: the database, and pictures by the SHA-256 of their bytes,
 * FOLDER/images/1f/1f0c…
 */
#ifndef WS_ARCHIVE_FILES_H
#define WS_ARCHIVE_FILES_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_DATABASE_NAME "archive.db"
#define WS_DATABASE_ID "WsAr" /* bytes of the application id */
#define WS_FILES_FOLDER "images"

/* Free with g_free(). */
char *wsi_files_path (const char *folder, const char *sha256);

/* Whole or not at all, synced, under its final name.  Nothing is written when it is there already
 * as it should be; one that isn't is replaced, and sets `mended`.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_files_save (const char *folder, const char *sha256, GBytes *bytes, gboolean *mended,
                         GError **error);

G_END_DECLS

#endif
