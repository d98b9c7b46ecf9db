/* Random numbers: D. Blackman and S. Vigna, "Scrambled linear pseudorandom number
 * generators", 2018 (xoshiro256**), seeded with splitmix64 (Steele, Lea, Flood 2014). */
#include "scene.h"

#include <math.h>

static guint64
rotl (guint64 x, int k)
{
  return (x << k) | (x >> (64 - k));
}

void
scene_rng_init (SceneRng *rng, guint64 seed)
{
  for (int i = 0; i < 4; i++)
  {
    seed += G_GUINT64_CONSTANT (0x9e3779b97f4a7c15);
    guint64 z = seed;
    z = (z ^ (z >> 30)) * G_GUINT64_CONSTANT (0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * G_GUINT64_CONSTANT (0x94d049bb133111eb);
    rng->s[i] = z ^ (z >> 31);
  }
}

guint64
scene_rng_next (SceneRng *rng)
{
  guint64 *s = rng->s;
  const guint64 result = rotl (s[1] * 5, 7) * 9;
  const guint64 t = s[1] << 17;
  s[2] ^= s[0];
  s[3] ^= s[1];
  s[1] ^= s[2];
  s[0] ^= s[3];
  s[2] ^= t;
  s[3] = rotl (s[3], 45);
  return result;
}

double
scene_rng_uniform (SceneRng *rng, double low, double high)
{
  return low + (high - low) * ((double)(scene_rng_next (rng) >> 11) * 0x1p-53);
}

/* Box and Muller 1958. */
double
scene_rng_normal (SceneRng *rng)
{
  const double u = 1.0 - scene_rng_uniform (rng, 0.0, 1.0);
  const double v = scene_rng_uniform (rng, 0.0, 1.0);
  return sqrt (-2.0 * log (u)) * cos (2.0 * G_PI * v);
}
