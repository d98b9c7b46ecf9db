/*
 * Marks on rendered surfaces: feed is never called chatter, and chatter's pitch is right.
 */
#include "base/testing.h"

#include <glib/gstdio.h>

#include "scene/surface.h"
#include "trial/gates.h"
#include "trial/trial.h"

#define FIRST_SEED 300
#define N_SCENES trial_scenes (4, 1)

static TrialRun *
measure (const char *folder, const SceneSurface *surface, const char *part)
{
  g_autofree char *picture = g_build_filename (folder, "surface.png", NULL);
  g_autofree char *card = g_build_filename (folder, "a.tool", NULL);
  g_autofree char *text = g_strdup_printf ("[tool]\nid = QT-F-0001\nkind = form-tool\n%s", part);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, surface->mm_per_px);
  g_autoptr (SceneImage) image = scene_render_surface (surface);
  assert_true (scene_image_save (image, picture, 0));
  assert_true (g_file_set_contents (card, text, -1, NULL));
  const char *const options[] = { "--tool", card, "--scale", scale, NULL };
  TrialRun *run = trial_measure_with (trial_program (), "part-surface", picture, options);
  g_unlink (picture);
  g_unlink (card);
  assert_non_null (run->record);
  return run;
}

static double
number (const TrialRun *run, const char *name, const char *what)
{
  const json_t *quantity = json_object_get (json_object_get (run->record, "quantities"), name);
  const json_t *value = json_object_get (quantity, what);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

static void
assert_covered (const TrialRun *run, const char *name, double truth)
{
  const double off = fabs (number (run, name, "value") - truth), U = number (run, name, "U");
  if (!(off <= 1.5 * U))
    fail_msg ("%s: %g, in truth %g, U %g", name, number (run, name, "value"), truth, U);
}

static void
chatter_has_its_pitch (void **state)
{
  const char *folder = *state;
  guint found = 0;
  for (guint i = 0; i < N_SCENES; i++)
  {
    SceneSurface surface;
    scene_random_surface (FIRST_SEED + i, TRUE, &surface);
    g_autoptr (TrialRun) run = measure (folder, &surface, "");
    const double pitch = number (run, "chatter_pitch_mm", "value");
    /* Numbers as good as they get ask for no other picture. */
    if (isfinite (pitch))
      assert_true (json_is_null (json_object_get (run->record, "action")));
    assert_true (g_strcmp0 (trial_text (run->record, "verdict"), "accept") != 0);
    assert_true (g_strcmp0 (trial_text (run->record, "verdict"), "reject") != 0);
    if (isnan (pitch))
      continue;
    found++;
    assert_true (fabs (pitch / surface.chatter - 1) < 0.02);
    assert_covered (run, "chatter_pitch_mm", surface.chatter);
    assert_covered (run, "chatter_angle_deg", fabs (surface.chatter_deg));
  }
  assert_true (10 * found >= 8 * N_SCENES);
}

static void
feed_is_no_chatter (void **state)
{
  const char *folder = *state;
  guint found = 0, with_feed = 0;
  for (guint i = 0; i < N_SCENES; i++)
  {
    SceneSurface surface;
    scene_random_surface (FIRST_SEED + 500 + i, FALSE, &surface);
    g_autoptr (TrialRun) run = measure (folder, &surface, "");
    assert_true (isnan (number (run, "chatter_pitch_mm", "value")));
    with_feed += surface.feed > 0 ? 1 : 0;
    if (isnan (number (run, "feed_pitch_mm", "value")))
      continue;
    found++;
    assert_covered (run, "feed_pitch_mm", surface.feed);
  }
  assert_true (10 * found >= 6 * with_feed);
}

/* Streaks wider than two px drown in the grain at high frequencies: the low ones tell the lay. */
static void
wide_streaks_tell_the_way (void **state)
{
  const char *folder = *state;
  SceneSurface surface;
  scene_random_surface (FIRST_SEED + 1, TRUE, &surface);
  surface.streak = 2.6 * surface.mm_per_px;
  surface.streaks = 0.03;
  surface.grain = 0.045;
  surface.blur_px = 1.2;
  surface.chatter = 30 * surface.mm_per_px;
  surface.chatter_contrast = 0.1;
  surface.ripple = surface.round = surface.feed = 0;
  g_autoptr (TrialRun) run = measure (folder, &surface, "");
  assert_true (isnan (number (run, "feed_pitch_mm", "value")));
  assert_covered (run, "chatter_pitch_mm", surface.chatter);
  assert_covered (run, "chatter_angle_deg", fabs (surface.chatter_deg));
}

/* f = pi D n / (60 p): 62.83 marks a turn and 628.3 Hz (docs/methods/part-surface.md, S5). */
static void
marks_a_turn_are_told (void **state)
{
  const char *folder = *state;
  SceneSurface surface;
  scene_random_surface (FIRST_SEED, TRUE, &surface);
  surface.mm_per_px = 0.1;
  surface.streak = 0.2;
  surface.chatter = 2.5;
  surface.chatter_deg = 0;
  surface.chatter_contrast = 0.1;
  surface.ripple = surface.round = surface.feed = 0;
  g_autoptr (TrialRun) run = measure (
    folder, &surface, "[part]\ndiameter_mm = 50\nspeed_rpm = 600\norders = gear 63; bearing 7.2\n");
  assert_covered (run, "chatter_pitch_mm", 2.5);
  g_autofree char *all = json_dumps (json_object_get (run->record, "findings"), 0);
  assert_contains (all, "marks a turn");
  assert_contains (all, " Hz");
  assert_contains (all, "as gear has, 63");
  assert_lacks (all, "bearing");
}

/* What isn't a cut surface isn't measured as one. */
static void
other_pictures_are_retakes (void **state)
{
  const char *folder = *state;
  SceneSurface surface;
  scene_random_surface (FIRST_SEED, FALSE, &surface);
  surface.feed = surface.streaks = 0;
  g_autoptr (TrialRun) plain = measure (folder, &surface, "");
  assert_string_equal (trial_text (plain->record, "verdict"), "retake");
}

static int
make_folder (void **state)
{
  *state = g_dir_make_tmp ("whetsight-surface-XXXXXX", NULL);
  return *state != NULL ? 0 : -1;
}

static int
remove_folder (void **state)
{
  const int status = g_rmdir (*state);
  g_free (*state);
  return status;
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
    cmocka_unit_test (chatter_has_its_pitch),      cmocka_unit_test (feed_is_no_chatter),
    cmocka_unit_test (wide_streaks_tell_the_way),  cmocka_unit_test (marks_a_turn_are_told),
    cmocka_unit_test (other_pictures_are_retakes),
  };
  return cmocka_run_group_tests (tests, make_folder, remove_folder);
}
