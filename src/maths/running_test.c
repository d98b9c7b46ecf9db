#include "maths/running.h"

#include "base/testing.h"
#include "maths/stats.h"

#define N 101
#define HALF 4

/* As each window's own says, with values that are alike, and some that aren't there. */
static void
medians_are_those_of_each_window (void **state)
{
  double values[N], medians[N];
  guint32 random = 7;
  (void)state;
  for (guint i = 0; i < N; i++)
  {
    random = random * 1664525u + 1013904223u;
    values[i] = (double)(random >> 28) - 7;
    if ((random >> 20) % 5 == 0)
      values[i] = random >> 31 ? (double)NAN : HUGE_VAL;
  }
  for (guint least = 1; least <= 2 * HALF + 1; least += 4)
  {
    wsi_running_medians (values, N, HALF, least, medians);
    for (guint i = 0; i < N; i++)
    {
      double window[2 * HALF + 1];
      guint n = 0;
      for (guint k = 0; k <= 2 * HALF; k++)
        if (isfinite (values[(i + N + k - HALF) % N]))
          window[n++] = values[(i + N + k - HALF) % N];
      if (n < least)
        assert_true (isnan (medians[i]));
      else
        assert_true (medians[i] == wsi_median (window, n));
    }
  }
}

static void
a_ring_has_no_ends (void **state)
{
  const double values[] = { 9, 1, 1, 1, 1, 1, 9, 9 };
  double medians[8];
  (void)state;
  wsi_running_medians (values, 8, 1, 1, medians);
  assert_true (medians[0] == 9 && medians[1] == 1 && medians[6] == 9 && medians[7] == 9);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (medians_are_those_of_each_window),
    cmocka_unit_test (a_ring_has_no_ends),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
