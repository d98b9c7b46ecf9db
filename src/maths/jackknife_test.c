#include "maths/jackknife.h"

#include "base/testing.h"

/* Of a mean over blocks of one point each, the jackknife is exactly the standard deviation of the
 * mean (Efron & Tibshirani, 1993, 11.2). */
static void
of_a_mean_it_is_the_usual_standard_error (void **state)
{
  static const double values[WS_JACKKNIFE_BLOCKS] = { 52, 104, 146, 10, 50, 31, 40, 27, 46, 94 };
  double without[WS_JACKKNIFE_BLOCKS], sum = 0, squares = 0;
  (void)state;
  for (guint i = 0; i < WS_JACKKNIFE_BLOCKS; i++)
    sum += values[i];
  for (guint i = 0; i < WS_JACKKNIFE_BLOCKS; i++)
  {
    without[i] = (sum - values[i]) / (WS_JACKKNIFE_BLOCKS - 1);
    squares += (values[i] - sum / WS_JACKKNIFE_BLOCKS) * (values[i] - sum / WS_JACKKNIFE_BLOCKS);
  }
  assert_near (wsi_jackknife_u (without), sqrt (squares / (WS_JACKKNIFE_BLOCKS - 1.0) / 10.0),
               1e-12);
}

static void
blocks_cover_all_points_once (void **state)
{
  (void)state;
  for (guint n = 0; n < 200; n++)
  {
    assert_int_equal (wsi_jackknife_from (n, 0), 0);
    assert_int_equal (wsi_jackknife_from (n, WS_JACKKNIFE_BLOCKS), n);
    for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
    {
      const guint size = wsi_jackknife_from (n, b + 1) - wsi_jackknife_from (n, b);
      assert_true (size == n / 10 || size == n / 10 + 1);
    }
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (of_a_mean_it_is_the_usual_standard_error),
    cmocka_unit_test (blocks_cover_all_points_once),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
