#include "tool/drill/end/smear.h"

#include "result/build.h"
#include "tool/drill/end/point.h"

#include "tool/drill/end/painted_for_tests.h"

static const WsOptics bare = WS_OPTICS_UNKNOWN;

/* The mean of the picture along a stretch of `length` px. */
static WsImage *
moved (const WsImage *image, double length, double direction)
{
  const guint n = (guint)ceil (length) + 1;
  const double dx = length * cos (direction), dy = length * sin (direction);
  WsImage *smeared = ws_image_new (image->width, image->height, NULL);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
    {
      double sum = 0;
      for (guint k = 0; k < n; k++)
      {
        const double t = n > 1 ? (double)k / (n - 1) - 0.5 : 0;
        WsLight light;
        const WsPoint at = { CLAMP (x + t * dx, 0, image->width - 1.0),
                             CLAMP (y + t * dy, 0, image->height - 1.0) };
        wsi_sampler_at (&sampler, at, &light);
        sum += wsi_colour_xyz (light).y / n;
      }
      smeared->linear[(gsize)y * image->width + x] = (guint16)(sum * WS_IMAGE_FULL_SCALE);
    }
  return smeared;
}

/* FALSE when it is refused. */
static gboolean
check (const Painted *painted, double length, double direction, WsEndSmear *smear, WsResult *result)
{
  g_autoptr (WsImage) still = paint (painted);
  g_autoptr (WsImage) image = moved (still, length, direction);
  WsSampler sampler;
  wsi_sampler_init (&sampler, still);
  WsRefusal refusal;
  g_autofree WsEndPoint *point = wsi_end_point_locate (&sampler, &bare, &refusal);
  assert_non_null (point);
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  assert_true (wsi_end_smear (&picture, point, smear));
  return wsi_end_smear_check (&picture, point, result);
}

/* A band behind the margins and two flanks are no movement. */
static void
points_at_rest_are_measured (void **state)
{
  (void)state;
  for (guint i = 0; i < 6; i++)
  {
    Painted painted = PAINTED_POINT;
    painted.roll_deg = 17 + 60 * i;
    painted.noise = 0.004 * (i % 3);
    painted.depth = i < 3 ? 0.06 : 0.3;
    WsEndSmear smear;
    g_autoptr (WsResult) result = wsi_result_new ("drill-end");
    assert_true (check (&painted, 0, 0, &smear, result));
    assert_true (smear.most < 1.5 * smear.across);
  }
}

/* Along the lips, across them and aslant alike. */
static void
movement_is_told_whichever_way (void **state)
{
  (void)state;
  for (guint i = 0; i < 6; i++)
  {
    const Painted painted = PAINTED_POINT;
    const double direction = wsi_radians (painted.roll_deg + 30 * i);
    WsEndSmear smear;
    g_autoptr (WsResult) result = wsi_result_new ("drill-end");
    assert_false (check (&painted, 14, direction, &smear, result));
    assert_int_equal (result->reason, WS_RETAKE_MOTION_BLUR);
    assert_true (smear.most > 9 && smear.most < 17 && smear.across < 4);
  }
}

/* What moved by less than edges are wide does no harm. */
static void
little_movement_is_measured (void **state)
{
  (void)state;
  const Painted painted = PAINTED_POINT;
  WsEndSmear smear;
  g_autoptr (WsResult) result = wsi_result_new ("drill-end");
  assert_true (check (&painted, 3, 0.4, &smear, result));
}

/* On a ground of the tool's own light hardly an edge is seen. */
static void
too_little_outline_tells_nothing (void **state)
{
  (void)state;
  const Painted painted = PAINTED_POINT;
  g_autoptr (WsImage) image = paint (&painted);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  WsEndPoint point = { .centre = { 60, 60 }, .radius = 30 };
  for (guint k = 0; k < 2; k++)
  {
    point.lips[k].line.centre = point.centre;
    point.lips[k].outward = wsi_point (k == 0 ? 1 : -1, 0);
    point.lips[k].inward = wsi_point (0, k == 0 ? 1 : -1);
  }
  WsEndSmear smear;
  assert_false (wsi_end_smear (&picture, &point, &smear));
  g_autoptr (WsResult) result = wsi_result_new ("drill-end");
  assert_true (wsi_end_smear_check (&picture, &point, result));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (points_at_rest_are_measured),
    cmocka_unit_test (movement_is_told_whichever_way),
    cmocka_unit_test (little_movement_is_measured),
    cmocka_unit_test (too_little_outline_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
