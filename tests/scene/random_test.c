#include "scene.h"
#include "scene_test.h"

#include <string.h>

static gsize
n_bytes (const SceneImage *image)
{
  return (gsize)image->width * image->height * image->channels * (image->bits / 8);
}

static void
the_same_seed_gives_the_same_picture (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneCamera camera;
  scene_random (4, SCENE_CHIP, &drill, &camera);
  SceneTruth t, u;
  g_autoptr (SceneImage) a = scene_render (&drill, &camera, &t);
  scene_random (4, SCENE_CHIP, &drill, &camera);
  g_autoptr (SceneImage) b = scene_render (&drill, &camera, &u);
  assert_int_equal (n_bytes (a), n_bytes (b));
  assert_memory_equal (a->data, b->data, n_bytes (a));
  assert_memory_equal (&t, &u, sizeof t);
  camera.seed++;
  g_autoptr (SceneImage) c = scene_render (&drill, &camera, NULL);
  assert_memory_not_equal (a->data, c->data, n_bytes (a));
}

static void
modes_have_their_fault (void **state)
{
  (void)state;
  for (guint64 seed = 0; seed < 8; seed++)
    for (int mode = 0; mode < SCENE_N_MODES; mode++)
    {
      SceneDrill drill;
      SceneCamera camera;
      SceneTruth t;
      scene_random (seed, (SceneMode)mode, &drill, &camera);
      const double D = drill.diameter;
      ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -D, &t);
      const double chip = MAX (t.chip_depth_a_mm, t.chip_depth_b_mm);
      assert_true (t.point_angle_deg > 114.0 && t.point_angle_deg < 143.0);
      assert_true ((chip > 0.01 * D) == (mode == SCENE_CHIP));
      if (mode == SCENE_UNEQUAL)
        assert_true (fabs (t.half_angle_difference_deg) > 0.4);
      if (mode == SCENE_OFFSET)
        assert_true (fabs (t.point_offset_mm) > 0.003 * D);
      if (mode == SCENE_HEIGHT)
        assert_true (fabs (t.lip_height_difference_mm) > 0.005 * D);
      scene_polygon_clear (&outline);
    }
}

/* Bright share of the picture, by the middle between its lightest and darkest code. */
static double
bright_share (const SceneImage *image)
{
  guint low = 255, high = 0, n = 0;
  for (gsize i = 0; i < n_bytes (image); i++)
  {
    low = MIN (low, image->data[i]);
    high = MAX (high, image->data[i]);
  }
  for (gsize i = 0; i < n_bytes (image); i++)
    n += image->data[i] > (low + high) / 2;
  return (double)n / (double)n_bytes (image);
}

static void
every_trap_can_be_taken (void **state)
{
  (void)state;
  const char *const *kinds = scene_trap_kinds ();
  for (guint i = 0; kinds[i] != NULL; i++)
  {
    const char *reasons = NULL;
    g_autoptr (SceneImage) image = scene_trap (kinds[i], 5, &reasons);
    assert_non_null (image);
    assert_non_null (reasons);
  }
  assert_null (scene_trap ("no such trap", 1, NULL));
}

static void
a_dark_field_turns_the_picture_over (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 10.0);
  scene_camera_init (&camera);
  scene_camera_aim (&camera, &drill, 0.3);
  g_autoptr (SceneImage) light = scene_render (&drill, &camera, NULL);
  camera.back = 0.03;
  camera.front = 0.6;
  g_autoptr (SceneImage) dark = scene_render (&drill, &camera, NULL);
  assert_near (bright_share (light) + bright_share (dark), 1.0, 0.01);
}

/* Wherever it points, the point lies in the picture and the body leaves it. */
static void
the_point_is_always_in_view (void **state)
{
  (void)state;
  for (guint64 seed = 0; seed < 300; seed++)
  {
    SceneDrill drill;
    SceneCamera c;
    scene_random (seed, SCENE_GOOD, &drill, &c);
    assert_in_range ((int)c.origin_x, 10, c.width - 10);
    assert_in_range ((int)c.origin_y, 10, c.height - 10);
    const double along = (c.origin_x - 0.5 * c.width) * sin (c.roll_deg * G_PI / 180.0) -
                         (c.origin_y - 0.5 * c.height) * cos (c.roll_deg * G_PI / 180.0);
    assert_true (along > 0.0);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_same_seed_gives_the_same_picture),
    cmocka_unit_test (modes_have_their_fault),
    cmocka_unit_test (every_trap_can_be_taken),
    cmocka_unit_test (a_dark_field_turns_the_picture_over),
    cmocka_unit_test (the_point_is_always_in_view),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
