/*
 * Clearance of a cutoff blade, worked by hand.
 */
#include <whetsight/set_out.h>

#include "base/testing.h"

#include <math.h>

static const WsBladeWork brass_fitting = {
  .part_diameter = 20,
  .part_bore = 10,
  .width = 3,
  .overhang = 8,
  .height = 10,
  .side_clearance = 1.5,
  .front_relief = 10,
};

/* 5 mm deep; tan 1.5 deg = 0.0261859. */
static void
on_centre_all_relief_is_left (void **state)
{
  (void)state;
  const WsBladeClearance seen = ws_blade_clearance (&brass_fitting);
  assert_near (seen.depth, 5, 1e-12);
  assert_near (seen.narrower, 0.1309295, 1e-6);
  assert_near (seen.least_relief, 10, 1e-9);
  assert_near (seen.rubs_below, 0, 1e-12);
  assert_near (seen.spare_overhang, 3, 1e-12);
  assert_near (seen.slenderness, 0.8, 1e-12);
  assert_near (seen.bends, 0.512, 1e-12);
}

/* Half a millimetre above centre: arcsin (0.5 / 10) = 2.86598 deg less at the outside, and none is
 * left where arcsin (0.5 / r) = 10 deg, r = 0.5 / 0.1736482. */
static void
above_centre_the_heel_comes_near (void **state)
{
  (void)state;
  WsBladeWork high = brass_fitting;
  high.centre_height = 0.5;
  const WsBladeClearance seen = ws_blade_clearance (&high);
  assert_near (seen.least_relief, 10 - 2.86598, 1e-4);
  assert_near (seen.rubs_below, 2 * 0.5 / 0.1736482, 1e-4);
}

/* Below centre relief grows; sides that widen backward rub; a holder meets the part. */
static void
the_other_way_round (void **state)
{
  (void)state;
  WsBladeWork other = brass_fitting;
  other.centre_height = -0.5;
  other.side_clearance = -0.5;
  other.overhang = 4;
  other.part_bore = 0;
  const WsBladeClearance seen = ws_blade_clearance (&other);
  assert_near (seen.least_relief, 10 + 2.86598, 1e-4);
  assert_near (seen.rubs_below, 0, 1e-12);
  assert_near (seen.narrower, -0.0872687, 1e-6);
  assert_near (seen.spare_overhang, -6, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (on_centre_all_relief_is_left),
    cmocka_unit_test (above_centre_the_heel_comes_near),
    cmocka_unit_test (the_other_way_round),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
