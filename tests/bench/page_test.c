/*
 * `whetsight serve` itself: the same record as `measure` gives, what attackers send over the wire,
 * and being killed while it stores.  `bench-page_test kills 500` kills it so often.
 */
#include "bench/client.h"

#include <jansson.h>

#include "cli/program_for_tests.h"

typedef struct
{
  Fixture *files;
  char *archive, *cards;
  char *picture;
  gsize n_picture;
} Shop;

static int
open_shop (void **state)
{
  Shop *shop = g_new0 (Shop, 1);
  void *files;
  const int failed = set_up (&files);
  shop->files = files;
  shop->archive = file_in (shop->files, "archive");
  shop->cards = file_in (shop->files, "cards");
  g_mkdir (shop->cards, 0700);
  g_autofree char *scale = scale_text ();
  g_autofree char *setup = g_build_filename (shop->cards, "setup.conf", NULL);
  g_autofree char *text = g_strdup_printf ("[view drill-side]\nscale = %s\n", scale);
  g_file_set_contents (setup, text, -1, NULL);
  g_free (write_card (shop->files, "cards/QT-D-0007.tool", ""));
  g_file_get_contents (shop->files->good, &shop->picture, &shop->n_picture, NULL);
  *state = shop;
  return failed;
}

static int
close_shop (void **state)
{
  Shop *shop = *state;
  void *files = shop->files;
  tear_down (&files);
  g_free (shop->archive);
  g_free (shop->cards);
  g_free (shop->picture);
  g_free (shop);
  return 0;
}

/* ---- The same record ------------------------------------------------------------------------ */

/* Without what differs from run to run. */
static json_t *
timeless (const char *text)
{
  json_t *record = json_loads (text, 0, NULL);
  assert_true (json_is_object (record));
  json_object_del (record, "id");
  json_object_del (record, "time");
  json_object_del (record, "measured_by");
  return record;
}

static void
test_the_page_gives_the_record_that_measure_gives (void **state)
{
  const Shop *shop = *state;
  Server server = start_server (shop->archive, shop->cards);
  g_autofree char *token = token_of (&server);
  g_autofree char *scale = scale_text ();
  g_autofree char *card = g_build_filename (shop->cards, "QT-D-0007.tool", NULL);
  g_auto (Run) by_hand = run ("measure", "--json", "--tool", card, "--view", "drill-side",
                              "--scale", scale, shop->files->good, NULL);
  g_autofree char *answer =
    send_picture (&server, token, "view=drill-side&name=good.png", shop->picture, shop->n_picture);
  assert_int_equal (status_of (answer), 201);
  json_t *one = timeless (by_hand.out), *other = timeless (body_of (answer));
  assert_true (json_equal (one, other));
  json_decref (one);
  json_decref (other);
  assert_int_equal (end_server (&server, SIGTERM), 0);
  g_auto (Run) verified = run ("archive", "verify", shop->archive, NULL);
  assert_int_equal (verified.status, 0);
  assert_contains (verified.out, "1 inspections, 2 pictures");
}

/* ---- Over the wire -------------------------------------------------------------------------- */

#define FORM "POST /api/session HTTP/1.1\r\nHost: 127.0.0.1\r\n"
#define HIDDEN "GET /api/session HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"

/* Lengths that two readers would take differently: refused, and nothing behind it is read as a
 * request. */
static void
test_requests_arent_smuggled (void **state)
{
  static const char *const requests[] = {
    FORM "Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" HIDDEN,
    FORM "Transfer-Encoding: chunked\r\nContent-Length: 4\r\n\r\n0\r\n\r\n" HIDDEN,
    FORM "Content-Length: 4\r\nContent-Length: 0\r\n\r\nabcd" HIDDEN,
    FORM "Content-Length: 0\r\ncontent-length: 44\r\n\r\n" HIDDEN,
    FORM "Content-Length: -1\r\n\r\n" HIDDEN,
    FORM "Content-Length: +4\r\n\r\nabcd" HIDDEN,
    FORM "Content-Length: 0x4\r\n\r\nabcd" HIDDEN,
    FORM "Content-Length: 4, 4\r\n\r\nabcd" HIDDEN,
    FORM "Content-Length: 99999999999999999999999999\r\n\r\n" HIDDEN,
    FORM "Transfer-Encoding: identity, chunked\r\n\r\n0\r\n\r\n" HIDDEN,
    FORM "Transfer-Encoding: xchunked\r\n\r\n0\r\n\r\n" HIDDEN,
    FORM "Transfer-Encoding: chunked\r\n\r\nfffffffffffffffff\r\n" HIDDEN,
    FORM "Transfer-Encoding: chunked\r\n\r\n-1\r\n" HIDDEN,
    ("GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: elsewhere\r\n\r\n" HIDDEN),
  };
  const Shop *shop = *state;
  Server server = start_server (shop->archive, shop->cards);
  for (gsize i = 0; i < G_N_ELEMENTS (requests); i++)
  {
    g_autofree char *answer = exchange_within (&server, requests[i], NULL, 0, 1);
    if (strstr (answer, "\"token\"") != NULL ||
        (status_of (answer) != 0 && status_of (answer) < 400))
      fail_msg ("%s is answered by %s", requests[i], answer);
  }
  assert_int_equal (end_server (&server, SIGTERM), 0);
}

