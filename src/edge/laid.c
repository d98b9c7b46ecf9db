#include "edge/laid.h"

#include <string.h>

#include "base/geometry.h"
#include "edge/outline.h"
#include "maths/stats.h"

/* Cells of the map of points to lie on, px: as far as a partner is looked for. */
#define CELL 8.0

/* Steps of the search; its cells and their neighbours count as near. */
#define SEARCH_STEP 6.0
#define SEARCH_POINTS 400
#define CANDIDATES 6

/* Points along a slanted edge are so far apart, px. */
#define SPACING 1.5

/* Partners look the same way. */
#define SAME_WAY 0.85

/* What looks less along than this tells nothing of a shift that way. */
#define BLIND 0.3

/* A turn or a shift that nothing tells stays where it was, as if it were known to so much. */
#define LOOSE_PX 1000.0

#define ROUNDS 14

/* Robust distances stay above what a crest's place is good to. */
#define LEAST_SCATTER 0.02

WsPoint
wsi_motion_turn (const WsMotion *motion, WsPoint d)
{
  const double c = cos (motion->turn), s = sin (motion->turn);
  return wsi_point (c * d.x - s * d.y, s * d.x + c * d.y);
}

WsPoint
wsi_motion_of (const WsMotion *motion, WsPoint p)
{
  return wsi_point_along (motion->to, motion->scale,
                          wsi_motion_turn (motion, wsi_point_sub (p, motion->from)));
}

/* ---- The map ------------------------------------------------------------------------------- */

typedef struct
{
  const WsEdgePoint *points;
  guint n;
  double left, top;
  guint columns, rows;
  guint *first; /* a cell's first point, from 1 */
  guint *next;
} Map;

static void
map_clear (Map *map)
{
  g_free (map->first);
  g_free (map->next);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Map, map_clear)

static WsPoint
place (const WsEdgePoint *p)
{
  return wsi_point (p->x, p->y);
}

static WsPoint
normal (const WsEdgePoint *p)
{
  return wsi_point ((double)p->nx, (double)p->ny);
}

static Map
make_map (const GArray *onto)
{
  Map map = { .points = (const WsEdgePoint *)(const void *)onto->data, .n = onto->len };
  double right = -HUGE_VAL, bottom = -HUGE_VAL;
  map.left = map.top = HUGE_VAL;
  for (guint i = 0; i < map.n; i++)
  {
    map.left = MIN (map.left, map.points[i].x);
    map.top = MIN (map.top, map.points[i].y);
    right = MAX (right, map.points[i].x);
    bottom = MAX (bottom, map.points[i].y);
  }
  map.columns = (guint)((right - map.left) / CELL) + 1;
  map.rows = (guint)((bottom - map.top) / CELL) + 1;
  map.first = g_new0 (guint, (gsize)map.columns * map.rows);
  map.next = g_new0 (guint, map.n + 1);
  for (guint i = 0; i < map.n; i++)
  {
    const guint column = (guint)((map.points[i].x - map.left) / CELL);
    const guint row = (guint)((map.points[i].y - map.top) / CELL);
    guint *first = &map.first[(gsize)row * map.columns + column];
    map.next[i + 1] = *first;
    *first = i + 1;
  }
  return map;
}

/* The first point of the cell so many columns and rows from a place's, from 1; 0: none. */
static guint
cell_at (const Map *map, WsPoint p, int dx, int dy)
{
  const double column = floor ((p.x - map->left) / CELL) + dx;
  const double row = floor ((p.y - map->top) / CELL) + dy;
  if (!(column >= 0 && row >= 0 && column < map->columns && row < map->rows))
    return 0;
  return map->first[(gsize)row * map->columns + (gsize)column];
}

/* The nearest within `reach` <= CELL that looks the same way, or NULL. */
static const WsEdgePoint *
partner (const Map *map, WsPoint p, WsPoint looks, double reach)
{
  const WsEdgePoint *best = NULL;
  double least = reach * reach;
  for (int dy = -1; dy <= 1; dy++)
    for (int dx = -1; dx <= 1; dx++)
      for (guint i = cell_at (map, p, dx, dy); i > 0; i = map->next[i])
      {
        const WsEdgePoint *q = &map->points[i - 1];
        const WsPoint d = wsi_point_sub (place (q), p);
        const double square = wsi_point_dot (d, d);
        if (square >= least || wsi_point_dot (normal (q), looks) < SAME_WAY)
          continue;
        least = square;
        best = q;
      }
  return best;
}

static WsPoint
middle (const GArray *points)
{
  WsPoint sum = { 0, 0 };
  for (guint i = 0; i < points->len; i++)
    sum = wsi_point_add (sum, place (&g_array_index (points, WsEdgePoint, i)));
  return wsi_point (sum.x / MAX (points->len, 1), sum.y / MAX (points->len, 1));
}

/* Root of the mean square of distances, px. */
static double
size_of (const GArray *points, WsPoint about)
{
  double sum = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsPoint d = wsi_point_sub (place (&g_array_index (points, WsEdgePoint, i)), about);
    sum += wsi_point_dot (d, d);
  }
  return sqrt (sum / MAX (points->len, 1)) + 1;
}

