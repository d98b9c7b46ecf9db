#include "tool/drill/roll/phase.h"

#include "base/geometry.h"
#include "maths/robust.h"
#include "maths/solve.h"
#include "maths/stats.h"

/* Leads that are tried, in diameters: helices of 8 to 52 degrees. */
#define LEAST_LEAD 2.4
#define MOST_LEAD 22.0
#define LEAD_STEP 1.025

/* Coarse profile, and every so many-th height. */
#define COARSE 72
#define STRIDE 2

/* Share of a frame's heights that must be known from others to place it. */
#define LEAST_SHARED 0.4

/* A lead of twice the true one fits as well, and others that never come round; the shortest that
 * fits nearly as well as the best is the one. */
#define NEARLY 1.35

#define ROUNDS 24

/* At first a sample counts although it is off by far, in radii: frames must not settle where they
 * happen to be. */
#define WIDE 0.02
#define NARROWER 0.7

/* Of a phase, and of the lead as a part of it, in one round. */
#define MOST_CHANGE 0.03

static double
wrapped (double phase)
{
  return phase - floor (phase);
}

/* ---- Coarse ------------------------------------------------------------------------ */

typedef struct
{
  double sum[COARSE];
  guint n[COARSE];
} Coarse;

typedef struct
{
  const WsRoll *roll;
  double per_px; /* periods a px of height */
  Coarse coarse;
  double *phase; /* of each frame */
} Trial;

static guint
bin_at (const Trial *trial, guint k, double phase)
{
  return (guint)(wrapped (wsi_roll_height (trial->roll, k) * trial->per_px + phase) * COARSE) %
         COARSE;
}

static void
add_frame (Trial *trial, guint i, int sign)
{
  const WsRollFrame *frame = wsi_roll_frame (trial->roll, i);
  for (guint k = 0; k < WS_ROLL_HEIGHTS; k += STRIDE)
  {
    if (isnan (frame->half[k]))
      continue;
    const guint b = bin_at (trial, k, trial->phase[i]);
    trial->coarse.sum[b] += sign * frame->half[k];
    trial->coarse.n[b] += (guint)sign;
  }
}

/* Mean |half - profile| of a frame at a phase; HUGE_VAL when too little is known of it. */
static double
misfit_at (const Trial *trial, const WsRollFrame *frame, double phase)
{
  double sum = 0;
  guint n = 0, all = 0;
  for (guint k = 0; k < WS_ROLL_HEIGHTS; k += STRIDE)
  {
    if (isnan (frame->half[k]))
      continue;
    all++;
    const guint b = bin_at (trial, k, phase);
    if (trial->coarse.n[b] == 0)
      continue;
    sum += fabs (frame->half[k] - trial->coarse.sum[b] / trial->coarse.n[b]);
    n++;
  }
  return n > 0 && n >= LEAST_SHARED * all ? sum / n : HUGE_VAL;
}

static double
place_frame (Trial *trial, guint i)
{
  const WsRollFrame *frame = wsi_roll_frame (trial->roll, i);
  double least = HUGE_VAL;
  for (guint s = 0; s < COARSE; s++)
  {
    const double phase = (double)s / COARSE, misfit = misfit_at (trial, frame, phase);
    if (misfit < least)
    {
      least = misfit;
      trial->phase[i] = phase;
    }
  }
  return least;
}

/* Mean misfit of all frames by a lead; HUGE_VAL where one has no place. */
static double
try_lead (Trial *trial, double lead)
{
  const guint n = trial->roll->frames->len;
  trial->per_px = 2 / lead;
  trial->coarse = (Coarse){ .n = { 0 } };
  trial->phase[0] = 0;
  add_frame (trial, 0, 1);
  for (guint i = 1; i < n; i++)
  {
    if (!(place_frame (trial, i) < HUGE_VAL))
      return HUGE_VAL;
    add_frame (trial, i, 1);
  }
  double sum = 0;
  for (guint i = 0; i < n; i++)
  {
    add_frame (trial, i, -1);
    sum += place_frame (trial, i);
    add_frame (trial, i, 1);
  }
  return sum / n;
}

