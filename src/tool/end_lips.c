#include "tool/end_lips.h"

#include "base/geometry.h"
#include "base/stats.h"
#include "edge/circle.h"
#include "tool/coarse.h"
#include "tool/strip.h"

#include <string.h>

/* Points smaller than this show no chisel edge to speak of. */
#define MIN_RADIUS_PX 60

/* ---- Lightness, whole and reduced ------------------------------------------------- */

typedef struct
{
  const WsSampler *sampler;
  const WsOptics *optics;
  WsLight steel; /* the tool's mean colour at luminance 1: chroma is counted from it */
} Picture;

static WsLab
balanced_lab (const Picture *picture, WsLight light)
{
  return ws_colour_lab ((WsLight){ light.r / picture->steel.r, light.g / picture->steel.g,
                                   light.b / picture->steel.b });
}

/* Lightness plus chroma, some 0 .. 100, NAN outside: ground flanks are light, and where heat has
 * darkened them they are vivid; flutes are neither. */
static double
lightness (const Picture *picture, WsPoint at)
{
  WsLight light;
  if (!ws_sampler_at (picture->sampler, ws_strip_picture (picture->optics, at), &light))
    return NAN;
  const WsLab lab = balanced_lab (picture, light);
  return lab.L + ws_colour_chroma (lab);
}

/* Mean over a stretch of `reach` px to both sides along `along`. */
static double
lightness_along (const Picture *picture, WsPoint at, WsPoint along, gint reach)
{
  double sum = 0;
  for (gint k = -reach; k <= reach; k++)
    sum += lightness (picture, ws_point_along (at, k, along));
  return sum / (2 * reach + 1);
}

/* Lightness about the drill on a grid of some hundred cells. */
#define GRID 256

typedef struct
{
  WsPoint origin; /* ideal px of cell (0, 0) */
  double pitch;   /* px a cell */
  float light[GRID * GRID];
  float gx[GRID * GRID], gy[GRID * GRID];
} Grid;

/* Mean of four samples: enough against moire of grinding marks. */
static float
cell_light (const Picture *picture, const Grid *grid, guint x, guint y)
{
  double sum = 0;
  for (guint k = 0; k < 4; k++)
  {
    const WsPoint at = ws_point (grid->origin.x + (x - 0.25 + 0.5 * (k % 2)) * grid->pitch,
                                 grid->origin.y + (y - 0.25 + 0.5 * (k / 2)) * grid->pitch);
    sum += lightness (picture, at);
  }
  return isfinite (sum) ? (float)(sum / 4) : 0;
}

/* Gradients larger than this say no more: edges count by their length. */
#define STRONG 12.0F

static void
fill_grid (const Picture *picture, WsPoint centre, double radius, Grid *grid)
{
  grid->pitch = 2.5 * radius / GRID;
  grid->origin =
    ws_point (centre.x - 0.5 * (GRID - 1) * grid->pitch, centre.y - 0.5 * (GRID - 1) * grid->pitch);
  for (guint y = 0; y < GRID; y++)
    for (guint x = 0; x < GRID; x++)
      grid->light[y * GRID + x] = cell_light (picture, grid, x, y);
  memset (grid->gx, 0, sizeof grid->gx);
  memset (grid->gy, 0, sizeof grid->gy);
  for (guint y = 1; y + 1 < GRID; y++)
    for (guint x = 1; x + 1 < GRID; x++)
    {
      const guint i = y * GRID + x;
      const float gx = 0.5F * (grid->light[i + 1] - grid->light[i - 1]);
      const float gy = 0.5F * (grid->light[i + GRID] - grid->light[i - GRID]);
      const float size = hypotf (gx, gy);
      const float scale = size > STRONG ? STRONG / size : 1;
      grid->gx[i] = gx * scale;
      grid->gy[i] = gy * scale;
    }
}

/* ---- Axis by two-fold symmetry ---------------------------------------------------- */

/* Half a turn about the axis maps edges onto edges and turns their gradients over. */
static double
symmetry (const Grid *grid, gint cx2, gint cy2, gint step)
{
  double sum = 0;
  for (gint y = MAX (0, cy2 - GRID + 1); y <= MIN (GRID - 1, cy2); y += step)
    for (gint x = MAX (0, cx2 - GRID + 1); x <= MIN (GRID - 1, cx2); x += step)
    {
      const gint i = y * GRID + x, j = (cy2 - y) * GRID + (cx2 - x);
      const float dot = grid->gx[i] * grid->gx[j] + grid->gy[i] * grid->gy[j];
      sum -= dot;
    }
  return sum;
}

/* Centres within this share of the grid of its middle are tried. */
#define SEARCH 0.16

