/* Dirt that clings to a tool: drops, fragments, hairs, films; and scenes with it. */
#include "film.h"
#include "lens.h"

#include <math.h>
#include <string.h>

#define N_ROUND 180
#define N_HAIR 60

/* --- Shapes, mm in the tool's frame --------------------------------------- */

/* A place on the outline and the direction away from the tool. */
typedef struct
{
  ScenePoint at, away;
} Spot;

static Spot
spot_of (const SceneDrill *drill, const SceneDirt *dirt)
{
  const double R = 0.5 * drill->diameter, side = dirt->side;
  const double half = (side < 0 ? drill->half_angle_a : drill->half_angle_b) * G_PI / 180.0;
  const double fall = 1.0 / tan (half);
  Spot spot = { { side * R, -R * fall }, { side * cos (0.5 * half), sin (0.5 * half) } };
  if (dirt->place == SCENE_AT_LIP)
    spot = (Spot){ { side * dirt->along * R, -dirt->along * R * fall },
                   { side * cos (half), sin (half) } };
  else if (dirt->place == SCENE_AT_TIP)
    spot = (Spot){ { 0.3 * side * drill->web, -0.05 * R }, { 0.0, 1.0 } };
  else if (dirt->place == SCENE_AT_BODY)
    spot = (Spot){ { side * R, -R * fall - dirt->along * R }, { side, 0.0 } };
  spot.at.x += spot.away.x * dirt->proud;
  spot.at.y += spot.away.y * dirt->proud;
  return spot;
}

static ScenePolygon
blob (ScenePoint at, double radius, double rough, double weight, SceneRng *rng)
{
  ScenePolygon polygon = { g_new (ScenePoint, N_ROUND), N_ROUND, weight };
  double part[4];
  for (guint i = 0; i < 4; i++)
    part[i] = rough * scene_rng_normal (rng);
  for (guint i = 0; i < N_ROUND; i++)
  {
    const double t = 2.0 * G_PI * i / N_ROUND;
    const double r = radius * (1.0 + part[0] * cos (2 * t) + part[1] * sin (3 * t) +
                               part[2] * cos (5 * t) + part[3] * sin (8 * t));
    polygon.points[i] = (ScenePoint){ at.x + r * cos (t), at.y + r * sin (t) };
  }
  return polygon;
}

/* An arc that crosses the outline. */
static ScenePolygon
hair (const Spot *spot, const SceneDirt *dirt, SceneRng *rng)
{
  ScenePolygon polygon = { g_new (ScenePoint, 2 * N_HAIR), 2 * N_HAIR, dirt->opacity };
  const double turn = scene_rng_uniform (rng, -1.3, 1.3);
  const double bend = scene_rng_uniform (rng, -1.5, 1.5) / dirt->length;
  double angle = atan2 (spot->away.y, spot->away.x) + turn;
  ScenePoint p = { spot->at.x - 0.3 * dirt->length * cos (angle),
                   spot->at.y - 0.3 * dirt->length * sin (angle) };
  for (guint i = 0; i < N_HAIR; i++)
  {
    const ScenePoint across = { -0.5 * dirt->size * sin (angle), 0.5 * dirt->size * cos (angle) };
    polygon.points[i] = (ScenePoint){ p.x + across.x, p.y + across.y };
    polygon.points[2 * N_HAIR - 1 - i] = (ScenePoint){ p.x - across.x, p.y - across.y };
    p.x += dirt->length / N_HAIR * cos (angle);
    p.y += dirt->length / N_HAIR * sin (angle);
    angle += bend * dirt->length / N_HAIR;
  }
  return polygon;
}

/* How deep a film reaches under the tool's own edge, so that both edges aren't one, mm. */
static double
under (const SceneCamera *camera)
{
  return 4.0 * camera->mm_per_px;
}

static ScenePolygon
seen_with (const SceneDrill *drill, const SceneCamera *camera, const SceneDirt *dirt, double height)
{
  SceneDrill wet = *drill;
  const SceneBurr layer = { .height = height,
                            .from = dirt->along,
                            .to = dirt->along + dirt->length,
                            .grain = 0.4 * drill->diameter,
                            .taper = 0.5,
                            .rolled = TRUE,
                            .seed = dirt->seed };
  *(dirt->side < 0 ? &wet.burr_a : &wet.burr_b) = layer;
  const SceneView view = { .turn_deg = camera->turn_deg,
                           .tilt_deg = camera->tilt_deg,
                           .distance = camera->distance_mm,
                           .foot = lens_foot (camera) };
  return scene_drill_seen (&wet, &view, lens_bottom (camera), NULL);
}

