/*
 * The program where memory is short: one line says so, whatever size a file claims.
 */
#include "cli/program_for_tests.h"

/* Sanitizers take address space without end. */
#if defined(__SANITIZE_ADDRESS__)
#define HAS_SANITIZER 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define HAS_SANITIZER 1
#endif
#endif
#ifndef HAS_SANITIZER
#define HAS_SANITIZER 0
#endif

#define NOT_LOADED 127 /* the loader's own status */

/* As run(), with so much address space. */
static Run
run_within (guint megabytes, const char *card, const char *picture)
{
  g_autofree char *script = g_strdup_printf (
    "ulimit -v %u; exec \"$WHETSIGHT\" measure --tool \"$0\" \"$1\"", megabytes * 1000);
  const char *const call[] = { "/bin/sh", "-c", script, card, picture, NULL };
  Run run = { .status = -1 };
  GError *error = NULL;
  int wait_status;
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_DEFAULT, NULL, NULL, &run.out,
                             &run.err, &wait_status, &error));
  if (g_spawn_check_wait_status (wait_status, &error))
    run.status = 0;
  else if (error->domain == G_SPAWN_EXIT_ERROR)
    run.status = error->code;
  g_clear_error (&error);
  return run;
}

/* A JPEG of 9900 x 9900 px by its own word, and no data.  Free with g_free(). */
static char *
great_claim (const Fixture *fixture)
{
  static const guint8 bytes[] = {
    0xFF, 0xD8,                                                  /* start */
    0xFF, 0xC0, 0, 11, 8, 0x26, 0xAC, 0x26, 0xAC, 1, 1, 0x11, 0, /* frame */
    0xFF, 0xDA, 0, 8,  1, 1,    0,    0,    63,   0,             /* scan */
  };
  char *path = file_in (fixture, "great.jpg");
  assert_true (g_file_set_contents (path, (const char *)bytes, sizeof bytes, NULL));
  return path;
}

static void
test_a_great_claim (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *card = write_card (fixture, "a.tool", "");
  g_autofree char *great = great_claim (fixture);
  g_auto (Run) free_run = run ("measure", "--tool", card, great, NULL);
  assert_int_equal (free_run.status, 65);
  assert_contains (free_run.err, "damaged JPEG");
  if (HAS_SANITIZER) /* which takes address space without end */
    return;
  g_auto (Run) tight = run_within (90, card, great);
  assert_int_equal (tight.status, 65);
  assert_contains (tight.err, "no memory for a picture of 9900 x 9900 pixels");
  assert_int_equal (count_lines (tight.err), 1);
}

/* From none to enough: it is measured, or told in one line that it can't be; the program never
 * breaks off. */
static void
test_less_and_less (void **state)
{
  const Fixture *fixture = *state;
  if (HAS_SANITIZER)
    skip_for ("sanitizers take address space without end");
  g_autofree char *card = write_card (fixture, "a.tool", "");
  guint measured = 0, refused = 0;
  for (guint megabytes = 60; megabytes <= 240; megabytes += 12)
  {
    g_auto (Run) tight = run_within (megabytes, card, fixture->good);
    if (tight.status == NOT_LOADED)
      continue;
    if (tight.status != 65)
    {
      assert_true (tight.status >= 0 && tight.status <= 3);
      measured++;
      continue;
    }
    assert_contains (tight.err, "no memory");
    assert_int_equal (count_lines (tight.err), 1);
    refused++;
  }
  assert_true (measured > 0);
  assert_true (refused > 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_a_great_claim, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_less_and_less, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