static WsPoint
symmetric_centre (const Grid *grid)
{
  const gint reach = (gint)(SEARCH * GRID);
  gint best_x = GRID - 1, best_y = GRID - 1;
  double best = -HUGE_VAL;
  /* Twice the centre is a whole number of cells: steps of half a cell, coarse ones first. */
  for (gint pass = 0; pass < 2; pass++)
  {
    const gint step = pass == 0 ? 3 : 1, span = pass == 0 ? 2 * reach : 4;
    const gint mid_x = best_x, mid_y = best_y;
    best = -HUGE_VAL;
    for (gint y = mid_y - span; y <= mid_y + span; y += step)
      for (gint x = mid_x - span; x <= mid_x + span; x += step)
      {
        const double score = symmetry (grid, x, y, pass == 0 ? 2 : 1);
        if (score > best)
        {
          best = score;
          best_x = x;
          best_y = y;
        }
      }
  }
  return ws_point (grid->origin.x + 0.5 * best_x * grid->pitch,
                   grid->origin.y + 0.5 * best_y * grid->pitch);
}

/* ---- Lips, roughly ---------------------------------------------------------------- */

typedef struct
{
  double angle; /* of e, rad */
  double rho;   /* px, signed: on which side of e's line through the axis lip a lies */
  double score;
} Guess;

static double
grid_normal_gradient (const Grid *grid, WsPoint at, WsPoint normal)
{
  const gint x = (gint)lround ((at.x - grid->origin.x) / grid->pitch),
             y = (gint)lround ((at.y - grid->origin.y) / grid->pitch);
  if (x < 0 || y < 0 || x >= GRID || y >= GRID)
    return 0;
  return grid->gx[y * GRID + x] * normal.x + grid->gy[y * GRID + x] * normal.y;
}

/* Lips are straight from here to there, in radii. */
#define LIP_FROM 0.3
#define LIP_TO 0.92

/* Mean darkening outward along one lip of a guess; `side` 1 or -1. */
static double
lip_darkening (const Grid *grid, WsPoint centre, double radius, WsPoint e, double rho, double side)
{
  const WsPoint n = ws_point (-e.y, e.x);
  const WsPoint out = rho > 0 ? n : ws_point (-n.x, -n.y);
  double sum = 0;
  guint count = 0;
  for (double t = LIP_FROM * radius; t <= LIP_TO * radius; t += grid->pitch)
  {
    const WsPoint p = ws_point_along (ws_point_along (centre, side * t, e), side * rho, n);
    sum -= grid_normal_gradient (grid, p, ws_point (side * out.x, side * out.y));
    count++;
  }
  return sum / MAX (count, 1);
}

/* Web over radius of drills, wide (common practice, no source). */
#define WEB_LEAST 0.05
#define WEB_MOST 0.3

/* A flute is seldom lighter than the flank, so that guess counts for less. */
#define LIGHT_FLUTE 0.6

static Guess
guess_lips (const Grid *grid, WsPoint centre, double radius, gint side)
{
  Guess best = { 0, 0, 0 };
  for (guint k = 0; k < 360; k++)
    for (double size = WEB_LEAST * radius; size <= WEB_MOST * radius; size += 0.5 * grid->pitch)
    {
      const double angle = k * G_PI / 360, rho = side * size;
      const WsPoint e = ws_point (cos (angle), sin (angle));
      const double a = lip_darkening (grid, centre, radius, e, rho, 1),
                   b = lip_darkening (grid, centre, radius, e, rho, -1);
      if (a * b <= 0)
        continue;
      const double score = sqrt (a * b) * (a > 0 ? 1 : LIGHT_FLUTE);
      if (score > best.score)
        best = (Guess){ angle, rho, score };
    }
  return best;
}

/* ---- Lips, finely ----------------------------------------------------------------- */

#define MAX_WINDOW 129

static double
luminance_along (const Picture *picture, WsPoint at, WsPoint along, gint reach)
{
  double sum = 0;
  for (gint k = -reach; k <= reach; k++)
  {
    WsLight light;
    const WsPoint p = ws_strip_picture (picture->optics, ws_point_along (at, k, along));
    if (!ws_sampler_at (picture->sampler, p, &light))
      return NAN;
    sum += ws_colour_xyz (light).y;
  }
  return sum / (2 * reach + 1);
}

/* The levels of either side are taken so far from the edge, px. */
#define LEVEL_FROM 2
#define LEVEL_TO 4

/* Half way between the levels in linear light, where a blurred edge keeps its place; NAN where
 * light hardly falls (colour alone changes there). */
static double
half_way (const Picture *picture, WsPoint from, WsPoint direction, WsPoint along, double about,
          gint smooth)
{
  enum
  {
    N = 2 * LEVEL_TO + 1
  };
  double light[N], high = 0, low = 0;
  const gint n_level = LEVEL_TO - LEVEL_FROM + 1;
  for (gint i = 0; i < N; i++)
    light[i] = luminance_along (picture, ws_point_along (from, about + i - LEVEL_TO, direction),
                                along, smooth);
  for (gint i = 0; i < n_level; i++)
  {
    high += light[i] / n_level;
    low += light[N - 1 - i] / n_level;
  }
  if (!(high > 1.2 * low))
    return NAN;
  const double half = 0.5 * (high + low);
  for (gint i = LEVEL_FROM; i < N - LEVEL_FROM; i++)
    if (light[i - 1] >= half && light[i] < half)
      return about + i - 1 - LEVEL_TO + (light[i - 1] - half) / (light[i - 1] - light[i]);
  return NAN;
}

