#include "edge/notch.h"

#include "base/testing.h"

#include <math.h>

#define BLUR 2.0

/* Depth of sides that fall by `fall` a px down to 10 px, blurred along the edge in closed form: the
 * mean of |x + s z|. */
static double
blurred_depth (double fall, double x)
{
  const double t = x / BLUR, density = exp (-0.5 * t * t) / sqrt (2 * G_PI);
  return 10 - fall * BLUR * (2 * density + t * erf (t / sqrt (2.0)));
}

static double
lift_of (double (*depth_at) (double x), double blur)
{
  WsNotch notch;
  wsi_notch_begin (&notch, depth_at (0), blur);
  for (int i = -80; i <= 80; i++)
    wsi_notch_add (&notch, 0.5 * i, depth_at (0.5 * i));
  return wsi_notch_lift (&notch);
}

static double
even_sides (double x)
{
  return blurred_depth (0.6, x);
}

static double
no_notch (double x)
{
  return 0 * x;
}

/* Four times as steep below the half of its depth. */
static double
sharp_bottom (double x)
{
  return fabs (x) < 3 ? blurred_depth (1.6, x) : 5.2 - 0.4 * (fabs (x) - 3);
}

static void
test_even_sides (void **state)
{
  (void)state;
  /* What the closed form takes from the bottom. */
  assert_near (lift_of (even_sides, BLUR), 10 - even_sides (0), 0.1);
}

static void
test_a_bottom_that_is_sharper_than_its_opening (void **state)
{
  (void)state;
  assert_near (lift_of (sharp_bottom, BLUR), 10 - sharp_bottom (0), 0.4);
}

static void
test_nothing (void **state)
{
  (void)state;
  assert_near (lift_of (no_notch, BLUR), 0, 1e-9);
  WsNotch notch;
  wsi_notch_begin (&notch, 3, BLUR);
  assert_near (wsi_notch_lift (&notch), 0, 1e-9);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_even_sides),
    cmocka_unit_test (test_a_bottom_that_is_sharper_than_its_opening),
    cmocka_unit_test (test_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
