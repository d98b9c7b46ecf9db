#include "tool/drill/body_plumb.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "maths/stats.h"

#include <string.h>

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

/* Where no land is as long, of shorter ones: so many windows are left, one off each end; and no
 * flute's bottom is nearly as wide as a land. */
#define LEAST_SHORT 4
#define NARROWEST 0.95
#define MOST_LANDS 4

/* One lens explains the slopes of all lands to this, px; and it has to be told to this, or to stand
 * out by so many deviations. */
#define EXPLAINED_PX 0.06
#define SHORT_U 0.003
#define STANDS_OUT 3.0

/* Standard uncertainties: of a window's half width, px, and of the taper. */
#define WINDOW_U 0.02
#define TAPER_U 0.00025

typedef struct
{
  double half[MAX_WINDOWS]; /* of the body's width, px; NAN where not seen */
  double z[MAX_WINDOWS];
  guint n;
} Widths;

/* One side's points, off the frame. */
typedef struct
{
  double *z, *away; /* height, distance from the axis */
  guint n;
} Side;

static void
add_point (Side *side, WsPoint p)
{
  side->z[side->n] = p.y;
  side->away[side->n++] = fabs (p.x);
}

/* Median distance of a side's points between two heights; NAN with too few.  `room` holds as many
 * as there are. */
static double
side_at (const Side *side, double from, double to, double *room)
{
  guint n = 0;
  for (guint i = 0; i < side->n; i++)
    if (side->z[i] >= from && side->z[i] < to)
      room[n++] = side->away[i];
  return n < LEAST_POINTS ? (double)NAN : wsi_median (room, n);
}

static void
read_widths (const WsDrillPoint *point, double from, double to, Widths *widths)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)point->outline->points->data;
  const double height = WINDOW * point->radius;
  const gsize n = point->outline->points->len;
  g_autofree double *all = g_new (double, 5 * n + 1);
  Side left = { all, all + n, 0 }, right = { all + 2 * n, all + 3 * n, 0 };
  for (guint i = 0; i < n; i++)
    if (!points[i].on_frame && point->uz[i].y >= from && point->uz[i].y < to)
      add_point (point->uz[i].x > 0 ? &right : &left, point->uz[i]);
  widths->n = 0;
  for (double z = from; z + height <= to && widths->n < MAX_WINDOWS; z += 0.5 * height)
  {
    widths->z[widths->n] = z + 0.5 * height;
    widths->half[widths->n++] = 0.5 * (side_at (&left, z, z + height, all + 4 * n) +
                                       side_at (&right, z, z + height, all + 4 * n));
  }
}

/* The next land from window `at`: windows `from` .. `to` - 1; FALSE at the end. */
static gboolean
next_land (const Widths *widths, guint at, guint *from, guint *to)
{
  if (at >= widths->n)
    return FALSE;
  *from = at;
  for (*to = at + 1; *to < widths->n; (*to)++)
    if (!(fabs (widths->half[*to] - widths->half[*to - 1]) <
          ALIKE_PX + ALIKE_SLOPE * (widths->z[*to] - widths->z[*to - 1])))
      break;
  return TRUE;
}

