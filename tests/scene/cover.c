/*
 * Exact area coverage, sharp or blurred.
 *
 * Sharp: each polygon edge adds, in every row it crosses, the area to its right: in the
 * cell where it runs a part, in the next cell the rest of its height, so that a running sum
 * along the row gives the covered area of each pixel.  Nothing is sampled.
 *
 * Blurred: a pixel is the shape weighted with h(x) h(y), h a box of 1 px convolved with a
 * Gaussian.  With H' = h, Gauss's theorem makes that an integral along the outline,
 *   I(i, j) = closed integral of H(i - x) h(j - y) dy,
 * whose integrand is smooth, so that few Gauss-Legendre points are enough.  (Blurring
 * sampled coverage instead is wrong by up to 0.5 % of the contrast at sigma = 0.6 px and two
 * samples a pixel: coverage is not band-limited.)
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

/* The part of a to b, as fractions, that lies between low and high. */
static gboolean
visible_part (double a, double b, double low, double high, double *t0, double *t1)
{
  *t0 = 0.0;
  *t1 = 1.0;
  if (MAX (a, b) < low || MIN (a, b) > high || !(fabs (b - a) > 0.0))
    return FALSE;
  const double p = (low - a) / (b - a);
  const double q = (high - a) / (b - a);
  *t0 = MAX (0.0, MIN (p, q));
  *t1 = MIN (1.0, MAX (p, q));
  return *t1 > *t0;
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

/* --- Blurred ------------------------------------------------------------- */

/* Where less than 1e-8 of the weight is left. */
#define REACH_SIGMAS 5.7

/* Longest stretch for one three-point rule, in sigmas of h. */
#define STRETCH 0.6

static double
step1 (double t, double sigma)
{
  const double u = t / sigma;
  return sigma * (0.5 * u * erfc (-u / G_SQRT2) + exp (-0.5 * u * u) / sqrt (2.0 * G_PI));
}

static double
step0 (double t, double sigma)
{
  return 0.5 * erfc (-t / sigma / G_SQRT2);
}

#define MAX_SPAN 512

/* h (i - x) for i0 to i1, or its integral H, each the difference of `integral` over a pixel. */
static void
weights (double (*integral) (double, double), double x, double sigma, int i0, int i1,
         double *weight)
{
  double low = integral (i0 - 0.5 - x, sigma);
  for (int i = i0; i <= i1; i++)
  {
    const double high = integral (i + 0.5 - x, sigma);
    weight[i - i0] = high - low;
    low = high;
  }
}

static void
add_node (double *sums, const SceneGrid *grid, ScenePoint p, double dy)
{
  const double reach = MIN (REACH_SIGMAS * grid->blur_px + 0.5, 0.5 * MAX_SPAN - 2.0);
  const int j0 = (int)ceil (MAX (p.y - reach, 0.0));
  const int j1 = (int)floor (MIN (p.y + reach, grid->height - 1.0));
  const int i0 = (int)ceil (MAX (p.x - reach, 0.0));
  const int i1 = (int)floor (MIN (p.x + reach, grid->width - 1.0));
  if (j0 > j1 || p.x - reach > grid->width - 1.0)
    return;
  double across[MAX_SPAN], down[MAX_SPAN];
  const int n = MAX (0, i1 - i0 + 1);
  weights (step1, p.x, grid->blur_px, i0, i1, across);
  weights (step0, p.y, grid->blur_px, j0, j1, down);
  /* What is added along the row is later summed, hence differences; right of the
   * reach all of it. */
  across[n] = 1.0;
  for (int k = n; k > 0; k--)
    across[k] -= across[k - 1];
  for (int j = j0; j <= j1; j++)
  {
    const double weight = dy * down[j - j0];
    double *row = sums + (gsize)j * (grid->width + 1) + i0;
    for (int k = 0; k <= n; k++)
      row[k] += weight * across[k];
  }
}

static void
add_blurred_edge (double *sums, const SceneGrid *grid, ScenePoint a, ScenePoint b, double weight)
{
  /* Gauss-Legendre, three points. */
  static const double at[3] = { 0.11270166537925831, 0.5, 0.8872983346207417 };
  static const double share[3] = { 5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0 };
  const double reach = REACH_SIGMAS * grid->blur_px + 1.0;
  double t0, t1;
  if (!visible_part (a.y, b.y, -reach, grid->height + reach, &t0, &t1))
    return;
  const double dx = b.x - a.x, dy = b.y - a.y;
  const double stretch = STRETCH * sqrt (grid->blur_px * grid->blur_px + 1.0 / 12.0);
  const int n = MAX (1, (int)ceil ((t1 - t0) * hypot (dx, dy) / stretch));
  for (int i = 0; i < n; i++)
    for (int k = 0; k < 3; k++)
    {
      const double t = t0 + (t1 - t0) * (i + at[k]) / n;
      const ScenePoint p = { a.x + t * dx, a.y + t * dy };
      add_node (sums, grid, p, weight * share[k] * (t1 - t0) * dy / n);
    }
}

/* --- Both ---------------------------------------------------------------- */

void
scene_cover_add (const ScenePolygon *polygon, const SceneGrid *grid, double *sums)
{
  /* Sharp edges count from a pixel's corner, blurred ones from its centre. */
  const gboolean sharp = !(grid->blur_px > 0.0);
  const double half = sharp ? 0.5 : 0.0;
  const double weight = twice_area (polygon) > 0.0 ? -polygon->weight : polygon->weight;
  for (gsize i = 0; i < polygon->n; i++)
  {
    const ScenePoint p = polygon->points[i];
    const ScenePoint q = polygon->points[(i + 1) % polygon->n];
    const ScenePoint a = { p.x + grid->shift.x + half, p.y + grid->shift.y + half };
    const ScenePoint b = { q.x + grid->shift.x + half, q.y + grid->shift.y + half };
    if (sharp)
      add_edge (sums, grid->width, grid->height, a, b, weight);
    else
      add_blurred_edge (sums, grid, a, b, weight);
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
