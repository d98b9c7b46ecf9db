#include "tool/drill/side/whole_lip.h"

#include "base/geometry.h"
#include "edge/spread.h"
#include "edge/testing.h"

#define N_SEEN 40

typedef struct
{
  WsImage *image;
  WsOutline *outline;
  WsDrillPoint *point;
  double *moves;
  SceneTruth truth;
} Seen;

/* Noise as light has it; with a flank ground as a cone, off the flute's angle, so that lips bow. */
static Seen
look (guint seed, double worn, double noise)
{
  Seen seen;
  SceneDrill drill;
  SceneCamera camera = plain_camera (700, 640);
  scene_drill_init (&drill, 10.0);
  drill.cone_distance = seed % 2 == 0 ? 0.0 : 3.0;
  drill.half_angle_a += 0.4 * (seed % 3);
  drill.corner_a = drill.corner_b = worn;
  camera.roll_deg = 3.0 + 5.0 * seed;
  camera.blur_px = 1.0;
  camera.shot = noise;
  camera.read = noise / 5;
  camera.seed = seed;
  scene_camera_aim (&camera, &drill, 0.55);
  g_autoptr (SceneImage) scene = scene_render (&drill, &camera, &seen.truth);
  seen.image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (seen.image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  seen.image->tone = WS_TONE_LINEAR;
  g_auto (WsSegment) segment = wsi_segment_find (seen.image);
  seen.outline = wsi_outline_trace (seen.image, &segment);
  assert_non_null (seen.outline);
  seen.outline->spread = wsi_edge_spread (seen.image, seen.outline);
  WsRefusal refusal;
  seen.point = wsi_drill_point_locate (seen.outline, &refusal);
  assert_non_null (seen.point);
  seen.moves = wsi_whole_lips_weigh (seen.image, seen.point);
  return seen;
}

static void
clear (Seen *seen)
{
  g_free (seen->moves);
  wsi_drill_point_free (seen->point);
  wsi_outline_free (seen->outline);
  ws_image_free (seen->image);
}

static double
error_of (const Seen *seen)
{
  return wsi_degrees (seen->point->lips[0].half_angle + seen->point->lips[1].half_angle) -
         seen->truth.point_angle_deg;
}

/* By the solid drill of tests/scene.  In theory the error falls to 0.75 of what it was: own trials
 * with 210 drills, 0.78. */
static void
noise_turns_whole_lips_less (void **state)
{
  (void)state;
  double before = 0, after = 0, stated = 0, said = 0;
  guint directed = 0;
  for (guint seed = 1; seed <= N_SEEN; seed++)
  {
    Seen seen = look (seed, 0, 0.01);
    const double error = error_of (&seen);
    before += error * error;
    for (guint k = 0; k < 2; k++)
      said += pow (wsi_degrees (seen.point->lips[k].line.u_angle), 2);
    wsi_whole_lips_direct (seen.point, seen.moves);
    after += pow (error_of (&seen), 2);
    for (guint k = 0; k < 2; k++)
    {
      stated += pow (wsi_degrees (seen.point->lips[k].line.u_angle), 2);
      directed += seen.point->lips[k].white_angle > 0;
    }
    clear (&seen);
  }
  assert_true (directed > 0.9 * 2 * N_SEEN);
  assert_true (sqrt (after / before) < 0.85);
  assert_true (sqrt (stated / said) < 0.9);
  /* What is stated is what is off. */
  assert_true (sqrt (after / stated) < 1.4);
  assert_true (sqrt (after / stated) > 0.6);
}

/* Without noise there is nothing to gain, and the form beyond the range must not turn a line. */
static void
form_turns_no_line (void **state)
{
  (void)state;
  for (guint seed = 1; seed <= 6; seed++)
  {
    Seen seen = look (seed, 0, 0);
    wsi_whole_lips_direct (seen.point, seen.moves);
    assert_near (error_of (&seen), 0, 0.002);
    clear (&seen);
  }
}

/* A corner that is worn round up to 0.1 R inside isn't the lip. */
static void
worn_corners_turn_no_line (void **state)
{
  (void)state;
  for (guint seed = 1; seed <= 6; seed++)
  {
    Seen seen = look (seed, 0.8, 0.004);
    wsi_whole_lips_direct (seen.point, seen.moves);
    assert_near (error_of (&seen), 0, 0.01);
    clear (&seen);
  }
}

static void
lips_that_are_not_clean_stay (void **state)
{
  (void)state;
  Seen seen = look (1, 0, 0.01);
  WsDrillLip *a = &seen.point->lips[0], *b = &seen.point->lips[1];
  const WsLineFit before[2] = { a->line, b->line };
  a->proud.height = 0.5;
  b->proud.u_angle = 2 * b->line.u_angle;
  wsi_whole_lips_direct (seen.point, seen.moves);
  assert_memory_equal (&a->line, &before[0], sizeof a->line);
  assert_memory_equal (&b->line, &before[1], sizeof b->line);
  a->proud.height = b->proud.u_angle = 0;
  seen.outline->front_lit = TRUE;
  wsi_whole_lips_direct (seen.point, seen.moves);
  assert_memory_equal (&a->line, &before[0], sizeof a->line);
  seen.outline->front_lit = FALSE;
  wsi_whole_lips_direct (seen.point, seen.moves);
  assert_true (a->line.direction.x != before[0].direction.x);
  assert_true (b->line.direction.x != before[1].direction.x);
  clear (&seen);
}

/* A bend of lip a beyond its range: the ends say something else than the part. */
static void
an_end_that_is_bent_is_left_out (void **state)
{
  (void)state;
  Seen seen = look (1, 0, 0.01);
  WsDrillLip *a = &seen.point->lips[0];
  const double angle = a->half_angle, R = seen.point->radius;
  for (guint i = 0; i < seen.outline->points->len; i++)
  {
    const double out = -seen.point->uz[i].x / R;
    if (out > WS_LIP_TO && seen.point->uz[i].y > a->corner.y)
      seen.moves[i] -= 2.0 * (out - WS_LIP_TO) * R;
  }
  wsi_whole_lips_direct (seen.point, seen.moves);
  assert_near (wsi_degrees (a->half_angle - angle), 0, 0.01);
  clear (&seen);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (noise_turns_whole_lips_less),
    cmocka_unit_test (form_turns_no_line),
    cmocka_unit_test (worn_corners_turn_no_line),
    cmocka_unit_test (lips_that_are_not_clean_stay),
    cmocka_unit_test (an_end_that_is_bent_is_left_out),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
