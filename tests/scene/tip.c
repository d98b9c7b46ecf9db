/* The point, seen along the axis. */
#include "tip.h"

#include "steel.h"

#include <math.h>

/* --- Truth ---------------------------------------------------------------------------- */

/* Lips ground at another angle than their flutes were made for are bowed a little: their lines are
 * what is defined, fitted over this part of the radius. */
#define LIP_FROM 0.3
#define LIP_TO 0.92
#define LIP_EVERY 0.02

/* Distance of a lip's line from the axis, where it passes it. */
static double
lip_line_at_axis (const Solid *solid, int lip)
{
  double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  for (double r = LIP_FROM; r <= LIP_TO; r += LIP_EVERY)
  {
    const Vec3 p = solid_lip_point (solid, lip, r * solid->radius);
    n += 1.0;
    x += p.x;
    y += p.y;
    xx += p.x * p.x;
    xy += p.x * p.y;
  }
  const double slope = (n * xy - x * y) / (n * xx - x * x);
  return fabs (y - slope * x) / n;
}

void
scene_tip_truth (const SceneDrill *drill, SceneTipTruth *truth)
{
  Solid solid;
  solid_init (&solid, drill);
  const Vec3 a = solid_lip_point (&solid, LIP_A, solid_lip_start (&solid, LIP_A));
  const Vec3 b = solid_lip_point (&solid, LIP_B, solid_lip_start (&solid, LIP_B));
  /* The lips lie along x. */
  truth->chisel_edge_angle_deg = 180.0 - atan2 (b.y - a.y, b.x - a.x) / SCENE_DEG;
  truth->chisel_edge_length_mm = hypot (b.x - a.x, b.y - a.y);
  truth->web_thickness_mm = lip_line_at_axis (&solid, LIP_A) + lip_line_at_axis (&solid, LIP_B);
  truth->margin_width_mm = drill->margin * cos (drill->helix_deg * SCENE_DEG);
  solid_clear (&solid);
}

/* --- Camera and look --------------------------------------------------------------------- */

/* Height of the outer corners, mm. */
static double
corner_height (const Solid *solid)
{
  return -solid->radius * solid->design_cot;
}

ShadeCamera
scene_tip_camera (const Solid *solid, const SceneTip *tip, gboolean left_hand)
{
  const double roll = tip->roll_deg * SCENE_DEG;
  ShadeCamera camera = { .width = tip->width,
                         .height = tip->height,
                         .origin = { 0.0, 0.0, corner_height (solid) },
                         .at = tip->centre,
                         .mm_per_px = tip->mm_per_px,
                         .distance = tip->distance_mm,
                         .mirrored = left_hand };
  camera.toward = shade_unit (
    (Vec3){ tan (tip->look_x_deg * SCENE_DEG), tan (tip->look_y_deg * SCENE_DEG), 1.0 });
  camera.up = shade_unit (shade_cross (camera.toward, (Vec3){ cos (roll), sin (roll), 0.0 }));
  camera.right = shade_unit (shade_cross (camera.up, camera.toward));
  return camera;
}

static void
look_of (const SceneTip *tip, SteelLook *look)
{
  SceneRng rng;
  scene_rng_init (&rng, tip->seed ^ 0x71b5);
  *look = (SteelLook){ .exposure = tip->exposure,
                       .ground = tip->ground,
                       .blur_px = tip->blur_px,
                       .noise = tip->noise,
                       .marks = tip->marks,
                       .grain = scene_rng_uniform (&rng, 0.0, 0.3),
                       .colour = tip->colour,
                       .seed = tip->seed };
  steel_light_init (look, (SteelLight)tip->lamps, &rng);
  for (int i = 0; i < SHADE_N_REGIONS; i++)
  {
    look->albedo[i] = scene_rng_uniform (&rng, 0.75, 1.0);
    look->rough[i] = scene_rng_uniform (&rng, 0.1, 0.3);
  }
  /* Deep in the flute it is darker. */
  look->albedo[SHADE_FLUTE] = scene_rng_uniform (&rng, 0.2, 0.7);
}

/* Down to where the flutes have closed the view, diameters. */
#define DEPTH 2.6

SceneImage *
scene_render_tip (const SceneDrill *drill, const SceneTip *tip)
{
  Solid solid;
  SteelLook look;
  solid_init (&solid, drill);
  const ShadeCamera camera = scene_tip_camera (&solid, tip, drill->left_hand);
  look_of (tip, &look);
  g_autoptr (ShadeModel) model =
    shade_model_new (&solid, corner_height (&solid) - DEPTH * drill->diameter);
  SceneImage *image = steel_picture (model, &camera, &look);
  solid_clear (&solid);
  return image;
}

/* --- Whole scenes --------------------------------------------------------------------------- */

static gboolean
chance (SceneRng *rng, double probability)
{
  return scene_rng_uniform (rng, 0.0, 1.0) < probability;
}

/* As for regular drills. */
#define LEAST_CHISEL_DEG 112.0
#define MOST_CHISEL_DEG 138.0

