/*
 * Pictures of an archive that many benches share, measured again by several nodes, each of which
 * writes to a chain of its own.
 */
#include "plant_for_tests.h"

#include <whetsight/remeasure.h>

#define NODES 4
#define SCALE "0.0142302632"

/* Free with g_free(). */
static char *
address_for (const Plant *plant, guint node)
{
  return g_strdup_printf ("%s&application_name=node%%20%u", plant->centre, node);
}

static WsArchive *
open_centre (const char *address, WsArchiveMode mode)
{
  g_autoptr (GError) error = NULL;
  WsArchive *archive = ws_archive_open (address, mode, &error);
  if (archive == NULL)
    fail_msg ("%s", error->message);
  return archive;
}

/* What measuring row i of store_row() again gives. */
static char *
result_of (int i)
{
  g_autofree char *bytes = g_strdup_printf ("picture %d", i);
  g_autofree char *tool = g_strdup_printf ("QT-D-000%d", i);
  g_autoptr (GBytes) original = g_bytes_new (bytes, strlen (bytes));
  const Sample sample = { "again", "2026-11-29T10:00:00Z", tool, "accept", 117, original };
  return sample_record (&sample);
}

typedef struct
{
  char *address;
  guint n_added, n_failed;
} Node;

static gpointer
add_all (gpointer data)
{
  Node *node = data;
  g_autoptr (WsArchive) archive = ws_archive_open (node->address, WS_ARCHIVE_WRITE, NULL);
  char settings[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex ("settings", 8, settings);
  for (int i = 1; i <= N_ROWS; i++)
  {
    gboolean added = FALSE;
    g_autofree char *id = g_strdup_printf ("id-%d", i), *record = result_of (i);
    g_autoptr (GError) error = NULL;
    const WsRemeasured again = { record, settings, "Q. Quill", "race", NULL };
    if (ws_archive_add_remeasured (archive, id, &again, &added, &error))
      node->n_added += added ? 1 : 0;
    else
      node->n_failed++;
    if (error != NULL)
      print_error ("%s\n", error->message);
  }
  return NULL;
}

static void
no_doubles_from_several_chains (void **state)
{
  const Plant *plant = *state;
  GThread *threads[NODES];
  Node nodes[NODES];
  guint n_added = 0;
  need_server (plant);
  WsArchive *archive = open_centre (plant->centre, WS_ARCHIVE_WRITE);
  for (int i = 1; i <= N_ROWS; i++)
    store_row (archive, i, NULL);
  ws_archive_free (archive);
  for (guint i = 0; i < NODES; i++)
    nodes[i] = (Node){ address_for (plant, i), 0, 0 };
  for (guint i = 0; i < NODES; i++)
    threads[i] = g_thread_new (NULL, add_all, &nodes[i]);
  for (guint i = 0; i < NODES; i++)
  {
    g_thread_join (threads[i]);
    assert_int_equal (nodes[i].n_failed, 0);
    n_added += nodes[i].n_added;
    g_free (nodes[i].address);
  }
  assert_int_equal (n_added, N_ROWS);
  g_autofree char *notes =
    ask_centre (plant, "SELECT count (*), count (DISTINCT about) FROM inspection WHERE kind = "
                       "'measured-again'");
  assert_string_equal (notes, "5|5\n");
  g_auto (Run) verified = run ("archive", "verify", plant->centre, NULL);
  assert_int_equal (verified.status, 0);
}

/* As two nodes of a job array do it. */
static void
shards_from_two_nodes (void **state)
{
  const Plant *plant = *state;
  static const char picture[] = WS_SOURCE_DIR "/images/good-118.png";
  static const char card[] = WS_SOURCE_DIR "/images/QT-D-0118.tool";
  need_server (plant);
  g_autofree char *first = address_for (plant, 1), *second = address_for (plant, 2);
  g_auto (Run) measured = run ("measure", "--json", "--tool", card, "--scale", SCALE, "--archive",
                               plant->centre, picture, picture, picture, picture, NULL);
  assert_int_equal (measured.status, 0);
  g_auto (Run) one = run ("remeasure", "--archive", first, "--cards", card, "--reason", "nodes",
                          "--shard", "1/2", NULL);
  assert_int_equal (one.status, 0);
  g_auto (Run) other = run ("remeasure", "--archive", second, "--cards", card, "--reason", "nodes",
                            "--shard", "2/2", NULL);
  assert_int_equal (other.status, 0);
  g_auto (Run) all =
    run ("remeasure", "--archive", second, "--cards", card, "--reason", "nodes", NULL);
  assert_string_equal (all.out, "0 measured again, 4 were already; verdicts changed: 0\n");
  g_auto (Run) compared = run ("archive", "compare", plant->centre, NULL);
  assert_int_equal (compared.status, 0);
  assert_contains (compared.out, "4 inspections, 4 of them measured again; verdicts changed: 0");
  g_auto (Run) list = run ("archive", "list", plant->centre, NULL);
  assert_contains (list.out, "MEASURED AGAIN");
  assert_contains (list.out, "Tool QT-D-0118 is fit");
  g_auto (Run) verified = run ("archive", "verify", plant->centre, NULL);
  assert_int_equal (verified.status, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (no_doubles_from_several_chains, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (shards_from_two_nodes, set_up_plant, tear_down_plant),
  };
  return cmocka_run_group_tests (tests, start_server, stop_server);
}
