/*
 * A page without sockets: requests go in, answers come out.
 */
#ifndef WS_BENCH_BENCH_FOR_TESTS_H
#define WS_BENCH_BENCH_FOR_TESTS_H

#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "bench/door.h"
#include "bench/intake.h"
#include "bench/routes.h"

#define GOOD_PASSWORD "a good long password"

typedef struct
{
  char *folder, *archive, *cards, *spool;
  WsServe *serve;
} Bench;

static inline void
bench_remove (const char *path)
{
  GDir *dir = g_dir_open (path, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *inner = g_build_filename (path, name, NULL);
    bench_remove (inner);
  }
  if (dir != NULL)
    g_dir_close (dir);
  g_remove (path);
}

static inline Bench *
bench_new (gboolean lan)
{
  g_autoptr (GError) error = NULL;
  static const char card[] = "[tool]\nid = QT-D-0007\nkind = twist-drill\ndiameter_mm = 10\n"
                             "[limits]\npoint_angle_deg = 116 .. 120\ndiameter_mm = 9.9 .. 10.1\n";
  Bench *bench = g_new0 (Bench, 1);
  bench->folder = g_dir_make_tmp ("whetsight-bench-XXXXXX", NULL);
  bench->archive = g_build_filename (bench->folder, "archive", NULL);
  bench->cards = g_build_filename (bench->folder, "cards", NULL);
  bench->spool = g_build_filename (bench->folder, "spool", NULL);
  g_autofree char *path = g_build_filename (bench->cards, "QT-D-0007.tool", NULL);
  g_mkdir (bench->cards, 0700);
  g_mkdir (bench->spool, 0700);
  assert_true (g_file_set_contents (path, card, -1, NULL));
  const char *program = g_getenv ("WHETSIGHT");
  char *const worker[] = { (char *)(program != NULL ? program : "/bin/false"), (char *)"serve",
                           (char *)"--worker", NULL };
  static const char *const hosts[] = { "bench.local", NULL };
  const WsServeSettings settings = {
    .archive = bench->archive,
    .cards = bench->cards,
    .spool = bench->spool,
    .worker = worker,
    .n_workers = 1,
    .lan = lan,
    .hosts = (char *const *)hosts,
    .login = "shop",
  };
  bench->serve = wsi_serve_new (&settings, &error);
  assert_null (error);
  return bench;
}

static inline void
bench_free (Bench *bench)
{
  wsi_serve_free (bench->serve);
  bench_remove (bench->folder);
  g_free (bench->folder);
  g_free (bench->archive);
  g_free (bench->cards);
  g_free (bench->spool);
  g_free (bench);
}

G_DEFINE_AUTOPTR_CLEANUP_FUNC (Bench, bench_free)

static inline void
bench_account (Bench *bench, const char *name, const char *role)
{
  const WsAccountChange change = { .name = name,
                                   .role = role,
                                   .password = GOOD_PASSWORD,
                                   .by = "a test",
                                   .login = "test",
                                   .reason = "for a test" };
  WsArchive *archive = wsi_serve_take (bench->serve, NULL);
  assert_true (wsi_accounts_change (&bench->serve->passwords, archive, &change, NULL));
  wsi_serve_give (bench->serve, archive);
}

/* One asks by this. */
typedef struct
{
  const char *session; /* cookie, or NULL */
  const char *token;   /* "": the right one; NULL: none */
  const char *host, *origin;
  const char *type, *body; /* or NULL */
  gsize n_body;            /* 0: a text's */
  const char *client;
  const char *language; /* of the browser, or NULL */
} Asking;

static inline WsServeReply *
bench_ask (Bench *bench, const char *method, const char *target, const Asking *asking)
{
  guint64 most;
  const char *what = NULL;
  g_autoptr (WsServeRequest) request = wsi_request_new (method, target);
  assert_non_null (request);
  request->client = g_strdup (asking->client != NULL ? asking->client : "192.0.2.1");
  wsi_request_add_header (request, "Host",
                          asking->host != NULL ? asking->host : "bench.local:8417");
  if (asking->origin != NULL)
    wsi_request_add_header (request, "Origin", asking->origin);
  if (asking->session != NULL)
  {
    g_autofree char *cookie = g_strconcat (WSI_SESSION_COOKIE "=", asking->session, NULL);
    wsi_request_add_header (request, "Cookie", cookie);
  }
  if (asking->type != NULL)
    wsi_request_add_header (request, "Content-Type", asking->type);
  if (asking->language != NULL)
    wsi_request_add_header (request, "Accept-Language", asking->language);
  WsServeReply *refused = wsi_serve_admit (bench->serve, request, &most);
  if (refused != NULL)
    return refused;
  if (asking->token != NULL)
    wsi_request_add_header (request, "X-Whetsight-Token",
                            *asking->token != '\0' ? asking->token : request->token);
  g_autoptr (GBytes) body =
    g_bytes_new (asking->body, asking->body == NULL ? 0
                               : asking->n_body > 0 ? asking->n_body
                                                    : strlen (asking->body));
  if (!wsi_request_set_body (request, body, &what))
    return wsi_serve_trouble (request, 400, what);
  return wsi_serve_answer (bench->serve, request);
}

/* The status alone. */
static inline guint
bench_status (Bench *bench, const char *method, const char *target, const Asking *asking)
{
  g_autoptr (WsServeReply) reply = bench_ask (bench, method, target, asking);
  return reply->status;
}

/* Somebody's session, made as signing in makes it. */
static inline void
bench_session (Bench *bench, WsServeRole role, char secret[WSI_SESSION_HEX])
{
  WsServeActor actor = { .role = role };
  g_strlcpy (actor.account, wsi_role_name (role), sizeof actor.account);
  wsi_sessions_open (bench->serve->sessions, &actor, secret);
}

/* "/measure/{tool}" with something in its places. */
static inline char *
bench_target (const char *pattern)
{
  GString *target = g_string_new (NULL);
  for (const char *c = pattern; *c != '\0'; c++)
    if (*c == '{')
    {
      g_string_append (target, "QT-D-0007");
      c = strchr (c, '}');
    }
    else
      g_string_append_c (target, *c);
  return g_string_free (target, FALSE);
}

static inline char *
bench_text (const WsServeReply *reply)
{
  gsize n;
  const char *text = g_bytes_get_data (reply->body, &n);
  return g_strndup (text, n);
}

/* A page as the bench itself is shown it; free with g_free(). */
static inline char *
bench_page (Bench *bench, const char *target, const char *language)
{
  const Asking asking = { .host = "127.0.0.1:8417", .language = language };
  g_autoptr (WsServeReply) reply = bench_ask (bench, "GET", target, &asking);
  assert_int_equal (reply->status, 200);
  return bench_text (reply);
}

#endif
