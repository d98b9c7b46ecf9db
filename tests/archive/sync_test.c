/*
 * Benches that send what they have to a centre on PostgreSQL: all of it, once, in its order,
 * whatever ends it, and nothing of what isn't the chain that was sent before.  WHETSIGHT_KILLS sets
 * how many steps the random test takes, WHETSIGHT_SEED which.
 */
#include "plant_for_tests.h"

#include "archive/columns.h"
#include "archive/event.h"

#define STEPS 14
#define LONGEST_MS 60
#define MOST_SENDS 400

static Run
sync_bench (const Plant *plant, int bench)
{
  return run ("archive", "sync", plant->benches[bench].folder, "--to", plant->centre, "--bench",
              bench_name (bench), NULL);
}

static void
check_run (Run done, int status, const char *said)
{
  if (done.status != status)
    print_error ("%d\n%s%s", done.status, done.out, done.err);
  assert_int_equal (done.status, status);
  assert_contains (status == 0 ? done.out : done.err, said);
  run_clear (&done);
}

static void
write_rows (Plant *plant, int bench, int n)
{
  g_autoptr (WsArchive) archive = open_archive (&plant->benches[bench], WS_ARCHIVE_WRITE);
  for (int i = 0; i < n; i++)
    store_row (archive, ++plant->written, NULL);
}

static void
sign (const Plant *plant, int bench, const char *id)
{
  const WsNoteWords words = { WS_NOTE_SIGN_OFF, "Q. Quill", "seen", NULL };
  g_autoptr (WsArchive) archive = open_archive (&plant->benches[bench], WS_ARCHIVE_WRITE);
  assert_true (ws_archive_add_note (archive, id, &words, NULL, NULL));
}

static void
verify_centre (const Plant *plant)
{
  check_run (run ("archive", "verify", plant->centre, NULL), 0, "");
}

static void
test_all_of_it_once (void **state)
{
  Plant *plant = *state;
  need_server (plant);
  check_run (sync_bench (plant, 0), 0, "5 rows sent");
  expect_all (plant, 0);
  check_run (sync_bench (plant, 0), 0, "0 rows sent");
  check_run (sync_bench (plant, 0), 0, "5 there already");
  expect_all (plant, 0);

  /* Another bench, some of whose pictures the centre has. */
  write_rows (plant, 1, 2);
  {
    g_autoptr (WsArchive) archive = open_archive (&plant->benches[1], WS_ARCHIVE_WRITE);
    store_row (archive, 3, NULL);
  }
  check_run (sync_bench (plant, 1), 0, "4 pictures sent");
  expect_all (plant, 1);
  expect_all (plant, 0);

  /* What came since: rows, and what people said of older ones. */
  write_rows (plant, 0, 1);
  sign (plant, 0, "id-2");
  check_run (sync_bench (plant, 0), 0, "2 rows sent");
  expect_all (plant, 0);
  verify_centre (plant);
}

/* More than one transaction's worth. */
static void
test_many_rows (void **state)
{
  Plant *plant = *state;
  need_server (plant);
  write_rows (plant, 1, 603);
  check_run (sync_bench (plant, 1), 0, "603 rows sent");
  expect_all (plant, 1);
  verify_centre (plant);
}

static void
test_old_and_other_archives (void **state)
{
  Plant *plant = *state;
  need_server (plant);
  const char *folder = plant->benches[0].folder;
  g_autofree char *old = beside (plant->aside, "old");
  copy_folder (folder, old);
  write_rows (plant, 0, 2);
  check_run (sync_bench (plant, 0), 0, "7 rows sent");
  g_autofree char *before = chain_there (plant, 0);

  /* The folder was put back, and was written to again. */
  copy_folder (old, folder);
  check_run (sync_bench (plant, 0), 65, "an older copy");
  write_rows (plant, 0, 4);
  check_run (sync_bench (plant, 0), 65, "its past is not the one that was sent before");
  /* Another bench under the name of this one. */
  write_rows (plant, 1, 20);
  check_run (run ("archive", "sync", plant->benches[1].folder, "--to", plant->centre, "--bench",
                  bench_name (0), NULL),
             65, "nothing is sent");
  g_autofree char *after = chain_there (plant, 0);
  assert_string_equal (before, after);
  verify_centre (plant);
}

