/*
 * What a bundle says of itself: DIR/manifest, written last.  Beside it lie rows.jsonl, a line a row
 * with its place in the chain, images/ as in an archive, and seal when it was signed.
 */
#ifndef WS_ARCHIVE_MANIFEST_H
#define WS_ARCHIVE_MANIFEST_H

#include <glib.h>

#include "base/sha256.h"

G_BEGIN_DECLS

#define WS_MANIFEST_NAME "manifest"
#define WS_BUNDLE_ROWS "rows.jsonl"
#define WS_BUNDLE_SEAL "seal"

typedef struct
{
  char *time, *name;
  guint64 after; /* rows up to this number aren't in it */
  char after_hash[WS_SHA256_HEX_SIZE];
  guint64 count; /* number of the last row */
  char hash[WS_SHA256_HEX_SIZE];
  char rows_sha256[WS_SHA256_HEX_SIZE];
  char *seal; /* text, or NULL */
} WsManifest;

void wsi_manifest_clear (WsManifest *manifest);

/* Writes it, and the seal. */
gboolean wsi_manifest_save (const char *folder, const WsManifest *manifest, GError **error);

/* Errors: WS_ERROR_NO_INPUT when there is none; WS_ERROR_DATA when it isn't as it was written, or
 * the rows or the seal aren't those that it names. */
gboolean wsi_manifest_load (const char *folder, WsManifest *manifest, GError **error);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsManifest, wsi_manifest_clear)

G_END_DECLS

#endif
