/* Wire edges: what grinding leaves proud of a lip. */
#include <math.h>

#include "hard.h"

/* Up to 0.15 mm high over up to 70 % of a lip. */
static SceneBurr
burr_of (HardShot *shot, gboolean rolled)
{
  SceneRng *rng = &shot->rng;
  const double share = 0.85 * scene_rng_uniform (rng, 0.05, hard_between (shot, 0.15, 0.7));
  SceneBurr burr = { .height = hard_between (shot, 0.005, 0.15), .rolled = rolled };
  burr.from = scene_rng_uniform (rng, 0.1, 1.0 - share);
  burr.to = burr.from + share;
  burr.taper = scene_rng_uniform (rng, 0.02, rolled ? 0.5 : 0.3);
  const double least = rolled ? 40.0 : 3.0;
  burr.grain = shot->camera.mm_per_px * least * pow (300.0 / least, scene_rng_uniform (rng, 0, 1));
  burr.seed = scene_rng_next (rng);
  return burr;
}

static void
put (HardShot *shot, SceneBurr burr)
{
  *(scene_rng_next (&shot->rng) % 2 == 0 ? &shot->drill.burr_a : &shot->drill.burr_b) = burr;
}

void
hard_lip_torn (HardShot *shot)
{
  put (shot, burr_of (shot, FALSE));
}

void
hard_lip_rolled (HardShot *shot)
{
  put (shot, burr_of (shot, TRUE));
}

void
hard_lips_torn (HardShot *shot)
{
  shot->drill.burr_a = burr_of (shot, FALSE);
  shot->drill.burr_b = burr_of (shot, FALSE);
}

void
hard_lip_corner (HardShot *shot)
{
  SceneBurr burr = burr_of (shot, FALSE);
  burr.from = scene_rng_uniform (&shot->rng, 0.6, 0.95);
  burr.to = 1.0;
  put (shot, burr);
}
