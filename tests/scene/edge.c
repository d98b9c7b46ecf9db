/* Plain edges whose place is known without any tool. */
#include "film.h"

#include <math.h>

#define FAR 1e5

/* --- Half-plane, closed form --------------------------------------------- */

static double
density (double u)
{
  return exp (-0.5 * u * u) / sqrt (2.0 * G_PI);
}

static double
distribution (double u)
{
  return 0.5 * erfc (-u / G_SQRT2);
}

/* First and second integrals of the blurred step from minus infinity on. */
static double
step1 (double t, double sigma)
{
  const double u = t / sigma;
  return sigma * (u * distribution (u) + density (u));
}

static double
step2 (double t, double sigma)
{
  const double u = t / sigma;
  return 0.5 * sigma * sigma * ((u * u + 1.0) * distribution (u) + u * density (u));
}

/* Mean over a pixel of a step blurred by sigma, d px from its middle along (c, s). */
static double
blurred_step (double d, double c, double s, double sigma)
{
  c = fabs (c);
  s = fabs (s);
  const double small = MIN (c, s);
  const double large = MAX (c, s);
  /* The neglected curvature of the step over `small` is under 1e-9. */
  if (small < 1e-5)
    return (step1 (d + 0.5 * large, sigma) - step1 (d - 0.5 * large, sigma)) / large;
  const double far = 0.5 * (large + small);
  const double near = 0.5 * (large - small);
  return (step2 (d + far, sigma) - step2 (d + near, sigma) - step2 (d - near, sigma) +
          step2 (d - far, sigma)) /
         (small * large);
}

static double *
half_plane_light (const SceneEdge *edge, guint width, guint height, double blur_px)
{
  double *light = g_new (double, (gsize)width *height);
  const double c = cos (edge->angle_deg * G_PI / 180.0);
  const double s = sin (edge->angle_deg * G_PI / 180.0);
  const double sigma = MAX (blur_px, 1e-6);
  for (guint j = 0; j < height; j++)
    for (guint i = 0; i < width; i++)
      light[(gsize)j * width + i] =
        blurred_step ((i - edge->x) * c + (j - edge->y) * s, c, s, sigma);
  return light;
}

/* --- Polygons ------------------------------------------------------------ */

/* The far side is an arc, in steps under 45 degrees. */
static ScenePolygon
make_wedge (const SceneEdge *edge)
{
  const gsize n = 10;
  ScenePolygon polygon = { g_new (ScenePoint, n), n, 1.0 };
  polygon.points[0].x = edge->x;
  polygon.points[0].y = edge->y;
  for (gsize i = 1; i < n; i++)
  {
    const double part = ((double)i - 1.0) / ((double)n - 2.0) - 0.5;
    const double a = (edge->angle_deg + part * edge->opening_deg) * G_PI / 180.0;
    polygon.points[i].x = edge->x + FAR * cos (a);
    polygon.points[i].y = edge->y + FAR * sin (a);
  }
  return polygon;
}

/* So many corners that a chord misses the circle by 1e-6 px; the radius gives the
 * polygon the circle's area. */
static ScenePolygon
make_disc (const SceneEdge *edge)
{
  const guint n = MAX (64, (guint)ceil (2.0 * G_PI * sqrt (edge->radius / 8e-6)));
  const double step = 2.0 * G_PI / n;
  const double radius = edge->radius * sqrt (step / sin (step));
  ScenePolygon polygon = { g_new (ScenePoint, n), n, 1.0 };
  for (guint i = 0; i < n; i++)
  {
    polygon.points[i].x = edge->x + radius * cos (i * step);
    polygon.points[i].y = edge->y + radius * sin (i * step);
  }
  return polygon;
}

static double *
polygon_light (const SceneEdge *edge, guint width, guint height, double blur_px)
{
  ScenePolygon polygon = edge->shape == SCENE_DISC ? make_disc (edge) : make_wedge (edge);
  const SceneGrid grid = { width, height, blur_px, { 0.0, 0.0 } };
  g_autofree double *sums = g_new0 (double, (gsize)(width + 1) * height);
  g_autofree float *plane = g_new (float, (gsize)width *height);
  scene_cover_add (&polygon, &grid, sums);
  scene_cover_finish (&grid, sums, plane);
  scene_polygon_clear (&polygon);
  double *light = g_new (double, (gsize)width *height);
  for (gsize i = 0; i < (gsize)width * height; i++)
    light[i] = 1.0 - plane[i];
  return light;
}

double *
scene_edge_light (const SceneEdge *edge, guint width, guint height, double blur_px)
{
  if (edge->shape == SCENE_HALF_PLANE)
    return half_plane_light (edge, width, height, blur_px);
  return polygon_light (edge, width, height, blur_px);
}

SceneImage *
scene_render_edge (const SceneEdge *edge, const SceneCamera *camera)
{
  const gsize n = (gsize)camera->width * camera->height;
  g_autofree double *light =
    scene_edge_light (edge, camera->width, camera->height, camera->blur_px);
  g_autofree float *taken = g_new (float, n);
  for (gsize i = 0; i < n; i++)
    taken[i] = (float)(1.0 - light[i]);
  return film_develop (taken, camera);
}