/* The strip that a film on one lip covers, thickest at its middle, with what is under it. */
static ScenePolygon
film (const SceneDrill *drill, const SceneCamera *camera, const SceneDirt *dirt)
{
  const double height = dirt->size + under (camera);
  /* The same points with and without, so that they tell the way out. */
  ScenePolygon wet = seen_with (drill, camera, dirt, height);
  ScenePolygon dry = seen_with (drill, camera, dirt, 1e-9 * height);
  GArray *outer = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  for (gsize i = 0; i < wet.n; i++)
  {
    const double x = wet.points[i].x - dry.points[i].x, y = wet.points[i].y - dry.points[i].y;
    const double out = hypot (x, y), down = under (camera);
    if (!(out > 1e-6 * height))
      continue;
    const ScenePoint p = { wet.points[i].x - down * x / out, wet.points[i].y - down * y / out };
    g_array_append_val (outer, p);
  }
  for (gsize i = wet.n; i-- > 0;)
  {
    const double x = wet.points[i].x - dry.points[i].x, y = wet.points[i].y - dry.points[i].y;
    const double out = hypot (x, y), down = 2.5 * under (camera);
    if (!(out > 1e-6 * height))
      continue;
    const ScenePoint p = { dry.points[i].x - down * x / out, dry.points[i].y - down * y / out };
    g_array_append_val (outer, p);
  }
  scene_polygon_clear (&wet);
  scene_polygon_clear (&dry);
  ScenePolygon strip = { NULL, outer->len, dirt->opacity };
  strip.points = (ScenePoint *)(void *)g_array_free (outer, FALSE);
  return strip;
}

static void
add_dirt (GArray *polygons, const SceneDrill *drill, const SceneCamera *camera,
          const SceneDirt *dirt)
{
  SceneRng rng;
  scene_rng_init (&rng, dirt->seed);
  const Spot spot = spot_of (drill, dirt);
  ScenePolygon shape;
  if (dirt->kind == SCENE_FILM)
    shape = film (drill, camera, dirt);
  else if (dirt->kind == SCENE_HAIR)
    shape = hair (&spot, dirt, &rng);
  else
    shape = blob (spot.at, dirt->size, dirt->kind == SCENE_DROP ? 0.02 : 0.12,
                  dirt->kind == SCENE_DROP ? dirt->opacity : 1.0, &rng);
  if (dirt->kind == SCENE_DROP)
  {
    ScenePolygon core = blob (spot.at, 0.85 * dirt->size, 0.0, 1.0 - dirt->opacity, &rng);
    scene_camera_project (camera, &core);
    g_array_append_val (polygons, core);
  }
  scene_camera_project (camera, &shape);
  g_array_append_val (polygons, shape);
}

/* Light passes through tool and dirt in turn. */
static void
cover_with (float *taken, const ScenePolygon *layer, gsize n, const SceneCamera *camera)
{
  g_autofree float *more = film_expose (layer, n, camera);
  for (gsize i = 0; i < (gsize)camera->width * camera->height; i++)
    taken[i] = 1.0f - (1.0f - taken[i]) * (1.0f - more[i]);
}

SceneImage *
scene_render_dirty (const SceneDrill *drill, const SceneCamera *camera, const SceneDirt *dirt,
                    gsize n, SceneTruth *truth)
{
  const SceneView view = { .turn_deg = camera->turn_deg,
                           .tilt_deg = camera->tilt_deg,
                           .distance = camera->distance_mm,
                           .foot = lens_foot (camera) };
  ScenePolygon outline = scene_drill_seen (drill, &view, lens_bottom (camera), truth);
  scene_camera_project (camera, &outline);
  g_autofree float *taken = film_expose (&outline, 1, camera);
  scene_polygon_clear (&outline);
  for (gsize i = 0; i < n; i++)
  {
    g_autoptr (GArray) layer = g_array_new (FALSE, FALSE, sizeof (ScenePolygon));
    add_dirt (layer, drill, camera, &dirt[i]);
    cover_with (taken, (const ScenePolygon *)(void *)layer->data, layer->len, camera);
    for (guint k = 0; k < layer->len; k++)
      scene_polygon_clear (&g_array_index (layer, ScenePolygon, k));
  }
  return film_develop (taken, camera);
}

/* --- Scenes --------------------------------------------------------------- */

static double
log_uniform (SceneRng *rng, double low, double high)
{
  return exp (scene_rng_uniform (rng, log (low), log (high)));
}

/* Over `share` of the lip, somewhere. */
static SceneBurr
random_burr (SceneRng *rng, const SceneCamera *camera, double share, gboolean rolled)
{
  SceneBurr burr = { .height = log_uniform (rng, 0.005, 0.15), .rolled = rolled };
  burr.from = scene_rng_uniform (rng, 0.15, 1.0 - 0.85 * share);
  burr.to = burr.from + 0.85 * share;
  if (burr.to > 0.97)
    burr.to = 1.0;
  burr.taper = scene_rng_uniform (rng, 0.02, rolled ? 0.5 : 0.3);
  burr.grain = camera->mm_per_px * log_uniform (rng, rolled ? 40.0 : 3.0, 300.0);
  burr.seed = scene_rng_next (rng);
  return burr;
}

