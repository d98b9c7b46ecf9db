/*
 * Regrinds with known truth: what is said of them lies within half a pixel and inside U, and the
 * program tells it from its archive.  Many more: tests/trial regrind.
 */
#include "archive/sample_for_tests.h"
#include "base/testing.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

#include "scene/regrind.h"
#include "trial/gates.h"
#include "trial/regrind.h"
#include "trial/trial.h"

#define FIRST_SEED 31
#define N_SCENES trial_scenes (1, 1)

static void
regrinds_are_measured (void **state)
{
  (void)state;
  /* A blade's goes through the program, below. */
  for (guint kind = 0; kind < SCENE_N_REGRINDS; kind++)
    for (guint i = 0; kind != SCENE_REGRIND_BLADE && kind != SCENE_REGRIND_SIDE && i < N_SCENES;
         i++)
    {
      TrialRegrind one;
      trial_regrind_measure ((SceneRegrindKind)kind, FIRST_SEED + i, &one);
      if (one.refused != NULL || !(fabs (one.error) <= MIN (one.U, 0.5)))
        fail_msg ("%s %u: %s error %g, U %g px", scene_regrind_name ((SceneRegrindKind)kind),
                  FIRST_SEED + i, one.refused != NULL ? one.refused : "", one.error, one.U);
      trial_regrind_clear (&one);
    }
}

/* ---- Through the program ------------------------------------------------------------------------
 */

typedef struct
{
  char *folder, *archive, *scale;
  SceneRegrind scene;
} Shop;

static char *
file_in (const Shop *shop, const char *name)
{
  return g_build_filename (shop->folder, name, NULL);
}

static void
measure (const Shop *shop, const char *name, const SceneImage *image, gboolean reground)
{
  g_autofree char *path = file_in (shop, name);
  g_autofree char *card = file_in (shop, "a.tool");
  assert_true (scene_image_save (image, path, 0));
  assert_true (g_file_set_contents (
    card, "[tool]\nid = QT-B-0030\nkind = cutoff-blade\n[limits]\nside_rake_deg = 0 .. 20\n", -1,
    NULL));
  const char *const options[] = { "--tool",
                                  card,
                                  "--archive",
                                  shop->archive,
                                  "--scale",
                                  shop->scale,
                                  reground ? "--reground" : NULL,
                                  "--set-out-by",
                                  "stop",
                                  NULL };
  g_autoptr (TrialRun) run = trial_measure_with (trial_program (), "blade-plan", path, options);
  assert_true (run->status >= 0 && run->status <= 2);
  g_autofree char *advice =
    json_dumps (json_object_get (run->record, "advice"), JSON_COMPACT | JSON_ENCODE_ANY);
  assert_int_equal (strstr (advice, "Set it out by") != NULL, reground);
  g_unlink (path);
  g_unlink (card);
}

/* Standard output of `explain set-out`, with one option more; free with g_free(). */
static char *
explain (const Shop *shop, const char *option, const char *value, int *status)
{
  const char *argv[] = { trial_program (), "explain",   "set-out", "--archive", shop->archive,
                         "--tool",         "QT-B-0030", option,    value,       NULL };
  char *out = NULL;
  assert_true (g_spawn_sync (NULL, (char **)argv, NULL, G_SPAWN_DEFAULT, NULL, NULL, &out, NULL,
                             status, NULL));
  return out;
}

static void
the_archive_tells (void **state)
{
  Shop *shop = *state;
  int status;
  measure (shop, "before.png", shop->scene.before, FALSE);
  g_autofree char *early = explain (shop, "--reference=stop", "--json", &status);
  assert_int_equal (WEXITSTATUS (status), 66);
  assert_string_equal (early, "");
  measure (shop, "after.png", shop->scene.after, TRUE);

  g_autofree char *line = explain (shop, "--reference=stop", "--json", &status);
  assert_int_equal (status, 0);
  json_t *told = json_loads (line, 0, NULL);
  const json_t *q = json_object_get (json_object_get (told, "quantities"), "shorter_mm");
  const double value = json_number_value (json_object_get (q, "value"));
  const double U = json_number_value (json_object_get (q, "U"));
  assert_true (fabs (value - shop->scene.shorter) <= U);
  assert_true (fabs (value - shop->scene.shorter) <= 0.5 * shop->scene.mm_per_px);
  json_decref (told);

  g_autofree char *text = explain (shop, "--reference=stop", NULL, &status);
  assert_non_null (strstr (text, "Set it out by"));
  assert_non_null (strstr (text, "1/16 to 1/8 inch"));
  assert_non_null (strstr (text, "Lock the machine out"));
  assert_null (strstr (text, "nan"));

  /* The camera was moved, and that is seen by the bar. */
  g_autofree char *moved = explain (shop, "--reference=camera", NULL, &status);
  assert_int_equal (WEXITSTATUS (status), 3);
  assert_non_null (strstr (moved, "the camera moved"));

  /* Straight sides don't say how far along a blade lies. */
  g_autofree char *alone = explain (shop, NULL, NULL, &status);
  assert_int_equal (WEXITSTATUS (status), 3);
  assert_non_null (strstr (alone, "how far along"));
}

static int
set_up (void **state)
{
  Shop *shop = g_new0 (Shop, 1);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  shop->folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  shop->archive = file_in (shop, "archive");
  scene_regrind (SCENE_REGRIND_BLADE, FIRST_SEED, &shop->scene);
  shop->scale = g_strdup (g_ascii_dtostr (scale, sizeof scale, shop->scene.mm_per_px));
  *state = shop;
  return 0;
}

static int
tear_down (void **state)
{
  Shop *shop = *state;
  sample_remove_tree (shop->folder);
  scene_regrind_clear (&shop->scene);
  g_free (shop->folder);
  g_free (shop->archive);
  g_free (shop->scale);
  g_free (shop);
  return 0;
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (regrinds_are_measured),
    cmocka_unit_test_setup_teardown (the_archive_tells, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
