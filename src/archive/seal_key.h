/*
 * Keys and signatures, by libsodium.
 */
#ifndef WS_ARCHIVE_SEAL_KEY_H
#define WS_ARCHIVE_SEAL_KEY_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_KEY_HEX_SIZE 65        /* 64 digits and the zero byte */
#define WS_SIGNATURE_HEX_SIZE 129 /* 128 */

/* A key that can sign; its bytes are kept out of swap and core files where the system grants that.
 */
typedef struct WsSealKey WsSealKey;

/* Errors: WS_ERROR_NO_INPUT; WS_ERROR_DATA when it isn't whole, or others may read it;
 * WS_ERROR_USAGE when it lies in an archive.  Free with wsi_seal_key_free(). */
WsSealKey *wsi_seal_key_load (const char *path, GError **error);
void wsi_seal_key_free (WsSealKey *key);

/* Its public half; borrowed. */
const char *wsi_seal_key_public (const WsSealKey *key);

void wsi_seal_key_sign (const WsSealKey *key, const char *text,
                        char signature[WS_SIGNATURE_HEX_SIZE]);

/* TRUE when `signature` is one of `text` by the key with that public half, all in hex digits. */
gboolean wsi_signature_holds (const char *text, const char *public_hex, const char *signature);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsSealKey, wsi_seal_key_free)

G_END_DECLS

#endif
