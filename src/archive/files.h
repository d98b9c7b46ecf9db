/*
 * Pictures by the SHA-256 of their bytes: FOLDER/images/1f/1f0c…
 */
#ifndef WS_ARCHIVE_FILES_H
#define WS_ARCHIVE_FILES_H

#include <glib.h>

#include "base/sha256.h"

G_BEGIN_DECLS

#define WS_FILES_FOLDER "images"

/* Free with g_free(). */
char *ws_files_path (const char *folder, const char *sha256);

/* Whole or not at all, synced, under its final name.  Nothing is written when it is there already
 * in this length.  Errors: WS_ERROR_CANT_WRITE. */
gboolean ws_files_save (const char *folder, const char *sha256, GBytes *bytes, GError **error);

/* The SHA-256 of a file's bytes, adding what was read to `n_bytes` (atomically; or NULL).  FALSE
 * when it can't be read. */
gboolean ws_files_hash (const char *path, guint64 *n_bytes, char hex[WS_SHA256_HEX_SIZE]);

G_END_DECLS

#endif
