/* Scenes as a shop may have them, and pictures that must be refused. */
#include "solid.h"

#include <math.h>
#include <string.h>

static const char *const mode_names[] = { "good", "unequal", "offset", "height",
                                          "chip", "corner",  NULL };

const char *
scene_mode_name (SceneMode mode)
{
  return mode < SCENE_N_MODES ? mode_names[mode] : NULL;
}

/* --- Drills -------------------------------------------------------------- */

/* Metric sizes, and 1/8, 5/32, 3/16, 1/4, 5/16, 3/8, 1/2, 5/8, 3/4 inch. */
static const double diameters[] = {
  3.0,  3.3,  4.0,  4.2,  5.0,   6.0,     6.5,    6.8,  8.0,    8.5,   10.0, 10.2,   12.0, 13.0,
  14.0, 16.0, 18.0, 20.0, 3.175, 3.96875, 4.7625, 6.35, 7.9375, 9.525, 12.7, 15.875, 19.05
};

static gboolean
chance (SceneRng *rng, double probability)
{
  return scene_rng_uniform (rng, 0.0, 1.0) < probability;
}

static double
either_sign (SceneRng *rng, double low, double high)
{
  const double value = scene_rng_uniform (rng, low, high);
  return chance (rng, 0.5) ? value : -value;
}

static void
random_geometry (SceneRng *rng, SceneDrill *drill)
{
  static const double points[] = { 118.0, 118.0, 118.0, 135.0, 130.0, 120.0, 140.0 };
  const double D = diameters[scene_rng_next (rng) % G_N_ELEMENTS (diameters)];
  scene_drill_init (drill, D);
  const double point = points[scene_rng_next (rng) % G_N_ELEMENTS (points)];
  drill->helix_deg = scene_rng_uniform (rng, 20.0, 40.0);
  drill->web = D * scene_rng_uniform (rng, 0.12, 0.20);
  drill->design_half_angle = 0.5 * point;
  drill->margin = D * scene_rng_uniform (rng, 0.065, 0.09);
  drill->clearance = D * scene_rng_uniform (rng, 0.01, 0.02);
  drill->land_deg = scene_rng_uniform (rng, 82.0, 94.0);
  drill->relief_deg = scene_rng_uniform (rng, 8.0, 13.0);
  drill->cone_distance = chance (rng, 0.25) ? 0.0 : scene_rng_uniform (rng, 2.0, 4.0);
  drill->left_hand = chance (rng, 0.1);
  const double ground = 0.5 * MAX (116.0, point + 0.8 * scene_rng_normal (rng));
  drill->half_angle_a = ground + 0.12 * scene_rng_normal (rng);
  drill->half_angle_b = ground + 0.12 * scene_rng_normal (rng);
  drill->offset = 0.002 * D * scene_rng_normal (rng);
  drill->height = 0.001 * D * scene_rng_normal (rng);
}

static void
random_chip (SceneRng *rng, SceneDrill *drill)
{
  SceneChip *chip = chance (rng, 0.5) ? &drill->chip_a : &drill->chip_b;
  chip->depth = drill->diameter * scene_rng_uniform (rng, 0.012, 0.03);
  chip->width = chip->depth * scene_rng_uniform (rng, 2.0, 4.5);
  chip->place = scene_rng_uniform (rng, 0.4, 0.8);
}

static void
random_fault (SceneRng *rng, SceneMode mode, SceneDrill *drill)
{
  const double D = drill->diameter;
  switch (mode)
  {
  case SCENE_UNEQUAL:
  {
    const double half = 0.5 * either_sign (rng, 1.0, 4.0);
    drill->half_angle_a += half;
    drill->half_angle_b -= half;
    break;
  }
  case SCENE_OFFSET:
    drill->offset += either_sign (rng, 0.01, 0.03) * D;
    break;
  case SCENE_HEIGHT:
    drill->height += either_sign (rng, 0.01, 0.03) * D;
    break;
  case SCENE_CHIP:
    random_chip (rng, drill);
    break;
  case SCENE_CORNER:
    *(chance (rng, 0.5) ? &drill->corner_a : &drill->corner_b) =
      D * scene_rng_uniform (rng, 0.03, 0.08);
    break;
  default:
    break;
  }
}

