#include "surface.h"

#include <math.h>

#define RAD (G_PI / 180)

/* Streaks along the cut: noise in steps along the axis, smoothed over their width. */
static double *
make_streaks (const SceneSurface *surface, double reach, double step, guint *n)
{
  SceneRng rng;
  scene_rng_init (&rng, surface->seed * 7 + 3);
  *n = (guint)ceil (2 * reach / step) + 2;
  g_autofree double *raw = g_new (double, *n);
  double *smooth = g_new0 (double, *n);
  for (guint i = 0; i < *n; i++)
    raw[i] = scene_rng_normal (&rng);
  const double width = MAX (surface->streak / step, 0.3);
  const int far = (int)ceil (3 * width);
  double gain = 0;
  for (int d = -far; d <= far; d++)
    gain += exp (-d * d / (width * width));
  for (guint i = 0; i < *n; i++)
  {
    double sum = 0;
    for (int d = -far; d <= far; d++)
      sum += exp (-0.5 * d * d / (width * width)) * raw[(guint)((int)(i + *n) + d) % *n];
    smooth[i] = sum / sqrt (gain);
  }
  return smooth;
}

/* A scallop's slope: from one cusp to the next it changes evenly. */
static double
scallop (double turns)
{
  return 2 * (turns - floor (turns)) - 1;
}

static double
wander (const SceneSurface *surface, double along_axis)
{
  /* A few slow waves with phases of their own. */
  double sum = 0;
  for (guint i = 1; i <= 3; i++)
    sum += sin (along_axis * (0.3 + 0.37 * i) + (double)(surface->seed % 97) * i) / 3;
  return surface->ripple * sum;
}

static double
light_at (const SceneSurface *surface, double x, double y, double streak)
{
  const double c = cos (surface->axis_deg * RAD), s = sin (surface->axis_deg * RAD);
  const double along = c * x + s * y; /* mm along the axis */
  double round = -s * x + c * y;      /* and along the cut */
  double light = 1;
  if (surface->round > 0)
  {
    const double sine = CLAMP (2 * round / surface->round, -0.999, 0.999);
    round = 0.5 * surface->round * asin (sine);
    light *= 0.3 + 0.7 * sqrt (1 - sine * sine);
  }
  double tilt = surface->streaks * streak;
  if (surface->feed > 0)
    tilt += surface->feed_contrast *
            scallop ((along + round * tan (surface->helix_deg * RAD)) / surface->feed);
  if (surface->chatter > 0)
  {
    const double lean = surface->chatter_deg * RAD;
    /* Square to its lines, which lean from the axis. */
    const double across = round * cos (lean) + along * sin (lean);
    tilt += surface->chatter_contrast *
            cos (2 * G_PI * across / surface->chatter + wander (surface, along));
  }
  return light * (1 + tilt);
}

/* A pixel's light is that of so many places each way. */
#define FINE 3

typedef struct
{
  const double *values;
  guint n;
  double reach, step;
} Streaks;

/* x and y in px from the middle. */
static double
light_of (const SceneSurface *surface, const Streaks *streaks, double x, double y)
{
  const double c = cos (surface->axis_deg * RAD), s = sin (surface->axis_deg * RAD);
  const double along = (c * x + s * y) * surface->mm_per_px;
  const double place = CLAMP ((along + streaks->reach) / streaks->step, 0, streaks->n - 2.0);
  const guint k = (guint)place;
  const double streak =
    streaks->values[k] + (place - k) * (streaks->values[k + 1] - streaks->values[k]);
  return light_at (surface, x * surface->mm_per_px, y * surface->mm_per_px, streak);
}

static void
blur_rows (float *pixels, guint n, guint stride, guint lines, guint line_stride, double blur)
{
  const int far = (int)ceil (4 * blur);
  g_autofree float *row = g_new (float, n);
  for (guint k = 0; k < lines; k++)
  {
    float *line = pixels + (gsize)k * line_stride;
    for (guint i = 0; i < n; i++)
    {
      double sum = 0, weights = 0;
      for (int d = -far; d <= far; d++)
      {
        const int j = CLAMP ((int)i + d, 0, (int)n - 1);
        const double weight = exp (-0.5 * d * d / (blur * blur));
        sum += weight * (double)line[(gsize)j * stride];
        weights += weight;
      }
      row[i] = (float)(sum / weights);
    }
    for (guint i = 0; i < n; i++)
      line[(gsize)i * stride] = row[i];
  }
}

