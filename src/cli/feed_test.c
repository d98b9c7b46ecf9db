/*
 * Verb `feed`, as it is called.
 */
#include "cli/program_for_tests.h"

static void
files_are_dropped (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *card = write_card (fixture, "feed.tool", "");
  g_autofree char *archive = file_in (fixture, "feed-archive");
  g_autofree char *conf = file_in (fixture, "erp.feed");
  g_autofree char *drops = file_in (fixture, "drops");
  g_auto (Run) measured =
    run ("measure", "--tool", card, "--scale", scale, "--archive", archive, fixture->good, NULL);
  assert_true (measured.status <= 2);
  assert_true (g_file_set_contents (
    conf, "[feed]\narchive = feed-archive\n[drop]\nfolder = drops\nforms = csv\n", -1, NULL));
  g_auto (Run) gone = run ("feed", conf, NULL);
  assert_int_equal (gone.status, 1);
  assert_contains (gone.err, "it is kept and tried again");
  g_mkdir (drops, 0700);
  g_auto (Run) sent = run ("feed", conf, NULL);
  assert_int_equal (sent.status, 0);
  assert_contains (sent.out, "0 assets and 1 files sent, 0 assets wait");
  g_auto (Run) again = run ("feed", conf, NULL);
  assert_int_equal (again.status, 0);
  assert_string_equal (again.out, "");
}

/* Nobody listens there: a line is said, and it waits. */
static void
an_agent_that_is_down_is_told (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *scale = scale_text ();
  g_autofree char *card = write_card (fixture, "feed.tool", "");
  g_autofree char *archive = file_in (fixture, "feed-archive");
  g_autofree char *conf = file_in (fixture, "agent.feed");
  g_auto (Run) measured =
    run ("measure", "--tool", card, "--scale", scale, "--archive", archive, fixture->good, NULL);
  assert_true (measured.status <= 2);
  assert_true (g_file_set_contents (
    conf, "[feed]\narchive = feed-archive\n[agent]\nurl = http://127.0.0.1:9\n", -1, NULL));
  g_auto (Run) down = run ("feed", conf, NULL);
  assert_true (down.status == 1 || strstr (down.err, "libcurl") != NULL);
  assert_true (down.status != 1 || strstr (down.err, "http://127.0.0.1:9: no answer") != NULL);
}

static void
wrong_calls_are_refused (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *conf = file_in (fixture, "bad.feed");
  g_auto (Run) none = run ("feed", NULL);
  assert_int_equal (none.status, 64);
  g_auto (Run) missing = run ("feed", conf, NULL);
  assert_int_equal (missing.status, 66);
  assert_true (g_file_set_contents (conf, "[feed]\narchive = x\n", -1, NULL));
  g_auto (Run) empty = run ("feed", conf, NULL);
  assert_int_equal (empty.status, 65);
  g_auto (Run) seconds = run ("feed", "--every", "-1", conf, NULL);
  assert_int_equal (seconds.status, 64);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (files_are_dropped, set_up, tear_down),
    cmocka_unit_test_setup_teardown (an_agent_that_is_down_is_told, set_up, tear_down),
    cmocka_unit_test_setup_teardown (wrong_calls_are_refused, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
