#include "edge/jag.h"

#include "base/geometry.h"
#include "edge/testing.h"

#define WIDTH 640
#define HEIGHT 480

static double
jag_of (const WsImage *image)
{
  g_auto (WsSegment) segment = wsi_segment_find (image);
  g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
  assert_non_null (outline);
  return wsi_outline_jag (outline);
}

static WsImage *
slanted_edge (double angle_deg)
{
  const double angle = wsi_radians (angle_deg);
  const SceneEdge edge = { .shape = SCENE_HALF_PLANE,
                           .x = 0.5 * WIDTH - 40 * cos (angle),
                           .y = 0.5 * HEIGHT - 40 * sin (angle),
                           .angle_deg = angle_deg };
  SceneCamera camera = plain_camera (WIDTH, HEIGHT);
  return take_picture (&edge, &camera);
}

static void
a_picture_as_taken_has_no_steps (void **state)
{
  (void)state;
  static const double angles[] = { 3, 27, 45, 71 };
  for (gsize i = 0; i < G_N_ELEMENTS (angles); i++)
  {
    g_autoptr (WsImage) image = slanted_edge (angles[i]);
    assert_true (jag_of (image) < 0.06);
  }
}

/* Every fourth row and column twice. */
static void
nearest_neighbours_make_steps (void **state)
{
  (void)state;
  static const double angles[] = { 27, 71 };
  for (gsize k = 0; k < G_N_ELEMENTS (angles); k++)
  {
    g_autoptr (WsImage) image = slanted_edge (angles[k]);
    for (guint y = HEIGHT; y-- > 0;)
      for (guint x = WIDTH; x-- > 0;)
        image->linear[(gsize)y * WIDTH + x] =
          image->linear[(gsize)(y * 4 / 5) * WIDTH + (gsize)(x * 4 / 5)];
    assert_true (jag_of (image) > 0.15);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_picture_as_taken_has_no_steps),
    cmocka_unit_test (nearest_neighbours_make_steps),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
