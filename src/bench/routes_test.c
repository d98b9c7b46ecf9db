/*
 * Every route of the table, tried by those who may not.
 */
#include "bench/bench_for_tests.h"

#include <jansson.h>

#include "bench/assets.h"

static gboolean
is_change (const WsRoute *route)
{
  return !g_str_equal (route->method, "GET");
}

static gboolean
is_api (const WsRoute *route)
{
  return g_str_has_prefix (route->pattern, "/api/");
}

static void
refused_without_sign_in (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  guint n = 0;
  (void)state;
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    g_autofree char *target = bench_target (route->pattern);
    const Asking asking = { .token = "" };
    if (route->role == WS_ROLE_NOBODY)
      continue;
    g_autoptr (WsServeReply) reply = bench_ask (bench, route->method, target, &asking);
    n++;
    if (is_change (route) || is_api (route))
      assert_int_equal (reply->status, 401);
    else
      assert_string_equal (reply->location, "/sign-in");
  }
  assert_true (n > 30);
}

static void
refused_by_the_role_below (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  (void)state;
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    char secret[WSI_SESSION_HEX];
    g_autofree char *target = bench_target (route->pattern);
    for (int role = WS_ROLE_OPERATOR; role < (int)route->role; role++)
    {
      bench_session (bench, (WsServeRole)role, secret);
      const Asking asking = { .session = secret, .token = "" };
      assert_int_equal (bench_status (bench, route->method, target, &asking), 403);
    }
  }
}

/* Whoever may do all still needs the page's own token, and to come from it. */
static void
changes_need_token_and_origin (void **state)
{
  g_autoptr (Bench) bench = bench_new (TRUE);
  char secret[WSI_SESSION_HEX], other[WSI_SESSION_HEX];
  char others_token[WSI_SESSION_HEX];
  (void)state;
  bench_session (bench, WS_ROLE_QUALITY, secret);
  bench_session (bench, WS_ROLE_QUALITY, other);
  wsi_sessions_token (bench->serve->sessions, other, others_token);
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    g_autofree char *target = bench_target (route->pattern);
    const Asking none = { .session = secret }, wrong = { .session = secret, .token = others_token },
                 away = { .session = secret, .token = "", .origin = "https://elsewhere.example" },
                 plain = { .session = secret, .token = "", .origin = "http://bench.local:8417" },
                 nothing = { .session = secret, .token = "", .origin = "null" };
    if (!is_change (route))
      continue;
    assert_int_equal (bench_status (bench, route->method, target, &none), 403);
    assert_int_equal (bench_status (bench, route->method, target, &wrong), 403);
    assert_int_equal (bench_status (bench, route->method, target, &away), 403);
    assert_int_equal (bench_status (bench, route->method, target, &plain), 403);
    assert_int_equal (bench_status (bench, route->method, target, &nothing), 403);
  }
}

/* A name that somebody made to lead here, so that his page may ask. */
static void
refused_by_another_name (void **state)
{
  g_autoptr (Bench) local = bench_new (FALSE);
  g_autoptr (Bench) lan = bench_new (TRUE);
  (void)state;
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    g_autofree char *target = bench_target (route->pattern);
    const Asking elsewhere = { .host = "elsewhere.example", .token = "" };
    const Asking by_address = { .host = "192.0.2.7:8417", .token = "" };
    assert_int_equal (bench_status (local, route->method, target, &elsewhere), 400);
    assert_int_equal (bench_status (local, route->method, target, &by_address), 400);
    assert_int_equal (bench_status (lan, route->method, target, &elsewhere), 400);
  }
}

/* At this computer nobody signs in, and other pages in the same browser still can't do anything. */
static void
local_changes_need_a_token_too (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    g_autofree char *target = bench_target (route->pattern);
    const Asking none = { .host = "127.0.0.1:8417" };
    const Asking away = { .host = "127.0.0.1:8417",
                          .token = "",
                          .origin = "http://localhost:8080" };
    if (!is_change (route))
      continue;
    assert_int_equal (bench_status (bench, route->method, target, &none), 403);
    assert_int_equal (bench_status (bench, route->method, target, &away), 403);
  }
  const Asking good = { .host = "127.0.0.1:8417" };
  assert_int_equal (bench_status (bench, "GET", "/", &good), 200);
  assert_int_equal (bench_status (bench, "HEAD", "/", &good), 200);
  assert_int_equal (bench_status (bench, "DELETE", "/", &good), 405);
  assert_int_equal (bench_status (bench, "GET", "/nowhere", &good), 404);
}

