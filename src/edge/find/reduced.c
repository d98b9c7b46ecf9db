#include "edge/find/reduced.h"

#include <math.h>
#include <string.h>

/* The reduced picture is about this many pixels along its longer side: enough to see
 * a tool 20 px wide, few enough to cost a small part of decoding. */
#define REDUCED_SIDE 400
#define ROWS_PER_BOX 2

#define BINS 256

void
wsi_reduced_clear (WsReduced *reduced)
{
  g_free (reduced->light);
  g_free (reduced->tool);
  g_free (reduced->label);
}

static void
sum_row (const guint16 *row, guint factor, guint n, guint *sums)
{
  for (guint i = 0; i < n; i++)
  {
    guint sum = 0;
    for (guint k = 0; k < factor; k++)
      sum += row[i * factor + k];
    sums[i] += sum;
  }
}

static void
sum_codes (const guint8 *row, const guint light[WS_IMAGE_CODES], guint factor, guint n, guint *sums)
{
  const guint8 *code = row;
  for (guint i = 0; i < n; i++)
  {
    const guint8 *const end = code + factor;
    guint one = 0, other = 0;
    for (; end - code >= 4; code += 4)
    {
      one += light[code[0]] + light[code[1]];
      other += light[code[2]] + light[code[3]];
    }
    for (; code < end; code++)
      one += light[*code];
    sums[i] += one + other;
  }
}

/* Means over boxes of factor x factor pixels, from at most ROWS_PER_BOX rows of each, since
 * reading every pixel again would cost a tenth of decoding; a rest at the right and lower border
 * is left out. */
void
wsi_reduced_init (const WsImage *image, WsReduced *reduced)
{
  const guint side = MAX (image->width, image->height);
  const guint factor = MIN (MAX (1, side / REDUCED_SIDE), MIN (image->width, image->height));
  const guint width = image->width / factor, height = image->height / factor;
  const gsize n = (gsize)width * height;
  reduced->factor = factor;
  reduced->width = width;
  reduced->height = height;
  reduced->light = g_new (float, n);
  reduced->tool = g_new0 (guint8, n);
  reduced->label = g_new0 (guint, n);

  g_autofree guint *sums = g_new (guint, width);
  guint light[WS_IMAGE_CODES];
  for (guint code = 0; code < WS_IMAGE_CODES; code++)
    light[code] = image->light[code];
  const guint skip = 1 + (factor - 1) / ROWS_PER_BOX, rows = (factor + skip - 1) / skip;
  const double scale = 1.0 / ((double)WS_IMAGE_FULL_SCALE * factor * rows);
  for (guint y = 0; y < height; y++)
  {
    memset (sums, 0, sizeof (guint) * width);
    for (guint k = 0; k < factor; k += skip)
    {
      const gsize at = (gsize)(y * factor + k) * image->width;
      if (image->coded != NULL)
        sum_codes (image->coded + at, light, factor, width, sums);
      else
        sum_row (image->linear + at, factor, width, sums);
    }
    for (guint x = 0; x < width; x++)
      reduced->light[(gsize)y * width + x] = (float)(sums[x] * scale);
  }
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
