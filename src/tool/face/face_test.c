#include "result/build.h"
#include "tool/face/face.h"

#include "base/geometry.h"
#include "base/testing.h"

#include "tool/face/blades_for_tests.h"

static gboolean
found (const Blade *blades, guint n, double steel, WsFace *face, WsResult *result)
{
  g_autoptr (WsImage) image = picture (blades, n, steel);
  const WsOptics optics = { .has_scale = FALSE };
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  return wsi_face_find (&sampler, &optics, face, result);
}

static void
the_edge_is_found_from_every_side (void **state)
{
  (void)state;
  for (guint side = 0; side < 4; side++)
  {
    Blade blade = usual ();
    blade.turn += 0.5 * G_PI * side;
    blade.middle = wsi_point (240 + 5.0 * side, 200 - 3.0 * side);
    g_autoptr (WsResult) result = wsi_result_new ("blade-face");
    WsFace face;
    assert_true (found (&blade, 1, STEEL, &face, result));
    assert_near (face.strip.length, blade.width, 6);
    const WsPoint middle = wsi_strip_place (&face.strip, 0.5 * face.strip.length, 0);
    assert_near (wsi_point_distance (middle, blade.middle), 0, 4);
    /* Square to the edge to a hundredth of a degree, and on its line. */
    const WsPoint inward = { -sin (blade.turn), cos (blade.turn) };
    assert_near (wsi_point_cross (face.strip.inward, inward), 0, 0.001);
    assert_true (wsi_point_dot (face.strip.inward, inward) > 0);
    assert_near (wsi_point_dot (wsi_point_sub (middle, blade.middle), inward), 0, 0.2);
    assert_true (face.blur_px < 1.5);
    wsi_face_clear (&face);
  }
}

/* The band holds steel alone, as deep as there is some. */
static void
the_band_is_the_flank (void **state)
{
  (void)state;
  const Blade blade = usual ();
  g_autoptr (WsImage) image = picture (&blade, 1, STEEL);
  g_autoptr (WsResult) result = wsi_result_new ("blade-face");
  const WsOptics optics = { .has_scale = FALSE };
  WsSampler sampler;
  WsFace face;
  wsi_sampler_init (&sampler, image);
  assert_true (wsi_face_find (&sampler, &optics, &face, result));
  g_autoptr (WsBand) band = wsi_face_band (&face, &sampler, &optics);
  assert_int_equal (band->length, face.strip.length);
  assert_near (band->depth, 0.9 * blade.width, 6);
  for (guint d = 3; d < band->depth; d += 7)
    for (guint s = 12; s + 12 < band->length; s += 11)
      assert_near (wsi_band_cell (band, s, d)[1], STEEL, 0.01);
  wsi_face_clear (&face);
}

static void
assert_refused (const Blade *blades, guint n, double steel, WsRetake reason)
{
  g_autoptr (WsResult) result = wsi_result_new ("blade-face");
  WsFace face;
  assert_false (found (blades, n, steel, &face, result));
  assert_int_equal (result->reason, reason);
  wsi_face_clear (&face);
}

static void
what_is_no_face_is_refused (void **state)
{
  (void)state;
  const Blade blade = usual ();
  assert_refused (&blade, 0, STEEL, WS_RETAKE_NO_TOOL);
  assert_refused (&blade, 1, 1.0, WS_RETAKE_OVER_EXPOSED);

  Blade across = blade;
  across.middle.y = -50;
  assert_refused (&across, 1, STEEL, WS_RETAKE_CUT_BY_FRAME);

  Blade small = blade;
  small.width = 60;
  assert_refused (&small, 1, STEEL, WS_RETAKE_TOO_SMALL);

  Blade frame[3] = { blade, blade, blade };
  for (guint i = 0; i < 3; i++)
    frame[i].turn += 0.5 * G_PI * i;
  assert_refused (frame, 3, STEEL, WS_RETAKE_WRONG_VIEW);

  Blade two[2] = { blade, blade };
  two[0].middle.x = 110;
  two[0].width = two[1].width = 120;
  two[1].middle.x = 370;
  assert_refused (two, 2, STEEL, WS_RETAKE_SEVERAL_TOOLS);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_edge_is_found_from_every_side),
    cmocka_unit_test (the_band_is_the_flank),
    cmocka_unit_test (what_is_no_face_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
