/*
 * Outlines of rendered regrinds laid on each other: what is told as shorter lies within U of the
 * truth, what is told as the least isn't more than it, and nothing is told to stand out.  Drills
 * aren't tried here: the scenes' flutes lie the same before and after.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <math.h>
#include <whetsight/view.h>

#include "scene/regrind.h"
#include "tool/regrind_shots.h"
#include "trial/gates.h"
#include "trial/trial.h"

#define FIRST_SEED 31
#define N_SCENES 3

typedef struct
{
  guint n, laid, told;
} Counts;

static WsImage *
load (const SceneImage *scene)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  WsImage *image =
    scene_image_save (scene, path, 0) ? ws_image_load (path, NULL, WS_IMAGE_GREY, NULL) : NULL;
  g_remove (path);
  g_rmdir (folder);
  return image;
}

static void
check_laid (const WsRegrind *regrind, const SceneRegrind *scene, const char *what, guint seed,
            Counts *counts)
{
  print_message ("%s %u: shorter %s%.4f +- %.4f mm, truth %.4f; %u places\n", what, seed,
                 regrind->is_least ? ">= " : "", regrind->shorter, regrind->U, scene->shorter,
                 regrind->places->len);
  counts->laid++;
  counts->told += regrind->places->len > 0;
  if (regrind->is_least ? regrind->shorter > scene->shorter + regrind->U
                        : fabs (regrind->shorter - scene->shorter) > regrind->U)
    fail_msg ("%s %u: shorter by %g, U %g; the truth is %g", what, seed, regrind->shorter,
              regrind->U, scene->shorter);
  for (guint i = 0; i < regrind->places->len; i++)
    if (g_array_index (regrind->places, WsRegrindPlace, i).stands_out)
      fail_msg ("%s %u: place %u stands out", what, seed, i + 1);
}

static void
lay (const char *view_name, WsToolKind tool, SceneRegrindKind kind, guint seed, Counts *counts)
{
  const char *what = NULL;
  SceneRegrind scene;
  const WsView *view = ws_view_find (view_name);
  g_autoptr (WsToolCard) card = ws_tool_card_new (tool);
  WsOptics optics = WS_OPTICS_UNKNOWN;
  scene_regrind (kind, seed, &scene);
  optics.has_scale = TRUE;
  optics.mm_per_px = scene.mm_per_px;
  optics.u_mm_per_px = 2e-4 * scene.mm_per_px;
  g_autoptr (WsImage) before = load (scene.before);
  g_autoptr (WsImage) after = load (scene.after);
  g_autoptr (WsResult) old = ws_measure (view, before, card, &optics);
  g_autoptr (WsResult) new = ws_measure (view, after, card, &optics);
  const WsRegrindShot shots[] = { { old, &optics }, { new, &optics } };
  assert_true (wsi_regrind_sees (view_name));
  g_autoptr (WsRegrind) regrind = wsi_regrind_of_shots (card, &shots[0], &shots[1], &what);
  counts->n++;
  if (regrind != NULL)
    check_laid (regrind, &scene, view_name, seed, counts);
  else
    print_message ("%s %u: %s; truth %.4f, lower %.4f mm\n", view_name, seed, what, scene.shorter,
                   scene.lower);
  scene_regrind_clear (&scene);
}

static void
test_outlines_of_regrinds (void **state)
{
  (void)state;
  static const struct
  {
    const char *view;
    WsToolKind tool;
    SceneRegrindKind kind;
  } cases[] = {
    { "blade-plan", WS_KIND_CUTOFF_BLADE, SCENE_REGRIND_BLADE },
    { "form-plan", WS_KIND_FORM_TOOL, SCENE_REGRIND_FORM },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    Counts counts = { 0 };
    for (guint k = 0; k < (guint)trial_scenes (N_SCENES, 1); k++)
      lay (cases[i].view, cases[i].tool, cases[i].kind, FIRST_SEED + k, &counts);
    print_message ("%s: %u of %u laid, %u tell what was ground off\n", cases[i].view, counts.laid,
                   counts.n, counts.told);
    assert_int_equal (counts.laid, counts.n);
  }
}

/* From the side what stays on both pictures can't be told from what was ground. */
static void
test_sides_arent_laid (void **state)
{
  (void)state;
  static const char *const views[] = { "blade-side", "form-side", "drill-end", "drill-roll" };
  for (gsize i = 0; i < G_N_ELEMENTS (views); i++)
    assert_false (wsi_regrind_sees (views[i]));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_outlines_of_regrinds),
    cmocka_unit_test (test_sides_arent_laid),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
