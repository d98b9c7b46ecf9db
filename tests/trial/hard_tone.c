/* What cameras and programs do to tones, unsaid. */
#include <math.h>

#include "hard.h"

/* Samples are taken for sRGB though another power made them: 1 to 1.6, or its inverse. */
static double
power (double sample, const HardShot *shot)
{
  const double exponent = hard_between (shot, 1.0, 1.6);
  return pow (CLAMP (sample, 0.0, 1.0), shot->seed % 2 == 0 ? exponent : 1.0 / exponent);
}

void
hard_gamma (HardShot *shot)
{
  hard_map (&shot->picture, power, shot);
}

static double
s_curve (double sample, const HardShot *shot)
{
  const double x = CLAMP (sample, 0.0, 1.0);
  return x + shot->strength * (x * x * (3.0 - 2.0 * x) - x);
}

void
hard_s_curve (HardShot *shot)
{
  hard_map (&shot->picture, s_curve, shot);
}

static double
negative (double sample, const HardShot *shot)
{
  (void)shot;
  return 1.0 - CLAMP (sample, 0.0, 1.0);
}

/* Whole, whatever the strength, which is that of the noise added. */
void
hard_inverted (HardShot *shot)
{
  if (shot->strength < 0.1)
    return;
  hard_map (&shot->picture, negative, shot);
}

/* The file says linear light, and what it holds is half on the way to sRGB.  Written anew in other
 * codes of 8 bits no picture is as it was; so at first it is left alone. */
static double
half_coded (double sample, const HardShot *shot)
{
  return pow (CLAMP (sample, 0.0, 1.0), 1.0 / hard_between (shot, 1.0, 2.2));
}

void
hard_false_tag (HardShot *shot)
{
  if (shot->strength < 0.1)
    return;
  hard_to_light (shot);
  hard_map (&shot->picture, half_coded, shot);
  shot->encoding = SCENE_LINEAR;
}

/* An unsharp mask on the samples as they are. */
void
hard_sharpened (HardShot *shot)
{
  HardPicture soft = hard_picture_copy (&shot->picture);
  hard_blur (&soft, scene_rng_uniform (&shot->rng, 0.7, 4.0));
  const float amount = 2.0f * (float)shot->strength;
  for (gsize i = 0; i < hard_n_samples (&soft); i++)
  {
    float *sample = &shot->picture.samples[i];
    *sample = CLAMP (*sample + amount * (*sample - soft.samples[i]), 0.0f, 1.0f);
  }
  hard_picture_clear (&soft);
}

static double
stepped (double sample, const HardShot *shot)
{
  const double levels = floor (255.0 * pow (6.0 / 255.0, shot->strength));
  return floor (CLAMP (sample, 0.0, 1.0) * levels + 0.5) / levels;
}

/* Few levels, as a palette has them. */
void
hard_palette (HardShot *shot)
{
  hard_map (&shot->picture, stepped, shot);
}

/* Blurred where neighbours are alike, left alone where they aren't, as noise reduction does. */
void
hard_noise_reduced (HardShot *shot)
{
  HardPicture soft = hard_picture_copy (&shot->picture);
  hard_blur (&soft, 1.0 + 2.0 * shot->strength);
  const float most = 0.3f * (float)shot->strength;
  for (gsize i = 0; i < hard_n_samples (&soft) && most > 0.0f; i++)
  {
    float *sample = &shot->picture.samples[i];
    const float apart = (*sample - soft.samples[i]) / most;
    *sample += (soft.samples[i] - *sample) * expf (-apart * apart);
  }
  hard_picture_clear (&soft);
}
