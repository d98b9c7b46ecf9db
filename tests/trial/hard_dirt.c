/* What clings to a tool: specks, drops, hairs, films, wire edges. */
#include <math.h>

#include "hard.h"

static double
light_at (const HardPicture *p, double x, double y)
{
  return hard_between_samples (p, x, y, p->channels / 2);
}

static ScenePoint
gradient_at (const HardPicture *p, double x, double y)
{
  return (ScenePoint){ light_at (p, x + 2.0, y) - light_at (p, x - 2.0, y),
                       light_at (p, x, y + 2.0) - light_at (p, x, y - 2.0) };
}

/* A place at random where the light changes most within a few pixels; `toward` is the way to the
 * light, of length 1. */
static ScenePoint
place_on_edge (HardShot *shot, ScenePoint *toward)
{
  const HardPicture *p = &shot->picture;
  ScenePoint best = { 0.5 * p->width, 0.5 * p->height };
  double most = 1e-6;
  *toward = (ScenePoint){ 1.0, 0.0 };
  for (guint i = 0; i < 4000; i++)
  {
    const double x = scene_rng_uniform (&shot->rng, 4.0, p->width - 5.0);
    const double y = scene_rng_uniform (&shot->rng, 4.0, p->height - 5.0);
    const ScenePoint slope = gradient_at (p, x, y);
    const double step = hypot (slope.x, slope.y);
    if (step > 1.05 * most || (step > 0.9 * most && i < 2000))
    {
      most = MAX (step, most);
      best = (ScenePoint){ x, y };
      *toward = (ScenePoint){ slope.x / step, slope.y / step };
    }
  }
  return best;
}

static float
darkest (const HardPicture *p)
{
  float dark = 1.0f;
  for (gsize i = 0; i < hard_n_samples (p); i++)
    dark = MIN (dark, p->samples[i]);
  return dark;
}

/* Covers the pixel in part with what is as dark as the tool. */
static void
cover (HardPicture *p, int x, int y, double part, float dark)
{
  if (x < 0 || y < 0 || x >= (int)p->width || y >= (int)p->height)
    return;
  for (guint c = 0; c < p->channels; c++)
  {
    float *sample = hard_sample (p, x, y, c);
    *sample += (float)CLAMP (part, 0.0, 1.0) * (dark + 0.02f - *sample);
  }
}

typedef struct
{
  ScenePoint middle;
  double radius, flat;
} Blob;

/* Soft over one pixel. */
static void
cover_blob (HardPicture *p, const Blob *blob, float dark)
{
  const int reach = (int)blob->radius + 2;
  for (int y = -reach; y <= reach; y++)
    for (int x = -reach; x <= reach; x++)
      cover (p, (int)blob->middle.x + x, (int)blob->middle.y + y,
             0.5 - (hypot (x, y / blob->flat) - blob->radius), dark);
}

/* Specks and flakes that lie over the outline. */
void
hard_dust_on_edge (HardShot *shot)
{
  const int n = (int)ceil (12.0 * shot->strength);
  const float dark = darkest (&shot->picture);
  for (int k = 0; k < n; k++)
  {
    ScenePoint toward;
    const ScenePoint place = place_on_edge (shot, &toward);
    const double radius = scene_rng_uniform (&shot->rng, 1.0, 2.0 + 8.0 * shot->strength);
    cover_blob (&shot->picture, &(Blob){ place, radius, scene_rng_uniform (&shot->rng, 0.4, 1.0) },
                dark);
  }
}

/* A drop of coolant, half of it beside the edge. */
void
hard_drop (HardShot *shot)
{
  ScenePoint toward;
  const ScenePoint place = place_on_edge (shot, &toward);
  const double radius = 60.0 * shot->strength;
  if (radius > 1.0)
    cover_blob (&shot->picture, &(Blob){ place, radius, 1.0 }, darkest (&shot->picture));
}

/* A hair or a fibre that crosses the edge, bent. */
void
hard_hair (HardShot *shot)
{
  ScenePoint toward;
  const ScenePoint place = place_on_edge (shot, &toward);
  const float dark = darkest (&shot->picture);
  const double radius = 3.0 * shot->strength, bend = scene_rng_uniform (&shot->rng, -0.01, 0.01);
  double direction = atan2 (toward.y, toward.x) + scene_rng_uniform (&shot->rng, -1.0, 1.0);
  ScenePoint at = place;
  for (int k = 0; radius > 0.3 && k < 250; k++)
  {
    cover_blob (&shot->picture, &(Blob){ at, radius, 1.0 }, dark);
    at.x += cos (direction);
    at.y += sin (direction);
    direction += bend;
  }
}

/* What is laid along the edge from a place on it: so far out at `t` px along, so dark. */
static void
cover_along (HardShot *shot, double length, double height, double part)
{
  ScenePoint toward;
  const ScenePoint place = place_on_edge (shot, &toward);
  const float dark = darkest (&shot->picture);
  double out = 0.0;
  for (double t = 0.0; t < length; t += 0.5)
  {
    /* Ragged: a walk between nothing and the height. */
    out = CLAMP (out + 0.15 * height * scene_rng_normal (&shot->rng), 0.0, height);
    for (double d = -1.0; d <= out; d += 0.5)
      cover (&shot->picture, (int)lround (place.x - t * toward.y + d * toward.x),
             (int)lround (place.y + t * toward.x + d * toward.y), part, dark);
  }
}

/* The scene's truth has no burr where one is laid on its picture. */
static void
forget_burrs (HardShot *shot)
{
  const char *name;
  json_t *value;
  void *next;
  json_object_foreach_safe (shot->truth, next, name, value)
  {
    if (g_str_has_prefix (name, "burr_"))
      json_object_del (shot->truth, name);
  }
}

/* A wire edge as grinding leaves it: ragged, up to 10 px high, 40 to 250 px long. */
void
hard_wire_edge (HardShot *shot)
{
  if (shot->strength <= 0.05)
    return;
  cover_along (shot, hard_between (shot, 40.0, 250.0), 10.0 * shot->strength, 1.0);
  forget_burrs (shot);
}

/* A film of oil that lets some light through. */
void
hard_oil_film (HardShot *shot)
{
  if (shot->strength > 0.05)
    cover_along (shot, hard_between (shot, 80.0, 400.0), 8.0 * shot->strength, 0.35);
}
