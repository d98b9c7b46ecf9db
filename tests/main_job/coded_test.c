/*
 * Silhouettes keep pixels as the file's bytes where they can (WS_IMAGE_CODED), and of a PNG or a
 * JPEG few of them (image/sparse.h): whatever is said of a picture is the same as from one in
 * linear light, to the last bit, by every view that does so.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/image.h>
#include <whetsight/view.h>

#include "image/light.h"
#include "image/png_rows.h"

#include "scene/blade.h"
#include "scene/scene.h"
#include "trial/gates.h"

#define FIRST_SEED 470000
#define MM_PER_PX 0.01

static void
check_same_numbers (const WsQuantity *a, const WsQuantity *b)
{
  assert_string_equal (a->name, b->name);
  assert_int_equal (a->known, b->known);
  assert_int_equal (a->verdict, b->verdict);
  if (!a->known)
    return;
  assert_memory_equal (&a->value, &b->value, sizeof a->value);
  assert_memory_equal (&a->U, &b->U, sizeof a->U);
  assert_int_equal (a->budget->len, b->budget->len);
}

static void
check_same_result (const WsResult *a, const WsResult *b)
{
  assert_int_equal (a->reason, b->reason);
  assert_int_equal (a->verdict, b->verdict);
  assert_int_equal (a->hold, b->hold);
  assert_int_equal (g_strcmp0 (a->detail, b->detail), 0);
  assert_int_equal (a->quantities->len, b->quantities->len);
  for (guint i = 0; i < a->quantities->len; i++)
    check_same_numbers (g_ptr_array_index (a->quantities, i), g_ptr_array_index (b->quantities, i));
  assert_int_equal (a->findings->len, b->findings->len);
  for (guint i = 0; i < a->findings->len; i++)
    assert_string_equal (((const WsFinding *)g_ptr_array_index (a->findings, i))->text,
                         ((const WsFinding *)g_ptr_array_index (b->findings, i))->text);
  assert_int_equal (a->marks->len, b->marks->len);
  for (guint i = 0; i < a->marks->len; i++)
  {
    const WsMark *p = g_ptr_array_index (a->marks, i), *q = g_ptr_array_index (b->marks, i);
    assert_int_equal (p->points->len, q->points->len);
    assert_memory_equal (p->points->data, q->points->data, p->points->len * sizeof (WsPoint));
  }
}

static WsToolCard *
card_for (const WsView *view)
{
  guint kind = 0;
  while (!(view->kinds & 1U << kind))
    kind++;
  return ws_tool_card_new ((WsToolKind)kind);
}

/* A picture of its own, loaded so, tells the view what the plain one did. */
static void
check_view (const WsView *view, const WsToolCard *card, const WsResult *plain, const char *path,
            WsImageFlags flags)
{
  const WsOptics optics = { .mm_per_px = MM_PER_PX };
  g_autoptr (WsImage) image = ws_image_load (path, NULL, flags, NULL);
  assert_non_null (image);
  assert_null (image->linear);
  g_autoptr (WsResult) result = ws_measure (view, image, card, &optics);
  check_same_result (plain, result);
  assert_false (wsi_image_is_lost (image));
}

/* Returns how many views measured something. */
static guint
check_views (const WsImage *plain, const char *path, gboolean is_sparse)
{
  const WsOptics optics = { .mm_per_px = MM_PER_PX };
  guint measured = 0;
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
  {
    if (!((*view)->needs & WS_IMAGE_CODED) || (*view)->series != NULL)
      continue;
    g_autoptr (WsToolCard) card = card_for (*view);
    g_autoptr (WsResult) result = ws_measure (*view, plain, card, &optics);
    check_view (*view, card, result, path, WS_IMAGE_CODED);
    if (is_sparse)
      check_view (*view, card, result, path, WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
    measured += result->reason == WS_RETAKE_NONE ? 1 : 0;
  }
  return measured;
}

static guint
check_file (const SceneImage *picture, const char *folder, const char *name, gboolean is_sparse)
{
  g_autofree char *path = g_build_filename (folder, name, NULL);
  assert_true (scene_image_save (picture, path, 90));
  g_autoptr (WsImage) plain = ws_image_load (path, NULL, WS_IMAGE_GREY, NULL);
  g_autoptr (WsImage) sparse = ws_image_load (path, NULL, WS_IMAGE_CODED | WSI_IMAGE_SPARSE, NULL);
  assert_non_null (plain->linear);
  assert_int_equal (sparse->sparse != NULL, is_sparse);
  const guint measured = check_views (plain, path, is_sparse);
  g_remove (path);
  return measured;
}

static guint
check_picture (const SceneImage *picture)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  const guint measured = check_file (picture, folder, "picture.png", wsi_png_rows_can ()) +
                         check_file (picture, folder, "picture.jpg", TRUE);
  g_rmdir (folder);
  return measured;
}

/* So that few of its pixels are kept: a smaller one is kept whole. */
#define FINER 1.6

static void
refine (SceneCamera *camera)
{
  camera->width = (guint)(FINER * camera->width);
  camera->height = (guint)(FINER * camera->height);
  camera->origin_x *= FINER;
  camera->origin_y *= FINER;
  camera->mm_per_px /= FINER;
  camera->bits = 8;
  camera->colour = FALSE;
}

static void
drills (void **state)
{
  (void)state;
  guint measured = 0;
  for (guint mode = 0; mode < SCENE_N_MODES; mode += trial_scenes (2, 4))
  {
    SceneDrill drill;
    SceneCamera camera;
    scene_random (FIRST_SEED + mode, (SceneMode)mode, &drill, &camera);
    refine (&camera);
    g_autoptr (SceneImage) picture = scene_render (&drill, &camera, NULL);
    measured += check_picture (picture);
  }
  assert_true (measured >= SCENE_N_MODES / trial_scenes (2, 4));
}

static void
blades (void **state)
{
  (void)state;
  SceneCamera camera;
  SceneBladePlan plan;
  SceneBladeSide side;
  SceneBladePlanTruth plan_truth;
  SceneBladeSideTruth side_truth;
  scene_random_blade_plan (FIRST_SEED, SCENE_BLADE_GOOD, &plan, &camera);
  refine (&camera);
  g_autoptr (SceneImage) from_above = scene_render_blade_plan (&plan, &camera, &plan_truth);
  assert_true (check_picture (from_above) > 0);
  scene_random_blade_side (FIRST_SEED, SCENE_BLADE_GOOD, &side, &camera);
  refine (&camera);
  g_autoptr (SceneImage) from_the_side = scene_render_blade_side (&side, &camera, &side_truth);
  assert_true (check_picture (from_the_side) > 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (drills),
    cmocka_unit_test (blades),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