static gboolean
find_lead (WsRoll *roll, double *misfit)
{
  g_autofree double *phase = g_new0 (double, roll->frames->len);
  Trial trial = { .roll = roll, .phase = phase };
  double of_lead[128], diameter = 2 * roll->radius, least = HUGE_VAL;
  guint n = 0;
  for (double lead = LEAST_LEAD; lead < MOST_LEAD && n < G_N_ELEMENTS (of_lead); lead *= LEAD_STEP)
  {
    of_lead[n] = try_lead (&trial, lead * diameter);
    least = MIN (least, of_lead[n]);
    n++;
  }
  guint best = 0;
  while (best < n && !(of_lead[best] <= NEARLY * least))
    best++;
  if (best == n || !(least < HUGE_VAL))
    return FALSE;
  while (best + 1 < n && of_lead[best + 1] < of_lead[best])
    best++;
  roll->lead = LEAST_LEAD * pow (LEAD_STEP, best) * diameter;
  *misfit = try_lead (&trial, roll->lead);
  for (guint i = 0; i < roll->frames->len; i++)
    wsi_roll_frame (roll, i)->phase = phase[i];
  return TRUE;
}

/* ---- Fine -------------------------------------------------------------------------- */

static double
phase_at (const WsRoll *roll, const WsRollFrame *frame, double z)
{
  return wrapped (z * 2 / roll->lead + frame->phase);
}

static double
profile_value (const WsRollProfile *profile, double phase, double *slope)
{
  const double at = wrapped (phase) * WS_ROLL_BINS;
  const guint b = (guint)at % WS_ROLL_BINS, c = (b + 1) % WS_ROLL_BINS;
  const double part = at - floor (at);
  if (slope != NULL)
    *slope = (profile->half[c] - profile->half[b]) * WS_ROLL_BINS;
  return profile->seen[b] && profile->seen[c]
           ? (1 - part) * profile->half[b] + part * profile->half[c]
           : (double)NAN;
}

double
wsi_roll_profile_at (const WsRoll *roll, const WsRollFrame *frame, double z, double *slope)
{
  const double half = profile_value (&roll->profile, z * 2 / roll->lead + frame->phase, slope);
  if (slope != NULL)
    *slope *= 2 / roll->lead;
  return half;
}

/* A sample's weight against the profile so far; all count at first. */
static double
weight_of (const WsRoll *roll, double off)
{
  return roll->sigma > 0 ? wsi_tukey_weight (off / (WS_TUKEY_REACH * roll->sigma)) : 1;
}

static void
make_profile (WsRoll *roll, gboolean weighted)
{
  g_autofree double *sum = g_new0 (double, WS_ROLL_BINS);
  g_autofree double *weights = g_new0 (double, WS_ROLL_BINS);
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    {
      if (isnan (frame->half[k]))
        continue;
      const double phase = phase_at (roll, frame, wsi_roll_height (roll, k));
      const double at = phase * WS_ROLL_BINS, part = at - floor (at);
      const guint b = (guint)at % WS_ROLL_BINS, c = (b + 1) % WS_ROLL_BINS;
      const double was = weighted ? profile_value (&roll->profile, phase, NULL) : (double)NAN;
      const double w = isnan (was) ? 1 : weight_of (roll, frame->half[k] - was);
      /* The profile is taken as straight between its bins, so that a sample tells of both. */
      const double change = isnan (was) ? frame->half[k] : frame->half[k] - was;
      sum[b] += w * (1 - part) * (change + (isnan (was) ? 0 : roll->profile.half[b]));
      sum[c] += w * part * (change + (isnan (was) ? 0 : roll->profile.half[c]));
      weights[b] += w * (1 - part);
      weights[c] += w * part;
    }
  }
  for (guint b = 0; b < WS_ROLL_BINS; b++)
  {
    roll->profile.seen[b] = weights[b] > 0.2;
    roll->profile.half[b] = weights[b] > 0.2 ? sum[b] / weights[b] : (double)NAN;
  }
}

/* Half of a body is equally wide and agrees with any lead; the scale goes by what four fifths of
 * all samples keep to, which is so many standard deviations, or it would leave out what tells. */
#define MOST 0.8
#define SIGMAS_OF_MOST 1.2816

static double
fill_misfits (WsRoll *roll)
{
  g_autoptr (GArray) all = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < roll->frames->len; i++)
  {
    WsRollFrame *frame = wsi_roll_frame (roll, i);
    double own[WS_ROLL_HEIGHTS];
    guint n = 0;
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    {
      const double off =
        fabs (frame->half[k] - wsi_roll_profile_at (roll, frame, wsi_roll_height (roll, k), NULL));
      if (!isnan (off))
        own[n++] = off;
    }
    g_array_append_vals (all, own, n);
    frame->misfit = n > 0 ? wsi_median (own, n) : HUGE_VAL;
  }
  double *off = (double *)(void *)all->data;
  const double of_most = all->len > 0 ? wsi_quantile (off, all->len, MOST) / SIGMAS_OF_MOST : 0;
  return MAX (wsi_absolute_sigma (off, all->len), of_most);
}