/* ---- The description ------------------------------------------------------------------------ */

static json_t *
load_description (void)
{
  for (const WsAsset *asset = wsi_assets; asset->name != NULL; asset++)
    if (g_str_equal (asset->name, "openapi.json"))
      return json_loadb ((const char *)asset->bytes, asset->n_bytes, JSON_REJECT_DUPLICATES, NULL);
  return NULL;
}

static const json_t *
operation_of (const json_t *paths, const WsRoute *route)
{
  g_autofree char *method = g_ascii_strdown (route->method, -1);
  return json_object_get (json_object_get (paths, route->pattern), method);
}

static const WsRoute *
route_of (const char *path, const char *method)
{
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
    if (g_str_equal (route->pattern, path) && g_ascii_strcasecmp (route->method, method) == 0)
      return route;
  return NULL;
}

static gboolean
names_parameter (const json_t *operation, const char *name)
{
  const json_t *parameters = json_object_get (operation, "parameters");
  for (gsize i = 0; i < json_array_size (parameters); i++)
  {
    const json_t *one = json_array_get (parameters, i);
    if (g_strcmp0 (json_string_value (json_object_get (one, "name")), name) == 0 &&
        g_strcmp0 (json_string_value (json_object_get (one, "in")), "path") == 0)
      return TRUE;
  }
  return FALSE;
}

static void
every_route_is_described (void **state)
{
  json_t *root = load_description (), *paths = json_object_get (root, "paths");
  (void)state;
  for (const WsRoute *route = wsi_routes; route->method != NULL; route++)
  {
    if (!is_api (route))
      continue;
    const json_t *operation = operation_of (paths, route);
    if (operation == NULL)
      fail_msg ("%s %s isn't described", route->method, route->pattern);
    assert_string_equal (json_string_value (json_object_get (operation, "x-role")),
                         wsi_role_name (route->role));
    assert_true (json_object_size (json_object_get (operation, "responses")) > 0);
    g_auto (GStrv) pieces = g_strsplit (route->pattern, "/", 0);
    for (char **piece = pieces; *piece != NULL; piece++)
      if (**piece == '{')
      {
        g_autofree char *name = g_strndup (*piece + 1, strlen (*piece) - 2);
        assert_true (names_parameter (operation, name));
      }
  }
  json_decref (root);
}

static void
every_description_is_a_route (void **state)
{
  const char *path, *method;
  json_t *operations, *operation;
  g_autoptr (GHashTable) ids = g_hash_table_new (g_str_hash, g_str_equal);
  json_t *root = load_description ();
  (void)state;
  assert_string_equal (json_string_value (json_object_get (root, "openapi")), "3.0.3");
  assert_true (json_is_string (json_object_get (json_object_get (root, "info"), "version")));
  json_object_foreach (json_object_get (root, "paths"), path, operations)
  {
    json_object_foreach (operations, method, operation)
    {
      const char *id = json_string_value (json_object_get (operation, "operationId"));
      if (route_of (path, method) == NULL)
        fail_msg ("there is no %s %s", method, path);
      assert_non_null (id);
      assert_true (g_hash_table_add (ids, (gpointer)id));
    }
  }
  json_decref (root);
}

/* What a description refers to is there. */
static void
check_references (const json_t *root, const json_t *at)
{
  const char *key;
  json_t *value;
  gsize i;
  json_object_foreach ((json_t *)at, key, value)
  {
    if (g_str_equal (key, "$ref") && json_is_string (value))
    {
      g_auto (GStrv) names = g_strsplit (json_string_value (value), "/", 0);
      const json_t *found = root;
      for (char **name = names + 1; *name != NULL; name++)
        found = json_object_get (found, *name);
      assert_non_null (found);
    }
    else
      check_references (root, value);
  }
  json_array_foreach (at, i, value)
  {
    check_references (root, value);
  }
}

static void
references_lead_somewhere (void **state)
{
  json_t *root = load_description ();
  (void)state;
  check_references (root, root);
  json_decref (root);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (refused_without_sign_in),        cmocka_unit_test (refused_by_the_role_below),
    cmocka_unit_test (changes_need_token_and_origin),  cmocka_unit_test (refused_by_another_name),
    cmocka_unit_test (local_changes_need_a_token_too), cmocka_unit_test (every_route_is_described),
    cmocka_unit_test (every_description_is_a_route),   cmocka_unit_test (references_lead_somewhere),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