static void
test_edited_rows (void **state)
{
  static const char *const edits[] = {
    "UPDATE inspection SET verdict = 'accept' WHERE number = 4",
    "UPDATE record SET record = replace (record, '121', '122') WHERE number = 4",
    "UPDATE quantity SET value = 118.1 WHERE number = 4 AND name = 'point_angle_deg'",
    "DELETE FROM quantity WHERE number = 4",
    "DELETE FROM inspection WHERE number = 4",
    "DELETE FROM record WHERE number = 4",
    "UPDATE inspection SET number = number + 1000 WHERE number > 3",
    "UPDATE head SET count = 4",
  };
  Plant *plant = *state;
  need_server (plant);
  g_autofree char *whole = beside (plant->aside, "whole");
  copy_folder (plant->benches[0].folder, whole);
  for (gsize i = 0; i < G_N_ELEMENTS (edits); i++)
  {
    change (&plant->benches[0], edits[i]);
    check_run (sync_bench (plant, 0), 65, "archive verify tells more");
    assert_int_equal (count_there (plant, 0), 0);
    copy_folder (whole, plant->benches[0].folder);
  }
  check_run (sync_bench (plant, 0), 0, "5 rows sent");
  expect_all (plant, 0);
}

/* Of the second row; free with g_free(). */
static char *
picture_path (const Plant *plant, const char *column)
{
  g_autofree char *sql = g_strdup_printf ("SELECT %s FROM inspection WHERE number = 2", column);
  g_autofree char *sha256 = g_strchomp (ask_bench (&plant->benches[0], sql));
  return g_strdup_printf ("%s/images/%.2s/%s", plant->benches[0].folder, sha256, sha256);
}

static Run
sync_pictures (const Plant *plant)
{
  return run ("archive", "sync", plant->benches[0].folder, "--to", plant->centre, "--bench",
              bench_name (0), "--pictures", NULL);
}

/* The rows come, and it is said. */
static void
test_a_picture_is_gone (void **state)
{
  Plant *plant = *state;
  need_server (plant);
  g_autofree char *image = picture_path (plant, "image");
  g_autofree char *annotated = picture_path (plant, "annotated");
  g_autofree char *aside = beside (plant->aside, "picture");
  assert_int_equal (g_rename (image, aside), 0);
  assert_true (g_file_set_contents (annotated, "another", -1, NULL));
  check_run (sync_bench (plant, 0), 1, "2 pictures weren't here as they were stored");
  assert_int_equal (count_there (plant, 0), 5);
  check_run (sync_bench (plant, 0), 0, "0 rows sent");

  /* One comes back. */
  assert_int_equal (g_rename (aside, image), 0);
  check_run (sync_pictures (plant), 1, "1 pictures weren't here as they were stored");
  check_run (sync_pictures (plant), 1, "1 pictures weren't here as they were stored");
  g_autofree char *n = ask_centre (plant, "SELECT count (*) FROM file");
  assert_string_equal (n, "9\n");
  assert_true (g_file_set_contents (annotated, "drawn on 2", -1, NULL));
  check_run (sync_pictures (plant), 0, "1 pictures sent");
  expect_all (plant, 0);
  verify_centre (plant);
}

/* ---- Ended anywhere -------------------------------------------------------------------------- */

static pid_t
start_sync (const Plant *plant, int bench, guint dies_at)
{
  const pid_t pid = fork ();
  if (pid != 0)
    return pid;
  if (dies_at > 0)
  {
    g_autofree char *at = g_strdup_printf ("%u", dies_at);
    g_setenv ("LD_PRELOAD", g_getenv ("WHETSIGHT_FAULT"), TRUE);
    g_setenv ("ASAN_OPTIONS", "verify_asan_link_order=0", TRUE);
    g_setenv ("WS_FAULT_SEND", at, TRUE);
  }
  if (freopen ("/dev/null", "w", stdout) == NULL || freopen ("/dev/null", "w", stderr) == NULL)
    _exit (127);
  execl (g_getenv ("WHETSIGHT"), "whetsight", "archive", "sync", plant->benches[bench].folder,
         "--to", plant->centre, "--bench", bench_name (bench), (char *)NULL);
  _exit (127);
}

