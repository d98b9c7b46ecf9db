#include "tool/centre_height.h"

#include <math.h>

double
wsi_centre_height_turn (double diameter, double height)
{
  const double sine = 2 * height / diameter;
  return fabs (sine) <= 1 ? asin (sine) : NAN;
}

double
wsi_centre_height_rubs_below (double height, double relief)
{
  return height > 0 ? 2 * height / sin (relief) : 0;
}
