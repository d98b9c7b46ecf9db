#include "bench/sessions.h"

#include <string.h>

#include <sodium.h>

#include "base/sha256.h"

#define KEY_BYTES crypto_auth_KEYBYTES
#define MOST_SESSIONS 1000
#define MOST_HOURS 12 /* a shift and a half */
#define IDLE_HOURS 2

typedef struct
{
  WsServeActor actor;
  gint64 begun, seen; /* µs, monotonic */
} Session;

struct WsSessions
{
  unsigned char key[KEY_BYTES];
  GMutex lock;
  GHashTable *open; /* hash of the secret -> Session */
};

WsSessions *
wsi_sessions_new (void)
{
  WsSessions *sessions = g_new0 (WsSessions, 1);
  g_mutex_init (&sessions->lock);
  randombytes_buf (sessions->key, sizeof sessions->key);
  sessions->open = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  return sessions;
}

void
wsi_sessions_free (WsSessions *sessions)
{
  if (sessions == NULL)
    return;
  sodium_memzero (sessions->key, sizeof sessions->key);
  g_hash_table_unref (sessions->open);
  g_mutex_clear (&sessions->lock);
  g_free (sessions);
}

void
wsi_sessions_random (char hex[WSI_SESSION_HEX])
{
  unsigned char bytes[(WSI_SESSION_HEX - 1) / 2];
  randombytes_buf (bytes, sizeof bytes);
  sodium_bin2hex (hex, WSI_SESSION_HEX, bytes, sizeof bytes);
}

gboolean
wsi_sessions_equal (const char *a, const char *b)
{
  const gsize n = strlen (a);
  return n == strlen (b) && sodium_memcmp (a, b, n) == 0;
}

void
wsi_sessions_token (const WsSessions *sessions, const char *secret, char token[WSI_SESSION_HEX])
{
  unsigned char tag[crypto_auth_BYTES];
  crypto_auth (tag, (const unsigned char *)secret, strlen (secret), sessions->key);
  sodium_bin2hex (token, WSI_SESSION_HEX, tag, (WSI_SESSION_HEX - 1) / 2);
}

static gboolean
is_over (const Session *session, gint64 now)
{
  return now - session->begun > MOST_HOURS * G_TIME_SPAN_HOUR ||
         now - session->seen > IDLE_HOURS * G_TIME_SPAN_HOUR;
}

static gboolean
drop_over (gpointer key, gpointer session, gpointer now)
{
  (void)key;
  return is_over (session, *(const gint64 *)now);
}

void
wsi_sessions_open (WsSessions *sessions, const WsServeActor *actor, char secret[WSI_SESSION_HEX])
{
  char hash[WS_SHA256_HEX_SIZE];
  gint64 now = g_get_monotonic_time ();
  Session *session = g_new (Session, 1);
  *session = (Session){ *actor, now, now };
  wsi_sessions_random (secret);
  wsi_sha256_hex (secret, strlen (secret), hash);
  g_mutex_lock (&sessions->lock);
  g_hash_table_foreach_remove (sessions->open, drop_over, &now);
  if (g_hash_table_size (sessions->open) >= MOST_SESSIONS)
    g_hash_table_remove_all (sessions->open);
  g_hash_table_insert (sessions->open, g_strdup (hash), session);
  g_mutex_unlock (&sessions->lock);
}

gboolean
wsi_sessions_find (WsSessions *sessions, const char *secret, WsServeActor *actor)
{
  char hash[WS_SHA256_HEX_SIZE];
  const gint64 now = g_get_monotonic_time ();
  wsi_sha256_hex (secret, strlen (secret), hash);
  g_mutex_lock (&sessions->lock);
  Session *session = g_hash_table_lookup (sessions->open, hash);
  const gboolean found = session != NULL && !is_over (session, now);
  if (found)
  {
    session->seen = now;
    *actor = session->actor;
  }
  g_mutex_unlock (&sessions->lock);
  return found;
}

void
wsi_sessions_close (WsSessions *sessions, const char *secret)
{
  char hash[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex (secret, strlen (secret), hash);
  g_mutex_lock (&sessions->lock);
  g_hash_table_remove (sessions->open, hash);
  g_mutex_unlock (&sessions->lock);
}

static gboolean
is_of_account (gpointer key, gpointer session, gpointer account)
{
  (void)key;
  return g_str_equal (((const Session *)session)->actor.account, (const char *)account);
}

void
wsi_sessions_close_account (WsSessions *sessions, const char *account)
{
  g_mutex_lock (&sessions->lock);
  g_hash_table_foreach_remove (sessions->open, is_of_account, (gpointer)account);
  g_mutex_unlock (&sessions->lock);
}
