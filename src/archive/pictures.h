/*
 * Where an archive's pictures lie: in its folder, or in the store that its folder names.  What the
 * store has is taken into the folder when it is read, and held against its hash.
 */
#ifndef WS_ARCHIVE_PICTURES_H
#define WS_ARCHIVE_PICTURES_H

#include "archive/bucket.h"
#include "archive/statements.h"
#include "base/sha256.h"

G_BEGIN_DECLS

/* FOLDER/pictures.conf */
#define WS_PICTURES_NAME "pictures.conf"

/* Of an archive that was opened.  What is wrong with it is told when a picture is asked for: rows
 * can be read without.  Undone by wsi_pictures_close(). */
void wsi_pictures_open (WsArchive *archive);
void wsi_pictures_close (WsArchive *archive);

/* Whether they were moved to a store since. */
void wsi_pictures_look_again (WsArchive *archive);

/* Where they lie: the store's address, or NULL for the folder. */
const char *wsi_pictures_store (const WsArchive *archive);

/* Once it is kept.  Errors: WS_ERROR_CANT_WRITE and those of the store's settings. */
gboolean wsi_pictures_save (WsArchive *archive, const char *sha256, GBytes *bytes, GError **error);

/* Its bytes as they are where they lie: the caller holds them against the hash. */
WsBucketAnswer wsi_pictures_read (const WsArchive *archive, const char *sha256, GBytes **bytes,
                                  GError **error);

/* NULL when it is missing or altered; free with g_bytes_unref(). */
GBytes *wsi_pictures_read_good (const WsArchive *archive, const char *sha256);

/* What it is where it lies. */
WsBucketAnswer wsi_pictures_hash (const WsArchive *archive, const char *sha256, guint64 *n_bytes,
                                  char found[WS_SHA256_HEX_SIZE], GError **error);

/* FALSE when it isn't there, or can't be told. */
gboolean wsi_pictures_size (const WsArchive *archive, const char *sha256, guint64 *size);

/* From the store alone: what lies in the folder is the caller's. */
gboolean wsi_pictures_remove_stored (const WsArchive *archive, const char *sha256, GError **error);

/* Names of pictures in the store, "1f/1f0c…"; none where they lie in the folder. */
gboolean wsi_pictures_each_stored (const WsArchive *archive, WsBucketVisit visit, gpointer data,
                                   GError **error);

/* A file that has its bytes, in the folder; what the store has is taken there first.  Free with
 * g_free(). */
char *wsi_pictures_path (const WsArchive *archive, const char *sha256);

/* The store of a file of settings.  Errors: those of wsi_bucket_new(), WS_ERROR_NO_INPUT. */
WsBucket *wsi_pictures_load (const char *path, GError **error);

gboolean wsi_pictures_is_good (GBytes *bytes, const char *sha256);

G_END_DECLS

#endif
