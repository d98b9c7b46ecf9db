/* Pictures whose geometry isn't what the scale says. */
#include <math.h>

#include "hard.h"

static ScenePoint
squeezed (const HardShot *shot, double x, double y)
{
  return (ScenePoint){ x / (1.0 - 0.1 * shot->strength), y };
}

/* Pixels that aren't square, by up to 10 %. */
void
hard_squeezed (HardShot *shot)
{
  const guint width = (guint)(shot->picture.width * (1.0 - 0.1 * shot->strength));
  hard_warp (shot, width, shot->picture.height, squeezed);
}

static ScenePoint
skewed (const HardShot *shot, double x, double y)
{
  const double slope = tan (4.0 * shot->strength * G_PI / 180.0);
  return (ScenePoint){ x + slope * (y - 0.5 * shot->picture.height), y };
}

/* Rows are read one after the other while something moves. */
void
hard_skewed (HardShot *shot)
{
  hard_warp (shot, shot->picture.width, shot->picture.height, skewed);
}

static ScenePoint
distorted (const HardShot *shot, double x, double y)
{
  const double cx = 0.5 * (shot->picture.width - 1.0), cy = 0.5 * (shot->picture.height - 1.0);
  const double r2 = ((x - cx) * (x - cx) + (y - cy) * (y - cy)) / (cx * cx + cy * cy);
  const double by = (shot->seed % 3 == 0 ? -1.0 : 1.0) * 0.02 * shot->strength * r2;
  return (ScenePoint){ cx + (x - cx) * (1.0 + by), cy + (y - cy) * (1.0 + by) };
}

/* A lens that moves the corners by up to 2 %; the program is told 0.3. */
void
hard_distorted (HardShot *shot)
{
  hard_warp (shot, shot->picture.width, shot->picture.height, distorted);
}

/* The axis leans out of the picture by up to 5 degrees. */
void
hard_lean (HardShot *shot)
{
  shot->camera.tilt_deg = 5.0 * shot->strength * (shot->seed % 2 == 0 ? 1.0 : -1.0);
}

/* The lips are turned out of the picture by up to 30 degrees. */
void
hard_turned (HardShot *shot)
{
  shot->camera.turn_deg = 30.0 * shot->strength * (shot->seed % 2 == 0 ? 1.0 : -1.0);
}
