/*
 * Archived pictures measured again: by the program as a user runs it.
 */
#include "cli/program_for_tests.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "archive/event.h"
#include "archive/sample_for_tests.h"
#include "base/sha256.h"

#define WIDE "point_angle_deg = 110 .. 126\n"
#define STEEP "point_angle_deg = 119 .. 125\n"
#define MANY 6

/* A scale as records have it, so that it is the same again. */
static char *
short_scale (void)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  return g_strdup (g_ascii_formatd (text, sizeof text, "%.8f", good_scale));
}

/* ---- Archives -----------------------------------------------------------------------------------
 */

typedef struct
{
  char *archive, *card, *cards; /* a folder with the card that pictures are measured again by */
} Shop;

static void
shop_clear (Shop *shop)
{
  g_free (shop->archive);
  g_free (shop->card);
  g_free (shop->cards);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Shop, shop_clear)

static void
set_card (const Shop *shop, const char *limits)
{
  g_autofree char *path = g_build_filename (shop->cards, "drill.tool", NULL);
  g_autofree char *text =
    g_strconcat ("[tool]\nid = QT-D-0007\nkind = twist-drill\ndiameter_mm = 10\n[limits]\n"
                 "diameter_mm = 9.9 .. 10.1\n",
                 limits, NULL);
  assert_true (g_file_set_contents (path, text, -1, NULL));
}

static void
open_shop (const Fixture *fixture, const char *name, Shop *shop)
{
  g_autofree char *archive = g_strconcat (name, ".archive", NULL);
  g_autofree char *cards = g_strconcat (name, ".cards", NULL);
  g_autofree char *card = g_strconcat (name, ".tool", NULL);
  shop->archive = file_in (fixture, archive);
  shop->cards = file_in (fixture, cards);
  shop->card = write_card (fixture, card, WIDE);
  assert_int_equal (g_mkdir (shop->cards, 0700), 0);
  set_card (shop, WIDE);
}

/* The good drill, `n` times. */
static void
measure_many (const Fixture *fixture, const Shop *shop, guint n)
{
  g_autofree char *scale = short_scale ();
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  const char *const words[] = { g_getenv ("WHETSIGHT"),
                                "measure",
                                "--json",
                                "--tool",
                                shop->card,
                                "--scale",
                                scale,
                                "--archive",
                                shop->archive };
  for (gsize i = 0; i < G_N_ELEMENTS (words); i++)
    g_ptr_array_add (call, (gpointer)words[i]);
  for (guint i = 0; i < n; i++)
    g_ptr_array_add (call, fixture->good);
  g_ptr_array_add (call, NULL);
  g_auto (Run) measured = run_call (call);
  assert_int_equal (measured.status, 0);
}

typedef struct
{
  guint n, n_again, n_same;
} Count;

/* A record without what tells one run from another. */
static char *
anonymous (const char *record)
{
  g_autoptr (GRegex) regex = g_regex_new (
    "^(\\{\"record\":\"whetsight/1\",)\"id\":\"[^\"]*\",\"time\":\"[^\"]*\",", 0, 0, NULL);
  char *text = g_regex_replace (regex, record, -1, 0, "\\1", 0, NULL);
  assert_true (strlen (text) < strlen (record));
  return text;
}

/* The result that a note holds, byte by byte. */
static char *
result_in (const WsNote *note)
{
  const char *mark = strstr (note->record, "\"result\": ");
  assert_non_null (mark);
  char *result = g_strdup (mark + strlen ("\"result\": "));
  result[strlen (result) - 1] = '\0';
  return result;
}

static gboolean
count_row (const WsInspection *inspection, gpointer data, GError **error)
{
  Count *count = data;
  (void)error;
  assert_null (inspection->wrong);
  count->n++;
  for (guint i = 0; i < inspection->notes->len; i++)
  {
    g_autofree char *before = anonymous (inspection->record);
    g_autofree char *result = result_in (g_ptr_array_index (inspection->notes, i));
    g_autofree char *after = anonymous (result);
    count->n_again++;
    if (g_str_equal (before, after))
      count->n_same++;
    else
      g_printerr ("%s\n%s\n", before, after);
  }
  return TRUE;
}

static Count
count_rows (const char *folder)
{
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, NULL);
  Count count = { 0 };
  assert_true (ws_archive_each (archive, &all, TRUE, count_row, &count, NULL));
  return count;
}

