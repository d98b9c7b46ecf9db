#include "image/noise.h"

#include "image/light.h"

#include <math.h>
#include <stdlib.h>

/* Samples of the picture that are looked at for each direction; more tell nothing new. */
#define SAMPLES 1.0e6

void
wsi_noise_lines_init (WsNoiseLines *lines, guint n)
{
  lines->n = n;
  for (guint t = 0; t < WSI_N_TRACES; t++)
  {
    lines->sum[t] = g_new0 (guint64, n);
    lines->count[t] = g_new0 (guint, n);
  }
}

void
wsi_noise_lines_clear (WsNoiseLines *lines)
{
  for (guint t = 0; t < WSI_N_TRACES; t++)
  {
    g_free (lines->sum[t]);
    g_free (lines->count[t]);
  }
}

/* Of three samples in a row; -1 off the ground. */
static inline int
second_difference (const WsNoiseGround *ground, int a, int b, int c)
{
  const int least = MIN (a, MIN (b, c)), most = MAX (a, MAX (b, c));
  return least > ground->bright && most < WSI_NOISE_CLIPPED ? abs (a - 2 * b + c) : -1;
}

/* Mean of those below `most`; 0 without any. */
static double
mean_below (const double *values, guint n, double most)
{
  double sum = 0;
  guint kept = 0;
  for (guint i = 0; i < n; i++)
    if (values[i] < most)
    {
      sum += values[i];
      kept++;
    }
  return kept > 0 ? sum / kept : 0;
}

static inline gboolean
is_ground (const WsNoiseGround *ground, guint x, guint y, int light)
{
  const WsImageCells *cells = ground->cells;
  if (light >= WSI_NOISE_CLIPPED)
    return FALSE;
  if (cells == NULL)
    return light > ground->bright;
  const guint i = x / cells->factor, j = y / cells->factor;
  return i < cells->width && j < cells->height && cells->in[(gsize)j * cells->width + i] != 0;
}

/* Of such a sample. */
static gsize
place_of (const WsImage *image, guint i, guint j)
{
  return (gsize)(1 + j * WSI_NOISE_EVERY) * image->width + 1 + i * WSI_NOISE_EVERY;
}

int
wsi_noise_bright (const guint *count, guint n)
{
  const guint rank = (guint)(WSI_NOISE_BRIGHT_SHARE * (n - 1));
  int light = 0;
  for (guint below = count[0]; below <= rank; below += count[light])
    light++;
  return (int)(WSI_NOISE_BRIGHT_PART * light);
}

static int
bright_of (const WsImage *image, guint across, guint down)
{
  g_autofree guint *count = g_new0 (guint, WS_IMAGE_FULL_SCALE + 1);
  for (guint j = 0; j < down; j++)
    for (guint i = 0; i < across; i++)
      count[wsi_image_light (image, place_of (image, i, j))]++;
  return wsi_noise_bright (count, across * down);
}

gboolean
wsi_noise_set_limits (WsNoiseGround *ground)
{
  const WsImage *image = ground->image;
  const guint across = (image->width - 2) / WSI_NOISE_EVERY,
              down = (image->height - 2) / WSI_NOISE_EVERY;
  g_autofree double *values = g_new (double, (gsize)across *down + 1);
  const gsize steps[2] = { 1, image->width };
  ground->bright = ground->cells != NULL ? -1 : bright_of (image, across, down);
  for (guint d = 0; d < 2; d++)
  {
    guint zeros = 0, n = 0;
    for (guint j = 0; j < down; j++)
      for (guint i = 0; i < across; i++)
      {
        const gsize at = place_of (image, i, j);
        const int here = wsi_image_light (image, at);
        if (!is_ground (ground, 1 + i * WSI_NOISE_EVERY, 1 + j * WSI_NOISE_EVERY, here))
          continue;
        const int value = second_difference (ground, wsi_image_light (image, at - steps[d]), here,
                                             wsi_image_light (image, at + steps[d]));
        zeros += value == 0 ? 1 : 0;
        if (value >= 0)
          values[n++] = value;
      }
    if (n < WSI_NOISE_LEAST_LINES || zeros > WSI_NOISE_MOST_ZEROS * n)
      return FALSE;
    const double rough = mean_below (values, n, HUGE_VAL);
    ground->limit[d] =
      (int)ceil (WSI_NOISE_REACH * mean_below (values, n, WSI_NOISE_FIRST_REACH * rough));
  }
  return TRUE;
}

