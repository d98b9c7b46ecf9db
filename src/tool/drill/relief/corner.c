#include "tool/drill/relief/corner.h"

#include "base/geometry.h"
#include "maths/stats.h"
#include "tool/drill/relief/steps.h"

/* ---- The flank's edge ------------------------------------------------------------------- */

/* From the corner at (i, j): o = slope s + bend s^2 / radius, then beyond the margin's step so much
 * higher.  Cells. */
typedef struct
{
  double i, j, radius;
  double slope, bend;
} Edge;

/* The flank's edge falls by the lip relief (3 to 30 degrees: common practice, wide), and bends by
 * the flank's roundness (own trials on rendered drills, wide). */
#define LEAST_DEG 3.0
#define MOST_DEG 30.0
#define EVERY_DEG 2.25
static const double bends[] = { -0.1, 0.05, 0.2 };

/* A margin is wider than MARGIN radii; behind its step, which starts at one of these, the edge goes
 * on over the land, higher by up to STEP_HEIGHT radii. */
#define EDGE_FROM 3
#define MARGIN 0.13
#define LAND_TO 0.5
#define STEP_HEIGHT 0.035
static const double steps[] = { 0.16, 0.20, 0.24 };

#define PARTS 4

/* Mean step of light over a stretch, in parts that count alike in whatever sign (`sum`: in the same
 * one); strong ones don't make up for weak ones. */
static double
support (const WsReliefSteps *map, const Edge *edge, double from, double to, double lift,
         gboolean same)
{
  double sum = 0, part[PARTS] = { 0 }, most = HUGE_VAL;
  const gint n = MAX (1, (gint)((to - from) / PARTS));
  for (gint k = 0; k < PARTS; k++)
  {
    for (gint t = 0; t < n; t++)
    {
      const double s = from + k * n + t;
      const double o = edge->slope * s + edge->bend * s * s / edge->radius - lift;
      part[k] += wsi_relief_steps_value (map, map->step, edge->i + s, edge->j + o) / n;
    }
    if (isnan (part[k]))
      return 0;
    most = MIN (most, 2 * fabs (part[k]));
  }
  /* All but the weakest part must carry. */
  double least = 0;
  for (gint k = 0; k < PARTS; k++)
    if (2 * fabs (part[k]) > most)
      least = least > 0 ? MIN (least, 2 * fabs (part[k])) : 2 * fabs (part[k]);
  for (gint k = 0; k < PARTS; k++)
    sum += same ? CLAMP (part[k], -least, least) / PARTS : MIN (fabs (part[k]), least) / PARTS;
  return fabs (sum);
}

/* What goes on beyond the corner, up to a step's height below. */
static double
beyond (const WsReliefSteps *map, const Edge *edge)
{
  double most = 0;
  for (double fall = 0; fall <= STEP_HEIGHT * edge->radius + 1; fall += 1)
  {
    Edge other = *edge;
    other.bend = 0;
    most = MAX (most, support (map, &other, -MARGIN * edge->radius, -EDGE_FROM, -fall, TRUE));
  }
  return most;
}

/* What light that changes along the edge would make of it if its lines of equal light lay askew. */
static double
askew (const WsReliefSteps *map, const Edge *edge, double from, double to)
{
  double change = 0;
  const gint n = MAX (1, (gint)((to - from) / PARTS));
  for (gint t = 0; t < n; t++)
    for (gint end = 0; end < 2; end++)
    {
      const double s = end == 0 ? from + t : to - t;
      const double o = edge->slope * s + edge->bend * s * s / edge->radius;
      for (gint k = -1; k <= 1; k += 2)
        change += (end == 0 ? -0.5 : 0.5) / n *
                  wsi_relief_steps_value (map, map->light, edge->i + s,
                                          edge->j + o + k * (WS_RELIEF_ROWS + 1));
    }
  return fabs (change) * 2 * WS_RELIEF_ROWS / (to - from - n);
}

static double
best_land (const WsReliefSteps *map, const Edge *edge)
{
  double best = 0;
  for (guint k = 0; k < G_N_ELEMENTS (steps); k++)
    for (double lift = 1; lift <= STEP_HEIGHT * edge->radius; lift += 1)
      best = MAX (
        best, support (map, edge, steps[k] * edge->radius, LAND_TO * edge->radius, lift, FALSE));
  return best;
}

/* Edges that go on are no corner's: so much of what goes on is taken off. */
#define ENDS 0.8

static double
best_margin (const WsReliefSteps *map, Edge *edge)
{
  double best = 0;
  Edge now = *edge;
  for (double deg = LEAST_DEG; deg <= MOST_DEG; deg += EVERY_DEG)
    for (guint k = 0; k < G_N_ELEMENTS (bends); k++)
    {
      now.slope = tan (wsi_radians (deg));
      now.bend = bends[k];
      const double at = support (map, &now, EDGE_FROM, MARGIN * now.radius, 0, TRUE);
      if (!(at > best))
        continue;
      best = at;
      *edge = now;
    }
  best -= askew (map, edge, EDGE_FROM, MARGIN * edge->radius);
  /* At the end of the range the true one lies beyond. */
  return edge->slope < tan (wsi_radians (MOST_DEG - EVERY_DEG)) ? best : 0;
}

