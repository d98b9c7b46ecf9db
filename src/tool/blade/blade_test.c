#include "base/testing.h"

#include "base/geometry.h"
#include "tool/blade/blade.h"
#include "tool/blade/corner.h"
#include "tool/blade/edge_form.h"

#define BLUR 1.0

static WsOutline *
outline_new (void)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->spacing_px = 1;
  outline->blur_px = outline->blur_min_px = outline->blur_max_px = BLUR;
  outline->noise = 0.01;
  return outline;
}

/* A point each px from `a` up to before `b`, the tool on the right-hand side. */
static void
walk (WsOutline *outline, WsPoint a, WsPoint b, gboolean on_frame)
{
  const WsPoint run = wsi_point_sub (b, a);
  const double length = wsi_point_length (run);
  for (guint i = 0; i < (guint)length; i++)
  {
    const WsPoint at = wsi_point_along (a, i / length, run);
    const WsEdgePoint p = { .x = at.x,
                            .y = at.y,
                            .nx = (float)(run.y / length),
                            .ny = (float)(-run.x / length),
                            .noise = 0.01f,
                            .step = 0.7f,
                            .on_frame = on_frame };
    g_array_append_val (outline->points, p);
  }
}

static WsPoint
turned (WsPoint p, double angle)
{
  const double c = cos (angle), s = sin (angle);
  return wsi_point (600 + c * p.x - s * p.y, 600 + s * p.x + c * p.y);
}

/* Up at angle 0: sides at 2 and 1 degrees, the front rising to the right by 8 degrees. */
static WsOutline *
blade_at (double angle)
{
  const double half = 150, low = 400, rise = half * tan (wsi_radians (8));
  const WsPoint corners[] = {
    { -half + (low - rise) * tan (wsi_radians (2)), low },
    { -half, rise },
    { half, -rise },
    { half - (low + rise) * tan (wsi_radians (1)), low },
  };
  WsOutline *outline = outline_new ();
  for (guint i = 0; i < 4; i++)
    walk (outline, turned (corners[i], angle), turned (corners[(i + 1) % 4], angle), i == 3);
  return outline;
}

/* Left stays left, wherever the blade comes from. */
static void
test_finds_edges_at_any_angle (void **state)
{
  (void)state;
  for (double angle = 0; angle < 360; angle += 37)
  {
    g_autoptr (WsOutline) outline = blade_at (wsi_radians (angle));
    WsRefusal refusal = { 0 };
    g_autoptr (WsBlade) blade = wsi_blade_locate (outline, WS_BLADE_STRAIGHT, &refusal);
    assert_non_null (blade);
    /* Sharper where the corner leads: 90 degrees less rake and clearance, and so on. */
    assert_near (wsi_degrees (blade->corners[0].interior), 90 + 8 - 2, 1e-3);
    assert_near (wsi_degrees (blade->corners[1].interior), 90 - 8 - 1, 1e-3);
    const WsPoint left =
      turned (wsi_point (-150, 150 * tan (wsi_radians (8))), wsi_radians (angle));
    assert_near (wsi_point_distance (blade->corners[0].place, left), 0, 1e-3);
    assert_near (blade->corners[0].radius, 0, 1e-9);
  }
}

/* Where the picture's border cuts the blade its blur is cut, too, over three deviations and more:
 * nothing there is used. */
static void
test_leaves_out_where_the_border_cuts (void **state)
{
  (void)state;
  g_autoptr (WsOutline) outline = blade_at (0);
  WsRefusal refusal = { 0 };
  g_autoptr (WsBlade) blade = wsi_blade_locate (outline, WS_BLADE_STRAIGHT, &refusal);
  assert_non_null (blade);
  const double border = turned (wsi_point (0, 400), 0).y;
  double nearest = HUGE_VAL;
  for (guint i = 0; i < blade->path->len; i++)
    nearest = fmin (nearest, border - g_array_index (blade->path, WsEdgePoint, i).y);
  assert_near (nearest, 3 + 3 * BLUR, 1.5);
}

