/*
 * The undoing of perspective alone: drills seen by a near camera against the same drills in
 * parallel projection, in pictures free of noise.
 */
#include "base/testing.h"

#include "base/geometry.h"
#include "edge/testing.h"
#include "tool/drill/perspective.h"

typedef struct
{
  double web, helix_deg, turn_deg; /* web: part of the diameter */
  double distance_mm;
  gboolean left_hand;
  double half_a, half_b;
} Case;

static const Case cases[] = {
  { 0.15, 30, 0, 120, FALSE, 59, 59 }, { 0.15, 30, 4, 120, FALSE, 59.5, 58.5 },
  { 0.13, 27, -4, 100, TRUE, 59, 59 }, { 0.17, 33, 6, 150, FALSE, 58.4, 59.6 },
  { 0.15, 30, -6, 90, FALSE, 59, 59 },
};

/* What a test looks at; `outline` is what `point` rests on. */
typedef struct
{
  SceneCamera camera;
  WsOutline *outline;
  WsDrillPoint *point;
} Seen;

static void
seen_clear (Seen *seen)
{
  wsi_drill_point_free (seen->point);
  wsi_outline_free (seen->outline);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Seen, seen_clear)

static SceneDrill
drill_of (const Case *wanted)
{
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.web = wanted->web * drill.diameter;
  drill.helix_deg = wanted->helix_deg;
  drill.left_hand = wanted->left_hand;
  drill.half_angle_a = wanted->half_a;
  drill.half_angle_b = wanted->half_b;
  return drill;
}

static WsImage *
picture_of (const SceneDrill *drill, const SceneCamera *camera)
{
  g_autoptr (SceneImage) scene = scene_render (drill, camera, NULL);
  WsImage *image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  image->tone = WS_TONE_LINEAR;
  return image;
}

/* By a camera `distance_mm` away, or 0 in parallel projection; off the drill's middle. */
static Seen
look (const Case *wanted, double distance_mm)
{
  Seen seen = { .camera = plain_camera (1100, 1000) };
  const SceneDrill drill = drill_of (wanted);
  seen.camera.turn_deg = wanted->turn_deg;
  scene_camera_aim (&seen.camera, &drill, 0.4);
  seen.camera.distance_mm = distance_mm;
  seen.camera.centre_x = 25;
  seen.camera.centre_y = -15;
  g_autoptr (WsImage) image = picture_of (&drill, &seen.camera);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  seen.outline = wsi_outline_trace (image, &segment);
  assert_non_null (seen.outline);
  WsRefusal refusal;
  seen.point = wsi_drill_point_locate (seen.outline, &refusal);
  assert_non_null (seen.point);
  return seen;
}

static WsPerspective
perspective_of (const Case *wanted, const Seen *seen)
{
  const SceneCamera *c = &seen->camera;
  return (WsPerspective){
    .distance = c->distance_mm / c->mm_per_px,
    .foot = { 0.5 * (c->width - 1.0) + c->centre_x, 0.5 * (c->height - 1.0) + c->centre_y },
    .web_px = wanted->web * 10.0 / c->mm_per_px,
    .hand = 1,
  };
}

static double
point_angle (const WsDrillPoint *point)
{
  return wsi_degrees (point->lips[0].half_angle + point->lips[1].half_angle);
}

/* mm: what the lips' corners differ in height. */
static double
height_difference (const Seen *seen)
{
  const WsDrillLip *lips = seen->point->lips;
  return (lips[0].corner.y - lips[1].corner.y) * seen->camera.mm_per_px;
}

/* Greatest error of a half angle, deg. */
static double
half_angle_error (const Seen *near, const Seen *far)
{
  double most = 0;
  for (guint k = 0; k < 2; k++)
    most = MAX (
      most, fabs (wsi_degrees (near->point->lips[k].half_angle - far->point->lips[k].half_angle)));
  return most;
}

/* From the lips' ends down to the margins the outline lies on the envelope, at depths of its own:
 * so it stands as far off the theoretical corners as in parallel projection. */
static void
assert_rims_agree (const WsDrillPoint *near, const WsDrillPoint *far)
{
  for (guint k = 0; k < 2; k++)
    assert_near (near->lips[k].corner_gap, far->lips[k].corner_gap, 0.2);
}

/* As parallel projection shows the same drill in the same turn.  Before, half angles are off by up
 * to 0.8 degrees and the lips' heights by some 0.1 mm. */
