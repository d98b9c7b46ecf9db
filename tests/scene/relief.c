/* The outer corner, seen square to its margin. */
#include "relief.h"

#include "steel.h"

#include <math.h>

/* --- The corner --------------------------------------------------------------------- */

static Vec3
corner_of (const Solid *solid)
{
  return solid_lip_point (solid, LIP_B,
                          sqrt (solid->radius * solid->radius - solid->half_web * solid->half_web));
}

/* On the flank's edge, `behind` mm of periphery behind the corner. */
static Vec3
on_edge (const Solid *solid, Vec3 corner, double behind)
{
  const double phi = atan2 (corner.y, corner.x) - behind / solid->radius;
  const Vec3 p = { solid->radius * cos (phi), solid->radius * sin (phi), 0.0 };
  return (Vec3){ p.x, p.y, solid_flank_height (solid, LIP_B, p.x, p.y) };
}

static double
tangent_of (const Solid *solid, Vec3 corner)
{
  const double d = 1e-4 * solid->radius;
  const double rise = on_edge (solid, corner, -d).z - on_edge (solid, corner, d).z;
  return atan (rise / (2.0 * d)) / SCENE_DEG;
}

static void
find_truth (const Solid *solid, const SceneDrill *drill, const ShadeCamera *camera,
            SceneReliefTruth *truth)
{
  const Vec3 corner = corner_of (solid);
  truth->lip_relief_deg = tangent_of (solid, corner);
  /* Seen square on, the margin's end is R sin (margin / R) aside. */
  const double fall = corner.z - on_edge (solid, corner, drill->margin).z;
  const double aside = solid->radius * sin (drill->margin / solid->radius);
  truth->chord_deg = atan (fall / aside) / SCENE_DEG;
  truth->corner_px = shade_project (camera, corner);
  for (int i = 0; i < 5; i++)
    truth->edge_px[i] = shade_project (camera, on_edge (solid, corner, 0.25 * i * drill->margin));
}

/* --- The camera ----------------------------------------------------------------------- */

static Vec3
combine (Vec3 a, double ka, Vec3 b, double kb)
{
  return (Vec3){ ka * a.x + kb * b.x, ka * a.y + kb * b.y, ka * a.z + kb * b.z };
}

ShadeCamera
scene_relief_camera (const Solid *solid, const SceneRelief *relief, gboolean left_hand)
{
  const Vec3 corner = corner_of (solid);
  /* The drill's turn to the right is the camera's to the left. */
  const double phi = atan2 (corner.y, corner.x) - relief->turn_deg * SCENE_DEG;
  const double tilt = relief->tilt_deg * SCENE_DEG;
  const Vec3 outward = { cos (phi), sin (phi), 0.0 }, axis = { 0.0, 0.0, 1.0 };
  ShadeCamera camera = { .width = relief->width,
                         .height = relief->height,
                         .origin = corner,
                         .at = relief->corner,
                         .mm_per_px = relief->mm_per_px,
                         .distance = relief->distance_mm,
                         .mirrored = left_hand };
  camera.toward = combine (outward, cos (tilt), axis, sin (tilt));
  const Vec3 up = combine (axis, cos (tilt), outward, -sin (tilt));
  const Vec3 right = shade_cross (up, camera.toward);
  /* Clockwise in the picture; the mirror turns it over. */
  const double roll = relief->roll_deg * SCENE_DEG * (left_hand ? -1.0 : 1.0);
  camera.up = combine (up, cos (roll), right, -sin (roll));
  camera.right = combine (right, cos (roll), up, sin (roll));
  return camera;
}

/* --- The look --------------------------------------------------------------------------- */

static void
look_of (const Solid *solid, const SceneRelief *relief, SteelLook *look)
{
  SceneRng rng;
  scene_rng_init (&rng, relief->seed ^ 0x57ee1);
  *look = (SteelLook){ .exposure = relief->exposure,
                       .ground = relief->ground,
                       .blur_px = relief->blur_px,
                       .noise = relief->noise,
                       .marks = relief->marks,
                       .grain = scene_rng_uniform (&rng, 0.0, 0.3),
                       .heat = relief->burn,
                       .hot = corner_of (solid),
                       .colour = relief->colour,
                       .seed = relief->seed };
  steel_light_init (look, (SteelLight)relief->lamps, &rng);
  look->slope_x = scene_rng_uniform (&rng, -0.2, 0.2);
  look->slope_y = scene_rng_uniform (&rng, -0.2, 0.2);
  for (int i = 0; i < SHADE_N_REGIONS; i++)
  {
    look->albedo[i] = scene_rng_uniform (&rng, 0.75, 1.0);
    look->rough[i] = scene_rng_uniform (&rng, 0.1, 0.3);
  }
  look->rough[SHADE_FLUTE] = scene_rng_uniform (&rng, 0.05, 0.2);
}

/* As far down as the picture may show, mm. */
static double
bottom_of (const Solid *solid, const SceneRelief *relief)
{
  return corner_of (solid).z - 0.8 * hypot (relief->width, relief->height) * relief->mm_per_px;
}

SceneImage *
scene_render_relief (const SceneDrill *drill, const SceneRelief *relief)
{
  Solid solid;
  solid_init (&solid, drill);
  const ShadeCamera camera = scene_relief_camera (&solid, relief, drill->left_hand);
  SteelLook look;
  look_of (&solid, relief, &look);
  g_autoptr (ShadeModel) model = shade_model_new (&solid, bottom_of (&solid, relief));
  SceneImage *image = steel_picture (model, &camera, &look);
  solid_clear (&solid);
  return image;
}

