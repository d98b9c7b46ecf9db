/*
 * Form tools, by the real program on pictures with known truth: rendered profiles with an error on
 * one segment, and photographs of ground teeth whose angles were read by hand.
 */
#include "base/testing.h"

#include <glib/gstdio.h>

#include "scene/blade.h"
#include "scene/profile.h"
#include "trial/gates.h"
#include "trial/trial.h"

#define FIRST_SEED 7100
#define N_OFF trial_scenes (16, 2) /* when full, twice every segment, with either sign */
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

static const json_t *
finding_of (const json_t *record, const char *code)
{
  gsize i;
  const json_t *entry;
  json_array_foreach (json_object_get (record, "findings"), i,
                      entry) if (g_strcmp0 (trial_text (entry, "code"), code) == 0) return entry;
  return NULL;
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

/* Wide enough for any profile that fits. */
#define WIDE "[limits]\nprofile_deviation_max_mm = .. 1\nprofile_deviation_min_mm = -1 ..\n"

static Run
measure_profile (const Files *files, const char *profile, const SceneImage *image, double mm_per_px)
{
  assert_true (g_file_set_contents (files->profile, profile, -1, NULL));
  assert_true (scene_image_save (image, files->picture, 0));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, mm_per_px);
  const char *const arguments[] = { "--tool",  files->card, "--view",       "form-plan",
                                    "--scale", scale,       files->picture, NULL };
  return measure (arguments);
}

static Run
take_and_measure (const Files *files, const SceneProfile *profile, const SceneCamera *camera,
                  gboolean as_dxf)
{
  g_autofree char *text = as_dxf ? scene_profile_dxf (profile) : scene_profile_text (profile);
  g_autoptr (SceneImage) image = scene_render_profile (profile, camera);
  return measure_profile (files, text, image, camera->mm_per_px);
}

/* About 1.5 times what is achieved: RMS in px, of the turn in degrees. */
static const TrialGate gates[] = { { TRIAL_SEGMENT_DEVIATION, 0.02, 0, 0, 0 } };
static const TrialGate turn_gates[] = { { TRIAL_PROFILE_TURN, 0.00044, 0, 0, 0 } };

static void
check_segment (const Run *run, guint number, double truth, guint64 seed, double mm_per_px,
               TrialTable *table)
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
  trial_table_add_error (table, TRIAL_SEGMENT_DEVIATION, (value - truth) / mm_per_px,
                         U / mm_per_px);
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
  g_autoptr (TrialTable) table = trial_table_new ();
  double worst_map_px = 0;
  write_card (files, BAND);
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_OFF; seed++)
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
      check_segment (&run, i + 1, profile.segments[i].error, seed, camera.mm_per_px, table);
    worst_map_px = MAX (worst_map_px, map_error_px (&run, &profile, camera.mm_per_px));
  }
  assert_true (trial_gates_hold ("segments with one off", table, gates, G_N_ELEMENTS (gates)));
  print_message ("the map's RMS within %.3f px of truth\n", worst_map_px);
  assert_true (worst_map_px < 0.03);
}