/* ---- The search ---------------------------------------------------------------------------- */

typedef struct
{
  WsMotion motion;
  guint hits;
} Candidate;

static guint
count_hits (const WsLaying *laying, const Map *map, const WsMotion *motion)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)laying->points->data;
  const guint stride = MAX (laying->points->len / SEARCH_POINTS, 1);
  guint hits = 0;
  for (guint i = 0; i < laying->points->len; i += stride)
    hits += partner (map, wsi_motion_of (motion, place (&points[i])),
                     wsi_motion_turn (motion, normal (&points[i])), 0.75 * SEARCH_STEP) != NULL;
  return hits;
}

/* Keeps the best. */
static void
note (Candidate best[CANDIDATES], const Candidate *candidate)
{
  guint k = CANDIDATES;
  while (k > 0 && best[k - 1].hits < candidate->hits)
    k--;
  if (k == CANDIDATES)
    return;
  memmove (&best[k + 1], &best[k], sizeof *best * (CANDIDATES - 1 - k));
  best[k] = *candidate;
}

static void
search (const WsLaying *laying, const Map *map, Candidate best[CANDIDATES])
{
  const WsPoint across = wsi_point (-laying->along.y, laying->along.x);
  /* Far ends move by half a step. */
  const double by = 0.5 * SEARCH_STEP / size_of (laying->points, middle (laying->points));
  const int turns = (int)ceil (laying->reach_turn / by);
  const int far = (int)ceil (laying->reach_along / SEARCH_STEP);
  const int wide = (int)ceil (laying->reach_across / SEARCH_STEP);
  for (int t = -turns; t <= turns; t++)
    for (int a = -far; a <= far; a++)
      for (int b = -wide; b <= wide; b++)
      {
        Candidate candidate = { laying->start, 0 };
        candidate.motion.turn += t * by;
        candidate.motion.to = wsi_point_along (candidate.motion.to, a * SEARCH_STEP, laying->along);
        candidate.motion.to = wsi_point_along (candidate.motion.to, b * SEARCH_STEP, across);
        candidate.hits = count_hits (laying, map, &candidate.motion);
        note (best, &candidate);
      }
}

/* ---- Gauss and Newton ------------------------------------------------------------------------ */

typedef struct
{
  double matrix[9], right[3];
  GArray *distances; /* of double */
  double weight;     /* of all together */
} Equations;

/* How a point's distance changes with a shift (x, y) and a turn about `about`. */
static void
slopes (const WsLaying *laying, WsPoint looks, WsPoint arm, double out[3])
{
  const double ahead = wsi_point_dot (looks, laying->along);
  if (laying->sides_are_blind && fabs (ahead) < BLIND)
    looks = wsi_point_along (looks, -ahead, laying->along);
  out[0] = looks.x;
  out[1] = looks.y;
  out[2] = wsi_point_dot (looks, wsi_point (-arm.y, arm.x));
}

static void
add_point (Equations *equations, const double j[3], double distance, double weight)
{
  for (guint r = 0; r < 3; r++)
  {
    for (guint c = 0; c < 3; c++)
      equations->matrix[3 * r + c] += weight * j[r] * j[c];
    equations->right[r] -= weight * j[r] * distance;
  }
  equations->weight += weight;
}

static void
collect (const WsLaying *laying, const Map *map, const WsLaid *laid, double reach,
         Equations *equations)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)laying->points->data;
  for (guint i = 0; i < laying->points->len; i++)
  {
    const WsPoint p = wsi_motion_of (&laid->motion, place (&points[i]));
    const WsPoint looks = wsi_motion_turn (&laid->motion, normal (&points[i]));
    const WsEdgePoint *q = partner (map, p, looks, MIN (CELL, 2 * reach + SPACING));
    if (q == NULL)
      continue;
    const double distance = wsi_point_dot (normal (q), wsi_point_sub (p, place (q)));
    const double part = distance / reach;
    if (fabs (part) >= 1)
      continue;
    double j[3];
    slopes (laying, normal (q), wsi_point_sub (p, laid->about), j);
    add_point (equations, j, distance, (1 - part * part) * (1 - part * part));
    g_array_append_val (equations->distances, distance);
  }
}

/* Of a symmetric positive matrix; FALSE when it is none. */
static gboolean
invert (const double m[9], double out[9])
{
  const double c0 = m[4] * m[8] - m[5] * m[7], c1 = m[5] * m[6] - m[3] * m[8];
  const double c2 = m[3] * m[7] - m[4] * m[6];
  const double det = m[0] * c0 + m[1] * c1 + m[2] * c2;
  if (!(det > 0))
    return FALSE;
  const double inverse[9] = { c0, m[2] * m[7] - m[1] * m[8], m[1] * m[5] - m[2] * m[4],
                              c1, m[0] * m[8] - m[2] * m[6], m[2] * m[3] - m[0] * m[5],
                              c2, m[1] * m[6] - m[0] * m[7], m[0] * m[4] - m[1] * m[3] };
  for (guint i = 0; i < 9; i++)
    out[i] = inverse[i] / det;
  return TRUE;
}

