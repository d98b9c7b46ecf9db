#include "bench/door.h"

#include <string.h>

#include "base/language.h"
#include "bench/prefer.h"
#include "bench/routes.h"

#define MOST_FORM 262144                            /* bytes of a body without pictures */
#define MOST_UPLOAD (G_GUINT64_CONSTANT (64) << 20) /* of one with */

/* ---- May it be asked? -------------------------------------------------------------------------
 */

/* "localhost" of "localhost:8417", "::1" of "[::1]:8417".  Free with g_free(). */
static char *
host_name (const char *host)
{
  if (*host == '[')
    return g_strndup (host + 1, strcspn (host + 1, "]"));
  return g_strndup (host, strcspn (host, ":"));
}

/* A page elsewhere whose name was made to lead here asks by that name; an address can't be made
 * to. */
static gboolean
host_is_ours (const WsServe *serve, const char *host)
{
  static const char *const own[] = { "localhost", "127.0.0.1", "::1", NULL };
  if (host == NULL)
    return FALSE;
  g_autofree char *name = host_name (host);
  g_autofree char *small = g_ascii_strdown (name, -1);
  if (g_strv_contains (own, small))
    return TRUE;
  return serve->settings.lan &&
         (g_hostname_is_ip_address (small) ||
          (serve->settings.hosts != NULL &&
           g_strv_contains ((const char *const *)serve->settings.hosts, small)));
}

/* Browsers say from where a change comes. */
static gboolean
origin_is_ours (const WsServe *serve, const WsServeRequest *request)
{
  const char *origin = wsi_request_header (request, "origin");
  const char *site = wsi_request_header (request, "sec-fetch-site");
  const char *host = wsi_request_header (request, "host");
  g_autofree char *own = g_strconcat (serve->settings.lan ? "https://" : "http://", host, NULL);
  return (origin == NULL || g_ascii_strcasecmp (origin, own) == 0) &&
         (site == NULL || g_str_equal (site, "same-origin") || g_str_equal (site, "none"));
}

static void
find_actor (WsServe *serve, WsServeRequest *request)
{
  const char *secret = g_hash_table_lookup (request->cookies, WSI_SESSION_COOKIE);
  const char *visit = g_hash_table_lookup (request->cookies, WSI_VISIT_COOKIE);
  request->actor = (WsServeActor){ .role = WS_ROLE_NOBODY };
  if (!serve->settings.lan)
  {
    request->actor.role = WS_ROLE_QUALITY;
    request->actor.is_local = TRUE;
    g_strlcpy (request->actor.account, serve->settings.login, sizeof request->actor.account);
    wsi_sessions_token (serve->sessions, "local", request->token);
  }
  else if (secret != NULL && wsi_sessions_find (serve->sessions, secret, &request->actor))
    wsi_sessions_token (serve->sessions, secret, request->token);
  else if (visit != NULL)
    wsi_sessions_token (serve->sessions, visit, request->token);
}

static gboolean
changes (const WsServeRequest *request)
{
  return !g_str_equal (request->method, "GET") && !g_str_equal (request->method, "HEAD");
}

static WsServeReply *
refuse_role (const WsServeRequest *request, const WsRoute *route)
{
  if (request->actor.role == WS_ROLE_NOBODY && !request->is_api && !changes (request))
    return wsi_reply_take_location (g_strdup ("/sign-in"));
  if (request->actor.role == WS_ROLE_NOBODY)
    return wsi_serve_trouble (request, 401, _ ("Sign in, then try again."));
  g_autofree char *words =
    g_strdup_printf (_ ("This needs the role %s; you have the role %s."),
                     _ (wsi_role_name (route->role)), _ (wsi_role_name (request->actor.role)));
  return wsi_serve_trouble (request, 403, words);
}

static WsServeReply *
refuse_often (const WsServeRequest *request, guint wait_s)
{
  g_autofree char *words = g_strdup_printf (_ ("Too many requests; try again in %u s."), wait_s);
  WsServeReply *reply = wsi_serve_trouble (request, 429, words);
  reply->retry_after = wait_s;
  return reply;
}

WsServeReply *
wsi_serve_admit (WsServe *serve, WsServeRequest *request, guint64 *most_body)
{
  guint wait_s;
  g_autofree char *allow = NULL;
  const char *who = request->client != NULL ? request->client : "";
  request->is_api = request->path[0] != NULL && g_str_equal (request->path[0], "api");
  wsi_prefer_language (request);
  *most_body = 0;
  if (request->twice)
    return wsi_serve_trouble (request, 400, _ ("A header came twice that may come once."));
  if (!host_is_ours (serve, wsi_request_header (request, "host")))
    return wsi_serve_trouble (request, 400, _ ("This computer isn't known by that name."));
  if (!wsi_limiter_ask (serve->asks, who, g_get_monotonic_time (), &wait_s))
    return refuse_often (request, wait_s);
  find_actor (serve, request);
  const WsRoute *route = wsi_routes_find (request, &allow);
  if (route == NULL)
  {
    WsServeReply *reply = wsi_serve_trouble (request, allow != NULL ? 405 : 404,
                                             allow != NULL ? _ ("This can't be done here.")
                                                           : _ ("Look it up from the first page."));
    reply->allow = g_steal_pointer (&allow);
    return reply;
  }
  if (changes (request) && !origin_is_ours (serve, request))
    return wsi_serve_trouble (request, 403, _ ("The request comes from another page."));
  if (request->actor.role < route->role)
    return refuse_role (request, route);
  *most_body = !changes (request) ? 0 : route->flags & WS_ROUTE_UPLOAD ? MOST_UPLOAD : MOST_FORM;
  return NULL;
}

/* What only a page of ours could know. */
static gboolean
token_is_right (const WsServeRequest *request)
{
  const char *header = wsi_request_header (request, "x-whetsight-token");
  g_autofree char *field = header == NULL ? wsi_request_field (request, "token") : NULL;
  const char *said = header != NULL ? header : field;
  return said != NULL && *request->token != '\0' && wsi_sessions_equal (said, request->token);
}

WsServeReply *
wsi_serve_answer (WsServe *serve, WsServeRequest *request)
{
  g_autofree char *allow = NULL;
  const WsRoute *route = wsi_routes_find (request, &allow);
  wsi_prefer_language (request);
  if (route == NULL)
    return wsi_serve_trouble (request, 404, _ ("Look it up from the first page."));
  if (changes (request) && !token_is_right (request))
    return wsi_serve_trouble (
      request, 403,
      _ ("The page was open for too long, or another one sent this. Open it "
         "again, then try again."));
  return route->handle (serve, request);
}
