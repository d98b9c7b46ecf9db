/*
 * Signing in and out, as those who attack it try.
 */
#include "bench/bench_for_tests.h"

#include <time.h>

/* The session that the answer sets, or NULL.  Free with g_free(). */
static char *
session_of (const WsServeReply *reply)
{
  const char *begin = WSI_SESSION_COOKIE "=";
  if (reply->cookie == NULL || !g_str_has_prefix (reply->cookie, begin))
    return NULL;
  const char *value = reply->cookie + strlen (begin);
  return g_strndup (value, strcspn (value, ";"));
}

/* A visitor's token is what a page of ours gave him. */
static WsServeReply *
sign_in (Bench *bench, const char *name, const char *password, const char *session,
         const char *client)
{
  char token[WSI_SESSION_HEX];
  guint64 most;
  const char *what;
  g_autoptr (WsServeRequest) request = wsi_request_new ("POST", "/api/session");
  g_autofree char *cookies = g_strdup_printf (WSI_VISIT_COOKIE "=visit%s%s",
                                              session != NULL ? "; " WSI_SESSION_COOKIE "=" : "",
                                              session != NULL ? session : "");
  g_autofree char *body = g_strdup_printf ("account=%s&password=%s", name, password);
  g_autoptr (GBytes) bytes = g_bytes_new (body, strlen (body));
  request->client = g_strdup (client);
  wsi_request_add_header (request, "Host", "bench.local");
  wsi_request_add_header (request, "Cookie", cookies);
  wsi_request_add_header (request, "Content-Type", "application/x-www-form-urlencoded");
  wsi_sessions_token (bench->serve->sessions, "visit", token);
  wsi_request_add_header (request, "X-Whetsight-Token", token);
  WsServeReply *refused = wsi_serve_admit (bench->serve, request, &most);
  if (refused != NULL)
    return refused;
  assert_true (wsi_request_set_body (request, bytes, &what));
  return wsi_serve_answer (bench->serve, request);
}

static void
a_session_is_new_and_ends (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  (void)state;
  bench_account (bench, "oly", "operator");
  /* One that somebody set beforehand never becomes his. */
  const char *fixed = "1111111111111111111111111111111111111111111111111111111111111111";
  g_autoptr (WsServeReply) reply =
    sign_in (bench, "oly", "a+good+long+password", fixed, "192.0.2.1");
  assert_int_equal (reply->status, 200);
  g_autofree char *session = session_of (reply);
  assert_non_null (session);
  assert_string_not_equal (session, fixed);
  assert_contains (reply->cookie, "; Secure; HttpOnly; SameSite=Strict");
  const Asking by_fixed = { .session = fixed };
  const Asking by_it = { .session = session, .token = "" };
  assert_int_equal (bench_status (bench, "GET", "/api/inspections", &by_fixed), 401);
  assert_int_equal (bench_status (bench, "GET", "/api/inspections", &by_it), 200);
  assert_int_equal (bench_status (bench, "DELETE", "/api/session", &by_it), 200);
  assert_int_equal (bench_status (bench, "GET", "/api/inspections", &by_it), 401);
}

static void
passwords_and_closed_accounts (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  char secret[WSI_SESSION_HEX];
  (void)state;
  bench_account (bench, "quill", "quality");
  bench_account (bench, "oly", "operator");
  g_autoptr (WsServeReply) wrong = sign_in (bench, "oly", "wrong", NULL, "192.0.2.1");
  assert_int_equal (wrong->status, 401);
  assert_null (session_of (wrong));
  g_autoptr (WsServeReply) in = sign_in (bench, "oly", "a+good+long+password", NULL, "192.0.2.1");
  g_autofree char *session = session_of (in);
  bench_session (bench, WS_ROLE_QUALITY, secret);
  const Asking close = { .session = secret,
                         .token = "",
                         .type = "application/json",
                         .body = "{\"closed\": true, \"text\": \"left the shop\"}" };
  assert_int_equal (bench_status (bench, "PUT", "/api/accounts/oly", &close), 200);
  /* Who is signed in is out, and can't come back. */
  const Asking by_it = { .session = session };
  assert_int_equal (bench_status (bench, "GET", "/api/inspections", &by_it), 401);
  g_autoptr (WsServeReply) again =
    sign_in (bench, "oly", "a+good+long+password", NULL, "192.0.2.2");
  assert_int_equal (again->status, 401);
  g_autoptr (WsServeReply) empty = sign_in (bench, "oly", "%20", NULL, "192.0.2.3");
  assert_int_equal (empty->status, 401);
  /* The last who keeps accounts stays. */
  assert_int_equal (bench_status (bench, "PUT", "/api/accounts/quill", &close), 422);
}

