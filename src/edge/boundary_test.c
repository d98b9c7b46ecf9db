#include "edge/boundary.h"

#include "base/geometry.h"
#include "base/testing.h"

#define W 120
#define H 90

/* A dark tool in light, with a hole; it comes in from the lower border when `held`. */
static WsImage *
make_picture (gboolean held)
{
  WsImage *image = ws_image_new (W, H, NULL);
  for (guint y = 0; y < H; y++)
    for (guint x = 0; x < W; x++)
    {
      const gboolean tool = x >= 30 && x < 80 && y >= 20 && y < (held ? H : 70u);
      const gboolean hole = x >= 50 && x < 60 && y >= 40 && y < 45;
      image->linear[y * W + x] = tool && !hole ? 3000 : 50000;
    }
  return image;
}

static WsSegment
segment_of (double area)
{
  return (WsSegment){
    .tool_is_dark = TRUE, .area_px = area, .inside = { 40, 42 }, .threshold = wsi_field_even (0.4)
  };
}

static void
the_tool_is_walked_round_once (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture (FALSE);
  const WsSegment segment = segment_of (50 * 50 - 50);
  g_autoptr (GArray) cracks = wsi_boundary_trace (image, &segment);
  assert_non_null (cracks);
  assert_int_equal (cracks->len, 4 * 50);
  for (guint i = 0; i < cracks->len; i++)
  {
    const WsCrack *c = &g_array_index (cracks, WsCrack, i);
    const int gx = c->x + c->dx, gy = c->y + c->dy;
    assert_true (c->x >= 30 && c->x < 80 && c->y >= 20 && c->y < 70);
    assert_false (gx >= 30 && gx < 80 && gy >= 20 && gy < 70);
    assert_false (wsi_crack_touches_frame (image, c));
  }
}

/* The tool on the right-hand side, normals toward the ground. */
static void
normals_point_to_the_ground (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture (FALSE);
  const WsSegment segment = segment_of (50 * 50 - 50);
  g_autoptr (GArray) cracks = wsi_boundary_trace (image, &segment);
  guint straight = 0;
  for (guint i = 0; i < cracks->len; i++)
  {
    const WsCrack *c = &g_array_index (cracks, WsCrack, i);
    const WsPoint normal = wsi_boundary_normal (cracks, i);
    assert_near (wsi_point_length (normal), 1, 1e-12);
    assert_true (normal.x * c->dx + normal.y * c->dy > 0);
    straight += fabs (normal.x * c->dx + normal.y * c->dy - 1) < 1e-9;
    assert_true (wsi_crack_cosine (c, normal) >= 0.5);
  }
  assert_true (straight >= 4 * (50 - 2 * 9));
}

static void
the_frame_is_told (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture (TRUE);
  const WsSegment segment = segment_of (50 * 70 - 50);
  g_autoptr (GArray) cracks = wsi_boundary_trace (image, &segment);
  guint frame = 0, found = 0;
  for (guint i = 0; i < cracks->len; i++)
    frame += wsi_crack_touches_frame (image, &g_array_index (cracks, WsCrack, i)) ? 1 : 0;
  assert_int_equal (frame, 50);
  for (guint i = 0; i < cracks->len; i++)
    if (wsi_boundary_find_crossing (image, cracks, i, 1, &found))
    {
      assert_int_equal (found, i);
      assert_false (wsi_crack_touches_frame (image, &g_array_index (cracks, WsCrack, i)));
    }
}

static void
a_hole_is_walked_round (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture (FALSE);
  const WsSegment segment = segment_of (50 * 50 - 50);
  g_autoptr (GArray) cracks = wsi_boundary_trace_hole (image, &segment, wsi_point (52, 42));
  assert_non_null (cracks);
  assert_int_equal (cracks->len, 2 * (10 + 5));
  assert_null (wsi_boundary_trace_hole (image, &segment, wsi_point (-3, 42)));
  assert_null (wsi_boundary_trace_hole (image, &segment, wsi_point (100, 42)));
}

/* Where a mask says what the tool is, light doesn't. */
static void
a_mask_is_followed_instead (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_picture (FALSE);
  g_autofree guint8 *mask = g_new0 (guint8, W * H);
  for (guint y = 35; y < 55; y++)
    for (guint x = 35; x < 55; x++)
      mask[y * W + x] = 1;
  WsSegment segment = segment_of (400);
  segment.mask = mask;
  g_autoptr (GArray) cracks = wsi_boundary_trace (image, &segment);
  assert_non_null (cracks);
  assert_int_equal (cracks->len, 4 * 20);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_tool_is_walked_round_once),
    cmocka_unit_test (normals_point_to_the_ground),
    cmocka_unit_test (the_frame_is_told),
    cmocka_unit_test (a_hole_is_walked_round),
    cmocka_unit_test (a_mask_is_followed_instead),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
