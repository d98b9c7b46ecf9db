/*
 * The whole job on `drill-roll`: the demo's bent drill, whole, reversed, with pictures missing and
 * doubled, and series that are none: of another drill's picture, of three flutes, of straight ones.
 */
#include "base/testing.h"
#include "camera/avi_for_tests.h"
#include "scene/roll.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>

#define SERIES WS_SOURCE_DIR "/images/bent-drill"
#define CARD WS_SOURCE_DIR "/images/QT-D-0081.tool"
#define MOST 40

/* Paths of the demo's series, by their numbers in `order`, as options that end in NULL; the first
 * is named apart.  Free with g_strfreev(). */
static char **
paths_of (const guint *order, guint n, double mm_per_px, const char *more)
{
  GPtrArray *options = g_ptr_array_new ();
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  for (guint i = 1; i < n; i++)
    g_ptr_array_add (options, g_strdup_printf (SERIES "/%02u.jpg", order[i]));
  if (more != NULL)
    g_ptr_array_add (options, g_strdup (more));
  const char *const fixed[] = { "--scale",   g_ascii_dtostr (scale, sizeof scale, mm_per_px),
                                "--scale-u", "0.000006",
                                "--tool",    CARD };
  for (gsize i = 0; i < G_N_ELEMENTS (fixed); i++)
    g_ptr_array_add (options, g_strdup (fixed[i]));
  g_ptr_array_add (options, NULL);
  return (char **)g_ptr_array_free (options, FALSE);
}

static TrialRun *
measure (const guint *order, guint n, const SceneRoll *roll, const char *more)
{
  g_autofree char *first = g_strdup_printf (SERIES "/%02u.jpg", order[0]);
  g_auto (GStrv) options = paths_of (order, n, roll->camera.mm_per_px, more);
  return trial_measure_with (trial_program (), "drill-roll", first, (const char *const *)options);
}

static double
uncertainty_of (const TrialRun *run, const char *name)
{
  const json_t *quantity = json_object_get (json_object_get (run->record, "quantities"), name);
  return json_number_value (json_object_get (quantity, "U"));
}

static void
assert_within (const TrialRun *run, const char *name, double truth)
{
  const double value = trial_value (run->record, name), U = uncertainty_of (run, name);
  if (!(fabs (value - truth) <= U))
    fail_msg ("%s: %.5f, U %.5f, truth %.5f", name, value, U, truth);
}

/* Which lip is a, and so the signs, hangs on the picture shown; the sums don't. */
static void
assert_true_numbers (const TrialRun *run, const SceneRollTruth *truth)
{
  assert_non_null (run->record);
  if (trial_is_retake (run))
    fail_msg ("retake: %s", trial_text (run->record, "detail"));
  assert_within (run, "run_out_point_mm", truth->run_out_point_mm);
  assert_within (run, "bend_tilt_deg", truth->bend_tilt_deg);
  assert_within (run, "point_angle_deg", truth->point.point_angle_deg);
  assert_within (run, "diameter_mm", truth->point.diameter_mm);
  assert_within (run, "lead_mm", truth->lead_mm);
  assert_within (run, "helix_deg", truth->helix_deg);
  assert_true (fabs (trial_value (run->record, "lip_height_difference_mm")) < 0.002);
}

/* What the flanks tell when they are the outline, and the margins. */
static void
assert_true_body (const TrialRun *run, const SceneRollTruth *truth, gboolean swapped)
{
  const guint a = swapped ? 1 : 0, b = 1 - a;
  assert_within (run, "lip_relief_a_deg", truth->lip_relief_deg[a][0]);
  assert_within (run, "lip_relief_b_deg", truth->lip_relief_deg[b][0]);
  assert_within (run, "lip_relief_half_radius_a_deg", truth->lip_relief_deg[a][1]);
  assert_within (run, "lip_relief_half_radius_b_deg", truth->lip_relief_deg[b][1]);
  assert_true (uncertainty_of (run, "lip_relief_a_deg") < 0.9);
  assert_within (run, "chisel_edge_angle_deg", truth->chisel_edge_angle_deg);
  assert_within (run, "margin_width_mm", truth->margin_width_mm);
  assert_within (run, "web_mm", truth->web_mm);
}

