#include "edge/find/classes.h"

#include "edge/find/which_tool.h"
#include "image/flood.h"
#include "image/light.h"
#include "maths/stats.h"

#include <math.h>

/* Every so many-th reduced pixel is enough for the classes' medians. */
#define LEVEL_STRIDE 7

/* A field is fitted to about so many cells across. */
#define FIT_CELLS 100

WsField
wsi_classes_fit_ground (const WsReduced *reduced, double level)
{
  const guint step = MAX (1, reduced->width / FIT_CELLS);
  WsFieldFit fit;
  wsi_field_fit_init (&fit, reduced->width, reduced->height);
  for (guint y = 0; y < reduced->height; y += step)
    for (guint x = 0; x < reduced->width; x += step)
    {
      const gsize i = (gsize)y * reduced->width + x;
      if (!reduced->tool[i] && !wsi_reduced_is_near_other (reduced, x, y, 0))
        wsi_field_fit_add (&fit, x, y, (double)reduced->light[i]);
    }
  WsField field = wsi_field_even (level);
  wsi_field_fit_solve (&fit, 0, &field);
  return field;
}

void
wsi_classes_split (WsReduced *reduced, const WsField *threshold, gboolean tool_is_dark)
{
  const int width = (int)reduced->width;
  for (guint y = 0; y < reduced->height; y++)
  {
    const WsFieldRow row = wsi_field_row (threshold, (y + 0.5) / reduced->height);
    const float flat = (float)row.flat, slope = (float)row.slope, bend = (float)row.bend;
    const float step = (float)(1.0 / reduced->width);
    const float *light = reduced->light + (gsize)y * reduced->width;
    guint8 *tool = reduced->tool + (gsize)y * reduced->width;
    for (int x = 0; x < width; x++)
    {
      const float u = ((float)x + 0.5f) * step;
      tool[x] = (light[x] < flat + u * (slope + u * bend)) == tool_is_dark;
    }
  }
}

void
wsi_classes_find_objects (WsReduced *reduced, WsObject objects[2])
{
  g_autoptr (GArray) patches =
    wsi_flood_label (reduced->tool, reduced->width, reduced->height, reduced->label);
  const WsPatch *patch = (const WsPatch *)(void *)patches->data;
  objects[0] = objects[1] = (WsObject){ 0, 0 };
  for (guint i = 0; i < patches->len; i++)
    if (patch[i].area > objects[0].area)
      objects[0] = (WsObject){ patch[i].area, i + 1 };
  for (guint i = 0; i < patches->len; i++)
    if (i + 1 != objects[0].label && patch[i].area > objects[1].area &&
        !wsi_is_cut_neighbour (&patch[i], &patch[objects[0].label - 1], reduced->width,
                               reduced->height))
      objects[1] = (WsObject){ patch[i].area, i + 1 };
}

void
wsi_classes_find_levels (const WsReduced *reduced, WsLevels *levels)
{
  const gsize n = (gsize)reduced->width * reduced->height;
  g_autofree double *tool = g_new (double, n / LEVEL_STRIDE + 1);
  g_autofree double *ground = g_new (double, n / LEVEL_STRIDE + 1);
  gsize n_tool = 0, n_ground = 0;
  for (gsize i = 0; i < n; i += LEVEL_STRIDE)
    if (reduced->tool[i])
      tool[n_tool++] = (double)reduced->light[i];
    else
      ground[n_ground++] = (double)reduced->light[i];

  levels->ground = n_ground > 0 ? wsi_median (ground, n_ground) : 0;
  if (n_tool == 0)
    return;
  levels->tool = wsi_median (tool, n_tool);
  levels->tool_spread = wsi_mad_sigma (tool, n_tool);
}

/* At or above full scale less half an 8-bit code. */
double
wsi_classes_clipped_share (const WsImage *image, const WsReduced *reduced)
{
  const guint16 full = WS_IMAGE_FULL_SCALE - WS_IMAGE_FULL_SCALE / 250;
  gsize clipped = 0, n = 0;
  for (guint y = 0; y < reduced->height; y += 2)
    for (guint x = 0; x < reduced->width; x += 2)
    {
      if (reduced->tool[(gsize)y * reduced->width + x])
        continue;
      n++;
      clipped += wsi_image_light_at (image, x * reduced->factor, y * reduced->factor) >= full;
    }
  return n > 0 ? (double)clipped / (double)n : 0;
}

/* By a two-pass city-block distance, which is less than 2^16 in any reduced picture. */
WsPoint
wsi_classes_deepest (const WsReduced *reduced, guint label)
{
  const guint w = reduced->width, h = reduced->height;
  g_autofree guint16 *depth = g_new0 (guint16, (gsize)w * h);
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (reduced->label[i] == label)
        depth[i] = (guint16)(1 + MIN (x > 0 ? depth[i - 1] : 0, y > 0 ? depth[i - w] : 0));
    }
  guint best = 0;
  gsize at = 0;
  for (guint y = h; y-- > 0;)
    for (guint x = w; x-- > 0;)
    {
      const gsize i = (gsize)y * w + x;
      if (depth[i] == 0)
        continue;
      const int after = 1 + MIN (x + 1 < w ? depth[i + 1] : 0, y + 1 < h ? depth[i + w] : 0);
      depth[i] = (guint16)MIN (depth[i], after);
      if (depth[i] > best)
      {
        best = depth[i];
        at = i;
      }
    }
  const gsize column = at % w, row = at / w;
  const double f = reduced->factor;
  return (WsPoint){ (double)column * f + (f - 1) / 2, (double)row * f + (f - 1) / 2 };
}

/* Changes of light over the object's borders between cell `i` and the next one `stride` on. */
static void
add_change (const WsReduced *reduced, guint label, gsize i, gsize stride, GArray *found)
{
  if ((reduced->label[i] == label) == (reduced->label[i + stride] == label))
    return;
  const double change =
    fabs ((double)reduced->light[i + 2 * stride] - (double)reduced->light[i - stride]);
  g_array_append_val (found, change);
}

double
wsi_classes_sharpness (const WsReduced *reduced, guint label, double step)
{
  g_autoptr (GArray) found = g_array_new (FALSE, FALSE, sizeof (double));
  const guint w = reduced->width, h = reduced->height;
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const gsize i = (gsize)y * w + x;
      if (x > 0 && x + 2 < w)
        add_change (reduced, label, i, 1, found);
      if (y > 0 && y + 2 < h)
        add_change (reduced, label, i, w, found);
    }
  if (found->len == 0 || !(step > 0))
    return 0;
  return wsi_median ((double *)(void *)found->data, found->len) / step;
}
