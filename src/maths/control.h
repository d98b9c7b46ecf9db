/*
 * Control charts of individual values.
 *
 * Limits are the mean and 3 standard deviations to each side, the deviation taken from the mean
 * moving range: range / d2, with d2 = 2 / sqrt (pi) for ranges of two values that follow a normal
 * distribution.  3 / d2 = 2.659, the tables' 2.66 (ISO 7870-2:2013, charts of individuals;
 * recalled from memory, the factor derived).
 */
#ifndef WS_MATHS_CONTROL_H
#define WS_MATHS_CONTROL_H

#include <glib.h>

G_BEGIN_DECLS

/* As many values in a row that rise or fall, or lie on one side of the centre, are a signal: seven
 * as in ISO 7870-2:2013, recalled from memory.  Chance alone does it about once in 64 times for
 * a side, once in 2520 for rising or falling (2 / 7!). */
#define WS_CONTROL_RUN_LENGTH 7

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
  gboolean has_limits; /* n >= 3; the rest counts only then */
  double centre, lower, upper;
  double mean_range; /* of successive values */
} WsControl;

/* `values` in the order of time; those not `used` (a known cause was at work; NULL: all are) tell
 * nothing of limits. */
WsControl ws_control_limits (const double *values, const gboolean *used, gsize n);

/* WsControlSignal flags that the value at `i` gives together with those before it. */
guint ws_control_signals (const WsControl *control, const double *values, gsize i);

G_END_DECLS

#endif