static void
test_a_bent_drill_is_set_aside (void **state)
{
  (void)state;
  SceneRoll roll;
  SceneRollTruth truth;
  guint order[MOST] = { 0 };
  scene_bent_drill (&roll);
  scene_roll_truth (&roll, &truth);
  for (guint i = 0; i < roll.n; i++)
    order[i] = i;
  g_autoptr (TrialRun) run = measure (order, roll.n, &roll, NULL);
  assert_true_numbers (run, &truth);
  assert_int_equal (run->status, 1);
  g_autofree char *wrong = trial_check_verdicts (run);
  if (wrong != NULL)
    fail_msg ("%s", wrong);
  assert_string_equal (trial_text (run->record, "action"), "set-aside");
  /* The lip that is on the right in the picture shown is b. */
  json_t *images = json_object_get (run->record, "images");
  assert_int_equal (json_array_size (images), roll.n);
  guint shown = 0;
  for (guint i = 0; i < roll.n; i++)
  {
    g_autofree char *path = g_strdup_printf (SERIES "/%02u.jpg", i);
    g_autofree char *bytes = NULL;
    gsize n;
    const json_t *image = json_array_get (images, i);
    assert_true (g_file_get_contents (path, &bytes, &n, NULL));
    g_autofree char *sum =
      g_compute_checksum_for_data (G_CHECKSUM_SHA256, (const guchar *)bytes, n);
    assert_string_equal (trial_text (image, "sha256"), sum);
    if (g_str_equal (sum, trial_text (json_object_get (run->record, "image"), "sha256")))
      shown = i;
    const double turn = json_number_value (json_object_get (image, "turn_deg"));
    assert_near (remainder (turn - roll.frame[i].turn_deg + roll.frame[0].turn_deg, 360), 0, 0.2);
  }
  const gboolean swapped = cos (roll.frame[shown].turn_deg * G_PI / 180) < 0;
  const double direction = truth.bend_direction_deg + (swapped ? 180 : 0);
  assert_within (run, "bend_direction_deg", direction);
  assert_within (run, "half_angle_a_deg",
                 swapped ? truth.point.half_angle_b_deg : truth.point.half_angle_a_deg);
  assert_within (run, "point_offset_mm", truth.point.point_offset_mm * (swapped ? -1 : 1));
  assert_true_body (run, &truth, swapped);
}

/* All pictures lie in the archive, and it knows of each whose it is. */
static void
test_an_archive_keeps_the_series (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *archive = g_build_filename (folder, "archive", NULL);
  const char *const options[] = { "--archive", archive, "--tool", CARD, "--scale", "0.0317", NULL };
  g_autoptr (TrialRun) run = trial_measure_with (trial_program (), "drill-roll", SERIES, options);
  assert_non_null (run->record);
  const char *const verify[] = { trial_program (), "archive", "verify", archive, NULL };
  const char *const remove[] = { "rm", "-r", folder, NULL };
  g_autofree char *said = NULL;
  int status = -1;
  assert_true (g_spawn_sync (NULL, (char **)verify, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &said,
                             NULL, &status, NULL));
  assert_int_equal (status, 0);
  assert_non_null (strstr (said, "19 pictures"));
  assert_true (g_spawn_sync (NULL, (char **)remove, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL,
                             NULL, NULL, NULL));
}

static TrialRun *
measure_file (const char *path, double mm_per_px)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  const char *const options[] = { "--scale",   g_ascii_dtostr (scale, sizeof scale, mm_per_px),
                                  "--scale-u", "0.000006",
                                  "--tool",    CARD,
                                  NULL };
  return trial_measure_with (trial_program (), "drill-roll", path, options);
}

/* A video of the series, and a list of its pictures. */
static void
test_a_video_and_a_list_are_series (void **state)
{
  (void)state;
  SceneRoll roll;
  SceneRollTruth truth;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *video = g_build_filename (folder, "roll.avi", NULL);
  g_autofree char *list = g_build_filename (folder, "roll.txt", NULL);
  g_autoptr (GString) names = g_string_new ("# turned by hand\n");
  g_autoptr (GPtrArray) pictures = g_ptr_array_new_with_free_func ((GDestroyNotify)g_bytes_unref);
  scene_bent_drill (&roll);
  scene_roll_truth (&roll, &truth);
  for (guint i = 0; i < roll.n; i++)
  {
    g_autofree char *path = g_strdup_printf (SERIES "/%02u.jpg", i);
    gsize n = 0;
    char *bytes = NULL;
    assert_true (g_file_get_contents (path, &bytes, &n, NULL));
    g_ptr_array_add (pictures, g_bytes_new_take (bytes, n));
    g_string_append_printf (names, "%s\n", path);
  }
  const AviSize size = { roll.camera.width, roll.camera.height, 5 };
  g_autoptr (GByteArray) file = avi_of_jpegs (pictures, &size);
  assert_true (g_file_set_contents (video, (const char *)file->data, file->len, NULL));
  assert_true (g_file_set_contents (list, names->str, -1, NULL));
  g_autoptr (TrialRun) of_video = measure_file (video, roll.camera.mm_per_px);
  assert_true_numbers (of_video, &truth);
  g_autoptr (TrialRun) of_list = measure_file (list, roll.camera.mm_per_px);
  assert_true_numbers (of_list, &truth);
  assert_true (g_file_set_contents (list, "missing.jpg\n", -1, NULL));
  g_autoptr (TrialRun) missing = measure_file (list, roll.camera.mm_per_px);
  assert_int_equal (missing->status, 66);
  g_remove (list);
  g_remove (video);
  g_rmdir (folder);
}

