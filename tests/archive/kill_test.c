/*
 * Writers to a folder that are killed and whose disk fails.
 */
#include "killing_for_tests.h"

static void
kill_writers (gboolean faults, guint32 seed)
{
  Scene scene = { .rand = g_rand_new_with_seed (seed), .next_seed = 1000 * seed, .faults = faults };
  scene.folder = g_dir_make_tmp ("whetsight-kill-XXXXXX", NULL);
  scene.ids = g_ptr_array_new_with_free_func (g_free);
  kill_at_random (&scene, n_kills (DEFAULT_KILLS));
  check_archive (&scene);
  sample_remove_tree (scene.folder);
  g_free (scene.folder);
  g_ptr_array_unref (scene.ids);
  g_rand_free (scene.rand);
}

static void
test_kills (void **state)
{
  (void)state;
  kill_writers (FALSE, 1);
}

static void
test_kills_and_faults (void **state)
{
  (void)state;
  if (g_getenv ("WHETSIGHT_FAULT") == NULL)
  {
    print_message ("skipped: WHETSIGHT_FAULT doesn't name the library that makes writes fail\n");
    skip ();
  }
  kill_writers (TRUE, 2);
}

static int
run_all (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_kills),
    cmocka_unit_test (test_kills_and_faults),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}

int
main (int argc, char **argv)
{
  return kill_or_write (argc, argv, run_all);
}
