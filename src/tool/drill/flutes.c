#include "tool/drill/flutes.h"

#include "maths/stats.h"

/* Heights of the body, by so much of the radius; each needs so many points. */
#define HEIGHT 0.04
#define LEAST_POINTS 4

/* The outline falls off as R (1 - cos b), b the turn of the margin since it left the silhouette: by
 * 0.015 R half a radius below it at a helix of 20 degrees.  What falls off less may be a rod, with
 * what the picture makes of it, px. */
#define LEAST_FALL 0.008
#define LEAST_FALL_PX 1.2

/* What falls in over fewer heights may be a scratch or a groove. */
#define LEAST_HEIGHTS 2

static double
half_width_at (const WsDrillPoint *point, double low, double high, double *scratch)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)point->outline->points->data;
  double mean = 0;
  for (guint side = 0; side < 2; side++)
  {
    guint n = 0;
    for (guint i = 0; i < point->outline->points->len; i++)
      if (!points[i].on_frame && (point->uz[i].x > 0) == side && point->uz[i].y >= low &&
          point->uz[i].y < high)
        scratch[n++] = fabs (point->uz[i].x);
    if (n < LEAST_POINTS)
      return NAN;
    mean += 0.5 * wsi_median (scratch, n);
  }
  return mean;
}

gboolean
wsi_drill_shows_flutes (const WsDrillPoint *point)
{
  const double R = point->radius, height = MAX (HEIGHT * R, 2.0 * LEAST_POINTS);
  const double fall = MAX (LEAST_FALL * R, LEAST_FALL_PX);
  g_autofree double *scratch = g_new (double, point->outline->points->len + 1);
  guint in_row = 0;
  double high = MIN (point->lips[0].corner.y, point->lips[1].corner.y) - 0.05 * R;
  for (double width = 0; isfinite (width); high -= height)
  {
    width = half_width_at (point, high - height, high, scratch);
    in_row = R - width > fall ? in_row + 1 : 0;
    if (in_row >= LEAST_HEIGHTS)
      return TRUE;
  }
  return FALSE;
}
