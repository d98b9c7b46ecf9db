/* Where the tool lies in the picture, and what the lens does to it. */
#include "lens.h"

#include <math.h>

/* A corner sharper than this isn't mitred in full: the mitre would be longer than 4 shifts. */
#define LEAST_MITRE 0.25

ScenePoint
lens_to_ideal (const SceneCamera *camera, ScenePoint p)
{
  const double c = cos (camera->roll_deg * G_PI / 180.0) / camera->mm_per_px;
  const double s = sin (camera->roll_deg * G_PI / 180.0) / camera->mm_per_px;
  const ScenePoint q = { camera->origin_x + p.x * c + p.y * s,
                         camera->origin_y + p.x * s - p.y * c };
  return q;
}

static ScenePoint
to_mm (const SceneCamera *camera, ScenePoint ideal)
{
  const double c = cos (camera->roll_deg * G_PI / 180.0) * camera->mm_per_px;
  const double s = sin (camera->roll_deg * G_PI / 180.0) * camera->mm_per_px;
  const double x = ideal.x - camera->origin_x, y = ideal.y - camera->origin_y;
  const ScenePoint p = { x * c + y * s, x * s - y * c };
  return p;
}

static ScenePoint
principal_point (const SceneCamera *camera)
{
  const ScenePoint c = { 0.5 * (camera->width - 1.0) + camera->centre_x,
                         0.5 * (camera->height - 1.0) + camera->centre_y };
  return c;
}

ScenePoint
lens_foot (const SceneCamera *camera)
{
  return to_mm (camera, principal_point (camera));
}

/* How much farther out than it should a telecentric lens shows what lies r half diagonals from
 * the middle: s with s (1 + k1 r^2 s^2) = 1, by Newton's rule. */
static double
telecentric_growth (double k1, double r2)
{
  double s = 1.0;
  for (int i = 0; i < 20; i++)
    s -= (s * (1.0 + k1 * r2 * s * s) - 1.0) / (1.0 + 3.0 * k1 * r2 * s * s);
  return s;
}

ScenePoint
lens_distort (const SceneCamera *camera, ScenePoint ideal)
{
  if (!(fabs (camera->k1) > 0.0 || fabs (camera->k2) > 0.0))
    return ideal;
  const gboolean near = camera->distance_mm > 0.0;
  ScenePoint c = { 0.5 * (camera->width - 1.0), 0.5 * (camera->height - 1.0) };
  const double unit = near ? camera->distance_mm / camera->mm_per_px : hypot (c.x, c.y);
  if (near)
    c = principal_point (camera);
  const double x = (ideal.x - c.x) / unit, y = (ideal.y - c.y) / unit;
  const double r2 = x * x + y * y;
  const double growth =
    near ? 1.0 + r2 * (camera->k1 + r2 * camera->k2) : telecentric_growth (camera->k1, r2);
  const ScenePoint seen = { c.x + unit * x * growth, c.y + unit * y * growth };
  return seen;
}

double
lens_bottom (const SceneCamera *camera)
{
  if (!(camera->distance_mm > 0.0))
  {
    /* Past the farthest corner of the picture, whatever the roll. */
    const double reach =
      hypot (camera->width, camera->height) +
      hypot (camera->origin_x - 0.5 * camera->width, camera->origin_y - 0.5 * camera->height);
    return -reach * camera->mm_per_px;
  }
  /* No farther than needed: what is very far aside, a near camera sees from behind. */
  double bottom = -1.0;
  for (guint i = 0; i < 4; i++)
  {
    const ScenePoint corner = { camera->width * (i % 2 == 0 ? -0.06 : 1.06),
                                camera->height * (i < 2 ? -0.06 : 1.06) };
    bottom = MIN (bottom, to_mm (camera, corner).y);
  }
  return bottom;
}

/* --- Bloom ---------------------------------------------------------------- */

static double
twice_area (const ScenePolygon *polygon)
{
  double sum = 0.0;
  for (gsize i = 0, j = polygon->n - 1; i < polygon->n; j = i++)
    sum +=
      polygon->points[j].x * polygon->points[i].y - polygon->points[i].x * polygon->points[j].y;
  return sum;
}

/* Unit vector from p to q; FALSE when they are the same. */
static gboolean
direction (ScenePoint p, ScenePoint q, ScenePoint *unit)
{
  const double length = hypot (q.x - p.x, q.y - p.y);
  unit->x = (q.x - p.x) / length;
  unit->y = (q.y - p.y) / length;
  return length > 0.0;
}

void
lens_shrink (const SceneCamera *camera, ScenePolygon *outline)
{
  if (!(fabs (camera->shrink_px) > 0.0))
    return;
  const gsize n = outline->n;
  const double by = twice_area (outline) > 0.0 ? camera->shrink_px : -camera->shrink_px;
  ScenePoint *moved = g_new (ScenePoint, n);
  for (gsize i = 0; i < n; i++)
  {
    ScenePoint in, out;
    const ScenePoint p = outline->points[i];
    moved[i] = p;
    if (!direction (outline->points[(i + n - 1) % n], p, &in) ||
        !direction (p, outline->points[(i + 1) % n], &out))
      continue;
    /* The sum of both normals over 1 + their product reaches both moved edges. */
    const double mitre = by / MAX (1.0 + in.x * out.x + in.y * out.y, LEAST_MITRE);
    moved[i].x = p.x - (in.y + out.y) * mitre;
    moved[i].y = p.y + (in.x + out.x) * mitre;
  }
  g_free (outline->points);
  outline->points = moved;
}

/* --- Outlines -------------------------------------------------------------- */

/* What pixels that aren't square, or rows read one after the other, make of the picture. */
static ScenePoint
on_sensor (const SceneCamera *camera, ScenePoint seen)
{
  const double x = seen.x - 0.5 * (camera->width - 1.0), y = seen.y - 0.5 * (camera->height - 1.0);
  seen.x += camera->stretch * x + camera->skew * y;
  return seen;
}

void
scene_camera_project (const SceneCamera *camera, ScenePolygon *outline)
{
  for (gsize i = 0; i < outline->n; i++)
    outline->points[i] =
      on_sensor (camera, lens_distort (camera, lens_to_ideal (camera, outline->points[i])));
  lens_shrink (camera, outline);
}

void
scene_polygon_divide (ScenePolygon *polygon, double most)
{
  GArray *pieces = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  for (gsize i = 0; i < polygon->n; i++)
  {
    const ScenePoint p = polygon->points[i], q = polygon->points[(i + 1) % polygon->n];
    const int n = 1 + (int)(hypot (q.x - p.x, q.y - p.y) / most);
    for (int k = 0; k < n; k++)
    {
      const ScenePoint at = { p.x + (q.x - p.x) * k / n, p.y + (q.y - p.y) * k / n };
      g_array_append_val (pieces, at);
    }
  }
  g_free (polygon->points);
  polygon->n = pieces->len;
  polygon->points = (ScenePoint *)(void *)g_array_free (pieces, FALSE);
}