static void
expect_verified (const char *archive)
{
  g_auto (Run) verified = run ("archive", "verify", archive, NULL);
  assert_int_equal (verified.status, 0);
}

/* ---- The same again -----------------------------------------------------------------------------
 */

/* By the same card and program every record comes out as it was, whatever it was told: id and time
 * aside.  What is no picture is called by its name there, not by where it lies. */
static void
records_come_out_as_they_were (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  g_autofree char *scale = short_scale ();
  open_shop (fixture, "same", &shop);
  const char *const calls[][16] = {
    { "--tool", shop.card, "--scale", scale, "--scale-u", "0.0000031", fixture->good },
    { "--tool", shop.card, "--scale", scale, "--lens-distortion", "0.3", "--lean-max", "0.7",
      fixture->good },
    { "--tool", shop.card, "--scale", scale, "--fixture-direction", "90.3", "--fixture-direction-u",
      "0.07", "--tone", "srgb", fixture->good },
    { "--tool", shop.card, "--known-diameter", "10.003", "--known-diameter-u", "0.002",
      fixture->good },
    { "--tool", shop.card, "--scale", scale, "--length", "61.27", "--measured-by", "Q. Quill",
      "--machine", "lathe 3", fixture->good },
    { "--tool", shop.card, fixture->good },
    { "--scale", scale, fixture->good },
    { "--tool", shop.card, "--scale", scale, fixture->blank },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
  {
    g_autoptr (GPtrArray) call = g_ptr_array_new ();
    const char *const head[] = { g_getenv ("WHETSIGHT"), "measure", "--archive", shop.archive };
    for (gsize w = 0; w < G_N_ELEMENTS (head); w++)
      g_ptr_array_add (call, (gpointer)head[w]);
    for (gsize w = 0; calls[i][w] != NULL; w++)
      g_ptr_array_add (call, (gpointer)calls[i][w]);
    g_ptr_array_add (call, NULL);
    g_auto (Run) measured = run_call (call);
    assert_true (measured.status <= 3);
  }
  g_autofree char *same_card = g_build_filename (shop.cards, "drill.tool", NULL);
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (shop.card, &text, NULL, NULL));
  assert_true (g_file_set_contents (same_card, text, -1, NULL));
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, NULL);
  assert_int_equal (again.status, 0);
  assert_string_equal (again.out, "8 measured again, 0 were already; verdicts changed: 0\n");
  assert_lacks (again.err, "every digit");
  const Count count = count_rows (shop.archive);
  assert_int_equal (count.n, 8);
  assert_int_equal (count.n_again, 8);
  assert_int_equal (count.n_same, 8);
  expect_verified (shop.archive);
  g_auto (Run) compared = run ("archive", "compare", shop.archive, NULL);
  assert_int_equal (compared.status, 0);
  assert_contains (compared.out, "8 inspections, 8 of them measured again; verdicts changed: 0");
}

static void
what_is_no_picture_stays_none (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  open_shop (fixture, "none", &shop);
  g_auto (Run) measured =
    run ("measure", "--tool", shop.card, "--archive", shop.archive, fixture->broken, NULL);
  assert_int_equal (measured.status, 65);
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, NULL);
  assert_int_equal (again.status, 0);
  g_auto (Run) list = run ("archive", "list", shop.archive, "--json", NULL);
  assert_contains (list.out, "\"detail\":\"broken.png: ");
}

/* What was measured once is a picture: that it can't be decoded now isn't the tool's fault. */
static void
what_was_a_picture_is_not_called_none (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  open_shop (fixture, "broken", &shop);
  g_autoptr (GBytes) bytes = g_bytes_new_static ("no picture", 10);
  const Sample sample = { "id-1", "2026-11-25T10:00:00Z", "QT-D-0007", "accept", 118, bytes };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  const WsPictures pictures = { .original = bytes };
  WsArchive *archive = ws_archive_open (shop.archive, WS_ARCHIVE_WRITE, NULL);
  assert_true (ws_archive_store (archive, inspection, &pictures, NULL));
  ws_archive_free (archive);
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, NULL);
  assert_int_equal (again.status, 1);
  assert_contains (again.err, "1 left out: drill.png: ");
  assert_contains (again.out, "0 measured again, 0 were already; verdicts changed: 0; left out: 1");
  assert_int_equal (count_rows (shop.archive).n_again, 0);
}