/* Truth rests on the lips from 24 % of the radius on: a thinner web until they reach that far. */
static void
thin_web (SceneDrill *drill)
{
  gboolean fits = FALSE;
  while (!fits)
  {
    Solid solid;
    solid_init (&solid, drill);
    fits = TRUE;
    for (int lip = 0; lip < N_LIPS; lip++)
    {
      const Vec3 inner = solid_lip_point (&solid, lip, solid_lip_start (&solid, lip));
      fits = fits && fabs (inner.x) < 0.215 * solid.radius;
    }
    solid_clear (&solid);
    if (!fits)
      drill->web *= 0.95;
  }
}

void
scene_random_light (SceneRng *rng, SceneCamera *camera)
{
  camera->blur_px = scene_rng_uniform (rng, 0.6, 1.6);
  camera->back = scene_rng_uniform (rng, 0.45, 0.75);
  camera->front = scene_rng_uniform (rng, 0.01, 0.06);
  camera->light_x = scene_rng_uniform (rng, -0.12, 0.12);
  camera->light_y = scene_rng_uniform (rng, -0.12, 0.12);
  camera->vignette = scene_rng_uniform (rng, 0.0, 0.2);
  camera->shot = scene_rng_uniform (rng, 0.003, 0.015);
  camera->read = scene_rng_uniform (rng, 0.0005, 0.003);
  camera->dust = (guint)scene_rng_uniform (rng, 0.0, 40.0);
  camera->dust_body = chance (rng, 0.3) ? (guint)scene_rng_uniform (rng, 1.0, 6.0) : 0;
  camera->encoding = chance (rng, 0.2) ? SCENE_LINEAR : SCENE_SRGB;
  camera->tagged = chance (rng, 0.5);
  camera->bits = chance (rng, 0.15) ? 16 : 8;
  /* Of 16 bits nobody could guess it. */
  camera->tagged = camera->tagged || camera->bits == 16;
  camera->colour = chance (rng, 0.3);
  camera->tint[0] = scene_rng_uniform (rng, 0.9, 1.05);
  camera->tint[2] = scene_rng_uniform (rng, 0.9, 1.05);
  camera->seed = scene_rng_next (rng);
}

void
scene_random_front_light (guint64 seed, SceneCamera *camera)
{
  SceneRng rng;
  scene_rng_init (&rng, seed ^ G_GUINT64_CONSTANT (0xf407));
  const gboolean dark_ground = chance (&rng, 0.4);
  camera->back =
    dark_ground ? scene_rng_uniform (&rng, 0.1, 0.3) : scene_rng_uniform (&rng, 0.35, 0.65);
  camera->front = camera->back * (dark_ground ? scene_rng_uniform (&rng, 1.5, 2.5)
                                              : scene_rng_uniform (&rng, 0.3, 0.8));
  camera->sheen = scene_rng_uniform (&rng, 0.1, 0.6);
  camera->streaks = scene_rng_uniform (&rng, 0.02, 0.15);
  camera->streak_deg = scene_rng_uniform (&rng, 0.0, 180.0);
  camera->mottle = scene_rng_uniform (&rng, 0.0, 0.03);
  camera->light_x *= 0.7;
  camera->light_y *= 0.7;
  const double beside = scene_rng_uniform (&rng, 0.0, 1.0);
  camera->beside = beside < 0.25 ? SCENE_CARD : beside < 0.5 ? SCENE_PIN : SCENE_NOTHING;
}

/* The same drill in another size; before faults are ground. */
static void
scale_drill (SceneDrill *drill, double by)
{
  drill->diameter *= by;
  drill->web *= by;
  drill->margin *= by;
  drill->clearance *= by;
  drill->offset *= by;
  drill->height *= by;
}