/* Where lightness falls most along a line from `from` over `reach` px: the greatest difference of
 * means over `arm` px, which `drop` gets, then half way in linear light. */
static double
steepest_fall (const Picture *picture, WsPoint from, WsPoint direction, WsPoint along, double reach,
               guint arm, gint smooth, double *drop)
{
  double light[MAX_WINDOW], fall[MAX_WINDOW];
  const guint n = (guint)CLAMP (reach, 2 * arm + 3, MAX_WINDOW);
  for (guint i = 0; i < n; i++)
    light[i] = lightness_along (picture, ws_point_along (from, i, direction), along, smooth);
  guint best = 0;
  for (guint i = arm; i + arm < n; i++)
  {
    fall[i] = 0;
    for (guint k = 0; k < arm; k++)
      fall[i] += (light[i - 1 - k] - light[i + k]) / arm;
    if (best == 0 || fall[i] > fall[best])
      best = i;
  }
  *drop = best > 0 ? fall[best] : 0;
  if (best == 0 || !isfinite (fall[best]))
    return NAN;
  double shift = 0;
  if (best > arm && best + arm + 1 < n)
  {
    const double bend = fall[best - 1] - 2 * fall[best] + fall[best + 1];
    if (bend < 0)
      shift = CLAMP (0.5 * (fall[best - 1] - fall[best + 1]) / bend, -0.5, 0.5);
  }
  const double at = half_way (picture, from, direction, along, best - 0.5 + shift, smooth);
  return isnan (at) ? best - 0.5 + shift : at;
}

/* Least fall of lightness at a lip. */
#define LIP_CONTRAST 3.0

static WsPoint
scaled (WsPoint p, double by)
{
  return ws_point (by * p.x, by * p.y);
}

static WsLab
mean_lab (const Picture *picture, WsPoint from, WsPoint direction, guint n)
{
  WsLab sum = { 0, 0, 0 };
  for (guint i = 0; i < n; i++)
  {
    WsLight light = { 0, 0, 0 };
    ws_sampler_at (picture->sampler,
                   ws_strip_picture (picture->optics, ws_point_along (from, i, direction)), &light);
    const WsLab lab = balanced_lab (picture, light);
    sum = (WsLab){ sum.L + lab.L / n, sum.a + lab.a / n, sum.b + lab.b / n };
  }
  return sum;
}

/* Just outside a lip lies what lies farther out, the flute.  Inside a burn, where straw turns to
 * purple, light falls more than at the lip itself, but not to the flute's neutral colour. */
#define FLUTE_SAME 8.0
#define FLUTE_SHARE 0.3

static gboolean
is_flute (const Picture *picture, WsPoint edge, WsPoint out, WsPoint end, double drop)
{
  const WsLab near = mean_lab (picture, ws_point_along (edge, 2, out), out, 3);
  const WsLab far = mean_lab (picture, ws_point_along (end, -4, out), out, 4);
  const double off =
    sqrt ((near.L - far.L) * (near.L - far.L) + (near.a - far.a) * (near.a - far.a) +
          (near.b - far.b) * (near.b - far.b));
  return off < MAX (FLUTE_SAME, FLUTE_SHARE * drop);
}

/* Where heat coloured the flank its light changes toward the lip, which moves half way inward: the
 * line rests on clean stretches when they are long enough. */
#define COLOURED 10.0
#define CLEAN_POINTS 40
#define CLEAN_SHARE 0.25

static gboolean
is_coloured (const Picture *picture, WsPoint edge, WsPoint out)
{
  const WsLab in = mean_lab (picture, ws_point_along (edge, -5, out), out, 3),
              outside = mean_lab (picture, ws_point_along (edge, 2, out), out, 3);
  return hypot (in.a - outside.a, in.b - outside.b) > COLOURED;
}

/* Looked for from farther out again where the first find is no lip. */
#define LIP_TRIES 3

static gboolean
lip_at (const Picture *picture, WsPoint on, WsPoint search, WsPoint along, double reach,
        WsPoint *edge, gboolean *coloured)
{
  const WsPoint end = ws_point_along (on, reach, search);
  double start = -reach;
  for (guint i = 0; i < LIP_TRIES && reach - start > 9; i++)
  {
    double drop;
    const WsPoint from = ws_point_along (on, start, search);
    const double at = steepest_fall (picture, from, search, along, reach - start, 3, 1, &drop);
    if (isnan (at) || drop < LIP_CONTRAST)
      return FALSE;
    *edge = ws_point_along (from, at, search);
    *coloured = is_coloured (picture, *edge, search);
    if (is_flute (picture, *edge, search, end, drop))
      return TRUE;
    start += at + 2;
  }
  return FALSE;
}