/* Ten thousand tries cost a dozen hashes, from one address or from many. */
static void
tries_are_bounded (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  guint tried = 0, refused = 0;
  (void)state;
  bench_account (bench, "oly", "operator");
  const gint64 begun = g_get_monotonic_time ();
  for (guint i = 0; i < 10000; i++)
  {
    g_autofree char *client = g_strdup_printf ("192.0.2.%u", i % 200);
    g_autofree char *password = g_strdup_printf ("guess-%u", i);
    g_autoptr (WsServeReply) reply = sign_in (bench, "oly", password, NULL, client);
    tried += reply->status == 401 ? 1 : 0;
    refused += reply->status == 429 ? 1 : 0;
    if (reply->status == 429)
      assert_true (reply->retry_after > 0);
  }
  assert_int_equal (tried + refused, 10000);
  /* Ten at once and one in five seconds. */
  const gint64 seconds = (g_get_monotonic_time () - begun) / G_USEC_PER_SEC;
  assert_in_range (tried, 10, 11 + seconds / 5);
}

static gint
by_time (gconstpointer a, gconstpointer b)
{
  const gint64 first = *(const gint64 *)a, second = *(const gint64 *)b;
  return (first > second) - (first < second);
}

/* Of the processor: beside other work the clock tells of that. */
static gint64
spent_us (void)
{
  struct timespec now;
  clock_gettime (CLOCK_THREAD_CPUTIME_ID, &now);
  return (gint64)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

/* The median of the time that a wrong try takes, µs. */
static gint64
time_of (Bench *bench, const char *name)
{
  gint64 times[7];
  WsServeActor actor;
  WsArchive *archive = wsi_serve_take (bench->serve, NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (times); i++)
  {
    const gint64 begin = spent_us ();
    assert_false (
      wsi_accounts_sign_in (&bench->serve->passwords, archive, name, "wrong", &actor, NULL));
    times[i] = spent_us () - begin;
  }
  wsi_serve_give (bench->serve, archive);
  qsort (times, G_N_ELEMENTS (times), sizeof times[0], by_time);
  return times[G_N_ELEMENTS (times) / 2];
}

/* The hash takes some 50 ms, all else one: whether there is such an account isn't told. */
static void
time_tells_nothing (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  (void)state;
  bench_account (bench, "oly", "operator");
  const double known = (double)time_of (bench, "oly"), unknown = (double)time_of (bench, "eve");
  assert_in_range ((guint)(100 * known / unknown), 60, 160);
}

static void
roles_are_the_accounts_own (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  (void)state;
  bench_account (bench, "tom", "toolroom");
  g_autoptr (WsServeReply) in = sign_in (bench, "tom", "a+good+long+password", NULL, "192.0.2.1");
  g_autofree char *session = session_of (in);
  g_autofree char *said = bench_text (in);
  assert_contains (said, "\"role\":\"toolroom\"");
  /* What he says he is doesn't count, and neither does another's name. */
  const Asking ground = { .session = session,
                          .token = "",
                          .type = "application/json",
                          .body = "{\"text\": \"0.3 mm off\", \"by\": \"somebody else\"}" };
  assert_int_equal (bench_status (bench, "POST", "/api/tools/QT-D-0007/regrinds", &ground), 201);
  const Asking by_it = { .session = session };
  g_autoptr (WsServeReply) tool = bench_ask (bench, "GET", "/api/tools/QT-D-0007", &by_it);
  g_autofree char *text = bench_text (tool);
  assert_contains (text, "\"by\":\"tom\"");
  assert_lacks (text, "somebody else");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_session_is_new_and_ends),  cmocka_unit_test (passwords_and_closed_accounts),
    cmocka_unit_test (tries_are_bounded),          cmocka_unit_test (time_tells_nothing),
    cmocka_unit_test (roles_are_the_accounts_own),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
