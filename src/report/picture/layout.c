#include "report/picture/layout.h"

#include <math.h>

#include "base/geometry.h"

/* All in units. */
#define MARGIN 4.0      /* between labels, and between labels and lines */
#define CELL 3.0        /* of the map of what is taken */
#define RING 9.0        /* distances tried */
#define STANDS_OFF 16.0 /* beyond its gap: needs a leader */

#define N_DIRECTIONS 32
#define N_RINGS 70

/* What a place costs, in units of distance. */
#define COST_TURNED 70.0   /* to the other side of where it would stand best */
#define COST_LEADER 25.0   /* for having one */
#define COST_CROSSED 160.0 /* a leader over another, or over an edge */
#define COST_COVERED 260.0 /* on what may give */
#define COST_UNDER 400.0   /* a leader that runs under a label */

/* ---- Boxes and lines ----------------------------------------------------------------------- */

static WsArea
grown (const WsArea *box, double by)
{
  return (WsArea){ box->x - by, box->y - by, box->width + 2.0 * by, box->height + 2.0 * by };
}

static gboolean
holds (const WsArea *outer, const WsArea *inner)
{
  return inner->x >= outer->x && inner->y >= outer->y &&
         inner->x + inner->width <= outer->x + outer->width &&
         inner->y + inner->height <= outer->y + outer->height;
}

static gboolean
holds_point (const WsArea *box, WsPoint p)
{
  return p.x > box->x && p.x < box->x + box->width && p.y > box->y && p.y < box->y + box->height;
}

gboolean
wsi_boxes_meet (const WsArea *a, const WsArea *b, double margin)
{
  return a->x - margin < b->x + b->width && b->x - margin < a->x + a->width &&
         a->y - margin < b->y + b->height && b->y - margin < a->y + a->height;
}

/* Cuts the part of a + t (b - a), 0 <= t <= 1, that lies on one side of an end of the box. */
static gboolean
cut (double start, double run, double low, double high, double *from, double *to)
{
  if (run == 0.0)
    return start > low && start < high;
  const double t0 = (low - start) / run, t1 = (high - start) / run;
  *from = fmax (*from, fmin (t0, t1));
  *to = fmin (*to, fmax (t0, t1));
  return *from < *to;
}

static gboolean
box_meets_stretch (const WsArea *box, WsPoint a, WsPoint b)
{
  double from = 0.0, to = 1.0;
  if (a.x == b.x && a.y == b.y)
    return holds_point (box, a);
  return cut (a.x, b.x - a.x, box->x, box->x + box->width, &from, &to) &&
         cut (a.y, b.y - a.y, box->y, box->y + box->height, &from, &to);
}

/* Even-odd rule. */
static gboolean
is_within (const WsKeepClear *line, WsPoint p)
{
  gboolean within = FALSE;
  for (guint i = 0, j = line->n - 1; i < line->n; j = i++)
  {
    const WsPoint a = line->points[i], b = line->points[j];
    if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y))
      within = !within;
  }
  return within;
}

gboolean
wsi_box_meets_line (const WsArea *box, const WsKeepClear *line)
{
  const WsArea wide = grown (box, line->reach);
  const guint n = line->n;
  for (guint i = 0; i + 1 < n + (line->is_area ? 1 : 0) || (n == 1 && i == 0); i++)
    if (box_meets_stretch (&wide, line->points[i], line->points[(i + 1) % n]))
      return TRUE;
  return line->is_area && n > 2 &&
         is_within (line, wsi_point (box->x + 0.5 * box->width, box->y + 0.5 * box->height));
}

static gboolean
stretches_cross (WsPoint a, WsPoint b, WsPoint c, WsPoint d)
{
  const WsPoint ab = wsi_point_sub (b, a), cd = wsi_point_sub (d, c);
  const double turn = wsi_point_cross (ab, cd);
  if (turn == 0.0)
    return FALSE;
  const double s = wsi_point_cross (wsi_point_sub (c, a), cd) / turn;
  const double t = wsi_point_cross (wsi_point_sub (c, a), ab) / turn;
  return s > 0.0 && s < 1.0 && t > 0.0 && t < 1.0;
}

/* ---- The map of what is taken -------------------------------------------------------------- */

/* Outlines have thousands of points and labels thousands of places to try: cells that a line
 * touches are counted once, in sums from the upper left corner, and a box is asked for in four
 * of them. */
typedef struct
{
  const WsLabelField *field;
  double cell;
  guint columns, rows;
  guint32 *sums; /* (columns + 1) x (rows + 1) */
} Map;

static void
take_cells (const Map *map, WsPoint at, double half)
{
  const WsArea *area = &map->field->area;
  const double left = floor ((at.x - half - area->x) / map->cell),
               right = floor ((at.x + half - area->x) / map->cell),
               top = floor ((at.y - half - area->y) / map->cell),
               bottom = floor ((at.y + half - area->y) / map->cell);
  for (double y = fmax (top, 0.0); y <= fmin (bottom, map->rows - 1.0); y++)
    for (double x = fmax (left, 0.0); x <= fmin (right, map->columns - 1.0); x++)
      map->sums[((gsize)y + 1) * (map->columns + 1) + (gsize)x + 1] = 1;
}