static void
expect_refusal (WsOutline *outline, WsRetake expected)
{
  WsRefusal refusal = { 0 };
  g_autoptr (WsBlade) blade = wsi_blade_locate (outline, WS_BLADE_STRAIGHT, &refusal);
  assert_null (blade);
  assert_int_equal (refusal.reason, expected);
  assert_true (*refusal.detail != '\0');
}

static void
test_refuses_what_is_no_blade (void **state)
{
  (void)state;
  const WsPoint wedge[] = { { 100, 700 }, { 300, 100 }, { 500, 700 } };
  g_autoptr (WsOutline) point = outline_new ();
  for (guint i = 0; i < 3; i++)
    walk (point, wedge[i], wedge[(i + 1) % 3], i == 2);
  expect_refusal (point, WS_RETAKE_WRONG_VIEW);

  const WsPoint bar[] = { { 300, 900 }, { 300, 0 }, { 500, 0 }, { 500, 900 } };
  g_autoptr (WsOutline) across = outline_new ();
  for (guint i = 0; i < 4; i++)
    walk (across, bar[i], bar[(i + 1) % 4], i == 1 || i == 3);
  expect_refusal (across, WS_RETAKE_CUT_BY_FRAME);

  g_autoptr (WsOutline) loose = outline_new ();
  for (guint i = 0; i < 4; i++)
    walk (loose, bar[i], bar[(i + 1) % 4], FALSE);
  expect_refusal (loose, WS_RETAKE_WRONG_VIEW);
}

/* A blade 300 wide, up, with a lug that stands out of its left side by `out`, from the front back.
 */
static WsOutline *
with_lug (double out, double back)
{
  const WsPoint corners[] = {
    { 200, 900 },       { 200, 200 + back }, { 200 - out, 200 + back },
    { 200 - out, 200 }, { 500, 200 },        { 500, 900 },
  };
  WsOutline *outline = outline_new ();
  for (guint i = 0; i < 6; i++)
    walk (outline, corners[i], corners[(i + 1) % 6], i == 5);
  return outline;
}

static void
test_refuses_what_stands_out_of_its_sides (void **state)
{
  (void)state;
  g_autoptr (WsOutline) head = with_lug (80, 60), drop = with_lug (25, 60),
                        crumb = with_lug (25, 12), burr = with_lug (8, 60);
  expect_refusal (head, WS_RETAKE_WRONG_VIEW);
  expect_refusal (drop, WS_RETAKE_DIRTY_EDGE);
  WsRefusal refusal = { 0 };
  g_autoptr (WsBlade) with_crumb = wsi_blade_locate (crumb, WS_BLADE_STRAIGHT, &refusal);
  assert_non_null (with_crumb);
  assert_near (with_crumb->corners[0].place.x, 200, 0.1);
  g_autoptr (WsBlade) with_burr = wsi_blade_locate (burr, WS_BLADE_STRAIGHT, &refusal);
  assert_non_null (with_burr);
}

/* A square corner blurred by s keeps half its light where Phi (t / sqrt 2)^2 = 1 / 2, t the place
 * on the bisector in blurs: t = 0.7707 (derived; Phi^-1 (0.70711) = 0.54495). */
static void
test_gap_of_a_sharp_corner (void **state)
{
  (void)state;
  assert_near (wsi_blade_corner_gap (0.5 * G_PI, 0, 1.0), 0.7707, 0.002);
  assert_near (wsi_blade_corner_gap (0.5 * G_PI, 0, 2.0), 2 * 0.7707, 0.004);
}

/* An arc wide against the blur looks s^2 / (2 r) tighter (derived, first order). */
static void
test_gap_of_a_round_corner (void **state)
{
  (void)state;
  const double r = 40, s = 1.5, interior = wsi_radians (80);
  const double sharp = r * (1 / sin (0.5 * interior) - 1);
  assert_near (wsi_blade_corner_gap (interior, r, s), sharp + s * s / (2 * r), 0.003);
}

