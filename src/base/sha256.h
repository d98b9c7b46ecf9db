/*
 * SHA-256 (FIPS 180-4), as records and calibrations name files.
 */
#ifndef WS_BASE_SHA256_H
#define WS_BASE_SHA256_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_SHA256_HEX_SIZE 65 /* 64 digits and the zero byte */

/* Lower-case hex digits. */
void wsi_sha256_hex (const void *bytes, gsize n_bytes, char hex[WS_SHA256_HEX_SIZE]);

/* A piece of what is hashed as one. */
typedef struct
{
  const void *bytes;
  gsize n_bytes;
} WsSha256Piece;

void wsi_sha256_pieces_hex (const WsSha256Piece *pieces, gsize n_pieces,
                            char hex[WS_SHA256_HEX_SIZE]);

/* Of pieces that come one after the other. */
typedef struct WsSha256 WsSha256;

WsSha256 *wsi_sha256_new (void);
void wsi_sha256_add (WsSha256 *sum, const void *bytes, gsize n_bytes);

/* Frees it as well. */
void wsi_sha256_end (WsSha256 *sum, char hex[WS_SHA256_HEX_SIZE]);

/* Of a file's bytes, adding what was read to `n_bytes` (atomically; or NULL).  FALSE when it can't
 * be read, or is reached by a symbolic link. */
gboolean wsi_sha256_file (const char *path, guint64 *n_bytes, char hex[WS_SHA256_HEX_SIZE]);

/* TRUE for 64 lower-case hex digits. */
gboolean wsi_sha256_is_hex (const char *text);

G_END_DECLS

#endif
