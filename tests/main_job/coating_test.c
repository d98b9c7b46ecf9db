/*
 * The whole job on coated flanks: the card's coating is held against the colour that is seen, and a
 * coating that fits is its own reference for burn and wear.
 */
#include "base/testing.h"
#include "scene/flank.h"
#include "trial/trial.h"

#include <glib/gstdio.h>

#define SEED 301

/* Not worn, not burnt. */
static void
clean_face (SceneCover cover, SceneFace *face)
{
  scene_random_face (SEED, face);
  face->heat.depth = 0;
  face->land = 0;
  face->cover = cover;
}

static TrialRun *
measured (const SceneFace *face, const char *coating)
{
  char width[G_ASCII_DTOSTR_BUF_SIZE], scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (width, sizeof width, face->width);
  g_ascii_dtostr (scale, sizeof scale, face->lamp.mm_per_px);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  g_autofree char *card = g_build_filename (folder, "blade.tool", NULL);
  g_autofree char *text =
    g_strdup_printf ("[tool]\nid = blade\nkind = cutoff-blade\nwidth_mm = %s\n"
                     "part_has_centre_hole = yes\n%s%s\n",
                     width, coating != NULL ? "coating = " : "", coating != NULL ? coating : "");
  g_autoptr (SceneImage) image = scene_render_face (face);
  assert_true (scene_image_save (image, path, 0));
  assert_true (g_file_set_contents (card, text, -1, NULL));
  const char *const options[] = { "--tool", card, "--scale", scale, NULL };
  TrialRun *run = trial_measure_with (trial_program (), "blade-face", path, options);
  g_remove (path);
  g_remove (card);
  g_rmdir (folder);
  assert_non_null (run->record);
  return run;
}

static void
the_card_is_held_against_the_colour (void **state)
{
  (void)state;
  static const struct
  {
    SceneCover cover;
    const char *coating, *verdict, *reason;
  } all[] = {
    { SCENE_BARE, "black-oxide", "accept", NULL },
    { SCENE_BARE, "TiN", "undecided", "card-mismatch" },
    { SCENE_GOLD_COATING, NULL, "undecided", "not-seen" },
    { SCENE_GOLD_COATING, "TiN", "accept", NULL },
    { SCENE_GOLD_COATING, "none", "undecided", "card-mismatch" },
    { SCENE_BLUE_COATING, "TiAlN", "accept", NULL },
  };
  for (guint i = 0; i < G_N_ELEMENTS (all); i++)
  {
    SceneFace face;
    clean_face (all[i].cover, &face);
    g_autoptr (TrialRun) run = measured (&face, all[i].coating);
    if (g_strcmp0 (trial_text (run->record, "verdict"), all[i].verdict) != 0)
      g_printerr ("%u: %s\n", i, trial_text (run->record, "detail"));
    assert_string_equal (trial_text (run->record, "verdict"), all[i].verdict);
    assert_true (g_strcmp0 (trial_text (run->record, "reason"), all[i].reason) == 0);
  }
}

/* Bare steel where the coating is rubbed off is no burn; heat on a coating is in doubt. */
static void
wear_is_measured_on_a_coating_and_heat_is_in_doubt (void **state)
{
  (void)state;
  SceneFace face;
  clean_face (SCENE_GOLD_COATING, &face);
  face.land = 0.08 * face.width;
  face.land_light = 1.6;
  g_autoptr (TrialRun) worn = measured (&face, "TiN");
  assert_near (trial_value (worn->record, "wear_land_mean_mm"), face.land, 0.02 * face.width);
  assert_near (trial_value (worn->record, "burn_depth_max_mm"), 0, 0);

  clean_face (SCENE_GOLD_COATING, &face);
  face.heat = (SceneHeat){ 0.2 * face.width, 0.5, 0.2, 0.7, 0.05, 1.0 };
  g_autoptr (TrialRun) burnt = measured (&face, "TiN");
  assert_string_equal (trial_text (burnt->record, "verdict"), "undecided");
  assert_true (isnan (trial_value (burnt->record, "burn_depth_max_mm")));
}

int
main (void)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_card_is_held_against_the_colour),
    cmocka_unit_test (wear_is_measured_on_a_coating_and_heat_is_in_doubt),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
