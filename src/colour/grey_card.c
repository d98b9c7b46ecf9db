#include "colour/grey_card.h"

#include "image/flood.h"
#include "maths/stats.h"

#include <math.h>

/* All thresholds: own choices, no source, tried on rendered cards. */

/* The picture is looked at in about so many cells across. */
#define CELLS_ACROSS 360

/* Neighbours of one patch differ less than this, by CIE 1976. */
#define SAME_PATCH 3.0

/* A patch's area: cells, and of the picture. */
#define LEAST_CELLS 40
#define MOST_SHARE 0.03

/* Of a rectangle's area by its second moments; a disc has 1.05, an L about 0.6. */
#define LEAST_FILL 0.85
#define MOST_FILL 1.15
#define MOST_ASPECT 2.0

/* Patches of one card: areas alike, and so near each other, in widths of a patch. */
#define ALIKE 1.5
#define NEAR 8.0

/* Neutral to each other, by chroma when one is taken for white; and apart in lightness. */
#define NEUTRAL_CHROMA 4.0
#define LEAST_STEP 5.0
#define LEAST_SPAN 30.0
#define LEAST_NEUTRAL 3
#define LEAST_PATCHES 4

/* Too dark, or cut off: no use for colour. */
#define DARKEST 0.02
#define BRIGHTEST 0.95

typedef struct
{
  guint factor, width, height;
  WsLight *light; /* a cell's mean */
  WsLab *lab;
} Cells;

typedef struct
{
  WsLight light;
  WsLab lab;
  double x, y; /* cells */
  double area;
} Patch;

static WsLight
mean_of_block (const WsSampler *sampler, guint x, guint y, guint factor)
{
  WsLight sum = { 0, 0, 0 };
  for (guint j = 0; j < factor; j++)
    for (guint i = 0; i < factor; i++)
    {
      const WsLight light = wsi_sampler_pixel (sampler, x + i, y + j);
      sum = (WsLight){ sum.r + light.r, sum.g + light.g, sum.b + light.b };
    }
  const double n = (double)factor * factor;
  return (WsLight){ sum.r / n, sum.g / n, sum.b / n };
}

static Cells
cells_new (const WsSampler *sampler)
{
  const WsImage *image = sampler->image;
  Cells cells = { .factor = MAX (MAX (image->width, image->height) / CELLS_ACROSS, 1) };
  cells.width = image->width / cells.factor;
  cells.height = image->height / cells.factor;
  const gsize n = (gsize)cells.width * cells.height;
  cells.light = g_new (WsLight, n);
  cells.lab = g_new (WsLab, n);
  for (guint y = 0; y < cells.height; y++)
    for (guint x = 0; x < cells.width; x++)
    {
      const gsize i = (gsize)y * cells.width + x;
      cells.light[i] = mean_of_block (sampler, x * cells.factor, y * cells.factor, cells.factor);
      cells.lab[i] = wsi_colour_lab (cells.light[i]);
    }
  return cells;
}

static void
cells_clear (Cells *cells)
{
  g_free (cells->light);
  g_free (cells->lab);
}

static double
apart (WsLab p, WsLab q)
{
  return sqrt ((p.L - q.L) * (p.L - q.L) + (p.a - q.a) * (p.a - q.a) + (p.b - q.b) * (p.b - q.b));
}

static gboolean
is_same_patch (gconstpointer data, guint from, guint to)
{
  const Cells *cells = data;
  return apart (cells->lab[from], cells->lab[to]) < SAME_PATCH;
}

/* Does an area with these second moments have a rectangle's shape? */
static gboolean
is_rectangle (double area, double xx, double xy, double yy)
{
  /* A rectangle of w by h has moments w^2 / 12 and h^2 / 12 about its axes. */
  const double product = xx * yy - xy * xy, half = 0.5 * (xx + yy);
  const double root = sqrt (MAX (half * half - product, 0));
  const double fill = product > 0 ? area / (12 * sqrt (product)) : 0;
  return fill > LEAST_FILL && fill < MOST_FILL &&
         half + root < MOST_ASPECT * MOST_ASPECT * (half - root);
}

static gboolean
patch_of (const Cells *cells, const GArray *members, Patch *patch)
{
  double x = 0, y = 0, xx = 0, xy = 0, yy = 0;
  WsLight sum = { 0, 0, 0 };
  const double n = members->len;
  if (n < LEAST_CELLS || n > MOST_SHARE * cells->width * cells->height)
    return FALSE;
  for (guint k = 0; k < members->len; k++)
  {
    const guint i = g_array_index (members, guint, k);
    const guint column = i % cells->width, row = i / cells->width;
    const double u = column, v = row;
    x += u;
    y += v;
    xx += u * u;
    xy += u * v;
    yy += v * v;
    sum.r += cells->light[i].r;
    sum.g += cells->light[i].g;
    sum.b += cells->light[i].b;
  }
  x /= n;
  y /= n;
  /* A cell has an extent of its own. */
  if (!is_rectangle (n, xx / n - x * x + 1.0 / 12, xy / n - x * y, yy / n - y * y + 1.0 / 12))
    return FALSE;
  *patch = (Patch){ .light = { sum.r / n, sum.g / n, sum.b / n }, .x = x, .y = y, .area = n };
  patch->lab = wsi_colour_lab (patch->light);
  return TRUE;
}