static void
test_what_is_malformed_or_too_large_is_refused (void **state)
{
  static const char *const targets[] = { "/../../etc/passwd", "/assets/../../etc/passwd",
                                         "/assets/%2e%2e/%2e%2e/etc/passwd", "/%00",
                                         "/assets/page.css%00.png" };
  const Shop *shop = *state;
  Server server = start_server (shop->archive, shop->cards);
  g_autofree char *token = token_of (&server);
  for (gsize i = 0; i < G_N_ELEMENTS (targets); i++)
  {
    g_autofree char *head = g_strdup_printf (
      "GET %s HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n", targets[i]);
    g_autofree char *answer = exchange (&server, head, NULL, 0);
    assert_int_equal (status_of (answer), 404);
  }
  /* Longer than may be sent: told at once, before anything of it is read. */
  g_autofree char *large = g_strdup_printf (
    "POST /api/tools/QT-D-0007/inspections HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Whetsight-Token: %s\r\n"
    "Content-Length: 100000000\r\n\r\n",
    token);
  g_autofree char *refused = exchange (&server, large, NULL, 0);
  assert_int_equal (status_of (refused), 413);
  g_autofree char *filling = g_strnfill (200000, 'x');
  g_autofree char *long_head =
    g_strdup_printf ("GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: %s\r\n\r\n", filling);
  g_autofree char *too_long = exchange_within (&server, long_head, NULL, 0, 1);
  assert_true (status_of (too_long) == 0 || status_of (too_long) >= 400);
  /* It goes on. */
  g_autofree char *answer =
    send_picture (&server, token, "view=drill-side&name=good.png", shop->picture, shop->n_picture);
  assert_int_equal (status_of (answer), 201);
  assert_int_equal (end_server (&server, SIGTERM), 0);
}

/* ---- On the network ------------------------------------------------------------------------- */

static int
set_account (const Shop *shop, const char *password, const char *name)
{
  int status;
  g_autofree char *words = g_strdup_printf (
    "echo '%s' | '%s' serve --archive '%s' --account %s --role quality 2>/dev/null", password,
    g_getenv ("WHETSIGHT"), shop->archive, name);
  const char *const command[] = { "sh", "-c", words, NULL };
  assert_true (g_spawn_sync (NULL, (char **)command, NULL,
                             G_SPAWN_SEARCH_PATH | G_SPAWN_STDOUT_TO_DEV_NULL, NULL, NULL, NULL,
                             NULL, &status, NULL));
  return WEXITSTATUS (status);
}

