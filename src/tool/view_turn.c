#include "tool/view_turn.h"

#include "base/geometry.h"

/*
 * Half the web over the envelope radius, when the card says nothing: webs of 0.11 to 0.22
 * diameters (common practice, no source; thinner on large drills).
 */
#define WEB_RATIO 0.165
#define WEB_RATIO_SD 0.025

/* Fall of the flank per depth behind the lip near the chisel edge: lip relief of 8 to 15
 * degrees with the usual increase toward the centre (common practice, no source). */
#define FLANK_SLOPE 0.24
#define FLANK_SLOPE_SD 0.04

/* How well lips are turned in by eye before anything is known of the picture. */
#define TURN_SD_DEG 5.0

/* The knee's depth as measured: short of the true lip end by the corner's rounding. */
#define KNEE_SHORT_DEG 0.6
#define KNEE_SD_DEG 0.9

/* A steeper rim than a ground flank's: the margin is narrower than the lip's end is deep, so
 * the knee is in part the margin's helix and shows too little depth. */
#define KNEE_STEEP 0.26
#define KNEE_SD_PER_SLOPE_DEG 50.0

#define TURN_RANGE_DEG 24.0
#define TURN_STEP_DEG 0.2
#define WEB_STEP 0.004

typedef struct
{
  double drop; /* apex over the foremost point / R */
  double cot;  /* of the mean half angle */
  gboolean has_knee;
  double knee_angle, knee_sd; /* rad */
  double web, web_sd;         /* half web / R */
} Seen;

static double
square (double x)
{
  return x * x;
}

/* The lips' ends lie asin (web) + turn from the envelope's silhouette. */
static Seen
look (const WsDrillPoint *point, double web_px)
{
  const double half = 0.5 * (point->lips[0].half_angle + point->lips[1].half_angle);
  Seen seen = { .drop = (point->apex.y - point->tip.y) / point->radius,
                .cot = 1 / tan (half),
                .web = WEB_RATIO,
                .web_sd = WEB_RATIO_SD };
  if (isfinite (web_px))
  {
    seen.web = 0.5 * web_px / point->radius;
    seen.web_sd = 0.05 * seen.web;
  }
  seen.has_knee = point->knee.found;
  if (seen.has_knee)
  {
    seen.knee_angle =
      asin (CLAMP (point->knee.depth / point->radius, -1, 1)) + ws_radians (KNEE_SHORT_DEG);
    seen.knee_sd =
      ws_radians (KNEE_SD_DEG + KNEE_SD_PER_SLOPE_DEG * MAX (point->knee.slope - KNEE_STEEP, 0));
  }
  return seen;
}

/*
 * Minus twice the log of the joint density of web, turn and what was seen.  In a view turned
 * by t the lip lines, web apart in depth, meet web (slope - t cot) above the chisel edge.
 */
static double
misfit (const Seen *seen, double web, double turn)
{
  const double slope = seen->drop / web + sin (turn) * seen->cot;
  double sum = square ((web - seen->web) / seen->web_sd) +
               square ((slope - FLANK_SLOPE) / FLANK_SLOPE_SD) +
               square (turn / ws_radians (TURN_SD_DEG)) + 2 * log (web);
  if (seen->has_knee)
    sum += square ((seen->knee_angle - asin (web) - turn) / seen->knee_sd);
  return sum;
}

WsViewTurn
ws_view_turn_estimate (const WsDrillPoint *point, double web_px)
{
  const Seen seen = look (point, web_px);
  double weight = 0, moments[5] = { 0 };
  for (double degrees = -TURN_RANGE_DEG; degrees <= TURN_RANGE_DEG; degrees += TURN_STEP_DEG)
    for (double web = 0.06; web < 0.32; web += WEB_STEP)
    {
      const double turn = ws_radians (degrees);
      const double p = exp (-0.5 * misfit (&seen, web, turn));
      double power = p;
      weight += p;
      for (guint k = 1; k < 5; k++)
        moments[k] += power *= turn;
    }
  /* Nothing we know of looks like this: as wide as the range allows. */
  if (!(weight > 1e-30))
    return (WsViewTurn){ 0, ws_radians (TURN_RANGE_DEG), ws_radians (TURN_RANGE_DEG) };
  const double mean = moments[1] / weight;
  return (WsViewTurn){ mean, sqrt (MAX (moments[2] / weight - mean * mean, 0)),
                       sqrt (sqrt (moments[4] / weight)) };
}