/* A scale of more digits than records have is told. */
static void
what_records_round_is_told (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  open_shop (fixture, "round", &shop);
  g_auto (Run) measured = run ("measure", "--tool", shop.card, "--scale", "0.0151234567890123",
                               "--archive", shop.archive, fixture->good, NULL);
  assert_true (measured.status <= 3);
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, NULL);
  assert_int_equal (again.status, 0);
  assert_contains (again.err, "1 by what their records tell, which isn't every digit");
}

/* A calibration is found by what it was then, and its standing is that of the picture's time. */
static void
calibrations_are_those_of_then (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  SceneDrill drill;
  SceneCamera camera;
  open_shop (fixture, "calibrated", &shop);
  g_autofree char *small = file_in (fixture, "small.png");
  g_autofree char *calib = file_in (fixture, "bench-2.calib"), *text = NULL;
  scene_drill_init (&drill, 2.5);
  scene_camera_init (&camera);
  camera.width = 560;
  camera.height = 420;
  scene_camera_aim (&camera, &drill, 0.45);
  camera.mm_per_px = 0.01230582875820521;
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  assert_true (scene_image_save (image, small, 0));
  assert_true (g_file_get_contents (WS_SOURCE_DIR "/calib/bench-2.calib", &text, NULL, NULL));
  assert_true (g_file_set_contents (calib, text, -1, NULL));
  g_auto (Run) measured = run ("measure", "--calib", calib, "--archive", shop.archive, small, NULL);
  assert_true (measured.status <= 3);
  g_auto (Run) without = run ("remeasure", "--archive", shop.archive, NULL);
  assert_int_equal (without.status, 1);
  assert_contains (without.err, "1 left out: no calibration 20261128T194650Z-e6ed5821");
  g_auto (Run) again =
    run ("remeasure", "--archive", shop.archive, "--calibs", WS_SOURCE_DIR "/calib", NULL);
  assert_int_equal (again.status, 0);
  assert_int_equal (count_rows (shop.archive).n_same, 1);
}

/* ---- Something changed
 * ---------------------------------------------------------------------------- */

static void
new_limits_change_verdicts (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  open_shop (fixture, "limits", &shop);
  measure_many (fixture, &shop, 2);
  set_card (&shop, STEEP);
  g_auto (Run) dry =
    run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, "--dry-run", NULL);
  assert_string_equal (dry.out, "2 would be measured again, 0 are already\n");
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards,
                            "--reason", "steeper for brass", "--as", "Q. Quill", NULL);
  assert_int_equal (again.status, 0);
  assert_contains (again.out, "QT-D-0007    drill-side   accept -> reject\n");
  assert_contains (again.out, "2 measured again, 0 were already; verdicts changed: 2");
  g_auto (Run) once_more = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards,
                                "--reason", "steeper for brass", NULL);
  assert_string_equal (once_more.out, "0 measured again, 2 were already; verdicts changed: 0\n");
  /* What people decided by stays; what is bad by the limits of today isn't good. */
  g_auto (Run) list = run ("archive", "list", shop.archive, NULL);
  assert_contains (list.out, "drill-side   accept");
  assert_contains (list.out, "MEASURED AGAIN by Q. Quill");
  assert_contains (list.out, ": steeper for brass; NOW reject, was accept");
  assert_contains (list.out, "Tool QT-D-0007 is not fit");
  g_auto (Run) compared = run ("archive", "compare", shop.archive, NULL);
  assert_int_equal (compared.status, 1);
  assert_contains (compared.out, "accept -> reject  (steeper for brass)");
  assert_contains (compared.out, "quantities moved by less than 0.005 U.");
  g_auto (Run) json = run ("archive", "compare", shop.archive, "--json", NULL);
  json_t *root = json_loads (json.out, 0, NULL);
  assert_int_equal (json_integer_value (json_object_get (root, "measured_again")), 2);
  assert_int_equal (json_array_size (json_object_get (root, "changed")), 2);
  assert_non_null (json_object_get (json_object_get (root, "quantities"), "point_angle_deg"));
  json_decref (root);
  expect_verified (shop.archive);
}