static void
test_order_and_number_dont_matter (void **state)
{
  (void)state;
  SceneRoll roll;
  SceneRollTruth truth;
  guint order[MOST] = { 0 }, n = 0;
  scene_bent_drill (&roll);
  scene_roll_truth (&roll, &truth);
  /* The other way round, one missing, one twice. */
  for (guint i = roll.n; i-- > 0;)
  {
    if (i != 5)
      order[n++] = i;
    if (i == 11)
      order[n++] = i;
  }
  g_autoptr (TrialRun) run = measure (order, n, &roll, NULL);
  assert_true_numbers (run, &truth);
}

static void
assert_refused (const TrialRun *run, const char *words)
{
  g_autofree char *wrong = trial_check_retake (run, "wrong-view");
  if (wrong != NULL)
    fail_msg ("%s", wrong);
  const char *detail = trial_text (run->record, "detail");
  if (strstr (detail, words) == NULL)
    fail_msg ("\"%s\" lacks \"%s\"", detail, words);
}

static void
test_what_is_no_series_is_refused (void **state)
{
  (void)state;
  SceneRoll roll;
  scene_bent_drill (&roll);
  const guint few[] = { 0, 1, 2 };
  g_autoptr (TrialRun) three = measure (few, 3, &roll, NULL);
  assert_refused (three, "3 pictures");
  guint order[MOST] = { 0 };
  for (guint i = 0; i < roll.n; i++)
    order[i] = i * 7 % roll.n;
  g_autoptr (TrialRun) shuffled = measure (order, roll.n, &roll, NULL);
  assert_refused (shuffled, "order");
  /* Of the last one another drill's picture. */
  for (guint i = 0; i < roll.n; i++)
    order[i] = i;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "other.png", NULL);
  roll.drill.helix_deg = 38;
  roll.drill.land_deg = 70;
  g_autoptr (SceneImage) other = scene_render_roll (&roll, roll.n - 1);
  assert_true (scene_image_save (other, path, 0));
  g_autoptr (TrialRun) mixed = measure (order, roll.n - 1, &roll, path);
  assert_refused (mixed, "another body");
  g_remove (path);
  g_rmdir (folder);
}

/* Of a section that looks alike so many times a turn. */
static double
support (double angle)
{
  return 0.88 + 0.08 * cos (angle) + 0.04 * cos (2 * angle);
}

/* A body of such a section, with a blunt end. */
static ScenePolygon
lobed_body (double radius, double twist, guint lobes, double turn)
{
  const guint n = 400;
  ScenePolygon body = { g_new (ScenePoint, 2 * n), 2 * n, 1 };
  for (guint i = 0; i < n; i++)
  {
    const double z = -8 * radius * i / (n - 1.0), cap = MIN (1, 0.3 + -z / radius);
    const double at = lobes * (turn + twist * z), other = at + lobes * G_PI;
    body.points[i] = (ScenePoint){ cap * radius * support (at), z };
    body.points[2 * n - 1 - i] = (ScenePoint){ -cap * radius * support (other), z };
  }
  return body;
}

static TrialRun *
measure_lobed (double twist, guint lobes)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  SceneRoll roll;
  scene_bent_drill (&roll);
  for (guint i = 0; i < 14; i++)
  {
    g_autofree char *name = g_strdup_printf ("%02u.png", i);
    g_autofree char *path = g_build_filename (folder, name, NULL);
    ScenePolygon body = lobed_body (4, twist, lobes, i * 28 * G_PI / 180);
    scene_camera_project (&roll.camera, &body);
    g_autoptr (SceneImage) image = scene_render_polygons (&body, 1, &roll.camera);
    assert_true (scene_image_save (image, path, 0));
    scene_polygon_clear (&body);
  }
  const char *const options[] = { NULL };
  TrialRun *run = trial_measure_with (trial_program (), "drill-roll", folder, options);
  for (guint i = 0; i < 14; i++)
  {
    g_autofree char *path = g_strdup_printf ("%s/%02u.png", folder, i);
    g_remove (path);
  }
  g_rmdir (folder);
  return run;
}