static gboolean
fit_lip (const Picture *picture, const WsEndPoint *point, const Guess *guess, guint k,
         gboolean light_flute, WsEndLip *lip)
{
  const double side = k == 0 ? 1 : -1;
  const WsPoint e = scaled (ws_point (cos (guess->angle), sin (guess->angle)), side);
  const WsPoint n = ws_point (-e.y, e.x);
  const WsPoint out = scaled (n, guess->rho > 0 ? 1 : -1);
  const WsPoint search = scaled (out, light_flute ? -1 : 1);
  const double reach = CLAMP (0.06 * point->radius, 9, MAX_WINDOW / 2.0);
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) clean = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (double t = LIP_FROM * point->radius; t <= LIP_TO * point->radius; t += 1)
  {
    const WsPoint on = ws_point_along (ws_point_along (point->centre, t, e), guess->rho, n);
    WsPoint p;
    gboolean coloured;
    if (!lip_at (picture, on, search, e, reach, &p, &coloured))
      continue;
    g_array_append_val (points, p);
    if (!coloured)
      g_array_append_val (clean, p);
  }
  if (clean->len >= MAX (CLEAN_POINTS, CLEAN_SHARE * points->len))
  {
    g_array_set_size (points, 0);
    g_array_append_vals (points, clean->data, clean->len);
  }
  else
    lip->coloured = TRUE;
  g_autofree guint8 *used = g_new0 (guint8, MAX (points->len, 1));
  if (!ws_line_fit ((WsPoint *)(void *)points->data, points->len, used, &lip->line))
    return FALSE;
  if (ws_point_dot (lip->line.direction, e) < 0)
    lip->line.direction = scaled (lip->line.direction, -1);
  lip->outward = lip->line.direction;
  const WsPoint square = ws_point (-lip->outward.y, lip->outward.x);
  lip->inward = scaled (square, ws_point_dot (square, out) > 0 ? -1 : 1);
  return TRUE;
}

/* ---- Corners, margins, circle ----------------------------------------------------- */

/* Point of a lip's line nearest to the axis. */
static WsPoint
lip_foot (const WsEndLip *lip, WsPoint centre)
{
  const double t = ws_point_dot (ws_point_sub (centre, lip->line.centre), lip->outward);
  return ws_point_along (lip->line.centre, t, lip->outward);
}

/* The flank's end just inside the lip. */
static gboolean
find_corner (const Picture *picture, const WsEndPoint *point, WsEndLip *lip)
{
  const double inside = CLAMP (0.012 * point->radius, 3, 12);
  const WsPoint foot = lip_foot (lip, point->centre);
  const double from = 0.88 * point->radius, reach = MIN (0.26 * point->radius, MAX_WINDOW);
  const WsPoint start =
    ws_point_along (ws_point_along (foot, from, lip->outward), inside, lip->inward);
  double drop;
  const double at = steepest_fall (picture, start, lip->outward, lip->inward, reach, 4, 1, &drop);
  if (isnan (at) || drop < LIP_CONTRAST)
    return FALSE;
  lip->corner = ws_point_along (foot, from + at, lip->outward);
  return TRUE;
}

/* Margin arcs are followed so far from the corner, degrees, in steps. */
#define ARC_DEG 30.0
#define ARC_STEPS 240

typedef struct
{
  double radius[ARC_STEPS]; /* of the flank's rim, px; NAN where not seen */
  double direction;         /* of growing angle: 1 or -1 */
  double start;             /* angle of the corner, rad */
} Rim;

static WsPoint
polar (WsPoint centre, double radius, double angle)
{
  return ws_point (centre.x + radius * cos (angle), centre.y + radius * sin (angle));
}

static void
trace_rim (const Picture *picture, const WsEndPoint *point, const WsEndLip *lip, Rim *rim)
{
  const WsPoint arm = ws_point_sub (lip->corner, point->centre);
  const double length = ws_point_length (arm), from = 0.9 * length;
  rim->start = atan2 (arm.y, arm.x);
  rim->direction = ws_point_cross (arm, lip->inward) > 0 ? 1 : -1;
  for (guint i = 0; i < ARC_STEPS; i++)
  {
    const double angle = rim->start + rim->direction * ws_radians (ARC_DEG * (i + 4.0) / ARC_STEPS);
    const WsPoint out = polar (ws_point (0, 0), 1, angle);
    double drop;
    const double at = steepest_fall (picture, ws_point_along (point->centre, from, out), out,
                                     ws_point (-out.y, out.x), 0.16 * length, 3, 1, &drop);
    rim->radius[i] = isnan (at) || drop < LIP_CONTRAST ? NAN : from + at;
  }
}

static double
median_radius (const Rim *rim, guint from, guint to)
{
  double values[ARC_STEPS];
  guint n = 0;
  for (guint i = from; i < MIN (to, ARC_STEPS); i++)
    if (isfinite (rim->radius[i]))
      values[n++] = rim->radius[i];
  return n > 4 ? ws_median (values, n) : NAN;
}

/* Body clearance falls short of the margin by this much of the radius at least. */
#define LEAST_STEP 0.008

/* Share of the step's height from which it has begun. */
#define STEP_BEGINS 0.2