/* The longest land. */
static gboolean
find_land (const Widths *widths, guint *from, guint *to)
{
  guint begun, end = 0;
  *from = *to = 0;
  while (next_land (widths, end, &begun, &end))
    if (end - begun > *to - *from)
    {
      *from = begun;
      *to = end;
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

/* Half the width against what a distortion of 1 adds to it, a line by least squares. */
static WsPlumb
by_one_land (const WsDrillPoint *point, const Widths *widths, WsPoint middle)
{
  WsPlumb plumb = { .u = HUGE_VAL };
  guint from, to;
  if (!find_land (widths, &from, &to))
    return plumb;
  double w[MAX_WINDOWS] = { 0 }, n = to - from, mean_w = 0, mean_half = 0, ww = 0, wh = 0, wz = 0;
  for (guint i = from; i < to; i++)
  {
    w[i] = widening (point, widths->half[i], widths->z[i], middle);
    mean_w += w[i] / n;
    mean_half += widths->half[i] / n;
  }
  for (guint i = from; i < to; i++)
  {
    ww += (w[i] - mean_w) * (w[i] - mean_w);
    wh += (w[i] - mean_w) * (widths->half[i] - mean_half);
    wz += (w[i] - mean_w) * widths->z[i];
  }
  if (!(ww > 0))
    return plumb;
  plumb.lines = 2;
  plumb.distortion = wh / ww;
  plumb.u = hypot (WINDOW_U / sqrt (ww), TAPER_U * wz / ww);
  return plumb;
}

/* For each window its land, from 1; 0: none.  The number of lands. */
static guint
mark_lands (const Widths *widths, guint8 *lands)
{
  guint from, to = 0, n = 0;
  double widest = 0;
  for (guint i = 0; i < widths->n; i++)
    widest = isfinite (widths->half[i]) ? MAX (widest, widths->half[i]) : widest;
  while (n < MOST_LANDS && next_land (widths, to, &from, &to))
    if (to - from >= LEAST_SHORT + 2 && widths->half[from] > NARROWEST * widest)
      memset (lands + from + 1, (int)++n, to - from - 2);
  return n;
}

enum
{
  BEND,  /* distortion */
  TAPER, /* of half the width, px on a px along the axis */
  HALF,  /* of the width of the first land, px: behind its margin a land is cleared, */
  MOST_TERMS = HALF + MOST_LANDS /* and then has a width of its own */
};

static double
left_over (const double *row, const double *found, guint n, double half)
{
  for (guint k = 0; k < n; k++)
    half -= row[k] * found[k];
  return fabs (half);
}

/* By the slopes of all of them. */
static WsPlumb
by_short_lands (const WsDrillPoint *point, const Widths *widths, WsPoint middle)
{
  WsPlumb plumb = { .u = HUGE_VAL };
  guint8 lands[MAX_WINDOWS] = { 0 };
  double rows[MAX_WINDOWS][MOST_TERMS] = { { 0 } };
  double found[MOST_TERMS], inverse[MOST_TERMS * MOST_TERMS], worst = 0;
  WsLeastSquares sums;
  const guint n = HALF + mark_lands (widths, lands);
  wsi_least_squares_init (&sums, n);
  for (guint i = 0; i < widths->n; i++)
  {
    if (lands[i] == 0)
      continue;
    rows[i][BEND] = widening (point, widths->half[i], widths->z[i], middle);
    rows[i][TAPER] = widths->z[i] - widths->z[0];
    rows[i][HALF + lands[i] - 1] = 1;
    wsi_least_squares_add (&sums, rows[i], widths->half[i], 1 / (WINDOW_U * WINDOW_U));
  }
  wsi_least_squares_prior (&sums, TAPER, 0, 1 / (TAPER_U * TAPER_U));
  if (n == HALF || !wsi_least_squares_solve (&sums, found, inverse))
    return plumb;
  for (guint i = 0; i < widths->n; i++)
    if (lands[i] > 0)
      worst = MAX (worst, left_over (rows[i], found, n, widths->half[i]));
  const double u = sqrt (inverse[BEND * n + BEND]);
  if (worst > EXPLAINED_PX || (u > SHORT_U && fabs (found[BEND]) < STANDS_OUT * u))
    return plumb;
  return (WsPlumb){ .distortion = found[BEND], .u = u, .lines = 2 };
}

WsPlumb
wsi_drill_body_plumb (const WsDrillPoint *point, guint width, guint height)
{
  const WsPoint middle = { 0.5 * (width - 1.0), 0.5 * (height - 1.0) };
  double lowest = 0;
  const double highest = MIN (point->lips[0].corner.y, point->lips[1].corner.y);
  for (guint i = 0; i < point->outline->points->len; i++)
    lowest = MIN (lowest, point->uz[i].y);
  Widths widths;
  read_widths (point, lowest, highest - BODY_BEGINS * point->radius, &widths);
  const WsPlumb plumb = by_one_land (point, &widths, middle);
  if (plumb.lines > 0)
    return plumb;
  read_widths (point, lowest, highest, &widths);
  return by_short_lands (point, &widths, middle);
}