static void
parallel_projection_comes_back (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_auto (Seen) near = look (&cases[i], cases[i].distance_mm), far = look (&cases[i], 0);
    const double half_before = half_angle_error (&near, &far);
    const double height_before = fabs (height_difference (&near) - height_difference (&far));
    WsPerspective perspective = perspective_of (&cases[i], &near);
    WsRefusal refusal = { 0 };
    assert_true (wsi_perspective_undo (&perspective, &near.point, &refusal));
    const double half = half_angle_error (&near, &far);
    const double height = fabs (height_difference (&near) - height_difference (&far));
    print_message ("turn %g: half angle off by %.3f, then %.4f deg; heights %.4f, then %.4f mm\n",
                   cases[i].turn_deg, half_before, half, height_before, height);
    assert_true (half < 0.05);
    assert_true (height < 0.005 && height < 0.05 * height_before);
    assert_near (point_angle (near.point), point_angle (far.point), 0.04);
    assert_near (near.point->radius / far.point->radius, 1, 0.0005);
    assert_true (wsi_perspective_asymmetry (near.point) < 0.5);
    assert_rims_agree (near.point, far.point);
  }
}

static void
hand_and_helix_are_seen (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i += 2)
  {
    g_auto (Seen) near = look (&cases[i], cases[i].distance_mm);
    WsPerspective perspective = perspective_of (&cases[i], &near);
    WsRefusal refusal = { 0 };
    assert_true (wsi_perspective_undo (&perspective, &near.point, &refusal));
    assert_true (perspective.hand_seen);
    assert_near (perspective.hand, cases[i].left_hand ? -1 : 1, 0);
    const double helix = atan (perspective.rate * near.point->radius);
    assert_near (wsi_degrees (helix), cases[i].helix_deg, 0.6);
  }
}

static void
a_card_that_says_the_other_hand_is_refused (void **state)
{
  (void)state;
  g_auto (Seen) near = look (&cases[1], cases[1].distance_mm);
  WsPerspective perspective = perspective_of (&cases[1], &near);
  perspective.hand = -1;
  perspective.hand_stated = TRUE;
  WsRefusal refusal = { 0 };
  assert_false (wsi_perspective_undo (&perspective, &near.point, &refusal));
  assert_int_equal (refusal.reason, WS_RETAKE_WRONG_VIEW);
  assert_contains (refusal.detail, "right-hand, not left-hand");
}

static void
the_outline_can_be_put_back (void **state)
{
  (void)state;
  g_auto (Seen) near = look (&cases[0], cases[0].distance_mm);
  g_autofree WsPoint *before = wsi_perspective_snapshot (near.outline);
  WsPerspective perspective = perspective_of (&cases[0], &near);
  WsRefusal refusal = { 0 };
  assert_true (wsi_perspective_undo (&perspective, &near.point, &refusal));
  double moved = 0;
  for (guint i = 0; i < near.outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (near.outline->points, WsEdgePoint, i);
    moved = MAX (moved, hypot (p->x - before[i].x, p->y - before[i].y));
  }
  assert_true (moved > 1);
  wsi_perspective_restore (near.outline, before);
  g_autofree WsPoint *after = wsi_perspective_snapshot (near.outline);
  assert_memory_equal (before, after, sizeof *before * near.outline->points->len);
}

/* (P1): what lies h nearer looks farther from the foot by h / Z of its distance from there.  A lip
 * at one depth keeps its direction; one that grows nearer outward turns. */
static void
lines_move_as_their_depth_says (void **state)
{
  (void)state;
  g_auto (Seen) far = look (&cases[0], 0);
  WsPerspective perspective = perspective_of (&cases[0], &far);
  perspective.distance = 5000;
  const WsDrillLines lines = wsi_drill_lines_of (far.point);
  const WsDrillLines same = wsi_perspective_seen (&perspective, far.point, &lines, 0, 0);
  const WsDrillLines level = wsi_perspective_seen (&perspective, far.point, &lines, 50, 0);
  const WsDrillLines grown = wsi_perspective_seen (&perspective, far.point, &lines, 0, 0.1);
  const WsPoint foot = wsi_axis_to_tool (&far.point->mirror.axis, perspective.foot);
  for (guint k = 0; k < 2; k++)
  {
    assert_near (same.angle[k], lines.angle[k], 1e-9);
    assert_near (level.angle[k], lines.angle[k], 1e-9);
    const double nearer = k == 0 ? -50.0 : 50.0;
    const WsPoint expected =
      wsi_point_along (same.centre[k], nearer / 5000, wsi_point_sub (same.centre[k], foot));
    assert_near (wsi_point_distance (level.centre[k], expected), 0, 1e-6);
    assert_true (fabs (grown.angle[k] - lines.angle[k]) > 1e-4);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (parallel_projection_comes_back),
    cmocka_unit_test (hand_and_helix_are_seen),
    cmocka_unit_test (a_card_that_says_the_other_hand_is_refused),
    cmocka_unit_test (the_outline_can_be_put_back),
    cmocka_unit_test (lines_move_as_their_depth_says),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