/* Where the rim begins to fall from margin to clearance; 0 without. */
static guint
margin_end (const Rim *rim)
{
  const double margin = median_radius (rim, 0, 24), clear = median_radius (rim, 160, ARC_STEPS);
  if (!(margin - clear > LEAST_STEP * margin))
    return 0;
  const double level = margin - STEP_BEGINS * (margin - clear);
  for (guint i = 3; i + 3 < ARC_STEPS; i++)
    if (rim->radius[i] < level && rim->radius[i + 1] < level && rim->radius[i + 2] < level)
      return i;
  return 0;
}

/* The rim up to the margin's step, or so many steps without one, must be a part of a circle about
 * the axis: other things have corners, but no margins. */
#define ROUND_STEPS 120
#define LEAST_MARGIN_STEPS 20
#define MOST_OUT_OF_ROUND 0.008

static gboolean
is_round (const Rim *rim, guint end)
{
  const guint n = end > 0 ? end : ROUND_STEPS;
  if (n < LEAST_MARGIN_STEPS)
    return FALSE;
  const double first = median_radius (rim, 0, n / 2), second = median_radius (rim, n / 2, n);
  return fabs (first - second) < MOST_OUT_OF_ROUND * first;
}

/* The arcs' points within 1 % of the corners' radius, and the corners. */
static void
add_arc (const WsEndPoint *point, const Rim *rim, guint end, GArray *points)
{
  const double margin = median_radius (rim, 0, 24);
  for (guint i = 0; i < (end > 0 ? end : 24); i++)
  {
    if (!(fabs (rim->radius[i] - margin) < 0.006 * margin))
      continue;
    const double angle = rim->start + rim->direction * ws_radians (ARC_DEG * (i + 4.0) / ARC_STEPS);
    const WsPoint p = polar (point->centre, rim->radius[i], angle);
    g_array_append_val (points, p);
  }
}

static gboolean
find_circle (const Picture *picture, WsEndPoint *point)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint k = 0; k < 2; k++)
    if (!find_corner (picture, point, &point->lips[k]))
      return FALSE;
  /* Corners half a turn apart. */
  const WsPoint a = point->lips[0].corner, b = point->lips[1].corner;
  point->centre = ws_point (0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
  point->radius = 0.5 * ws_point_distance (a, b);
  point->u_centre = 0.003 * point->radius + 0.7;
  for (guint k = 0; k < 2; k++)
  {
    Rim rim;
    trace_rim (picture, point, &point->lips[k], &rim);
    const guint end = margin_end (&rim);
    if (!is_round (&rim, end))
      return FALSE;
    add_arc (point, &rim, end, points);
    point->lips[k].margin =
      end > 0 ? ws_radians (ARC_DEG * (end + 4.0) / ARC_STEPS) * point->radius : NAN;
  }
  WsCircle circle;
  /* Two short arcs: the circle may only refine what the corners say. */
  if (points->len > 30 && ws_circle_fit ((WsPoint *)(void *)points->data, points->len, &circle) &&
      ws_point_distance (circle.centre, point->centre) < 0.012 * point->radius &&
      fabs (circle.radius - point->radius) < 0.01 * point->radius)
  {
    point->centre = ws_point (0.5 * (circle.centre.x + point->centre.x),
                              0.5 * (circle.centre.y + point->centre.y));
    point->radius = circle.radius;
  }
  point->u_radius = 0.5;
  return TRUE;
}

/* ---- Chisel edge ------------------------------------------------------------------ */

/* The frame of the chisel edge: s along it from the axis toward lip a, o square to it. */
typedef struct
{
  WsPoint along, across;
  double half; /* length from the axis to the lip, px */
} Chord;

/* The chord that meets the lips at the acute angle `acute`. */
static Chord
chord_at (const WsEndPoint *point, double acute)
{
  const WsEndLip *a = &point->lips[0], *b = &point->lips[1];
  const WsPoint e = ws_point_sub (a->outward, b->outward);
  const WsPoint unit = scaled (e, 1 / ws_point_length (e));
  const WsPoint between = ws_point_sub (lip_foot (a, point->centre), lip_foot (b, point->centre));
  const double web = ws_point_length (between);
  const WsPoint n = scaled (between, 1 / web);
  Chord chord;
  chord.along =
    ws_point (cos (acute) * unit.x + sin (acute) * n.x, cos (acute) * unit.y + sin (acute) * n.y);
  chord.across = ws_point (-chord.along.y, chord.along.x);
  chord.half = 0.5 * web / sin (acute);
  return chord;
}

