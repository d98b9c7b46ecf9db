#include "image/flood.h"

#include <string.h>

void
wsi_flood_init (WsFlood *flood, guint width, guint height,
                gboolean (*joins) (gconstpointer data, guint from, guint to), gconstpointer data)
{
  *flood = (WsFlood){ .width = width, .height = height, .joins = joins, .data = data };
  flood->marks = g_new0 (guint, (gsize)width * height);
  flood->reached = g_array_new (FALSE, FALSE, sizeof (guint));
}

void
wsi_flood_clear (WsFlood *flood)
{
  g_clear_pointer (&flood->marks, g_free);
  g_clear_pointer (&flood->reached, g_array_unref);
}

static void
grow (WsPatch *patch, guint x, guint y)
{
  patch->left = MIN (patch->left, x);
  patch->right = MAX (patch->right, x);
  patch->top = MIN (patch->top, y);
  patch->bottom = MAX (patch->bottom, y);
}

gboolean
wsi_patch_is_slice (const WsPatch *patch, guint width, guint height)
{
  const guint across = patch->right - patch->left, down = patch->bottom - patch->top;
  const gboolean at_side = patch->left == 0 || patch->right + 1 == width;
  const gboolean at_end = patch->top == 0 || patch->bottom + 1 == height;
  return (at_side && down > across) || (at_end && across > down);
}

WsPatch
wsi_flood_from (WsFlood *flood, guint seed, guint number)
{
  const guint w = flood->width, h = flood->height;
  WsPatch patch = { .left = w, .top = h };
  g_array_set_size (flood->reached, 0);
  g_array_append_val (flood->reached, seed);
  flood->marks[seed] = number;
  for (guint at = 0; at < flood->reached->len; at++)
  {
    const guint i = g_array_index (flood->reached, guint, at), x = i % w, y = i / w;
    const guint next[4] = { i - 1, i + 1, i - w, i + w };
    const gboolean inside[4] = { x > 0, x + 1 < w, y > 0, y + 1 < h };
    grow (&patch, x, y);
    patch.touching += !inside[0] || !inside[1] || !inside[2] || !inside[3];
    for (guint k = 0; k < 4; k++)
      if (inside[k] && flood->marks[next[k]] == 0 && flood->joins (flood->data, i, next[k]))
      {
        flood->marks[next[k]] = number;
        g_array_append_val (flood->reached, next[k]);
      }
  }
  patch.area = flood->reached->len;
  return patch;
}

gboolean
wsi_flood_same_value (gconstpointer data, guint from, guint to)
{
  const guint8 *mask = data;
  return mask[from] == mask[to];
}

/* ---- Labels, run by run: a flood would look at every cell from four sides ---- */

/* Cells of one value beside each other in a row. */
typedef struct
{
  guint row, from, to; /* columns from .. to - 1 */
  guint before;        /* an earlier run of the same patch, or this one itself */
  guint number;        /* of the patch */
} Run;

static guint
first_of (Run *runs, guint i)
{
  while (runs[i].before != i)
    i = runs[i].before = runs[runs[i].before].before;
  return i;
}

static void
join (Run *runs, guint one, guint other)
{
  const guint a = first_of (runs, one), b = first_of (runs, other);
  runs[MAX (a, b)].before = MIN (a, b);
}

static void
add_runs (const guint8 *cells, guint width, guint row, GArray *runs)
{
  for (guint x = 0; x < width;)
  {
    const guint from = x++;
    if (cells[from] == 0)
      continue;
    while (x < width && cells[x] == cells[from])
      x++;
    const Run run = { row, from, x, runs->len, 0 };
    g_array_append_val (runs, run);
  }
}

/* Those of a row, from `here` on, with those of the row above, from `above` on. */
static void
join_rows (const guint8 *mask, guint width, guint above, guint here, GArray *array)
{
  Run *runs = (Run *)(void *)array->data;
  guint a = above, b = here;
  while (a < here && b < array->len)
  {
    const gsize at_a = (gsize)runs[a].row * width + runs[a].from;
    const gsize at_b = (gsize)runs[b].row * width + runs[b].from;
    if (runs[a].from < runs[b].to && runs[b].from < runs[a].to && mask[at_a] == mask[at_b])
      join (runs, a, b);
    if (runs[a].to <= runs[b].to)
      a++;
    else
      b++;
  }
}

static void
grow_by_run (WsPatch *patch, const Run *run, guint width, guint height)
{
  const guint n = run->to - run->from;
  grow (patch, run->from, run->row);
  grow (patch, run->to - 1, run->row);
  patch->area += n;
  if (run->row == 0 || run->row + 1 == height)
    patch->touching += n;
  else
    patch->touching +=
      (run->from == 0 ? 1U : 0) + (run->to == width && (run->from > 0 || n > 1) ? 1U : 0);
}

/* A patch is numbered where its first cell is, row after row. */
static GArray *
number_runs (GArray *array, guint width, guint height)
{
  GArray *patches = g_array_new (FALSE, FALSE, sizeof (WsPatch));
  Run *runs = (Run *)(void *)array->data;
  for (guint i = 0; i < array->len; i++)
  {
    const guint first = first_of (runs, i);
    if (first == i)
    {
      const WsPatch patch = { .left = width, .top = height };
      g_array_append_val (patches, patch);
      runs[i].number = patches->len;
    }
    runs[i].number = runs[first].number;
    grow_by_run (&g_array_index (patches, WsPatch, runs[i].number - 1), &runs[i], width, height);
  }
  return patches;
}

GArray *
wsi_flood_label (const guint8 *mask, guint width, guint height, guint *labels)
{
  g_autoptr (GArray) array = g_array_new (FALSE, FALSE, sizeof (Run));
  for (guint y = 0, above = 0; y < height; y++)
  {
    const guint here = array->len;
    add_runs (mask + (gsize)y * width, width, y, array);
    join_rows (mask, width, above, here, array);
    above = here;
  }
  GArray *patches = number_runs (array, width, height);
  memset (labels, 0, (gsize)width * height * sizeof *labels);
  for (guint i = 0; i < array->len; i++)
  {
    const Run *run = &g_array_index (array, Run, i);
    for (guint x = run->from; x < run->to; x++)
      labels[(gsize)run->row * width + x] = run->number;
  }
  return patches;
}
