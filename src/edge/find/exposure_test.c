/* Where the ground is clipped, and faces nearly as light as it. */
#include "edge/testing.h"

#include "edge/find/exposure.h"
#include "edge/find/shelf.h"

#define SIDE 200

/* Dark left of x = 80; `face` px beside it are `face_light`, the rest is ground, all with noise;
 * 0 to 1, cut at full scale. */
typedef struct
{
  double ground, noise;
  double slope; /* of the ground over the height */
  guint face;
  double face_light;
} Look;

static double
light_of (const Look *look, guint x, guint y)
{
  if (x < 80)
    return 0.1;
  if (x < 80 + look->face)
    return look->face_light;
  return look->ground + look->slope * ((double)y / SIDE - 0.5);
}

static WsImage *
picture (const Look *look)
{
  WsImage *image = ws_image_new (SIDE, SIDE, NULL);
  GRand *random = g_rand_new_with_seed (7);
  for (guint y = 0; y < SIDE; y++)
    for (guint x = 0; x < SIDE; x++)
    {
      const double light = light_of (look, x, y) + look->noise * random_normal (random);
      image->linear[y * SIDE + x] = (guint16)(CLAMP (light, 0, 1) * WS_IMAGE_FULL_SCALE);
    }
  g_rand_free (random);
  image->tone = WS_TONE_LINEAR;
  return image;
}

/* Up along x = `at`, the ground to the right. */
static WsOutline *
outline_at (double at)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->spacing_px = 1;
  outline->blur_px = 1;
  for (guint y = 0; y < SIDE; y++)
  {
    const WsEdgePoint p = { .x = at, .y = SIDE - 1 - y, .nx = 1, .step = 0.8f };
    g_array_append_val (outline->points, p);
  }
  return outline;
}

static double
clipped (const Look *look)
{
  g_autoptr (WsImage) image = picture (look);
  g_autoptr (WsOutline) outline = outline_at (79.5);
  return wsi_exposure_clipped (image, outline);
}

static void
test_noise_may_touch_full_scale (void **state)
{
  (void)state;
  const Look near_white = { .ground = 0.96, .noise = 0.02 };
  assert_near (clipped (&near_white), 0, 1e-9);
  const Look white = { .ground = 1.1, .noise = 0.02 };
  assert_near (clipped (&white), 1, 1e-9);
}

/* 0.9 to 1.1 over the height: beyond full scale in half of it. */
static void
test_a_clipped_stretch_is_told (void **state)
{
  (void)state;
  const Look uneven = { .ground = 1, .noise = 0.005, .slope = 0.2 };
  assert_near (clipped (&uneven), 0.5, 0.13);
}

static void
test_the_picture_s_border_ends_the_search (void **state)
{
  (void)state;
  const Look plain = { .ground = 0.8, .noise = 0.01 };
  g_autoptr (WsImage) image = picture (&plain);
  g_autoptr (WsOutline) outline = outline_at (SIDE - 1);
  assert_near (wsi_exposure_clipped (image, outline), 0, 1e-9);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  assert_near (wsi_shelf_share (image, &segment, outline), 0, 1e-9);
}

/* The half-way border runs inside a face of three quarters of the ground's light; raised, it runs
 * outside. */
static void
test_a_light_face_is_taken_in (void **state)
{
  (void)state;
  const Look look = { .ground = 0.8, .noise = 0.01, .face = 12, .face_light = 0.55 };
  g_autoptr (WsImage) image = picture (&look);
  WsSegment segment = { .tool_level = 0.1, .ground_level = 0.8, .threshold = { { 0.45 } } };
  g_autoptr (WsOutline) inner = outline_at (79.5), outer = outline_at (91.5);
  assert_true (wsi_shelf_share (image, &segment, inner) > 0.95);
  assert_near (wsi_shelf_share (image, &segment, outer), 0, 1e-9);
  wsi_shelf_take_in (&segment);
  assert_near (wsi_level_at (&segment.threshold, image, 100, 100), 0.625, 1e-9);
}

static void
test_which_outline_is_clean (void **state)
{
  (void)state;
  g_autoptr (WsOutline) outline = outline_at (79.5);
  assert_near (wsi_shelf_unclean (outline), 0, 1e-9);
  for (guint i = 0; i < SIDE / 4; i++)
    g_array_index (outline->points, WsEdgePoint, i).noise = 0.2f;
  assert_near (wsi_shelf_unclean (outline), 0.25, 1e-9);
}

static void
test_only_a_lit_tool_has_faces (void **state)
{
  (void)state;
  const WsSegment panel = { .tool_is_dark = TRUE, .tool_level = 0.05, .ground_level = 0.8 };
  const WsSegment lit = { .tool_is_dark = TRUE, .tool_level = 0.25, .ground_level = 0.8 };
  assert_false (wsi_shelf_may_be (&panel));
  assert_true (wsi_shelf_may_be (&lit));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_noise_may_touch_full_scale),
    cmocka_unit_test (test_a_clipped_stretch_is_told),
    cmocka_unit_test (test_the_picture_s_border_ends_the_search),
    cmocka_unit_test (test_a_light_face_is_taken_in),
    cmocka_unit_test (test_which_outline_is_clean),
    cmocka_unit_test (test_only_a_lit_tool_has_faces),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