static void
random_camera (SceneRng *rng, const SceneDrill *drill, SceneCamera *camera)
{
  static const guint sizes[][2] = { { 1600, 1200 }, { 1280, 1024 }, { 1280, 960 } };
  const guint size = (guint)(scene_rng_next (rng) % G_N_ELEMENTS (sizes));
  scene_camera_init (camera);
  camera->width = sizes[size][0];
  camera->height = sizes[size][1];
  camera->roll_deg =
    chance (rng, 0.4) ? 6.0 * scene_rng_normal (rng) : scene_rng_uniform (rng, -180.0, 180.0);
  scene_camera_aim (camera, drill, scene_rng_uniform (rng, 0.3, 0.45));
  camera->origin_x += scene_rng_uniform (rng, -20.0, 20.0);
  camera->origin_y += scene_rng_uniform (rng, -20.0, 20.0);
  scene_random_light (rng, camera);
}

void
scene_random (guint64 seed, SceneMode mode, SceneDrill *drill, SceneCamera *camera)
{
  SceneRng rng;
  scene_rng_init (&rng, seed * SCENE_N_MODES + (guint64)mode);
  random_geometry (&rng, drill);
  random_fault (&rng, mode, drill);
  thin_web (drill);
  random_camera (&rng, drill, camera);
}

/* --- Near cameras -------------------------------------------------------- */

/* Distortion in the picture's corner, of the distance from its middle. */
#define MOST_BARREL 0.02
#define MOST_PINCUSHION 0.01

void
scene_random_lens (SceneRng *rng, SceneCamera *camera)
{
  camera->distance_mm = scene_rng_uniform (rng, 100.0, 300.0);
  camera->centre_x = 0.01 * camera->width * scene_rng_normal (rng);
  camera->centre_y = 0.01 * camera->height * scene_rng_normal (rng);
  const double corner =
    0.5 * hypot (camera->width, camera->height) * camera->mm_per_px / camera->distance_mm;
  const double most = chance (rng, 0.75) ? -MOST_BARREL : MOST_PINCUSHION;
  camera->k1 = most * scene_rng_uniform (rng, 0.3, 1.0) / (corner * corner);
  camera->k2 = 0.1 * most * scene_rng_normal (rng) / pow (corner, 4.0);
}

void
scene_random_near (guint64 seed, SceneMode mode, SceneDrill *drill, SceneCamera *camera)
{
  static const double small[] = { 3.0, 4.0, 5.0, 6.5, 8.0, 10.0, 12.0, 13.0 };
  SceneRng rng;
  scene_rng_init (&rng, seed * SCENE_N_MODES + (guint64)mode);
  random_geometry (&rng, drill);
  if (chance (&rng, 0.12))
  {
    drill->design_half_angle = 45.0;
    drill->half_angle_a = 45.0 + 0.3 * scene_rng_normal (&rng);
    drill->half_angle_b = 45.0 + 0.3 * scene_rng_normal (&rng);
  }
  scale_drill (drill, small[scene_rng_next (&rng) % G_N_ELEMENTS (small)] / drill->diameter);
  random_fault (&rng, mode, drill);
  thin_web (drill);
  random_camera (&rng, drill, camera);
  scene_random_lens (&rng, camera);
}

/* --- Traps --------------------------------------------------------------- */

/* What a trap changes; whoever draws something else than one drill has `draw`. */
typedef struct
{
  const char *kind;
  const char *reasons;
  void (*change) (SceneRng *rng, SceneDrill *drill, SceneCamera *camera);
  guint (*draw) (SceneRng *rng, const SceneDrill *drill, const SceneCamera *camera,
                 ScenePolygon *tools);
} Trap;

#define MAX_TOOLS 3

static ScenePolygon
drill_in_picture (const SceneDrill *drill, const SceneCamera *camera)
{
  const double reach = 2.0 * hypot (camera->width, camera->height) * camera->mm_per_px;
  ScenePolygon tool = scene_drill_outline (drill, camera->turn_deg, camera->tilt_deg, -reach, NULL);
  scene_camera_project (camera, &tool);
  return tool;
}

/* A bar with square corners from z = 0 down, its end falling by `slope` toward the right. */
static ScenePolygon
bar_in_picture (const SceneCamera *camera, double width_mm, double slope)
{
  const double reach = 2.0 * hypot (camera->width, camera->height) * camera->mm_per_px;
  const double h = 0.5 * width_mm;
  const ScenePoint corners[] = {
    { -h, -reach }, { -h, h * slope }, { h, -h * slope }, { h, -reach }
  };
  ScenePolygon bar = { g_memdup2 (corners, sizeof corners), G_N_ELEMENTS (corners), 1.0 };
  scene_camera_project (camera, &bar);
  return bar;
}