/* Nobody is served before somebody may sign in, and nothing without TLS. */
static void
test_the_network_needs_an_account_and_tls (void **state)
{
  const Shop *shop = *state;
  GStatBuf about;
  g_autofree char *certificate = file_in (shop->files, "bench.crt");
  g_autofree char *key = file_in (shop->files, "bench.key");
  const char *const more[] = {
    "--lan", "--cert", certificate, "--key", key, "--host", "Bench", NULL
  };
  g_auto (Run) early =
    run ("serve", "--archive", shop->archive, "--cards", shop->cards, "--lan", NULL);
  assert_int_equal (early.status, 64);
  assert_contains (early.err, "--account NAME");
  assert_int_equal (set_account (shop, "short", "quill"), 64);
  assert_int_equal (set_account (shop, "long enough it is", "Quill"), 64);
  assert_int_equal (set_account (shop, "long enough it is", "quill"), 0);
  Server server = start_with (shop->archive, shop->cards, more);
  g_autofree char *answer =
    exchange_within (&server, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", NULL, 0, 1);
  assert_lacks (answer, "Sign in");
  assert_lacks (answer, "HTTP/1.1 200");
  assert_int_equal (end_server (&server, SIGTERM), 0);
  assert_int_equal (g_stat (key, &about), 0);
  assert_int_equal (about.st_mode & 0077, 0);
  /* The same pair is used again. */
  server = start_with (shop->archive, shop->cards, more);
  assert_int_equal (end_server (&server, SIGTERM), 0);
}

static void
test_what_doesnt_go_together_is_told (void **state)
{
  const Shop *shop = *state;
  g_auto (Run) nothing = run ("serve", NULL);
  g_auto (Run) demo = run ("serve", "--demo", "--archive", shop->archive, NULL);
  g_auto (Run) half = run ("serve", "--archive", shop->archive, "--cards", shop->cards, "--lan",
                           "--cert", "a.crt", NULL);
  g_auto (Run) plain =
    run ("serve", "--archive", shop->archive, "--cards", shop->cards, "--key", "a.key", NULL);
  g_auto (Run) role = run ("serve", "--archive", shop->archive, "--role", "quality", NULL);
  g_auto (Run) none = run ("serve", "--demo", "--demo-pictures", shop->files->folder, NULL);
  g_auto (Run) both = run ("serve", "--archive", shop->archive, "--cards", shop->cards, "--camera",
                           "files:x", "--bench", "x", NULL);
  g_auto (Run) no_bench = run ("serve", "--archive", shop->archive, "--cards", shop->cards,
                               "--bench", "no-such.conf", NULL);
  assert_int_equal (both.status, 64);
  assert_int_equal (no_bench.status, 66);
  assert_int_equal (nothing.status, 64);
  assert_int_equal (demo.status, 64);
  assert_int_equal (half.status, 64);
  assert_int_equal (plain.status, 64);
  assert_int_equal (role.status, 64);
  assert_int_equal (none.status, 66);
}

/* ---- Killed --------------------------------------------------------------------------------- */

typedef struct
{
  const Shop *shop;
  const Server *server;
  GPtrArray *acknowledged; /* of ids */
  gint n_acknowledged;     /* by this server */
  gint ended;
} Sender;

static gpointer
send_on (gpointer data)
{
  Sender *sender = data;
  g_autofree char *token = token_of (sender->server);
  while (!g_atomic_int_get (&sender->ended))
  {
    g_autofree char *answer = send_picture (sender->server, token, "view=drill-side&name=good.png",
                                            sender->shop->picture, sender->shop->n_picture);
    json_t *record = status_of (answer) == 201 ? json_loads (body_of (answer), 0, NULL) : NULL;
    const char *id = json_string_value (json_object_get (record, "id"));
    if (id != NULL)
    {
      g_ptr_array_add (sender->acknowledged, g_strdup (id));
      g_atomic_int_inc (&sender->n_acknowledged);
    }
    json_decref (record);
    if (*answer == '\0')
      g_usleep (1000);
  }
  return NULL;
}

/* What was acknowledged is there, and all is as it was written. */
static void
check_after (const Shop *shop, const GPtrArray *acknowledged)
{
  g_auto (Run) verified = run ("archive", "verify", shop->archive, NULL);
  if (verified.status != 0)
    fail_msg ("%s%s", verified.out, verified.err);
  g_auto (Run) list = run ("archive", "list", shop->archive, NULL);
  for (guint i = 0; i < acknowledged->len; i++)
    assert_contains (list.out, g_ptr_array_index (acknowledged, i));
}

static void
kill_often (const Shop *shop, guint n)
{
  g_autoptr (GPtrArray) acknowledged = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GRand) draw = g_rand_new_with_seed (7);
  for (guint i = 0; i < n; i++)
  {
    Server server = start_server (shop->archive, shop->cards);
    Sender sender = { shop, &server, acknowledged, 0, 0 };
    GThread *thread = g_thread_new ("sender", send_on, &sender);
    /* While the next picture is on its way, measured or stored. */
    for (guint wait = 0; wait < 500 && g_atomic_int_get (&sender.n_acknowledged) == 0; wait++)
      g_usleep (20000);
    g_usleep ((gulong)g_rand_int_range (draw, 0, 600000));
    end_server (&server, SIGKILL);
    g_atomic_int_set (&sender.ended, 1);
    g_thread_join (thread);
    if (i % 20 == 19 || i == n - 1)
      check_after (shop, acknowledged);
  }
  print_message ("%u kills, %u acknowledged\n", n, acknowledged->len);
}

static void
test_nothing_acknowledged_is_lost (void **state)
{
  kill_often (*state, 3);
}

static int
kills (const char *count)
{
  void *shop;
  if (open_shop (&shop) != 0)
    return 1;
  kill_often (shop, (guint)g_ascii_strtoull (count, NULL, 10));
  return close_shop (&shop);
}

int
main (int argc, char **argv)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_the_page_gives_the_record_that_measure_gives, open_shop,
                                     close_shop),
    cmocka_unit_test_setup_teardown (test_requests_arent_smuggled, open_shop, close_shop),
    cmocka_unit_test_setup_teardown (test_what_is_malformed_or_too_large_is_refused, open_shop,
                                     close_shop),
    cmocka_unit_test_setup_teardown (test_the_network_needs_an_account_and_tls, open_shop,
                                     close_shop),
    cmocka_unit_test_setup_teardown (test_what_doesnt_go_together_is_told, open_shop, close_shop),
    cmocka_unit_test_setup_teardown (test_nothing_acknowledged_is_lost, open_shop, close_shop),
  };
#ifndef WS_HAVE_MICROHTTPD
  print_message ("skipped: the program was built without its page\n");
  return STATUS_SKIPPED;
#endif
  if (argc == 3 && g_str_equal (argv[1], "kills"))
    return kills (argv[2]);
  return cmocka_run_group_tests (tests, NULL, NULL);
}
