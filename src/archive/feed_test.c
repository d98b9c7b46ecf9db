/*
 * Feeds: an agent on loopback, which goes away and comes back, and a folder.
 */
#include "archive/archive_for_tests.h"

#include <whetsight/view.h>

#include "archive/feed.h"
#include "archive/feed_state.h"
#include "archive/http.h"
#include "archive/http_for_tests.h"
#include "archive/schema_for_tests.h"

/* ---- An agent ---------------------------------------------------------------------------------
 */

typedef struct
{
  GHashTable *assets; /* target -> body */
  guint n_asked;
  guint status;       /* what it answers, 0: 200 */
  const char *refuse; /* targets that hold it are refused; or NULL */
  gboolean as_old;    /* it says what is wrong in a document alone */
} Agent;

static HttpAnswer
take (const HttpAsked *asked, gpointer data)
{
  Agent *agent = data;
  static const char wrong[] = "<MTConnectError><Errors/></MTConnectError>";
  agent->n_asked++;
  g_assert_cmpstr (asked->method, ==, "PUT");
  g_assert_cmpstr (g_hash_table_lookup (asked->headers, "content-type"), ==, "text/xml");
  if (agent->status != 0)
    return (HttpAnswer){ agent->status, NULL };
  if (agent->refuse != NULL && strstr (asked->target, agent->refuse) != NULL)
    return (HttpAnswer){ agent->as_old ? 200 : 422, g_bytes_new_static (wrong, strlen (wrong)) };
  g_hash_table_insert (agent->assets, g_strdup (asked->target),
                       g_strndup ((const char *)asked->body->data, asked->body->len));
  return (HttpAnswer){ 200, NULL };
}

/* ---- The rest of it ---------------------------------------------------------------------------
 */

typedef struct
{
  Fixture *archive;
  char *root, *drops, *conf;
  Agent agent;
  HttpServer *server;
  guint16 port;
} Shop;

static void
write_conf (Shop *shop, const char *more)
{
  g_autofree char *text =
    g_strdup_printf ("[feed]\narchive = %s\n%s", shop->archive->address, more);
  assert_true (g_file_set_contents (shop->conf, text, -1, NULL));
}

static int
set_up_shop (void **state)
{
  Shop *shop = g_new0 (Shop, 1);
  void *archive = NULL;
  set_up (&archive);
  shop->archive = archive;
  shop->root = quick_folder ();
  shop->drops = g_build_filename (shop->root, "drops", NULL);
  shop->conf = g_build_filename (shop->root, "erp.feed", NULL);
  g_mkdir (shop->drops, 0700);
  fill (shop->archive);
  g_setenv ("no_proxy", "127.0.0.1", TRUE);
  shop->agent.assets = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  shop->server = http_server_new (0, take, &shop->agent);
  shop->port = shop->server->port;
  *state = shop;
  return 0;
}

static int
tear_down_shop (void **state)
{
  Shop *shop = *state;
  if (shop->server != NULL)
    http_server_free (shop->server);
  void *archive = shop->archive;
  tear_down (&archive);
  sample_remove_tree (shop->root);
  g_hash_table_unref (shop->agent.assets);
  g_free (shop->drops);
  g_free (shop->conf);
  g_free (shop->root);
  g_free (shop);
  return 0;
}

static void
need_curl (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsHttp) http = wsi_http_new (&error);
  if (http == NULL)
    skip_for ("%s", error->message);
}

static void
feed_agent (Shop *shop)
{
  g_autofree char *more =
    g_strdup_printf ("[agent]\nurl = http://127.0.0.1:%u/\ndevice = Mill 2\n", shop->port);
  write_conf (shop, more);
}

/* What a run says; clear with wsi_fed_clear(). */
static WsFed
run_feed (const Shop *shop)
{
  WsFed fed = { 0 };
  g_autoptr (GError) error = NULL;
  g_autoptr (WsFeed) feed = wsi_feed_load (shop->conf, &error);
  assert_null (error);
  assert_true (wsi_feed_run (feed, ws_view_lookup, &fed, &error));
  assert_null (error);
  return fed;
}

