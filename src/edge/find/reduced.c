#include "edge/find/reduced.h"

#include "image/boxes.h"
#include "image/light.h"

#include <math.h>

#define BINS 256

void
wsi_reduced_clear (WsReduced *reduced)
{
  g_free (reduced->light);
  g_free (reduced->tool);
  g_free (reduced->label);
}

/* Sums over boxes of the picture, unless it has them. */
static void
sum_boxes (const WsImage *image, WsBoxes *boxes)
{
  g_autofree guint16 *room = g_new (guint16, image->width);
  wsi_boxes_init (boxes, image->width, image->height);
  for (guint y = 0; y < image->height; y++)
    if (image->coded != NULL)
      wsi_boxes_add_codes (boxes, y, image->coded + (gsize)y * image->width, image->light);
    else
      wsi_boxes_add (boxes, y, wsi_image_light_row (image, y, room));
}

void
wsi_reduced_init (const WsImage *image, WsReduced *reduced)
{
  g_auto (WsBoxes) own = { 0 };
  if (image->sparse == NULL)
    sum_boxes (image, &own);
  const WsBoxes *boxes = image->sparse != NULL ? &image->sparse->boxes : &own;
  const gsize n = (gsize)boxes->width * boxes->height;
  reduced->factor = boxes->factor;
  reduced->width = boxes->width;
  reduced->height = boxes->height;
  reduced->light = g_new (float, n);
  reduced->tool = g_new0 (guint8, n);
  reduced->label = g_new0 (guint, n);
  const double scale = 1.0 / ((double)WS_IMAGE_FULL_SCALE * boxes->factor * boxes->rows);
  for (gsize i = 0; i < n; i++)
    reduced->light[i] = (float)(boxes->sums[i] * scale);
}

/* Bins even in lightness rather than in light, so that dark pictures keep their detail. */
static guint
bin_of (float light)
{
  return (guint)CLAMP (sqrtf (light) * BINS, 0.0f, (float)(BINS - 1));
}

/* Otsu, IEEE Trans. SMC 9(1), 1979: the bin that separates two classes best. */
double
wsi_reduced_split (const WsReduced *reduced)
{
  double histogram[BINS], total = 0, mass = 0;
  /* Two by turns: neighbours are mostly alike, and a count that was just written is slow to read.
   */
  guint counts[2][BINS] = { { 0 } };
  const gsize n = (gsize)reduced->width * reduced->height;
  for (gsize i = 0; i < n; i++)
    counts[i % 2][bin_of (reduced->light[i])]++;
  for (guint b = 0; b < BINS; b++)
  {
    histogram[b] = (double)counts[0][b] + counts[1][b];
    total += histogram[b];
    mass += b * histogram[b];
  }

  double below = 0, below_mass = 0, best = -1, first = 0, last = 0;
  for (guint b = 0; b + 1 < BINS; b++)
  {
    below += histogram[b];
    below_mass += b * histogram[b];
    if (below <= 0 || below >= total)
      continue;
    const double gap = below_mass / below - (mass - below_mass) / (total - below);
    const double between = below * (total - below) * gap * gap;
    if (between > best * (1 + 1e-12))
    {
      best = between;
      first = b;
    }
    if (between >= best * (1 - 1e-12))
      last = b;
  }
  /* An empty stretch between the classes is a plateau: its middle is the safest. */
  const double root = ((first + last) / 2 + 1) / BINS;
  return root * root;
}

double
wsi_reduced_bright_border (const WsReduced *reduced, double threshold)
{
  const guint w = reduced->width, h = reduced->height;
  guint bright = 0, n = 0;
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x += (y == 0 || y == h - 1 || w == 1) ? 1 : w - 1)
    {
      bright += reduced->light[(gsize)y * w + x] > threshold;
      n++;
    }
  return (double)bright / n;
}

gboolean
wsi_reduced_is_near_other (const WsReduced *reduced, guint x, guint y, guint8 class)
{
  const guint w = reduced->width, h = reduced->height;
  const guint x0 = x < 2 ? 0 : x - 2, x1 = MIN (x + 2, w - 1);
  const guint y0 = y < 2 ? 0 : y - 2, y1 = MIN (y + 2, h - 1);
  for (guint v = y0; v <= y1; v += MAX (1, y1 - y0))
    for (guint u = x0; u <= x1; u += MAX (1, x1 - x0))
      if (reduced->tool[(gsize)v * w + u] != class)
        return TRUE;
  return FALSE;
}
