#include "edge/find/thing_mask.h"

#include "edge/find/mask.h"
#include "image/light.h"
#include "maths/stats.h"

#include <math.h>

/* Cells on either side of a thing's border that are looked at pixel by pixel. */
#define BAND 2

/* Pixels of the ground scatter by less than this many of their standard deviations. */
#define NOISE_SPREADS 4.0

/* Every so many-th cell tells the noise of pixels. */
#define NOISE_STRIDE 13

enum
{
  GROUND,
  BORDER,
  CORE
};

typedef struct
{
  const WsImage *image;
  const WsThings *things;
  guint label, factor;
  guint8 *kind; /* GROUND, BORDER or CORE, by cells */
  float *level; /* of cells of the border: how far the thing is from the ground just inside */
  double noise; /* of the lightness of a pixel of the ground */
} Work;

/* Mean of the pixel and its neighbours: single ones are too noisy. */
static double
light_about (const WsImage *image, guint x, guint y)
{
  guint sum = 0, n = 0;
  for (guint v = y > 0 ? y - 1 : 0; v <= MIN (y + 1, image->height - 1); v++)
    for (guint u = x > 0 ? x - 1 : 0; u <= MIN (x + 1, image->width - 1); u++)
    {
      sum += wsi_image_light_at (image, u, v);
      n++;
    }
  return (double)sum / n;
}

static double
pixel_apart (const Work *work, guint x, guint y)
{
  const double u = (x + 0.5) / (work->things->width * work->factor);
  const double v = (y + 0.5) / (work->things->height * work->factor);
  const double ground = wsi_field_at (&work->things->ground, u, v);
  return sqrt (light_about (work->image, x, y) / WS_IMAGE_FULL_SCALE) - ground;
}

static void
sort_cells (Work *work)
{
  const guint w = work->things->width, h = work->things->height;
  const gsize n = (gsize)w * h;
  g_autofree guint8 *core = g_new (guint8, n);
  work->kind = g_new (guint8, n);
  for (gsize i = 0; i < n; i++)
    core[i] = work->kind[i] = work->things->label[i] == work->label;
  wsi_mask_shrink (core, w, h, BAND);
  wsi_mask_grow (work->kind, w, h, BAND);
  for (gsize i = 0; i < n; i++)
    work->kind[i] = core[i] ? CORE : work->kind[i] ? BORDER : GROUND;
}

/* Scatter of single pixels about the ground, without what the cells' means have of it. */
static double
pixel_noise (const Work *work)
{
  const guint w = work->things->width, half = work->factor / 2;
  const gsize n = (gsize)w * work->things->height;
  g_autofree double *found = g_new (double, n / NOISE_STRIDE + 1);
  gsize count = 0;
  for (gsize i = 0; i < n; i += NOISE_STRIDE)
    if (work->things->label[i] == 0)
    {
      const guint x = (guint)(i % w) * work->factor + half;
      const guint y = (guint)(i / w) * work->factor + half;
      found[count++] = fabs (pixel_apart (work, x, y) - (double)work->things->apart[i]);
    }
  return count > 0 ? wsi_absolute_sigma (found, count) : 0;
}

/* Mean distance from the ground of the thing's cells within two of (x, y), not counting those on
 * its very border. */
static float
level_near (const Work *work, const guint8 *inner, guint x, guint y)
{
  const guint w = work->things->width, h = work->things->height;
  float sum = 0;
  guint n = 0;
  for (guint v = y < BAND ? 0 : y - BAND; v <= MIN (y + BAND, h - 1); v++)
    for (guint u = x < BAND ? 0 : x - BAND; u <= MIN (x + BAND, w - 1); u++)
      if (inner[(gsize)v * w + u])
      {
        sum += fabsf (work->things->apart[(gsize)v * w + u]);
        n++;
      }
  return n > 0 ? sum / (float)n : 0;
}

static void
find_levels (Work *work)
{
  const guint w = work->things->width, h = work->things->height;
  const gsize n = (gsize)w * h;
  g_autofree guint8 *inner = g_new (guint8, n);
  work->level = g_new0 (float, n);
  for (gsize i = 0; i < n; i++)
    inner[i] = work->things->label[i] == work->label;
  wsi_mask_shrink (inner, w, h, 1);
  for (gsize i = 0; i < n; i++)
    if (work->kind[i] == BORDER)
      work->level[i] = level_near (work, inner, (guint)(i % w), (guint)(i / w));
}

static guint8
is_thing (const Work *work, guint x, guint y)
{
  const guint w = work->things->width, h = work->things->height;
  const gsize cell = (gsize)MIN (y / work->factor, h - 1) * w + MIN (x / work->factor, w - 1);
  if (work->kind[cell] != BORDER)
    return work->kind[cell] == CORE;
  const double least = MAX (work->things->least, NOISE_SPREADS * work->noise);
  return fabs (pixel_apart (work, x, y)) > MAX (least, 0.5 * (double)work->level[cell]);
}

guint8 *
wsi_mask_of_thing (const WsImage *image, const WsThings *things, guint label, guint factor)
{
  Work work = { .image = image, .things = things, .label = label, .factor = factor };
  sort_cells (&work);
  find_levels (&work);
  work.noise = pixel_noise (&work);
  guint8 *mask = g_new (guint8, (gsize)image->width * image->height);
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
      mask[(gsize)y * image->width + x] = is_thing (&work, x, y);
  wsi_mask_grow (mask, image->width, image->height, BAND);
  wsi_mask_shrink (mask, image->width, image->height, BAND);
  g_free (work.kind);
  g_free (work.level);
  return mask;
}