static void
expect (const Shop *shop, guint assets, guint files, guint waiting)
{
  g_auto (WsFed) fed = run_feed (shop);
  assert_int_equal (fed.n_assets, assets);
  assert_int_equal (fed.n_files, files);
  assert_int_equal (fed.n_waiting, waiting);
}

static void
store_more (const Shop *shop, int i)
{
  g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
  store_row (archive, i, NULL);
}

/* ---- The agent --------------------------------------------------------------------------------
 */

static void
tools_that_changed_are_put (void **state)
{
  Shop *shop = *state;
  need_curl ();
  feed_agent (shop);
  expect (shop, N_ROWS, 0, 0);
  const char *asset =
    g_hash_table_lookup (shop->agent.assets, "/asset/QT-D-0002?type=CuttingTool&device=Mill%202");
  assert_true (g_str_has_prefix (asset, "<CuttingTool assetId=\"QT-D-0002\""));
  assert_contains (asset, "<PointAngle code=\"SIG\" units=\"DEGREE\"");
  assert_contains (asset, "</CuttingTool>");
  expect (shop, 0, 0, 0); /* nothing changed */
  store_more (shop, 7);
  expect (shop, 1, 0, 0);
  assert_int_equal (shop->agent.n_asked, N_ROWS + 1);
}

/* A note on its inspection changes what is said of the tool. */
static void
a_note_puts_its_tool (void **state)
{
  Shop *shop = *state;
  need_curl ();
  feed_agent (shop);
  expect (shop, N_ROWS, 0, 0);
  {
    const WsNoteWords words = { WS_NOTE_RELEASE, "M. Quill", "only for roughing", NULL };
    g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
    assert_true (ws_archive_add_note (archive, "id-4", &words, NULL, NULL));
  }
  expect (shop, 1, 0, 0);
  const char *asset =
    g_hash_table_lookup (shop->agent.assets, "/asset/QT-D-0004?type=CuttingTool&device=Mill%202");
  assert_contains (asset, "only for roughing");
}

static void
nothing_is_lost_while_the_agent_is_down (void **state)
{
  Shop *shop = *state;
  need_curl ();
  feed_agent (shop);
  http_server_free (g_steal_pointer (&shop->server));
  {
    g_auto (WsFed) fed = run_feed (shop);
    assert_int_equal (fed.n_waiting, N_ROWS);
    assert_contains (fed.agent, "no answer");
    assert_null (strchr (fed.agent, '\n'));
  }
  store_more (shop, 7);
  expect (shop, 0, 0, N_ROWS + 1);
  shop->server = http_server_new (shop->port, take, &shop->agent);
  shop->agent.status = 503;
  expect (shop, 0, 0, N_ROWS + 1);
  shop->agent.status = 0;
  expect (shop, N_ROWS + 1, 0, 0);
  expect (shop, 0, 0, 0);
  assert_int_equal (g_hash_table_size (shop->agent.assets), N_ROWS + 1);
}

/* One asset that the agent doesn't take holds no other up, and is tried again. */
static void
one_that_is_refused_waits_alone (void **state)
{
  Shop *shop = *state;
  need_curl ();
  feed_agent (shop);
  shop->agent.refuse = "QT-D-0003";
  {
    g_auto (WsFed) fed = run_feed (shop);
    assert_int_equal (fed.n_assets, N_ROWS - 1);
    assert_int_equal (fed.n_waiting, 1);
    assert_contains (fed.agent, "QT-D-0003: status 422, MTConnectError");
  }
  shop->agent.as_old = TRUE;
  expect (shop, 0, 0, 1);
  shop->agent.refuse = NULL;
  expect (shop, 1, 0, 0);
}

/* ---- The folder -------------------------------------------------------------------------------
 */

static guint
count_files (const char *folder)
{
  guint n = 0;
  GDir *dir = g_dir_open (folder, 0, NULL);
  while (g_dir_read_name (dir) != NULL)
    n++;
  g_dir_close (dir);
  return n;
}