/* A picture that isn't as it was written is told, not measured. */
static void
altered_pictures_are_told (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  open_shop (fixture, "altered", &shop);
  measure_many (fixture, &shop, 1);
  g_auto (Run) blank =
    run ("measure", "--tool", shop.card, "--archive", shop.archive, fixture->blank, NULL);
  assert_int_equal (blank.status, 3);
  g_autoptr (WsArchive) archive = ws_archive_open (shop.archive, WS_ARCHIVE_READ, NULL);
  g_autofree char *bytes = NULL;
  gsize n;
  char hex[WS_SHA256_HEX_SIZE];
  assert_true (g_file_get_contents (fixture->good, &bytes, &n, NULL));
  wsi_sha256_hex (bytes, n, hex);
  g_autofree char *path = ws_archive_picture_path (archive, hex);
  bytes[n / 2] ^= 1;
  g_chmod (path, 0600);
  assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, NULL);
  assert_int_equal (again.status, 65);
  assert_contains (again.err, "its picture was altered");
  assert_int_equal (count_lines (again.err), 1);
  assert_contains (again.out, "1 measured again, 0 were already; verdicts changed: 0; left out: 1");
  assert_true (g_remove (path) == 0);
  g_auto (Run) missing = run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, NULL);
  assert_int_equal (missing.status, 65);
  assert_contains (missing.err, "its picture is missing");
}

/* Without a card of the tool there are no limits to judge it by. */
static void
cards_come_from_files_or_the_archive (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  g_autofree char *text = NULL;
  open_shop (fixture, "cards", &shop);
  measure_many (fixture, &shop, 1);
  g_auto (Run) without = run ("remeasure", "--archive", shop.archive, NULL);
  assert_int_equal (without.status, 1);
  assert_contains (without.err, "1 left out: no card of tool QT-D-0007 in the archive");
  g_autofree char *other = write_card (fixture, "cards-other.tool", "");
  g_autofree char *other_text =
    g_strdup ("[tool]\nid = QT-D-0008\nkind = twist-drill\ndiameter_mm = 10\n");
  assert_true (g_file_set_contents (other, other_text, -1, NULL));
  g_auto (Run) not_there = run ("remeasure", "--archive", shop.archive, "--cards", other, NULL);
  assert_int_equal (not_there.status, 1);
  assert_contains (not_there.err, "no card of tool QT-D-0007 among --cards");
  /* As the bench page keeps what was changed there. */
  set_card (&shop, STEEP);
  g_autofree char *path = g_build_filename (shop.cards, "drill.tool", NULL);
  assert_true (g_file_get_contents (path, &text, NULL, NULL));
  json_t *after = json_string (text);
  const WsEventWords words = {
    WS_EVENT_CARD, "QT-D-0007", "Q. Quill", NULL, "steeper", NULL, after
  };
  WsArchive *archive = ws_archive_open (shop.archive, WS_ARCHIVE_WRITE, NULL);
  assert_true (wsi_event_add (archive, &words, NULL));
  ws_archive_free (archive);
  json_decref (after);
  g_auto (Run) again = run ("remeasure", "--archive", shop.archive, NULL);
  assert_int_equal (again.status, 0);
  assert_contains (again.out, "accept -> reject");
}

/* ---- Shards
 * --------------------------------------------------------------------------------------- */

static guint
number_before (const char *text, const char *words)
{
  const char *at = strstr (text, words);
  assert_non_null (at);
  while (at > text && g_ascii_isdigit (at[-1]))
    at--;
  return (guint)g_ascii_strtoull (at, NULL, 10);
}

static GPid
start (const Shop *shop, const char *shard, const char *reason, int *out)
{
  const char *const call[] = { g_getenv ("WHETSIGHT"),
                               "remeasure",
                               "--archive",
                               shop->archive,
                               "--cards",
                               shop->cards,
                               "--shard",
                               shard,
                               "--jobs",
                               "1",
                               "--reason",
                               reason,
                               NULL };
  GPid pid;
  assert_true (g_spawn_async_with_pipes (NULL, (char **)call, NULL, G_SPAWN_DO_NOT_REAP_CHILD, NULL,
                                         NULL, &pid, NULL, out, NULL, NULL));
  return pid;
}

static guint
end (GPid pid, int out)
{
  char text[4096] = "";
  gsize n = 0;
  ssize_t more;
  int status;
  while (n < sizeof text - 1 && (more = read (out, text + n, sizeof text - 1 - n)) > 0)
    n += (gsize)more;
  close (out);
  waitpid (pid, &status, 0);
  assert_int_equal (status, 0);
  return number_before (text, " measured again");
}