/* Ends before and after every message to the server, one after the other. */
static void
test_ended_at_every_step (void **state)
{
  Plant *plant = *state;
  need_server (plant);
  int status = -1, sent = 0;
  guint at = 0;
  if (g_getenv ("WHETSIGHT_FAULT") == NULL)
    skip_for ("WHETSIGHT_FAULT doesn't name the library that kills");
  write_rows (plant, 1, 1);
  for (; status != 0 && at < MOST_SENDS; at++)
  {
    const pid_t pid = start_sync (plant, 1, at + 1);
    assert_int_equal (waitpid (pid, &status, 0), pid);
    assert_true (status == 0 || (WIFSIGNALED (status) && WTERMSIG (status) == SIGKILL));
    const int n = expect_beginning (plant, 1);
    assert_true (n >= sent);
    sent = n;
    /* What was sent leaves less to do; there is always something. */
    if (sent == count_here (plant, 1) && status != 0)
      write_rows (plant, 1, 1);
  }
  print_message ("ended at each of %u places, %d rows sent\n", at - 1, sent);
  assert_int_equal (status, 0);
  assert_true (at > 20 && sent > 1);
  expect_all (plant, 1);
  verify_centre (plant);
}

static void
test_two_at_once (void **state)
{
  Plant *plant = *state;
  int status[3];
  pid_t pids[3];
  need_server (plant);
  write_rows (plant, 0, 550);
  for (int i = 0; i < 3; i++)
    pids[i] = start_sync (plant, 0, 0);
  for (int i = 0; i < 3; i++)
    assert_int_equal (waitpid (pids[i], &status[i], 0), pids[i]);
  for (int i = 0; i < 3; i++)
    assert_int_equal (status[i], 0);
  expect_all (plant, 0);
  verify_centre (plant);
}

/* ---- At random ------------------------------------------------------------------------------- */

static void
wait_at_random (const Plant *plant)
{
  g_usleep ((gulong)g_rand_int_range (plant->rand, 0, LONGEST_MS * 1000));
}

static void
kill_sync (const Plant *plant, int bench)
{
  const pid_t pid = start_sync (plant, bench, 0);
  wait_at_random (plant);
  kill (pid, SIGKILL);
  waitpid (pid, NULL, 0);
}

/* The client has to end by itself, and to say that it couldn't. */
static void
kill_server (Plant *plant, int bench)
{
  int status;
  const pid_t pid = start_sync (plant, bench, 0);
  wait_at_random (plant);
  server_end (plant->server, g_rand_boolean (plant->rand) ? SIGQUIT : SIGKILL);
  assert_int_equal (waitpid (pid, &status, 0), pid);
  assert_true (WIFEXITED (status));
  assert_true (WEXITSTATUS (status) == 0 || WEXITSTATUS (status) == 73 ||
               WEXITSTATUS (status) == 66);
  server_go_on (plant->server);
}

static void
step (Plant *plant, int *sent)
{
  const int bench = g_rand_int_range (plant->rand, 0, BENCHES);
  const int what = g_rand_int_range (plant->rand, 0, 10);
  if (what < 3)
    write_rows (plant, bench, 1 + g_rand_int_range (plant->rand, 0, 40));
  else if (what < 5)
    check_run (sync_bench (plant, bench), 0, "rows sent");
  else if (what < 8)
    kill_sync (plant, bench);
  else
    kill_server (plant, bench);
  for (int i = 0; i < BENCHES; i++)
  {
    const int n = expect_beginning (plant, i);
    assert_true (n >= sent[i]);
    sent[i] = n;
  }
}

static void
test_at_random (void **state)
{
  Plant *plant = *state;
  int sent[BENCHES] = { 0 };
  need_server (plant);
  const char *seed = g_getenv ("WHETSIGHT_SEED");
  if (seed != NULL)
    g_rand_set_seed (plant->rand, (guint32)strtoul (seed, NULL, 10));
  write_rows (plant, 1, 1);
  for (guint i = 0, n = n_kills (STEPS); i < n; i++)
    step (plant, sent);
  for (int i = 0; i < BENCHES; i++)
  {
    check_run (sync_bench (plant, i), 0, "rows sent");
    expect_all (plant, i);
  }
  verify_centre (plant);
}

/* ---- Cards ----------------------------------------------------------------------------------- */

#define CARD_TOOL "QT-D-0118"

/* Free with g_free(). */
static char *
card_text (const char *limits)
{
  return g_strdup_printf ("[tool]\nid = " CARD_TOOL "\nkind = twist-drill\ndiameter_mm = 6.5\n\n"
                          "[limits]\npoint_angle_deg = %s\n",
                          limits);
}

/* As somebody does at a page. */
static void
change_card (const char *archive_name, const char *by, const char *limits)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) archive = ws_archive_open (archive_name, WS_ARCHIVE_WRITE, &error);
  g_autofree char *text = card_text (limits);
  json_t *after = json_string (text);
  const WsEventWords words = { .kind = WS_EVENT_CARD,
                               .subject = CARD_TOOL,
                               .by = by,
                               .account = "vane",
                               .text = "brass",
                               .after = after };
  assert_null (error);
  assert_true (wsi_event_add (archive, &words, &error));
  json_decref (after);
}

