#include "edge/burr.h"

#include <math.h>

#include "maths/least_squares.h"

/* Where a wire edge ends, parts of its height: part of the length's definition; and where it might
 * as well be taken to end. */
#define ENDS 0.25
#define ENDS_SPREAD 0.13
#define ENDS_LOW 0.03
#define ENDS_HIGH 0.9

/* An end falls between two points, px. */
#define ENDS_PX 0.5

/* Blur lowers teeth: so much of their mean height above what lies within so many blurs. */
#define TEETH_BLURS 3.0
#define TEETH_LIFT 0.5

/* Of the height, what teeth finer than the blur may add: own trials on rendered torn edges. */
#define TORN 0.07

/* Higher for its length is a drop or a grain, and no wire edge, which is long and low.  As high as
 * the second and one arc, RMS off a parabola in parts of the height, it may be either; and so may
 * what is shorter, in blurs.  Own trials on rendered wire edges, drops and fragments. */
#define ROUND 0.2
#define ROUND_ARC 0.09
#define ARC_OFF 0.06
#define LEAST_BLURS 8.0

/* A film of oil is one smooth arc: own trials on rendered films; torn wire edges are off by 0.15
 * and more. */
#define SMOOTH 0.08

/* Things lie apart where the edge's line shows between them, over so many blurs: this many standard
 * deviations above it, and px, at most. */
#define APART_BLURS 2.0
#define APART_SIGMAS 3.0
#define APART_PX 0.03

typedef struct
{
  guint from, to;
} Span;

/* The outermost places that are so high. */
static Span
above (const WsBurrPlace *places, guint n, double height)
{
  Span span = { n, 0 };
  for (guint i = 0; i < n; i++)
  {
    if (places[i].height < height)
      continue;
    span.from = MIN (span.from, i);
    span.to = i;
  }
  return span;
}

static double
length_of (const WsBurrPlace *places, Span span)
{
  return span.to > span.from ? places[span.to].along - places[span.from].along : 0;
}

/* How far the places about the peak lie below it, on the mean. */
static double
fall_about (const WsBurrPlace *places, guint n, guint top, double reach)
{
  double fall = 0;
  guint counted = 0;
  for (guint i = 0; i < n; i++)
    if (fabs (places[i].along - places[top].along) <= reach)
    {
      fall += places[top].height - places[i].height;
      counted++;
    }
  return fall / MAX (counted, 1);
}

/* RMS of the places off the parabola that fits them best, parts of the peak. */
static double
off_arc (const WsBurrPlace *places, Span span, double peak)
{
  WsLeastSquares sums;
  double x[3], squares = 0;
  const double half = 0.5 * length_of (places, span), middle = places[span.from].along + half;
  wsi_least_squares_init (&sums, 3);
  for (guint i = span.from; i <= span.to && half > 0; i++)
  {
    const double t = (places[i].along - middle) / half, row[3] = { 1, t, t * t };
    wsi_least_squares_add (&sums, row, places[i].height, 1);
  }
  if (span.to < span.from + 4 || !wsi_least_squares_solve (&sums, x, NULL))
    return 0;
  for (guint i = span.from; i <= span.to; i++)
  {
    const double t = (places[i].along - middle) / half;
    const double off = places[i].height - x[0] - x[1] * t - x[2] * t * t;
    squares += off * off;
  }
  return sqrt (squares / (span.to - span.from + 1)) / peak;
}

static WsBurrShape
shape_of (const WsBurrPlace *places, Span span, double peak, double blur)
{
  const double length = length_of (places, span);
  if (peak > ROUND * length)
    return WS_BURR_ROUND;
  if (length < LEAST_BLURS * blur)
    return WS_BURR_UNCLEAR;
  return peak > ROUND_ARC * length && off_arc (places, span, peak) < ARC_OFF ? WS_BURR_UNCLEAR
                                                                             : WS_BURR_WIRE;
}

/* What begins at `from`, up to where the line shows after it. */
static Span
thing_from (const WsBurrPlace *places, Span within, guint from, double line, double apart)
{
  Span thing = { from, from };
  for (guint i = from + 1; i <= within.to; i++)
  {
    if (places[i].height > line)
      thing.to = i;
    else if (places[i].along - places[thing.to].along > apart)
      break;
  }
  return thing;
}

static WsBurrShape
shape_of_thing (const WsBurrPlace *places, Span thing, double blur)
{
  const WsBurrPlace *first = &places[thing.from];
  const guint n = thing.to - thing.from + 1;
  double peak = 0;
  for (guint i = 0; i < n; i++)
    peak = MAX (peak, first[i].height);
  return shape_of (first, above (first, n, ENDS * peak), peak, blur);
}

