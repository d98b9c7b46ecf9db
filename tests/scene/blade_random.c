/* Whole scenes of cutoff blades, and what is told of them. */
#include "blade.h"

#include <math.h>

#define DEG (G_PI / 180.0)

/* --- Whole scenes ----------------------------------------------------------- */

static const char *const mode_names[] = { "good", "worn", "chip", "rough", "rake" };

const char *
scene_blade_mode_name (SceneBladeMode mode)
{
  return mode < SCENE_BLADE_N_MODES ? mode_names[mode] : NULL;
}

void
scene_aim_blade (SceneCamera *camera, double width, double share)
{
  camera->mm_per_px = width / (share * MIN (camera->width, camera->height));
  camera->origin_x = 0.5 * camera->width;
  camera->origin_y = 0.5 * camera->height;
}

static double
either_sign (SceneRng *rng, double low, double high)
{
  const double value = scene_rng_uniform (rng, low, high);
  return scene_rng_next (rng) % 2 == 0 ? value : -value;
}

static void
random_camera (SceneRng *rng, double width, SceneCamera *camera)
{
  static const guint sizes[][2] = { { 1600, 1200 }, { 1280, 1024 }, { 1280, 960 } };
  const guint size = (guint)(scene_rng_next (rng) % G_N_ELEMENTS (sizes));
  scene_camera_init (camera);
  camera->width = sizes[size][0];
  camera->height = sizes[size][1];
  scene_aim_blade (camera, width, scene_rng_uniform (rng, 0.32, 0.55));
  camera->origin_x += scene_rng_uniform (rng, -0.06, 0.06) * camera->width;
  camera->origin_y += scene_rng_uniform (rng, -0.06, 0.06) * camera->height;
  scene_random_light (rng, camera);
  camera->blur_px = scene_rng_uniform (rng, 0.6, 2.2);
}

static void
random_faults (SceneRng *rng, SceneBladeMode mode, SceneBladePlan *b)
{
  const double W = b->width;
  if (mode == SCENE_BLADE_WORN)
  {
    b->radius_left = W * scene_rng_uniform (rng, 0.02, 0.09);
    b->radius_right = W * scene_rng_uniform (rng, 0.02, 0.09);
  }
  if (mode == SCENE_BLADE_CHIP)
  {
    b->chip.depth = W * scene_rng_uniform (rng, 0.012, 0.05);
    b->chip.width = b->chip.depth * scene_rng_uniform (rng, 2.0, 5.0);
    b->chip.place = scene_rng_uniform (rng, 0.25, 0.75);
  }
  if (mode == SCENE_BLADE_ROUGH)
  {
    b->rough = W * scene_rng_uniform (rng, 0.0004, 0.0012);
    b->rough_length = W * scene_rng_uniform (rng, 0.04, 0.1);
  }
}

void
scene_random_blade_plan (guint64 seed, SceneBladeMode mode, SceneBladePlan *b, SceneCamera *camera)
{
  static const double widths[] = { 1.6, 2.0, 2.4, 3.0, 3.2, 4.0 };
  SceneRng rng;
  scene_rng_init (&rng, 1000003 * seed + (guint64)mode);
  scene_blade_plan_init (b, widths[scene_rng_next (&rng) % G_N_ELEMENTS (widths)]);
  b->seed = scene_rng_next (&rng);
  b->rake_deg =
    mode == SCENE_BLADE_RAKE ? either_sign (&rng, 14.0, 20.0) : either_sign (&rng, 0.8, 14.0);
  b->clearance_left = scene_rng_uniform (&rng, 0.8, 2.0);
  b->clearance_right = scene_rng_uniform (&rng, 0.8, 2.0);
  random_faults (&rng, mode, b);
  random_camera (&rng, b->width, camera);
  camera->roll_deg = scene_rng_uniform (&rng, -180.0, 180.0);
}

void
scene_random_blade_side (guint64 seed, SceneBladeMode mode, SceneBladeSide *b, SceneCamera *camera)
{
  static const double heights[] = { 12.0, 16.0, 20.0, 26.0 };
  SceneRng rng;
  scene_rng_init (&rng, 1000033 * seed + (guint64)mode);
  *b = (SceneBladeSide){ .height = 0.0 };
  b->height = heights[scene_rng_next (&rng) % G_N_ELEMENTS (heights)];
  b->relief_deg = scene_rng_uniform (&rng, 6.0, 14.0);
  b->top_rake_deg = scene_rng_uniform (&rng, 0.0, 8.0);
  b->tip_radius = mode == SCENE_BLADE_WORN ? b->height * scene_rng_uniform (&rng, 0.01, 0.05) : 0.0;
  b->mirrored = scene_rng_next (&rng) % 2 == 0;
  random_camera (&rng, b->height, camera);
  camera->roll_deg = scene_rng_uniform (&rng, -180.0, 180.0);
}

/* --- Other looks ------------------------------------------------------------ */

static const char *const look_names[] = { "stepped", "open", "face", "plain" };

const char *
scene_side_look_name (SceneSideLook look)
{
  return look < SCENE_SIDE_N_LOOKS ? look_names[look] : NULL;
}

