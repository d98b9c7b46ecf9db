/* What lens, light and sensor do to pictures. */
#include <math.h>

#include "hard.h"

void
hard_noise (HardShot *shot)
{
  const double sigma = 0.2 * shot->strength * shot->strength;
  for (gsize i = 0; i < hard_n_samples (&shot->picture); i++)
    shot->picture.samples[i] += (float)(sigma * scene_rng_normal (&shot->rng));
}

/* All light comes nearer to a grey. */
void
hard_low_contrast (HardShot *shot)
{
  const float kept = (float)pow (0.02, shot->strength);
  hard_to_light (shot);
  for (gsize i = 0; i < hard_n_samples (&shot->picture); i++)
    shot->picture.samples[i] = 0.35f + kept * (shot->picture.samples[i] - 0.35f);
  hard_from_light (shot);
}

static void
expose (HardShot *shot, float by, float offset)
{
  hard_to_light (shot);
  for (gsize i = 0; i < hard_n_samples (&shot->picture); i++)
    shot->picture.samples[i] = by * shot->picture.samples[i] + offset;
  hard_from_light (shot);
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

void
hard_vignetting (HardShot *shot)
{
  HardPicture *p = &shot->picture;
  const double cx = 0.5 * (p->width - 1.0), cy = 0.5 * (p->height - 1.0);
  hard_to_light (shot);
  for (guint y = 0; y < p->height; y++)
    for (guint x = 0; x < p->width; x++)
    {
      const double r2 = ((x - cx) * (x - cx) + (y - cy) * (y - cy)) / (cx * cx + cy * cy);
      for (guint c = 0; c < p->channels; c++)
        *hard_sample (p, (int)x, (int)y, c) *= (float)(1.0 - 0.9 * shot->strength * r2);
    }
  hard_from_light (shot);
}
