#include "tool/centre_height.h"

#include "base/testing.h"

#define DEGREES (180 / G_PI)

/* No published worked numbers were found; these follow from the plane geometry by hand. */
static void
turn_follows_the_geometry (void **state)
{
  (void)state;
  assert_near (wsi_centre_height_turn (25, 0.5) * DEGREES, 2.292, 5e-4);
  assert_near (wsi_centre_height_turn (25, 1.0) * DEGREES, 4.589, 5e-4);
  assert_near (wsi_centre_height_turn (10, 0.2) * DEGREES, 2.292, 5e-4);
  assert_near (wsi_centre_height_turn (50, 1.0) * DEGREES, 2.292, 5e-4);
  assert_near (wsi_centre_height_turn (12, -0.2) * DEGREES, -1.910, 5e-4);
}

static void
an_edge_that_misses_has_no_angle (void **state)
{
  (void)state;
  assert_true (isnan (wsi_centre_height_turn (1, 0.6)));
  assert_near (wsi_centre_height_turn (1, 0.5), G_PI / 2, 1e-12);
}

static void
relief_is_used_up_at_a_small_diameter (void **state)
{
  (void)state;
  const double relief = 10 / DEGREES;
  const double diameter = wsi_centre_height_rubs_below (0.2, relief);
  assert_near (wsi_centre_height_turn (diameter, 0.2), relief, 1e-12);
  assert_near (wsi_centre_height_rubs_below (-0.2, relief), 0, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (turn_follows_the_geometry),
    cmocka_unit_test (an_edge_that_misses_has_no_angle),
    cmocka_unit_test (relief_is_used_up_at_a_small_diameter),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