static guint
draw_nothing (SceneRng *rng, const SceneDrill *drill, const SceneCamera *camera,
              ScenePolygon *tools)
{
  (void)rng;
  (void)drill;
  (void)camera;
  (void)tools;
  return 0;
}

static guint
draw_pin (SceneRng *rng, const SceneDrill *drill, const SceneCamera *camera, ScenePolygon *tools)
{
  (void)rng;
  tools[0] = bar_in_picture (camera, drill->diameter, 0.0);
  return 1;
}

static guint
draw_blade (SceneRng *rng, const SceneDrill *drill, const SceneCamera *camera, ScenePolygon *tools)
{
  tools[0] = bar_in_picture (camera, 0.7 * drill->diameter, scene_rng_uniform (rng, 0.1, 0.25));
  return 1;
}

static guint
draw_several (SceneRng *rng, const SceneDrill *drill, const SceneCamera *camera,
              ScenePolygon *tools)
{
  const guint n = 2 + (guint)(scene_rng_next (rng) % 2);
  for (guint i = 0; i < n; i++)
  {
    SceneCamera one = *camera;
    one.roll_deg = scene_rng_uniform (rng, -5.0, 5.0);
    one.origin_x = camera->width * (i + 0.5 + scene_rng_uniform (rng, -0.05, 0.05)) / n;
    one.origin_y = camera->height * scene_rng_uniform (rng, 0.2, 0.35);
    one.mm_per_px = drill->diameter / (0.55 * camera->width / n);
    tools[i] = drill_in_picture (drill, &one);
  }
  return n;
}

static void
trap_noise (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->back = 0.4;
  camera->read = scene_rng_uniform (rng, 0.1, 0.25);
  camera->dust = 0;
}

static void
trap_cut (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  /* The foremost point lies outside, or both corners too. */
  const double out = drill->diameter / camera->mm_per_px * scene_rng_uniform (rng, 0.1, 0.5);
  camera->roll_deg = 90.0 * (double)(scene_rng_next (rng) % 4);
  const double dx = sin (camera->roll_deg * G_PI / 180.0);
  const double dy = -cos (camera->roll_deg * G_PI / 180.0);
  camera->origin_x = 0.5 * camera->width + dx * (0.5 * camera->width + out);
  camera->origin_y = 0.5 * camera->height + dy * (0.5 * camera->height + out);
}

static void
trap_focus (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->defocus_px = scene_rng_uniform (rng, 16.0, 26.0);
}

static void
trap_motion (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->motion_px = scene_rng_uniform (rng, 15.0, 30.0);
  /* Neither along a lip nor along the axis, or an edge stays sharp. */
  camera->motion_deg = camera->roll_deg + either_sign (rng, 0.0, 8.0);
}

static void
trap_over (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->back = scene_rng_uniform (rng, 2.5, 5.0);
  camera->front = 0.1;
}

static void
trap_under (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->back = scene_rng_uniform (rng, 0.003, 0.008);
  camera->front = 0.0005;
}

static void
trap_contrast (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->back = 0.40;
  camera->front = 0.40 - scene_rng_uniform (rng, 0.01, 0.03);
}

static void
trap_negative (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)rng;
  (void)drill;
  camera->encoding = SCENE_SRGB;
  camera->negative = TRUE;
}

/* Linear light or not, nobody knows. */
static void
trap_untold (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)rng;
  (void)drill;
  camera->bits = 16;
  camera->tagged = FALSE;
  camera->encoding = SCENE_SRGB;
}

static void
trap_turned (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->turn_deg = either_sign (rng, 15.0, 40.0);
}

static void
trap_small (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  scene_camera_aim (camera, drill, scene_rng_uniform (rng, 0.012, 0.03));
}

static void
trap_across (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  /* The body right across the picture, no point in it. */
  camera->roll_deg = scene_rng_uniform (rng, -20.0, 20.0);
  camera->origin_x = 0.5 * camera->width;
  camera->origin_y = -(1.0 * drill->diameter / camera->mm_per_px + 0.2 * camera->height);
}