/* Equations of all phases but the first, and of the lead as the last unknown, the profile's own
 * bins eliminated: what moves together is told at once. */
typedef struct
{
  guint n;
  double *A, *b;
  double *in_bin; /* of one bin: each unknown's slopes */
} Equations;

typedef struct
{
  double slope, off, weight, z;
  guint frame, bin;
} Sample;

static gint
by_bin (gconstpointer a, gconstpointer b)
{
  return (gint)((const Sample *)a)->bin - (gint)((const Sample *)b)->bin;
}

/* Of the profile from bin to bin, radii: where it is flatter its slope is noise, and tells no
 * phase. */
#define FLAT_SLOPE 0.0001

static GArray *
samples_of (const WsRoll *roll)
{
  GArray *samples = g_array_new (FALSE, FALSE, sizeof (Sample));
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    {
      double slope;
      const double z = wsi_roll_height (roll, k), phase = phase_at (roll, frame, z);
      const double off = frame->half[k] - profile_value (&roll->profile, phase, &slope);
      if (isnan (off) || isnan (slope))
        continue;
      if (fabs (slope) < FLAT_SLOPE * roll->radius * WS_ROLL_BINS)
        slope = 0;
      const Sample sample = {
        slope, off, weight_of (roll, off), z, i, (guint)(phase * WS_ROLL_BINS)
      };
      g_array_append_val (samples, sample);
    }
  }
  g_array_sort (samples, by_bin);
  return samples;
}

/* Adds samples `from` to `to`, all of one bin; the bin's height is eliminated. */
static void
add_bin (Equations *e, const GArray *samples, guint from, guint to)
{
  const guint last = e->n - 1;
  double weights = 0, off = 0;
  for (guint j = 0; j < e->n; j++)
    e->in_bin[j] = 0;
  for (guint i = from; i < to; i++)
  {
    const Sample *s = &g_array_index (samples, Sample, i);
    const double w = s->weight, slope = s->slope, lead = slope * s->z;
    weights += w;
    off += w * s->off;
    e->in_bin[last] += w * lead;
    e->A[last * e->n + last] += w * lead * lead;
    e->b[last] += w * lead * s->off;
    if (s->frame == 0)
      continue;
    const guint j = s->frame - 1;
    e->in_bin[j] += w * slope;
    e->A[j * e->n + j] += w * slope * slope;
    e->A[last * e->n + j] += w * slope * lead;
    e->b[j] += w * slope * s->off;
  }
  if (!(weights > 0))
    return;
  for (guint j = 0; j < e->n; j++)
  {
    if (!(fabs (e->in_bin[j]) > 0))
      continue;
    for (guint k = 0; k <= j; k++)
      e->A[j * e->n + k] -= e->in_bin[j] * e->in_bin[k] / weights;
    e->b[j] -= e->in_bin[j] * off / weights;
  }
}

#define DAMPING 1e-6

/* One step of Gauss and Newton for all phases and the lead; FALSE when they aren't determined. */
static gboolean
step (WsRoll *roll)
{
  const guint n = roll->frames->len, last = n - 1;
  g_autofree double *A = g_new0 (double, (gsize)n *n);
  g_autofree double *b = g_new0 (double, n);
  g_autofree double *in_bin = g_new0 (double, n);
  g_autoptr (GArray) samples = samples_of (roll);
  Equations e = { n, A, b, in_bin };
  for (guint from = 0, to = 0; from < samples->len; from = to)
  {
    const guint bin = g_array_index (samples, Sample, from).bin;
    while (to < samples->len && g_array_index (samples, Sample, to).bin == bin)
      to++;
    add_bin (&e, samples, from, to);
  }
  for (guint j = 0; j < n; j++)
  {
    A[j * n + j] *= 1 + DAMPING;
    for (guint k = j + 1; k < n; k++)
      A[j * n + k] = A[k * n + j];
  }
  if (!wsi_invert_spd (A, n))
    return FALSE;
  double per_px = 0;
  for (guint k = 0; k < n; k++)
  {
    per_px += A[last * n + k] * b[k];
    double by = 0;
    for (guint j = 0; j < n; j++)
      by += A[k * n + j] * b[j];
    if (k < last)
      wsi_roll_frame (roll, k + 1)->phase += CLAMP (by, -MOST_CHANGE, MOST_CHANGE);
  }
  roll->u_lead = roll->sigma * sqrt (MAX (A[last * n + last], 0)) * 0.5 * roll->lead * roll->lead;
  roll->lead =
    2 / (2 / roll->lead + CLAMP (per_px, -MOST_CHANGE / roll->lead, MOST_CHANGE / roll->lead));
  return TRUE;
}

