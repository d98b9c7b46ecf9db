#include "tool/drill/view_turn.h"

#include "base/geometry.h"

/* Fall of the flank per depth behind the lip near the chisel edge: lip relief of 8 to 15
 * degrees, the same there on a flank ground plane and about twice that on a cone (common
 * practice, no source; the rendered drills lie between 0.15 and 0.44). */
#define FLANK_SLOPE 0.26
#define FLANK_SLOPE_SD 0.07

/* How well lips are turned in by eye before anything is known of the picture. */
#define TURN_SD_DEG 5.0

/* Where the leading edges aren't seen, the gap at the corner tells where the lips end.  Fall of
 * the flank's rim per depth there: chosen among 0.19, 0.165 and 0.145 so that rendered drills
 * seen square on read no turn, not measured on real ones; and how well it and blur let the
 * lip's end be placed. */
#define RIM_SLOPE 0.145
#define LIP_END_SD_DEG 1.0

/* A margin narrower than the lip's end is deep, or a lip's end on the far side of the
 * silhouette, makes the gap tell too little of a great turn: outside these bounds the end may
 * lie farther out than it seems.  All four were set on rendered drills. */
#define LIP_END_LEAST_DEG 6.5
#define LIP_END_MOST_DEG 11.0
#define LIP_END_FAR_SD_DEG 4.0
#define LIP_END_FAR_GROWTH 0.6

/* With the web unknown, thin and thick ones by turns hide this much: set so that 95 in 100
 * rendered drills turned by up to 9 degrees keep their point angle inside U. */
#define HIDDEN_TURN_DEG 1.85

/* A sharp corner blurred over s retreats by this part of s. */
#define CORNER_RETREAT 0.06

#define TURN_RANGE_DEG 24.0
#define TURN_STEP_DEG 0.2

/* Webs tried, in envelope radii. */
#define WEB_FROM 0.06
#define WEB_TO 0.32
#define WEB_STEP 0.004

typedef struct
{
  double drop;      /* apex over the foremost point / R */
  double cot;       /* of the mean half angle */
  double lip_end;   /* angle of the lip's end from the envelope's silhouette, rad */
  double u_lip_end; /* by the leading edges; NAN when only the gap tells */
  WsWeb web;
} Seen;

static double
square (double x)
{
  return x * x;
}

/*
 * Shortest distance / R from the theoretical corner to the outline of a drill whose lip ends at
 * `angle` from the silhouette.  From there the outline runs down the flank's rim on the margin:
 * where the rim is at angle f, it lies R (1 - cos f) inside the envelope and
 * RIM_SLOPE x R (sin angle - sin f) below the produced lip line.
 */
static double
gap_for (double angle, double cot)
{
  double least = HUGE_VAL;
  for (guint i = 0; i <= 24; i++)
  {
    const double f = angle * i / 24;
    const double in = 1 - cos (f);
    const double down = RIM_SLOPE * (sin (angle) - sin (f)) - cot * in;
    least = MIN (least, hypot (in, down));
  }
  return least;
}