static WsPoint
middle_of (const WsEndPoint *point)
{
  const WsPoint a = lip_foot (&point->lips[0], point->centre),
                b = lip_foot (&point->lips[1], point->centre);
  return ws_point (0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
}

static WsPoint
chord_place (WsPoint middle, const Chord *chord, double s, double o)
{
  return ws_point_along (ws_point_along (middle, s, chord->along), o, chord->across);
}

/* The flanks' contrast may turn over along the chord: by half a turn, what lights one flank near
 * its lip lights the other near its own.  So it is taken in so many parts. */
#define PARTS 8

/* Contrast of the two sides close to a chord in each part, in lightness; returns the mean size. */
static double
chord_contrast (const Picture *picture, const WsEndPoint *point, const Chord *chord,
                double parts[PARTS])
{
  const WsPoint middle = middle_of (point);
  const double far = CLAMP (0.025 * point->radius, 4, 16);
  guint n[PARTS] = { 0 };
  memset (parts, 0, PARTS * sizeof *parts);
  for (double s = -0.9; s < 0.9; s += 2 / chord->half)
  {
    const guint part = (guint)(PARTS * (s + 0.9) / 1.8);
    for (double o = 1.5; o <= far; o += 1.5)
    {
      parts[part] += lightness (picture, chord_place (middle, chord, s * chord->half, o)) -
                     lightness (picture, chord_place (middle, chord, s * chord->half, -o));
      n[part]++;
    }
  }
  double sum = 0;
  for (guint k = 0; k < PARTS; k++)
  {
    parts[k] /= MAX (n[k], 1);
    sum += fabs (parts[k]) / PARTS;
  }
  return sum;
}

/* Chisel edges lie between these acute angles to the lips. */
#define ACUTE_LEAST_DEG 30
#define ACUTE_MOST_DEG 85

/* Facets that differ less than this in lightness show no edge between them. */
#define CHISEL_CONTRAST 1.5

static gboolean
guess_chisel (const Picture *picture, const WsEndPoint *point, double *acute, double parts[PARTS])
{
  double best = 0;
  for (gint deg = ACUTE_LEAST_DEG; deg <= ACUTE_MOST_DEG; deg++)
  {
    double found[PARTS];
    const Chord chord = chord_at (point, ws_radians (deg));
    const double contrast = chord_contrast (picture, point, &chord, found);
    if (contrast <= best)
      continue;
    best = contrast;
    memcpy (parts, found, sizeof found);
    *acute = ws_radians (deg);
  }
  return best >= CHISEL_CONTRAST;
}

/* o = c0 + c1 s + c3 s^3, s in half lengths: the edge is slightly S-shaped and, by half a turn,
 * odd about the axis. */
#define N_CURVE 3

static void
curve_terms (double s, double terms[N_CURVE])
{
  terms[0] = 1;
  terms[1] = s;
  terms[2] = s * s * s;
}

static double
curve_at (const double c[N_CURVE], double s)
{
  double terms[N_CURVE];
  curve_terms (s, terms);
  return c[0] * terms[0] + c[1] * terms[1] + c[2] * terms[2];
}

/* A mild prior, in points, keeps the bow small where the ends are unseen. */
#define BOW_PRIOR 0.1

/* Tukey's biweight in units of the robust spread. */
#define TUKEY 4.685

static gboolean
fit_curve (const double *s, const double *o, guint n, double c[N_CURVE], double *scatter,
           double *u_slope)
{
  double spread = HUGE_VAL, inverse[N_CURVE * N_CURVE];
  g_autofree double *off = g_new (double, n);
  memset (c, 0, N_CURVE * sizeof *c);
  for (guint round = 0; round < 8; round++)
  {
    double A[N_CURVE * N_CURVE] = { 0 }, y[N_CURVE] = { 0 };
    for (guint i = 0; i < n; i++)
    {
      double terms[N_CURVE];
      const double r = (o[i] - curve_at (c, s[i])) / (TUKEY * spread);
      const double w = fabs (r) < 1 ? (1 - r * r) * (1 - r * r) : 0;
      curve_terms (s[i], terms);
      for (guint p = 0; p < N_CURVE; p++)
      {
        y[p] += w * terms[p] * o[i];
        for (guint q = 0; q < N_CURVE; q++)
          A[p * N_CURVE + q] += w * terms[p] * terms[q];
      }
    }
    A[N_CURVE * N_CURVE - 1] += BOW_PRIOR;
    if (!ws_solve_spd (A, y, N_CURVE, TRUE))
      return FALSE;
    memcpy (c, y, N_CURVE * sizeof *c);
    memcpy (inverse, A, sizeof inverse);
    for (guint i = 0; i < n; i++)
      off[i] = o[i] - curve_at (c, s[i]);
    spread = MAX (ws_mad_sigma (off, n), 0.1);
  }
  *scatter = spread;
  /* Slope of the chord between the ends: c1 + c3; points agree with their neighbours over some
   * five px of smoothing. */
  *u_slope = spread * sqrt (5 * (inverse[4] + 2 * inverse[5] + inverse[8]));
  return TRUE;
}

/* Where the curve meets a lip's line. */
static WsPoint
curve_end (const WsEndPoint *point, const Chord *chord, const double c[N_CURVE], guint k)
{
  const WsPoint middle = middle_of (point);
  const double side = k == 0 ? 1 : -1;
  double s = side;
  WsPoint p = middle;
  for (guint round = 0; round < 12; round++)
  {
    p = chord_place (middle, chord, s * chord->half, curve_at (c, s));
    const double off =
      ws_point_dot (ws_point_sub (p, point->lips[k].line.centre), point->lips[k].inward);
    const double rate = -side * fabs (ws_point_dot (chord->along, point->lips[k].inward));
    s -= off / (rate * chord->half);
  }
  return p;
}

/* Share of the chord that must show a step. */
#define CHISEL_SEEN 0.4

/* How far from the axis the middle of a chisel edge may lie, in radii. */
#define MOST_LOPSIDED 0.05

typedef struct
{
  double *s, *o; /* in half lengths along the chord, px across it */
  guint n, tried;
} Trace;

static void
trace_chisel (const Picture *picture, const WsEndPoint *point, const Chord *chord,
              const double parts[PARTS], Trace *trace)
{
  const WsPoint middle = middle_of (point);
  const double reach = CLAMP (0.04 * point->radius, 8, 40);
  const guint arm = (guint)CLAMP (0.016 * point->radius, 3, 8);
  for (double s = -0.93; s < 0.93; s += 1 / chord->half, trace->tried++)
  {
    const double contrast = parts[(guint)CLAMP (PARTS * (s + 0.9) / 1.8, 0, PARTS - 1)];
    if (fabs (contrast) < CHISEL_CONTRAST)
      continue;
    /* From the lighter side to the darker. */
    const double sign = contrast > 0 ? -1 : 1;
    const WsPoint down = scaled (chord->across, sign);
    const WsPoint from =
      ws_point_along (chord_place (middle, chord, s * chord->half, 0), -reach, down);
    double drop;
    const double found =
      steepest_fall (picture, from, down, chord->along, 2 * reach, arm, 3, &drop);
    if (isnan (found) || drop < 0.4 * fabs (contrast))
      continue;
    trace->s[trace->n] = s;
    trace->o[trace->n++] = sign * (found - reach);
  }
}

static void
find_chisel (const Picture *picture, WsEndPoint *point)
{
  double acute = 0, parts[PARTS];
  if (!guess_chisel (picture, point, &acute, parts))
    return;
  const Chord chord = chord_at (point, acute);
  const guint n_max = (guint)(2 * chord.half) + 3;
  g_autofree double *s = g_new (double, n_max);
  g_autofree double *o = g_new (double, n_max);
  Trace trace = { s, o, 0, 0 };
  double c[N_CURVE], u_slope;
  trace_chisel (picture, point, &chord, parts, &trace);
  if (trace.n < MAX (12, CHISEL_SEEN * trace.tried) ||
      !fit_curve (s, o, trace.n, c, &point->chisel_scatter, &u_slope))
    return;
  const WsPoint ends[2] = { curve_end (point, &chord, c, 0), curve_end (point, &chord, c, 1) };
  /* Half a turn maps one end onto the other. */
  const WsPoint mean = ws_point (0.5 * (ends[0].x + ends[1].x), 0.5 * (ends[0].y + ends[1].y));
  if (ws_point_distance (mean, point->centre) > MOST_LOPSIDED * point->radius)
    return;
  for (guint k = 0; k < 2; k++)
    point->lips[k].inner = ends[k];
  point->u_chisel_rad = u_slope / chord.half;
  point->u_chisel_length = 1.0;
  point->has_chisel = TRUE;
}

/* Without the edge itself: where a chisel edge usually meets the lip, for the lips' ends. */
#define USUAL_ACUTE_DEG 55.0

static void
place_inner_ends (WsEndPoint *point)
{
  const Chord chord = chord_at (point, ws_radians (USUAL_ACUTE_DEG));
  const WsPoint middle = middle_of (point);
  point->lips[0].inner = chord_place (middle, &chord, chord.half, 0);
  point->lips[1].inner = chord_place (middle, &chord, -chord.half, 0);
}

/* ---- All together ----------------------------------------------------------------- */

static gboolean
fail (WsRetake *reason, char detail[96], WsRetake why, const char *what)
{
  *reason = why;
  g_strlcpy (detail, what, 96);
  return FALSE;
}

/* Centre and farthest distance of the tool's cells, px of the ideal picture. */
static void
coarse_disc (const WsCoarse *coarse, const WsOptics *optics, WsPoint *centre, double *radius)
{
  double x = 0, y = 0;
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      x += i % coarse->width + 0.5;
      y += i / coarse->width + 0.5;
    }
  const WsPoint mean = ws_point (x / coarse->area, y / coarse->area);
  g_autofree double *far = g_new (double, coarse->area);
  guint n = 0;
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
      far[n++] = hypot (i % coarse->width + 0.5 - mean.x, i / coarse->width + 0.5 - mean.y);
  *centre = scaled (mean, coarse->factor);
  if (optics->lens != NULL)
    *centre = ws_lens_to_ideal (optics->lens, *centre);
  *radius = ws_quantile (far, n, 0.98) * coarse->factor;
}