/* Sums of one line, or of one sample. */
typedef struct
{
  guint64 sum[WSI_N_TRACES];
  guint count[WSI_N_TRACES];
} Sums;

/* Which places of a row are the ground's. */
typedef struct
{
  guint8 *in; /* NULL: those that are bright */
  guint row;  /* of cells, and 1 */
} Mask;

/* Cell by cell, since finding each sample's takes longer than all that is done with it. */
static void
mask_set (Mask *mask, const WsNoiseGround *ground, guint y)
{
  const WsImageCells *cells = ground->cells;
  if (cells == NULL || mask->row == y / cells->factor + 1)
    return;
  mask->row = y / cells->factor + 1;
  const guint8 *in =
    mask->row <= cells->height ? cells->in + (gsize)(mask->row - 1) * cells->width : NULL;
  for (guint x = 0, i = 0; x < ground->image->width; i++)
    for (const guint end = MIN (x + cells->factor, ground->image->width); x < end; x++)
      mask->in[x] = in != NULL && i < cells->width && in[i] != 0;
}

/* Of the sample at x, by its light and its neighbours'; `along` is the direction of the lines' own
 * order: 0 for x. */
static inline void
add (const WsNoiseGround *ground, const Mask *mask, guint along, guint x, int here,
     const int beside[2][2], Sums *sums)
{
  if (here >= WSI_NOISE_CLIPPED || (mask->in != NULL ? !mask->in[x] : here <= ground->bright))
    return;
  for (guint d = 0; d < 2; d++)
  {
    const int value = second_difference (ground, beside[d][0], here, beside[d][1]);
    const gboolean counts = value >= 0 && value < ground->limit[d];
    sums->sum[d == along ? WSI_ALONG : WSI_ACROSS] += counts ? (guint64)value : 0;
    sums->count[d == along ? WSI_ALONG : WSI_ACROSS] += counts ? 1 : 0;
  }
  sums->sum[WSI_LIGHT] += (guint64)here;
  sums->count[WSI_LIGHT]++;
}

guint
wsi_noise_step (guint width, guint height)
{
  return (guint)MAX (1.0, round ((double)width * height / SAMPLES));
}

void
wsi_noise_sum_rows (const WsNoiseGround *ground, WsNoiseLines *lines)
{
  const WsImage *image = ground->image;
  const guint step = wsi_noise_step (image->width, image->height);
  const gsize w = image->width;
  Mask mask = { ground->cells != NULL ? g_malloc0 (w) : NULL, 0 };
  for (guint y = 1; y + 1 < image->height; y++)
  {
    Sums sums = { { 0 }, { 0 } };
    mask_set (&mask, ground, y);
    for (guint x = 1; x + 1 < w; x += step)
    {
      const gsize at = y * w + x;
      const int beside[2][2] = {
        { wsi_image_light (image, at - 1), wsi_image_light (image, at + 1) },
        { wsi_image_light (image, at - w), wsi_image_light (image, at + w) },
      };
      add (ground, &mask, 1, x, wsi_image_light (image, at), beside, &sums);
    }
    for (guint t = 0; t < WSI_N_TRACES; t++)
    {
      lines->sum[t][y] = sums.sum[t];
      lines->count[t][y] = sums.count[t];
    }
  }
  g_free (mask.in);
}

void
wsi_noise_sum_columns (const WsNoiseGround *ground, WsNoiseLines *lines)
{
  const WsImage *image = ground->image;
  const guint step = wsi_noise_step (image->width, image->height), w = image->width;
  g_autofree guint16 *room = g_new (guint16, 3 * (gsize)w);
  g_autofree Sums *columns = g_new0 (Sums, w);
  Mask mask = { ground->cells != NULL ? g_malloc0 (w) : NULL, 0 };
  for (guint y = 1; y + 1 < image->height; y += step)
  {
    const guint16 *rows[3];
    mask_set (&mask, ground, y);
    for (guint k = 0; k < 3; k++)
      rows[k] = wsi_image_light_row (image, y - 1 + k, room + (gsize)k * w);
    for (guint x = 1; x + 1 < w; x++)
    {
      const int beside[2][2] = { { rows[1][x - 1], rows[1][x + 1] }, { rows[0][x], rows[2][x] } };
      add (ground, &mask, 0, x, rows[1][x], beside, &columns[x]);
    }
  }
  g_free (mask.in);
  for (guint t = 0; t < WSI_N_TRACES; t++)
    for (guint x = 0; x < w; x++)
    {
      lines->sum[t][x] = columns[x].sum[t];
      lines->count[t][x] = columns[x].count[t];
    }
}