/* Of Patch. */
static GArray *
find_patches (const Cells *cells)
{
  GArray *patches = g_array_new (FALSE, FALSE, sizeof (Patch));
  g_auto (WsFlood) flood = { 0 };
  wsi_flood_init (&flood, cells->width, cells->height, is_same_patch, cells);
  for (guint i = 0; i < cells->width * cells->height; i++)
  {
    Patch patch;
    if (flood.marks[i] != 0)
      continue;
    wsi_flood_from (&flood, i, 1);
    if (patch_of (cells, flood.reached, &patch))
      g_array_append_val (patches, patch);
  }
  return patches;
}

static gboolean
is_beside (const Patch *p, const Patch *q)
{
  return p->area < ALIKE * q->area && q->area < ALIKE * p->area &&
         hypot (p->x - q->x, p->y - q->y) < NEAR * sqrt (p->area);
}

static gboolean
is_usable (const Patch *patch)
{
  const WsLight l = patch->light;
  return MIN (MIN (l.r, l.g), l.b) > DARKEST && MAX (MAX (l.r, l.g), l.b) < BRIGHTEST;
}

/* Of the same colour as `white`, whatever that is. */
static gboolean
is_neutral_to (const Patch *patch, const Patch *white)
{
  const double y = wsi_colour_xyz (patch->light).y / wsi_colour_xyz (white->light).y;
  const WsLight relative = { patch->light.r / white->light.r / y,
                             patch->light.g / white->light.g / y,
                             patch->light.b / white->light.b / y };
  return wsi_colour_chroma (wsi_colour_lab (relative)) < NEUTRAL_CHROMA;
}

typedef struct
{
  guint n_patches; /* of the card around it */
  guint n_neutral; /* distinct in lightness */
  double span;     /* of their lightness */
  double red, blue, x, y;
} Group;

static gboolean
is_new_lightness (const double *lightness, guint n, double L)
{
  for (guint i = 0; i < n; i++)
    if (fabs (lightness[i] - L) < LEAST_STEP)
      return FALSE;
  return TRUE;
}

static double
span_of (const double *lightness, guint n)
{
  double least = HUGE_VAL, most = -HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    least = MIN (least, lightness[i]);
    most = MAX (most, lightness[i]);
  }
  return n > 0 ? most - least : 0;
}

#define MOST_STEPS 32

/* The card that `white` is a grey of, if it is one. */
static Group
group_about (const GArray *patches, const Patch *white)
{
  Group group = { 0, 0, 0, 0, 0, 0, 0 };
  double lightness[MOST_STEPS], red[MOST_STEPS], blue[MOST_STEPS];
  for (guint i = 0; i < patches->len; i++)
  {
    const Patch *patch = &g_array_index (patches, Patch, i);
    if (!is_beside (patch, white))
      continue;
    group.n_patches++;
    if (!is_usable (patch) || !is_neutral_to (patch, white) || group.n_neutral == MOST_STEPS ||
        !is_new_lightness (lightness, group.n_neutral, patch->lab.L))
      continue;
    lightness[group.n_neutral] = patch->lab.L;
    red[group.n_neutral] = patch->light.r / patch->light.g;
    blue[group.n_neutral] = patch->light.b / patch->light.g;
    group.x += patch->x;
    group.y += patch->y;
    group.n_neutral++;
  }
  group.span = span_of (lightness, group.n_neutral);
  if (group.n_neutral > 0)
  {
    group.red = wsi_median (red, group.n_neutral);
    group.blue = wsi_median (blue, group.n_neutral);
    group.x /= group.n_neutral;
    group.y /= group.n_neutral;
  }
  return group;
}

gboolean
wsi_grey_card_find (const WsSampler *sampler, WsGreyCard *card)
{
  Cells cells = cells_new (sampler);
  g_autoptr (GArray) patches = find_patches (&cells);
  const double factor = cells.factor;
  cells_clear (&cells);
  Group best = { 0, 0, 0, 0, 0, 0, 0 };
  for (guint i = 0; i < patches->len; i++)
  {
    const Patch *patch = &g_array_index (patches, Patch, i);
    const Group group =
      is_usable (patch) ? group_about (patches, patch) : (Group){ 0, 0, 0, 0, 0, 0, 0 };
    if (group.n_neutral > best.n_neutral && group.n_patches >= LEAST_PATCHES &&
        group.span >= LEAST_SPAN)
      best = group;
  }
  if (best.n_neutral < LEAST_NEUTRAL)
    return FALSE;
  card->light = (WsLight){ best.red, 1, best.blue };
  card->n_neutral = best.n_neutral;
  card->where_px = (WsPoint){ (best.x + 0.5) * factor, (best.y + 0.5) * factor };
  return TRUE;
}