/* The part of a stretch near the area: marks may lie anywhere. */
static gboolean
part_inside (const Map *map, double half, WsPoint *a, WsPoint *b)
{
  const WsArea wide = grown (&map->field->area, half + map->cell);
  double from = 0.0, to = 1.0;
  const WsPoint start = *a, run = wsi_point_sub (*b, *a);
  if (!isfinite (run.x) || !isfinite (run.y) ||
      !cut (start.x, run.x, wide.x, wide.x + wide.width, &from, &to) ||
      !cut (start.y, run.y, wide.y, wide.y + wide.height, &from, &to))
    return FALSE;
  *a = wsi_point_along (start, from, run);
  *b = wsi_point_along (start, to, run);
  return TRUE;
}

/* Steps of half a cell are at most a quarter of it from any place between them. */
static void
take_stretch (const Map *map, WsPoint a, WsPoint b, double half)
{
  if (!part_inside (map, half, &a, &b))
    return;
  const guint n = (guint)ceil (wsi_point_distance (a, b) / (0.5 * map->cell)) + 1;
  for (guint i = 0; i <= n; i++)
    take_cells (map, wsi_point_along (a, (double)i / n, wsi_point_sub (b, a)),
                half + 0.25 * map->cell);
}

static void
take_area (const Map *map, const WsKeepClear *line)
{
  const WsArea *area = &map->field->area;
  for (guint y = 0; y < map->rows; y++)
    for (guint x = 0; x < map->columns; x++)
      if (is_within (line,
                     wsi_point (area->x + (x + 0.5) * map->cell, area->y + (y + 0.5) * map->cell)))
        map->sums[((gsize)y + 1) * (map->columns + 1) + x + 1] = 1;
}

static void
take_line (const Map *map, const WsKeepClear *line)
{
  const guint n = line->n;
  for (guint i = 0; i + 1 < n; i++)
    take_stretch (map, line->points[i], line->points[i + 1], line->reach);
  if (n == 1)
    take_stretch (map, line->points[0], line->points[0], line->reach);
  if (!line->is_area || n < 3)
    return;
  take_stretch (map, line->points[n - 1], line->points[0], line->reach);
  take_area (map, line);
}

/* Of the lines that may give, or of those that may not.  Free `sums` with g_free(). */
static Map
map_new (const WsLabelField *field, gboolean may_give)
{
  Map map = { field, CELL * field->unit, 0, 0, NULL };
  map.columns = (guint)ceil (field->area.width / map.cell) + 1;
  map.rows = (guint)ceil (field->area.height / map.cell) + 1;
  const gsize stride = map.columns + 1;
  map.sums = g_new0 (guint32, stride * (map.rows + 1));
  for (guint i = 0; i < field->n_lines; i++)
    if (field->lines[i].may_give == may_give)
      take_line (&map, &field->lines[i]);
  for (gsize y = 1; y <= map.rows; y++)
    for (gsize x = 1; x <= map.columns; x++)
      map.sums[y * stride + x] += map.sums[(y - 1) * stride + x] + map.sums[y * stride + x - 1] -
                                  map.sums[(y - 1) * stride + x - 1];
  return map;
}

static gboolean
is_taken (const Map *map, const WsArea *box)
{
  const WsArea *area = &map->field->area;
  const gsize stride = map->columns + 1;
  const gsize left = (gsize)CLAMP (floor ((box->x - area->x) / map->cell), 0.0, map->columns),
              right = (gsize)CLAMP (ceil ((box->x + box->width - area->x) / map->cell), 0.0,
                                    map->columns),
              top = (gsize)CLAMP (floor ((box->y - area->y) / map->cell), 0.0, map->rows),
              bottom =
                (gsize)CLAMP (ceil ((box->y + box->height - area->y) / map->cell), 0.0, map->rows);
  return map->sums[bottom * stride + right] + map->sums[top * stride + left] !=
         map->sums[top * stride + right] + map->sums[bottom * stride + left];
}

/* ---- Places -------------------------------------------------------------------------------- */

typedef struct
{
  const WsLabelField *field;
  Map firm, giving;
  const WsLabelPlace *before; /* placed already */
  guint n_before;
} Search;

/* From what it speaks of, past the gap, to the nearest place of the box. */
static void
lead (const WsLabelWish *wish, WsLabelPlace *place)
{
  const WsArea *box = &place->box;
  const WsPoint to = wsi_point (CLAMP (wish->from.x, box->x, box->x + box->width),
                                CLAMP (wish->from.y, box->y, box->y + box->height));
  const double distance = wsi_point_distance (wish->from, to);
  const double start = distance > 0.0 ? fmin (wish->gap / distance, 1.0) : 0.0;
  place->leader[0] = wsi_point_along (wish->from, start, wsi_point_sub (to, wish->from));
  place->leader[1] = to;
}

