#include "edge/notch.h"

#include <math.h>

/* Blur lifts the bottom of a sharp notch: a Gaussian of deviation s centred t s deep in a wedge of
 * half opening q holds half the wedge where t = 0.8 cot q, within 0.03 from 45 to 90 degrees
 * (first order exact).  The opening is taken from the notch's width halfway down. */
#define NOTCH_LIFT 0.8
#define MOST_STEEP 1.5

/* A crooked one may be sharper at its bottom, within a blur about it; less blur than this, px,
 * hides little, and leaves too few points to tell. */
#define LEAST_BLUR 1.0

/* A parabola through fewer tells nothing. */
#define LEAST_POINTS 4

void
wsi_notch_begin (WsNotch *notch, double depth, double blur)
{
  *notch = (WsNotch){ .blur = blur, .depth = depth, .before = HUGE_VAL, .after = HUGE_VAL };
  wsi_least_squares_init (&notch->sums, 3);
}

void
wsi_notch_add (WsNotch *notch, double along, double depth)
{
  const double t = along / fmax (notch->blur, LEAST_BLUR), row[3] = { 1, t, t * t };
  /* What lies far below is no notch's. */
  if (fabs (t) <= 1 && depth < 2 * notch->depth)
    wsi_least_squares_add (&notch->sums, row, depth, 1);
  if (depth > 0.5 * notch->depth)
    return;
  if (along > 0)
    notch->after = fmin (notch->after, along);
  else
    notch->before = fmin (notch->before, -along);
}

/* Sides that fall by c a px are lifted by c s sqrt (2 / pi) where they meet, and bend there by
 * c sqrt (2 / pi) / s: the lift is the bend times s squared. */
static double
by_bend (const WsNotch *notch)
{
  double x[3];
  /* A[0] counts the points. */
  if (notch->blur < LEAST_BLUR || notch->sums.A[0] < LEAST_POINTS - 0.5 ||
      !wsi_least_squares_solve (&notch->sums, x, NULL))
    return 0;
  return fmax (-2 * x[2], 0);
}

/* Scan lines soften bends, so that alone would be too little. */
double
wsi_notch_lift (const WsNotch *notch)
{
  const double width = notch->before + notch->after;
  if (!isfinite (width) || !(width > 0))
    return 0;
  return fmax (NOTCH_LIFT * notch->blur * fmin (notch->depth / width, MOST_STEEP), by_bend (notch));
}
