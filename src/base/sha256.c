#include "base/sha256.h"

#include <string.h>

#include <nettle/sha2.h>

/* Nettle's uses the processor's SHA instructions, some six times as fast as GChecksum. */
void
ws_sha256_hex (const void *bytes, gsize n_bytes, char hex[WS_SHA256_HEX_SIZE])
{
  struct sha256_ctx context;
  guint8 digest[SHA256_DIGEST_SIZE];

  sha256_init (&context);
  sha256_update (&context, n_bytes, bytes);
  sha256_digest (&context, sizeof digest, digest);
  for (gsize i = 0; i < sizeof digest; i++)
    g_snprintf (hex + 2 * i, 3, "%02x", digest[i]);
}

gboolean
ws_sha256_is_hex (const char *text)
{
  return strlen (text) == WS_SHA256_HEX_SIZE - 1 &&
         strspn (text, "0123456789abcdef") == WS_SHA256_HEX_SIZE - 1;
}
