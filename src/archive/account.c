#include "archive/account.h"

#include <string.h>

#include <whetsight/error.h>

#include "archive/schema.h"
#include "archive/statements.h"
#include "base/sha256.h"

void
wsi_account_free (WsAccount *account)
{
  if (account == NULL)
    return;
  g_free (account->name);
  g_free (account->role);
  g_free (account->hash);
  g_free (account->wrong);
  g_free (account);
}

/* What the chain says of an account: its role, and which hash it has.  Owned by the caller. */
static json_t *
state_of (const WsAccount *account)
{
  char sha256[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex (account->hash, strlen (account->hash), sha256);
  return json_pack ("{s:s, s:s}", "role", account->role, "password_sha256", sha256);
}

static WsAccount *
read_row (WsQuery *stmt)
{
  WsAccount *account = g_new0 (WsAccount, 1);
  account->name = g_strdup (wsi_column_text_or (stmt, 0, ""));
  account->role = g_strdup (wsi_column_text_or (stmt, 1, ""));
  account->hash = g_strdup (wsi_column_text_or (stmt, 2, ""));
  return account;
}

/* Sets `wrong` unless the account is as the last entry of the chain has it. */
static void
hold_against_chain (WsArchive *archive, WsAccount *account)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsEvent) event = wsi_event_last (archive, WS_EVENT_ACCOUNT, account->name, &error);
  json_t *state = state_of (account);
  if (error != NULL)
    account->wrong = g_strdup (error->message);
  else if (event == NULL)
    account->wrong = g_strdup ("it stands in the table, but no entry of the chain made it");
  else if (!json_equal (state, event->after))
    account->wrong = g_strdup ("it is not as the last entry of the chain has it");
  json_decref (state);
}

WsAccount *
wsi_account_find (WsArchive *archive, const char *name, GError **error)
{
  if (archive->engine->version < WS_VERSION_OF_ACCOUNTS)
    return NULL;
  WsQuery *stmt = wsi_statement (archive, WS_SQL_FIND_ACCOUNT);
  wsi_bind_text (stmt, 1, name);
  wsi_bind_bench (stmt, 2, NULL);
  const WsQueryStep step = wsi_step (stmt);
  WsAccount *account = step == WS_QUERY_ROW ? read_row (stmt) : NULL;
  if (step == WS_QUERY_FAILED)
    wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  if (account != NULL)
    hold_against_chain (archive, account);
  return account;
}

GPtrArray *
wsi_accounts_list (WsArchive *archive, GError **error)
{
  g_autoptr (GPtrArray) accounts =
    g_ptr_array_new_with_free_func ((GDestroyNotify)wsi_account_free);
  WsQueryStep step = WS_QUERY_FAILED;
  if (archive->engine->version < WS_VERSION_OF_ACCOUNTS)
    return g_steal_pointer (&accounts);
  WsQuery *stmt = wsi_statement (archive, WS_SQL_EACH_ACCOUNT);
  wsi_bind_bench (stmt, 1, NULL);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
    g_ptr_array_add (accounts, read_row (stmt));
  const gboolean done = step == WS_QUERY_DONE || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  for (guint i = 0; done && i < accounts->len; i++)
    hold_against_chain (archive, g_ptr_array_index (accounts, i));
  return done ? g_steal_pointer (&accounts) : NULL;
}

/* ---- Changing ------------------------------------------------------------------------------- */

static gboolean
write_row (WsArchive *archive, const WsAccount *account, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_SET_ACCOUNT);
  wsi_bind_text (stmt, 1, account->name);
  wsi_bind_text (stmt, 2, account->role);
  wsi_bind_text (stmt, 3, account->hash);
  wsi_bind_bench (stmt, 4, NULL);
  return wsi_statement_finish (archive, stmt, error);
}

static gboolean
change (WsArchive *archive, const WsAccount *account, const WsEventWords *words, GError **error)
{
  GError *cause = NULL;
  g_autoptr (WsAccount) there = wsi_account_find (archive, account->name, &cause);
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  if (there != NULL && there->wrong != NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "account %s: %s, so nothing of it is changed; whetsight archive verify tells more",
                 account->name, there->wrong);
    return FALSE;
  }
  json_t *before = there != NULL ? state_of (there) : NULL, *after = state_of (account);
  WsEventWords entry = *words;
  entry.kind = WS_EVENT_ACCOUNT;
  entry.subject = account->name;
  entry.before = before;
  entry.after = after;
  const gboolean done =
    write_row (archive, account, error) && wsi_event_add (archive, &entry, error);
  json_decref (before);
  json_decref (after);
  return done;
}

gboolean
wsi_account_set (WsArchive *archive, const WsAccount *account, const WsEventWords *words,
                 GError **error)
{
  if (!ws_archive_begin (archive, error))
    return FALSE;
  if (change (archive, account, words, error))
    return ws_archive_commit (archive, error);
  ws_archive_roll_back (archive);
  return FALSE;
}

/* ---- Checking ------------------------------------------------------------------------------- */

static gboolean
tell_lost (WsArchive *archive, WsAccountVisit visit, gpointer data, GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  WsQuery *stmt = wsi_statement (archive, WS_SQL_LOST_ACCOUNTS);
  wsi_bind_bench (stmt, 1, NULL);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
  {
    g_autofree char *what =
      g_strdup_printf ("%s: removed from the table", wsi_column_text_or (stmt, 0, "account"));
    visit (what, data);
  }
  const gboolean done = step == WS_QUERY_DONE || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

gboolean
wsi_accounts_check (WsArchive *archive, WsAccountVisit visit, gpointer data, GError **error)
{
  g_autoptr (GPtrArray) accounts = wsi_accounts_list (archive, error);
  if (accounts == NULL)
    return FALSE;
  for (guint i = 0; i < accounts->len; i++)
  {
    const WsAccount *account = g_ptr_array_index (accounts, i);
    if (account->wrong == NULL)
      continue;
    g_autofree char *what = g_strdup_printf ("account %s: %s", account->name, account->wrong);
    visit (what, data);
  }
  return archive->engine->version < WS_VERSION_OF_ACCOUNTS ||
         tell_lost (archive, visit, data, error);
}
