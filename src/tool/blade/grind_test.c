#include "base/testing.h"

#include "base/geometry.h"
#include "tool/blade/grind.h"

static void
test_too_little_rake_comes_off_the_trailing_corner (void **state)
{
  (void)state;
  const WsBladeFront front = { .width = 3.0, .rake_deg = 4.0 };
  const WsBladeGrind grind = wsi_blade_grind (&front, 7.0);
  assert_near (grind.at_leading, 0.0, 1e-12);
  /* 3 (tan 7 - tan 4), by hand: 3 (0.1227846 - 0.0699268). */
  assert_near (grind.at_trailing, 0.1585733, 1e-6);
  assert_near (grind.setback, 0.0, 1e-12);
}

static void
test_too_much_rake_comes_off_the_leading_corner (void **state)
{
  (void)state;
  const WsBladeFront front = { .width = 3.0, .rake_deg = 14.0 };
  const WsBladeGrind grind = wsi_blade_grind (&front, 11.0);
  /* 3 (tan 14 - tan 11), by hand: 3 (0.2493280 - 0.1943803). */
  assert_near (grind.at_leading, 0.1648431, 1e-6);
  assert_near (grind.at_trailing, 0.0, 1e-9);
  assert_near (grind.setback, grind.at_leading, 1e-12);
}

static void
test_a_chip_moves_the_whole_edge (void **state)
{
  (void)state;
  const WsBladeFront front = { .width = 3.0, .rake_deg = 7.0, .chip = 0.1 };
  const WsBladeGrind grind = wsi_blade_grind (&front, 7.0);
  assert_near (grind.at_leading, 0.1 / cos (wsi_radians (7.0)), 1e-9);
  assert_near (grind.at_trailing, grind.at_leading, 1e-12);
  assert_near (grind.setback, grind.at_leading, 1e-12);
}

/* At a square corner the arc of radius r ends r behind the corner, and its foremost point lies on
 * the front: grinding to the arc's end moves the tip by r. */
static void
test_a_round_square_corner_costs_its_radius (void **state)
{
  (void)state;
  const WsBladeFront front = { .width = 3.0, .rake_deg = 0.0, .radius = { 0.2, 0.0 } };
  const WsBladeGrind grind = wsi_blade_grind (&front, 0.0);
  assert_near (grind.at_leading, 0.2, 1e-9);
  assert_near (grind.setback, 0.2, 1e-9);
}

/* Nothing may be left standing: the new edge lies at or below the old one at both corners. */
static void
test_metal_is_only_taken_away (void **state)
{
  (void)state;
  for (double rake = 0.0; rake < 20.0; rake += 1.0)
    for (double target = 0.0; target < 20.0; target += 1.0)
    {
      const WsBladeFront front = { 2.4, rake, 0.03, { 1.5, 1.0 }, { 0.1, 0.2 } };
      const WsBladeGrind grind = wsi_blade_grind (&front, target);
      assert_true (grind.at_leading >= 0.03 - 1e-9 && grind.at_trailing >= 0.03 - 1e-9);
      assert_true (grind.setback <= grind.at_leading + 1e-9);
    }
}

/* Sides that fall away make the corner sharper, so its arc reaches farther: 0.2 cot 40.75 and
 * 0.2 cot 47.75, by hand.  The edge gets narrower by what comes off times the clearance's tangent.
 */
static void
test_clearance_lengthens_the_arc_and_costs_width (void **state)
{
  (void)state;
  const WsBladeFront front = {
    .width = 3.0, .rake_deg = 7.0, .clearance_deg = { 1.5, 1.5 }, .radius = { 0.2, 0.0 }
  };
  const WsBladeGrind grind = wsi_blade_grind (&front, 7.0);
  assert_near (grind.at_leading, 0.2321, 1e-4);
  assert_near (grind.width, 3.0 - 2.0 * 0.2321 * 0.026186, 1e-5);
  const WsBladeFront lagging = {
    .width = 3.0, .rake_deg = 7.0, .clearance_deg = { 1.5, 1.5 }, .radius = { 0.0, 0.2 }
  };
  assert_near (wsi_blade_grind (&lagging, 7.0).at_trailing, 0.1817, 1e-4);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_too_little_rake_comes_off_the_trailing_corner),
    cmocka_unit_test (test_too_much_rake_comes_off_the_leading_corner),
    cmocka_unit_test (test_a_chip_moves_the_whole_edge),
    cmocka_unit_test (test_a_round_square_corner_costs_its_radius),
    cmocka_unit_test (test_metal_is_only_taken_away),
    cmocka_unit_test (test_clearance_lengthens_the_arc_and_costs_width),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
