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

GArray *
wsi_flood_label (const guint8 *mask, guint width, guint height, guint *labels)
{
  const guint n = width * height;
  GArray *patches = g_array_new (FALSE, FALSE, sizeof (WsPatch));
  g_auto (WsFlood) flood = { 0 };
  wsi_flood_init (&flood, width, height, wsi_flood_same_value, mask);
  for (guint i = 0; i < n; i++)
    if (mask[i] && flood.marks[i] == 0)
    {
      const WsPatch patch = wsi_flood_from (&flood, i, patches->len + 1);
      g_array_append_val (patches, patch);
    }
  memcpy (labels, flood.marks, n * sizeof *labels);
  return patches;
}
