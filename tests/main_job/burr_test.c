/*
 * Wire edges on blades and form tools with known truth: told to a fifth and a px, none invented on
 * clean ones, no tool rejected for one.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <math.h>

#include "scene/blade.h"
#include "scene/burr.h"
#include "scene/profile.h"
#include "trial/burr.h"
#include "trial/gates.h"
#include "trial/trial.h"

#define FIRST_SEED 8100
#define N_PLACES 400

/* Of a clean tool, and heights from barely seen to a bad wheel's, px. */
static const double heights[] = { 0.0, 2.5, 4.0, 6.0 };

/* A tool, an edge of it, and how it is measured. */
typedef struct
{
  ScenePolygon outline;
  ScenePoint from, to; /* of the straight edge, the tool on its right, mm */
  SceneCamera camera;
  const char *view;
  char *card;
  double share; /* of the edge that the wire edge takes */
  guint n;      /* of the heights: of what is rounder than long nobody knows what it is */
} Tool;

/* Between the edge and its teeth; sets the greatest height, mm. */
static ScenePolygon
burr_on (const Tool *tool, const SceneBurr *burr, double *highest)
{
  const double dx = tool->to.x - tool->from.x, dy = tool->to.y - tool->from.y;
  const double length = hypot (dx, dy);
  ScenePolygon polygon = { g_new (ScenePoint, N_PLACES + 1), N_PLACES + 1, 1.0 };
  *highest = 0;
  for (guint i = 0; i <= N_PLACES; i++)
  {
    const double place = burr->from + (burr->to - burr->from) * i / N_PLACES;
    const double height = burr_height (burr, length, place);
    *highest = MAX (*highest, height);
    polygon.points[i] = (ScenePoint){ tool->from.x + place * dx - height * dy / length,
                                      tool->from.y + place * dy + height * dx / length };
  }
  return polygon;
}

static SceneBurr
burr_of (SceneRng *rng, const Tool *tool, double height, gboolean rolled)
{
  SceneBurr burr = { .height = 1.6 * height, .rolled = rolled, .taper = 0.15 };
  burr.from = scene_rng_uniform (rng, 0.15, 0.85 - tool->share);
  burr.to = burr.from + tool->share;
  burr.grain = tool->camera.mm_per_px * scene_rng_uniform (rng, 5.0, 30.0);
  burr.seed = scene_rng_next (rng);
  return burr;
}

/* The record of the tool with that burr, or without one; free with json_decref(). */
static json_t *
measure (const char *folder, const Tool *tool, const ScenePolygon *burr)
{
  g_autofree char *picture = g_build_filename (folder, "tool.png", NULL);
  g_autofree char *card = g_build_filename (folder, "a.tool", NULL);
  ScenePolygon both[2] = { { g_memdup2 (tool->outline.points,
                                        sizeof (ScenePoint) * tool->outline.n),
                             tool->outline.n, 1.0 },
                           { NULL, 0, 1.0 } };
  if (burr != NULL)
    both[1] =
      (ScenePolygon){ g_memdup2 (burr->points, sizeof (ScenePoint) * burr->n), burr->n, 1.0 };
  for (guint i = 0; i < (burr != NULL ? 2u : 1u); i++)
    scene_camera_project (&tool->camera, &both[i]);
  g_autoptr (SceneImage) image = scene_render_polygons (both, burr != NULL ? 2 : 1, &tool->camera);
  assert_true (scene_image_save (image, picture, 0));
  assert_true (g_file_set_contents (card, tool->card, -1, NULL));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  const char *const options[] = { "--tool", card, "--scale",
                                  g_ascii_dtostr (scale, sizeof scale, tool->camera.mm_per_px),
                                  NULL };
  g_autoptr (TrialRun) run = trial_measure_with (trial_program (), tool->view, picture, options);
  json_t *record = json_incref (run->record);
  g_unlink (picture);
  g_unlink (card);
  for (guint i = 0; i < 2; i++)
    g_free (both[i].points);
  return record;
}

static gboolean
is_told (const json_t *record)
{
  gsize i;
  json_t *finding;
  json_array_foreach (json_object_get (record, "findings"), i, finding)
  {
    const char *code = trial_text (finding, "code");
    if (g_strcmp0 (code, "wire-edge") == 0 || g_strcmp0 (code, "dirt") == 0)
      return TRUE;
  }
  return FALSE;
}