static void
a_good_tool_is_accepted (void **state)
{
  const Files *files = *state;
  write_card (files, BAND);
  for (guint64 seed = FIRST_SEED + 50; seed < FIRST_SEED + 50 + trial_scenes (8, 1); seed++)
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

/* ---- What clings to the edge ------------------------------------------------------------ */

/* In the picture. */
static ScenePoint
middle_of (const SceneProfile *profile, guint segment, const SceneCamera *camera)
{
  const ScenePoint from = segment > 0 ? profile->segments[segment - 1].to : profile->start;
  const ScenePoint to = profile->segments[segment].to;
  ScenePoint middle = { 0.5 * (from.x + to.x), 0.5 * (from.y + to.y) };
  ScenePolygon place = { &middle, 1, 1.0 };
  scene_camera_project (camera, &place);
  return middle;
}

/* As dark as the darkest, blurred by 1.2 px. */
static void
put_speck (SceneImage *image, ScenePoint at, double radius)
{
  assert_int_equal (image->bits, 8);
  const gsize n = (gsize)image->width * image->channels;
  guint8 dark = 255;
  for (gsize i = 0; i < n * image->height; i++)
    dark = MIN (dark, image->data[i]);
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
    {
      const double part = 0.5 * erfc ((hypot (x - at.x, y - at.y) - radius) / (M_SQRT2 * 1.2));
      for (guint c = 0; c < image->channels; c++)
      {
        guint8 *sample = image->data + n * y + (gsize)x * image->channels + c;
        *sample = (guint8)lrint (*sample + part * (dark - *sample));
      }
    }
}

static guint
longest_line (const SceneProfile *profile)
{
  double longest = 0;
  guint found = 0;
  ScenePoint from = profile->start;
  for (guint i = 0; i < profile->n; i++)
  {
    const ScenePoint to = profile->segments[i].to;
    const double length = hypot (to.x - from.x, to.y - from.y);
    if (!(fabs (profile->segments[i].bulge) > 0) && length > longest)
    {
      longest = length;
      found = i;
    }
    from = to;
  }
  return found;
}

static Run
measure_with_speck (const Files *files, const SceneProfile *profile, const SceneCamera *camera,
                    double radius)
{
  const ScenePoint at = middle_of (profile, longest_line (profile), camera);
  g_autofree char *text = scene_profile_text (profile);
  g_autoptr (SceneImage) image = scene_render_profile (profile, camera);
  put_speck (image, at, radius);
  return measure_profile (files, text, image, camera->mm_per_px);
}

/* A good tool isn't rejected for it, nor accepted unseen; and a bad one stays bad. */
static void
a_speck_is_no_metal (void **state)
{
  const Files *files = *state;
  write_card (files, BAND);
  for (guint64 seed = FIRST_SEED + 80; seed < FIRST_SEED + 80 + trial_scenes (6, 1); seed++)
  {
    SceneProfile profile;
    SceneCamera camera;
    scene_profile_random (seed, &profile, &camera);
    const guint at = longest_line (&profile);
    g_auto (Run) run = measure_with_speck (files, &profile, &camera, 3 + 2 * (double)(seed % 3));
    assert_string_equal (trial_text (run.record, "reason"), "dirt");
    assert_int_equal (run.status, 2);
    assert_non_null (finding_of (run.record, "dirt"));
    /* What it hides may be off. */
    assert_string_equal (verdict_of (run.record, "profile_deviation_max_mm"), "undecided");
    const json_t *advice = json_array_get (json_object_get (run.record, "advice"), 0);
    assert_contains (json_string_value (advice), "First clean the tool");
    assert_true (fabs (field (run.record, "profile_deviation_max_mm", "value")) <=
                 field (run.record, "profile_deviation_max_mm", "U"));
    profile.segments[(at + 1) % profile.n].error = -ERROR_MM;
    g_auto (Run) bad = measure_with_speck (files, &profile, &camera, 5);
    assert_int_equal (bad.status, 1);
  }
}

/* ---- Corrected for rake --------------------------------------------------------------- */

#define R1 10.0
#define RAKE_DEG 12.0

/* Depth along the face, anew here: the law of cosines for the triangle centre, first edge, second
 * edge, solved by bisection. */
static double
depth_on_face (double height)
{
  const double r2 = R1 + height, rake = RAKE_DEG * G_PI / 180;
  double low = 0, high = 2 * height + 1;
  for (guint i = 0; i < 60; i++)
  {
    const double middle = 0.5 * (low + high);
    const double r = sqrt (R1 * R1 + middle * middle + 2 * R1 * middle * cos (rake));
    if (r < r2)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

#define PARTS 8

/* The part's corners, on the tool's face with every line in PARTS pieces. */
static void
make_raked (const ScenePoint *part, guint n, SceneProfile *tool)
{
  memset (tool, 0, sizeof *tool);
  tool->start = (ScenePoint){ part[0].x, depth_on_face (part[0].y) };
  tool->depth = 20;
  for (guint i = 0; i + 1 < n; i++)
    for (guint k = 1; k <= PARTS; k++)
    {
      const double t = (double)k / PARTS;
      const double x = part[i].x + t * (part[i + 1].x - part[i].x);
      const double y = part[i].y + t * (part[i + 1].y - part[i].y);
      tool->segments[tool->n++].to = (ScenePoint){ x, depth_on_face (y) };
    }
}

static void
a_raked_tool_fits_its_part (void **state)
{
  const Files *files = *state;
  static const ScenePoint part[] = {
    { 0, 0 }, { 2, 0 }, { 4, 5 }, { 6, 5.5 }, { 8, 1 }, { 10, 0.5 }
  };
  SceneProfile tool;
  SceneCamera camera;
  make_raked (part, G_N_ELEMENTS (part), &tool);
  scene_camera_init (&camera);
  camera.roll_deg = 33;
  camera.shot = 0.005;
  camera.read = 0.001;
  scene_profile_aim (&tool, &camera, 0.6);
  g_autoptr (SceneImage) image = scene_render_profile (&tool, &camera);
  assert_true (scene_image_save (image, files->picture, 0));
  assert_true (g_file_set_contents (files->profile,
                                    "start 0 0\nline 2 0\nline 4 5\nline 6 5.5\nline 8 1\n"
                                    "line 10 0.5\n",
                                    -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px);
  const char *const arguments[] = { "--tool", files->card, "--scale", scale, files->picture, NULL };
  write_card (files, "part_profile = form.profile\nrake_deg = 12\nrelief_deg = 8\n"
                     "smallest_radius_mm = 10\n");
  g_auto (Run) run = measure (arguments);
  const double rms = field (run.record, "profile_deviation_rms_mm", "value");
  const double most = field (run.record, "profile_deviation_max_mm", "value");
  assert_true (rms < 0.05 * camera.mm_per_px);
  assert_true (fabs (most) <= field (run.record, "profile_deviation_max_mm", "U"));
  g_autofree char *text = json_dumps (json_object_get (run.record, "findings"), 0);
  assert_contains (text, "Part radius 15.0000 mm: depth 5.07");

  /* Taken as it is, the part's profile is too shallow by 0.1 mm. */
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_auto (Run) plain = measure (arguments);
  assert_true (field (plain.record, "profile_deviation_rms_mm", "value") > 0.01);
}

/* The drawing shows the profile from the other side: refused with the remedy, which works. */
static void
a_mirrored_drawing_is_told (void **state)
{
  const Files *files = *state;
  SceneProfile profile, mirrored;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 60, &profile, &camera);
  mirrored = profile;
  ScenePoint end = profile.segments[profile.n - 1].to;
  mirrored.start = (ScenePoint){ -end.x, end.y };
  for (guint i = 0; i < profile.n; i++)
  {
    const guint k = profile.n - 1 - i;
    const ScenePoint from = k > 0 ? profile.segments[k - 1].to : profile.start;
    mirrored.segments[i].to = (ScenePoint){ -from.x, from.y };
    mirrored.segments[i].bulge = profile.segments[k].bulge;
  }
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_autofree char *text = scene_profile_text (&mirrored);
  g_auto (Run) plain = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (plain.status, 0);
  assert_true (g_file_set_contents (files->profile, text, -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px);
  const char *const arguments[] = { "--tool", files->card, "--scale", scale, files->picture, NULL };
  g_auto (Run) refused = measure (arguments);
  assert_int_equal (refused.status, 3);
  assert_contains (trial_text (refused.record, "detail"), "profile_mirrored = true");
  write_card (files, "nominal_profile = form.profile\nprofile_mirrored = true\n" WIDE);
  g_auto (Run) told = measure (arguments);
  assert_int_equal (told.status, 0);
  assert_true (field (told.record, "profile_deviation_rms_mm", "value") < 0.15 * camera.mm_per_px);
}

/* Another tool's picture is no match: both sizes are told, and its own lines and arcs. */
static void
another_profile_is_a_mismatch (void **state)
{
  const Files *files = *state;
  SceneProfile profile, other;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 61, &profile, &camera);
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_auto (Run) fits = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (fits.status, 0);
  scene_profile_fitting (&other);
  g_autofree char *text = scene_profile_text (&other);
  assert_true (g_file_set_contents (files->profile, text, -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px);
  const char *const arguments[] = { "--tool", files->card, "--scale", scale, files->picture, NULL };
  g_auto (Run) other_card = measure (arguments);
  assert_int_equal (other_card.status, 2);
  assert_string_equal (trial_text (other_card.record, "reason"), "card-mismatch");
  assert_true (isnan (field (other_card.record, "profile_deviation_max_mm", "value")));
  assert_int_equal (json_array_size (json_object_get (other_card.record, "advice")), 0);
}

/* A picture taken at another scale than told: the outline fits, only not at this size. */
static void
another_scale_is_a_mismatch (void **state)
{
  const Files *files = *state;
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 62, &profile, &camera);
  write_card (files, BAND);
  g_auto (Run) fits = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (fits.status, 0);
  static const double factors[] = { 0.993, 1.004, 1.025 };
  for (gsize k = 0; k < trial_scenes (G_N_ELEMENTS (factors), 1); k++)
  {
    char scale[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px * factors[k]);
    const char *const arguments[] = {
      "--tool", files->card, "--scale", scale, files->picture, NULL
    };
    g_auto (Run) other = measure (arguments);
    assert_int_equal (other.status, 2);
    assert_string_equal (trial_text (other.record, "reason"), "card-mismatch");
  }
}

/* A card of which one tooth's point is drawn, laid on a row of them. */
static void
measure_teeth (const Files *files, const SceneCamera *camera, const char *drawn, Run *run)
{
  assert_true (g_file_set_contents (files->profile, drawn, -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera->mm_per_px);
  const char *const arguments[] = { "--tool", files->card, "--scale", scale, files->picture, NULL };
  *run = measure (arguments);
}

/* Other teeth beside the one that is drawn are not judged, and an upright point that lies slanted
 * on a tooth's corner is another's. */
static void
one_tooth_of_many_is_not_accepted (void **state)
{
  const Files *files = *state;
  SceneProfile profile = { .start = { 0, 0 }, .n = 6, .depth = 5 };
  static const ScenePoint row[] = { { 1.5, -1.5 }, { 3, 0 },      { 4.5, -1.5 },
                                    { 6, 0 },      { 7.5, -1.5 }, { 9, 0 } };
  for (guint i = 0; i < profile.n; i++)
    profile.segments[i].to = row[i];
  SceneCamera camera;
  scene_camera_init (&camera);
  scene_profile_aim (&profile, &camera, 0.6);
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_auto (Run) whole = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (whole.status, 0);
  g_auto (Run) one = { 0 };
  measure_teeth (files, &camera, "start 1.7 -1.3\nline 3 0\nline 4.3 -1.3\n", &one);
  assert_int_equal (one.status, 2);
  assert_non_null (finding_of (one.record, "not-compared"));
  assert_non_null (finding_of (one.record, "beyond-profile"));
  /* The row's ends have corners half as wide, whose outer flanks run along the tool. */
  g_auto (Run) slanted = { 0 };
  measure_teeth (files, &camera, "start -0.536 -1.293\nline 0 0\nline 0.536 -1.293\n", &slanted);
  assert_int_equal (slanted.status, 2);
  assert_string_equal (trial_text (slanted.record, "reason"), "card-mismatch");
}

/* What is so far off that it isn't compared is not seen to be right. */
static void
a_gap_in_the_profile_is_not_accepted (void **state)
{
  const Files *files = *state;
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_fitting (&profile);
  scene_camera_init (&camera);
  scene_profile_aim (&profile, &camera, 0.6);
  write_card (files,
              "nominal_profile = form.profile\n[limits]\nsegment_1_deviation_mm = -1 .. 1\n");
  g_auto (Run) whole = take_and_measure (files, &profile, &camera, FALSE);
  assert_string_not_equal (trial_text (whole.record, "verdict"), "reject");
  assert_null (finding_of (whole.record, "not-seen"));
  assert_null (finding_of (whole.record, "not-compared"));
  profile.segments[8].error = -0.8;
  g_auto (Run) broken = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (broken.status, 2);
  assert_non_null (finding_of (broken.record, "not-seen"));
  assert_non_null (finding_of (broken.record, "not-compared"));
}

/* A profile's segments too short for the picture say nothing: nobody takes them for good. */
static void
what_is_not_compared_is_not_accepted (void **state)
{
  const Files *files = *state;
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_fitting (&profile);
  scene_camera_init (&camera);
  scene_profile_aim (&profile, &camera, 0.6);
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_auto (Run) whole = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (whole.status, 0);
  /* The same corner, with a chamfer of two pixels drawn on its end. */
  const guint last = profile.n - 1;
  const ScenePoint to = profile.segments[last].to, from = profile.segments[last - 1].to;
  const double length = hypot (to.x - from.x, to.y - from.y), short_mm = 2 * camera.mm_per_px;
  profile.segments[last].to.x = to.x + short_mm / length * (from.x - to.x);
  profile.segments[last].to.y = to.y + short_mm / length * (from.y - to.y);
  profile.segments[profile.n] = profile.segments[last];
  profile.segments[profile.n].to.x = to.x + 0.5 * short_mm / length * (to.y - from.y);
  profile.segments[profile.n].to.y = to.y - 0.5 * short_mm / length * (to.x - from.x);
  profile.n++;
  g_auto (Run) chamfered = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (chamfered.status, 2);
  assert_string_equal (trial_text (chamfered.record, "reason"), "not-compared");
}

/* A notch on the tool's side, and a drawing that has it on the front. */
static void
a_profile_across_the_tool_is_a_mismatch (void **state)
{
  const Files *files = *state;
  static const ScenePoint side[] = {
    { 0, -7 }, { 1, -6 }, { 0, -5 }, { 0, 0 }, { 9, 0 }, { 9, -12 }
  };
  static const char front[] = "start 0 0\nline 4 0\nline 5 -1\nline 6 0\nline 10 0\n";
  SceneProfile profile = { .start = { 0, -12 }, .n = G_N_ELEMENTS (side), .depth = 8 };
  for (guint i = 0; i < profile.n; i++)
    profile.segments[i].to = side[i];
  SceneCamera camera;
  scene_camera_init (&camera);
  scene_profile_aim (&profile, &camera, 0.4);
  write_card (files, "nominal_profile = form.profile\n");
  g_auto (Run) own = take_and_measure (files, &profile, &camera, FALSE);
  assert_null (finding_of (own.record, "card-mismatch"));
  assert_true (g_file_set_contents (files->profile, front, -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px);
  const char *const arguments[] = { "--tool", files->card, "--scale", scale, files->picture, NULL };
  g_auto (Run) across = measure (arguments);
  assert_int_equal (across.status, 2);
  assert_contains (trial_text (finding_of (across.record, "card-mismatch"), "text"), "only turned");
}

/* Held by the bar's sides: the same direction, told with its uncertainty. */
static void
sides_hold_the_profile (void **state)
{
  const Files *files = *state;
  write_card (files, "nominal_profile = form.profile\nreference = dovetail\n" WIDE);
  g_autoptr (TrialTable) table = trial_table_new ();
  for (guint64 seed = FIRST_SEED + 62; seed < FIRST_SEED + 62 + trial_scenes (20, 1); seed++)
  {
    SceneProfile profile;
    SceneCamera camera;
    scene_profile_random (seed, &profile, &camera);
    profile.depth = 25;
    g_auto (Run) run = take_and_measure (files, &profile, &camera, FALSE);
    assert_int_equal (run.status, 0);
    const double turn = field (run.record, "profile_turn_deg", "value");
    const double U = field (run.record, "profile_turn_deg", "U");
    assert_in_range (1000 * U, 100, 250); /* of which the lens has 0.1 */
    assert_true (fabs (turn) <= U);
    assert_true (trial_table_add_one (table, TRIAL_PROFILE_TURN, run.record, 0.0, 1.0));
    assert_true (field (run.record, "profile_deviation_rms_mm", "value") < 0.15 * camera.mm_per_px);
  }
  assert_true (
    trial_gates_hold ("profiles held by the sides", table, turn_gates, G_N_ELEMENTS (turn_gates)));
}

/* Without a scale a profile in mm can't be compared; segments are told all the same. */
static void
without_a_scale_segments_are_told (void **state)
{
  const Files *files = *state;
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 70, &profile, &camera);
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_auto (Run) with = take_and_measure (files, &profile, &camera, FALSE);
  assert_non_null (with.record);
  const char *const arguments[] = { "--tool", files->card, files->picture, NULL };
  g_auto (Run) run = measure (arguments);
  assert_true (isnan (field (run.record, "profile_deviation_max_px", "value")));
  const json_t *quantities = json_object_get (run.record, "quantities");
  guint segments = 0;
  const char *name;
  json_t *entry;
  json_object_foreach ((json_t *)quantities, name, entry) segments +=
    g_str_has_prefix (name, "segment_") ? 1 : 0;
  assert_true (segments >= profile.n);
}

/* A limit on what the picture doesn't show is met by nobody's word. */
static void
a_limit_on_an_unseen_corner_is_undecided (void **state)
{
  const Files *files = *state;
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 72, &profile, &camera);
  write_card (files, "[limits]\ncorner_77_angle_deg = 10 .. 170\n");
  g_auto (Run) run = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (run.status, 2);
  assert_string_equal (verdict_of (run.record, "corner_77_angle_deg"), "undecided");
  write_card (files, "[limits]\nprofile_deviation_max_mm = .. 0.1\n");
  g_auto (Run) without = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (without.status, 2);
  write_card (files, "[limits]\ncorner_1_angle_deg = 1 .. 179\n");
  g_auto (Run) seen = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (seen.status, 0);
  assert_string_equal (verdict_of (seen.record, "corner_1_angle_deg"), "accept");
}

/* With the letter N a limit is that of all in the family that have none of their own. */
static void
a_limit_on_a_family_is_each_ones (void **state)
{
  const Files *files = *state;
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 72, &profile, &camera);
  write_card (files, "[limits]\ncorner_N_angle_deg = 1 .. 179\ncorner_1_angle_deg = 1 .. 2\n");
  g_auto (Run) run = take_and_measure (files, &profile, &camera, FALSE);
  assert_string_equal (verdict_of (run.record, "corner_1_angle_deg"), "reject");
  assert_string_equal (verdict_of (run.record, "corner_2_angle_deg"), "accept");
}

/* ---- Directions --------------------------------------------------------------------------- */

/* A plate with upright sides, turned by `roll_deg` in the picture. */
static void
take_plate (const Files *files, double roll_deg)
{
  SceneProfile plate = { .start = { 0, 0 }, .n = 3, .depth = 15 };
  plate.segments[0].to = (ScenePoint){ 0, 6 };
  plate.segments[1].to = (ScenePoint){ 8, 6 };
  plate.segments[2].to = (ScenePoint){ 8, 0 };
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.roll_deg = roll_deg;
  camera.shot = 0.005;
  scene_profile_aim (&plate, &camera, 0.6);
  g_autoptr (SceneImage) image = scene_render_profile (&plate, &camera);
  assert_true (scene_image_save (image, files->picture, 0));
}

/* Number of a segment of the record that stands upright. */
static guint
upright_segment (const json_t *record)
{
  for (guint i = 1; i < 40; i++)
  {
    g_autofree char *name = g_strdup_printf ("segment_%u_angle_deg", i);
    if (fabs (field (record, name, "value")) > 80)
      return i;
  }
  fail_msg ("no segment stands upright");
  return 0;
}

static void
an_upright_line_meets_its_limits (void **state)
{
  const Files *files = *state;
  const char *const arguments[] = { "--tool",    files->card,    "--view",
                                    "form-plan", files->picture, NULL };
  for (int sign = -1; sign <= 1; sign += 2)
  {
    take_plate (files, 0.02 * sign);
    write_card (files, "");
    g_auto (Run) plain = measure (arguments);
    const guint number = upright_segment (plain.record);
    g_autofree char *name = g_strdup_printf ("segment_%u_angle_deg", number);
    g_autofree char *above = g_strdup_printf ("[limits]\n%s = 89.5 .. 90.5\n", name);
    write_card (files, above);
    g_auto (Run) run = measure (arguments);
    assert_string_equal (verdict_of (run.record, name), "accept");
    assert_near (field (run.record, name, "value"), 90, 0.05);
    g_autofree char *below = g_strdup_printf ("[limits]\n%s = -90.5 .. -89.5\n", name);
    write_card (files, below);
    g_auto (Run) other = measure (arguments);
    assert_string_equal (verdict_of (other.record, name), "accept");
    assert_near (field (other.record, name, "value"), -90, 0.05);
  }
}

/* What a program says on standard output.  Free with g_free(). */
static char *
said (const char *const *arguments)
{
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  g_ptr_array_add (call, (gpointer)trial_program ());
  for (; *arguments != NULL; arguments++)
    g_ptr_array_add (call, (gpointer)*arguments);
  g_ptr_array_add (call, NULL);
  char *out = NULL;
  assert_true (g_spawn_sync (NULL, (char **)call->pdata, NULL, G_SPAWN_DEFAULT, NULL, NULL, &out,
                             NULL, NULL, NULL));
  return out;
}

/* Told as 89.98 one day and as -89.98 the next, a line hasn't turned by 180 degrees. */
static void
a_trend_of_an_upright_line_does_not_jump (void **state)
{
  const Files *files = *state;
  g_autofree char *archive = g_build_filename (files->folder, "archive", NULL);
  g_autofree char *table = g_build_filename (files->folder, "plan.csv", NULL);
  g_autoptr (GString) plan = g_string_new ("part,operator,inspection\n");
  g_autofree char *name = NULL;
  guint told_below = 0;
  write_card (files, "");
  for (guint i = 0; i < 8; i++)
  {
    take_plate (files, i % 2 == 0 ? 0.02 : -0.02);
    const char *const arguments[] = { "--tool",    files->card, "--view",       "form-plan",
                                      "--archive", archive,     files->picture, NULL };
    g_auto (Run) run = measure (arguments);
    if (name == NULL)
      name = g_strdup_printf ("segment_%u_angle_deg", upright_segment (run.record));
    told_below += field (run.record, name, "value") < 0;
    g_string_append_printf (plan, "%u,%u,%s\n", i / 4, i / 2 % 2, trial_text (run.record, "id"));
  }
  assert_in_range (told_below, 1, 7);
  const char *const trend[] = { "trend", "--archive", archive, "--quantity", name, NULL };
  g_autofree char *in_time = said (trend);
  assert_contains (in_time, "8 values");
  assert_contains (in_time, "moving range 0.0");
  assert_true (g_file_set_contents (table, plan->str, -1, NULL));
  const char *const study[] = { "study",      "--plan", table,    "--archive", archive,
                                "--quantity", name,     "--json", NULL };
  g_autofree char *gauge = said (study);
  json_t *root = json_loads (gauge, 0, NULL);
  const json_t *total = json_object_get (json_object_get (root, "components"), "total");
  assert_true (json_number_value (json_object_get (total, "sd")) < 0.1);
  assert_true (json_number_value (json_object_get (total, "sd")) > 0.001);
  json_decref (root);
  const char *const sweep[] = { "rm", "-r", archive, NULL };
  assert_true (g_spawn_sync (NULL, (char **)sweep, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL,
                             NULL, NULL, NULL));
  g_unlink (table);
}

/* ---- Words -------------------------------------------------------------------------------- */

static guint
count_of (const char *text, const char *what)
{
  guint n = 0;
  for (const char *at = strstr (text, what); at != NULL; at = strstr (at + 1, what))
    n++;
  return n;
}

/* A row of the table tells a segment; records have its place besides. */
static void
each_segment_is_listed_once (void **state)
{
  const Files *files = *state;
  take_plate (files, 5);
  write_card (files, "");
  const char *const record[] = {
    "--tool", files->card, "--view", "form-plan", files->picture, NULL
  };
  g_auto (Run) run = measure (record);
  g_autofree char *findings = json_dumps (json_object_get (run.record, "findings"), 0);
  assert_contains (findings, "\"Segment 2: line");
  assert_contains (findings, "Corner 1: a ");
  const char *const words[] = { "measure",   "--tool",       files->card, "--view",
                                "form-plan", files->picture, "--details", NULL };
  g_autofree char *text = said (words);
  assert_int_equal (count_of (text, "Segment 2"), 1);
  assert_int_equal (count_of (text, "Corner 1"), 1);
}

/* ---- Files that can't be used --------------------------------------------------------- */

static void
malformed_profiles_are_one_line_and_65 (void **state)
{
  const Files *files = *state;
  static const char *const bad[] = {
    "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\n1.0",
    "0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nnan\n20\n0\n11\n1\n21\n1\n0\nENDSEC\n0\nEOF\n",
    "0\nSECTION\n2\nENTITIES\n0\nSPLINE\n0\nENDSEC\n0\nEOF\n",
    "\x89PNG\r\n\x1a\n",
    "",
  };
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + 71, &profile, &camera);
  write_card (files, "nominal_profile = form.profile\n" WIDE);
  g_auto (Run) good = take_and_measure (files, &profile, &camera, FALSE);
  assert_int_equal (good.status, 0);
  const char *const arguments[] = { "--tool", files->card, files->picture, NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (bad); i++)
  {
    assert_true (g_file_set_contents (files->profile, bad[i], -1, NULL));
    g_auto (Run) run = measure (arguments);
    assert_int_equal (run.status, 65);
    assert_null (run.record);
    assert_contains (run.errors, "form.profile");
    assert_ptr_equal (strchr (run.errors, '\n'), run.errors + strlen (run.errors) - 1);
  }
  g_unlink (files->profile);
  g_auto (Run) missing = measure (arguments);
  assert_int_equal (missing.status, 66);
}

/* ---- From the side -------------------------------------------------------------------- */

/* What differs from the card's correction is told; what agrees is not. */
static void
the_side_is_held_against_the_correction (void **state)
{
  const Files *files = *state;
  const SceneBladeSide side = { .height = 12, .relief_deg = 9, .top_rake_deg = 5 };
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.shot = 0.005;
  scene_aim_blade (&camera, side.height, 0.5);
  SceneBladeSideTruth truth;
  g_autoptr (SceneImage) image = scene_render_blade_side (&side, &camera, &truth);
  assert_true (scene_image_save (image, files->picture, 0));
  assert_true (g_file_set_contents (files->profile, "start 0 0\nline 2 0\nline 4 5\n", -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px);
  const char *const arguments[] = { "--tool",  files->card, "--view",       "form-side",
                                    "--scale", scale,       files->picture, NULL };
  write_card (files, "part_profile = form.profile\nrake_deg = 5\nrelief_deg = 8\n"
                     "smallest_radius_mm = 10\n[limits]\nfront_relief_deg = 0 .. 20\n");
  g_auto (Run) run = measure (arguments);
  assert_int_equal (run.status, 0);
  assert_true (fabs (field (run.record, "front_relief_deg", "value") - truth.front_relief_deg) <=
               field (run.record, "front_relief_deg", "U"));
  g_autofree char *text = json_dumps (json_object_get (run.record, "findings"), 0);
  assert_contains (text, "the profile was corrected for 8.00");
  assert_lacks (text, "top rake is");
}

/* ---- Photographs ---------------------------------------------------------------------- */

/* Nearest corner's number and distance, by the findings' places. */
static guint
corner_at (const json_t *record, double x, double y, double *distance)
{
  guint best = 0;
  gsize i;
  json_t *finding;
  *distance = HUGE_VAL;
  json_array_foreach (json_object_get (record, "findings"), i, finding)
  {
    const json_t *where = json_object_get (finding, "where_px");
    const char *text = json_string_value (json_object_get (finding, "text"));
    if (!json_is_array (where) || !g_str_has_prefix (text, "Corner "))
      continue;
    const double d = hypot (json_number_value (json_array_get (where, 0)) - x,
                            json_number_value (json_array_get (where, 1)) - y);
    if (d >= *distance)
      continue;
    *distance = d;
    best = (guint)g_ascii_strtoull (text + strlen ("Corner "), NULL, 10);
  }
  return best;
}

/* The place by the label's feature, "… near (791;424)"; the notch is told by its span. */
static void
place_of (const char *feature, double *x, double *y)
{
  const char *near = strstr (feature, "near (");
  *x = 452;
  *y = 480;
  if (near == NULL)
    return;
  char *end;
  *x = g_ascii_strtod (near + strlen ("near ("), &end);
  *y = g_ascii_strtod (end + 1, NULL);
}

static void
check_label (const char *folder, char **cells, const Files *files)
{
  g_autofree char *base = g_path_get_basename (cells[0]);
  g_autofree char *picture = g_build_filename (folder, base, NULL);
  const char *const arguments[] = { "--tool", files->card, picture, NULL };
  g_auto (Run) run = measure (arguments);
  assert_true (run.status == 0 || run.status == 2);
  double x, y, distance;
  place_of (cells[1], &x, &y);
  const guint corner = corner_at (run.record, x, y, &distance);
  g_autofree char *name = g_strdup_printf ("corner_%u_angle_deg", corner);
  const double angle = field (run.record, name, "value"), U = field (run.record, name, "U");
  const double label = g_ascii_strtod (cells[7], NULL), u = g_ascii_strtod (cells[8], NULL);
  print_message ("%s: %.2f +- %.2f, by hand %.1f +- %.1f\n", cells[1], angle, U, label, 2 * u);
  assert_true (distance < 25);
  assert_true (fabs (angle - label) <= 2 * u + U);
}

/* Cells of a line, quotes honoured.  Free with g_strfreev(). */
static char **
cells_of (const char *line)
{
  GPtrArray *cells = g_ptr_array_new ();
  GString *cell = g_string_new (NULL);
  gboolean quoted = FALSE;
  for (; *line != '\0' && *line != '\r'; line++)
  {
    if (*line == '"')
      quoted = !quoted;
    else if (*line == ',' && !quoted)
    {
      g_ptr_array_add (cells, g_strdup (cell->str));
      g_string_truncate (cell, 0);
    }
    else
      g_string_append_c (cell, *line);
  }
  g_ptr_array_add (cells, g_string_free (cell, FALSE));
  g_ptr_array_add (cells, NULL);
  return (char **)g_ptr_array_free (cells, FALSE);
}

static void
saw_teeth_agree_with_the_hand (void **state)
{
  const Files *files = *state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "photos/saw-teeth");
  if (folder == NULL)
    skip ();
  g_autofree char *labels = g_build_filename (folder, "labels.csv", NULL);
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (labels, &text, NULL, NULL));
  write_card (files, "");
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  guint n = 0;
  for (gsize i = 1; lines[i] != NULL && *lines[i] != '\0'; i++, n++)
  {
    g_auto (GStrv) cells = cells_of (lines[i]);
    assert_true (g_strv_length (cells) >= 9);
    check_label (folder, cells, files);
  }
  assert_true (n >= 5);
}

