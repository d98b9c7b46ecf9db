#include "edge/asymmetry.h"

#include "base/geometry.h"
#include "edge/testing.h"

/* A two-flute body, px: land, and a flute as deep as a third of the radius, twisted about its axis.
 */
#define RADIUS 200.0
#define RATE (0.53 / RADIUS)
#define LENGTH 900.0
#define SPACING 1.0

typedef struct
{
  double lean, skew; /* of the picture: z + lean x depth + skew x u */
  double nearness;   /* of the camera, 1 / distance, above the body's middle */
  double noise;
  double hand;
} Look;

static double
section (double angle)
{
  const double turn = fabs (remainder (angle, G_PI));
  const double flute = 0.5 * G_PI - turn; /* from the land's middle to the flute's */
  return flute < 0.6 ? RADIUS * (1 - 0.33 * 0.5 * (1 + cos (flute / 0.6 * G_PI))) : RADIUS;
}

/* The outermost point of the body's section at the height z: (u, depth). */
static WsPoint
outermost (double z, double side, double hand)
{
  WsPoint most = { 0, 0 };
  for (double a = -0.5 * G_PI; a < 0.5 * G_PI; a += 0.001)
  {
    const double at = side > 0 ? a : G_PI - a, r = section (at - hand * RATE * z);
    const WsPoint p = { r * cos (at), r * sin (at) };
    if (side * p.x > side * most.x)
      most = p;
  }
  return most;
}

static GArray *
make_body (const WsAxis *axis, const Look *look)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (7);
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (int side = -1; side <= 1; side += 2)
    for (double z = side < 0 ? 0.0 : -0.4; z > -LENGTH; z -= SPACING)
    {
      const WsPoint seen = outermost (z, side, look->hand);
      const double nearer = 1 + look->nearness * seen.y, middle = -0.5 * LENGTH;
      const double u = seen.x * nearer + look->noise * random_normal (random);
      const double height = middle + (z + look->lean * seen.y - middle) * nearer;
      const WsPoint p = wsi_axis_to_picture (axis, wsi_point (u, height + look->skew * seen.x));
      const WsEdgePoint point = { .x = p.x, .y = p.y };
      g_array_append_val (points, point);
    }
  return points;
}

static WsMirror
body_mirror (const GArray *points, const WsAxis *axis)
{
  WsMirror mirror;
  assert_true (wsi_mirror_fit ((const WsEdgePoint *)(void *)points->data, points->len, axis,
                               20.0 - LENGTH, -20.0, SPACING, &mirror));
  return mirror;
}

static WsAsymmetry
found_in (const GArray *points, const WsMirror *mirror, guint terms)
{
  WsAsymmetry found;
  assert_true (wsi_asymmetry_fit ((const WsEdgePoint *)(void *)points->data, points->len, mirror,
                                  SPACING, terms, &found));
  return found;
}

#define PARALLEL (1u << WS_ASYMMETRY_SKEW | 1u << WS_ASYMMETRY_LEAN)
#define ALL (PARALLEL | 1u << WS_ASYMMETRY_NEAR)

static const WsAxis axis = { { 700.3, 512.8 }, { 0.6, -0.8 } };

static void
lean_and_skew_are_told_apart (void **state)
{
  static const Look looks[] = {
    { .noise = 0.03, .hand = 1 },
    { .lean = 0.01, .noise = 0.03, .hand = 1 },
    { .lean = -0.03, .skew = 0.004, .noise = 0.03, .hand = -1 },
    { .skew = -0.01, .noise = 0.03, .hand = 1 },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (looks); i++)
  {
    g_autoptr (GArray) points = make_body (&axis, &looks[i]);
    const WsMirror mirror = body_mirror (points, &axis);
    const WsAsymmetry found = found_in (points, &mirror, PARALLEL);
    /* Turning the body with its hand moves its outline along the axis the other way. */
    const double lean = -looks[i].hand * looks[i].lean / RATE;
    const double u_lean = sqrt (found.covariance[WS_ASYMMETRY_LEAN][WS_ASYMMETRY_LEAN]);
    assert_near (-found.term[WS_ASYMMETRY_SKEW], looks[i].skew,
                 0.0001 + 0.01 * fabs (looks[i].skew));
    assert_near (fabs (found.term[WS_ASYMMETRY_LEAN]), fabs (lean), 0.4 + 0.02 * fabs (lean));
    assert_true (u_lean * RATE < wsi_radians (0.05));
    assert_true (found.left_px < 0.06);
  }
}