/* A height that may be dirt's is unknown, and it is said so; not all of them are. */
static void
look_at (const char *folder, const Tool *tool, guint64 seed)
{
  const double px = tool->camera.mm_per_px;
  SceneRng rng;
  guint known = 0;
  scene_rng_init (&rng, seed);
  for (gsize i = 0; i < tool->n; i++)
  {
    const SceneBurr burr = burr_of (&rng, tool, heights[i] * px, i % 2 == 1);
    double highest;
    ScenePolygon metal = burr_on (tool, &burr, &highest);
    json_t *record = measure (folder, tool, heights[i] > 0 ? &metal : NULL);
    const double told = trial_value (record, "burr_height_mm");
    const gboolean is_unknown =
      isnan (told) && heights[i] > 0 &&
      (is_told (record) || g_strcmp0 (trial_text (record, "verdict"), "retake") == 0);
    known += !isnan (told) && heights[i] > 0;
    if (!is_unknown && (!(fabs (told - (heights[i] > 0 ? highest : 0)) <= 0.2 * highest + px) ||
                        (heights[i] == 0 && told != 0)))
      fail_msg ("%s %u: a wire edge of %.2f px told as %.2f px", tool->view, (guint)seed,
                heights[i] > 0 ? highest / px : 0, told / px);
    assert_string_not_equal (trial_text (record, "verdict"), "reject");
    json_decref (record);
    scene_polygon_clear (&metal);
  }
  assert_true (known >= 1);
}

static void
on_blades (void **state)
{
  SceneBladePlan blade;
  SceneBladePlanTruth truth;
  Tool tool = { .view = "blade-plan", .share = 0.4, .n = G_N_ELEMENTS (heights) };
  scene_random_blade_plan (FIRST_SEED, SCENE_BLADE_GOOD, &blade, &tool.camera);
  const double half = 0.5 * blade.width, rise = half * tan (blade.rake_deg * G_PI / 180.0);
  const double reach = 0.75 * hypot (tool.camera.width, tool.camera.height) * tool.camera.mm_per_px;
  tool.outline = scene_blade_plan_outline (&blade, reach, &truth);
  tool.from = (ScenePoint){ -half, -rise };
  tool.to = (ScenePoint){ half, rise };
  tool.card = g_strdup ("[tool]\nid = QT-H-0001\nkind = cutoff-blade\n");
  look_at (*state, &tool, FIRST_SEED);
  scene_polygon_clear (&tool.outline);
  g_free (tool.card);
}

static void
on_form_tools (void **state)
{
  SceneProfile profile;
  Tool tool = { .view = "form-plan", .share = 0.28, .n = 2 };
  scene_profile_random (FIRST_SEED, &profile, &tool.camera);
  g_autofree char *nominal = scene_profile_text (&profile);
  g_autofree char *path = g_build_filename (*state, "nominal.profile", NULL);
  assert_true (g_file_set_contents (path, nominal, -1, NULL));
  tool.outline = scene_profile_outline (&profile);
  /* The slope that rises to the bulge. */
  tool.from = profile.segments[1].to;
  tool.to = profile.segments[2].to;
  tool.card = g_strdup ("[tool]\nid = QT-H-0002\nkind = form-tool\n"
                        "nominal_profile = nominal.profile\n[limits]\n"
                        "profile_deviation_max_mm = .. 0.03\n"
                        "profile_deviation_min_mm = -0.03 ..\n");
  look_at (*state, &tool, FIRST_SEED);
  scene_polygon_clear (&tool.outline);
  g_unlink (path);
  g_free (tool.card);
}

/* Seen end-on at the tip: within a fifth and a px, inside U, none where there is none, and never
 * what a tool is rejected for. */
static void
look_at_sides (TrialBurrKind kind)
{
  guint known = 0;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + trial_scenes (15, 4); seed++)
  {
    TrialBurr burr;
    trial_burr_measure (trial_program (), kind, seed, &burr);
    assert_null (burr.retake);
    const TrialBurrNumber *height = &burr.height[0];
    const double error = fabs (height->told - height->truth);
    const gboolean is_wrong = height->told > 0
                                ? !(height->truth > 0) || !(error <= height->U) ||
                                    !(error <= 0.2 * height->truth + 1) || !burr.told_wire
                              : isnan (height->told) ? !(height->truth > 0) || !burr.told_wire
                                                     : !(height->truth <= height->least);
    if (is_wrong)
      fail_msg ("side %u: a wire edge of %.2f px told as %.2f px, U %.2f, least %.2f", (guint)seed,
                height->truth, height->told, height->U, height->least);
    known += height->told > 0 ? 1 : 0;
    trial_burr_clear (&burr);
  }
  assert_true (known >= 1);
}

static void
on_sides (void **state)
{
  (void)state;
  look_at_sides (TRIAL_BURR_BLADE_SIDE);
  look_at_sides (TRIAL_BURR_FORM_SIDE);
}

static int
make_folder (void **state)
{
  *state = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  return *state == NULL;
}

static int
remove_folder (void **state)
{
  g_rmdir (*state);
  g_free (*state);
  return 0;
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (on_blades),
    cmocka_unit_test (on_form_tools),
    cmocka_unit_test (on_sides),
  };
  return cmocka_run_group_tests (tests, make_folder, remove_folder);
}
