#include "base/testing.h"

#include <math.h>

#include "report/chart/plot.h"

static const WsPlot plot = {
  .x = 100, .y = 50, .width = 400, .height = 200, .symbol = 5, .n = 4, .low = -1, .high = 3
};

/* Time to the right, values up: y of a picture grows down. */
static void
values_lie_where_they_belong (void **state)
{
  (void)state;
  assert_near (wsi_plot_x (&plot, 0), 150, 1e-9);
  assert_near (wsi_plot_x (&plot, 3), 450, 1e-9);
  assert_near (wsi_plot_half (&plot), 50, 1e-9);
  const WsPlot one = { .x = 100, .width = 400, .n = 1 }, none = { .x = 100, .width = 400 };
  assert_near (wsi_plot_x (&one, 0), 300, 1e-9);
  assert_near (wsi_plot_half (&one), 200, 1e-9);
  assert_near (wsi_plot_half (&none), 200, 1e-9);
  assert_near (wsi_plot_y (&plot, 3), 50, 1e-9);
  assert_near (wsi_plot_y (&plot, -1), 250, 1e-9);
  assert_near (wsi_plot_y (&plot, 0), 200, 1e-9);
}

static void
the_range_holds_what_is_shown (void **state)
{
  (void)state;
  WsPlot wide = { .low = INFINITY, .high = -INFINITY };
  wsi_plot_include (&wide, 2);
  wsi_plot_include (&wide, 7);
  wsi_plot_include (&wide, INFINITY);
  wsi_plot_include (&wide, NAN);
  assert_near (wide.low, 2, 0);
  assert_near (wide.high, 7, 0);
  wsi_plot_leave_room (&wide);
  assert_near (wide.low, 1.6, 1e-9);
  assert_near (wide.high, 7.4, 1e-9);

  WsPlot level = { .low = 5, .high = 5 };
  wsi_plot_leave_room (&level);
  assert_near (level.low, 4.995, 1e-9);
  assert_near (level.high, 5.005, 1e-9);
  WsPlot nothing = { .low = 0, .high = 0 };
  wsi_plot_leave_room (&nothing);
  assert_near (nothing.low, -1e-6, 1e-12);
  assert_near (nothing.high, 1e-6, 1e-12);
}

static void
a_scale_has_round_steps (void **state)
{
  (void)state;
  static const double cases[][3] = { /* range, about so many steps, step */
                                     { 10, 5, 2 },    { 4, 5, 1 },   { 1, 5, 0.2 },
                                     { 27, 5, 5 },    { 40, 5, 10 }, { 0.04, 6, 0.005 },
                                     { 1300, 6, 200 }
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    const WsPlot scale = { .low = 0, .high = cases[i][0] };
    assert_near (wsi_plot_step (&scale, cases[i][1]) / cases[i][2], 1, 1e-9);
  }
  assert_int_equal (wsi_plot_places (5), 0);
  assert_int_equal (wsi_plot_places (0.2), 1);
  assert_int_equal (wsi_plot_places (0.005), 3);
  assert_int_equal (wsi_plot_places (1e-9), 6);
}

/* Of 20 values with six dates at most every fourth has one, counted from the newest. */
static void
the_newest_value_has_its_date (void **state)
{
  (void)state;
  const WsPlot many = { .n = 20 };
  guint n = 0;
  for (gsize i = 0; i < many.n; i++)
    n += wsi_plot_has_date (&many, i, 6) ? 1 : 0;
  assert_int_equal (n, 5);
  assert_true (wsi_plot_has_date (&many, 19, 6));
  assert_false (wsi_plot_has_date (&many, 18, 6));
  assert_true (wsi_plot_has_date (&many, 15, 6));
  const WsPlot few = { .n = 3 };
  for (gsize i = 0; i < few.n; i++)
    assert_true (wsi_plot_has_date (&few, i, 6));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (values_lie_where_they_belong),
    cmocka_unit_test (the_range_holds_what_is_shown),
    cmocka_unit_test (a_scale_has_round_steps),
    cmocka_unit_test (the_newest_value_has_its_date),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
