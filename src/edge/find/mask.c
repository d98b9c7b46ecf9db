#include "edge/find/mask.h"

#include "image/flood.h"

/* One way through `n` cells, `step` apart: a cell becomes `value` when one within `reach` is. */
static void
spread_line (guint8 *cells, guint n, gsize step, guint reach, guint8 value, guint8 *line)
{
  for (guint i = 0; i < n; i++)
    line[i] = cells[i * step];
  guint since = reach + 1;
  for (guint i = 0; i < n; i++)
  {
    since = line[i] == value ? 0 : since + 1;
    if (since <= reach)
      cells[i * step] = value;
  }
  since = reach + 1;
  for (guint i = n; i-- > 0;)
  {
    since = line[i] == value ? 0 : since + 1;
    if (since <= reach)
      cells[i * step] = value;
  }
}

static void
spread_value (guint8 *mask, guint width, guint height, guint reach, guint8 value)
{
  g_autofree guint8 *line = g_new (guint8, MAX (width, height));
  for (guint y = 0; y < height; y++)
    spread_line (mask + (gsize)y * width, width, 1, reach, value, line);
  for (guint x = 0; x < width; x++)
    spread_line (mask + x, height, width, reach, value, line);
}

void
wsi_mask_grow (guint8 *mask, guint width, guint height, guint reach)
{
  spread_value (mask, width, height, reach, 1);
}

void
wsi_mask_shrink (guint8 *mask, guint width, guint height, guint reach)
{
  spread_value (mask, width, height, reach, 0);
}

void
wsi_mask_fill_holes (guint8 *mask, guint width, guint height)
{
  const guint n = width * height;
  g_auto (WsFlood) flood = { 0 };
  wsi_flood_init (&flood, width, height, wsi_flood_same_value, mask);
  for (guint i = 0; i < n; i++)
  {
    const guint x = i % width;
    const gboolean border = x == 0 || x + 1 == width || i < width || i + width >= n;
    if (border && !mask[i] && flood.marks[i] == 0)
      wsi_flood_from (&flood, i, 1);
  }
  for (guint i = 0; i < n; i++)
    mask[i] = mask[i] || flood.marks[i] == 0;
}
