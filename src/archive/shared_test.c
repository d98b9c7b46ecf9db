/*
 * An archive that many benches share: what a bench may do and what not, chains of their own, seals
 * over all of them, and a server that goes away.
 */
#include "archive/account.h"
#include "archive/archive_for_tests.h"
#include "archive/statements.h"
#include "archive/store.h"

static WsArchive *
open_as (const Fixture *fixture, const char *login, const char *bench, WsArchiveMode mode,
         GError **error)
{
  g_autofree char *address = address_as (login, fixture->name, bench);
  return ws_archive_open (address, mode, error);
}

static void
store_at (WsArchive *archive, const char *id)
{
  const Sample sample = { id, "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autoptr (GError) error = NULL;
  if (!ws_archive_store (archive, inspection, NULL, &error))
    fail_msg ("%s", error->message);
}

/* ---- Rights ------------------------------------------------------------------------------------
 */

/* As somebody does who has the password of a bench. */
static gboolean
may (const Fixture *fixture, const char *login, const char *sql)
{
  g_autofree char *address = address_as (login, fixture->name, "x");
  g_autofree char *within = g_strconcat ("SET search_path = whetsight; ", sql, NULL);
  const char *const call[] = { SERVER_BIN "psql", "-qXv", "ON_ERROR_STOP=1", "-c", within,
                               address,           NULL };
  int status = 0;
  assert_true (g_spawn_sync (NULL, (char **)call, NULL,
                             G_SPAWN_STDOUT_TO_DEV_NULL | G_SPAWN_STDERR_TO_DEV_NULL, NULL, NULL,
                             NULL, NULL, &status, NULL));
  return status == 0;
}

#define ROW                                                                                        \
  "INSERT INTO inspection (bench, place, id, time, kind, view, reground, pictures, previous, "     \
  "hash)"                                                                                          \
  " SELECT "

static void
test_a_bench_only_adds (void **state)
{
  static const char *const attacks[] = {
    "UPDATE inspection SET verdict = 'accept'",
    "UPDATE record SET record = '{}'",
    "DELETE FROM inspection WHERE place = 5",
    "DELETE FROM quantity",
    "DELETE FROM file",
    "DELETE FROM pending",
    "LOCK TABLE pending IN ACCESS EXCLUSIVE MODE",
    "LOCK TABLE inspection IN SHARE MODE",
    "SELECT 1 FROM plant FOR UPDATE",
    "SELECT 1 FROM head WHERE bench = 'bench 3' FOR SHARE",
    "TRUNCATE record",
    "UPDATE head SET count = 1",
    "INSERT INTO head VALUES ('bench 9', 'bench', 0, '', '')",
    "DELETE FROM seal",
    "INSERT INTO seal VALUES (9, '2026-11-25T10:00:00Z', 0, '', '', 'bench')",
    "UPDATE plant SET seals = 0",
    "UPDATE account SET role = 'quality'",
    /* behind the last row, but not from it; in its place; and as another's bench */
    ROW "bench, 9, 'x', time, kind, view, 0, 0, hash, hash FROM inspection WHERE place = 5",
    ROW "bench, 6, 'x', time, kind, view, 0, 0, previous, hash FROM inspection WHERE place = 5",
    ROW "bench, 5, 'x', time, kind, view, 0, 0, previous, hash FROM inspection WHERE place = 5",
    ROW "'bench 3', 2, 'x', i.time, kind, view, 0, 0, h.hash, h.hash FROM inspection i, head h"
        " WHERE i.place = 5 AND h.bench = 'bench 3'",
    "INSERT INTO quantity (number, name, value, month) SELECT number, 'extra', 1, month FROM"
    " inspection WHERE bench = 'bench 3'",
    "INSERT INTO inspection (number) SELECT 1",
    "SELECT setval ('stored', 1)",
    "SELECT hold ('bench 3')",
    ROW "b, p, 'x', i.time, kind, view, 0, 0, h.hash, h.hash FROM inspection i, head h,"
        " (VALUES ('bench 2', 6), ('bench 3', 2)) AS v (b, p) WHERE i.place = 5 AND h.bench = b",
    "SELECT begin_month (203001)",
    "INSERT INTO record_2026 VALUES (99, 202611, '{}')",
    "DELETE FROM quantity_2026",
    "ALTER TABLE inspection DISABLE TRIGGER follow",
    "ALTER TABLE inspection DISABLE ROW LEVEL SECURITY",
    "DROP TRIGGER follow ON inspection",
    "DROP TABLE record",
    "CREATE TABLE whetsight.other (x integer)",
    "SET session_replication_role = replica",
    "SET row_security = off; INSERT INTO quantity (number, name, value, month) SELECT number,"
    " 'extra', 1, month FROM inspection WHERE bench = 'bench 3'",
    "SET ROLE plant",
  };
  const Fixture *fixture = *state;
  guint64 wrong;
  fill (fixture);
  {
    g_autoptr (WsArchive) other = open_as (fixture, "other", "bench%203", WS_ARCHIVE_WRITE, NULL);
    store_at (other, "id-other");
  }
  for (gsize i = 0; i < G_N_ELEMENTS (attacks); i++)
    if (may (fixture, "bench", attacks[i]))
      fail_msg ("a bench may: %s", attacks[i]);
  /* The same are no attacks where their owner does them: so they fail for want of rights. */
  assert_true (may (fixture, "plant", attacks[0]));
  assert_true (may (fixture, "bench", "SELECT hold ('bench 2')"));
  change (fixture,
          "UPDATE inspection SET verdict = 'reject' WHERE place > 2 AND bench = 'bench 2'");
  g_autofree char *told = verify (fixture, NULL, &wrong);
  assert_string_equal (told, "");
}

static void
test_who_reads_only_reads (void **state)
{
  const Fixture *fixture = *state;
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  const Sample sample = { "x", "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
  g_autoptr (GError) error = NULL;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_as (fixture, "looker", "desk", WS_ARCHIVE_WRITE, &error);
  g_autoptr (GPtrArray) found = wsi_store_find_all (archive, &all, &error);
  assert_int_equal (found->len, N_ROWS);
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  assert_false (ws_archive_store (archive, inspection, NULL, &error));
  assert_contains (error->message, "this login may not do that");
  assert_null (strchr (error->message, '\n'));
  assert_false (may (fixture, "looker",
                     ROW "'desk', 1, 'x', time, kind, view, 0, 0, '', hash FROM"
                         " inspection WHERE place = 5"));
}

static void
test_accounts_stay_with_their_bench (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) own = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_autoptr (WsArchive) other = open_as (fixture, "other", "bench%203", WS_ARCHIVE_WRITE, &error);
  const WsAccount account = { .name = "oly", .role = "operator", .hash = "first" };
  const WsEventWords words = { .by = "Q. Quill", .text = "new in the shop" };
  assert_true (wsi_account_set (own, &account, &words, &error));
  g_autoptr (WsAccount) found = wsi_account_find (own, "oly", &error);
  assert_non_null (found);
  assert_null (found->wrong);
  assert_null (wsi_account_find (other, "oly", &error));
  assert_null (error);
  /* Nor does a login see another bench's passwords. */
  assert_false (may (fixture, "other",
                     "DO $$ BEGIN IF NOT EXISTS (SELECT 1 FROM account) THEN"
                     " RAISE 'none'; END IF; END $$"));
}

/* ---- Chains ------------------------------------------------------------------------------------
 */

static void
test_benches_do_not_wait_for_each_other (void **state)
{
  const Fixture *fixture = *state;
  guint64 wrong;
  g_autoptr (GError) error = NULL;
  fill (fixture); /* the month of all of them is begun */
  g_autoptr (WsArchive) first = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_autoptr (WsArchive) second = open_as (fixture, "other", "bench%203", WS_ARCHIVE_WRITE, &error);
  assert_true (ws_archive_begin (first, &error));
  store_at (first, "a-1");
  store_at (second, "b-1"); /* within the first one's turn */
  store_at (first, "a-2");
  assert_true (ws_archive_commit (first, &error));
  store_at (second, "a-1"); /* another inspection of that id, elsewhere */
  g_autoptr (WsInspection) row = ws_archive_find (second, "b-1", &error);
  assert_string_equal (row->bench, "bench 3");
  assert_int_equal (row->place, 1);
  assert_null (row->wrong);
  g_autofree char *told = verify (fixture, NULL, &wrong);
  assert_string_equal (told, "");
  guint64 count;
  char hash[WS_SHA256_HEX_SIZE];
  assert_true (ws_archive_head (first, &count, hash, &error));
  assert_int_equal (count, N_ROWS + 4);
}

static void
test_a_bench_belongs_to_a_login (void **state)
{
  const Fixture *fixture = *state;
  const Sample sample = { "x", "2026-11-25T10:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
  g_autoptr (GError) error = NULL;
  fill (fixture);
  g_autoptr (WsArchive) thief = open_as (fixture, "other", "bench%202", WS_ARCHIVE_WRITE, &error);
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  assert_false (ws_archive_store (thief, inspection, NULL, &error));
  assert_contains (error->message, "another login writes as this bench");
}

static void
count_bench (const char *bench, guint64 count, const char *hash, gpointer data)
{
  (void)hash;
  g_string_append_printf (data, "%s %u;", bench, (guint)count);
}

static void
test_a_seal_is_on_all_heads (void **state)
{
  const Fixture *fixture = *state;
  guint64 wrong;
  g_autoptr (GError) error = NULL;
  g_autoptr (GString) heads = g_string_new (NULL);
  fill (fixture);
  g_autoptr (WsArchive) other = open_as (fixture, "other", "bench%2010", WS_ARCHIVE_WRITE, &error);
  store_at (other, "b-1");
  store_at (other, "b-2");
  g_autofree char *seal = ws_archive_seal (other, &error);
  assert_contains (seal, " 7 ");
  assert_true (wsi_store_each_bench (other, count_bench, heads, &error));
  assert_string_equal (heads->str, "bench 10 2;bench 2 5;");
  store_at (other, "b-3");
  g_autofree char *good = verify (fixture, seal, &wrong);
  assert_string_equal (good, "");
  /* Its owner takes two rows of one bench away and makes its head fit. */
  change (fixture, "DELETE FROM quantity WHERE number > 6; DELETE FROM record WHERE number > 6;"
                   "DELETE FROM inspection WHERE number > 6;"
                   "UPDATE head SET count = 1, hash = i.hash, digest = digest_of (1, i.hash)"
                   " FROM inspection i WHERE head.bench = i.bench AND i.bench = 'bench 10'");
  g_autofree char *cut = verify (fixture, NULL, &wrong);
  assert_contains (cut, "of 2 rows of bench bench 10 1 are there");
  assert_int_equal (wrong, 1);
  change (fixture, "DELETE FROM seal; UPDATE plant SET seals = 0, seals_hash = ''");
  g_autofree char *covered = verify (fixture, NULL, &wrong);
  assert_string_equal (covered, "");
  /* Who owns it puts a seal of his own in place, whatever its heads are. */
  change (fixture,
          "INSERT INTO seal SELECT 1, '2026-11-25T10:00:00Z', 1, encode (sha256 (('whetsight-"
          "heads/1' || chr (10) || '1 x bench 2')::bytea), 'hex'), '1 x bench 2', 'plant'");
  g_autofree char *odd = verify (fixture, NULL, &wrong);
  assert_contains (odd, "row 1 of bench bench 2 is not the one that was sealed");
  g_autofree char *kept = verify (fixture, seal, &wrong);
  assert_contains (kept, "the archive doesn't know it");
}

static void
test_strange_tables (void **state)
{
  const Fixture *fixture = *state;
  guint64 wrong;
  fill (fixture);
  change (fixture, "CREATE TABLE notes (x integer); DROP INDEX inspection_tool;"
                   "ALTER TABLE inspection DISABLE TRIGGER follow;"
                   "ALTER TABLE account DISABLE ROW LEVEL SECURITY;"
                   "DROP POLICY own ON quantity;"
                   "CREATE VIEW good AS SELECT * FROM inspection;"
                   "CREATE OR REPLACE FUNCTION month_of (moment text) RETURNS integer IMMUTABLE"
                   " LANGUAGE sql AS 'SELECT 0'");
  g_autofree char *told = verify (fixture, NULL, &wrong);
  assert_contains (told, "table notes: not ours");
  assert_contains (told, "view good: not ours");
  assert_contains (told, "index inspection_tool: missing");
  assert_contains (told, "trigger follow: changed");
  assert_contains (told, "table account: changed");
  assert_contains (told, "policy own on quantity: missing");
  assert_contains (told, "function month_of: changed");
}

/* ---- The server --------------------------------------------------------------------------------
 */

static void
test_addresses (void **state)
{
  static const struct
  {
    const char *address, *told;
    int code;
  } cases[] = {
    { "postgresql://bench:s3cret@/plant", "~/.pgpass", WS_ERROR_USAGE },
    { "postgresql://bench@/plant?password=s3cret", "~/.pgpass", WS_ERROR_USAGE },
    { "postgresql://bench@/plant?sslpassword=s3cret", "~/.pgpass", WS_ERROR_USAGE },
    { "postgresql://bench:s3cret@[/plant", "no address", WS_ERROR_USAGE },
    { "postgresql://bench@/plant?host=/nowhere", "its server can't be reached", WS_ERROR_NO_INPUT },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (ws_archive_open (cases[i].address, WS_ARCHIVE_READ, &error));
    assert_contains (error->message, cases[i].told);
    assert_lacks (error->message, "s3cret");
    assert_lacks (error->message, "\n");
    assert_int_equal (error->code, cases[i].code);
  }
}

static void
test_an_archive_is_made_once (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  assert_false (wsi_engine_make (fixture->owner, fixture->folder, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  g_clear_error (&error);
  assert_false (wsi_engine_make (fixture->owner, "pictures", &error));
  assert_contains (error->message, "whole path");
  g_clear_error (&error);
  change (fixture, "DROP SCHEMA whetsight CASCADE");
  assert_null (ws_archive_open (fixture->address, WS_ARCHIVE_WRITE, &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  assert_contains (error->message, "no archive there");
}

static const char *
setting (WsArchive *archive, const char *name, char value[16])
{
  WsQuery *query = wsi_query_new (archive->engine, "SELECT current_setting (?1)", WS_QUERY_ONCE);
  wsi_bind_text (query, 1, name);
  assert_int_equal (wsi_step (query), WS_QUERY_ROW);
  g_strlcpy (value, wsi_column_text (query, 0), 16);
  wsi_query_free (query);
  return value;
}

/* What is called stored is on disk, or nothing is stored. */
static void
test_what_a_server_does_not_sync (void **state)
{
  const Fixture *fixture = *state;
  char value[16];
  g_autoptr (GError) error = NULL;
  change (fixture, "ALTER ROLE bench SET synchronous_commit = off");
  {
    g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
    assert_string_equal (setting (archive, "synchronous_commit", value), "on");
  }
  change (fixture, "ALTER ROLE bench RESET synchronous_commit");
  run_sql (fixture->owner, "ALTER SYSTEM SET fsync = off");
  run_sql (fixture->owner, "SELECT pg_reload_conf (), pg_sleep (0.2)");
  assert_null (ws_archive_open (fixture->address, WS_ARCHIVE_WRITE, &error));
  assert_contains (error->message, "fsync");
  g_autoptr (WsArchive) reader = open_archive (fixture, WS_ARCHIVE_READ);
  assert_non_null (reader);
  run_sql (fixture->owner, "ALTER SYSTEM RESET fsync");
  run_sql (fixture->owner, "SELECT pg_reload_conf (), pg_sleep (0.2)");
}

static void
test_a_connection_that_is_lost (void **state)
{
  const Fixture *fixture = *state;
  guint64 wrong, count;
  char hash[WS_SHA256_HEX_SIZE];
  const Sample sample = { "id-2", "2026-11-25T11:00:00Z", "QT-D-0001", "accept", 118.0, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  assert_true (ws_archive_begin (archive, &error));
  store_at (archive, "id-1");
  server_end (*the_server (), SIGQUIT); /* as by a power cut */
  assert_false (ws_archive_store (archive, inspection, NULL, &error));
  assert_contains (error->message, "connection to its server was lost");
  assert_lacks (error->message, "\n");
  ws_archive_roll_back (archive);
  g_clear_error (&error);
  assert_false (ws_archive_begin (archive, &error)); /* it isn't back yet */
  assert_lacks (error->message, "\n");
  ws_archive_roll_back (archive);
  g_clear_error (&error);
  server_go_on (*the_server ());
  assert_true (ws_archive_head (archive, &count, hash, &error));
  assert_int_equal (count, 0);
  store_at (archive, "id-1"); /* by the same connection, made anew */
  /* One that waited meanwhile, as a page's does, doesn't notice. */
  server_end (*the_server (), SIGQUIT);
  server_go_on (*the_server ());
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-1", &error);
  assert_string_equal (error != NULL ? error->message : "", "");
  assert_non_null (found);
  server_end (*the_server (), SIGQUIT);
  server_go_on (*the_server ());
  store_at (archive, "id-2");
  g_autofree char *told = verify (fixture, NULL, &wrong);
  assert_string_equal (told, "");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_a_bench_only_adds, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_who_reads_only_reads, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_accounts_stay_with_their_bench, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_benches_do_not_wait_for_each_other, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_bench_belongs_to_a_login, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_seal_is_on_all_heads, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_strange_tables, set_up, tear_down),
    cmocka_unit_test (test_addresses),
    cmocka_unit_test_setup_teardown (test_an_archive_is_made_once, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_a_server_does_not_sync, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_connection_that_is_lost, set_up, tear_down),
  };
  return has_servers () ? cmocka_run_group_tests (tests, begin_sharing, end_sharing)
                        : STATUS_SKIPPED;
}
