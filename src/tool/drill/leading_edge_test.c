#include "tool/drill/leading_edge.h"

#include "base/geometry.h"
#include "edge/testing.h"

typedef struct
{
  double web, helix_deg, turn_deg;
} Case;

static WsImage *
picture_of (const Case *wanted, SceneDrill *drill)
{
  SceneCamera camera = plain_camera (1000, 900);
  scene_drill_init (drill, 10.0);
  drill->web = wanted->web * drill->diameter;
  drill->helix_deg = wanted->helix_deg;
  camera.turn_deg = wanted->turn_deg;
  camera.blur_px = 1.0;
  scene_camera_aim (&camera, drill, 0.4);
  g_autoptr (SceneImage) scene = scene_render (drill, &camera, NULL);
  WsImage *image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  image->tone = WS_TONE_LINEAR;
  return image;
}

static gboolean
trace (const Case *wanted, WsLeadingEdge *edge)
{
  SceneDrill drill;
  g_autoptr (WsImage) image = picture_of (wanted, &drill);
  g_auto (WsSegment) segment = wsi_segment_find (image);
  g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
  assert_non_null (outline);
  WsRefusal refusal;
  g_autoptr (WsDrillPoint) point = wsi_drill_point_locate (outline, &refusal);
  assert_non_null (point);
  return wsi_leading_edge_trace (point, edge);
}

/* By the solid drill of tests/scene: the lip ends at asin (web / D), plus the turn. */
static void
lip_end_and_helix_are_found (void **state)
{
  (void)state;
  const Case cases[] = { { 0.15, 30, 0 },  { 0.12, 24, 0 },  { 0.19, 38, 0 }, { 0.15, 30, 4 },
                         { 0.15, 30, -4 }, { 0.13, 25, -7 }, { 0.18, 35, 7 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    WsLeadingEdge edge;
    assert_true (trace (&cases[i], &edge));
    const double end = wsi_degrees (asin (cases[i].web)) + cases[i].turn_deg;
    assert_near (wsi_degrees (edge.lip_end), end, 0.3);
    assert_near (wsi_degrees (edge.helix), cases[i].helix_deg, 0.3);
    assert_true (wsi_degrees (edge.u_lip_end) < 0.8);
  }
}

/* A slow helix doesn't bring the edge round within the picture. */
static void
an_edge_not_seen_is_said (void **state)
{
  (void)state;
  const Case slow = { 0.15, 3, 0 };
  WsLeadingEdge edge;
  assert_false (trace (&slow, &edge));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lip_end_and_helix_are_found),
    cmocka_unit_test (an_edge_not_seen_is_said),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