typedef struct
{
  const Plant *plant;
  char *key, *pub, *cards, *card, *as_centre;
} Cards;

static void
cards_clear (Cards *cards)
{
  g_free (cards->key);
  g_free (cards->pub);
  g_free (cards->cards);
  g_free (cards->card);
  g_free (cards->as_centre);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Cards, cards_clear)

static Cards
cards_of (const Plant *plant)
{
  const Cards cards = { plant,
                        beside (plant->aside, "key"),
                        beside (plant->aside, "key.pub"),
                        beside (plant->aside, "cards"),
                        beside (plant->aside, "cards/" CARD_TOOL ".tool"),
                        g_strconcat (plant->centre, "&application_name=centre", NULL) };
  assert_int_equal (g_mkdir (cards.cards, 0777), 0);
  check_run (run ("archive", "key", cards.key, NULL), 0, "key ");
  return cards;
}

static void
seal (const Cards *cards)
{
  check_run (run ("archive", "seal", cards->plant->centre, "--key", cards->key, NULL), 0,
             "signature ");
}

static void
take_with (const Cards *cards, const char *key, const char *more, int status, const char *said)
{
  check_run (run ("archive", "sync", cards->plant->benches[0].folder, "--from",
                  cards->plant->centre, "--cards", cards->cards, "--key", key, more, NULL),
             status, said);
}

static void
take (const Cards *cards, int status, const char *said)
{
  take_with (cards, cards->pub, NULL, status, said);
}

static void
expect_card (const Cards *cards, const char *limits)
{
  g_autofree char *text = NULL;
  g_autofree char *expected = card_text (limits);
  assert_true (g_file_get_contents (cards->card, &text, NULL, NULL));
  assert_string_equal (text, expected);
}

static void
test_cards_come_back (void **state)
{
  const Plant *plant = *state;
  need_server (plant);
  g_auto (Cards) cards = cards_of (plant);
  change_card (cards.as_centre, "Q. Quill", "116 .. 120");
  take (&cards, 66, "nothing of it was sealed by this key yet");
  seal (&cards);
  take (&cards, 0, "1 cards taken, 0 here already, 0 left");
  expect_card (&cards, "116 .. 120");
  take (&cards, 0, "0 cards taken, 1 here already, 0 left");
  check_run (run ("archive", "verify", plant->benches[0].folder, NULL), 0, "");
  g_autofree char *entry =
    ask_bench (&plant->benches[0], "SELECT record FROM record ORDER BY number DESC LIMIT 1");
  assert_contains (entry, "row 1 of centre, hash ");

  /* A change counts once it is sealed. */
  change_card (cards.as_centre, "Q. Quill", "117 .. 119");
  take (&cards, 0, "0 cards taken, 1 here already");
  seal (&cards);
  take (&cards, 0, "1 cards taken");
  expect_card (&cards, "117 .. 119");

  /* What was changed here stays, unless it is said. */
  g_autofree char *own = card_text ("115 .. 121");
  assert_true (g_file_set_contents (cards.card, own, -1, NULL));
  take (&cards, 1, "the one here is none that centre had, and stays");
  expect_card (&cards, "115 .. 121");
  take_with (&cards, cards.pub, "--replace", 0, "1 cards taken");
  expect_card (&cards, "117 .. 119");
}

static void
as_administrator (const Plant *plant, const char *sql)
{
  g_autofree char *past_triggers =
    g_strconcat ("SET session_replication_role = replica; ", sql, NULL);
  g_free (ask_centre (plant, past_triggers));
}

