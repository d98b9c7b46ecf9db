#include "archive/seal_key.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <sodium.h>
#include <whetsight/error.h>
#include <whetsight/seal.h>

#include "archive/files.h"
#include "base/file.h"

#define HEAD "whetsight-key/1"
#define PUBLIC_SUFFIX ".pub"
#define MAX_KEY_BYTES 4096
#define MODE_SECRET 0600
#define MODE_PUBLIC 0644
#define MODE_OTHERS 0077

struct WsSealKey
{
  char public_hex[WS_KEY_HEX_SIZE];
  unsigned char *secret; /* crypto_sign_SECRETKEYBYTES, by sodium_malloc() */
};

G_STATIC_ASSERT (WS_KEY_HEX_SIZE == 2 * crypto_sign_PUBLICKEYBYTES + 1);
G_STATIC_ASSERT (WS_KEY_HEX_SIZE == 2 * crypto_sign_SEEDBYTES + 1);
G_STATIC_ASSERT (WS_SIGNATURE_HEX_SIZE == 2 * crypto_sign_BYTES + 1);

/* It may be called any number of times, by any thread. */
static gboolean
prepare (GError **error)
{
  if (sodium_init () >= 0)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "libsodium can't be set up on this computer");
  return FALSE;
}

/* Exactly `n` bytes of lower-case digits. */
static gboolean
from_hex (const char *hex, unsigned char *bytes, gsize n)
{
  gsize n_read = 0;
  return strlen (hex) == 2 * n && strspn (hex, "0123456789abcdef") == 2 * n &&
         sodium_hex2bin (bytes, n, hex, 2 * n, NULL, &n_read, NULL) == 0 && n_read == n;
}

/* ---- Files ----------------------------------------------------------------------------- */

static gboolean
check_place (const char *path, GError **error)
{
  if (!wsi_files_lies_in_archive (path))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               "%s: lies in an archive, where whoever can change the rows could sign them; keep "
               "the key elsewhere",
               path);
  return FALSE;
}

static gboolean
write_bytes (int fd, const char *text)
{
  const gsize n = strlen (text);
  gsize done = 0;
  for (ssize_t written; done < n; done += (gsize)written)
    if ((written = write (fd, text + done, n - done)) <= 0)
      return FALSE;
  return fsync (fd) == 0;
}

/* A file system without permissions, as on many a stick, makes it readable to all. */
static gboolean
has_mode (int fd, mode_t mode)
{
  struct stat about;
  return mode != MODE_SECRET || (fstat (fd, &about) == 0 && (about.st_mode & MODE_OTHERS) == 0);
}

/* What is there is never written over: it may be the only copy of a key. */
static gboolean
write_new (const char *path, const char *text, mode_t mode, GError **error)
{
  const int fd = open (path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
  if (fd < 0 && errno == EEXIST)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                 "%s: is there already, and a key is never written over; choose another name",
                 path);
  else if (fd < 0)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't write: %s", path,
                 g_strerror (errno));
  if (fd < 0)
    return FALSE;
  const gboolean kept = has_mode (fd, mode);
  const gboolean written = kept && write_bytes (fd, text);
  const int cause = errno;
  if (close (fd) == 0 && written)
    return TRUE;
  g_unlink (path);
  if (kept)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't write: %s", path,
                 g_strerror (cause));
  else
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                 "%s: its file system can't keep it from others; choose another place", path);
  return FALSE;
}

static char *
public_text (const char *time, const char *public_hex)
{
  return g_strdup_printf (HEAD "\nmade %s\npublic %s\n", time, public_hex);
}

static gboolean
write_both (const char *path, const char *public_hex, const unsigned char *seed, GError **error)
{
  char seed_hex[WS_KEY_HEX_SIZE];
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autofree char *public_path = g_strconcat (path, PUBLIC_SUFFIX, NULL);
  g_autofree char *given = public_text (time, public_hex);
  sodium_bin2hex (seed_hex, sizeof seed_hex, seed, crypto_sign_SEEDBYTES);
  char *kept = g_strconcat (given, "secret ", seed_hex, "\n", NULL);
  gboolean done = write_new (path, kept, MODE_SECRET, error);
  if (done && !write_new (public_path, given, MODE_PUBLIC, error))
  {
    g_unlink (path); /* nobody has used it yet */
    done = FALSE;
  }
  sodium_memzero (kept, strlen (kept));
  sodium_memzero (seed_hex, sizeof seed_hex);
  g_free (kept);
  return done;
}

char *
ws_seal_key_make (const char *path, GError **error)
{
  unsigned char public_bytes[crypto_sign_PUBLICKEYBYTES];
  unsigned char secret[crypto_sign_SECRETKEYBYTES], seed[crypto_sign_SEEDBYTES];
  char public_hex[WS_KEY_HEX_SIZE];
  if (!check_place (path, error) || !prepare (error))
    return NULL;
  randombytes_buf (seed, sizeof seed);
  crypto_sign_seed_keypair (public_bytes, secret, seed);
  sodium_bin2hex (public_hex, sizeof public_hex, public_bytes, sizeof public_bytes);
  const gboolean done = write_both (path, public_hex, seed, error);
  sodium_memzero (seed, sizeof seed);
  sodium_memzero (secret, sizeof secret);
  return done ? g_strdup (public_hex) : NULL;
}