/* The other hand makes the opposite of the same lean. */
static void
a_lean_is_signed_by_the_hand (void **state)
{
  const Look right = { .lean = 0.02, .hand = 1 }, left = { .lean = 0.02, .hand = -1 };
  (void)state;
  g_autoptr (GArray) first = make_body (&axis, &right);
  g_autoptr (GArray) second = make_body (&axis, &left);
  const WsMirror mirrors[2] = { body_mirror (first, &axis), body_mirror (second, &axis) };
  const double a = found_in (first, &mirrors[0], PARALLEL).term[WS_ASYMMETRY_LEAN];
  const double b = found_in (second, &mirrors[1], PARALLEL).term[WS_ASYMMETRY_LEAN];
  assert_near (a, -b, 0.03 * fabs (a));
}

/* Both its terms are alike, and of opposite signs. */
static void
a_near_camera_is_no_skew (void **state)
{
  const Look look = { .nearness = 0.00003, .noise = 0.02, .hand = 1 };
  (void)state;
  g_autoptr (GArray) points = make_body (&axis, &look);
  const WsMirror mirror = body_mirror (points, &axis);
  const WsAsymmetry found = found_in (points, &mirror, ALL);
  const double expected = look.nearness / RATE;
  assert_near (fabs (found.term[WS_ASYMMETRY_SKEW]), expected, 0.1 * expected);
  assert_near (found.term[WS_ASYMMETRY_SKEW], -found.term[WS_ASYMMETRY_NEAR], 0.2 * expected);
}

static void
what_is_found_is_undone (void **state)
{
  const Look look = { .lean = 0.03, .skew = 0.003, .hand = 1 };
  (void)state;
  g_autoptr (GArray) points = make_body (&axis, &look);
  const WsMirror before = body_mirror (points, &axis);
  const WsAsymmetry found = found_in (points, &before, PARALLEL);
  wsi_asymmetry_undo ((WsEdgePoint *)(void *)points->data, points->len, &before, SPACING, &found);
  const WsMirror after = body_mirror (points, &axis);
  assert_true (before.spread_px > 0.1 && after.spread_px < 0.3 * before.spread_px);
}

/* Straight sides are as symmetric in any view: nothing can be told. */
static void
straight_sides_tell_nothing (void **state)
{
  (void)state;
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  for (int side = -1; side <= 1; side += 2)
    for (double z = 0; z > -LENGTH; z -= SPACING)
    {
      const WsPoint p =
        wsi_axis_to_picture (&axis, wsi_point (side * RADIUS + 0.02 * random_normal (random), z));
      const WsEdgePoint point = { .x = p.x, .y = p.y };
      g_array_append_val (points, point);
    }
  const WsMirror mirror = body_mirror (points, &axis);
  WsAsymmetry found;
  if (!wsi_asymmetry_fit ((const WsEdgePoint *)(void *)points->data, points->len, &mirror, SPACING,
                          PARALLEL, &found))
    return;
  assert_true (sqrt (found.covariance[WS_ASYMMETRY_LEAN][WS_ASYMMETRY_LEAN]) * RATE > 0.1);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lean_and_skew_are_told_apart),
    cmocka_unit_test (a_lean_is_signed_by_the_hand),
    cmocka_unit_test (a_near_camera_is_no_skew),
    cmocka_unit_test (what_is_found_is_undone),
    cmocka_unit_test (straight_sides_tell_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