/* The inverse, by bisection; 0 for no gap. */
static double
lip_end_angle (double gap, double cot)
{
  double low = 0, high = wsi_radians (40);
  for (guint i = 0; i < 24; i++)
  {
    const double middle = 0.5 * (low + high);
    if (gap_for (middle, cot) < gap)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* Both ends are alike by the body's symmetry, but wear widens a gap: the mean of like gaps,
 * the lesser of unlike ones. */
static double
lesser_gap (const WsDrillPoint *point)
{
  const double a = point->lips[0].corner_gap, b = point->lips[1].corner_gap;
  const double less = MIN (a, b), more = MAX (a, b);
  /* What stands proud of a corner fills its gap. */
  if (point->lips[0].wire.at_corner != point->lips[1].wire.at_corner)
    return point->lips[0].wire.at_corner ? b : a;
  return more < 1.4 * less + 0.3 ? 0.5 * (less + more) : less;
}

/* The lips' ends lie asin (web) + turn from the envelope's silhouette. `edge`: NULL where it isn't
 * seen. */
static Seen
look (const WsDrillPoint *point, const WsWeb *web, const WsLeadingEdge *edge)
{
  const double half = 0.5 * (point->lips[0].half_angle + point->lips[1].half_angle);
  Seen seen = { .drop = (point->apex.y - point->tip.y) / point->radius,
                .cot = 1 / tan (half),
                .web = *web };
  if (edge != NULL)
  {
    seen.lip_end = edge->lip_end;
    seen.u_lip_end = edge->u_lip_end;
    return seen;
  }
  const double gap = lesser_gap (point) - CORNER_RETREAT * point->outline->blur_px;
  seen.lip_end = lip_end_angle (gap / point->radius, seen.cot);
  seen.u_lip_end = NAN;
  return seen;
}

/* Standard deviation of the lip's end for one that would lie at `expected`, rad. */
static double
lip_end_deviation (const Seen *seen, double expected)
{
  if (isfinite (seen->u_lip_end))
    return seen->u_lip_end;
  const double end = wsi_degrees (seen->lip_end);
  double deviation = LIP_END_SD_DEG;
  if (expected < seen->lip_end && end < LIP_END_LEAST_DEG)
    deviation = LIP_END_FAR_SD_DEG;
  else if (expected > seen->lip_end)
    deviation += LIP_END_FAR_GROWTH * MAX (end - LIP_END_MOST_DEG, 0);
  return wsi_radians (deviation);
}

/* What depends on the web alone. */
typedef struct
{
  double drop;   /* over web */
  double unlike; /* square of how far it is off what is known of it */
  double log;    /* twice */
  double angle;  /* asin */
} OfWeb;

#define MAX_WEBS 80

/* Returns how many. */
static guint
list_webs (const Seen *seen, OfWeb webs[MAX_WEBS])
{
  guint n = 0;
  for (double web = WEB_FROM; web < WEB_TO && n < MAX_WEBS; web += WEB_STEP)
    webs[n++] = (OfWeb){ .drop = seen->drop / web,
                         .unlike = square ((web - seen->web.half) / seen->web.u),
                         .log = 2 * log (web),
                         .angle = asin (web) };
  return n;
}

/* Of more than this, minus twice the log of a density, the exponential is none beside any sum that
 * counts. */
#define NOTHING 300.0
#define LEAST_SUM 1e-30

/* So many standard deviations apart, the square alone is above NOTHING, however thin the web (which
 * takes 5.6 off). */
#define MOST_APART 17.6

/*
 * Minus twice the log of the joint density of web, turn and what was seen.  In a view turned
 * by t the lip lines, web apart in depth, meet web (slope - t cot) above the chisel edge.
 */
static inline double
misfit (const Seen *seen, const OfWeb *web, double turn, double lean, double unlikely)
{
  const double slope = web->drop + lean;
  const double sum =
    web->unlike + square ((slope - FLANK_SLOPE) / FLANK_SLOPE_SD) + unlikely + web->log;
  const double expected = web->angle + turn;
  return sum + square ((seen->lip_end - expected) / lip_end_deviation (seen, expected));
}

/* Among the webs, whose angles grow, those beside which `turn` leaves the lip's end where it may
 * have been seen: none of the others is above NOTHING. */
static void
narrow (const Seen *seen, const OfWeb *webs, guint n, double turn, guint *from, guint *to)
{
  *from = 0;
  *to = n;
  if (!isfinite (seen->u_lip_end))
    return;
  const double middle = seen->lip_end - turn, reach = MOST_APART * seen->u_lip_end;
  while (*from < n && webs[*from].angle < middle - reach)
    (*from)++;
  while (*to > *from && webs[*to - 1].angle > middle + reach)
    (*to)--;
}

WsViewTurn
wsi_view_turn_estimate (const WsDrillPoint *point, const WsWeb *web)
{
  WsLeadingEdge edge;
  return wsi_view_turn_by (point, web, wsi_leading_edge_trace (point, &edge) ? &edge : NULL);
}

WsViewTurn
wsi_view_turn_by (const WsDrillPoint *point, const WsWeb *web, const WsLeadingEdge *edge)
{
  const Seen seen = look (point, web, edge);
  OfWeb webs[MAX_WEBS];
  const guint n = list_webs (&seen, webs);
  double weight = 0, moments[5] = { 0 };
  for (double degrees = -TURN_RANGE_DEG; degrees <= TURN_RANGE_DEG; degrees += TURN_STEP_DEG)
  {
    const double turn = wsi_radians (degrees);
    const double lean = sin (turn) * seen.cot, unlikely = square (turn / wsi_radians (TURN_SD_DEG));
    guint from, to;
    narrow (&seen, webs, n, turn, &from, &to);
    for (guint i = from; i < to; i++)
    {
      const double twice = misfit (&seen, &webs[i], turn, lean, unlikely);
      if (twice > NOTHING)
        continue;
      const double p = exp (-0.5 * twice);
      double power = p;
      weight += p;
      for (guint k = 1; k < 5; k++)
        moments[k] += power *= turn;
    }
  }
  /* Nothing we know of looks like this: as wide as the range allows. */
  if (!(weight > LEAST_SUM))
    return (WsViewTurn){ 0, wsi_radians (TURN_RANGE_DEG), wsi_radians (TURN_RANGE_DEG) };
  const double mean = moments[1] / weight;
  const double effective = sqrt (sqrt (moments[4] / weight));
  const double hidden = web->by_card ? 0 : wsi_radians (HIDDEN_TURN_DEG);
  return (WsViewTurn){ mean, sqrt (MAX (moments[2] / weight - mean * mean, 0)),
                       MAX (effective, hidden) };
}