static void
trap_leaning (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  (void)drill;
  camera->tilt_deg = either_sign (rng, 4.0, 6.0);
}

/* A rolling shutter beside a tool that moves; not at 45 degrees, where it only stretches. */
static void
trap_skewed (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  camera->roll_deg = scene_rng_uniform (rng, -20.0, 20.0);
  scene_camera_aim (camera, drill, 0.4);
  camera->skew = either_sign (rng, 0.01, 0.05);
}

static void
trap_squeezed (SceneRng *rng, SceneDrill *drill, SceneCamera *camera)
{
  camera->roll_deg = either_sign (rng, 10.0, 35.0);
  scene_camera_aim (camera, drill, 0.35);
  camera->stretch = either_sign (rng, 0.02, 0.1);
}

static const Trap traps[] = {
  { "no-tool", "no-tool", NULL, draw_nothing },
  { "noise", "no-tool,low-contrast,under-exposed,out-of-focus,dirty-edge,wrong-view", trap_noise,
    draw_nothing },
  { "several-tools", "several-tools,wrong-view", NULL, draw_several },
  { "cut-by-frame", "cut-by-frame,wrong-view,no-tool", trap_cut, NULL },
  { "across", "cut-by-frame,wrong-view,no-tool", trap_across, NULL },
  { "out-of-focus", "out-of-focus", trap_focus, NULL },
  { "motion-blur", "motion-blur,out-of-focus", trap_motion, NULL },
  { "over-exposed", "over-exposed", trap_over, NULL },
  { "under-exposed", "under-exposed,low-contrast,no-tool", trap_under, NULL },
  { "low-contrast", "low-contrast,no-tool,under-exposed", trap_contrast, NULL },
  { "negative", "tones-changed", trap_negative, NULL },
  { "untold", "tone-unknown", trap_untold, NULL },
  { "lips-turned", "lips-turned,wrong-view", trap_turned, NULL },
  { "too-small", "too-small,no-tool", trap_small, NULL },
  { "leaning", "leaning,lips-turned", trap_leaning, NULL },
  { "skewed", "pixels-not-square,wrong-view", trap_skewed, NULL },
  { "squeezed", "pixels-not-square,wrong-view", trap_squeezed, NULL },
  { "pin", "wrong-view", NULL, draw_pin },
  { "blade", "wrong-view", NULL, draw_blade },
};

static const char *const trap_kinds[G_N_ELEMENTS (traps) + 1] = {
  "no-tool",      "noise",       "several-tools", "cut-by-frame",  "across",
  "out-of-focus", "motion-blur", "over-exposed",  "under-exposed", "low-contrast",
  "negative",     "untold",      "lips-turned",   "too-small",     "leaning",
  "skewed",       "squeezed",    "pin",           "blade",         NULL
};

const char *const *
scene_trap_kinds (void)
{
  return trap_kinds;
}

static const Trap *
find_trap (const char *kind)
{
  for (gsize i = 0; i < G_N_ELEMENTS (traps); i++)
    if (strcmp (traps[i].kind, kind) == 0)
      return &traps[i];
  return NULL;
}

SceneImage *
scene_trap (const char *kind, guint64 seed, const char **reasons)
{
  const Trap *trap = find_trap (kind);
  if (trap == NULL)
    return NULL;
  if (reasons != NULL)
    *reasons = trap->reasons;
  SceneDrill drill;
  SceneCamera camera;
  scene_random (seed, SCENE_GOOD, &drill, &camera);
  camera.bits = 8;
  camera.encoding = SCENE_SRGB;
  SceneRng rng;
  scene_rng_init (&rng, seed + 1);
  if (trap->change != NULL)
    trap->change (&rng, &drill, &camera);
  if (trap->draw == NULL)
    return scene_render (&drill, &camera, NULL);
  ScenePolygon tools[MAX_TOOLS];
  const guint n = trap->draw (&rng, &drill, &camera, tools);
  SceneImage *image = scene_render_polygons (tools, n, &camera);
  for (guint i = 0; i < n; i++)
    scene_polygon_clear (&tools[i]);
  return image;
}
