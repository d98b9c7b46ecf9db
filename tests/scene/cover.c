/*
 * Exact area coverage.
 *
 * Each polygon edge adds, in every row it crosses, the area to its right: in the
 * cell where it runs a part, in the next cell the rest of its height, so that a
 * running sum along the row gives the covered area of each pixel.  Nothing is
 * sampled; the result is exact but for rounding.
 */
#include "scene.h"

#include <math.h>
#include <string.h>

/* One edge piece inside one row, from (x0, y0) to (x1, y1) in cell coordinates. */
static void
add_piece (double *row, guint width, double x0, double x1, double dy)
{
  if (x0 > x1)
  {
    const double t = x0;
    x0 = x1;
    x1 = t;
  }
  if (x0 >= width)
    return;
  if (x1 <= 0.0)
  {
    row[0] += dy;
    return;
  }
  if (x0 < 0.0)
  {
    const double part = dy * (0.0 - x0) / (x1 - x0);
    row[0] += part;
    dy -= part;
    x0 = 0.0;
  }
  if (x1 > width)
  {
    dy *= (width - x0) / (x1 - x0);
    x1 = width;
  }
  const double per_x = x1 > x0 ? dy / (x1 - x0) : 0.0;
  guint i = (guint)x0;
  if (i >= width)
    return;
  if (x1 <= i + 1.0)
  {
    const double mean = 0.5 * (x0 + x1) - i;
    row[i] += dy * (1.0 - mean);
    row[i + 1] += dy * mean;
    return;
  }
  for (double x = x0; x < x1; i++)
  {
    const double end = MIN (x1, i + 1.0);
    const double d = per_x * (end - x);
    const double mean = 0.5 * (x + end) - i;
    row[i] += d * (1.0 - mean);
    row[i + 1] += d * mean;
    x = end;
  }
}

static void
add_edge (double *sums, guint width, guint height, ScenePoint a, ScenePoint b, double weight)
{
  if (a.y > b.y)
  {
    const ScenePoint t = a;
    a = b;
    b = t;
    weight = -weight;
  }
  if (!(b.y > a.y) || b.y <= 0.0 || a.y >= height)
    return;
  const double slope = (b.x - a.x) / (b.y - a.y);
  const double top = MAX (a.y, 0.0);
  const double bottom = MIN (b.y, (double)height);
  for (double y = top; y < bottom;)
  {
    const guint j = (guint)y;
    const double end = MIN (bottom, j + 1.0);
    add_piece (sums + (gsize)j * (width + 1), width, a.x + slope * (y - a.y),
               a.x + slope * (end - a.y), weight * (end - y));
    y = end;
  }
}

static double
twice_area (const ScenePolygon *polygon)
{
  double sum = 0.0;
  for (gsize i = 0; i < polygon->n; i++)
  {
    const ScenePoint p = polygon->points[i];
    const ScenePoint q = polygon->points[(i + 1) % polygon->n];
    sum += p.x * q.y - q.x * p.y;
  }
  return sum;
}

void
scene_cover_add (const ScenePolygon *polygon, const SceneGrid *grid, double *sums)
{
  const double weight = twice_area (polygon) > 0.0 ? -polygon->weight : polygon->weight;
  const double k = grid->scale;
  for (gsize i = 0; i < polygon->n; i++)
  {
    const ScenePoint p = polygon->points[i];
    const ScenePoint q = polygon->points[(i + 1) % polygon->n];
    const ScenePoint a = { (p.x + grid->dx + 0.5) * k, (p.y + grid->dy + 0.5) * k };
    const ScenePoint b = { (q.x + grid->dx + 0.5) * k, (q.y + grid->dy + 0.5) * k };
    add_edge (sums, grid->width, grid->height, a, b, weight);
  }
}

void
scene_cover_finish (const SceneGrid *grid, const double *sums, float *cover)
{
  for (guint j = 0; j < grid->height; j++)
  {
    const double *row = sums + (gsize)j * (grid->width + 1);
    float *out = cover + (gsize)j * grid->width;
    double sum = 0.0;
    for (guint i = 0; i < grid->width; i++)
    {
      sum += row[i];
      out[i] = (float)CLAMP (sum, 0.0, 1.0);
    }
  }
}

void
scene_polygon_clear (ScenePolygon *polygon)
{
  g_free (polygon->points);
  memset (polygon, 0, sizeof *polygon);
}