/* ---- Lip and leading edge ----------------------------------------------------------------- */

/* Directions, degrees from the square of the axis away from the corner over the flank: downward for
 * the margin's leading edge (by the helix) and upward for the lip (by the web).  Wide; common
 * practice. */
static const double lead_ray[2] = { 48, 80 }, lip_ray[2] = { -120, -88 };

#define RAY_STEP 2
#define RAY_FROM 4
#define RAY_LENGTH 0.35 /* radii: straight so far */
#define RAY_PARTS 4
#define RAY_EVERY 2 /* cells */
static const double aside[] = { 1.2, 3.0 };

/* Lightness that a part may have beyond three times the weakest. */
#define STRONG 1.0

/* The edge may vanish for a while, and be lighter on one side and then on the other. */
static double
ray_step (const WsReliefSteps *map, const Edge *edge, double degrees)
{
  const double c = cos (wsi_radians (degrees)), s = sin (wsi_radians (degrees));
  const gint n = MAX (1, (gint)((RAY_LENGTH * edge->radius - RAY_FROM) / RAY_PARTS / RAY_EVERY));
  double sum = 0, parts[RAY_PARTS], least = HUGE_VAL;
  for (gint part = 0; part < RAY_PARTS; part++)
  {
    double step = 0;
    for (gint k = 0; k < n; k++)
    {
      const double r = RAY_FROM + (part * n + k) * RAY_EVERY;
      const double i = edge->i + r * c, j = edge->j + r * s;
      for (guint a = 0; a < G_N_ELEMENTS (aside); a++)
        step += wsi_relief_steps_value (map, map->light, i - aside[a] * s, j + aside[a] * c) -
                wsi_relief_steps_value (map, map->light, i + aside[a] * s, j - aside[a] * c);
      /* Beyond the picture nothing is seen: no need to go on. */
      if (isnan (step))
        return 0;
    }
    parts[part] = fabs (step / n / G_N_ELEMENTS (aside));
    least = MIN (least, parts[part]);
  }
  /* Strong parts don't make up for weak ones. */
  for (gint part = 0; part < RAY_PARTS; part++)
    sum += MIN (parts[part], 3 * least + STRONG) / RAY_PARTS;
  return sum;
}

static double
best_ray (const WsReliefSteps *map, const Edge *edge, const double degrees[2], double *at)
{
  double best = 0;
  for (double deg = degrees[0]; deg <= degrees[1]; deg += RAY_STEP)
  {
    const double step = ray_step (map, edge, deg);
    if (!(step > best))
      continue;
    best = step;
    *at = deg;
  }
  return best;
}

/* ---- Candidates ------------------------------------------------------------------------------ */

/* The outer corner is aimed at: it lies about the picture's middle, this much of the size or less
 * to the sides. */
#define AIM_X 0.22
#define AIM_Y 0.24

/* The camera looks square at the margin: it lies half a diameter from the body's side, so far from
 * there in parts of the picture's width. */
#define LEAST_RADIUS 0.25
#define MOST_RADIUS 0.75

/* Candidates keep this distance, cells. */
#define APART 5

/* The land's edge counts for so much. */
#define LAND_WEIGHT 0.7

static void
keep (WsReliefCorner *corners, guint most, guint *n, const WsReliefCorner *found, double apart)
{
  guint at = *n;
  for (guint i = 0; i < *n; i++)
    if (wsi_point_distance (corners[i].place, found->place) < apart)
    {
      if (corners[i].score >= found->score)
        return;
      at = i;
      break;
    }
  if (at == *n)
  {
    if (*n < most)
      ++*n;
    else if (corners[--at].score >= found->score)
      return;
  }
  for (; at > 0 && corners[at - 1].score < found->score; at--)
    corners[at] = corners[at - 1];
  corners[at] = *found;
}

/* What a place shows of the three edges that meet at the corner, lightness. */
typedef struct
{
  Edge edge;
  double margin, lead, lip;
  double lip_at, lead_at; /* degrees */
  double aimed;
  double score;      /* by all three edges */
  double edge_score; /* by the flank's edge above all */
} Place;

static Place
place_at (const WsReliefSteps *map, double i, double j, double radius)
{
  Place place = { .edge = { i, j, radius, 0, 0 } };
  const double di = (i / map->width - 0.5) / AIM_X, dj = (j / map->height - 0.5) / AIM_Y;
  place.aimed = 1 - 0.5 * (di * di + dj * dj);
  if (!(place.aimed > 0))
    return place;
  place.margin = best_margin (map, &place.edge);
  place.lead = best_ray (map, &place.edge, lead_ray, &place.lead_at);
  place.lip = best_ray (map, &place.edge, lip_ray, &place.lip_at);
  return place;
}