void
scene_relief_truth (const SceneDrill *drill, const SceneRelief *relief, SceneReliefTruth *truth)
{
  Solid solid;
  solid_init (&solid, drill);
  const ShadeCamera camera = scene_relief_camera (&solid, relief, drill->left_hand);
  find_truth (&solid, drill, &camera, truth);
  solid_clear (&solid);
}

/* --- Whole scenes --------------------------------------------------------------------------- */

static gboolean
chance (SceneRng *rng, double probability)
{
  return scene_rng_uniform (rng, 0.0, 1.0) < probability;
}

/* The lip's rise adds to what is ground behind it: sets the grinder until the edge is as asked. */
static void
grind_relief (SceneDrill *drill, double relief_deg)
{
  drill->relief_deg = relief_deg;
  for (int i = 0; i < 6; i++)
  {
    Solid solid;
    solid_init (&solid, drill);
    drill->relief_deg += relief_deg - tangent_of (&solid, corner_of (&solid));
    solid_clear (&solid);
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
  drill->helix_deg = scene_rng_uniform (rng, 22.0, 34.0);
  drill->web = D * scene_rng_uniform (rng, 0.12, 0.19);
  drill->margin = D * scene_rng_uniform (rng, 0.075, 0.11);
  drill->clearance = D * scene_rng_uniform (rng, 0.008, 0.02);
  drill->land_deg = scene_rng_uniform (rng, 82.0, 94.0);
  drill->cone_distance = scene_rng_uniform (rng, 2.2, 3.5);
  drill->cone_share =
    chance (rng, 0.25) ? scene_rng_uniform (rng, 0.55, 0.65) : scene_rng_uniform (rng, 0.35, 0.45);
  drill->left_hand = chance (rng, 0.15);
  grind_relief (drill, scene_rng_uniform (rng, 6.0, 16.0));
}

static void
random_light (SceneRng *rng, guint64 seed, SceneRelief *relief)
{
  static const double grounds[] = { 0.035, 0.2, 0.5 };
  relief->lamps = (SceneLamps)(scene_rng_next (rng) % SCENE_N_LAMPS);
  relief->ground =
    grounds[scene_rng_next (rng) % G_N_ELEMENTS (grounds)] * scene_rng_uniform (rng, 0.75, 1.3);
  relief->exposure = scene_rng_uniform (rng, 0.5, 1.2);
  relief->blur_px = scene_rng_uniform (rng, 0.5, 1.1);
  relief->noise = scene_rng_uniform (rng, 0.003, 0.012);
  relief->marks = scene_rng_uniform (rng, 0.01, 0.06);
  relief->colour = chance (rng, 0.5);
  relief->seed = seed;
}

void
scene_random_relief (guint64 seed, SceneDrill *drill, SceneRelief *relief)
{
  SceneRng rng;
  scene_rng_init (&rng, seed);
  random_drill (&rng, drill);
  *relief = (SceneRelief){ .width = 1280, .height = 960 };
  random_light (&rng, seed, relief);
  relief->mm_per_px = drill->diameter / scene_rng_uniform (&rng, 1200.0, 1360.0);
  relief->distance_mm = chance (&rng, 0.7) ? scene_rng_uniform (&rng, 210.0, 300.0) : 1500.0;
  const double aside = scene_rng_uniform (&rng, 55.0, 100.0);
  relief->corner.x = 639.5 + (drill->left_hand ? -aside : aside);
  relief->corner.y = 479.5 - scene_rng_uniform (&rng, 40.0, 75.0);
  relief->roll_deg = scene_rng_uniform (&rng, -1.0, 1.0) * (chance (&rng, 0.35) ? 15.0 : 0.5);
  relief->turn_deg = 0.7 * scene_rng_normal (&rng);
  relief->tilt_deg = 0.2 * scene_rng_normal (&rng);
  relief->burn = chance (&rng, 0.3) ? scene_rng_uniform (&rng, 0.05, 0.12) * drill->diameter : 0.0;
}

static void
put (GString *json, const char *name, double value)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (json, "\"%s\": %s, ", name, g_ascii_dtostr (text, sizeof text, value));
}

char *
scene_relief_json (const char *file, const SceneDrill *drill, const SceneRelief *relief,
                   const SceneReliefTruth *truth)
{
  GString *json = g_string_new (NULL);
  g_string_append_printf (json, "{\"file\": \"%s\", \"view\": \"drill-relief\", \"hand\": \"%s\", ",
                          file, drill->left_hand ? "left" : "right");
  put (json, "mm_per_px", relief->mm_per_px);
  put (json, "distance_mm", relief->distance_mm);
  put (json, "diameter_mm", drill->diameter);
  put (json, "roll_deg", relief->roll_deg);
  put (json, "turn_deg", relief->turn_deg);
  put (json, "tilt_deg", relief->tilt_deg);
  put (json, "lamps", relief->lamps);
  put (json, "ground", relief->ground);
  put (json, "burn_mm", relief->burn);
  put (json, "corner_x_px", truth->corner_px.x);
  put (json, "corner_y_px", truth->corner_px.y);
  g_string_append (json, "\"truth\": {");
  put (json, "lip_relief_deg", truth->lip_relief_deg);
  put (json, "chord_over_margin_deg", truth->chord_deg);
  g_string_truncate (json, json->len - 2);
  g_string_append (json, "}}");
  return g_string_free (json, FALSE);
}
