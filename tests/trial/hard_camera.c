/* What lens, light and sensor do to pictures. */
#include <math.h>

#include "hard.h"

/* ---- Sensor -----------------------------------------------------------------------------------
 */

void
hard_noise (HardShot *shot)
{
  const double sigma = 0.2 * shot->strength * shot->strength;
  for (gsize i = 0; i < hard_n_samples (&shot->picture); i++)
    shot->picture.samples[i] += (float)(sigma * scene_rng_normal (&shot->rng));
}

static int
random_below (HardShot *shot, guint n)
{
  return (int)(scene_rng_next (&shot->rng) % n);
}

/* All channels of a pixel. */
static void
set_pixel (HardPicture *p, int x, int y, float sample)
{
  for (guint c = 0; c < p->channels; c++)
    *hard_sample (p, x, y, c) = sample;
}

/* Up to one pixel in five hundred is stuck. */
void
hard_hot_pixels (HardShot *shot)
{
  HardPicture *p = &shot->picture;
  const guint n = (guint)(0.002 * shot->strength * p->width * p->height);
  for (guint i = 0; i < n; i++)
  {
    const int x = random_below (shot, p->width), y = random_below (shot, p->height);
    set_pixel (p, x, y, random_below (shot, 4) == 0 ? 0.0f : 1.0f);
  }
}

/* Up to eight rows or columns that read nothing, or full light. */
void
hard_dead_lines (HardShot *shot)
{
  HardPicture *p = &shot->picture;
  const int n = (int)lround (8.0 * shot->strength);
  for (int k = 0; k < n; k++)
  {
    const gboolean is_row = random_below (shot, 2) == 0;
    const float sample = random_below (shot, 2) == 0 ? 0.0f : 1.0f;
    const int place = random_below (shot, is_row ? p->height : p->width);
    for (int i = 0; i < (int)(is_row ? p->width : p->height); i++)
      set_pixel (p, is_row ? i : place, is_row ? place : i, sample);
  }
}

/* ---- Levels ------------------------------------------------------------------------------------
 */

static void
expose (HardShot *shot, float by, float offset)
{
  hard_to_light (shot);
  for (gsize i = 0; i < hard_n_samples (&shot->picture); i++)
    shot->picture.samples[i] = by * shot->picture.samples[i] + offset;
  hard_from_light (shot);
}

/* All light comes nearer to a grey. */
void
hard_low_contrast (HardShot *shot)
{
  const float kept = (float)pow (0.02, shot->strength);
  expose (shot, kept, 0.35f * (1.0f - kept));
}

void
hard_clipped_high (HardShot *shot)
{
  expose (shot, (float)hard_between (shot, 1.0, 6.0), 0.0f);
}

/* A black level set too high. */
void
hard_clipped_low (HardShot *shot)
{
  expose (shot, 1.0f, (float)hard_between (shot, 0.0, -0.4));
}

/* ---- Uneven light ------------------------------------------------------------------------------
 */

/* Light is multiplied by what `factor` gives for places from -1 to 1 along the longer side. */
static void
shade (HardShot *shot, double (*factor) (const double *drawn, double x, double y),
       const double *drawn)
{
  HardPicture *p = &shot->picture;
  const double half = 0.5 * MAX (p->width, p->height);
  hard_to_light (shot);
  for (guint y = 0; y < p->height; y++)
    for (guint x = 0; x < p->width; x++)
    {
      const double f = factor (drawn, (x - 0.5 * p->width) / half, (y - 0.5 * p->height) / half);
      for (guint c = 0; c < p->channels; c++)
        *hard_sample (p, (int)x, (int)y, c) *= (float)f;
    }
  hard_from_light (shot);
}

static double
dark_corners (const double *drawn, double x, double y)
{
  return MAX (0.0, 1.0 - drawn[0] * (x * x + y * y));
}

void
hard_vignetting (HardShot *shot)
{
  const double drawn[] = { 0.75 * shot->strength };
  shade (shot, dark_corners, drawn);
}

/* A place, a direction, a width and a strength. */
static void
draw_place (HardShot *shot, double *drawn, double strength)
{
  const double direction = scene_rng_uniform (&shot->rng, 0.0, G_PI);
  drawn[0] = scene_rng_uniform (&shot->rng, -0.5, 0.5);
  drawn[1] = scene_rng_uniform (&shot->rng, -0.5, 0.5);
  drawn[2] = cos (direction);
  drawn[3] = sin (direction);
  drawn[4] = scene_rng_uniform (&shot->rng, 0.03, 0.15);
  drawn[5] = strength;
}