/* sRGB's curve, IEC 61966-2-1. */
static guint8
code_of (double light)
{
  const double l = CLAMP (light, 0, 1);
  const double code = l <= 0.0031308 ? 12.92 * l : 1.055 * pow (l, 1 / 2.4) - 0.055;
  return (guint8)lrint (255 * code);
}

SceneImage *
scene_render_surface (const SceneSurface *surface)
{
  const guint w = surface->width, h = surface->height;
  SceneRng rng;
  scene_rng_init (&rng, surface->seed);
  const double reach = 0.6 * hypot (w, h) * surface->mm_per_px, step = 0.5 * surface->mm_per_px;
  guint n_streaks;
  g_autofree double *streaks = make_streaks (surface, reach, step, &n_streaks);
  g_autofree float *light = g_new (float, (gsize)w *h);
  const Streaks seen = { streaks, n_streaks, reach, step };
  for (guint j = 0; j < h; j++)
    for (guint i = 0; i < w; i++)
    {
      double sum = 0;
      for (guint k = 0; k < FINE; k++)
        for (guint l = 0; l < FINE; l++)
          sum += light_of (surface, &seen, i + (l + 0.5) / FINE - 0.5 - 0.5 * w,
                           j + (k + 0.5) / FINE - 0.5 - 0.5 * h);
      const double shade = 1 - surface->shade * (i / (double)w);
      const double grain = surface->grain * scene_rng_normal (&rng) * 2;
      light[(gsize)j * w + i] = (float)(0.35 * shade * sum / (FINE * FINE) * (1 + grain));
    }
  if (surface->blur_px > 0)
  {
    blur_rows (light, w, 1, h, w, surface->blur_px);
    blur_rows (light, h, w, w, 1, surface->blur_px);
  }
  SceneImage *image = g_new0 (SceneImage, 1);
  *image = (SceneImage){ .width = w, .height = h, .channels = 1, .bits = 8 };
  image->encoding = SCENE_SRGB;
  image->tagged = TRUE;
  image->data = g_malloc ((gsize)w * h);
  for (gsize i = 0; i < (gsize)w * h; i++)
    image->data[i] = code_of ((double)light[i] + surface->noise * scene_rng_normal (&rng));
  return image;
}

void
scene_random_surface (guint64 seed, gboolean with_chatter, SceneSurface *surface)
{
  SceneRng rng;
  scene_rng_init (&rng, seed * 11 + 5);
  *surface = (SceneSurface){
    .width = 640,
    .height = 480,
    .mm_per_px = scene_rng_uniform (&rng, 0.008, 0.03),
    .axis_deg = scene_rng_uniform (&rng, -90, 90),
    .feed_contrast = scene_rng_uniform (&rng, 0.02, 0.25),
    .helix_deg = scene_rng_uniform (&rng, 0, 0.5),
    .chatter_contrast = scene_rng_uniform (&rng, 0.02, 0.2),
    .ripple = scene_rng_uniform (&rng, 0, 0.4),
    .streaks = scene_rng_uniform (&rng, 0.02, 0.12),
    .grain = scene_rng_uniform (&rng, 0, 0.06),
    .shade = scene_rng_uniform (&rng, 0, 0.5),
    .blur_px = scene_rng_uniform (&rng, 0.5, 1.5),
    .noise = scene_rng_uniform (&rng, 0.001, 0.006),
    .seed = seed,
  };
  surface->streak = surface->mm_per_px * scene_rng_uniform (&rng, 0.7, 3);
  if (scene_rng_uniform (&rng, 0, 1) < (with_chatter ? 0.6 : 0.9))
    surface->feed = surface->mm_per_px * scene_rng_uniform (&rng, 5, 40);
  if (with_chatter)
  {
    surface->chatter = surface->mm_per_px * scene_rng_uniform (&rng, 8, 50);
    surface->chatter_deg = scene_rng_uniform (&rng, -35, 35);
  }
  if (scene_rng_uniform (&rng, 0, 1) < 0.5)
    surface->round = surface->mm_per_px * scene_rng_uniform (&rng, 900, 4000);
}
