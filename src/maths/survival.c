#include "maths/survival.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of a normal distribution, for 95 %. */
#define K_NORMAL 1.959963984540054

static int
by_length (const void *a, const void *b)
{
  const WsLife *p = a, *q = b;
  return p->length < q->length ? -1 : p->length > q->length;
}

/* Free with g_free(). */
static WsLife *
sorted (const WsLife *lives, gsize n)
{
  WsLife *copy = g_memdup2 (lives, n * sizeof *lives);
  if (n > 0)
    qsort (copy, n, sizeof *copy, by_length);
  return copy;
}

static guint
ended_at (const WsLife *lives, gsize n, double length)
{
  guint ended = 0;
  for (gsize i = 0; i < n; i++)
    ended += lives[i].length == length && lives[i].ended ? 1 : 0;
  return ended;
}

/* The first length at which S is a half or less; half-way to the next where it is just a half, as
 * is usual. */
static double
first_half (const GArray *steps, double (*share) (const WsSurvivalStep *))
{
  for (guint i = 0; i < steps->len; i++)
  {
    const WsSurvivalStep *step = &g_array_index (steps, WsSurvivalStep, i);
    const double left = share (step);
    if (fabs (left - 0.5) < 1e-9 && i + 1 < steps->len)
      return 0.5 * (step->length + g_array_index (steps, WsSurvivalStep, i + 1).length);
    if (left <= 0.5)
      return step->length;
  }
  return NAN;
}

static double
share_of (const WsSurvivalStep *step)
{
  return step->share;
}

static double
low_of (const WsSurvivalStep *step)
{
  return isnan (step->low) ? 0 : step->low;
}

/* Once none is left nothing bounds it from above. */
static double
high_of (const WsSurvivalStep *step)
{
  return isnan (step->high) ? 1 : step->high;
}

static void
bound (WsSurvivalStep *step, double greenwood)
{
  const double log_s = sqrt (greenwood);
  step->s = step->share > 0 ? step->share * log_s : NAN;
  step->low = step->share > 0 ? step->share * exp (-K_NORMAL * log_s) : NAN;
  step->high = step->share > 0 ? MIN (step->share * exp (K_NORMAL * log_s), 1) : NAN;
}

void
wsi_survival_find (const WsLife *lives, gsize n, WsSurvival *survival)
{
  g_autofree WsLife *ordered = sorted (lives, n);
  double share = 1, greenwood = 0;
  *survival = (WsSurvival){ .n = (guint)n,
                            .steps = g_array_new (FALSE, FALSE, sizeof (WsSurvivalStep)),
                            .longest = n > 0 ? ordered[n - 1].length : 0 };
  for (gsize i = 0, next; i < n; i = next)
  {
    const guint at_risk = (guint)(n - i);
    const guint ended = ended_at (ordered + i, n - i, ordered[i].length);
    for (next = i; next < n && ordered[next].length == ordered[i].length;)
      next++;
    survival->n_ended += ended;
    if (ended == 0)
      continue;
    share *= 1 - (double)ended / at_risk;
    greenwood += ended < at_risk ? (double)ended / at_risk / (at_risk - ended) : 0;
    WsSurvivalStep step = { ordered[i].length, at_risk, ended, share, NAN, NAN, NAN };
    bound (&step, greenwood);
    g_array_append_val (survival->steps, step);
  }
  survival->median = first_half (survival->steps, share_of);
  survival->low = first_half (survival->steps, low_of);
  survival->high = first_half (survival->steps, high_of);
}

void
wsi_survival_clear (WsSurvival *survival)
{
  g_clear_pointer (&survival->steps, g_array_unref);
}

static guint
at_risk_at (const WsLife *lives, gsize n, double length)
{
  guint left = 0;
  for (gsize i = 0; i < n; i++)
    left += lives[i].length >= length ? 1 : 0;
  return left;
}

double
wsi_survival_compare (const WsLife *group, gsize n, const WsLife *others, gsize n_others,
                      double *expected, double *chi_square)
{
  double sum = 0, variance = 0, observed = 0;
  g_autofree WsLife *all = g_new (WsLife, n + n_others + 1);
  if (n > 0)
    memcpy (all, group, n * sizeof *all);
  if (n_others > 0)
    memcpy (all + n, others, n_others * sizeof *all);
  qsort (all, n + n_others, sizeof *all, by_length);
  for (gsize i = 0; i < n + n_others; i++)
  {
    if (i > 0 && all[i].length == all[i - 1].length)
      continue;
    const double ended = ended_at (all, n + n_others, all[i].length);
    const double own = at_risk_at (group, n, all[i].length);
    const double left = own + at_risk_at (others, n_others, all[i].length);
    observed += ended_at (group, n, all[i].length);
    sum += ended * own / left;
    variance +=
      left > 1 ? ended * (own / left) * (1 - own / left) * (left - ended) / (left - 1) : 0;
  }
  const double chi = variance > 0 ? (observed - sum) * (observed - sum) / variance : NAN;
  if (expected != NULL)
    *expected = sum;
  if (chi_square != NULL)
    *chi_square = chi;
  return erfc (sqrt (chi / 2));
}
