#include "edge/profile.h"

#include "base/stats.h"

#include <math.h>

#define MAX_ROUNDS 12

/* Far tails of the step carry no information; |z| beyond this counts as 0 or 1. */
#define TAIL 6.0

typedef struct
{
  double cdf, pdf;
} Step;

static Step
step_at (double z)
{
  if (z > TAIL)
    return (Step){ 1, 0 };
  if (z < -TAIL)
    return (Step){ 0, 0 };
  return (Step){ ws_normal_cdf (z), ws_normal_pdf (z) };
}

/* Normal equations of one round: unknowns place, low, step and, last, blur. */
static double
accumulate (const float *samples, guint n, const WsProfile *p, guint unknowns, double *A, double *b)
{
  double squares = 0;
  for (guint i = 0; i < n; i++)
  {
    const double z = (i - p->place) / p->blur;
    const Step s = step_at (z);
    const double slope = p->step * s.pdf / p->blur;
    const double J[4] = { -slope, 1, s.cdf, -slope * z };
    const double r = (double)samples[i] - p->low - p->step * s.cdf;
    for (guint j = 0; j < unknowns; j++)
    {
      for (guint k = 0; k <= j; k++)
        A[j * unknowns + k] += J[j] * J[k];
      b[j] += J[j] * r;
    }
    squares += r * r;
  }
  return squares;
}

gboolean
ws_profile_fit (const float *samples, guint n, gboolean fit_blur, WsProfile *start)
{
  const guint unknowns = fit_blur ? 4 : 3;
  WsProfile p = *start;
  for (guint round = 0; round < MAX_ROUNDS; round++)
  {
    double A[16] = { 0 }, b[4] = { 0 };
    const double squares = accumulate (samples, n, &p, unknowns, A, b);
    if (!ws_solve_spd (A, b, unknowns, FALSE))
      return FALSE;
    const double move = CLAMP (b[0], -p.blur, p.blur);
    p.place += move;
    p.low += b[1];
    p.step += b[2];
    if (fit_blur)
      p.blur = CLAMP (p.blur + b[3], 0.6 * p.blur, 1.6 * p.blur);
    p.rms = sqrt (squares / n);
    if (!(p.place > 0 && p.place < n - 1) || p.blur < 0.1 || p.blur > n)
      return FALSE;
    if (fabs (move) < 2e-4 * p.blur && (!fit_blur || fabs (b[3]) < 1e-3 * p.blur))
    {
      *start = p;
      return TRUE;
    }
  }
  return FALSE;
}
