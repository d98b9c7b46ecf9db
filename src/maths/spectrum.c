/*
 * While the number of values is even, those at even and at odd places are transformed apart
 * (Cooley & Tukey, Math. Comp. 19, 1965); what is left, by Goertzel's recurrence.
 */
#include "maths/spectrum.h"

#include <math.h>

/* Bins whose recurrences run beside each other: each step of one waits for the step before it. */
#define TOGETHER 8

/* So many bins from `first` on, of values that lie `stride` apart. */
static void
recur (const double *values, guint n, guint stride, guint first, WsComplex found[TOGETHER])
{
  double twice[TOGETHER], last[TOGETHER] = { 0 }, before[TOGETHER] = { 0 };
  guint i = 0;
  for (guint b = 0; b < TOGETHER; b++)
    twice[b] = 2 * cos (2 * G_PI * (first + b) / n);
  /* Two steps at a time, so that none has to be moved from one place to the other. */
  for (; i + 1 < n; i += 2)
  {
    const double here = values[(gsize)i * stride], next = values[(gsize)(i + 1) * stride];
    for (guint b = 0; b < TOGETHER; b++)
    {
      before[b] = here + twice[b] * last[b] - before[b];
      last[b] = next + twice[b] * before[b] - last[b];
    }
  }
  for (guint b = 0; i < n && b < TOGETHER; b++)
  {
    const double now = values[(gsize)i * stride] + twice[b] * last[b] - before[b];
    before[b] = last[b];
    last[b] = now;
  }
  for (guint b = 0; b < TOGETHER; b++)
    found[b] = (WsComplex){ 0.5 * twice[b] * last[b] - before[b],
                            sin (2 * G_PI * (first + b) / n) * last[b] };
}

/* Bin `k` of a half of `n` values, of which 0 .. n / 2 are known. */
static WsComplex
bin_of (const WsComplex *half, guint n, guint k)
{
  return k <= n / 2 ? half[k] : (WsComplex){ half[n - k].re, -half[n - k].im };
}

/* `turns`: exp (-2 pi j k / n) for k = 0 .. n / 2 of all values, of which every `stride`th is one
 * here. */
static void
transform (const double *values, guint n, guint stride, const WsComplex *turns, WsComplex *bins)
{
  if (n % 2 != 0)
  {
    WsComplex found[TOGETHER];
    for (guint first = 0; first <= n / 2; first += TOGETHER)
    {
      recur (values, n, stride, first, found);
      for (guint b = 0; b < TOGETHER && first + b <= n / 2; b++)
        bins[first + b] = found[b];
    }
    return;
  }
  const guint m = n / 2;
  g_autofree WsComplex *even = g_new (WsComplex, m / 2 + 1);
  g_autofree WsComplex *odd = g_new (WsComplex, m / 2 + 1);
  transform (values, m, 2 * stride, turns, even);
  transform (values + stride, m, 2 * stride, turns, odd);
  for (guint k = 0; k <= m; k++)
  {
    const WsComplex a = bin_of (even, m, k % m), b = bin_of (odd, m, k % m);
    const WsComplex turn = turns[(gsize)k * stride];
    bins[k] =
      (WsComplex){ a.re + turn.re * b.re - turn.im * b.im, a.im + turn.re * b.im + turn.im * b.re };
  }
}

void
wsi_spectrum (const double *values, guint n, WsComplex *bins)
{
  g_autofree WsComplex *turns = g_new (WsComplex, n / 2 + 1);
  for (guint k = 0; k <= n / 2; k++)
    turns[k] = (WsComplex){ cos (2 * G_PI * k / n), -sin (2 * G_PI * k / n) };
  transform (values, n, 1, turns, bins);
}
