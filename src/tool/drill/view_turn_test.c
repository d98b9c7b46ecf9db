#include "tool/drill/view_turn.h"

#include "edge/testing.h"

#include "base/geometry.h"

#define RADIUS 200.0
#define COT 0.6
#define N_TRIALS 600000

/* By docs/methods: the flank's fall near the chisel edge, and turns before anything is known. */
#define SLOPE 0.26
#define SLOPE_SD 0.07
#define TURN_SD wsi_radians (5)

/* How well a gap of this size tells the lip's end, and the fall of the flank's rim. */
#define LIP_END_SD wsi_radians (1)
#define RIM_SLOPE 0.145

/* Distance / R from the theoretical corner to the rim of a lip that ends at `angle`. */
static double
gap_of (double angle)
{
  double least = HUGE_VAL;
  for (double f = 0; f <= angle; f += angle / 1000)
    least =
      MIN (least, hypot (1 - cos (f), RIM_SLOPE * (sin (angle) - sin (f)) - COT * (1 - cos (f))));
  return least;
}

static WsViewTurn
estimated (double drop, double lip_end, const WsWeb *web)
{
  g_autoptr (WsOutline) outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  WsDrillPoint point = { .outline = outline, .radius = RADIUS };
  point.apex = wsi_point (0, drop * RADIUS);
  for (guint k = 0; k < 2; k++)
  {
    point.lips[k].half_angle = atan (1 / COT);
    point.lips[k].corner_gap = gap_of (lip_end) * RADIUS;
  }
  return wsi_view_turn_estimate (&point, web);
}

/* Drills are drawn at random, and those kept that look like the one seen: their turns' mean and
 * standard deviation. */
static void
drawn (double drop, double lip_end, const WsWeb *web, double *mean, double *deviation)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (31);
  double n = 0, sum = 0, squares = 0;
  for (guint i = 0; i < N_TRIALS; i++)
  {
    const double half = web->half + web->u * random_normal (random);
    const double turn = TURN_SD * random_normal (random);
    const double slope = SLOPE + SLOPE_SD * random_normal (random);
    if (half < 0.06 || half > 0.32 || fabs (half * (slope - sin (turn) * COT) - drop) > 0.002)
      continue;
    const double off = (asin (half) + turn - lip_end) / LIP_END_SD;
    const double weight = exp (-0.5 * off * off);
    n += weight;
    sum += weight * turn;
    squares += weight * turn * turn;
  }
  *mean = sum / n;
  *deviation = sqrt (squares / n - *mean * *mean);
}

static void
the_turn_is_that_of_drills_that_look_alike (void **state)
{
  (void)state;
  const WsWeb web = { .half = 0.13, .u = 0.03, .by_card = TRUE };
  const double drops[] = { 0.02, 0.032, 0.05 }, ends_deg[] = { 7, 8.5, 10.5 };
  for (guint k = 0; k < G_N_ELEMENTS (drops); k++)
  {
    double mean, deviation;
    drawn (drops[k], wsi_radians (ends_deg[k]), &web, &mean, &deviation);
    const WsViewTurn turn = estimated (drops[k], wsi_radians (ends_deg[k]), &web);
    assert_near (turn.mean, mean, wsi_radians (0.05));
    assert_near (turn.deviation, deviation, 0.04 * deviation);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_turn_is_that_of_drills_that_look_alike),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
