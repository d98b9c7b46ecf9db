#include "tool/face/body.h"

#include "base/geometry.h"
#include "base/testing.h"
#include "result/build.h"
#include "tool/face/before.h"
#include "tool/face/blades_for_tests.h"
#include "tool/face/nothing.h"

#include <whetsight/view.h>

/* What is said of it, a retake where it is no tool's end in focus. */
static WsResult *
result_of (const WsImage *image)
{
  WsResult *result = wsi_result_new ("blade-face");
  const WsOptics optics = { .has_scale = FALSE };
  WsSampler sampler;
  WsFace face;
  WsFaceBody body;
  wsi_sampler_init (&sampler, image);
  if (wsi_face_find (&sampler, &optics, &face, result))
  {
    wsi_face_body_look (&face, &sampler, &optics, &body);
    if (wsi_face_focus_check (&face, &body, result))
      wsi_face_body_check (&face, &body, result);
  }
  wsi_face_clear (&face);
  return result;
}

static WsRetake
reason_of (const WsImage *image)
{
  g_autoptr (WsResult) result = result_of (image);
  return result->reason;
}

static WsRetake
reason_of_blades (const Blade *blades, guint n)
{
  g_autoptr (WsImage) image = picture (blades, n, STEEL);
  return reason_of (image);
}

/* A sliver along the border is hardly a flank; one that comes in from another side, too, has an
 * edge that leaves the picture there. */
static void
what_leaves_the_picture_is_told (void **state)
{
  (void)state;
  const Blade sliver = { { 240, 368 }, 0, 360, 1000, 1.5, 0 };
  const Blade corner = { { 150, 368 }, 0, 360, 1000, 1.5, 0 };
  g_autoptr (WsImage) alone = picture (&sliver, 1, STEEL);
  g_autoptr (WsImage) beside = picture (&corner, 1, STEEL);
  g_autoptr (WsResult) of_alone = result_of (alone);
  g_autoptr (WsResult) of_beside = result_of (beside);
  assert_int_equal (of_alone->reason, WS_RETAKE_CUT_BY_FRAME);
  assert_int_equal (of_beside->reason, WS_RETAKE_CUT_BY_FRAME);
  assert_contains (of_alone->detail, "hardly any flank");
  assert_contains (of_beside->detail, "goes on beyond");
}

static void
a_blade_is_one_on_every_side (void **state)
{
  (void)state;
  for (guint side = 0; side < 4; side++)
  {
    Blade blade = usual ();
    blade.turn += 0.5 * G_PI * side;
    blade.middle = wsi_point (240, 200);
    assert_int_equal (reason_of_blades (&blade, 1), WS_RETAKE_NONE);
  }
}

static void
blur_is_told_from_movement (void **state)
{
  (void)state;
  Blade blurred = usual (), moved = usual (), moved_across = usual ();
  blurred.blur = 30;
  assert_int_equal (reason_of_blades (&blurred, 1), WS_RETAKE_OUT_OF_FOCUS);
  moved.blur = 30;
  moved.side_blur = 1.5;
  assert_int_equal (reason_of_blades (&moved, 1), WS_RETAKE_MOTION_BLUR);
  moved_across.side_blur = 30;
  assert_int_equal (reason_of_blades (&moved_across, 1), WS_RETAKE_MOTION_BLUR);
}

static void
what_has_a_straight_edge_alone_is_no_blade (void **state)
{
  (void)state;
  /* A sheet whose border crosses the picture. */
  Blade sheet = usual ();
  sheet.width = 2000;
  assert_int_not_equal (reason_of_blades (&sheet, 1), WS_RETAKE_NONE);
  /* One side is out of the picture. */
  Blade cut = usual ();
  cut.middle.x = 60;
  assert_int_equal (reason_of_blades (&cut, 1), WS_RETAKE_CUT_BY_FRAME);
  /* Aslant, so that its side is longer than its edge and ends at the border. */
  Blade aslant = usual ();
  aslant.turn = 0.8;
  aslant.middle = wsi_point (240, 200);
  assert_int_equal (reason_of_blades (&aslant, 1), WS_RETAKE_WRONG_VIEW);
  /* Hardly any of it. */
  Blade low = usual ();
  low.middle.y = HEIGHT - 45;
  assert_int_equal (reason_of_blades (&low, 1), WS_RETAKE_CUT_BY_FRAME);
  /* A head on a narrower handle, as of a hammer. */
  Blade head[2] = { usual (), usual () };
  head[0].length = 60;
  head[1].width = 50;
  assert_int_equal (reason_of_blades (head, 2), WS_RETAKE_WRONG_VIEW);
  /* A ledge beside it. */
  Blade ledge[2] = { usual (), usual () };
  ledge[1].middle = wsi_point (330, 230);
  ledge[1].width = 90;
  assert_int_equal (reason_of_blades (ledge, 2), WS_RETAKE_WRONG_VIEW);
}

static WsRetake
reason_of_light (double ground, double steel)
{
  const Blade blade = usual ();
  g_autoptr (WsImage) image = picture (&blade, 1, STEEL);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
  {
    const double part =
      (image->linear[i] / (double)WS_IMAGE_FULL_SCALE - GROUND) / (STEEL - GROUND);
    const double mark = part > 0.5 && i % 5 == 0 ? 0.9 : 1.0;
    const double light = MIN ((ground + part * (steel - ground)) * mark, 1.0);
    image->linear[i] = (guint16)lrint (CLAMP (light, 0, 1) * WS_IMAGE_FULL_SCALE);
    memset (image->rgb + 3 * i, (int)lrint (255 * wsi_colour_to_code (CLAMP (light, 0, 1))), 3);
  }
  return reason_of (image);
}

