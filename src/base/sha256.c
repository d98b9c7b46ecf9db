#include "base/sha256.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <nettle/sha2.h>

/* Large enough for the disk, small enough for a thread's stack: what couldn't be measured for want
 * of memory is hashed as well. */
#define BLOCK (64 * 1024)

static void
write_hex (struct sha256_ctx *context, char hex[WS_SHA256_HEX_SIZE])
{
  static const char digits[] = "0123456789abcdef";
  guint8 digest[SHA256_DIGEST_SIZE];
  sha256_digest (context, sizeof digest, digest);
  for (gsize i = 0; i < sizeof digest; i++)
  {
    hex[2 * i] = digits[digest[i] >> 4];
    hex[2 * i + 1] = digits[digest[i] & 0xF];
  }
  hex[WS_SHA256_HEX_SIZE - 1] = '\0';
}

/* Nettle's uses the processor's SHA instructions, some six times as fast as GChecksum. */
void
wsi_sha256_pieces_hex (const WsSha256Piece *pieces, gsize n_pieces, char hex[WS_SHA256_HEX_SIZE])
{
  struct sha256_ctx context;
  sha256_init (&context);
  for (gsize i = 0; i < n_pieces; i++)
    sha256_update (&context, pieces[i].n_bytes, pieces[i].bytes);
  write_hex (&context, hex);
}

void
wsi_sha256_hex (const void *bytes, gsize n_bytes, char hex[WS_SHA256_HEX_SIZE])
{
  const WsSha256Piece piece = { bytes, n_bytes };
  wsi_sha256_pieces_hex (&piece, 1, hex);
}

struct WsSha256
{
  struct sha256_ctx context;
};

WsSha256 *
wsi_sha256_new (void)
{
  WsSha256 *sum = g_new (WsSha256, 1);
  sha256_init (&sum->context);
  return sum;
}

void
wsi_sha256_add (WsSha256 *sum, const void *bytes, gsize n_bytes)
{
  sha256_update (&sum->context, n_bytes, bytes);
}

void
wsi_sha256_end (WsSha256 *sum, char hex[WS_SHA256_HEX_SIZE])
{
  write_hex (&sum->context, hex);
  g_free (sum);
}

gboolean
wsi_sha256_file (const char *path, guint64 *n_bytes, char hex[WS_SHA256_HEX_SIZE])
{
  struct sha256_ctx context;
  guint8 block[BLOCK];
  const int fd = g_open (path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0);
  if (fd < 0)
    return FALSE;
  sha256_init (&context);
  ssize_t n;
  while ((n = read (fd, block, BLOCK)) > 0 || (n < 0 && errno == EINTR))
  {
    sha256_update (&context, n > 0 ? (gsize)n : 0, block);
    if (n_bytes != NULL && n > 0)
      __atomic_fetch_add (n_bytes, (guint64)n, __ATOMIC_RELAXED);
  }
  close (fd);
  write_hex (&context, hex);
  return n == 0;
}

gboolean
wsi_sha256_is_hex (const char *text)
{
  return strlen (text) == WS_SHA256_HEX_SIZE - 1 &&
         strspn (text, "0123456789abcdef") == WS_SHA256_HEX_SIZE - 1;
}