/* Grains in a row are as long and low as a wire edge is, but each of them is round. */
static void
tell_things_apart (const WsBurrPlace *places, Span ends, guint top, double blur, double sigma,
                   WsBurr *burr)
{
  const double line = MAX (APART_SIGMAS * sigma, APART_PX);
  burr->shape = WS_BURR_UNCLEAR;
  for (guint i = ends.from; i <= ends.to; i++)
  {
    if (places[i].height <= line)
      continue;
    const Span thing = thing_from (places, ends, i, line, APART_BLURS * MAX (blur, 0.5));
    const WsBurrShape shape = shape_of_thing (places, thing, blur);
    if (top >= thing.from && top <= thing.to)
      burr->shape = shape;
    else
      burr->is_beside_round = burr->is_beside_round || shape == WS_BURR_ROUND;
    i = thing.to;
  }
}

/* How much farther what ends at `at` may go on: low, but above the line, it reaches a place where
 * the edge falls off, and a tooth that stands there is rounded off with the corner. */
static double
may_go_on (const WsBurrPlace *places, guint n, guint at, gboolean upward, double line)
{
  guint i = at;
  while (places[i].height > line && (upward ? i + 1 < n : i > 0))
    i = upward ? i + 1 : i - 1;
  return places[i].height < -line ? fabs (places[i].along - places[at].along) : 0;
}

/* Whether the edge falls off where the last of it stands, before its line shows. */
static gboolean
falls_off (const WsBurrPlace *places, guint n, guint at, double line, double apart)
{
  double last = places[at].along;
  for (guint i = at; i < n && places[i].along - last <= apart; i++)
  {
    if (places[i].height < -line)
      return TRUE;
    if (places[i].height > line)
      last = places[i].along;
  }
  return FALSE;
}

/* Of a tooth at the very end, where the edge falls off, blur leaves a quarter and more (own trials
 * on torn wire edges that break off at a drill's corner): what it may stand above what was seen. */
#define END_TOOTH 4.0
#define END_RISES 0.8

static double
may_stand_higher (const WsBurrPlace *places, guint n, double blur, double line, double seen)
{
  guint end = n;
  while (end > 0 && places[end - 1].height < line)
    end--;
  if (end == 0 || end == n)
    return 0;
  const double last = places[end - 1].along, reach = TEETH_BLURS * MAX (blur, 0.5);
  guint top = end - 1, i = end;
  for (; i > 0 && last - places[i - 1].along <= reach; i--)
    if (places[i - 1].height > places[top].height)
      top = i - 1;
  double lowest = places[top].height;
  for (i = top; i > 0 && places[top].along - places[i - 1].along <= 2 * reach; i--)
    lowest = MIN (lowest, places[i - 1].height);
  const gboolean is_tooth = lowest < END_RISES * places[top].height;
  return is_tooth ? MAX (END_TOOTH * places[top].height - seen, 0) : 0;
}

WsBurr
wsi_burr_read (const WsBurrPlace *places, guint n, double blur, double sigma, double u_line)
{
  WsBurr burr = { .height = 0 };
  guint top = 0;
  for (guint i = 0; i < n; i++)
    if (places[i].height > places[top].height)
      top = i;
  if (n == 0 || !(places[top].height > 0))
    return burr;
  const double seen = places[top].height;
  const double lift = TEETH_LIFT * fall_about (places, n, top, TEETH_BLURS * MAX (blur, 0.5));
  burr.height = seen + lift;
  burr.u_height = hypot (hypot (sigma, lift), TORN * seen);
  const Span ends = above (places, n, ENDS * seen);
  const double spread = MAX (ENDS_SPREAD, u_line / seen);
  const double low = MAX (ENDS - spread, ENDS_LOW), high = MIN (ENDS + spread, ENDS_HIGH);
  const double most = length_of (places, above (places, n, low * seen)),
               least = length_of (places, above (places, n, high * seen));
  burr.length = length_of (places, ends);
  const double line = MAX (APART_SIGMAS * sigma, APART_PX);
  burr.higher = may_stand_higher (places, n, blur, line, seen);
  const double more = hypot (may_go_on (places, n, ends.from, FALSE, line),
                             may_go_on (places, n, ends.to, TRUE, line)) /
                      sqrt (3.0);
  burr.u_length = hypot (hypot (0.5 * (most - least), more), hypot (ENDS_PX, blur));
  burr.from = places[ends.from].along;
  burr.to = places[ends.to].along;
  burr.falls_off = falls_off (places, n, ends.to, line, TEETH_BLURS * MAX (blur, 1.0));
  tell_things_apart (places, ends, top, blur, sigma, &burr);
  const double off = off_arc (places, ends, seen), noise = sigma / seen;
  burr.is_smooth = off * off < SMOOTH * SMOOTH + noise * noise;
  return burr;
}
