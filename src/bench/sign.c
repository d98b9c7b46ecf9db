#include "bench/sign.h"

#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>

#include "base/language.h"
#include "bench/html.h"

/* Sent back over TLS alone, to nobody else, and never shown to scripts. */
static char *
cookie (const char *name, const char *value)
{
  return g_strdup_printf ("%s=%s; Path=/; Secure; HttpOnly; SameSite=Strict%s", name, value,
                          *value == '\0' ? "; Max-Age=0" : "");
}

/* A visitor gets something to hold his token by; returns the cookie to be set, or NULL. */
static char *
greet (WsServe *serve, WsServeRequest *request)
{
  char visit[WSI_SESSION_HEX];
  if (*request->token != '\0')
    return NULL;
  wsi_sessions_random (visit);
  wsi_sessions_token (serve->sessions, visit, request->token);
  return cookie (WSI_VISIT_COOKIE, visit);
}

/* ---- In ------------------------------------------------------------------------------------- */

static WsServeReply *
sign_page (WsServe *serve, WsServeRequest *request, guint status, const char *trouble)
{
  char *set = greet (serve, request);
  GString *html = wsi_html_page (request, _ ("Sign in"));
  wsi_html_add (html, "<h1>%s</h1>\n", _ ("Sign in"));
  if (trouble != NULL)
    wsi_html_add (html, "<p role=\"alert\">%s</p>\n", trouble);
  g_string_append (html, "<form method=\"post\" action=\"/sign-in\">");
  wsi_html_token (html, request);
  wsi_html_add (html,
                "<p><label for=\"account\">%s</label> <input id=\"account\" name=\"account\" "
                "autocomplete=\"username\" autocapitalize=\"none\" required></p>\n<p><label "
                "for=\"password\">%s</label> <input id=\"password\" name=\"password\" "
                "type=\"password\" autocomplete=\"current-password\" required></p>\n<p><button "
                "class=\"main\">%s</button></p></form>\n",
                _ ("Name"), _ ("Password"), _ ("Sign in"));
  WsServeReply *reply = wsi_html_take_page (status, html);
  reply->cookie = set;
  return reply;
}

WsServeReply *
wsi_sign_page (WsServe *serve, WsServeRequest *request)
{
  return request->actor.role != WS_ROLE_NOBODY ? wsi_reply_take_location (g_strdup ("/"))
                                               : sign_page (serve, request, 200, NULL);
}

static json_t *
session_json (const WsServeRequest *request)
{
  const gboolean known = request->actor.role != WS_ROLE_NOBODY;
  return json_pack ("{s:s?, s:s, s:b, s:s}", "account", known ? request->actor.account : NULL,
                    "role", wsi_role_name (request->actor.role), "local", request->actor.is_local,
                    "token", request->token);
}

WsServeReply *
wsi_sign_session (WsServe *serve, WsServeRequest *request)
{
  char *set = greet (serve, request);
  WsServeReply *reply = wsi_reply_take_json (200, session_json (request));
  reply->cookie = set;
  return reply;
}

/* By address and by name: neither many names from one place nor one name from many places. */
static gboolean
may_try (WsServe *serve, const WsServeRequest *request, const char *name, guint *wait_s)
{
  const gint64 now = g_get_monotonic_time ();
  g_autofree char *from = g_strconcat ("from ", request->client, NULL);
  g_autofree char *as = g_strconcat ("as ", name, NULL);
  return wsi_limiter_ask (serve->tries, from, now, wait_s) &&
         wsi_limiter_ask (serve->tries, as, now, wait_s);
}

static WsServeReply *
refuse_tries (const WsServeRequest *request, guint wait_s)
{
  g_autofree char *words =
    g_strdup_printf (_ ("Too many tries to sign in; try again in %u s."), wait_s);
  WsServeReply *reply = wsi_serve_trouble (request, 429, words);
  reply->retry_after = wait_s;
  return reply;
}

static void
open_session (WsServe *serve, WsServeRequest *request, const WsServeActor *actor,
              char secret[WSI_SESSION_HEX])
{
  const char *before = g_hash_table_lookup (request->cookies, WSI_SESSION_COOKIE);
  if (before != NULL)
    wsi_sessions_close (serve->sessions, before);
  wsi_sessions_open (serve->sessions, actor, secret);
  request->actor = *actor;
  wsi_sessions_token (serve->sessions, secret, request->token);
}

static WsServeReply *
welcome (WsServe *serve, WsServeRequest *request, const WsServeActor *actor)
{
  char secret[WSI_SESSION_HEX];
  open_session (serve, request, actor, secret);
  WsServeReply *reply = request->is_api ? wsi_reply_take_json (200, session_json (request))
                                        : wsi_reply_take_location (g_strdup ("/"));
  reply->cookie = cookie (WSI_SESSION_COOKIE, secret);
  return reply;
}

WsServeReply *
wsi_sign_in (WsServe *serve, WsServeRequest *request)
{
  const char *wrong = _ ("Name or password is wrong.");
  guint wait_s;
  GError *error = NULL;
  WsServeActor actor;
  g_autofree char *name = wsi_request_field (request, "account");
  g_autofree char *password = wsi_request_field (request, "password");
  if (!serve->settings.lan)
    return wsi_serve_trouble (request, 422, _ ("At this computer nobody needs to sign in."));
  if (name == NULL || password == NULL || strlen (name) > WSI_ACCOUNT_MOST)
    return wsi_serve_trouble (request, 422, _ ("Give a name and a password."));
  if (!may_try (serve, request, name, &wait_s))
    return refuse_tries (request, wait_s);
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean right = archive != NULL && wsi_accounts_sign_in (&serve->passwords, archive, name,
                                                                  password, &actor, &error);
  wsi_serve_give (serve, archive);
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  if (right)
    return welcome (serve, request, &actor);
  return request->is_api ? wsi_serve_trouble (request, 401, wrong)
                         : sign_page (serve, request, 401, wrong);
}

/* ---- Out ------------------------------------------------------------------------------------ */

WsServeReply *
wsi_sign_out (WsServe *serve, WsServeRequest *request)
{
  const char *secret = g_hash_table_lookup (request->cookies, WSI_SESSION_COOKIE);
  if (secret != NULL)
    wsi_sessions_close (serve->sessions, secret);
  WsServeReply *reply = request->is_api ? wsi_reply_take_json (200, json_pack ("{s:n}", "account"))
                                        : wsi_reply_take_location (g_strdup ("/sign-in"));
  reply->cookie = cookie (WSI_SESSION_COOKIE, "");
  return reply;
}