static void
grind_flanks (SceneRng *rng, SceneDrill *drill)
{
  SceneTipTruth truth = { .chisel_edge_angle_deg = 0.0 };
  while (truth.chisel_edge_angle_deg < LEAST_CHISEL_DEG ||
         truth.chisel_edge_angle_deg > MOST_CHISEL_DEG)
  {
    drill->cone_distance = scene_rng_uniform (rng, 2.0, 3.5);
    drill->cone_share = scene_rng_uniform (rng, 0.35, 0.6);
    drill->relief_deg = scene_rng_uniform (rng, 7.0, 14.0);
    scene_tip_truth (drill, &truth);
  }
}

static void
random_drill (SceneRng *rng, SceneDrill *drill)
{
  static const double diameters[] = { 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 14.0 };
  static const double points[] = { 118.0, 118.0, 118.0, 130.0, 135.0 };
  const double D = diameters[scene_rng_next (rng) % G_N_ELEMENTS (diameters)];
  scene_drill_init (drill, D);
  drill->design_half_angle = 0.5 * points[scene_rng_next (rng) % G_N_ELEMENTS (points)];
  drill->half_angle_a = drill->half_angle_b = drill->design_half_angle;
  if (chance (rng, 0.3))
  {
    drill->half_angle_a += 0.6 * scene_rng_normal (rng);
    drill->half_angle_b += 0.6 * scene_rng_normal (rng);
    drill->offset = 0.004 * D * scene_rng_normal (rng);
  }
  drill->helix_deg = scene_rng_uniform (rng, 22.0, 34.0);
  drill->web = D * scene_rng_uniform (rng, 0.13, 0.19);
  drill->margin = D * scene_rng_uniform (rng, 0.065, 0.1);
  drill->clearance = D * scene_rng_uniform (rng, 0.01, 0.02);
  drill->land_deg = scene_rng_uniform (rng, 82.0, 94.0);
  drill->left_hand = chance (rng, 0.15);
  grind_flanks (rng, drill);
}

void
scene_random_tip (guint64 seed, SceneDrill *drill, SceneTip *tip)
{
  static const double grounds[] = { 0.035, 0.2, 0.45 };
  SceneRng rng;
  scene_rng_init (&rng, 31 * seed + 7);
  random_drill (&rng, drill);
  *tip = (SceneTip){ .width = 1280, .height = 960, .seed = seed };
  tip->lamps = (SceneLamps)(scene_rng_next (&rng) % SCENE_N_LAMPS);
  tip->ground =
    grounds[scene_rng_next (&rng) % G_N_ELEMENTS (grounds)] * scene_rng_uniform (&rng, 0.75, 1.3);
  tip->exposure = scene_rng_uniform (&rng, 0.5, 1.1);
  tip->blur_px = scene_rng_uniform (&rng, 0.5, 1.1);
  tip->noise = scene_rng_uniform (&rng, 0.003, 0.012);
  tip->marks = scene_rng_uniform (&rng, 0.01, 0.06);
  tip->colour = chance (&rng, 0.5);
  tip->mm_per_px = drill->diameter / scene_rng_uniform (&rng, 620.0, 820.0);
  tip->distance_mm =
    chance (&rng, 0.6) ? scene_rng_uniform (&rng, 20.0, 30.0) * drill->diameter : 1500.0;
  tip->centre.x = 639.5 + scene_rng_uniform (&rng, -60.0, 60.0);
  tip->centre.y = 479.5 + scene_rng_uniform (&rng, -15.0, 15.0);
  tip->roll_deg = scene_rng_uniform (&rng, -180.0, 180.0);
  tip->look_x_deg = 0.3 * scene_rng_normal (&rng);
  tip->look_y_deg = 0.3 * scene_rng_normal (&rng);
}

static void
put (GString *json, const char *name, double value)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (json, "\"%s\": %s, ", name, g_ascii_dtostr (text, sizeof text, value));
}

char *
scene_tip_json (const char *file, const SceneDrill *drill, const SceneTip *tip,
                const SceneTipTruth *truth)
{
  GString *json = g_string_new (NULL);
  g_string_append_printf (json, "{\"file\": \"%s\", \"view\": \"drill-end\", \"hand\": \"%s\", ",
                          file, drill->left_hand ? "left" : "right");
  put (json, "mm_per_px", tip->mm_per_px);
  put (json, "distance_mm", tip->distance_mm);
  put (json, "diameter_mm", drill->diameter);
  put (json, "roll_deg", tip->roll_deg);
  put (json, "lamps", tip->lamps);
  put (json, "ground", tip->ground);
  g_string_append (json, "\"truth\": {");
  put (json, "chisel_edge_angle_deg", truth->chisel_edge_angle_deg);
  put (json, "chisel_edge_length_mm", truth->chisel_edge_length_mm);
  put (json, "web_thickness_mm", truth->web_thickness_mm);
  put (json, "margin_width_mm", truth->margin_width_mm);
  g_string_truncate (json, json->len - 2);
  g_string_append (json, "}}");
  return g_string_free (json, FALSE);
}
