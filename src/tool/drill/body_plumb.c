#include "tool/drill/body_plumb.h"

#include "base/geometry.h"
#include "maths/stats.h"

/* Windows along the body, in radii: height, and half that from one to the next. */
#define WINDOW 0.08
#define MAX_WINDOWS 160
#define LEAST_POINTS 4

/* Behind the point, whose own envelope falls away after so many radii. */
#define BODY_BEGINS 1.0

/* A land's neighbouring windows are alike but for noise, px, and for what a lens of some per cent
 * or a taper does; where the flute begins, its last ones aren't. */
#define ALIKE_PX 0.03
#define ALIKE_SLOPE 0.006
#define TRIM 2
#define LEAST_WINDOWS 8

/* Standard uncertainties: of a window's half width, px, and of the taper. */
#define WINDOW_U 0.02
#define TAPER_U 0.00025

typedef struct
{
  double half[MAX_WINDOWS]; /* of the body's width, px; NAN where not seen */
  double z[MAX_WINDOWS];
  guint n;
} Widths;

/* Median distance of one side's points between two heights; NAN with too few. */
static double
side_at (const WsDrillPoint *point, gboolean right, double from, double to)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)point->outline->points->data;
  g_autoptr (GArray) found = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const WsPoint p = point->uz[i];
    if (points[i].on_frame || p.y < from || p.y >= to || (p.x > 0) != right)
      continue;
    const double away = fabs (p.x);
    g_array_append_val (found, away);
  }
  return found->len < LEAST_POINTS ? (double)NAN
                                   : wsi_median ((double *)(void *)found->data, found->len);
}

static void
read_widths (const WsDrillPoint *point, double from, double to, Widths *widths)
{
  const double height = WINDOW * point->radius;
  widths->n = 0;
  for (double z = from; z + height <= to && widths->n < MAX_WINDOWS; z += 0.5 * height)
  {
    widths->z[widths->n] = z + 0.5 * height;
    widths->half[widths->n++] =
      0.5 * (side_at (point, FALSE, z, z + height) + side_at (point, TRUE, z, z + height));
  }
}

/* The longest land: windows `from` .. `to` - 1. */
static gboolean
find_land (const Widths *widths, guint *from, guint *to)
{
  guint begun = 0;
  *from = *to = 0;
  for (guint i = 1; i <= widths->n; i++)
  {
    const gboolean alike =
      i < widths->n && fabs (widths->half[i] - widths->half[i - 1]) <
                         ALIKE_PX + ALIKE_SLOPE * (widths->z[i] - widths->z[i - 1]);
    if (alike)
      continue;
    if (i - begun > *to - *from)
    {
      *from = begun;
      *to = i;
    }
    begun = i;
  }
  if (*to - *from < LEAST_WINDOWS + 2 * TRIM)
    return FALSE;
  *from += TRIM;
  *to -= TRIM;
  return TRUE;
}

/* By how much a distortion of 1 widens the body's half there. */
static double
widening (const WsDrillPoint *point, double half, double z, WsPoint middle)
{
  const double squared_corner = wsi_point_dot (middle, middle);
  const WsPoint foot = wsi_axis_to_picture (&point->mirror.axis, wsi_point (0, z));
  double sum = 0;
  for (int side = -1; side <= 1; side += 2)
  {
    const WsPoint p = wsi_axis_to_picture (&point->mirror.axis, wsi_point (side * half, z));
    const WsPoint away = wsi_point_sub (p, middle), out = wsi_point_sub (p, foot);
    sum += 0.5 * wsi_point_dot (away, away) / squared_corner * wsi_point_dot (away, out) /
           wsi_point_length (out);
  }
  return sum;
}

WsPlumb
wsi_drill_body_plumb (const WsDrillPoint *point, guint width, guint height)
{
  WsPlumb plumb = { .u = HUGE_VAL };
  const WsPoint middle = { 0.5 * (width - 1.0), 0.5 * (height - 1.0) };
  double lowest = 0, highest = MIN (point->lips[0].corner.y, point->lips[1].corner.y);
  for (guint i = 0; i < point->outline->points->len; i++)
    lowest = MIN (lowest, point->uz[i].y);
  Widths widths;
  guint from, to;
  read_widths (point, lowest, highest - BODY_BEGINS * point->radius, &widths);
  if (!find_land (&widths, &from, &to))
    return plumb;
  /* Half the width against what a distortion of 1 adds to it, a line by least squares. */
  double w[MAX_WINDOWS] = { 0 }, n = to - from, mean_w = 0, mean_half = 0, ww = 0, wh = 0;
  for (guint i = from; i < to; i++)
  {
    w[i] = widening (point, widths.half[i], widths.z[i], middle);
    mean_w += w[i] / n;
    mean_half += widths.half[i] / n;
  }
  double wz = 0;
  for (guint i = from; i < to; i++)
  {
    ww += (w[i] - mean_w) * (w[i] - mean_w);
    wh += (w[i] - mean_w) * (widths.half[i] - mean_half);
    wz += (w[i] - mean_w) * widths.z[i];
  }
  if (!(ww > 0))
    return plumb;
  plumb.lines = 2;
  plumb.distortion = wh / ww;
  plumb.u = hypot (WINDOW_U / sqrt (ww), TAPER_U * wz / ww);
  return plumb;
}
