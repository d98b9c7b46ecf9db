#include "maths/control.h"

#include <math.h>

/* A mean of equal values is off by rounding; twelve digits are far beyond any measurement. */
#define ROUNDING 1e-12

WsControl
wsi_control_limits (const double *values, const gboolean *used, gsize n)
{
  WsControl control = {
    .centre = NAN, .mean_range = NAN, .lower = NAN, .upper = NAN, .range_upper = NAN
  };
  double sum = 0, ranges = 0, before = 0;
  for (gsize i = 0; i < n; i++)
  {
    if (used != NULL && !used[i])
      continue;
    if (control.n > 0)
      ranges += fabs (values[i] - before);
    before = values[i];
    sum += values[i];
    control.n++;
  }
  if (control.n > 0)
    control.centre = sum / control.n;
  if (control.n > 1)
    control.mean_range = ranges / (control.n - 1);
  control.has_limits = control.n >= WS_CONTROL_LEAST;
  if (!control.has_limits)
    return control;
  control.lower = control.centre - WS_CONTROL_INDIVIDUALS * control.mean_range;
  control.upper = control.centre + WS_CONTROL_INDIVIDUALS * control.mean_range;
  control.range_upper = WS_CONTROL_RANGES * control.mean_range;
  return control;
}

/* How many values up to `i` keep to one direction; +1 up, -1 down. */
static guint
length_of_trend (const double *values, gsize i, int direction)
{
  guint n = 1;
  for (; i > 0 && direction * (values[i] - values[i - 1]) > 0; i--)
    n++;
  return n;
}

static guint
length_of_side (const double *values, gsize i, double centre, int side)
{
  guint n = 0;
  for (gsize k = i + 1; k > 0 && side * (values[k - 1] - centre) > 0; k--)
    n++;
  return n;
}

guint
wsi_control_signals (const WsControl *control, const double *values, gsize i)
{
  guint signals = 0;
  if (length_of_trend (values, i, 1) >= WS_CONTROL_RUN_LENGTH)
    signals |= WS_CONTROL_RISING;
  if (length_of_trend (values, i, -1) >= WS_CONTROL_RUN_LENGTH)
    signals |= WS_CONTROL_FALLING;
  if (!control->has_limits)
    return signals;
  const double rounding = ROUNDING * fabs (values[i]);
  if (values[i] > control->upper + rounding || values[i] < control->lower - rounding)
    signals |= WS_CONTROL_BEYOND;
  if (length_of_side (values, i, control->centre + rounding, 1) >= WS_CONTROL_RUN_LENGTH)
    signals |= WS_CONTROL_ABOVE;
  if (length_of_side (values, i, control->centre - rounding, -1) >= WS_CONTROL_RUN_LENGTH)
    signals |= WS_CONTROL_BELOW;
  return signals;
}
