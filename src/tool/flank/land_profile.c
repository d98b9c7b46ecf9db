#include "tool/flank/land_profile.h"

#include "colour/band.h"
#include "maths/stats.h"

#include <math.h>

double
wsi_land_log_light (const float *cell)
{
  return log (wsi_band_luminance (cell) + WS_LAND_DARK);
}

/* Places that are compared, px, and as part of what is looked at; and of those, how many must be.
 */
#define LAG_PX 6
#define LAG_SHARE 0.1
#define LEAST_PLACES 8

double
wsi_land_unevenness (const double *profile, guint n)
{
  const guint far = n / 3, lag = MAX (LAG_PX, (guint)(LAG_SHARE * n));
  if (n <= far + lag + LEAST_PLACES)
    return HUGE_VAL;
  g_autofree double *change = g_new (double, n);
  guint k = 0;
  for (guint d = far; d + lag < n; d++)
    change[k++] = profile[d + lag] - profile[d];
  return wsi_mad_sigma (change, k) / G_SQRT2;
}

/* Light is taken from so many px on either side, an eighth of the depth before and behind it, since
 * a land's end is ragged. */
#define STEEP_PX 4
#define STEEP_SHARE 0.125

static double
mean_of (const double *profile, guint from, guint to)
{
  double sum = 0;
  for (guint d = from; d <= to; d++)
    sum += profile[d];
  return sum / (to - from + 1);
}

double
wsi_land_steepest (const double *profile, guint edge, guint n)
{
  double most = 0;
  for (guint d = edge + 1; d < n / 3; d++)
  {
    const guint gap = 1 + edge + (guint)(STEEP_SHARE * d), end = d + gap + STEEP_PX;
    if (end >= n)
      break;
    const guint before = d > edge + gap ? d - gap : edge,
                first = before > edge + STEEP_PX ? before - STEEP_PX : edge;
    most = MAX (most, mean_of (profile, first, before) - mean_of (profile, d + gap, end));
  }
  return most;
}

guint
wsi_land_first_below (const double *height, guint from, guint n, double level)
{
  for (guint d = from; d + 1 < n; d++)
    if (height[d] < level && height[d + 1] < level)
      return d;
  return n;
}

double
wsi_land_spread (const double *profile, guint edge, guint w)
{
  g_autofree double *inner = g_memdup2 (profile + edge, MAX (w, 1) * sizeof *profile);
  const guint n = w > edge + 3 ? w - edge - 2 : 1;
  return wsi_mad_sigma (inner, n);
}