/* The arc touches both lines; the outline between its ends is the arc's, blur left out. */
static void
test_radius_of_a_round_corner (void **state)
{
  (void)state;
  const double r = 30;
  g_autoptr (WsOutline) outline = outline_new ();
  walk (outline, wsi_point (200, 900), wsi_point (200, 300 + r), FALSE);
  for (guint i = 0; i < 47; i++)
  {
    const double a = 0.5 * G_PI * i / 47;
    const WsPoint p = wsi_point (200 + r - r * cos (a), 300 + r - r * sin (a));
    walk (outline, p, wsi_point_along (p, 1.01, wsi_point (sin (a), -cos (a))), FALSE);
  }
  walk (outline, wsi_point (200 + r, 300), wsi_point (500, 310), FALSE);
  walk (outline, wsi_point (500, 310), wsi_point (500, 900), FALSE);
  walk (outline, wsi_point (500, 900), wsi_point (200, 900), TRUE);
  WsRefusal refusal = { 0 };
  g_autoptr (WsBlade) blade = wsi_blade_locate (outline, WS_BLADE_STRAIGHT, &refusal);
  assert_non_null (blade);
  assert_near (blade->corners[0].radius, r, 0.05 * r);
  assert_true (blade->corners[1].radius < 1.0);
}

/* Along x with noise of 0.1 px, the mean of `together` neighbours' own. */
static double
noise_of_median (guint together, double most)
{
  WsBladeEdge edge = { .points = g_array_new (FALSE, FALSE, sizeof (WsPoint)) };
  edge.line = (WsLineFit){ .direction = { 1, 0 }, .scatter = 0.1 };
  GRand *random = g_rand_new_with_seed (11);
  double recent[8] = { 0 };
  for (guint i = 0; i < 2000; i++)
  {
    recent[i % together] = g_rand_double_range (random, -1, 1);
    double sum = 0;
    for (guint k = 0; k < together; k++)
      sum += recent[k];
    const WsPoint p = { i, 0.1 * sum * sqrt (3.0 / together) };
    g_array_append_val (edge.points, p);
  }
  edge.used = g_malloc (edge.points->len);
  memset (edge.used, 1, edge.points->len);
  double noise;
  wsi_blade_straightness (&edge, most, &noise);
  g_rand_free (random);
  g_array_unref (edge.points);
  g_free (edge.used);
  return noise;
}

/* Halved down to the gap: the radius is one that has it. */
static void
test_radius_has_its_gap (void **state)
{
  (void)state;
  for (double interior = 0.6; interior < 2.6; interior += 0.4)
    for (double blur = 0.5; blur < 4; blur *= 2)
      for (double more = 1.01; more < 30; more *= 1.7)
      {
        const double gap = more * wsi_blade_corner_gap (interior, 0, blur);
        const double radius = wsi_blade_corner_radius (interior, gap, blur);
        assert_true (radius > 0);
        assert_near (wsi_blade_corner_gap (interior, radius, blur), gap, 1e-5 * gap);
      }
  assert_near (wsi_blade_corner_radius (1.5, 0.99 * wsi_blade_corner_gap (1.5, 0, 1), 1), 0, 0);
}

/* sqrt (pi / 10) of a point's, of five independent ones; means of three neighbours share 2/3 and
 * 1/3, which makes the mean of five sqrt (1 + 2 (4/5 2/3 + 3/5 1/3)) times as uncertain. */
static void
test_noise_that_goes_on (void **state)
{
  (void)state;
  assert_near (noise_of_median (1, 0.2), sqrt (G_PI / 10) * 0.1, 0.002);
  assert_near (noise_of_median (3, 0.2), sqrt (G_PI / 10 * (1 + 2 * (8.0 / 15 + 1.0 / 5))) * 0.1,
               0.004);
  /* What scatters more than noise can is form. */
  assert_near (noise_of_median (3, 0.05), sqrt (G_PI / 10) * 0.05, 1e-9);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_finds_edges_at_any_angle),
    cmocka_unit_test (test_leaves_out_where_the_border_cuts),
    cmocka_unit_test (test_refuses_what_is_no_blade),
    cmocka_unit_test (test_refuses_what_stands_out_of_its_sides),
    cmocka_unit_test (test_gap_of_a_sharp_corner),
    cmocka_unit_test (test_gap_of_a_round_corner),
    cmocka_unit_test (test_radius_of_a_round_corner),
    cmocka_unit_test (test_radius_has_its_gap),
    cmocka_unit_test (test_noise_that_goes_on),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
