#include "maths/running.h"

#include <math.h>
#include <string.h>

/* Values within reach, in order. */
typedef struct
{
  double values[2 * WS_RUNNING_MOST + 1];
  guint n;
} Window;

static void
put_in (Window *window, double value)
{
  guint at = window->n;
  if (!isfinite (value))
    return;
  for (; at > 0 && window->values[at - 1] > value; at--)
    window->values[at] = window->values[at - 1];
  window->values[at] = value;
  window->n++;
}

static void
take_out (Window *window, double value)
{
  guint at = 0;
  if (!isfinite (value))
    return;
  while (at + 1 < window->n && window->values[at] < value)
    at++;
  window->n--;
  memmove (window->values + at, window->values + at + 1, (window->n - at) * sizeof value);
}

/* As wsi_median() has it. */
static double
middle (const Window *window)
{
  const double *half = window->values + (window->n - 1) / 2;
  return window->n % 2 == 1 ? half[0] : half[0] + 0.5 * (half[1] - half[0]);
}

void
wsi_running_medians (const double *values, guint n, guint half, guint least, double *medians)
{
  Window window = { .n = 0 };
  g_return_if_fail (half >= 1 && half <= WS_RUNNING_MOST && n > 2 * half);
  for (guint k = 0; k <= 2 * half; k++)
    put_in (&window, values[(k + n - half) % n]);
  for (guint i = 0; i < n; i++)
  {
    medians[i] = window.n >= MAX (least, 1) ? middle (&window) : (double)NAN;
    take_out (&window, values[(i + n - half) % n]);
    put_in (&window, values[(i + half + 1) % n]);
  }
}