static void
put_burr (SceneRng *rng, const SceneCamera *camera, SceneDrill *drill, const char *kind)
{
  const gboolean rolled = g_str_equal (kind, "rolled");
  const gboolean both = g_str_equal (kind, "both"), first = scene_rng_next (rng) % 2 == 0;
  const double most = both ? 0.5 : 0.7;
  SceneBurr burrs[2];
  for (guint i = 0; i < 2; i++)
  {
    burrs[i] = random_burr (rng, camera, scene_rng_uniform (rng, 0.05, most), rolled);
    if (g_str_equal (kind, "wire"))
      burrs[i].height = scene_rng_uniform (rng, 0.01, 0.1);
    if (g_str_equal (kind, "corner"))
    {
      burrs[i].from = scene_rng_uniform (rng, 0.6, 0.95);
      burrs[i].to = 1.0;
    }
    if (g_str_equal (kind, "tip"))
    {
      burrs[i].from = scene_rng_uniform (rng, 0.0, 0.15);
      burrs[i].to = scene_rng_uniform (rng, 0.2, 0.6);
    }
  }
  if (both || first)
    drill->burr_a = burrs[0];
  if (both || !first)
    drill->burr_b = burrs[1];
}

static SceneDirt
random_dirt (SceneRng *rng, const SceneDrill *drill, const SceneCamera *camera, SceneDirtKind kind,
             SceneDirtPlace place)
{
  const double R = 0.5 * drill->diameter, px = camera->mm_per_px;
  SceneDirt dirt = { .kind = kind, .place = place, .side = scene_rng_next (rng) % 2 == 0 ? -1 : 1 };
  dirt.along = scene_rng_uniform (rng, place == SCENE_AT_BODY ? 0.15 : 0.2, 0.95);
  dirt.opacity = scene_rng_uniform (rng, 0.4, 1.0);
  dirt.size = MAX (2.0 * px, R * log_uniform (rng, 0.015, 0.2));
  dirt.proud = dirt.size * scene_rng_uniform (rng, -0.7, 0.4);
  dirt.seed = scene_rng_next (rng);
  if (kind == SCENE_HAIR)
  {
    dirt.size = px * scene_rng_uniform (rng, 1.0, 5.0);
    dirt.length = R * scene_rng_uniform (rng, 0.3, 1.5);
    dirt.proud = 0.0;
  }
  if (kind == SCENE_FILM)
  {
    dirt.size = px * scene_rng_uniform (rng, 0.2, 3.0);
    dirt.along = scene_rng_uniform (rng, 0.0, 0.5);
    dirt.length = scene_rng_uniform (rng, 0.3, 0.95 - dirt.along);
  }
  return dirt;
}

static const char *const kinds[] = { "wire",     "ragged",      "rolled",   "both",     "corner",
                                     "tip",      "drop-corner", "drop-lip", "drop-tip", "drop-body",
                                     "fragment", "hair",        "film",     NULL };

const char *const *
scene_proud_kinds (void)
{
  return kinds;
}

gboolean
scene_random_proud (guint64 seed, const char *kind, SceneDrill *drill, SceneCamera *camera,
                    SceneDirt dirt[SCENE_MAX_DIRT], gsize *n)
{
  if (!g_strv_contains (kinds, kind))
    return FALSE;
  static const SceneMode modes[] = { SCENE_GOOD, SCENE_UNEQUAL, SCENE_OFFSET, SCENE_HEIGHT };
  scene_random (seed, modes[seed % G_N_ELEMENTS (modes)], drill, camera);
  camera->dust_body = 0;
  SceneRng rng;
  scene_rng_init (&rng, seed ^ (g_str_hash (kind) * G_GUINT64_CONSTANT (0x9e3779b97f4a7c15)));
  *n = 0;
  const SceneDirtPlace anywhere = (SceneDirtPlace)(scene_rng_next (&rng) % 4);
  if (g_str_has_prefix (kind, "drop-"))
  {
    const char *where = kind + 5;
    const SceneDirtPlace place = g_str_equal (where, "corner") ? SCENE_AT_CORNER
                                 : g_str_equal (where, "lip")  ? SCENE_AT_LIP
                                 : g_str_equal (where, "tip")  ? SCENE_AT_TIP
                                                               : SCENE_AT_BODY;
    dirt[(*n)++] = random_dirt (&rng, drill, camera, SCENE_DROP, place);
  }
  else if (g_str_equal (kind, "fragment"))
    dirt[(*n)++] = random_dirt (&rng, drill, camera, SCENE_FRAGMENT, anywhere);
  else if (g_str_equal (kind, "hair"))
    dirt[(*n)++] = random_dirt (&rng, drill, camera, SCENE_HAIR, anywhere);
  else if (g_str_equal (kind, "film"))
    dirt[(*n)++] = random_dirt (&rng, drill, camera, SCENE_FILM, SCENE_AT_LIP);
  else
    put_burr (&rng, camera, drill, kind);
  return TRUE;
}

SceneImage *
scene_proud (guint64 seed, const char *kind, char **json)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  SceneDirt dirt[SCENE_MAX_DIRT];
  gsize n = 0;
  if (kind == NULL || !scene_random_proud (seed, kind, &drill, &camera, dirt, &n))
    return NULL;
  SceneImage *image = scene_render_dirty (&drill, &camera, dirt, n, &truth);
  *json = scene_truth_json (kind, kind, seed, &drill, &camera, &truth);
  return image;
}