static GArray *
all_places (const WsReliefSteps *map, const WsReliefAxis *axis)
{
  GArray *places = g_array_new (FALSE, FALSE, sizeof (Place));
  const double pitch = map->plane->pitch, width = map->plane->width;
  for (guint j = 0; j < map->height; j += 2)
    for (guint i = 0; i < map->width; i += 2)
    {
      const WsPoint cell = wsi_relief_steps_cell (map, i, j);
      const WsPoint off = wsi_point_sub (wsi_relief_place (map->plane, cell.x, cell.y), axis->foot);
      const double radius = wsi_point_dot (off, axis->inward) / pitch;
      if (radius < LEAST_RADIUS * width || radius > MOST_RADIUS * width)
        continue;
      const Place place = place_at (map, i, j, radius);
      if (place.aimed > 0)
        g_array_append_val (places, place);
    }
  return places;
}

/* Each edge is judged by what the picture's best ones show: this quantile. */
#define CLEAR_QUANTILE 0.95

static double
clear_step (const GArray *places, gsize offset)
{
  g_autofree double *values = g_new (double, MAX (places->len, 1));
  for (guint i = 0; i < places->len; i++)
    values[i] = *(const double *)(const void *)(places->data + i * sizeof (Place) + offset);
  return places->len > 0 ? MAX (wsi_quantile (values, places->len, CLEAR_QUANTILE), 1e-6) : 1;
}

/* A clear step counts 1, a much clearer one hardly more. */
static double
seen (double step, double clear)
{
  return 2 * MAX (step, 0) / (MAX (step, 0) + clear);
}

/* What counts where the flank's edge is not seen; and what is left of a place on a line that runs
 * straight on. */
#define UNSEEN 0.05
#define STRAIGHT 0.7
#define BEND_DEG 7

/* Places that show less are passed over. */
#define LEAST_SCORE 0.1

/* Where lip and leading edge are hardly seen, the flank's edge counts for this much of what it
 * would beside clear ones. */
#define EDGE_ALONE 0.25

static void
score_places (const WsReliefSteps *map, GArray *places)
{
  const double margin = clear_step (places, G_STRUCT_OFFSET (Place, margin)),
               lead = clear_step (places, G_STRUCT_OFFSET (Place, lead)),
               lip = clear_step (places, G_STRUCT_OFFSET (Place, lip));
  for (guint i = 0; i < places->len; i++)
  {
    Place *place = &g_array_index (places, Place, i);
    const gboolean straight = fabs (place->lip_at - (place->lead_at - 180)) < BEND_DEG;
    const double lines =
      seen (place->lead, lead) * seen (place->lip, lip) * (straight ? STRAIGHT : 1);
    const double either =
      EDGE_ALONE + (1 - EDGE_ALONE) * MAX (seen (place->lead, lead), seen (place->lip, lip));
    /* The rest costs time. */
    if (place->aimed * MAX (lines, either) * seen (place->margin, margin) < LEAST_SCORE)
      continue;
    const double ends = place->margin - ENDS * beyond (map, &place->edge);
    const double land = MIN (best_land (map, &place->edge), place->margin);
    const double edge = seen ((ends + LAND_WEIGHT * land) / (1 + LAND_WEIGHT), margin);
    place->score = place->aimed * lines * (UNSEEN + edge);
    place->edge_score = place->aimed * either * seen (MIN (ends, land + 0.5 * ends), margin);
  }
}

static WsReliefCorner
corner_at (const WsReliefSteps *map, const Place *place, double score)
{
  const WsPoint cell = wsi_relief_steps_cell (map, place->edge.i, place->edge.j);
  return (WsReliefCorner){ wsi_relief_place (map->plane, cell.x, cell.y), atan (place->edge.slope),
                           wsi_radians (place->lip_at), wsi_radians (place->lead_at), score };
}

guint
wsi_relief_corners_find (const WsReliefPlane *plane, const WsReliefAxis *axis,
                         WsReliefCorner corners[WS_RELIEF_CANDIDATES])
{
  guint n = 0, m = 0;
  const double apart = APART * plane->pitch;
  WsReliefSteps map = wsi_relief_steps_new (plane, axis);
  g_autoptr (GArray) places = all_places (&map, axis);
  WsReliefCorner by_edge[WS_RELIEF_BY_EDGE];
  score_places (&map, places);
  for (guint i = 0; i < places->len; i++)
  {
    const Place *place = &g_array_index (places, Place, i);
    const WsReliefCorner all = corner_at (&map, place, place->score),
                         edge = corner_at (&map, place, place->edge_score);
    if (all.score > 0)
      keep (corners, WS_RELIEF_BY_ALL, &n, &all, apart);
    if (edge.score > 0)
      keep (by_edge, WS_RELIEF_BY_EDGE, &m, &edge, apart);
  }
  for (guint i = 0; i < m; i++)
    corners[n++] = by_edge[i];
  wsi_relief_steps_clear (&map);
  return n;
}