/* The reason is the one whose cure lets the blade show. */
static void
light_that_hides_a_blade_is_told (void **state)
{
  (void)state;
  assert_int_equal (reason_of_light (0.08, 0.5), WS_RETAKE_NONE);
  assert_int_equal (reason_of_light (0.0005, 0.003), WS_RETAKE_UNDER_EXPOSED);
  assert_int_equal (reason_of_light (1.0, 2.0), WS_RETAKE_OVER_EXPOSED);
  assert_int_equal (reason_of_light (0.3, 0.3), WS_RETAKE_LOW_CONTRAST);
}

/* How light a band before the usual blade's edge is, as part of the ground's, and whether it goes
 * on beside the blade. */
static gboolean
is_bare_before (double part, gboolean beside)
{
  Blade blade = usual ();
  blade.turn = 0;
  g_autoptr (WsImage) image = picture (&blade, 1, STEEL);
  for (guint y = 90; y < 130; y++)
    for (guint x = beside ? 0 : 140; x < (beside ? WIDTH : 340); x++)
      if (y < 126)
      {
        const double light = GROUND * part;
        image->linear[y * WIDTH + x] = (guint16)lrint (light * WS_IMAGE_FULL_SCALE);
        memset (image->rgb + 3 * (y * WIDTH + x), (int)lrint (255 * wsi_colour_to_code (light)), 3);
      }
  g_autoptr (WsResult) result = wsi_result_new ("blade-face");
  const WsOptics optics = { .has_scale = FALSE };
  WsSampler sampler;
  WsFace face;
  wsi_sampler_init (&sampler, image);
  assert_true (wsi_face_find (&sampler, &optics, &face, result));
  const gboolean bare = wsi_face_before_check (&face, &sampler, &optics, result);
  assert_int_equal (result->reason, bare ? WS_RETAKE_NONE : WS_RETAKE_LOW_CONTRAST);
  wsi_face_clear (&face);
  return bare;
}

/* A land that hardly differs from its ground lies between the tool's sides; what the ground has
 * itself goes on beyond them. */
static void
a_land_like_its_ground_is_told (void **state)
{
  (void)state;
  assert_true (is_bare_before (1, FALSE));
  assert_false (is_bare_before (1.15, FALSE));
  assert_false (is_bare_before (0.85, FALSE));
  assert_true (is_bare_before (1.15, TRUE));
}

/* More light cures noise; edges and shading aren't any. */
static void
noise_asks_for_light (void **state)
{
  (void)state;
  const Blade blade = usual ();
  g_autoptr (WsImage) image = picture (&blade, 1, STEEL);
  g_autoptr (WsResult) clean = wsi_result_new ("blade-face"), noisy = wsi_result_new ("blade-face");
  assert_true (wsi_face_noise_check (image, clean));
  assert_int_equal (clean->reason, WS_RETAKE_NONE);
  GRand *random = g_rand_new_with_seed (3);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    image->linear[i] = (guint16)CLAMP (image->linear[i] + g_rand_double_range (random, -2000, 2000),
                                       0, WS_IMAGE_FULL_SCALE);
  g_rand_free (random);
  assert_false (wsi_face_noise_check (image, noisy));
  assert_int_equal (noisy->reason, WS_RETAKE_UNDER_EXPOSED);
}

/* Lines of one direction on the blade, as a menu's rows and a drawing's hatching are; `noise` in
 * codes of the picture. */
static WsImage *
hatched (gint noise)
{
  const Blade blade = usual ();
  WsImage *image = picture (&blade, 1, STEEL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);
  for (gsize i = 0; i < (gsize)WIDTH * HEIGHT; i++)
  {
    const gint line = i % WIDTH % 24 == 0 && image->rgb[3 * i] > 150 ? 25 : 0;
    const gint code =
      image->rgb[3 * i] - line + (noise > 0 ? g_rand_int_range (rand, -noise, noise + 1) : 0);
    memset (image->rgb + 3 * i, CLAMP (code, 0, 255), 3);
    image->linear[i] =
      (guint16)lrint (wsi_colour_from_code (image->rgb[3 * i] / 255.0) * WS_IMAGE_FULL_SCALE);
  }
  return image;
}

/* A menu on a screen had "no burn", with U, by its rows. */
static void
a_drawing_is_no_flank (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = { .has_scale = FALSE };
  for (gint noise = 0; noise <= 2; noise += 2)
  {
    g_autoptr (WsImage) image = hatched (noise);
    g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-face"), image, card, &optics);
    const gboolean refused = result->verdict == WS_VERDICT_RETAKE;
    assert_true (refused == (noise == 0));
    if (refused)
      assert_contains (result->detail, "drawing");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (what_leaves_the_picture_is_told),
    cmocka_unit_test (a_blade_is_one_on_every_side),
    cmocka_unit_test (blur_is_told_from_movement),
    cmocka_unit_test (what_has_a_straight_edge_alone_is_no_blade),
    cmocka_unit_test (light_that_hides_a_blade_is_told),
    cmocka_unit_test (a_land_like_its_ground_is_told),
    cmocka_unit_test (noise_asks_for_light),
    cmocka_unit_test (a_drawing_is_no_flank),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