static gboolean
is_free (const Search *search, const WsLabelPlace *place)
{
  const double margin = MARGIN * search->field->unit;
  const WsArea wide = grown (&place->box, margin);
  if (!holds (&search->field->area, &place->box) || is_taken (&search->firm, &wide))
    return FALSE;
  for (guint i = 0; i < search->field->n_boxes; i++)
    if (wsi_boxes_meet (&place->box, &search->field->boxes[i], margin))
      return FALSE;
  for (guint i = 0; i < search->n_before; i++)
    if (search->before[i].is_placed && wsi_boxes_meet (&place->box, &search->before[i].box, margin))
      return FALSE;
  return TRUE;
}

/* Does a leader run over an edge? That it begins at one doesn't count. */
static gboolean
crosses_edges (const Search *search, const WsLabelPlace *place)
{
  const WsPoint run = wsi_point_sub (place->leader[1], place->leader[0]);
  const double length = wsi_point_length (run), step = CELL * search->field->unit;
  for (double at = 5.0 * step; at < length - step; at += step)
  {
    const WsPoint p = wsi_point_along (place->leader[0], at / length, run);
    const WsArea dot = { p.x, p.y, 1e-6, 1e-6 };
    if (is_taken (&search->firm, &dot))
      return TRUE;
  }
  return FALSE;
}

static gboolean
runs_under (const WsLabelPlace *leading, const WsArea *box, double margin)
{
  const WsArea wide = grown (box, margin);
  return leading->has_leader && box_meets_stretch (&wide, leading->leader[0], leading->leader[1]);
}

/* With one that is placed already. */
static double
cost_beside (const WsLabelPlace *place, const WsLabelPlace *other, double margin)
{
  double cost = 0.0;
  if (runs_under (other, &place->box, margin))
    cost += COST_UNDER;
  if (runs_under (place, &other->box, margin))
    cost += COST_UNDER;
  if (place->has_leader && other->has_leader &&
      stretches_cross (place->leader[0], place->leader[1], other->leader[0], other->leader[1]))
    cost += COST_CROSSED;
  return cost;
}

static double
cost_of (const Search *search, const WsLabelPlace *place, double off, double turned)
{
  const double unit = search->field->unit;
  double cost = off / unit + COST_TURNED * turned / G_PI;
  if (is_taken (&search->giving, &place->box))
    cost += COST_COVERED;
  if (place->has_leader)
    cost += COST_LEADER + (crosses_edges (search, place) ? COST_CROSSED : 0.0);
  for (guint i = 0; i < search->n_before; i++)
    if (search->before[i].is_placed)
      cost += cost_beside (place, &search->before[i], MARGIN * unit);
  return cost;
}

/* `off` beyond the gap, in the direction `turned` from where it would stand best. */
static WsLabelPlace
place_at (const Search *search, const WsLabelWish *wish, double off, double turned)
{
  const double angle = atan2 (wish->away.y, wish->away.x) + turned;
  const WsPoint direction = wsi_point (cos (angle), sin (angle));
  const double reach = 0.5 * (fabs (direction.x) * wish->width + fabs (direction.y) * wish->height);
  const WsPoint middle = wsi_point_along (wish->from, wish->gap + off + reach, direction);
  WsLabelPlace place = { .is_placed = TRUE,
                         .box = { middle.x - 0.5 * wish->width, middle.y - 0.5 * wish->height,
                                  wish->width, wish->height },
                         .has_leader = !wish->is_loose && off > STANDS_OFF * search->field->unit };
  if (place.has_leader)
    lead (wish, &place);
  return place;
}

static WsLabelPlace
best_place (const Search *search, const WsLabelWish *wish)
{
  WsLabelPlace best = { .is_placed = FALSE };
  double least = HUGE_VAL;
  for (int ring = 0; ring < N_RINGS; ring++)
  {
    /* Far ones lie less close. */
    const double off = RING * (ring + 0.02 * ring * ring) * search->field->unit;
    if (off / search->field->unit > least)
      break;
    for (int k = 0; k < N_DIRECTIONS; k++)
    {
      const int step = k % 2 == 0 ? k / 2 : -(k + 1) / 2;
      const double turned = step * 2.0 * G_PI / N_DIRECTIONS;
      const WsLabelPlace place = place_at (search, wish, off, turned);
      if (!is_free (search, &place))
        continue;
      const double cost = cost_of (search, &place, off, fabs (turned));
      if (cost >= least)
        continue;
      least = cost;
      best = place;
    }
  }
  return best;
}

void
wsi_labels_place (const WsLabelField *field, const WsLabelWish *wishes, guint n,
                  WsLabelPlace *places)
{
  Search search = { field, map_new (field, FALSE), map_new (field, TRUE), places, 0 };
  for (; search.n_before < n; search.n_before++)
    places[search.n_before] = best_place (&search, &wishes[search.n_before]);
  g_free (search.firm.sums);
  g_free (search.giving.sums);
}
