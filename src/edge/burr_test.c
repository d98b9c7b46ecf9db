#include "edge/burr.h"

#include "base/testing.h"

#include <math.h>

#define N 200
#define BLUR 1.0
#define SIGMA 0.02

/* A ragged edge over 60 px of 200, 2 px high. */
static void
make_wire (WsBurrPlace places[N])
{
  for (guint i = 0; i < N; i++)
  {
    const gboolean is_on = i >= 70 && i <= 130;
    const double torn = 1.4 + 0.6 * sin (0.5 * i) * sin (0.13 * i);
    places[i] = (WsBurrPlace){ i, is_on ? torn : 0 };
  }
}

static void
tells_height_and_length (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_wire (places);
  const WsBurr burr = wsi_burr_read (places, N, BLUR, SIGMA, 0);
  assert_near (burr.height, 2.0, 2 * burr.u_height);
  assert_near (burr.length, 60, 1e-9);
  assert_near (burr.from, 70, 1e-9);
  assert_int_equal (burr.shape, WS_BURR_WIRE);
}

/* Low beyond its end, it goes on for 12 px to where the edge falls off; where it fades before that,
 * it ends. */
static void
may_end_at_the_corner_that_it_reaches (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_wire (places);
  for (guint i = 131; i < N; i++)
    places[i].height = i > 142 ? 142.5 - i : 0;
  const WsBurr faded = wsi_burr_read (places, N, BLUR, SIGMA, 0);
  for (guint i = 131; i <= 142; i++)
    places[i].height = 0.15;
  const WsBurr burr = wsi_burr_read (places, N, BLUR, SIGMA, 0);
  assert_near (burr.length, 60, 1e-9);
  assert_true (faded.u_length < 2);
  assert_true (2 * burr.u_length > 12);
}

/* A worn corner begins under it: before the line shows it falls off. */
static void
tells_where_the_edge_falls_off_under_it (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_wire (places);
  assert_false (wsi_burr_read (places, N, BLUR, SIGMA, 0).falls_off);
  for (guint i = 131; i < N; i++)
    places[i].height = i == 131 ? 0.01 : 131 - (double)i;
  assert_true (wsi_burr_read (places, N, BLUR, SIGMA, 0).falls_off);
  for (guint i = 131; i < N; i++)
    places[i].height = i < 150 ? 0 : 150 - (double)i;
  assert_false (wsi_burr_read (places, N, BLUR, SIGMA, 0).falls_off);
}

/* Blur leaves a quarter of a tooth that breaks off at the corner; where the wire edge is lower
 * there than before, none hides. */
static void
a_tooth_at_the_corner_may_be_higher (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_wire (places);
  for (guint i = 150; i < N; i++)
    places[i].height = i > 180 ? 180.5 - i : i > 176 ? 0.8 : 0;
  const WsBurr burr = wsi_burr_read (places, N, BLUR, SIGMA, 0);
  assert_true (burr.height + burr.higher > 3);
  for (guint i = 131; i <= 180; i++)
    places[i].height = 0.8;
  assert_near (wsi_burr_read (places, N, BLUR, SIGMA, 0).higher, 0, 0);
}

static void
make_drop (WsBurrPlace places[N], double height, double half)
{
  for (guint i = 0; i < N; i++)
  {
    const double t = (i - 100.0) / half;
    places[i] = (WsBurrPlace){ i, fabs (t) < 1 ? height * (1 - t * t) : 0 };
  }
}

static void
takes_no_drop_for_a_wire_edge (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_drop (places, 10, 20);
  assert_int_equal (wsi_burr_read (places, N, BLUR, SIGMA, 0).shape, WS_BURR_ROUND);
  make_drop (places, 6, 25);
  /* Where the line may be off, it is less sure where it ends. */
  assert_true (wsi_burr_read (places, N, BLUR, SIGMA, 1.2).u_length >
               wsi_burr_read (places, N, BLUR, SIGMA, 0).u_length + 1);
  assert_int_equal (wsi_burr_read (places, N, BLUR, SIGMA, 0).shape, WS_BURR_UNCLEAR);
  make_drop (places, 0.5, 3);
  assert_int_equal (wsi_burr_read (places, N, BLUR, SIGMA, 0).shape, WS_BURR_UNCLEAR);
}

/* Round grains, so high, about `middle`. */
static void
add_grain (WsBurrPlace places[N], double middle, double height)
{
  for (guint i = 0; i < N; i++)
  {
    const double t = (i - middle) / height;
    if (fabs (t) < 1)
      places[i].height = height * sqrt (1 - t * t);
  }
}

/* From first to last they are thirty times as long as high. */
static void
takes_no_row_of_grains_for_a_wire_edge (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_drop (places, 0, 1);
  add_grain (places, 40, 5);
  add_grain (places, 90, 4);
  add_grain (places, 170, 3);
  assert_int_equal (wsi_burr_read (places, N, BLUR, SIGMA, 0).shape, WS_BURR_ROUND);
}

static void
tells_no_length_with_a_grain_beside (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  make_wire (places);
  assert_false (wsi_burr_read (places, N, BLUR, SIGMA, 0).is_beside_round);
  add_grain (places, 170, 1.8);
  const WsBurr burr = wsi_burr_read (places, N, BLUR, SIGMA, 0);
  assert_int_equal (burr.shape, WS_BURR_WIRE);
  assert_true (burr.is_beside_round);
}

static void
tells_nothing_of_nothing (void **state)
{
  (void)state;
  WsBurrPlace places[N];
  for (guint i = 0; i < N; i++)
    places[i] = (WsBurrPlace){ i, -0.01 };
  assert_near (wsi_burr_read (places, N, BLUR, SIGMA, 0).height, 0, 0);
  assert_near (wsi_burr_read (places, 0, BLUR, SIGMA, 0).height, 0, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (tells_height_and_length),
    cmocka_unit_test (may_end_at_the_corner_that_it_reaches),
    cmocka_unit_test (tells_where_the_edge_falls_off_under_it),
    cmocka_unit_test (a_tooth_at_the_corner_may_be_higher),
    cmocka_unit_test (takes_no_drop_for_a_wire_edge),
    cmocka_unit_test (takes_no_row_of_grains_for_a_wire_edge),
    cmocka_unit_test (tells_no_length_with_a_grain_beside),
    cmocka_unit_test (tells_nothing_of_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
