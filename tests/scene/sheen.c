#include "sheen.h"

#include <math.h>

/* Sizes in the picture, px: clouds on the ground, streaks along and across the grinding. */
#define CLOUD 90.0
#define STREAK_LENGTH 70.0
#define STREAK_WIDTH 2.5

/* Bands of reflected light over the width of the picture. */
#define BANDS 5.0

static double
lattice (guint64 seed, gint64 x, gint64 y)
{
  guint64 h = seed ^ ((guint64)x * G_GUINT64_CONSTANT (0x9e3779b97f4a7c15)) ^
              ((guint64)y * G_GUINT64_CONSTANT (0xc2b2ae3d27d4eb4f));
  h = (h ^ (h >> 29)) * G_GUINT64_CONSTANT (0xbf58476d1ce4e5b9);
  h = (h ^ (h >> 32)) * G_GUINT64_CONSTANT (0x94d049bb133111eb);
  return (double)(h >> 11) / 4503599627370496.0 - 1.0;
}

/* -1 .. 1, smooth over about 1. */
static double
cloud (guint64 seed, double x, double y)
{
  const double fx = floor (x), fy = floor (y);
  const gint64 i = (gint64)fx, j = (gint64)fy;
  const double u = x - fx, v = y - fy;
  const double s = u * u * (3.0 - 2.0 * u), t = v * v * (3.0 - 2.0 * v);
  const double low = lattice (seed, i, j) * (1.0 - s) + lattice (seed, i + 1, j) * s;
  const double high = lattice (seed, i, j + 1) * (1.0 - s) + lattice (seed, i + 1, j + 1) * s;
  return low * (1.0 - t) + high * t;
}

gboolean
sheen_is_plain (const SceneCamera *camera)
{
  return !(camera->sheen > 0.0 || camera->streaks > 0.0 || camera->mottle > 0.0);
}

double
sheen_on_tool (const SceneCamera *camera, guint i, guint j)
{
  if (!(camera->sheen > 0.0 || camera->streaks > 0.0))
    return 1.0;
  const double angle = camera->streak_deg * G_PI / 180.0;
  const double along = i * cos (angle) + j * sin (angle),
               across = j * cos (angle) - i * sin (angle);
  const double band = sin (2.0 * G_PI * BANDS * across / camera->width +
                           3.0 * cloud (camera->seed + 1, along / 300.0, across / 300.0));
  const double streak = cloud (camera->seed + 2, along / STREAK_LENGTH, across / STREAK_WIDTH);
  return MAX (0.02, (1.0 + camera->sheen * band) * (1.0 + camera->streaks * streak));
}

double
sheen_on_ground (const SceneCamera *camera, guint i, guint j)
{
  if (!(camera->mottle > 0.0))
    return 1.0;
  return 1.0 + camera->mottle * cloud (camera->seed + 3, i / CLOUD, j / CLOUD);
}

static gboolean
is_free (const SceneCamera *camera, const float *taken, const SheenBeside *place)
{
  const double reach = 0.5 * hypot (place->width, place->height) + 20.0;
  for (guint j = 0; j < camera->height; j += 4)
    for (guint i = 0; i < camera->width; i += 4)
      if (fabs (i - place->x) < reach && fabs (j - place->y) < reach &&
          taken[(gsize)j * camera->width + i] > 0.0f)
        return FALSE;
  return TRUE;
}

SheenBeside
sheen_place (const SceneCamera *camera, const float *taken)
{
  const double w = camera->width, h = camera->height;
  SheenBeside place = { .width = (camera->beside == SCENE_PIN ? 0.07 : 0.11) * w,
                        .height = 0.3 * h };
  if (camera->beside == SCENE_NOTHING)
    return place;
  for (guint k = 0; k < 4 && !place.is_there; k++)
  {
    place.x = (k % 2 == 0 ? 0.13 : 0.87) * w;
    place.y = (k / 2 == 0 ? 0.24 : 0.76) * h;
    place.is_there = is_free (camera, taken, &place);
  }
  return place;
}

/* Two rows of patches from dark to light in a dark frame. */
static double
card_light (double u, double v)
{
  const double column = floor (2.0 * u), row = floor (6.0 * v);
  const double x = 2.0 * u - column, y = 6.0 * v - row;
  if (x < 0.06 || x > 0.94 || y < 0.06 || y > 0.94)
    return 0.03;
  return column < 1.0 ? 0.03 + 0.17 * row : 0.05 + 0.1 * fmod (row * 2.0, 7.0);
}

double
sheen_beside (const SceneCamera *camera, const SheenBeside *place, guint i, guint j)
{
  if (!place->is_there)
    return NAN;
  const double turn = camera->beside == SCENE_PIN ? 0.15 : 0.0;
  const double x = i - place->x, y = j - place->y;
  const double u = (x * cos (turn) + y * sin (turn)) / place->width + 0.5;
  const double v = (y * cos (turn) - x * sin (turn)) / place->height + 0.5;
  if (!(u >= 0.0 && u < 1.0 && v >= 0.0 && v < 1.0))
    return NAN;
  return camera->beside == SCENE_PIN ? 0.1 + 0.8 * pow (fabs (sin (9.0 * u)), 3.0)
                                     : card_light (u, v);
}
