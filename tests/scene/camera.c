/* Dust, and whole pictures. */
#include "film.h"
#include "lens.h"

#include <math.h>

/* Specks keep this far from the tool, px. */
#define DUST_GAP 14.0
#define N_SPECK 14

void
scene_camera_init (SceneCamera *camera)
{
  const SceneCamera plain = {
    .width = 1600,
    .height = 1200,
    .mm_per_px = 0.02,
    .origin_x = 800.0,
    .origin_y = 300.0,
    .blur_px = 1.0,
    .back = 0.75,
    .front = 0.03,
    .tint = { 1.0, 1.0, 1.0 },
    .bits = 8,
    .seed = 1,
  };
  *camera = plain;
}

/* Do point and corners keep clear of the frame? */
static gboolean
point_fits (const SceneCamera *camera, const SceneDrill *drill)
{
  const double R = 0.5 * drill->diameter;
  const double low =
    -R * (1.0 / tan (MIN (drill->half_angle_a, drill->half_angle_b) * G_PI / 180.0));
  const ScenePoint corners[] = {
    { 0.0, 0.1 * R }, { -R, low }, { R, low }, { -R, 0.0 }, { R, 0.0 }
  };
  const double gap = 0.05 * MIN (camera->width, camera->height);
  for (gsize i = 0; i < G_N_ELEMENTS (corners); i++)
  {
    const ScenePoint p = lens_to_ideal (camera, corners[i]);
    if (p.x < gap || p.y < gap || p.x > camera->width - gap || p.y > camera->height - gap)
      return FALSE;
  }
  return TRUE;
}

void
scene_camera_aim (SceneCamera *camera, const SceneDrill *drill, double share)
{
  const double shorter = MIN (camera->width, camera->height);
  const double dx = sin (camera->roll_deg * G_PI / 180.0);
  const double dy = -cos (camera->roll_deg * G_PI / 180.0);
  camera->mm_per_px = drill->diameter / (share * shorter);
  for (double k = 0.6; k > 0.0; k -= 0.01)
  {
    camera->origin_x = 0.5 * camera->width + k * dx * camera->width;
    camera->origin_y = 0.5 * camera->height + k * dy * camera->height;
    if (point_fits (camera, drill))
      return;
  }
}

/* --- Dust ---------------------------------------------------------------- */

static double
distance_to (const ScenePolygon *polygon, double x, double y)
{
  double best = G_MAXDOUBLE;
  gboolean in = FALSE;
  for (gsize i = 0; i < polygon->n; i++)
  {
    const ScenePoint p = polygon->points[i];
    const ScenePoint q = polygon->points[(i + 1) % polygon->n];
    const double dx = q.x - p.x, dy = q.y - p.y;
    const double length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((x - p.x) * dx + (y - p.y) * dy) / length2 : 0.0;
    t = CLAMP (t, 0.0, 1.0);
    best = MIN (best, hypot (p.x + t * dx - x, p.y + t * dy - y));
    if ((p.y > y) != (q.y > y) && x < p.x + dx * (y - p.y) / dy)
      in = !in;
  }
  return in ? 0.0 : best;
}

static ScenePolygon
make_speck (SceneRng *rng, double x, double y, double radius)
{
  ScenePolygon speck = { g_new (ScenePoint, N_SPECK), N_SPECK, 0.0 };
  const double stretch = scene_rng_uniform (rng, 0.6, 1.5);
  for (guint i = 0; i < N_SPECK; i++)
  {
    const double r = radius * scene_rng_uniform (rng, 0.75, 1.2);
    speck.points[i].x = x + r * stretch * cos (2.0 * G_PI * i / N_SPECK);
    speck.points[i].y = y + r / stretch * sin (2.0 * G_PI * i / N_SPECK);
  }
  speck.weight = scene_rng_uniform (rng, 0.35, 0.95);
  return speck;
}

