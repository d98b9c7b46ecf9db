#include "tool/drill/leading_edge.h"

#include "base/geometry.h"
#include "maths/stats.h"

/* The flank's rim ends within this part of the radius below the corner. */
#define RIM_RADII 0.08

/* Angles past the silhouette at which the edge is used: from where it stands clear of the
 * envelope's own error to where the other land's heel may come in front. */
#define LEAST_ANGLE 0.09
#define MOST_ANGLE 0.40
#define MIN_RANGE 0.10
#define MIN_POINTS 12

/* Both edges belong to one body; farther apart than this they are not what they seem. */
#define MAX_APART_DEG 4.0

/* A lip ground at another angle than its flute was made for ends up to this elsewhere on the
 * leading edge (rendered drills); the mean of both sides rids the ends of unequal heights, but for
 * a part. */
#define MODEL_SD_DEG 0.5
#define APART_SHARE 0.3

typedef struct
{
  double rate; /* rad per px */
  double z0;   /* where the edge crosses the silhouette */
} Crossing;

typedef struct
{
  double z, angle, weight;
} Place;

static int
downward (gconstpointer a, gconstpointer b)
{
  const double za = ((const Place *)a)->z, zb = ((const Place *)b)->z;
  return (za < zb) - (za > zb);
}

/* Whether each is strictly on the side of `order` from the one before it. */
static gboolean
goes_on (const Place *places, guint n, int order)
{
  for (guint i = 1; i < n; i++)
    if (downward (&places[i - 1], &places[i]) != order)
      return FALSE;
  return TRUE;
}

/* An outline mostly goes up one side and down the other one. */
static void
order_downward (GArray *places)
{
  Place *p = (Place *)(void *)places->data;
  const guint n = places->len;
  if (goes_on (p, n, -1))
    return;
  if (!goes_on (p, n, 1))
  {
    g_array_sort (places, downward);
    return;
  }
  for (guint i = 0; i < n / 2; i++)
  {
    const Place kept = p[i];
    p[i] = p[n - 1 - i];
    p[n - 1 - i] = kept;
  }
}

/* Outline of one side below the corner, as angle past the silhouette, from the corner down. */
static GArray *
side_places (const WsDrillPoint *point, const WsDrillLip *lip)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const double top = lip->corner.y - RIM_RADII * point->radius;
  GArray *places = g_array_new (FALSE, FALSE, sizeof (Place));
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const double u = point->uz[i].x * lip->side / point->radius;
    if (points[i].on_frame || u < 0.5 || point->uz[i].y > top)
      continue;
    const double angle = acos (MIN (u, 1));
    const Place place = { point->uz[i].y, angle, sin (angle) * sin (angle) };
    g_array_append_val (places, place);
  }
  order_downward (places);
  return places;
}

/* The first stretch from the corner down over which the angle grows through the range used. */
static void
first_stretch (const GArray *places, guint *from, guint *to)
{
  const Place *p = (const Place *)(const void *)places->data;
  guint first = 0;
  while (first < places->len && p[first].angle < LEAST_ANGLE)
    first++;
  guint last = first;
  while (last < places->len && p[last].angle < MOST_ANGLE && p[last].angle > 0.5 * LEAST_ANGLE)
    last++;
  *from = first;
  *to = last;
}

/* An error of the outline moves acos (u) by its 1 / sin: hence the weights. */
static gboolean
fit_places (const Place *p, guint n, Crossing *crossing)
{
  double w = 0, z = 0, a = 0;
  for (guint i = 0; i < n; i++)
  {
    w += p[i].weight;
    z += p[i].weight * p[i].z;
    a += p[i].weight * p[i].angle;
  }
  if (!(w > 0))
    return FALSE;
  z /= w;
  a /= w;
  double zz = 0, za = 0;
  for (guint i = 0; i < n; i++)
  {
    zz += p[i].weight * (p[i].z - z) * (p[i].z - z);
    za += p[i].weight * (p[i].z - z) * (p[i].angle - a);
  }
  crossing->rate = zz > 0 ? -za / zz : 0;
  crossing->z0 = crossing->rate > 0 ? z + a / crossing->rate : 0;
  return crossing->rate > 0;
}

/* Fits, weighs off what stands out (dust, a nick), and fits again. */
static gboolean
fit_crossing (Place *p, guint n, double radius, Crossing *crossing)
{
  g_autofree double *off = g_new (double, n + 1);
  for (guint round = 0; round < 3; round++)
  {
    if (!fit_places (p, n, crossing))
      return FALSE;
    for (guint i = 0; i < n; i++)
      off[i] = (p[i].angle - crossing->rate * (crossing->z0 - p[i].z)) * sin (p[i].angle) * radius;
    g_autofree double *copy = g_memdup2 (off, sizeof (double) * n);
    const double limit = 4 * MAX (wsi_mad_sigma (copy, n), 0.02);
    for (guint i = 0; i < n; i++)
    {
      const double t = off[i] / limit, s = sin (p[i].angle);
      p[i].weight = fabs (t) < 1 ? s * s * (1 - t * t) * (1 - t * t) : 0;
    }
  }
  return TRUE;
}

static gboolean
trace_side (const WsDrillPoint *point, const WsDrillLip *lip, Crossing *crossing)
{
  g_autoptr (GArray) places = side_places (point, lip);
  Place *p = (Place *)(void *)places->data;
  guint from, to;
  first_stretch (places, &from, &to);
  if (to < from + MIN_POINTS || p[to - 1].angle - p[from].angle < MIN_RANGE)
    return FALSE;
  return fit_crossing (p + from, to - from, point->radius, crossing);
}

/* At the height where the lip line ends, which depends a little on the angle sought. */
static double
angle_at_lip (const WsDrillPoint *point, const WsDrillLip *lip, const Crossing *crossing)
{
  double angle = 0;
  for (guint round = 0; round < 3; round++)
    angle =
      crossing->rate *
      (lip->corner.y + point->radius * (1 - cos (angle)) / tan (lip->half_angle) - crossing->z0);
  return angle;
}

gboolean
wsi_leading_edge_trace (const WsDrillPoint *point, WsLeadingEdge *edge)
{
  double rate = 0, *ends = edge->ends;
  edge->helix = NAN;
  for (guint k = 0; k < 2; k++)
  {
    Crossing crossing;
    if (!trace_side (point, &point->lips[k], &crossing))
      return FALSE;
    ends[k] = angle_at_lip (point, &point->lips[k], &crossing);
    rate += 0.5 * crossing.rate;
  }
  edge->helix = atan (rate * point->radius);
  const double apart = fabs (ends[0] - ends[1]);
  if (apart > wsi_radians (MAX_APART_DEG))
    return FALSE;
  edge->lip_end = 0.5 * (ends[0] + ends[1]);
  edge->u_lip_end = hypot (APART_SHARE * apart, wsi_radians (MODEL_SD_DEG));
  return TRUE;
}
