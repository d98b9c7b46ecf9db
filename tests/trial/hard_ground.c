/* What wheels make of faces. */
#include <math.h>

#include "hard.h"

/* Fronts by a wheel's rim, of 40 down to 4 heights in radius: of 10 mm by wheels of 800 to 80 mm.
 */
void
hard_hollow_ground (HardShot *shot)
{
  shot->side.tip_radius = 0.0;
  shot->side.face = 0.0;
  shot->side.hollow = shot->side.height * 40.0 * pow (0.1, shot->strength);
}

/* A first relief over 10 to 50 % of the front, and up to 8 degrees more below it. */
void
hard_two_reliefs (HardShot *shot)
{
  shot->side.tip_radius = 0.0;
  shot->side.face = 0.0;
  shot->side.primary = shot->side.height * scene_rng_uniform (&shot->rng, 0.1, 0.5);
  shot->side.secondary_deg = shot->side.relief_deg + hard_between (shot, 0.5, 8.0);
}

void
hard_sharp (HardShot *shot)
{
  hard_set_truth (shot, "edge_rounding_mm", 0.0);
  hard_set_truth (shot, "burr_height_mm", 0.0);
}
