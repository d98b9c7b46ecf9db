#include "bench/accounts.h"

#include <string.h>

#include <sodium.h>
#include <whetsight/error.h>

#include "archive/account.h"

#define CLOSED "closed"
#define MOST_PASSWORD 1024 /* bytes */

static char *
hash_of (WsPasswords *passwords, const char *password)
{
  char hash[crypto_pwhash_STRBYTES];
  g_mutex_lock (&passwords->lock);
  const int failed =
    crypto_pwhash_str_alg (hash, password, strlen (password), crypto_pwhash_OPSLIMIT_INTERACTIVE,
                           crypto_pwhash_MEMLIMIT_INTERACTIVE, crypto_pwhash_ALG_ARGON2ID13);
  g_mutex_unlock (&passwords->lock);
  return failed ? NULL : g_strdup (hash);
}

gboolean
wsi_passwords_init (WsPasswords *passwords, GError **error)
{
  g_mutex_init (&passwords->lock);
  passwords->nobody = sodium_init () >= 0 ? hash_of (passwords, "") : NULL;
  if (passwords->nobody == NULL)
    g_set_error_literal (error, WS_ERROR, WS_ERROR_INTERNAL, "no memory to hash passwords with");
  return passwords->nobody != NULL;
}

void
wsi_passwords_clear (WsPasswords *passwords)
{
  g_free (passwords->nobody);
  g_mutex_clear (&passwords->lock);
}

/* ---- Signing in ----------------------------------------------------------------------------- */

gboolean
wsi_accounts_sign_in (WsPasswords *passwords, WsArchive *archive, const char *name,
                      const char *password, WsServeActor *actor, GError **error)
{
  GError *cause = NULL;
  g_autoptr (WsAccount) account = wsi_account_find (archive, name, &cause);
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  const WsServeRole role = account != NULL ? wsi_role_of_name (account->role) : WS_ROLE_NOBODY;
  const gboolean may =
    account != NULL && account->wrong == NULL && role != WS_ROLE_NOBODY && *account->hash != '\0';
  /* One hash is tried whoever asks. */
  g_mutex_lock (&passwords->lock);
  const gboolean right = crypto_pwhash_str_verify (may ? account->hash : passwords->nobody,
                                                   password, strlen (password)) == 0;
  g_mutex_unlock (&passwords->lock);
  if (!may || !right)
    return FALSE;
  *actor = (WsServeActor){ .role = role };
  g_strlcpy (actor->account, account->name, sizeof actor->account);
  return TRUE;
}

/* ---- Changing ------------------------------------------------------------------------------- */

static gboolean
refuse (GError **error, WsErrorCode code, const char *words)
{
  g_set_error_literal (error, WS_ERROR, (gint)code, words);
  return FALSE;
}

/* Letters, digits and what addresses have, so that no two look alike. */
static gboolean
name_is_sound (const char *name)
{
  const gsize n = strlen (name);
  for (const char *c = name; *c != '\0'; c++)
    if (!g_ascii_islower (*c) && !g_ascii_isdigit (*c) && strchr (".-_@", *c) == NULL)
      return FALSE;
  return n > 0 && n <= WSI_ACCOUNT_MOST && g_ascii_isalnum (name[0]);
}

static gboolean
check_change (const WsAccountChange *change, GError **error)
{
  if (change->name == NULL || !name_is_sound (change->name))
    return refuse (error, WS_ERROR_USAGE,
                   "an account's name is of small letters, digits and . - _ @, 64 at most");
  if (change->role != NULL && wsi_role_of_name (change->role) == WS_ROLE_NOBODY)
    return refuse (error, WS_ERROR_USAGE, "the role is one of operator, toolroom and quality");
  if (change->password != NULL && (g_utf8_strlen (change->password, -1) < WSI_PASSWORD_LEAST ||
                                   strlen (change->password) > MOST_PASSWORD))
    return refuse (error, WS_ERROR_USAGE, "a password has 10 characters or more");
  return TRUE;
}

/* Somebody has to be left who may change accounts. */
static gboolean
others_keep (WsArchive *archive, const char *name, gboolean *keep, GError **error)
{
  g_autoptr (GPtrArray) accounts = wsi_accounts_list (archive, error);
  *keep = FALSE;
  for (guint i = 0; accounts != NULL && i < accounts->len; i++)
  {
    const WsAccount *account = g_ptr_array_index (accounts, i);
    *keep = *keep || (!g_str_equal (account->name, name) && account->wrong == NULL &&
                      wsi_role_of_name (account->role) == WS_ROLE_QUALITY);
  }
  return accounts != NULL;
}

static gboolean
check_rest (WsArchive *archive, const WsAccount *before, const WsAccount *after, GError **error)
{
  gboolean keep;
  if (before == NULL || wsi_role_of_name (before->role) != WS_ROLE_QUALITY ||
      wsi_role_of_name (after->role) == WS_ROLE_QUALITY)
    return TRUE;
  if (!others_keep (archive, after->name, &keep, error))
    return FALSE;
  return keep || refuse (error, WS_ERROR_DATA,
                         "this is the last account with the role quality; make another one first");
}

gboolean
wsi_accounts_change (WsPasswords *passwords, WsArchive *archive, const WsAccountChange *change,
                     GError **error)
{
  GError *cause = NULL;
  if (!check_change (change, error))
    return FALSE;
  g_autoptr (WsAccount) before = wsi_account_find (archive, change->name, &cause);
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  if (!change->closed && before == NULL && (change->role == NULL || change->password == NULL))
    return refuse (error, WS_ERROR_USAGE, "a new account needs a role and a password");
  if (!change->closed && change->password == NULL && *before->hash == '\0')
    return refuse (error, WS_ERROR_USAGE, "the account was closed: give it a new password");
  if (change->closed && before == NULL)
    return refuse (error, WS_ERROR_NO_INPUT, "there is no such account");
  g_autofree char *hash = change->closed             ? g_strdup ("")
                          : change->password != NULL ? hash_of (passwords, change->password)
                                                     : g_strdup (before->hash);
  if (hash == NULL)
    return refuse (error, WS_ERROR_CANT_WRITE, "no memory to hash the password with");
  const WsAccount after = {
    .name = (char *)change->name,
    .role = (char *)(change->closed         ? CLOSED
                     : change->role != NULL ? change->role
                                            : before->role),
    .hash = hash,
  };
  const WsEventWords words = { .by = change->by, .account = change->login, .text = change->reason };
  return check_rest (archive, before, &after, error) &&
         wsi_account_set (archive, &after, &words, error);
}