static void
test_other_flutes_are_refused (void **state)
{
  (void)state;
  g_autoptr (TrialRun) three = measure_lobed (0.15, 3);
  assert_refused (three, "two flutes");
  g_autoptr (TrialRun) straight = measure_lobed (0, 2);
  assert_refused (straight, "straight");
  g_autoptr (TrialRun) rod = measure_lobed (0.15, 0);
  assert_refused (rod, "flutes");
}

/* Half a turn apart, lips a little out of the picture's plane, seen by a camera that leans. */
static void
test_two_pictures_take_the_lean_out (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  char scale[G_ASCII_DTOSTR_BUF_SIZE], *paths[2];
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  scene_drill_init (&drill, 8);
  drill.height = 0.05;
  drill.offset = -0.03;
  scene_camera_init (&camera);
  scene_camera_aim (&camera, &drill, 0.36);
  camera.shot = 0.005;
  camera.tilt_deg = 0.6;
  for (guint k = 0; k < 2; k++)
  {
    camera.turn_deg = k == 0 ? 0.4 : 180.2;
    camera.seed = k + 1;
    paths[k] = g_strdup_printf ("%s/%u.png", folder, k);
    g_autoptr (SceneImage) image = scene_render (&drill, &camera, k == 0 ? &truth : NULL);
    assert_true (scene_image_save (image, paths[k], 0));
  }
  const char *const options[] = { paths[1], "--scale",
                                  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px), NULL };
  g_autoptr (TrialRun) both =
    trial_measure_with (trial_program (), "drill-reverse", paths[0], options);
  g_autoptr (TrialRun) one = trial_measure (trial_program (), paths[0], camera.mm_per_px);
  static const char *const names[] = { "lip_height_difference_mm", "point_offset_mm" };
  const double truths[] = { truth.lip_height_difference_mm, truth.point_offset_mm };
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    assert_within (both, names[i], truths[i]);
    assert_true (uncertainty_of (both, names[i]) < 0.4 * uncertainty_of (one, names[i]));
  }
  const char *const again[] = { paths[0], NULL };
  g_autoptr (TrialRun) twice =
    trial_measure_with (trial_program (), "drill-reverse", paths[0], again);
  assert_refused (twice, "same picture");
  for (guint k = 0; k < 2; k++)
  {
    g_remove (paths[k]);
    g_free (paths[k]);
  }
  g_rmdir (folder);
}

/* Half a turn on, the lip that carries it is on the other side. */
static void
test_a_wire_edge_stays_on_its_lip (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  char scale[G_ASCII_DTOSTR_BUF_SIZE], *paths[2];
  SceneCamera camera;
  SceneTruth truth;
  for (guint k = 0; k < 2; k++)
  {
    SceneDrill drill;
    SceneTruth *told = k == 0 ? &truth : NULL;
    const SceneBurr burr = {
      .height = 0.08, .from = 0.4, .to = 0.75, .grain = 0.2, .taper = 0.1, .seed = 5
    };
    scene_drill_init (&drill, 8);
    drill.half_angle_a = k == 0 ? 59.0 : 58.8;
    drill.half_angle_b = k == 0 ? 58.8 : 59.0;
    *(k == 0 ? &drill.burr_a : &drill.burr_b) = burr;
    scene_camera_init (&camera);
    scene_camera_aim (&camera, &drill, 0.36);
    camera.shot = 0.005;
    camera.seed = k + 1;
    paths[k] = g_strdup_printf ("%s/%u.png", folder, k);
    g_autoptr (SceneImage) image = scene_render (&drill, &camera, told);
    assert_true (scene_image_save (image, paths[k], 0));
  }
  const char *const options[] = { paths[1], "--scale",
                                  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px), NULL };
  g_autoptr (TrialRun) both =
    trial_measure_with (trial_program (), "drill-reverse", paths[0], options);
  assert_true (truth.burr_height_a_mm > 3 * camera.mm_per_px);
  assert_within (both, "burr_height_a_mm", truth.burr_height_a_mm);
  assert_within (both, "burr_length_a_mm", truth.burr_length_a_mm);
  assert_true (trial_value (both->record, "burr_height_b_mm") == 0);
  for (guint k = 0; k < 2; k++)
  {
    g_remove (paths[k]);
    g_free (paths[k]);
  }
  g_rmdir (folder);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_bent_drill_is_set_aside),
    cmocka_unit_test (test_an_archive_keeps_the_series),
    cmocka_unit_test (test_a_video_and_a_list_are_series),
    cmocka_unit_test (test_order_and_number_dont_matter),
    cmocka_unit_test (test_what_is_no_series_is_refused),
    cmocka_unit_test (test_two_pictures_take_the_lean_out),
    cmocka_unit_test (test_a_wire_edge_stays_on_its_lip),
    cmocka_unit_test (test_other_flutes_are_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
