/*
 * Verbs of the program on an archive that benches share: each works as on a folder, or says in one
 * line why not.
 */
#include "plant_for_tests.h"

/* "SHARED" stands for the archive's address, "NEW" for a folder that isn't there yet. */
typedef struct
{
  const char *words[12];
  int status;
  const char *out, *err; /* what is said, or NULL */
} Call;

static const Call calls[] = {
  { { "archive", "list", "SHARED" }, 0, "id-5", NULL },
  { { "archive", "list", "SHARED", "--quantity", "point_angle_deg", "--above", "121.5" },
    0,
    "122.060 ± 0.050",
    NULL },
  { { "archive", "list", "SHARED", "--tool", "QT-?-0002" }, 0, "id-2", NULL },
  { { "archive", "show", "SHARED", "id-1" }, 0, "QT-D-0001", NULL },
  { { "archive", "tools", "SHARED" }, 0, "QT-D-0003", NULL },
  { { "archive", "table", "SHARED", "--by", "grinder" }, 0, "R. Vane", NULL },
  { { "archive", "history", "SHARED", "--tool", "QT-D-0001" }, 0, "1 picture", NULL },
  { { "trend", "--archive", "SHARED", "--kind", "twist-drill", "--quantity", "point_angle_deg" },
    0,
    "5 values",
    NULL },
  { { "archive", "export", "SHARED", "--format", "csv" }, 0, "id-1", NULL },
  { { "archive", "release", "SHARED", "id-4", "--as", "Q. Quill", "--reason", "for roughing" },
    0,
    "release of id-4",
    NULL },
  { { "archive", "seal", "SHARED" }, 0, "whetsight-seal/1 20", NULL },
  { { "archive", "verify", "SHARED" }, 0, "all as written", NULL },
  { { "archive", "show", "SHARED", "id-4" }, 0, "RELEASED AGAINST THE VERDICT", NULL },
  { { "archive", "backup", "SHARED", "NEW" }, 64, NULL, "pg_dump" },
  { { "archive", "restore", "NEW", "SHARED" }, 64, NULL, "pg_dump" },
  { { "archive", "bundle", "SHARED", "NEW" }, 64, NULL, "archive sync" },
  { { "archive", "clear", "SHARED" }, 64, NULL, "nothing is removed" },
  { { "archive", "make", "SHARED" }, 64, NULL, "--pictures" },
  { { "archive", "make", "NEW", "--pictures", "NEW" }, 64, NULL, "postgresql://" },
};

static void
fill_shared (const Plant *plant)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) archive = ws_archive_open (plant->centre, WS_ARCHIVE_WRITE, &error);
  assert_non_null (archive);
  for (int i = 1; i <= N_ROWS; i++)
    store_row (archive, i, NULL);
}

static void
check_call (const Plant *plant, const Call *call)
{
  g_autofree char *new = beside (plant->aside, "new");
  const char *words[G_N_ELEMENTS (call->words) + 1] = { NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (call->words) && call->words[i] != NULL; i++)
    words[i] = g_str_equal (call->words[i], "SHARED") ? plant->centre
               : g_str_equal (call->words[i], "NEW")  ? new
                                                      : call->words[i];
  g_auto (Run) done = run (words[0], words[1], words[2], words[3], words[4], words[5], words[6],
                           words[7], words[8], words[9], NULL);
  if (done.status != call->status)
    print_error ("%s %s: %s\n", words[0], words[1], done.err);
  assert_int_equal (done.status, call->status);
  if (call->out != NULL)
    assert_contains (done.out, call->out);
  if (call->err == NULL)
    return;
  assert_contains (done.err, call->err);
  const char *end = strchr (done.err, '\n');
  assert_true (end != NULL && end[1] == '\0');
  assert_false (g_file_test (new, G_FILE_TEST_EXISTS));
}

static void
test_each_verb (void **state)
{
  const Plant *plant = *state;
  if (plant->server == NULL)
    skip_for ("SKIP: PostgreSQL 15's server isn't installed, or WHETSIGHT isn't set");
  fill_shared (plant);
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
    check_call (plant, &calls[i]);
}

static void
test_exported_and_imported (void **state)
{
  const Plant *plant = *state;
  if (plant->server == NULL)
    skip_for ("SKIP: PostgreSQL 15's server isn't installed, or WHETSIGHT isn't set");
  g_autofree char *lines = beside (plant->aside, "lines");
  g_auto (Run) out = run ("archive", "export", plant->benches[0].folder, "--format", "jsonl",
                          "--output", lines, NULL);
  g_auto (Run) in = run ("archive", "import", plant->centre, lines, NULL);
  assert_int_equal (out.status, 0);
  assert_int_equal (in.status, 0);
  assert_contains (in.out, "5 imported");
  g_auto (Run) twice = run ("archive", "import", plant->centre, lines, NULL);
  assert_contains (twice.out, "0 imported, 5 there already");
  g_auto (Run) back = run ("archive", "list", plant->centre, "--json", NULL);
  g_auto (Run) here = run ("archive", "list", plant->benches[0].folder, "--json", NULL);
  assert_string_equal (back.out, here.out);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_each_verb, set_up_plant, tear_down_plant),
    cmocka_unit_test_setup_teardown (test_exported_and_imported, set_up_plant, tear_down_plant),
  };
  return cmocka_run_group_tests (tests, start_server, stop_server);
}