/* Mean darkening at the lips, in lightness a cell of the grid, of a real point. */
#define LEAST_SCORE 0.8

/* Lips of a two-flute drill are parallel seen from the end, to regrinding faults. */
#define MOST_PARALLEL_DEG 4.0

/* Webs, and how far off centre they are, as parts of the radius. */
#define WEB_OFF 0.08

static gboolean
is_centred (const WsEndPoint *point)
{
  double inside[2];
  for (guint k = 0; k < 2; k++)
    inside[k] = ws_point_dot (ws_point_sub (point->centre, point->lips[k].line.centre),
                              point->lips[k].inward);
  const double web = (inside[0] + inside[1]) / point->radius;
  return web > WEB_LEAST && web < 2 * WEB_MOST &&
         fabs (inside[0] - inside[1]) < WEB_OFF * point->radius;
}

/* How well two lips' lines hold what was found on them, 0 to 1. */
static double
soundness (const WsEndLip lips[2])
{
  double sound = 1;
  for (guint k = 0; k < 2; k++)
    sound *= (double)lips[k].line.n_used / MAX (lips[k].line.n, 1);
  return sound;
}

static gboolean
fit_lips (const Picture *picture, const WsEndPoint *point, const Grid *grid, const Guess *guess,
          WsEndLip lips[2])
{
  const WsPoint e = ws_point (cos (guess->angle), sin (guess->angle));
  const gboolean light = lip_darkening (grid, point->centre, point->radius, e, guess->rho, 1) < 0;
  memset (lips, 0, 2 * sizeof *lips);
  return fit_lip (picture, point, guess, 0, light, &lips[0]) &&
         fit_lip (picture, point, guess, 1, light, &lips[1]);
}

