#include "judge/web.h"

#include <math.h>

/* Webs of 0.11 to 0.20 diameters, thinner on large drills (common practice, no source): the middle
 * of that range, and the standard deviation of what is evenly spread over it, 0.09 / sqrt (12). */
#define USUAL_HALF 0.155
#define USUAL_U 0.026

/* A web grows toward the shank and is thinned at the point: how well a card's stands for it
 * (assumed, no source). */
#define U_BY_CARD 0.05

/* So a thick one of the usual webs has 0.22 diameters, more than the range's end. */
#define THICK 2.5

WsWeb
wsi_web_of (double web, double diameter)
{
  if (!isfinite (web))
    return (WsWeb){ USUAL_HALF, USUAL_U, FALSE };
  const double half = fmin (web / diameter, 1.0);
  return (WsWeb){ half, U_BY_CARD * half, TRUE };
}

double
wsi_web_thick (const WsWeb *web)
{
  return web->half + THICK * web->u;
}
