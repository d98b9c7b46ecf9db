#include "tool/flank/land_widths.h"

#include "maths/stats.h"

#include <math.h>

/* Columns on either side that a column's width is the median of. */
#define REACH 4

void
wsi_land_widths_smooth (double *width, guint n)
{
  g_autofree double *copy = g_memdup2 (width, n * sizeof *width);
  for (guint s = 0; s < n; s++)
  {
    double near[2 * REACH + 1];
    guint found = 0;
    for (guint i = s > REACH ? s - REACH : 0; i <= MIN (s + REACH, n - 1); i++)
      if (isfinite (copy[i]))
        near[found++] = copy[i];
    if (isfinite (copy[s]))
      width[s] = wsi_median (near, found);
  }
}

/* As part of the edge, and px. */
#define LOST_SHARE 0.02
#define LOST_PX 8

gboolean
wsi_land_widths_lost (const double *width, const double *flank, guint n)
{
  const double most = MAX (LOST_PX, LOST_SHARE * n);
  guint run = 0;
  for (guint s = 0; s < n; s++)
  {
    run = isnan (width[s]) && isfinite (flank[s]) ? run + 1 : 0;
    if (run >= most)
      return TRUE;
  }
  return FALSE;
}

/* Lands get wider toward a corner, but not by this factor in so few columns. */
#define FAR_WIDER 1.4

static double
median_between (const double *width, guint from, guint to)
{
  g_autofree double *seen = g_new (double, MAX (to - from, 1));
  guint n = 0;
  for (guint s = from; s < to; s++)
    if (isfinite (width[s]))
      seen[n++] = width[s];
  return n > 0 ? wsi_median (seen, n) : (double)NAN;
}

static void
forget_wider (double *width, guint from, guint to, double beside)
{
  for (guint s = from; s < to; s++)
    if (beside > 0 && width[s] > FAR_WIDER * beside)
      width[s] = NAN;
}

void
wsi_land_widths_forget_ends (double *width, guint n, guint reach)
{
  if (n < 4 * reach)
    return;
  forget_wider (width, 0, reach, median_between (width, reach, 2 * reach));
  forget_wider (width, n - reach, n, median_between (width, n - 2 * reach, n - reach));
}

double
wsi_land_widths_spread (const double *width, guint n)
{
  double sum = 0, squares = 0;
  guint seen = 0;
  for (guint s = 0; s < n; s++)
    if (isfinite (width[s]))
    {
      sum += width[s];
      seen++;
    }
  for (guint s = 0; s < n; s++)
    if (isfinite (width[s]))
      squares += (width[s] - sum / seen) * (width[s] - sum / seen);
  return seen > 1 ? sqrt (squares / (seen - 1)) : 0;
}