static void
each_inspection_is_dropped_once (void **state)
{
  Shop *shop = *state;
  write_conf (shop, "[drop]\nfolder = drops\nforms = csv, qif\n");
  expect (shop, 0, 2 * N_ROWS, 0);
  assert_int_equal (count_files (shop->drops), 2 * N_ROWS); /* and nothing half written */
  g_autofree char *csv = g_build_filename (shop->drops, "id-3.csv", NULL);
  g_autofree char *qif = g_build_filename (shop->drops, "id-3.qif", NULL);
  g_autofree char *text = NULL, *xml = NULL;
  assert_true (g_file_get_contents (csv, &text, NULL, NULL));
  assert_contains (text, "id-3");
  assert_lacks (text, "id-2");
  assert_true (g_file_get_contents (qif, &xml, NULL, NULL));
  assert_contains (xml, "value=\"id-3\"");
  g_remove (csv); /* taken */
  expect (shop, 0, 0, 0);
  assert_false (g_file_test (csv, G_FILE_TEST_EXISTS));
  {
    const WsNoteWords words = { WS_NOTE_COMMENT, "M. Quill", "seen", NULL };
    g_autoptr (WsArchive) archive = open_archive (shop->archive, WS_ARCHIVE_WRITE);
    assert_true (ws_archive_add_note (archive, "id-4", &words, NULL, NULL));
  }
  store_more (shop, 7);
  expect (shop, 0, 2, 0);
}

/* id-1 to id-5 are of 11 to 15 o'clock. */
static void
what_is_older_is_passed_by (void **state)
{
  Shop *shop = *state;
  g_autofree char *text =
    g_strdup_printf ("[feed]\narchive = %s\nsince = 2026-11-25T14\n[drop]\nfolder = drops\n",
                     shop->archive->address);
  assert_true (g_file_set_contents (shop->conf, text, -1, NULL));
  expect (shop, 0, 2, 0);
  expect (shop, 0, 0, 0);
}

static void
a_folder_that_is_gone_waits (void **state)
{
  Shop *shop = *state;
  write_conf (shop, "[drop]\nfolder = drops\n");
  g_rmdir (shop->drops);
  {
    g_auto (WsFed) fed = run_feed (shop);
    assert_int_equal (fed.n_files, 0);
    assert_contains (fed.drop, "can't write");
  }
  store_more (shop, 7);
  g_mkdir (shop->drops, 0700);
  expect (shop, 0, N_ROWS + 1, 0);
}

static void
an_altered_row_is_not_sent (void **state)
{
  Shop *shop = *state;
  write_conf (shop, "[drop]\nfolder = drops\n");
  change (shop->archive, "UPDATE inspection SET verdict = 'accept' WHERE number = 4");
  g_auto (WsFed) fed = run_feed (shop);
  assert_int_equal (fed.n_wrong, 1);
  assert_int_equal (fed.n_files, N_ROWS - 1);
}

/* ---- The file ---------------------------------------------------------------------------------
 */

static void
what_is_no_feed_is_refused (void **state)
{
  static const char *const ends[] = { "",
                                      "[drop]\nfolder = drops\nforms = xls\n",
                                      "[agent]\nurl = ftp://x\n",
                                      "[agent]\nurl = http://me:secret@x\n",
                                      "[agent]\nurl = http://x\nport = 1\n",
                                      "[other]\nkey = 1\n",
                                      "since = yesterday\n[drop]\nfolder = drops\n" };
  Shop *shop = *state;
  for (gsize i = 0; i < G_N_ELEMENTS (ends); i++)
  {
    g_autoptr (GError) error = NULL;
    write_conf (shop, ends[i]);
    g_autoptr (WsFeed) feed = wsi_feed_load (shop->conf, &error);
    assert_null (feed);
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_lacks (error->message, "secret");
  }
}

static void
two_runs_are_not_at_it_at_once (void **state)
{
  Shop *shop = *state;
  WsFed fed = { 0 };
  g_autoptr (GError) error = NULL;
  write_conf (shop, "[drop]\nfolder = drops\n");
  g_autoptr (WsFeed) feed = wsi_feed_load (shop->conf, NULL);
  g_autoptr (WsFeedState) held = wsi_feed_state_open (shop->conf, 0, NULL);
  assert_non_null (held);
  assert_false (wsi_feed_run (feed, ws_view_lookup, &fed, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANT_WRITE));
}

/* Of an archive that many write to: a row that commits late, with a smaller number, isn't missed.
 */