/* The tip in view and the blade behind it; `height` and more below it lies outside. */
static void
aim_open (SceneRng *rng, SceneBladeSide *b, SceneCamera *camera)
{
  camera->roll_deg = scene_rng_uniform (rng, -15.0, 15.0);
  camera->mm_per_px = scene_rng_uniform (rng, 19.0, 22.0) / (0.8 * camera->width);
  /* Where the tip is to be seen, in parts of the picture. */
  const double x = scene_rng_uniform (rng, 0.8, 0.86), y = scene_rng_uniform (rng, 0.2, 0.32);
  const double c = cos (camera->roll_deg * DEG), s = sin (camera->roll_deg * DEG);
  const double half = 0.5 * b->height / camera->mm_per_px;
  camera->origin_x = (b->mirrored ? 1.0 - x : x) * camera->width - half * s;
  camera->origin_y = y * camera->height + half * c;
}

static void
light_from_front (SceneRng *rng, SceneBladeSide *b, SceneCamera *camera)
{
  camera->back = scene_rng_uniform (rng, 0.78, 0.86);
  camera->front = scene_rng_uniform (rng, 0.15, 0.3);
  camera->light_y = scene_rng_uniform (rng, -0.14, -0.1);
  camera->light_x = scene_rng_uniform (rng, -0.1, 0.1);
  camera->vignette = 0.0;
  camera->tint[0] = camera->tint[2] = 1.0;
  camera->dust_body = 0;
  camera->blur_px = scene_rng_uniform (rng, 0.6, 1.5);
  b->face = scene_rng_uniform (rng, 12.0, 24.0) * camera->mm_per_px;
  b->face_spread_deg = scene_rng_uniform (rng, -0.3, 0.3);
  b->face_weight = scene_rng_uniform (rng, 0.45, 0.9);
}

void
scene_random_side_look (guint64 seed, SceneSideLook look, SceneBladeSide *b, SceneCamera *camera)
{
  scene_random_blade_side (seed, SCENE_BLADE_GOOD, b, camera);
  SceneRng rng;
  scene_rng_init (&rng, 1000081 * seed + (guint64)look);
  if (look != SCENE_SIDE_STEPPED)
  {
    b->height = scene_rng_uniform (&rng, 24.0, 30.0);
    aim_open (&rng, b, camera);
  }
  if (look == SCENE_SIDE_PLAIN)
    b->top_rake_deg = 0.0;
  else
  {
    b->top_rake_deg = scene_rng_uniform (&rng, 2.0, 12.0);
    b->ground = scene_rng_uniform (&rng, 3.0, 7.0);
    b->drop = scene_rng_uniform (&rng, 0.0, 0.3);
    b->rise_deg = scene_rng_uniform (&rng, 35.0, 80.0);
    b->rear_deg = scene_rng_uniform (&rng, -0.0866, 0.0866); /* 0.05 of deviation */
  }
  if (look == SCENE_SIDE_FACE)
    light_from_front (&rng, b, camera);
}

/* --- Truth as text ------------------------------------------------------------ */

static void
put_number (GString *json, const char *name, double value)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (json, "\"%s\": %s, ", name, g_ascii_dtostr (text, sizeof text, value));
}

static GString *
open_json (const char *file, const char *view, const char *mode, guint64 seed,
           const SceneCamera *camera)
{
  GString *json = g_string_new (NULL);
  g_string_append_printf (json, "{\"file\": \"%s\", \"view\": \"%s\", \"mode\": \"%s\", ", file,
                          view, mode);
  g_string_append_printf (json, "\"seed\": %" G_GUINT64_FORMAT ", ", seed);
  put_number (json, "mm_per_px", camera->mm_per_px);
  put_number (json, "roll_deg", camera->roll_deg);
  put_number (json, "blur_px", camera->blur_px);
  g_string_append (json, "\"truth\": {");
  return json;
}

static char *
close_json (GString *json)
{
  g_string_truncate (json, json->len - 2);
  g_string_append (json, "}}");
  return g_string_free (json, FALSE);
}

char *
scene_blade_plan_json (const char *file, const char *mode, guint64 seed, const SceneCamera *camera,
                       const SceneBladePlanTruth *truth)
{
  GString *json = open_json (file, "blade-plan", mode, seed, camera);
  g_string_append_printf (json, "\"hand\": \"%s\", ", truth->hand);
  put_number (json, "side_rake_deg", truth->side_rake_deg);
  put_number (json, "side_clearance_mean_deg", truth->side_clearance_mean_deg);
  put_number (json, "side_clearance_left_deg", truth->side_clearance_left_deg);
  put_number (json, "side_clearance_right_deg", truth->side_clearance_right_deg);
  put_number (json, "edge_width_mm", truth->edge_width_mm);
  put_number (json, "leading_corner_advance_mm", truth->leading_corner_advance_mm);
  put_number (json, "corner_radius_left_mm", truth->corner_radius_left_mm);
  put_number (json, "corner_radius_right_mm", truth->corner_radius_right_mm);
  put_number (json, "edge_straightness_mm", truth->edge_straightness_mm);
  put_number (json, "chip_depth_mm", truth->chip_depth_mm);
  return close_json (json);
}

char *
scene_blade_side_json (const char *file, const char *mode, guint64 seed, const SceneCamera *camera,
                       const SceneBladeSideTruth *truth)
{
  GString *json = open_json (file, "blade-side", mode, seed, camera);
  put_number (json, "front_relief_deg", truth->front_relief_deg);
  put_number (json, "top_rake_deg", truth->top_rake_deg);
  put_number (json, "tip_height_mm", truth->tip_height_mm);
  return close_json (json);
}