/* What nothing tells is held, in units of what a far end of the points moves by. */
static void
hold_loose (const WsLaying *laying, double size, double scatter, Equations *equations)
{
  const double held = scatter * scatter / (LOOSE_PX * LOOSE_PX), stiff = 1e9;
  const WsPoint a = laying->along, across = wsi_point (-a.y, a.x);
  equations->matrix[0] += held;
  equations->matrix[4] += held;
  equations->matrix[8] += held * size * size;
  if (!laying->only_along)
    return;
  equations->matrix[0] += stiff * across.x * across.x;
  equations->matrix[1] += stiff * across.x * across.y;
  equations->matrix[3] += stiff * across.x * across.y;
  equations->matrix[4] += stiff * across.y * across.y;
  equations->matrix[8] += stiff * size * size;
}

/* One round; FALSE when nothing lies on anything. */
static gboolean
step (const WsLaying *laying, const Map *map, double reach, WsLaid *laid)
{
  g_autoptr (GArray) distances = g_array_new (FALSE, FALSE, sizeof (double));
  Equations equations = { .distances = distances };
  double inverse[9], move[3] = { 0 };
  collect (laying, map, laid, reach, &equations);
  if (distances->len < 10)
    return FALSE;
  laid->n = distances->len;
  laid->share = (double)distances->len / laying->points->len;
  double *values = (double *)(void *)distances->data;
  for (guint i = 0; i < distances->len; i++)
    values[i] = fabs (values[i]);
  laid->scatter = MAX (1.4826 * wsi_median (values, distances->len), LEAST_SCATTER);
  hold_loose (laying, size_of (laying->onto, laid->about), laid->scatter, &equations);
  if (!invert (equations.matrix, inverse))
    return FALSE;
  for (guint r = 0; r < 3; r++)
    for (guint c = 0; c < 3; c++)
      move[r] += inverse[3 * r + c] * equations.right[c];
  for (guint i = 0; i < 9; i++)
    laid->covariance[i] = inverse[i] * laid->scatter * laid->scatter * laying->alike;
  /* The turn is about `about`, which the motion's own `to` then is. */
  const double c = cos (move[2]), s = sin (move[2]);
  const WsPoint arm = wsi_point_sub (laid->motion.to, laid->about);
  laid->motion.to = wsi_point (laid->about.x + c * arm.x - s * arm.y + move[0],
                               laid->about.y + s * arm.x + c * arm.y + move[1]);
  laid->motion.turn += move[2];
  return TRUE;
}

static gboolean
refine (const WsLaying *laying, const Map *map, WsLaid *laid)
{
  static const double reaches[] = { 8, 8, 6, 4, 3 };
  for (guint round = 0; round < ROUNDS; round++)
  {
    const double reach =
      round < G_N_ELEMENTS (reaches) ? reaches[round] : CLAMP (5 * laid->scatter, 0.3, 3);
    if (!step (laying, map, reach, laid))
      return FALSE;
  }
  return TRUE;
}

gboolean
wsi_lay (const WsLaying *laying, WsLaid *laid)
{
  if (laying->points->len < 10 || laying->onto->len < 10)
    return FALSE;
  g_auto (Map) map = make_map (laying->onto);
  Candidate best[CANDIDATES] = { 0 };
  gboolean found = FALSE;
  search (laying, &map, best);
  for (guint k = 0; k < CANDIDATES && best[k].hits > 0; k++)
  {
    WsLaid one = { .motion = best[k].motion, .about = middle (laying->onto) };
    if (!refine (laying, &map, &one) || (found && one.n <= laid->n))
      continue;
    *laid = one;
    found = TRUE;
  }
  return found;
}

/* Is any of the map's points so near? */
static gboolean
is_near (const Map *map, WsPoint p, double distance)
{
  const int cells = (int)ceil (distance / CELL);
  for (int dy = -cells; dy <= cells; dy++)
    for (int dx = -cells; dx <= cells; dx++)
      for (guint i = cell_at (map, p, dx, dy); i > 0; i = map->next[i])
        if (wsi_point_distance (place (&map->points[i - 1]), p) <= distance)
          return TRUE;
  return FALSE;
}

GArray *
wsi_laid_away_from (const GArray *points, const GArray *from, double distance)
{
  GArray *away = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  if (from->len == 0)
    return g_array_append_vals (away, points->data, points->len);
  g_auto (Map) map = make_map (from);
  for (guint i = 0; i < points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (points, WsEdgePoint, i);
    if (!p->on_frame && !is_near (&map, place (p), distance))
      g_array_append_val (away, *p);
  }
  return away;
}

double
wsi_laid_u (const WsLaid *laid, WsPoint at, WsPoint d)
{
  const WsPoint arm = wsi_point_sub (at, laid->about);
  const double j[3] = { d.x, d.y, wsi_point_dot (d, wsi_point (-arm.y, arm.x)) };
  double sum = 0;
  for (guint r = 0; r < 3; r++)
    for (guint c = 0; c < 3; c++)
      sum += j[r] * laid->covariance[3 * r + c] * j[c];
  return sqrt (MAX (sum, 0));
}