/* A lip's heel, which lies on the other side, may be nearly as straight: both are tried, and the
 * straighter wins. */
#define WORTH_TRYING 0.5

static gboolean
choose_lips (const Picture *picture, WsEndPoint *point, const Grid *grid, WsRetake *reason,
             char detail[96])
{
  double best = 0;
  const Guess guesses[2] = { guess_lips (grid, point->centre, point->radius, -1),
                             guess_lips (grid, point->centre, point->radius, 1) };
  const double most = MAX (guesses[0].score, guesses[1].score);
  if (most < LEAST_SCORE)
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "no two parallel lips were found");
  for (guint g = 0; g < 2; g++)
  {
    WsEndLip lips[2];
    if (guesses[g].score < WORTH_TRYING * most ||
        !fit_lips (picture, point, grid, &guesses[g], lips))
      continue;
    const double score = soundness (lips) * (0.5 + 0.5 * guesses[g].score / most);
    if (score <= best)
      continue;
    best = score;
    memcpy (point->lips, lips, sizeof lips);
  }
  if (best <= 0)
    return fail (reason, detail, WS_RETAKE_DIRTY_EDGE, "a lip can't be followed");
  return TRUE;
}

static WsLight
mean_colour (const WsCoarse *coarse, const WsSampler *sampler)
{
  WsLight sum = { 1e-9, 1e-9, 1e-9 };
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      const WsLight light = ws_sampler_pixel (sampler, i % coarse->width * coarse->factor,
                                              i / coarse->width * coarse->factor);
      sum = (WsLight){ sum.r + light.r, sum.g + light.g, sum.b + light.b };
    }
  const double y = ws_colour_xyz (sum).y;
  return (WsLight){ sum.r / y, sum.g / y, sum.b / y };
}

static gboolean
locate (Picture *picture, WsEndPoint *point, WsRetake *reason, char detail[96])
{
  g_autoptr (WsCoarse) coarse = ws_coarse_find (picture->sampler, FALSE);
  if (coarse == NULL)
    return fail (reason, detail, WS_RETAKE_NO_TOOL, "no drill point stands free in the picture");
  coarse_disc (coarse, picture->optics, &point->centre, &point->radius);
  if (point->radius < MIN_RADIUS_PX)
    return fail (reason, detail, WS_RETAKE_TOO_SMALL, "the point is less than 120 px wide");
  picture->steel = mean_colour (coarse, picture->sampler);
  g_autofree Grid *grid = g_new (Grid, 1);
  fill_grid (picture, point->centre, point->radius, grid);
  point->centre = symmetric_centre (grid);
  if (!choose_lips (picture, point, grid, reason, detail))
    return FALSE;
  const double turn = ws_point_cross (point->lips[0].outward, scaled (point->lips[1].outward, -1));
  if (fabs (ws_degrees (turn)) > MOST_PARALLEL_DEG)
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "the lips found are not parallel");
  point->right_hand = ws_point_cross (point->lips[0].outward, point->lips[0].inward) > 0;
  if (!find_circle (picture, point))
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "no outer corners with margins can be seen");
  if (!is_centred (point))
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "the lips don't lie evenly about an axis");
  place_inner_ends (point);
  find_chisel (picture, point);
  /* Two parallel lines alone are no drill point. */
  if (!point->has_chisel && isnan (point->lips[0].margin) && isnan (point->lips[1].margin))
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "neither margins nor a chisel edge show");
  return TRUE;
}

WsEndPoint *
ws_end_point_locate (const WsSampler *sampler, const WsOptics *optics, WsRetake *reason,
                     char detail[96])
{
  Picture picture = { sampler, optics, { 1, 1, 1 } };
  g_autofree WsEndPoint *point = g_new0 (WsEndPoint, 1);
  *reason = WS_RETAKE_NONE;
  return locate (&picture, point, reason, detail) ? g_steal_pointer (&point) : NULL;
}