static void
add_ground_dust (GArray *polygons, gsize n_tools, const SceneCamera *camera, SceneRng *rng)
{
  for (guint i = 0; i < camera->dust; i++)
  {
    const double x = scene_rng_uniform (rng, 0.0, camera->width);
    const double y = scene_rng_uniform (rng, 0.0, camera->height);
    const double u = scene_rng_uniform (rng, 0.0, 1.0);
    const double radius = 0.8 + 3.0 * u * u * u;
    gboolean clear = TRUE;
    for (gsize k = 0; clear && k < n_tools; k++)
      clear =
        distance_to (&g_array_index (polygons, ScenePolygon, k), x, y) > DUST_GAP + 1.5 * radius;
    if (!clear)
      continue;
    const ScenePolygon speck = make_speck (rng, x, y, radius);
    g_array_append_val (polygons, speck);
  }
}

/* Crumbs on the sides, more than a diameter below the point. */
static void
add_body_dust (GArray *polygons, const SceneDrill *drill, const SceneCamera *camera, SceneRng *rng)
{
  const ScenePolygon *tool = &g_array_index (polygons, ScenePolygon, 0);
  const ScenePoint tip = { camera->origin_x, camera->origin_y };
  const double clear = 1.1 * drill->diameter / camera->mm_per_px;
  g_autoptr (GArray) crumbs = g_array_new (FALSE, FALSE, sizeof (ScenePolygon));
  for (guint tries = 0; crumbs->len < camera->dust_body && tries < 10000; tries++)
  {
    const ScenePoint p = tool->points[scene_rng_next (rng) % tool->n];
    if (hypot (p.x - tip.x, p.y - tip.y) < clear || p.x < 0.0 || p.y < 0.0 || p.x > camera->width ||
        p.y > camera->height)
      continue;
    ScenePolygon crumb = make_speck (rng, p.x, p.y, scene_rng_uniform (rng, 1.5, 4.0));
    crumb.weight = 1.0;
    g_array_append_val (crumbs, crumb);
  }
  g_array_append_vals (polygons, crumbs->data, crumbs->len);
}

/* --- Pictures ------------------------------------------------------------ */

static SceneImage *
take (GArray *polygons, const SceneCamera *camera)
{
  g_autofree float *taken =
    film_expose ((const ScenePolygon *)(void *)polygons->data, polygons->len, camera);
  return film_develop (taken, camera);
}

SceneImage *
scene_render (const SceneDrill *drill, const SceneCamera *camera, SceneTruth *truth)
{
  const SceneView view = { .turn_deg = camera->turn_deg,
                           .tilt_deg = camera->tilt_deg,
                           .distance = camera->distance_mm,
                           .foot = lens_foot (camera) };
  ScenePolygon outline = scene_drill_seen (drill, &view, lens_bottom (camera), truth);
  scene_camera_project (camera, &outline);
  SceneRng rng;
  scene_rng_init (&rng, camera->seed);
  g_autoptr (GArray) polygons = g_array_new (FALSE, FALSE, sizeof (ScenePolygon));
  g_array_append_val (polygons, outline);
  add_body_dust (polygons, drill, camera, &rng);
  add_ground_dust (polygons, 1, camera, &rng);
  SceneImage *image = take (polygons, camera);
  for (guint i = 0; i < polygons->len; i++)
    scene_polygon_clear (&g_array_index (polygons, ScenePolygon, i));
  return image;
}

SceneImage *
scene_render_polygons (const ScenePolygon *tools, gsize n, const SceneCamera *camera)
{
  SceneRng rng;
  scene_rng_init (&rng, camera->seed);
  g_autoptr (GArray) polygons = g_array_new (FALSE, FALSE, sizeof (ScenePolygon));
  g_array_append_vals (polygons, tools, (guint)n);
  add_ground_dust (polygons, n, camera, &rng);
  SceneImage *image = take (polygons, camera);
  for (gsize i = n; i < polygons->len; i++)
    scene_polygon_clear (&g_array_index (polygons, ScenePolygon, i));
  return image;
}