/* A band with soft borders. */
static double
band (const double *d, double x, double y)
{
  const double across = ((x - d[0]) * d[2] + (y - d[1]) * d[3]) / d[4];
  return 1.0 + d[5] * exp (-0.5 * across * across);
}

/* A round patch, four times as wide. */
static double
patch (const double *d, double x, double y)
{
  const double r = hypot (x - d[0], y - d[1]) / (4.0 * d[4]);
  return 1.0 + d[5] * exp (-0.5 * r * r);
}

/* Grease wiped over the panel. */
void
hard_smear (HardShot *shot)
{
  double drawn[6];
  draw_place (shot, drawn, -0.8 * shot->strength);
  shade (shot, band, drawn);
}

void
hard_second_lamp (HardShot *shot)
{
  double drawn[6];
  draw_place (shot, drawn, 1.5 * shot->strength);
  shade (shot, patch, drawn);
}

/* Tubes behind the panel, and a slope. */
static double
tubes (const double *d, double x, double y)
{
  const double along = x * d[2] + y * d[3];
  return (1.0 + 0.5 * d[5] * along) * (1.0 + 0.35 * d[5] * sin (along / d[4]));
}

void
hard_uneven_panel (HardShot *shot)
{
  double drawn[6];
  draw_place (shot, drawn, shot->strength);
  shade (shot, tubes, drawn);
}

/* Lamps flicker while rows are read. */
static double
rows (const double *d, double x, double y)
{
  (void)x;
  return 1.0 + 0.4 * d[5] * sin (y / (0.3 * d[4]));
}

void
hard_banding (HardShot *shot)
{
  double drawn[6];
  draw_place (shot, drawn, shot->strength);
  shade (shot, rows, drawn);
}

/* ---- Sharpness --------------------------------------------------------------------------------
 */

#define N_LEVELS 6
#define MOST_BLUR 8.0

/* Sharp on one side of the picture, out of focus on the other. */
void
hard_defocus_one_side (HardShot *shot)
{
  HardPicture *p = &shot->picture, levels[N_LEVELS];
  hard_to_light (shot);
  for (int k = 0; k < N_LEVELS; k++)
  {
    levels[k] = hard_picture_copy (p);
    hard_blur (&levels[k], MOST_BLUR * shot->strength * k / (N_LEVELS - 1));
  }
  for (guint y = 0; y < p->height; y++)
    for (guint x = 0; x < p->width; x++)
    {
      const double level = (N_LEVELS - 1.0) * x / p->width;
      const int k = (int)level;
      for (guint c = 0; c < p->channels; c++)
        *hard_sample (p, (int)x, (int)y, c) =
          (float)((k + 1 - level) * *hard_sample (&levels[k], (int)x, (int)y, c) +
                  (level - k) * *hard_sample (&levels[k + 1], (int)x, (int)y, c));
    }
  for (int k = 0; k < N_LEVELS; k++)
    hard_picture_clear (&levels[k]);
  hard_from_light (shot);
}

/* Clockwise in the picture; 0 where the tool points up. */
static double
roll_of (const HardShot *shot)
{
  if ((shot->scene & HARD_SILHOUETTES) != 0)
    return shot->camera.roll_deg;
  switch (shot->scene)
  {
  case HARD_BLADE_FACE:
    return shot->face.lamp.roll_deg;
  case HARD_END:
    return shot->end.lamp.roll_deg;
  case HARD_TIP:
    return shot->tip.roll_deg;
  default:
    return shot->relief.roll_deg;
  }
}

static void
move_picture (HardShot *shot, double direction_deg)
{
  const double length = 24.0 * shot->strength * shot->strength;
  const int n = (int)ceil (length) + 1;
  const double dx = length * cos (direction_deg * G_PI / 180.0);
  const double dy = length * sin (direction_deg * G_PI / 180.0);
  hard_to_light (shot);
  HardPicture moved =
    hard_picture_new (shot->picture.width, shot->picture.height, shot->picture.channels);
  for (int k = 0; k < n; k++)
  {
    const double t = n > 1 ? (double)k / (n - 1) - 0.5 : 0.0;
    for (guint y = 0; y < moved.height; y++)
      for (guint x = 0; x < moved.width; x++)
        for (guint c = 0; c < moved.channels; c++)
          *hard_sample (&moved, (int)x, (int)y, c) +=
            (float)(hard_between_samples (&shot->picture, x + t * dx, y + t * dy, c) / n);
  }
  hard_picture_take (&shot->picture, moved);
  hard_from_light (shot);
}

void
hard_motion_across (HardShot *shot)
{
  move_picture (shot, roll_of (shot));
}

void
hard_motion_along (HardShot *shot)
{
  move_picture (shot, roll_of (shot) + 90.0);
}
