#include "edge/profile.h"

#include "maths/least_squares.h"
#include "maths/stats.h"

#include <math.h>

#define MAX_ROUNDS 12

/* From where the fit without weights is, hardly more than one step. */
#define WEIGHED_ROUNDS 3

typedef struct
{
  double cdf, pdf;
} Step;

void
wsi_step_table_fill (WsStepTable *table)
{
  for (guint i = 0; i < G_N_ELEMENTS (table->cdf); i++)
  {
    const double z = (double)i / WS_STEP_PER_UNIT - WS_STEP_REACH;
    table->cdf[i] = wsi_normal_cdf (z);
    table->pdf[i] = wsi_normal_pdf (z);
  }
}

/* Far tails of the step carry no information: 0 or 1. */
static Step
step_at (const WsStepTable *table, double z)
{
  if (z >= WS_STEP_REACH)
    return (Step){ 1, 0 };
  if (z <= -WS_STEP_REACH)
    return (Step){ 0, 0 };
  const double h = 1.0 / WS_STEP_PER_UNIT, place = (z + WS_STEP_REACH) * WS_STEP_PER_UNIT;
  const guint i = (guint)place;
  const double t = place - i;
  const double run = table->cdf[i + 1] - table->cdf[i];
  const double a = table->pdf[i] * h, b = table->pdf[i + 1] * h;
  /* Hermite's cubic in nested form, and its derivative. */
  const double c2 = 3 * run - 2 * a - b, c3 = a + b - 2 * run;
  return (Step){ table->cdf[i] + t * (a + t * (c2 + t * c3)),
                 (a + t * (2 * c2 + 3 * t * c3)) * WS_STEP_PER_UNIT };
}

/* Sums of products of a scan line's derivatives by place (a), step (c) and blur (d), that by low
 * being 1, and of what is left (r). */
typedef struct
{
  double aa, a, ca, c, cc, da, d, dc, dd;
  double ra, r, rc, rd, rr;
} Sums;

/* Inlined with a constant `fit_blur`: most of a measurement's time is spent here. */
static inline void
add_all (const WsStepTable *table, const float *samples, guint n, const WsProfile *p,
         gboolean fit_blur, Sums *sums)
{
  Sums s = { 0 };
  for (guint i = 0; i < n; i++)
  {
    const double z = (i - p->place) / p->blur;
    const Step step = step_at (table, z);
    const double slope = p->step * step.pdf / p->blur;
    const double a = -slope, c = step.cdf, d = -slope * z;
    const double r = (double)samples[i] - p->low - p->step * c;
    s.aa += a * a;
    s.a += a;
    s.ca += c * a;
    s.c += c;
    s.cc += c * c;
    s.ra += a * r;
    s.r += r;
    s.rc += c * r;
    s.rr += r * r;
    if (!fit_blur)
      continue;
    s.da += d * a;
    s.d += d;
    s.dc += d * c;
    s.dd += d * d;
    s.rd += d * r;
  }
  *sums = s;
}

/* Normal equations of one round, their matrix's lower triangle: unknowns place, low, step and,
 * last, blur.  Returns the sum of squares. */
static double
accumulate (const WsStepTable *table, const float *samples, guint n, const WsProfile *p,
            gboolean fit_blur, WsLeastSquares *equations)
{
  Sums s;
  if (fit_blur)
    add_all (table, samples, n, p, TRUE, &s);
  else
    add_all (table, samples, n, p, FALSE, &s);
  const guint k = equations->n = fit_blur ? 4 : 3;
  double *A = equations->A, *b = equations->b;
  A[0] = s.aa;
  A[k] = s.a;
  A[k + 1] = n;
  A[2 * k] = s.ca;
  A[2 * k + 1] = s.c;
  A[2 * k + 2] = s.cc;
  b[0] = s.ra;
  b[1] = s.r;
  b[2] = s.rc;
  if (fit_blur)
  {
    A[12] = s.da;
    A[13] = s.d;
    A[14] = s.dc;
    A[15] = s.dd;
    b[3] = s.rd;
  }
  return s.rr;
}

gboolean
wsi_profile_fit (const WsStepTable *table, const float *samples, guint n, gboolean fit_blur,
                 WsProfile *start)
{
  WsProfile p = *start;
  for (guint round = 0; round < MAX_ROUNDS; round++)
  {
    WsLeastSquares sums;
    double b[4];
    const double squares = accumulate (table, samples, n, &p, fit_blur, &sums);
    if (!wsi_least_squares_solve (&sums, b, NULL))
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
    if (fabs (move) < 1e-3 * p.blur && (!fit_blur || fabs (b[3]) < 1e-2 * p.blur))
    {
      *start = p;
      return TRUE;
    }
  }
  return FALSE;
}

gboolean
wsi_profile_weigh (const WsStepTable *table, const float *samples, guint n, double share,
                   WsProfile *profile)
{
  WsProfile p = *profile;
  for (guint round = 0; round < WEIGHED_ROUNDS; round++)
  {
    WsLeastSquares sums;
    double b[3];
    wsi_least_squares_init (&sums, 3);
    for (guint i = 0; i < n; i++)
    {
      const Step step = step_at (table, (i - p.place) / p.blur);
      const double row[3] = { -p.step * step.pdf / p.blur, 1, step.cdf };
      wsi_least_squares_add (&sums, row, (double)samples[i] - p.low - p.step * step.cdf,
                             1 / (share + (1 - share) * step.cdf));
    }
    if (!wsi_least_squares_solve (&sums, b, NULL) || !(fabs (b[0]) < p.blur))
      return FALSE;
    p.place += b[0];
    p.low += b[1];
    p.step += b[2];
  }
  *profile = p;
  return TRUE;
}