static void
late_rows_are_seen (void **state)
{
  Shop *shop = *state;
  {
    g_autoptr (WsFeedState) first = wsi_feed_state_open (shop->conf, 3, NULL);
    const guint64 numbers[] = { 1, 2, 3, 4, 6, 7 };
    for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
      wsi_feed_cursor_handled (&first->files, numbers[i]);
    assert_true (wsi_feed_state_save (first, NULL));
  }
  g_autoptr (WsFeedState) again = wsi_feed_state_open (shop->conf, 3, NULL);
  assert_int_equal (again->files.after, 3);
  assert_false (wsi_feed_cursor_knows (&again->files, 5));
  assert_true (wsi_feed_cursor_knows (&again->files, 6));
  assert_true (wsi_feed_cursor_knows (&again->files, 2));
  wsi_feed_cursor_handled (&again->files, 5);
  assert_int_equal (again->files.after, 4);
  assert_true (wsi_feed_cursor_knows (&again->files, 5));
  assert_int_equal (again->assets.after, 0);
}

/* ---- Schemas ----------------------------------------------------------------------------------
 */

static void
test_what_is_sent_is_valid (void **state)
{
  Shop *shop = *state;
  GHashTableIter iter;
  gpointer asset;
  need_curl ();
  g_autofree char *published = schema_path ("mtconnect/MTConnectAssets_2.4.xsd");
  g_autofree char *qif = schema_path ("qif3/QIFDocument.xsd");
  if (published == NULL || qif == NULL)
    skip ();
  g_autofree char *schema = plain_schema (published, shop->root);
  g_autofree char *more = g_strdup_printf (
    "[agent]\nurl = http://127.0.0.1:%u\n[drop]\nfolder = drops\nforms = qif\n", shop->port);
  write_conf (shop, more);
  expect (shop, N_ROWS, N_ROWS, 0);
  g_hash_table_iter_init (&iter, shop->agent.assets);
  while (g_hash_table_iter_next (&iter, NULL, &asset))
  {
    g_autofree char *text = g_strdup_printf (
      "<MTConnectAssets xmlns=\"urn:mtconnect.org:MTConnectAssets:2.4\"><Header "
      "creationTime=\"2026-11-29T10:00:00Z\" deviceModelChangeTime=\"2026-11-29T10:00:00Z\" "
      "sender=\"agent\" instanceId=\"1\" version=\"2.4.0.0\" assetBufferSize=\"8\" "
      "assetCount=\"1\"/><Assets>%s</Assets></MTConnectAssets>",
      (char *)asset);
    assert_valid (text, schema);
  }
  for (int i = 1; i <= N_ROWS; i++)
  {
    g_autofree char *text = NULL;
    g_autofree char *path = g_strdup_printf ("%s/id-%d.qif", shop->drops, i);
    assert_true (g_file_get_contents (path, &text, NULL, NULL));
    assert_valid (text, qif);
  }
}

int
main (int argc, char **argv)
{
  const struct CMUnitTest published[] = {
    cmocka_unit_test_setup_teardown (test_what_is_sent_is_valid, set_up_shop, tear_down_shop),
  };
  if (argc > 1 && strcmp (argv[1], "references") == 0)
    return cmocka_run_group_tests (published, NULL, NULL);
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (each_inspection_is_dropped_once, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (what_is_older_is_passed_by, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (a_folder_that_is_gone_waits, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (tools_that_changed_are_put, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (a_note_puts_its_tool, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (nothing_is_lost_while_the_agent_is_down, set_up_shop,
                                     tear_down_shop),
    cmocka_unit_test_setup_teardown (one_that_is_refused_waits_alone, set_up_shop, tear_down_shop),
  };
  const struct CMUnitTest in_a_folder[] = {
    cmocka_unit_test_setup_teardown (an_altered_row_is_not_sent, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (what_is_no_feed_is_refused, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (two_runs_are_not_at_it_at_once, set_up_shop, tear_down_shop),
    cmocka_unit_test_setup_teardown (late_rows_are_seen, set_up_shop, tear_down_shop),
  };
  return run_on_both_engines (tests) + cmocka_run_group_tests (in_a_folder, NULL, NULL);
}
