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

/* While a copy is made: the database that is coming, and the SHA-256 of the pictures, one a line.
 */
#define WS_DATABASE_PART WS_DATABASE_NAME ".part"
#define WS_DATABASE_PART_JOURNAL WS_DATABASE_PART "-journal"
#define WS_ANNOUNCED_NAME "announced"

/* Free with g_free(). */
char *wsi_files_path (const char *folder, const char *sha256);

/* Whole or not at all, synced, under its final name.  Nothing is written when it is there already
 * as it should be; one that isn't is replaced, and sets `mended`.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_files_save (const char *folder, const char *sha256, GBytes *bytes, gboolean *mended,
                         GError **error);

/* Whether a name in an archive's folder is one of these, which only a copy that was stopped leaves.
 */
gboolean wsi_files_is_left_over (const char *name);

/* TRUE when the folder that `path` lies in, or one above it, is an archive's. */
gboolean wsi_files_lies_in_archive (const char *path);

G_END_DECLS

#endif