/* ---- Reading -------------------------------------------------------------------------------- */

/* What stands behind `name` in a line of its own, whose line feed becomes a zero byte; NULL when
 * there is none. */
static char *
take_member (char *text, const char *name)
{
  g_autofree char *start = g_strconcat ("\n", name, " ", NULL);
  char *found = strstr (text, start);
  char *value = found != NULL ? found + strlen (start) : NULL;
  char *end = value != NULL ? strchr (value, '\n') : NULL;
  if (end == NULL)
    return NULL;
  *end = '\0';
  return value;
}

static char *
read_file (const char *path, GError **error)
{
  char *text = wsi_file_read_text (path, "key", MAX_KEY_BYTES, error);
  if (text == NULL || g_str_has_prefix (text, HEAD "\n"))
    return text;
  g_free (text);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: no key of archive key", path);
  return NULL;
}

static gboolean
refuse_damaged (const char *path, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: the key isn't whole; take another copy", path);
  return FALSE;
}

char *
ws_seal_key_public (const char *path, GError **error)
{
  unsigned char bytes[crypto_sign_PUBLICKEYBYTES];
  char *text = read_file (path, error);
  if (text == NULL)
    return NULL;
  const gsize length = strlen (text);
  const char *hex = take_member (text, "public");
  char *found = hex != NULL && from_hex (hex, bytes, sizeof bytes) ? g_strdup (hex) : NULL;
  if (found == NULL)
    refuse_damaged (path, error);
  sodium_memzero (text, length);
  g_free (text);
  return found;
}

/* The secret half comes last, so a file that was cut off has none. */
static gboolean
fill (WsSealKey *key, char *text)
{
  unsigned char public_bytes[crypto_sign_PUBLICKEYBYTES], seed[crypto_sign_SEEDBYTES];
  const char *secret_hex = take_member (text, "secret");
  const char *public_hex = take_member (text, "public");
  if (public_hex == NULL || secret_hex == NULL || !from_hex (secret_hex, seed, sizeof seed))
    return FALSE;
  crypto_sign_seed_keypair (public_bytes, key->secret, seed);
  sodium_memzero (seed, sizeof seed);
  sodium_bin2hex (key->public_hex, sizeof key->public_hex, public_bytes, sizeof public_bytes);
  return g_str_equal (key->public_hex, public_hex);
}

static gboolean
check_mode (const char *path, GError **error)
{
  GStatBuf about;
  if (g_stat (path, &about) != 0 || (about.st_mode & MODE_OTHERS) == 0)
    return TRUE; /* reading says what else is wrong */
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: others may read this key; chmod 600, or make a new one if they did", path);
  return FALSE;
}

WsSealKey *
wsi_seal_key_load (const char *path, GError **error)
{
  if (!check_place (path, error) || !check_mode (path, error) || !prepare (error))
    return NULL;
  char *text = read_file (path, error);
  if (text == NULL)
    return NULL;
  const gsize length = strlen (text);
  g_autoptr (WsSealKey) key = g_new0 (WsSealKey, 1);
  key->secret = sodium_malloc (crypto_sign_SECRETKEYBYTES);
  const gboolean whole = key->secret != NULL && fill (key, text);
  sodium_memzero (text, length);
  g_free (text);
  if (whole)
    return g_steal_pointer (&key);
  refuse_damaged (path, error);
  return NULL;
}

void
wsi_seal_key_free (WsSealKey *key)
{
  if (key == NULL)
    return;
  sodium_free (key->secret);
  g_free (key);
}

const char *
wsi_seal_key_public (const WsSealKey *key)
{
  return key->public_hex;
}

void
wsi_seal_key_sign (const WsSealKey *key, const char *text, char signature[WS_SIGNATURE_HEX_SIZE])
{
  unsigned char bytes[crypto_sign_BYTES];
  crypto_sign_detached (bytes, NULL, (const unsigned char *)text, strlen (text), key->secret);
  sodium_bin2hex (signature, WS_SIGNATURE_HEX_SIZE, bytes, sizeof bytes);
}

gboolean
wsi_signature_holds (const char *text, const char *public_hex, const char *signature)
{
  unsigned char key[crypto_sign_PUBLICKEYBYTES], bytes[crypto_sign_BYTES];
  return prepare (NULL) && from_hex (public_hex, key, sizeof key) &&
         from_hex (signature, bytes, sizeof bytes) &&
         crypto_sign_verify_detached (bytes, (const unsigned char *)text, strlen (text), key) == 0;
}
