#include "edge/find/rectangle.h"

#include "base/geometry.h"

/* A pin's ends are chamfered, a card's corners rounded; points of 118 and 140 degrees leave 0.9 and
 * 0.7 of these corners empty (geometry). */
#define MIN_FULL 0.95
#define CORNER_SHARE 0.2
#define MIN_CORNER_FULL 0.55

/* Cells along a slanting border that may be missing, as a part of its length (own trials on
 * rectangles 12 cells wide and more). */
#define STAIRS 0.2

/* Directions tried for the sides, over a quarter turn. */
#define DIRECTIONS 90

typedef struct
{
  WsPoint along, across;
  double low[2], high[2]; /* along, across */
  double size;            /* of the box */
} Box;

static Box
box_turned (const WsPoint *cells, guint n, double angle)
{
  Box box = { .along = { cos (angle), sin (angle) }, .across = { -sin (angle), cos (angle) } };
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint d = k == 0 ? box.along : box.across;
    box.low[k] = HUGE_VAL;
    box.high[k] = -HUGE_VAL;
    for (guint i = 0; i < n; i++)
    {
      box.low[k] = MIN (box.low[k], wsi_point_dot (cells[i], d));
      box.high[k] = MAX (box.high[k], wsi_point_dot (cells[i], d));
    }
    /* Cells have a size, but aslant the outermost one just reaches the border. */
    box.low[k] -= 0.25;
    box.high[k] += 0.25;
  }
  box.size = (box.high[0] - box.low[0]) * (box.high[1] - box.low[1]);
  return box;
}

static GArray *
cells_of (const WsThings *things, guint label, gboolean border_only)
{
  GArray *cells = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const guint w = things->width;
  for (guint y = 0; y < things->height; y++)
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (things->label[i] != label)
        continue;
      const gboolean inside = x > 0 && x + 1 < w && y > 0 && y + 1 < things->height &&
                              things->label[i - 1] == label && things->label[i + 1] == label &&
                              things->label[i - w] == label && things->label[i + w] == label;
      const WsPoint p = wsi_point (x, y);
      if (!border_only || !inside)
        g_array_append_val (cells, p);
    }
  return cells;
}

static gboolean
has_all_corners (const Box *box, const GArray *cells)
{
  const double side = CORNER_SHARE * MIN (box->high[0] - box->low[0], box->high[1] - box->low[1]);
  double full[4] = { 0 };
  for (guint i = 0; i < cells->len; i++)
  {
    const WsPoint p = g_array_index (cells, WsPoint, i);
    const double a = wsi_point_dot (p, box->along), b = wsi_point_dot (p, box->across);
    const gboolean low[2] = { a < box->low[0] + side, b < box->low[1] + side };
    const gboolean high[2] = { a > box->high[0] - side, b > box->high[1] - side };
    if ((low[0] || high[0]) && (low[1] || high[1]))
      full[2 * high[0] + high[1]] += 1;
  }
  for (guint k = 0; k < 4; k++)
    if (full[k] < MIN_CORNER_FULL * side * side - STAIRS * 2 * side)
      return FALSE;
  return TRUE;
}

gboolean
wsi_things_is_rectangle (const WsThings *things, guint label)
{
  g_autoptr (GArray) border = cells_of (things, label, TRUE);
  Box best = { .size = HUGE_VAL };
  for (guint k = 0; k < DIRECTIONS; k++)
  {
    const Box box =
      box_turned ((const WsPoint *)(void *)border->data, border->len, k * G_PI / 2 / DIRECTIONS);
    if (box.size < best.size)
      best = box;
  }
  const double round = 2 * (best.high[0] - best.low[0] + best.high[1] - best.low[1]);
  if (g_array_index (things->things, WsPatch, label - 1).area <
      MIN_FULL * best.size - STAIRS * round)
    return FALSE;
  g_autoptr (GArray) cells = cells_of (things, label, FALSE);
  return has_all_corners (&best, cells);
}
