#include "edge/find/classes.h"

#include "base/testing.h"

#define W 900
#define H 600

/* Ground of 0.6, to the right a fifth darker; a tool of 0.05 between columns 300 and 420 from row
 * 200 down, and a smaller one beside it. */
static WsImage *
make_picture (void)
{
  WsImage *image = ws_image_new (W, H, NULL);
  for (guint y = 0; y < H; y++)
    for (guint x = 0; x < W; x++)
    {
      const gboolean tool =
        (x >= 300 && x < 420 && y >= 200) || (x >= 600 && x < 640 && y >= 300 && y < 400);
      const double light = tool ? 0.05 : 0.6 * (1 - 0.2 * x / W);
      image->linear[(gsize)y * W + x] = (guint16)(light * WS_IMAGE_FULL_SCALE);
    }
  return image;
}

static void
a_picture_is_made_smaller_by_means (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture ();
  g_auto (WsReduced) reduced = { 0 };
  wsi_reduced_init (image, &reduced);
  assert_int_equal (reduced.factor, 2);
  assert_int_equal (reduced.width, W / 2);
  assert_int_equal (reduced.height, H / 2);
  assert_near ((double)reduced.light[0], 0.6, 0.001);
  assert_near ((double)reduced.light[250 * reduced.width + 180], 0.05, 0.001);
  const double split = wsi_reduced_split (&reduced);
  assert_true (split > 0.06 && split < 0.47);
  /* 120 of the 3000 px of the border are the tool's. */
  assert_near (wsi_reduced_bright_border (&reduced, split), 1 - 120.0 / 3000, 0.002);
}

static void
split (const WsImage *image, WsReduced *reduced, WsField *threshold)
{
  wsi_reduced_init (image, reduced);
  *threshold = wsi_field_even (0.3);
  wsi_classes_split (reduced, threshold, TRUE);
}

static void
the_ground_is_fitted_beside_the_tool (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture ();
  g_auto (WsReduced) reduced = { 0 };
  WsField threshold;
  split (image, &reduced, &threshold);
  assert_true (wsi_reduced_is_near_other (&reduced, 149, 200, 0));
  assert_false (wsi_reduced_is_near_other (&reduced, 140, 200, 0));
  const WsField ground = wsi_classes_fit_ground (&reduced, 0.5);
  for (double u = 0; u <= 1; u += 0.25)
    assert_near (wsi_field_at (&ground, u, 0.5), 0.6 * (1 - 0.2 * u), 0.001);
  WsLevels levels = { 0, 0, 0 };
  wsi_classes_find_levels (&reduced, &levels);
  assert_near (levels.tool, 0.05, 0.001);
  assert_near (levels.tool_spread, 0, 0.001);
  assert_true (levels.ground > 0.48 && levels.ground < 0.6);
}

static void
objects_come_largest_first (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture ();
  g_auto (WsReduced) reduced = { 0 };
  WsField threshold;
  WsObject objects[2];
  split (image, &reduced, &threshold);
  wsi_classes_find_objects (&reduced, objects);
  assert_near (objects[0].area, 60 * 200, 0);
  assert_near (objects[1].area, 20 * 50, 0);
  assert_int_equal (reduced.label[250 * reduced.width + 180], objects[0].label);
  assert_int_equal (reduced.label[180 * reduced.width + 310], objects[1].label);
  const WsPoint deepest = wsi_classes_deepest (&reduced, objects[0].label);
  assert_near (deepest.x, 360, 4);
  assert_true (deepest.y > 255 && deepest.y < 545);
  assert_true (wsi_classes_sharpness (&reduced, objects[0].label, 0.5) > 0.9);
}

static void
clipped_ground_is_counted (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture ();
  for (guint y = 0; y < H / 4; y++)
    for (guint x = 0; x < W; x++)
      image->linear[(gsize)y * W + x] = WS_IMAGE_FULL_SCALE;
  g_auto (WsReduced) reduced = { 0 };
  WsField threshold;
  split (image, &reduced, &threshold);
  const double ground = (double)W * H - 120.0 * 400 - 40.0 * 100;
  assert_near (wsi_classes_clipped_share (image, &reduced), W * H / 4.0 / ground, 0.005);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_picture_is_made_smaller_by_means),
    cmocka_unit_test (the_ground_is_fitted_beside_the_tool),
    cmocka_unit_test (objects_come_largest_first),
    cmocka_unit_test (clipped_ground_is_counted),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
