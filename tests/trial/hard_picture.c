/* Pictures that can be spoilt, as floating samples. */
#include "hard.h"

#include <math.h>
#include <string.h>

HardPicture
hard_picture_new (guint width, guint height, guint channels)
{
  return (HardPicture){ width, height, channels, g_new0 (float, (gsize)width *height *channels) };
}

HardPicture
hard_picture_copy (const HardPicture *picture)
{
  HardPicture copy = hard_picture_new (picture->width, picture->height, picture->channels);
  memcpy (copy.samples, picture->samples, hard_n_samples (picture) * sizeof (float));
  return copy;
}

gsize
hard_n_samples (const HardPicture *picture)
{
  return (gsize)picture->width * picture->height * picture->channels;
}

void
hard_picture_clear (HardPicture *picture)
{
  g_clear_pointer (&picture->samples, g_free);
}

void
hard_picture_take (HardPicture *picture, HardPicture taken)
{
  hard_picture_clear (picture);
  *picture = taken;
}

float *
hard_sample (const HardPicture *picture, int x, int y, guint channel)
{
  const gsize column = (gsize)CLAMP (x, 0, (int)picture->width - 1);
  const gsize row = (gsize)CLAMP (y, 0, (int)picture->height - 1);
  return &picture->samples[(row * picture->width + column) * picture->channels + channel];
}

double
hard_between_samples (const HardPicture *picture, double x, double y, guint channel)
{
  const int i = (int)floor (x), j = (int)floor (y);
  const double dx = x - i, dy = y - j;
  const double above = (1.0 - dx) * *hard_sample (picture, i, j, channel) +
                       dx * *hard_sample (picture, i + 1, j, channel);
  const double below = (1.0 - dx) * *hard_sample (picture, i, j + 1, channel) +
                       dx * *hard_sample (picture, i + 1, j + 1, channel);
  return (1.0 - dy) * above + dy * below;
}

/* IEC 61966-2-1. */
static double
decode (double sample, const HardShot *shot)
{
  if (shot->encoding == SCENE_LINEAR)
    return sample;
  return sample <= 0.04045 ? sample / 12.92 : pow ((sample + 0.055) / 1.055, 2.4);
}

static double
encode (double light, const HardShot *shot)
{
  const double clipped = CLAMP (light, 0.0, 1.0);
  if (shot->encoding == SCENE_LINEAR)
    return clipped;
  return clipped <= 0.0031308 ? 12.92 * clipped : 1.055 * pow (clipped, 1.0 / 2.4) - 0.055;
}

void
hard_map (HardPicture *picture, double (*curve) (double sample, const HardShot *shot),
          const HardShot *shot)
{
  const gsize n = hard_n_samples (picture);
  for (gsize i = 0; i < n; i++)
    picture->samples[i] = (float)curve ((double)picture->samples[i], shot);
}

#define N_TABLE 8192

/* Through a table, since the curves take long. */
static void
map_by_table (HardShot *shot, double (*curve) (double sample, const HardShot *shot))
{
  g_autofree float *table = g_new (float, N_TABLE + 2);
  for (int i = 0; i <= N_TABLE + 1; i++)
    table[i] = (float)curve (pow ((double)i / N_TABLE, 2.0), shot);
  const gsize n = hard_n_samples (&shot->picture);
  for (gsize i = 0; i < n; i++)
  {
    /* Evenly in the root, so that dark samples keep their steps. */
    const float at = N_TABLE * sqrtf (CLAMP (shot->picture.samples[i], 0.0f, 1.0f));
    const int k = (int)at;
    shot->picture.samples[i] = table[k] + (at - (float)k) * (table[k + 1] - table[k]);
  }
}

void
hard_to_light (HardShot *shot)
{
  if (shot->encoding != SCENE_LINEAR)
    map_by_table (shot, decode);
}

void
hard_from_light (HardShot *shot)
{
  if (shot->encoding != SCENE_LINEAR)
    map_by_table (shot, encode);
}

/* One way, by `step` samples from pixel to pixel. */
static void
blur_line (float *line, guint n, gsize step, const double *kernel, int reach, float *copy)
{
  for (guint i = 0; i < n; i++)
    copy[i] = line[i * step];
  for (int i = 0; i < (int)n; i++)
  {
    double sum = 0.0;
    for (int k = -reach; k <= reach; k++)
      sum += kernel[k + reach] * copy[CLAMP (i + k, 0, (int)n - 1)];
    line[(gsize)i * step] = (float)sum;
  }
}

void
hard_blur (HardPicture *picture, double sigma)
{
  if (!(sigma > 0.05))
    return;
  const int reach = (int)ceil (3.5 * sigma);
  g_autofree double *kernel = g_new (double, (gsize)(2 * reach + 1));
  double sum = 0.0;
  for (int k = -reach; k <= reach; k++)
    sum += kernel[k + reach] = exp (-0.5 * k * k / (sigma * sigma));
  for (int k = 0; k <= 2 * reach; k++)
    kernel[k] /= sum;
  g_autofree float *copy = g_new (float, MAX (picture->width, picture->height));
  for (guint c = 0; c < picture->channels; c++)
  {
    for (guint y = 0; y < picture->height; y++)
      blur_line (hard_sample (picture, 0, (int)y, c), picture->width, picture->channels, kernel,
                 reach, copy);
    for (guint x = 0; x < picture->width; x++)
      blur_line (hard_sample (picture, (int)x, 0, c), picture->height,
                 (gsize)picture->width * picture->channels, kernel, reach, copy);
  }
}

void
hard_warp (HardShot *shot, guint width, guint height,
           ScenePoint (*from) (const HardShot *shot, double x, double y))
{
  const HardPicture *old = &shot->picture;
  HardPicture warped = hard_picture_new (width, height, old->channels);
  for (guint y = 0; y < height; y++)
    for (guint x = 0; x < width; x++)
    {
      const ScenePoint place = from (shot, x, y);
      for (guint c = 0; c < old->channels; c++)
        *hard_sample (&warped, (int)x, (int)y, c) =
          (float)hard_between_samples (old, place.x, place.y, c);
    }
  hard_picture_take (&shot->picture, warped);
}

HardPicture
hard_picture_of (const SceneImage *image)
{
  HardPicture picture = hard_picture_new (image->width, image->height, image->channels);
  const gsize n = hard_n_samples (&picture);
  const guint16 *deep = (const guint16 *)(const void *)image->data;
  for (gsize i = 0; i < n; i++)
    picture.samples[i] =
      image->bits == 16 ? (float)deep[i] / 65535.0f : (float)image->data[i] / 255.0f;
  return picture;
}

SceneImage *
hard_image_of (const HardShot *shot)
{
  const HardPicture *picture = &shot->picture;
  SceneImage *image = g_new0 (SceneImage, 1);
  *image = (SceneImage){ .width = picture->width,
                         .height = picture->height,
                         .channels = picture->channels,
                         .bits = shot->bits,
                         .encoding = shot->encoding,
                         .tagged = shot->tagged };
  const gsize n = hard_n_samples (picture);
  image->data = g_malloc (n * (shot->bits / 8));
  guint16 *deep = (guint16 *)(void *)image->data;
  for (gsize i = 0; i < n; i++)
  {
    const double sample = CLAMP ((double)picture->samples[i], 0.0, 1.0);
    if (shot->bits == 16)
      deep[i] = (guint16)lround (65535.0 * sample);
    else
      image->data[i] = (guint8)lround (255.0 * sample);
  }
  return image;
}
