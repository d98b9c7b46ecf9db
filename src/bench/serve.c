#include "bench/serve.h"

#include <whetsight/error.h>

#include "archive/account.h"
#include "bench/html.h"

/* A page with its pictures takes some thirty. */
#define ASKS_AT_ONCE 400
#define ASKS_A_SECOND 100

/* Somebody who mistypes; 10,000 tries take 14 hours. */
#define TRIES_AT_ONCE 10
#define TRIES_A_SECOND 0.2

/* One picture measured or waiting for each worker takes a second or two. */
#define WAITING_A_WORKER 16
#define WAIT_S 8
#define MEASURE_S 60

WsServe *
wsi_serve_new (const WsServeSettings *settings, GError **error)
{
  g_autoptr (WsServe) serve = g_new0 (WsServe, 1);
  const WsCrewSettings crew = {
    .command = (char **)settings->worker,
    .size = MAX (settings->n_workers, 1),
    .most_waiting = MAX (settings->n_workers, 1) * WAITING_A_WORKER,
    .wait_s = WAIT_S,
    .measure_s = MEASURE_S,
  };
  serve->settings = *settings;
  g_mutex_init (&serve->lock);
  g_mutex_init (&serve->verifying);
  serve->archives = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_archive_free);
  serve->sessions = wsi_sessions_new ();
  serve->asks = wsi_limiter_new (ASKS_AT_ONCE, ASKS_A_SECOND);
  serve->tries = wsi_limiter_new (TRIES_AT_ONCE, TRIES_A_SECOND);
  serve->crew = wsi_crew_new (&crew);
  serve->regrinds = wsi_regrinds_kept_new ();
  if (settings->camera != NULL || settings->bench != NULL)
    serve->eye = wsi_eye_new (settings->camera, settings->bench, settings->rate);
  WsArchive *archive =
    wsi_passwords_init (&serve->passwords, error) ? wsi_serve_take (serve, error) : NULL;
  if (archive == NULL)
    return NULL;
  wsi_serve_give (serve, archive);
  return g_steal_pointer (&serve);
}

void
wsi_serve_free (WsServe *serve)
{
  if (serve == NULL)
    return;
  g_ptr_array_unref (serve->archives);
  wsi_sessions_free (serve->sessions);
  wsi_limiter_free (serve->asks);
  wsi_limiter_free (serve->tries);
  wsi_passwords_clear (&serve->passwords);
  wsi_eye_free (serve->eye);
  wsi_crew_free (serve->crew);
  wsi_regrinds_kept_free (serve->regrinds);
  g_mutex_clear (&serve->lock);
  g_mutex_clear (&serve->verifying);
  g_free (serve);
}

WsArchive *
wsi_serve_take (WsServe *serve, GError **error)
{
  WsArchive *archive = NULL;
  g_mutex_lock (&serve->lock);
  if (serve->archives->len > 0)
    archive = g_ptr_array_steal_index_fast (serve->archives, serve->archives->len - 1);
  g_mutex_unlock (&serve->lock);
  return archive != NULL ? archive
                         : ws_archive_open (serve->settings.archive, WS_ARCHIVE_WRITE, error);
}

void
wsi_serve_give (WsServe *serve, WsArchive *archive)
{
  if (archive == NULL)
    return;
  g_mutex_lock (&serve->lock);
  g_ptr_array_add (serve->archives, archive);
  g_mutex_unlock (&serve->lock);
}

GPtrArray *
wsi_serve_accounts (WsServe *serve, GError **error)
{
  WsArchive *archive = wsi_serve_take (serve, error);
  GPtrArray *accounts = archive != NULL ? wsi_accounts_list (archive, error) : NULL;
  wsi_serve_give (serve, archive);
  return accounts;
}

/* ---- What is wrong -------------------------------------------------------------------------- */

WsServeReply *
wsi_serve_trouble (const WsServeRequest *request, guint status, const char *words)
{
  if (!request->is_api)
    return wsi_html_trouble (request, status, words);
  g_autofree char *valid = g_utf8_make_valid (words, -1);
  return wsi_reply_take_json (
    status, json_pack ("{s:s, s:s}", "error", wsi_reply_status_words (status), "text", valid));
}

WsServeReply *
wsi_serve_take_error (WsServe *serve, const WsServeRequest *request, GError *error)
{
  static const struct
  {
    int code;
    guint status;
  } known[] = {
    { WS_ERROR_USAGE, 422 },    { WS_ERROR_DATA, 422 },      { WS_ERROR_TOO_LARGE, 413 },
    { WS_ERROR_NO_INPUT, 404 }, { WS_ERROR_CANCELLED, 503 }, { WS_ERROR_CANT_WRITE, 503 },
  };
  guint status = 500;
  for (gsize i = 0; error->domain == WS_ERROR && i < G_N_ELEMENTS (known); i++)
    if (error->code == known[i].code)
      status = known[i].status;
  if (status >= 500 && status != 503)
    g_warning ("%s", error->message);
  WsServeReply *reply = wsi_serve_trouble (request, status, error->message);
  if (status == 503)
    reply->retry_after = wsi_crew_retry_after (serve->crew);
  g_error_free (error);
  return reply;
}
