/*
 * Control charts of individual values and of their moving ranges.
 *
 * Limits are the mean and 3 standard deviations to each side, the deviation taken from the mean
 * moving range.  Ranges of two values that follow a normal distribution have the mean
 * d2 = 2 / sqrt (pi) = 1.128 and the standard deviation d3 = sqrt (2 - 4 / pi) = 0.853, in its
 * standard deviations.  So values have limits at 3 / d2 mean ranges from the mean, and ranges at
 * 1 + 3 d3 / d2 of them; tables round both to 2.66 and 3.267 (E2 and D4 in NIST/SEMATECH e-Handbook
 * of Statistical Methods, 6.3.2.2, and ISO 7870-2:2013, recalled from memory; the factors derived).
 */
#ifndef WS_MATHS_CONTROL_H
#define WS_MATHS_CONTROL_H

#include <glib.h>

G_BEGIN_DECLS

/* 3 / d2 = 1.5 sqrt (pi) */
#define WS_CONTROL_INDIVIDUALS 2.6586807763582737

/* 1 + 3 d3 / d2 = 1 + 3 sqrt (pi / 2 - 1) */
#define WS_CONTROL_RANGES 3.2665319192886013

/* As many values in a row that rise or fall, or lie on one side of the centre, are a signal: seven
 * as in ISO 7870-2:2013, recalled from memory.  Chance alone does it about once in 64 times for
 * a side, once in 2520 for rising or falling (2 / 7!). */
#define WS_CONTROL_RUN_LENGTH 7

/* Fewer values make no limits. */
#define WS_CONTROL_LEAST 3

/* Below this many values, limits are a first guess (common practice asks for 20 to 25). */
#define WS_CONTROL_ENOUGH 20

typedef enum
{
  WS_CONTROL_BEYOND = 1 << 0, /* outside the limits */
  WS_CONTROL_RISING = 1 << 1, /* the last of so many that rise */
  WS_CONTROL_FALLING = 1 << 2,
  WS_CONTROL_ABOVE = 1 << 3, /* the last of so many above the centre */
  WS_CONTROL_BELOW = 1 << 4
} WsControlSignal;

typedef struct
{
  guint n;             /* values that limits rest on */
  gboolean has_limits; /* n >= WS_CONTROL_LEAST */
  double centre;       /* NAN without a value */
  double mean_range;   /* of successive values; NAN with less than two */
  double lower, upper; /* of values; NAN without limits */
  double range_upper;  /* of ranges; NAN without limits */
} WsControl;

/* `values` in the order of time; those not `used` (a known cause was at work; NULL: all are) tell
 * nothing of limits. */
WsControl wsi_control_limits (const double *values, const gboolean *used, gsize n);

/* WsControlSignal flags that the value at `i` gives together with those before it. */
guint wsi_control_signals (const WsControl *control, const double *values, gsize i);

G_END_DECLS

#endif
