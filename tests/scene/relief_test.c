#include "relief.h"
#include "scene_test.h"

typedef struct
{
  SceneDrill drill;
  SceneRelief relief;
  Solid solid;
  ShadeCamera camera;
  ShadeFragment *seen;
} View;

static void
look (View *view)
{
  solid_init (&view->solid, &view->drill);
  view->camera = scene_relief_camera (&view->solid, &view->relief, view->drill.left_hand);
  g_autoptr (ShadeModel) model = shade_model_new (&view->solid, -4.0 * view->solid.radius);
  view->seen = g_new (ShadeFragment, (gsize)view->relief.width * view->relief.height);
  shade_cast (model, &view->camera, (ScenePoint){ 0.0, 0.0 }, view->seen);
}

static void
look_away (View *view)
{
  solid_clear (&view->solid);
  g_free (view->seen);
}

static ShadeRegion
region_at (const View *view, int x, int y)
{
  return (ShadeRegion)view->seen[(gsize)y * view->relief.width + (gsize)x].region;
}

/* Height at which flank gives way to margin in a column, from `about`; NAN without. */
static double
edge_in_column (const View *view, int x, int about)
{
  for (int y = about - 30; y < about + 60; y++)
    if (region_at (view, x, y) == SHADE_FLANK && region_at (view, x, y + 1) == SHADE_MARGIN)
      return y + 0.5;
  return NAN;
}

/* Points on the flank's edge, computed from the solid, lie where the picture changes from flank to
 * margin: within the half px that one sample leaves, and without bias. */
static void
the_seen_edge_is_the_true_one (void **state)
{
  (void)state;
  for (guint64 seed = 1; seed <= 6; seed++)
  {
    View view;
    SceneReliefTruth truth;
    scene_random_relief (seed, &view.drill, &view.relief);
    scene_relief_truth (&view.drill, &view.relief, &truth);
    look (&view);
    double sum = 0.0;
    guint n = 0;
    for (int i = 0; i < 4; i++)
    {
      const ScenePoint p = truth.edge_px[i], q = truth.edge_px[i + 1];
      const double low = MIN (p.x, q.x) + 3.0, high = MAX (p.x, q.x) - 3.0;
      for (int x = (int)ceil (low); x <= (int)high; x++, n++)
      {
        /* The chord over a quarter of the margin. */
        const double y = p.y + (q.y - p.y) * (x - p.x) / (q.x - p.x);
        const double seen = edge_in_column (&view, x, (int)y);
        assert_near (seen, y, 0.75);
        sum += seen - y;
      }
    }
    assert_true (n > 60);
    assert_near (sum / n, 0.0, 0.1);
    look_away (&view);
  }
}

/* In parallel projection, square on, the edge's slope at the corner is the relief. */
static void
the_slope_at_the_corner_is_the_truth (void **state)
{
  (void)state;
  View view;
  SceneReliefTruth truth;
  scene_random_relief (3, &view.drill, &view.relief);
  view.relief.distance_mm = view.relief.turn_deg = view.relief.tilt_deg = view.relief.roll_deg =
    0.0;
  view.relief.mm_per_px *= 0.25;
  view.drill.left_hand = FALSE;
  scene_relief_truth (&view.drill, &view.relief, &truth);
  look (&view);
  const ScenePoint corner = truth.corner_px;
  const double at[2] = { 100.0, 200.0 };
  double slope[2];
  for (int k = 0; k < 2; k++)
  {
    /* Means over 21 columns. */
    double sum = 0.0;
    for (int d = -10; d <= 10; d++)
      sum += edge_in_column (&view, (int)lround (corner.x - at[k]) + d,
                             (int)(corner.y + at[k] * tan (truth.lip_relief_deg * SCENE_DEG)));
    slope[k] = (sum / 21.0 - corner.y) / (corner.x - round (corner.x - at[k]));
  }
  /* The chord's slope grows evenly with its length. */
  assert_near (atan (2.0 * slope[0] - slope[1]) / SCENE_DEG, truth.lip_relief_deg, 0.15);
  assert_near (corner.x, view.relief.corner.x, 1e-9);
  look_away (&view);
}

static void
the_asked_relief_is_ground (void **state)
{
  (void)state;
  for (guint64 seed = 1; seed <= 20; seed++)
  {
    SceneDrill drill;
    SceneRelief relief;
    SceneReliefTruth truth;
    scene_random_relief (seed, &drill, &relief);
    scene_relief_truth (&drill, &relief, &truth);
    assert_true (truth.lip_relief_deg > 5.99 && truth.lip_relief_deg < 16.01);
    assert_true (fabs (truth.chord_deg - truth.lip_relief_deg) < 3.0);
  }
}

static void
the_same_seed_gives_the_same_picture (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneRelief relief;
  scene_random_relief (9, &drill, &relief);
  relief.width = 320;
  relief.height = 240;
  relief.mm_per_px *= 4.0;
  relief.corner = (ScenePoint){ 170.0, 110.0 };
  g_autoptr (SceneImage) a = scene_render_relief (&drill, &relief);
  g_autoptr (SceneImage) b = scene_render_relief (&drill, &relief);
  assert_memory_equal (a->data, b->data, (gsize)a->width * a->height * a->channels);
}

/* Mirror pictures, but for noise and texture. */
static void
left_hand_is_the_mirror_picture (void **state)
{
  (void)state;
  View right, left;
  scene_random_relief (2, &right.drill, &right.relief);
  right.drill.left_hand = FALSE;
  right.relief.corner.x = 700.0;
  right.relief.roll_deg = 4.0;
  left = right;
  left.drill.left_hand = TRUE;
  left.relief.corner.x = right.relief.width - 1.0 - 700.0;
  left.relief.roll_deg = -4.0;
  look (&right);
  look (&left);
  guint differ = 0;
  for (int y = 0; y < (int)right.relief.height; y += 3)
    for (int x = 0; x < (int)right.relief.width; x += 3)
      differ += region_at (&right, x, y) != region_at (&left, (int)right.relief.width - 1 - x, y);
  assert_true (differ < 20);
  look_away (&right);
  look_away (&left);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_seen_edge_is_the_true_one),
    cmocka_unit_test (the_slope_at_the_corner_is_the_truth),
    cmocka_unit_test (the_asked_relief_is_ground),
    cmocka_unit_test (the_same_seed_gives_the_same_picture),
    cmocka_unit_test (left_hand_is_the_mirror_picture),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
