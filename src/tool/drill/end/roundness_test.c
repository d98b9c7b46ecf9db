#include "tool/drill/end/roundness.h"

#include "base/testing.h"
#include "result/build.h"

#define SIZE 700
#define RADIUS 250.0
#define CORNER_DEG 25.0

static const WsOptics bare = WS_OPTICS_UNKNOWN;

/* Radius of a drill's outline, in radii, so many degrees behind a corner: the margin, the cleared
 * body, and the margin again, deeper down. */
static double
outline (double behind)
{
  if (behind < 8)
    return 1;
  return behind < 75 ? 0.97 : 1 - 0.02 * wsi_radians (behind);
}

/* Lit on dark ground, in a picture whose pixels are squeezed and whose rows are shifted. */
static WsImage *
drawn (double across, double skew)
{
  WsImage *image = ws_image_new (SIZE, SIZE, NULL);
  for (guint y = 0; y < SIZE; y++)
    for (guint x = 0; x < SIZE; x++)
    {
      const double v = y - 0.5 * SIZE, u = (x - 0.5 * SIZE - skew * v) / across;
      double behind = fmod (wsi_degrees (atan2 (v, u)) - CORNER_DEG + 720, 180);
      const double inside = RADIUS * outline (behind) - hypot (u, v);
      image->linear[(gsize)y * SIZE + x] =
        (guint16)(WS_IMAGE_FULL_SCALE * (0.02 + 0.4 * CLAMP (0.5 + 0.5 * inside, 0, 1)));
    }
  return image;
}

static WsPoint
seen (double angle, double across, double skew)
{
  const double v = RADIUS * sin (angle);
  return wsi_point (0.5 * SIZE + across * RADIUS * cos (angle) + skew * v, 0.5 * SIZE + v);
}

static gboolean
check (double across, double skew, WsEndRoundness *rim, WsPictureShape *shape, WsResult *result)
{
  g_autoptr (WsImage) image = drawn (across, skew);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  WsEndPoint point = { .centre = { 0.5 * SIZE, 0.5 * SIZE } };
  for (guint k = 0; k < 2; k++)
  {
    const double angle = wsi_radians (CORNER_DEG) + k * G_PI;
    point.lips[k].corner = seen (angle, across, skew);
    point.lips[k].inward = wsi_point (-sin (angle), cos (angle));
  }
  point.radius = wsi_point_distance (point.lips[0].corner, point.centre);
  assert_true (wsi_end_roundness (&picture, &point, rim));
  return wsi_end_round_check (&picture, &point, shape, result);
}

static void
a_round_rim_bounds_the_shape (void **state)
{
  (void)state;
  WsEndRoundness rim;
  WsPictureShape shape = { 0.05, 0.05 };
  g_autoptr (WsResult) result = wsi_result_new ("drill-end");
  assert_true (check (1, 0, &rim, &shape, result));
  assert_near (rim.along, 0, 0.002);
  assert_near (rim.aslant, 0, 0.002);
  assert_true (rim.u_along > 0.005 && rim.u_along < 0.01);
  assert_true (shape.u_aspect < 0.02 && shape.u_skew < 0.02);
}

/* Half of what the pixels are off, either way. */
static void
squeezed_and_skewed_rims_are_told (void **state)
{
  (void)state;
  static const struct
  {
    double across, skew;
  } cases[] = { { 0.935, 0 }, { 1.065, 0 }, { 1, 0.068 }, { 1, -0.068 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    WsEndRoundness rim;
    WsPictureShape shape = { 0.05, 0.05 };
    g_autoptr (WsResult) result = wsi_result_new ("drill-end");
    assert_false (check (cases[i].across, cases[i].skew, &rim, &shape, result));
    assert_int_equal (result->reason, WS_RETAKE_PIXELS_NOT_SQUARE);
    assert_near (rim.along, 0.5 * (cases[i].across - 1), 0.005);
    assert_near (rim.aslant, 0.5 * cases[i].skew, 0.005);
  }
}

/* Too little for a refusal, and yet more than noise is said to allow. */
static void
a_rim_speaks_against_the_noise (void **state)
{
  (void)state;
  WsEndRoundness rim;
  WsPictureShape shape = { 0.005, 0.005 };
  g_autoptr (WsResult) result = wsi_result_new ("drill-end");
  assert_true (check (0.96, 0, &rim, &shape, result));
  assert_true (shape.u_aspect > 0.04);
  assert_true (shape.u_skew < 0.006);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_round_rim_bounds_the_shape),
    cmocka_unit_test (squeezed_and_skewed_rims_are_told),
    cmocka_unit_test (a_rim_speaks_against_the_noise),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
