/*
 * What those who answer for quality ask for: accounts, the archive's state, seals; and what the
 * program knows.
 */
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "archive/account.h"
#include "base/language.h"
#include "bench/api.h"
#include "bench/assets.h"
#include "bench/intake.h"

/* ---- Accounts ------------------------------------------------------------------------------- */

static json_t *
account_json (const WsAccount *account)
{
  return json_pack ("{s:s, s:s, s:s?}", "account", account->name, "role", account->role, "wrong",
                    account->wrong);
}

WsServeReply *
wsi_api_accounts (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) accounts = wsi_serve_accounts (serve, &error);
  if (accounts == NULL)
    return wsi_serve_take_error (serve, request, error);
  json_t *array = json_array ();
  for (guint i = 0; i < accounts->len; i++)
    json_array_append_new (array, account_json (g_ptr_array_index (accounts, i)));
  return wsi_reply_take_json (200, json_pack ("{s:o}", "accounts", array));
}

static WsServeReply *
change_account (WsServe *serve, WsServeRequest *request, const WsAccountChange *change)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean done =
    archive != NULL && wsi_accounts_change (&serve->passwords, archive, change, &error);
  wsi_serve_give (serve, archive);
  if (!done)
    return wsi_serve_take_error (serve, request, error);
  /* Whoever was signed in by it signs in again. */
  wsi_sessions_close_account (serve->sessions, change->name);
  return request->is_api ? wsi_reply_take_json (200, json_pack ("{s:s}", "account", change->name))
                         : wsi_reply_take_location (g_strdup ("/accounts"));
}

WsServeReply *
wsi_api_set_account (WsServe *serve, WsServeRequest *request)
{
  g_autofree char *role = wsi_request_field (request, "role");
  g_autofree char *password = wsi_request_field (request, "password");
  g_autofree char *closed = wsi_request_field (request, "closed");
  g_autofree char *reason = wsi_request_field (request, "text");
  g_autofree char *by = wsi_intake_by (request);
  /* The page's form has the name as a field. */
  g_autofree char *named = wsi_request_field (request, "account");
  const WsAccountChange change = {
    .name = request->ids[0] != NULL ? request->ids[0] : named,
    .role = role,
    .password = password,
    .closed = closed != NULL && !g_str_equal (closed, "false"),
    .by = by,
    .login = request->actor.account,
    .reason = reason,
  };
  if (change.name == NULL)
    return wsi_serve_trouble (request, 422, _ ("Give the account's name."));
  return change_account (serve, request, &change);
}

/* One's own, by the old one. */
WsServeReply *
wsi_api_set_password (WsServe *serve, WsServeRequest *request)
{
  guint wait_s;
  GError *error = NULL;
  WsServeActor actor;
  g_autofree char *old = wsi_request_field (request, "old");
  g_autofree char *password = wsi_request_field (request, "password");
  g_autofree char *who = g_strconcat ("as ", request->actor.account, NULL);
  if (request->actor.is_local || old == NULL || password == NULL)
    return wsi_serve_trouble (request, 422, "Give the old password and the new one.");
  if (!wsi_limiter_ask (serve->tries, who, g_get_monotonic_time (), &wait_s))
    return wsi_serve_trouble (request, 429, "Too many tries; wait a minute.");
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean right =
    archive != NULL &&
    wsi_accounts_sign_in (&serve->passwords, archive, request->actor.account, old, &actor, &error);
  wsi_serve_give (serve, archive);
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  if (!right)
    return wsi_serve_trouble (request, 403, "The old password is wrong.");
  const WsAccountChange change = {
    .name = request->actor.account,
    .password = password,
    .by = request->actor.account,
    .login = request->actor.account,
    .reason = "own password changed",
  };
  return change_account (serve, request, &change);
}

/* ---- The archive ---------------------------------------------------------------------------- */

WsServeReply *
wsi_api_archive (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  guint64 count = 0;
  char hash[65] = "";
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean read = archive != NULL && ws_archive_head (archive, &count, hash, &error);
  wsi_serve_give (serve, archive);
  if (!read)
    return wsi_serve_take_error (serve, request, error);
  return wsi_reply_take_json (200,
                              json_pack ("{s:I, s:s}", "rows", (json_int_t)count, "hash", hash));
}

static void
keep_what (const char *what, gpointer data)
{
  g_autofree char *valid = g_utf8_make_valid (what, -1);
  json_array_append_new (data, json_string (valid));
}

/* Reads everything, so one at a time. */
WsServeReply *
wsi_api_verify (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsVerification found = { 0 };
  if (!g_mutex_trylock (&serve->verifying))
  {
    WsServeReply *busy =
      wsi_serve_trouble (request, 503, "The archive is being verified already; try again in 10 s.");
    busy->retry_after = 10;
    return busy;
  }
  json_t *told = json_array ();
  const WsVerifier verifier = { keep_what, NULL, told };
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean done =
    archive != NULL && ws_archive_verify (archive, NULL, &verifier, &found, &error);
  wsi_serve_give (serve, archive);
  g_mutex_unlock (&serve->verifying);
  if (!done)
  {
    json_decref (told);
    return wsi_serve_take_error (serve, request, error);
  }
  return wsi_reply_take_json (
    200, json_pack ("{s:b, s:I, s:I, s:I, s:I, s:o}", "good", found.wrong == 0, "rows",
                    (json_int_t)found.rows, "notes", (json_int_t)found.notes, "events",
                    (json_int_t)found.events, "pictures", (json_int_t)found.files, "wrong", told));
}

WsServeReply *
wsi_api_seal (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autofree char *seal = archive != NULL ? ws_archive_seal (archive, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (seal == NULL)
    return wsi_serve_take_error (serve, request, error);
  return wsi_reply_take_json (201, json_pack ("{s:s}", "seal", seal));
}

/* ---- What the program knows -------------------------------------------------------------------
 */

static json_t *
view_json (const WsView *view)
{
  json_t *quantities = json_array (), *kinds = json_array ();
  for (gsize i = 0; i < view->n_quantities; i++)
  {
    const WsQuantityInfo *info = &view->quantities[i];
    json_array_append_new (quantities,
                           json_pack ("{s:s, s:s, s:s}", "name", info->stem, "label", info->label,
                                      "unit", ws_unit_suffix (info->unit, TRUE)));
  }
  for (guint kind = 0; kind < WS_N_KINDS; kind++)
    if (view->kinds & 1U << kind)
      json_array_append_new (kinds, json_string (ws_tool_kind_name ((WsToolKind)kind)));
  return json_pack ("{s:s, s:s, s:o, s:o}", "view", view->name, "summary", view->summary, "kinds",
                    kinds, "quantities", quantities);
}

WsServeReply *
wsi_api_views (WsServe *serve, WsServeRequest *request)
{
  json_t *array = json_array ();
  (void)serve;
  (void)request;
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    json_array_append_new (array, view_json (*view));
  return wsi_reply_take_json (200, json_pack ("{s:o}", "views", array));
}

WsServeReply *
wsi_api_description (WsServe *serve, WsServeRequest *request)
{
  (void)serve;
  for (const WsAsset *asset = wsi_assets; asset->name != NULL; asset++)
    if (g_str_equal (asset->name, "openapi.json"))
    {
      g_autoptr (GBytes) bytes = g_bytes_new_static (asset->bytes, asset->n_bytes);
      return wsi_reply_bytes (200, "application/json", bytes);
    }
  return wsi_serve_trouble (request, 404, "There is no description.");
}