/* Whoever can write to the database, but hasn't the key. */
static void
test_cards_that_nobody_sealed (void **state)
{
  const Plant *plant = *state;
  need_server (plant);
  g_auto (Cards) cards = cards_of (plant);
  g_autofree char *other = beside (plant->aside, "other-key");
  g_autofree char *others = beside (plant->aside, "other-key.pub");
  check_run (run ("archive", "key", other, NULL), 0, "key ");
  change_card (cards.as_centre, "Q. Quill", "116 .. 120");
  change_card (cards.as_centre, "Q. Quill", "117 .. 119");
  seal (&cards);
  take_with (&cards, others, NULL, 66, "sealed by this key yet");

  /* Nor does one of another key, later, keep benches from taking what is sealed: this doesn't say
   * that row 2 can be taken. */
  check_run (run ("archive", "seal", plant->centre, "--key", other, NULL), 0, "signature ");
  take_with (&cards, others, NULL, 0, "1 cards taken");
  assert_int_equal (g_remove (cards.card), 0);

  /* The record alone, then with its hash, as if it had been written so. */
  as_administrator (plant,
                    "UPDATE record SET record = replace (record, '117 .. 119', '100 .. 140')");
  take (&cards, 65, "row 2 is not as it was written; no card is taken");
  g_autofree char *row = ask_centre (plant, "SELECT previous || ' ' || record FROM inspection JOIN"
                                            " record USING (number, month) WHERE place = 2");
  WsInspection forged = { .previous = g_strndup (row, 64), .record = g_strchomp (row + 65) };
  char hash[WS_SHA256_HEX_SIZE];
  wsi_columns_hash (&forged, hash);
  g_free (forged.previous);
  g_autofree char *sql =
    g_strdup_printf ("UPDATE inspection SET hash = '%s' WHERE place = 2", hash);
  as_administrator (plant, sql);
  take (&cards, 65, "row 2 is not the one that was sealed; no card is taken");
  as_administrator (plant, "UPDATE seal SET heads = replace (heads, '2 ', '1 ')");
  take (&cards, 65, "its newest seal is of other chains");
  assert_int_equal (g_access (cards.card, F_OK), -1);
}

static void
test_cards_side_by_side (void **state)
{
  const Plant *plant = *state;
  need_server (plant);
  for (int i = 0; i < BENCHES; i++)
  {
    change_card (plant->benches[i].folder, "R. Vane", "116 .. 120");
    g_autoptr (WsArchive) archive = open_archive (&plant->benches[i], WS_ARCHIVE_WRITE);
    const Sample sample = {
      bench_name (i), "2026-11-25T10:15:02Z", CARD_TOOL, "accept", 118.0, NULL
    };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    assert_true (ws_archive_store (archive, inspection, NULL, NULL));
    check_run (sync_bench (plant, i), 0, "rows sent");
  }
  g_auto (Run) same = run ("archive", "list", plant->centre, "--tool", CARD_TOOL, NULL);
  assert_int_equal (same.status, 0);
  assert_lacks (same.out, "DIFFER");

  change_card (plant->benches[1].folder, "Q. Quill", "117 .. 119");
  check_run (sync_bench (plant, 1), 0, "1 rows sent");
  g_auto (Run) list = run ("archive", "list", plant->centre, "--tool", CARD_TOOL, NULL);
  assert_int_equal (list.status, 0);
  assert_contains (list.out, "The cards of tool " CARD_TOOL " DIFFER:\n    bench 1 since ");
  assert_contains (list.out, " by R. Vane\n    bench 2 since ");
  assert_contains (list.out, " by Q. Quill\n");
  check_run (run ("archive", "show", plant->centre, "bench 1", NULL), 0, "DIFFER");
}

/* What would be passed over is refused. */
static void
test_wrong_calls (void **state)
{
  const Plant *plant = *state;
  need_server (plant);
  const char *folder = plant->benches[0].folder;
  check_run (run ("archive", "sync", folder, NULL), 64, "give --to or --from");
  check_run (run ("archive", "sync", "--to", plant->centre, NULL), 64, "a folder, once");
  check_run (run ("archive", "sync", folder, "--archive", folder, "--to", plant->centre, NULL), 64,
             "a folder, once");
  check_run (run ("archive", "sync", folder, "--to", plant->benches[1].folder, NULL), 64,
             "is no address");
  check_run (run ("archive", "sync", folder, "--to", plant->centre, "--replace", NULL), 64,
             "with --from");
  check_run (run ("archive", "sync", folder, "--from", plant->centre, NULL), 64, "--cards");
  check_run (
    run ("archive", "sync", "--archive", plant->benches[1].folder, "--to", plant->centre, NULL), 66,
    "no archive there");
  assert_int_equal (g_access (plant->benches[1].folder, F_OK), -1);
  check_run (run ("archive", "sync", "--archive", folder, "--to", plant->centre, "--bench",
                  bench_name (0), NULL),
             0, "5 rows sent");
  expect_all (plant, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_wrong_calls, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_all_of_it_once, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_many_rows, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_old_and_other_archives, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_edited_rows, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_a_picture_is_gone, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_ended_at_every_step, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_two_at_once, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_at_random, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_cards_come_back, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_cards_that_nobody_sealed, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_cards_side_by_side, set_up_plant, tear_down_plant),
  };
  return cmocka_run_group_tests (tests, start_server, stop_server);
}