static void
refine (WsRoll *roll)
{
  roll->sigma = 0;
  for (guint round = 0; round < ROUNDS; round++)
  {
    make_profile (roll, round > 0);
    roll->sigma =
      MAX (fill_misfits (roll), MAX (0.01, WIDE * roll->radius * pow (NARROWER, round)));
    if (!step (roll))
      break;
  }
  make_profile (roll, TRUE);
  roll->sigma = MAX (fill_misfits (roll), 0.01);
}

/* ---- Turns ------------------------------------------------------------------------- */

/* Beyond this from one picture to the next, in periods of half a turn, nobody knows which way. */
#define MOST_STEP 0.46

/* Backwards by less is a hand that trembles. */
#define TREMBLE 0.05

static gboolean
unwrap (WsRoll *roll, WsRefusal *refusal)
{
  double forth = 0, back = 0, most = 0;
  for (guint i = 1; i < roll->frames->len; i++)
  {
    WsRollFrame *frame = wsi_roll_frame (roll, i);
    const double before = wsi_roll_frame (roll, i - 1)->phase;
    double by = wrapped (frame->phase - before);
    by = by > 0.5 ? by - 1 : by;
    frame->phase = before + by;
    forth = MAX (forth, by);
    back = MAX (back, -by);
    most = MAX (most, fabs (by));
  }
  for (guint i = 0; i < roll->frames->len; i++)
    wsi_roll_frame (roll, i)->turn = G_PI * wsi_roll_frame (roll, i)->phase;
  if (most > MOST_STEP)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "turned by %.0f degrees between two pictures: take more, or give them "
                            "in their order",
                            180 * most);
  if (MIN (forth, back) > TREMBLE)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the drill turns back and forth: give the pictures in their order");
  return TRUE;
}

/* ---- The whole ---------------------------------------------------------------------- */

/* The highest stretch of the profile: where a margin is seen. */
static double
envelope_of (const WsRollProfile *profile)
{
  double sorted[WS_ROLL_BINS];
  guint n = 0;
  for (guint b = 0; b < WS_ROLL_BINS; b++)
    if (profile->seen[b])
      sorted[n++] = profile->half[b];
  return wsi_quantile (sorted, n, 0.985);
}

/* Straight flutes: the body is as wide everywhere, but differs from picture to picture. */
static gboolean
has_flutes (const WsRoll *roll, WsRefusal *refusal)
{
  double least = HUGE_VAL, most = 0, along = 0;
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    double half[WS_ROLL_HEIGHTS];
    guint n = 0;
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
      if (!isnan (frame->half[k]))
        half[n++] = frame->half[k];
    if (n == 0)
      continue;
    const double low = wsi_quantile (half, n, 0.05), high = wsi_quantile (half, n, 0.95);
    least = MIN (least, low);
    most = MAX (most, high);
    along = MAX (along, high - low);
  }
  if (along > 0.03 * most)
    return TRUE;
  return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                          most - least > 0.03 * most
                            ? "the flutes are straight: their phase can't be seen"
                            : "no flutes are seen on the body");
}

/* Robust deviation of half widths from the profile, in radii, that the same drill never shows. */
#define MOST_SIGMA 0.004

/* A picture of which half differs by more is of something else. */
#define MOST_MISFIT 0.012

static gboolean
is_one_drill (const WsRoll *roll, WsRefusal *refusal)
{
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    if (frame->misfit > MAX (MOST_MISFIT * roll->radius, 6 * roll->sigma))
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                              "picture %u shows another body than the others", frame->picture + 1);
  }
  if (roll->sigma > MAX (MOST_SIGMA * roll->radius, 0.3))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the bodies are no one drill's with two flutes, rolled");
  return TRUE;
}

gboolean
wsi_roll_find_phases (WsRoll *roll, WsRefusal *refusal)
{
  double misfit;
  roll->radius = 0;
  for (guint i = 0; i < roll->frames->len; i++)
    roll->radius = MAX (roll->radius, wsi_roll_frame (roll, i)->half_width);
  if (!has_flutes (roll, refusal))
    return FALSE;
  if (!find_lead (roll, &misfit))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the bodies don't fit one another: take smaller steps");
  refine (roll);
  roll->radius = envelope_of (&roll->profile);
  return is_one_drill (roll, refusal) && unwrap (roll, refusal);
}