int
main (int argc, char **argv)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest rendered[] = {
    cmocka_unit_test (one_error_is_found_on_its_segment_alone),
    cmocka_unit_test (a_good_tool_is_accepted),
    cmocka_unit_test (a_speck_is_no_metal),
    cmocka_unit_test (a_raked_tool_fits_its_part),
    cmocka_unit_test (a_mirrored_drawing_is_told),
    cmocka_unit_test (another_profile_is_a_mismatch),
    cmocka_unit_test (another_scale_is_a_mismatch),
    cmocka_unit_test (one_tooth_of_many_is_not_accepted),
    cmocka_unit_test (a_gap_in_the_profile_is_not_accepted),
    cmocka_unit_test (what_is_not_compared_is_not_accepted),
    cmocka_unit_test (a_profile_across_the_tool_is_a_mismatch),
    cmocka_unit_test (sides_hold_the_profile),
    cmocka_unit_test (without_a_scale_segments_are_told),
    cmocka_unit_test (a_limit_on_an_unseen_corner_is_undecided),
    cmocka_unit_test (a_limit_on_a_family_is_each_ones),
    cmocka_unit_test (an_upright_line_meets_its_limits),
    cmocka_unit_test (a_trend_of_an_upright_line_does_not_jump),
    cmocka_unit_test (each_segment_is_listed_once),
    cmocka_unit_test (malformed_profiles_are_one_line_and_65),
    cmocka_unit_test (the_side_is_held_against_the_correction),
  };
  const struct CMUnitTest references[] = {
    cmocka_unit_test (saw_teeth_agree_with_the_hand),
  };
  return argc > 1 && strcmp (argv[1], "references") == 0
           ? cmocka_run_group_tests (references, make_files, remove_files)
           : cmocka_run_group_tests_name ("rendered form tools", rendered, make_files,
                                          remove_files);
}
