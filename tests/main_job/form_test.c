/*
 * Form tools, by the real program on pictures with known truth: rendered profiles with an error on
 * one segment, and photographs of ground teeth whose angles were read by hand.
 */
#include "base/testing.h"

#include <glib/gstdio.h>

#include "scene/profile.h"
#include "trial/trial.h"

#define FIRST_SEED 7100
#define ERROR_MM 0.02

typedef struct
{
  int status;
  json_t *record;
  char *errors;
} Run;

static void
run_clear (Run *run)
{
  json_decref (run->record);
  g_free (run->errors);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

/* Arguments beside "measure --json"; NULL-terminated. */
static Run
measure (const char *const *arguments)
{
  Run run = { 0 };
  g_autofree char *out = NULL;
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  g_ptr_array_add (call, (gpointer)trial_program ());
  g_ptr_array_add (call, (gpointer) "measure");
  g_ptr_array_add (call, (gpointer) "--json");
  for (; *arguments != NULL; arguments++)
    g_ptr_array_add (call, (gpointer)*arguments);
  g_ptr_array_add (call, NULL);
  int wait_status;
  assert_true (g_spawn_sync (NULL, (char **)call->pdata, NULL, G_SPAWN_DEFAULT, NULL, NULL, &out,
                             &run.errors, &wait_status, NULL));
  run.status = WIFEXITED (wait_status) ? WEXITSTATUS (wait_status) : -1;
  run.record = json_loads (out, 0, NULL);
  return run;
}

static double
field (const json_t *record, const char *quantity, const char *key)
{
  const json_t *entry = json_object_get (json_object_get (record, "quantities"), quantity);
  const json_t *value = json_object_get (entry, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

static const char *
verdict_of (const json_t *record, const char *quantity)
{
  const json_t *entry = json_object_get (json_object_get (record, "quantities"), quantity);
  return json_string_value (json_object_get (entry, "verdict"));
}

/* ---- Rendered profiles --------------------------------------------------------------- */

typedef struct
{
  char *folder, *card, *profile, *picture;
} Files;

static int
make_files (void **state)
{
  Files *files = g_new0 (Files, 1);
  files->folder = g_dir_make_tmp ("whetsight-form-XXXXXX", NULL);
  files->card = g_build_filename (files->folder, "form.tool", NULL);
  files->profile = g_build_filename (files->folder, "form.profile", NULL);
  files->picture = g_build_filename (files->folder, "form.png", NULL);
  *state = files;
  return 0;
}

static int
remove_files (void **state)
{
  Files *files = *state;
  g_unlink (files->card);
  g_unlink (files->profile);
  g_unlink (files->picture);
  g_rmdir (files->folder);
  g_free (files->folder);
  g_free (files->card);
  g_free (files->profile);
  g_free (files->picture);
  g_free (files);
  return 0;
}

static void
write_card (const Files *files, const char *more)
{
  g_autofree char *text = g_strconcat ("[tool]\nid = QT-F-9999\nkind = form-tool\n", more, NULL);
  assert_true (g_file_set_contents (files->card, text, -1, NULL));
}

#define BAND                                                                                       \
  "nominal_profile = form.profile\n[limits]\n"                                                     \
  "profile_deviation_max_mm = .. 0.01\nprofile_deviation_min_mm = -0.01 ..\n"

static Run
take_and_measure (const Files *files, const SceneProfile *profile, const SceneCamera *camera,
                  gboolean as_dxf)
{
  g_autofree char *text = as_dxf ? scene_profile_dxf (profile) : scene_profile_text (profile);
  assert_true (g_file_set_contents (files->profile, text, -1, NULL));
  g_autoptr (SceneImage) image = scene_render_profile (profile, camera);
  assert_true (scene_image_save (image, files->picture, 0));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera->mm_per_px);
  const char *const arguments[] = { "--tool",  files->card, "--view",       "form-plan",
                                    "--scale", scale,       files->picture, NULL };
  return measure (arguments);
}

/* Sums over many pictures. */
typedef struct
{
  guint n, inside;
  double squares, worst_map_px;
  GArray *U; /* of double, mm */
} Sums;

static void
check_segment (const Run *run, guint number, double truth, guint64 seed, Sums *sums)
{
  g_autofree char *name = g_strdup_printf ("segment_%u_deviation_mm", number);
  const double value = field (run->record, name, "value"), U = field (run->record, name, "U");
  const char *verdict = verdict_of (run->record, name);
  const gboolean is_off = fabs (truth) > 0;
  if (!isfinite (value) || g_strcmp0 (verdict, is_off ? "reject" : "accept") != 0)
  {
    print_error ("seed %" G_GUINT64_FORMAT ": %s %.5f +- %.5f mm, truth %.3f: %s\n", seed, name,
                 value, U, truth, verdict != NULL ? verdict : "null");
    fail ();
  }
  sums->n++;
  sums->inside += fabs (value - truth) <= U;
  sums->squares += (value - truth) * (value - truth);
  g_array_append_val (sums->U, U);
}

/* RMS of the map less what truth is, by the segments' lengths, px. */
static double
map_error_px (const Run *run, const SceneProfile *profile, double mm_per_px)
{
  double squares = 0, length = 0;
  ScenePoint at = profile->start;
  for (guint i = 0; i < profile->n; i++)
  {
    const SceneSegment *s = &profile->segments[i];
    const double chord = hypot (s->to.x - at.x, s->to.y - at.y);
    squares += chord * s->error * s->error;
    length += chord;
    at = s->to;
  }
  const double truth = sqrt (squares / length);
  const double rms = field (run->record, "profile_deviation_rms_mm", "value");
  return fabs (rms - truth) / mm_per_px;
}

static void
one_error_is_found_on_its_segment_alone (void **state)
{
  const Files *files = *state;
  Sums sums = { 0, 0, 0, 0, g_array_new (FALSE, FALSE, sizeof (double)) };
  write_card (files, BAND);
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + 24; seed++)
  {
    SceneProfile profile;
    SceneCamera camera;
    scene_profile_random (seed, &profile, &camera);
    const guint off = (guint)(seed % profile.n);
    profile.segments[off].error = seed % 2 == 0 ? ERROR_MM : -ERROR_MM;
    g_auto (Run) run = take_and_measure (files, &profile, &camera, seed % 3 == 0);
    if (run.status != 1)
      print_error ("seed %" G_GUINT64_FORMAT ": status %d %s\n", seed, run.status,
                   trial_text (run.record, "detail"));
    assert_int_equal (run.status, 1);
    for (guint i = 0; i < profile.n; i++)
      check_segment (&run, i + 1, profile.segments[i].error, seed, &sums);
    sums.worst_map_px = MAX (sums.worst_map_px, map_error_px (&run, &profile, camera.mm_per_px));
  }
  double U = 0;
  for (guint i = 0; i < sums.U->len; i++)
    U += g_array_index (sums.U, double, i) / sums.U->len;
  print_message ("%u segments: RMS error %.5f mm, mean U %.5f mm, %u inside U; map's RMS within "
                 "%.3f px of truth\n",
                 sums.n, sqrt (sums.squares / sums.n), U, sums.inside, sums.worst_map_px);
  assert_true (sums.inside >= 0.95 * sums.n);
  assert_true (sums.worst_map_px < 0.15);
  g_array_unref (sums.U);
}

static void
a_good_tool_is_accepted (void **state)
{
  const Files *files = *state;
  write_card (files, BAND);
  for (guint64 seed = FIRST_SEED + 50; seed < FIRST_SEED + 58; seed++)
  {
    SceneProfile profile;
    SceneCamera camera;
    scene_profile_random (seed, &profile, &camera);
    g_auto (Run) run = take_and_measure (files, &profile, &camera, FALSE);
    assert_int_equal (run.status, 0);
    const double rms = field (run.record, "profile_deviation_rms_mm", "value");
    assert_true (rms / camera.mm_per_px < 0.15);
  }
}

int
main (void)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest rendered[] = {
    cmocka_unit_test (one_error_is_found_on_its_segment_alone),
    cmocka_unit_test (a_good_tool_is_accepted),
  };
  return cmocka_run_group_tests_name ("rendered form tools", rendered, make_files, remove_files);
}