static void
shards_are_all_and_none_twice (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  guint n = 0;
  open_shop (fixture, "shards", &shop);
  measure_many (fixture, &shop, MANY);
  for (guint i = 1; i <= 3; i++)
  {
    int out;
    g_autofree char *shard = g_strdup_printf ("%u/3", i);
    const GPid pid = start (&shop, shard, "shards", &out);
    n += end (pid, out);
  }
  assert_int_equal (n, MANY);
  assert_int_equal (count_rows (shop.archive).n_again, MANY);
}

/* By mistake: what one did the other doesn't, and what both did is there once. */
static void
two_at_one_shard_make_no_doubles (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  int out[3];
  GPid pids[3];
  guint n = 0;
  open_shop (fixture, "two", &shop);
  measure_many (fixture, &shop, MANY);
  for (gsize i = 0; i < G_N_ELEMENTS (pids); i++)
    pids[i] = start (&shop, "1/1", "two", &out[i]);
  for (gsize i = 0; i < G_N_ELEMENTS (pids); i++)
    n += end (pids[i], out[i]);
  assert_int_equal (n, MANY);
  assert_int_equal (count_rows (shop.archive).n_again, MANY);
  expect_verified (shop.archive);
}

/* Killed as soon as some are there, it goes on where it was. */
static void
killed_it_goes_on (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Shop) shop = { 0 };
  guint before = 0;
  int out;
  open_shop (fixture, "killed", &shop);
  measure_many (fixture, &shop, MANY);
  const GPid pid = start (&shop, "1/1", "killed", &out);
  while (before < 2)
  {
    before = count_rows (shop.archive).n_again;
    g_usleep (2000);
  }
  kill (pid, SIGKILL);
  waitpid (pid, NULL, 0);
  close (out);
  before = count_rows (shop.archive).n_again;
  assert_in_range (before, 2, MANY - 1);
  const GPid second = start (&shop, "1/1", "killed", &out);
  assert_int_equal (end (second, out), MANY - before);
  const Count count = count_rows (shop.archive);
  assert_int_equal (count.n_again, MANY);
  assert_int_equal (count.n_same, MANY);
  expect_verified (shop.archive);
}

static void
wrong_calls_are_refused (void **state)
{
  const Fixture *fixture = *state;
  static const char *const shards[] = { "0/4", "5/4", "1", "/4", "1/", "1/4x", "-1/4", "a/b", "" };
  g_auto (Shop) shop = { 0 };
  g_autofree char *nowhere = file_in (fixture, "nowhere");
  open_shop (fixture, "wrong", &shop);
  measure_many (fixture, &shop, 1);
  for (gsize i = 0; i < G_N_ELEMENTS (shards); i++)
  {
    g_auto (Run) refused = run ("remeasure", "--archive", shop.archive, "--shard", shards[i], NULL);
    assert_int_equal (refused.status, 64);
    assert_contains (refused.err, "expected which of how many");
  }
  g_auto (Run) no_archive = run ("remeasure", "--archive", nowhere, NULL);
  assert_int_equal (no_archive.status, 66);
  assert_false (g_file_test (nowhere, G_FILE_TEST_EXISTS));
  g_auto (Run) none = run ("remeasure", NULL);
  assert_int_equal (none.status, 64);
  g_auto (Run) no_reason =
    run ("remeasure", "--archive", shop.archive, "--cards", shop.cards, "--reason", " ", NULL);
  assert_int_equal (no_reason.status, 64);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (records_come_out_as_they_were),
    cmocka_unit_test (what_is_no_picture_stays_none),
    cmocka_unit_test (what_was_a_picture_is_not_called_none),
    cmocka_unit_test (what_records_round_is_told),
    cmocka_unit_test (calibrations_are_those_of_then),
    cmocka_unit_test (new_limits_change_verdicts),
    cmocka_unit_test (altered_pictures_are_told),
    cmocka_unit_test (cards_come_from_files_or_the_archive),
    cmocka_unit_test (shards_are_all_and_none_twice),
    cmocka_unit_test (two_at_one_shard_make_no_doubles),
    cmocka_unit_test (killed_it_goes_on),
    cmocka_unit_test (wrong_calls_are_refused),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
