/*
 * Writers to PostgreSQL that are killed, and their server, by turns.
 */
#include "killing_for_tests.h"

static void
test_kills_on_postgresql (void **state)
{
  Plant *plant = *state;
  need_server (plant);
  Scene scene = { .folder = plant->centre,
                  .plant = plant,
                  .rand = plant->rand,
                  .next_seed = 3000,
                  .ids = g_ptr_array_new_with_free_func (g_free) };
  kill_at_random (&scene, n_kills (DEFAULT_KILLS));
  check_archive (&scene);
  g_ptr_array_unref (scene.ids);
}

static int
run_all (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_kills_on_postgresql, set_up_plant, tear_down_plant),
  };
  return cmocka_run_group_tests (tests, start_server, stop_server);
}

int
main (int argc, char **argv)
{
  return kill_or_write (argc, argv, run_all);
}
