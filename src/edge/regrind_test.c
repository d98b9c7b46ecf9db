#include "edge/regrind.h"

#include "base/testing.h"

#include "base/geometry.h"

#define N 3000
#define MM_PER_PX 0.01

static const WsRegrindRules rules = {
  .mm_per_px = MM_PER_PX, .sigma = 0.15, .u_scale = 1e-4, .has_flutes = TRUE
};

/* From corner to corner in small steps, as pictures give it. */
static GArray *
polyline (const WsPoint *corners, guint n)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i + 1 < n; i++)
    for (guint k = 0; k < N / n; k++)
    {
      const WsPoint p =
        wsi_point_along (corners[i], (double)k * n / N, wsi_point_sub (corners[i + 1], corners[i]));
      g_array_append_val (points, p);
    }
  g_array_append_val (points, corners[n - 1]);
  return points;
}

/* Laid elsewhere, as another picture has it; noise that is the same each time. */
static void
move (GArray *points, double turn, WsPoint by)
{
  g_autoptr (GRand) draw = g_rand_new_with_seed (points->len);
  for (guint i = 0; i < points->len; i++)
  {
    WsPoint *p = &g_array_index (points, WsPoint, i);
    const double c = cos (turn), s = sin (turn);
    *p = wsi_point (c * p->x - s * p->y + by.x + g_rand_double_range (draw, -0.001, 0.001),
                    s * p->x + c * p->y + by.y + g_rand_double_range (draw, -0.001, 0.001));
  }
}

static GArray *
in_px (const GArray *points)
{
  GArray *px = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < points->len; i++)
  {
    const WsPoint mm = g_array_index (points, WsPoint, i);
    const WsPoint p = { mm.x / MM_PER_PX, mm.y / MM_PER_PX };
    g_array_append_val (px, p);
  }
  return px;
}

static WsRegrind *
lay (const GArray *before, const GArray *after, const char **what)
{
  g_autoptr (GArray) old = in_px (before);
  g_autoptr (GArray) new = in_px (after);
  const WsRegrindOutline outlines[] = { { (WsPoint *)(void *)old->data, old->len },
                                        { (WsPoint *)(void *)new->data, new->len } };
  return wsi_regrind_lay (&outlines[0], &outlines[1], &rules, what);
}

/* Sides that narrow toward a waist, and a point of 118 degrees whose tip lies at `front`: the
 * corner is where both meet. */
#define NARROWS 0.14 /* mm a mm */

static GArray *
waisted (double front)
{
  const double slope = 1 / tan (wsi_radians (59));
  const double half = (3 - NARROWS * (front - 1)) / (1 + NARROWS * slope);
  const WsPoint left = { -half, front + half * slope }, right = { half, front + half * slope };
  const double waist = 3 - NARROWS * 5.5;
  const WsPoint corners[] = { { -3, 14 }, { -2.95, 9 },   { -waist, 6.5 }, left,     { 0, front },
                              right,      { waist, 6.5 }, { 2.97, 9.2 },   { 3, 14 } };
  return polyline (corners, G_N_ELEMENTS (corners));
}

static void
flutes_tell_how_much_shorter (void **state)
{
  const char *what;
  g_autoptr (GArray) before = waisted (0);
  g_autoptr (GArray) after = waisted (0.4);
  (void)state;
  move (before, 0.01, wsi_point (5, 7));
  move (after, -0.02, wsi_point (-3, 1));
  g_autoptr (WsRegrind) regrind = lay (before, after, &what);
  assert_non_null (regrind);
  assert_false (regrind->is_least);
  assert_near (regrind->shorter, 0.4, fmin (regrind->U, 0.02));
  assert_near (regrind->turn, 0.03, 1e-3);
  assert_int_equal (regrind->places->len, 1);
  const WsRegrindPlace *place = &g_array_index (regrind->places, WsRegrindPlace, 0);
  assert_false (place->stands_out);
  assert_near (place->depth, 0.4 * sin (wsi_radians (59)), 0.03);
  assert_near (place->length, 2 * 3 / sin (wsi_radians (59)), 0.6);
}

/* Straight parallel sides; a notch of that depth in the front edge, whose place is told. */
static GArray *
blade (double notch)
{
  const WsPoint corners[] = { { -2, 9 },  { -2, 0 }, { -0.3, 0 }, { 0, notch },
                              { 0.3, 0 }, { 2, 0 },  { 2, 9 } };
  return polyline (corners, G_N_ELEMENTS (corners));
}

/* What was ground must at least have taken the notch out. */
static void
straight_sides_tell_the_least (void **state)
{
  const char *what;
  g_autoptr (GArray) before = blade (0.25);
  g_autoptr (GArray) after = blade (0);
  (void)state;
  move (after, 0.01, wsi_point (1, 2));
  g_autoptr (WsRegrind) regrind = lay (before, after, &what);
  assert_non_null (regrind);
  assert_true (regrind->is_least);
  assert_near (regrind->shorter, 0.25, 0.03);
}

static void
nothing_ground_is_nothing_told (void **state)
{
  const char *what;
  g_autoptr (GArray) before = waisted (0);
  g_autoptr (GArray) after = waisted (0);
  (void)state;
  move (after, -0.02, wsi_point (-3, 1));
  g_autoptr (WsRegrind) regrind = lay (before, after, &what);
  assert_non_null (regrind);
  assert_near (regrind->shorter, 0, 0.01);
  assert_int_equal (regrind->places->len, 0);
}

/* A drop on the edge after grinding. */
static void
what_stands_out_is_told_apart (void **state)
{
  const char *what;
  g_autoptr (GArray) before = waisted (0);
  g_autoptr (GArray) after = waisted (0);
  const WsPoint top = { -1.5, 1.5 / tan (wsi_radians (59)) };
  (void)state;
  for (guint i = 0; i < after->len; i++)
  {
    WsPoint *p = &g_array_index (after, WsPoint, i);
    const double far = wsi_point_distance (*p, top);
    if (far < 0.3)
      *p = wsi_point_along (*p, 0.1 * (1 - far * far / 0.09), wsi_point (-0.51, -0.86));
  }
  g_autoptr (WsRegrind) regrind = lay (before, after, &what);
  assert_non_null (regrind);
  assert_int_equal (regrind->places->len, 1);
  const WsRegrindPlace *place = &g_array_index (regrind->places, WsRegrindPlace, 0);
  assert_true (place->stands_out);
  assert_near (place->depth, 0.1, 0.01);
  assert_near (place->deepest.x, -1.55, 0.1);
}

static void
another_tool_is_refused (void **state)
{
  const char *what;
  g_autoptr (GArray) before = waisted (0);
  g_autoptr (GArray) after = blade (0);
  (void)state;
  assert_null (lay (before, after, &what));
  assert_non_null (what);
  const WsPoint few[] = { { 0, 0 }, { 1, 0 } };
  g_autoptr (GArray) nothing = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_array_append_vals (nothing, few, 2);
  assert_null (lay (before, nothing, &what));
  assert_non_null (what);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (flutes_tell_how_much_shorter),
    cmocka_unit_test (straight_sides_tell_the_least),
    cmocka_unit_test (nothing_ground_is_nothing_told),
    cmocka_unit_test (what_stands_out_is_told_apart),
    cmocka_unit_test (another_tool_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
