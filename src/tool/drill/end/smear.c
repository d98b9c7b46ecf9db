#include "tool/drill/end/smear.h"

#include "maths/stats.h"
#include "result/build.h"
#include "tool/flank/strip.h"

/* Where the rim is looked at, and places on each lip, which count as much as so much of the rim. */
#define RIM_PLACES 360
#define LIP_PLACES 40

/* Lips between these parts of the radius, off the web and the corner. */
#define LIP_FROM 0.35
#define LIP_TO 0.9

/* So far to either side of an edge, and along it against noise, of the radius; px. */
#define REACH 0.1
#define LEAST_REACH 12
#define MOST_REACH 60
#define ALONG 0.03
#define LEAST_ALONG 2
#define MOST_ALONG 12

/* The slope of light at an edge is so many times that beside it, and light changes by such a part.
 */
#define CLEAR 6.0
#define LEAST_CHANGE 0.1

typedef struct
{
  double direction, width; /* of the edge's normal, rad; px */
} Edge;

#define MOST_EDGES (RIM_PLACES + 2 * LIP_PLACES)

typedef struct
{
  Edge edges[MOST_EDGES];
  guint n;
} Edges;

/* Mean light over a stretch to both sides along `along`; NAN beyond the picture. */
static double
light_at (const WsEndPicture *picture, WsPoint at, WsPoint along, gint half)
{
  double sum = 0;
  for (gint k = -half; k <= half; k++)
  {
    WsLight light;
    if (!wsi_sampler_at (picture->sampler,
                         wsi_strip_picture (picture->optics, wsi_point_along (at, k, along)),
                         &light))
      return NAN;
    sum += wsi_colour_xyz (light).y;
  }
  return sum / (2 * half + 1);
}

/* Where a slope falls to half of its greatest, from there on by `step`, cells. */
static double
half_way (const double *slope, guint n, guint most, gint step)
{
  guint i = most;
  while (i > 0 && i + 1 < n && slope[(gint)i + step] > 0.5 * slope[most])
    i = (guint)((gint)i + step);
  if (i == 0 || i + 1 == n)
    return NAN;
  const double next = slope[(gint)i + step];
  return fabs ((double)i - most) + (slope[i] - 0.5 * slope[most]) / (slope[i] - next);
}

/* Width of the steepest edge across `at`, where its slope is half of the greatest: what lies beside
 * it, lands and bands, doesn't matter.  NAN where none is clear. */
static double
width_at (const WsEndPicture *picture, WsPoint at, WsPoint across, const WsEndPoint *point)
{
  const gint reach = (gint)CLAMP (REACH * point->radius, LEAST_REACH, MOST_REACH),
             along = (gint)CLAMP (ALONG * point->radius, LEAST_ALONG, MOST_ALONG);
  double light[2 * MOST_REACH + 1] = { 0 }, slope[2 * MOST_REACH + 1], sorted[2 * MOST_REACH + 1];
  const guint n = (guint)(2 * reach + 1);
  for (guint i = 0; i < n; i++)
    light[i] = light_at (picture, wsi_point_along (at, (double)i - reach, across),
                         wsi_point (-across.y, across.x), along);
  if (!isfinite (light[0] + light[n - 1]))
    return NAN;
  guint most = 1;
  for (guint i = 1; i + 1 < n; i++)
  {
    slope[i] = 0.5 * (light[i + 1] - light[i - 1]);
    most = fabs (slope[i]) > fabs (slope[most]) ? i : most;
  }
  slope[0] = slope[n - 1] = 0;
  const double sign = slope[most] < 0 ? -1 : 1;
  for (guint i = 0; i < n; i++)
  {
    slope[i] *= sign;
    sorted[i] = fabs (slope[i]);
  }
  if (!(slope[most] > CLEAR * wsi_median (sorted, n)))
    return NAN;
  const double width = half_way (slope, n, most, -1) + half_way (slope, n, most, 1);
  return slope[most] * width > LEAST_CHANGE * light[most] ? width : (double)NAN;
}

static void
add_edge (Edges *edges, WsPoint normal, double width)
{
  if (isfinite (width))
    edges->edges[edges->n++] = (Edge){ atan2 (normal.y, normal.x), width };
}

static void
look_at_rim (const WsEndPicture *picture, const WsEndPoint *point, Edges *edges)
{
  for (guint i = 0; i < RIM_PLACES; i++)
  {
    const double angle = 2 * G_PI * i / RIM_PLACES;
    const WsPoint in = wsi_point (-cos (angle), -sin (angle));
    const WsPoint at = wsi_point_along (point->centre, -point->radius, in);
    add_edge (edges, in, width_at (picture, at, in, point));
  }
}

static void
look_at_lips (const WsEndPicture *picture, const WsEndPoint *point, Edges *edges)
{
  for (guint k = 0; k < 2; k++)
  {
    const WsEndLip *lip = &point->lips[k];
    const WsPoint foot = wsi_end_lip_foot (lip, point->centre);
    for (guint i = 0; i < LIP_PLACES; i++)
    {
      const double t = point->radius * (LIP_FROM + (LIP_TO - LIP_FROM) * (i + 0.5) / LIP_PLACES);
      const WsPoint at = wsi_point_along (foot, t, lip->outward);
      add_edge (edges, lip->inward, width_at (picture, at, lip->inward, point));
    }
  }
}

/* Edges that face one way within so much count together. */
#define FACING_DEG 40.0
#define LEAST_FACING 30

/* Rounded edges are wider, and nothing makes one sharper than the picture is: the sharper tell. */
#define SHARPER 0.25

/* NAN where hardly an edge faces that way. */
static double
width_facing (const Edges *edges, double direction)
{
  double widths[MOST_EDGES];
  guint n = 0;
  for (guint i = 0; i < edges->n; i++)
    if (fabs (cos (edges->edges[i].direction - direction)) > cos (wsi_radians (FACING_DEG)))
      widths[n++] = edges->edges[i].width;
  return n >= LEAST_FACING ? wsi_quantile (widths, n, SHARPER) : (double)NAN;
}

#define DIRECTIONS 36

gboolean
wsi_end_smear (const WsEndPicture *picture, const WsEndPoint *point, WsEndSmear *smear)
{
  g_autofree Edges *edges = g_new (Edges, 1);
  edges->n = 0;
  look_at_rim (picture, point, edges);
  look_at_lips (picture, point, edges);
  *smear = (WsEndSmear){ 0, INFINITY };
  for (guint i = 0; i < DIRECTIONS; i++)
  {
    const double direction = G_PI * i / DIRECTIONS;
    const double one = width_facing (edges, direction),
                 other = width_facing (edges, direction + 0.5 * G_PI);
    if (one * smear->across > other * smear->most)
      *smear = (WsEndSmear){ one, other };
  }
  return smear->most > 0;
}

/* What moves smears the edges that it moves across, and leaves the others (rendered points at rest:
 * up to 1.6 times); less doesn't matter, px. */
#define MOVED_TIMES 2.0
#define MOVED_LEAST 6.0

gboolean
wsi_end_smear_check (const WsEndPicture *picture, const WsEndPoint *point, WsResult *result)
{
  WsEndSmear smear;
  if (!wsi_end_smear (picture, point, &smear) || smear.most < MOVED_LEAST ||
      smear.most < MOVED_TIMES * smear.across)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_MOTION_BLUR,
                            "edges are smeared over %.1f px one way and over %.1f px across it",
                            smear.most, smear.across);
}
