#include "tool/wear_land.h"

#include "base/stats.h"

#include <math.h>

/* A land is looked for down to this part of the edge's length. */
#define DEEPEST 0.3

/* The edge's own blur takes the first px of every profile. */
#define EDGE_PX 2

/* Narrower lands are lost in the edge's blur. */
#define LEAST_PX 3

/* A land differs from the flank in light by this factor at least; own trials on rendered blades,
 * whose ground flanks vary by a tenth from streak to streak. */
#define LEAST_LOG 0.16

/* Keeps the logarithm of dark cells from being noise: one code of 8 bits near black. */
#define DARK 0.003

/* Darker columns tell nothing. */
#define DARKEST_FLANK 0.008

/* The edge is judged in so many stretches, since wear may be local. */
#define STRETCHES 8

/* Cells averaged along the edge on either side. */
#define SMOOTH 2

/* Share of the columns that must be seen. */
#define LEAST_SEEN 0.15

typedef struct
{
  const WsBand *band;
  const guint8 *hidden;
  guint depth;
  float *light;  /* log luminance, smoothed along the edge; NAN off the tool */
  double *flank; /* log luminance of the flank in each column; NAN where nothing is told */
} Look;

static double
log_light (const float *cell)
{
  return log (ws_band_luminance (cell) + DARK);
}

static void
smooth_along (Look *look)
{
  const WsBand *band = look->band;
  for (guint d = 0; d < look->depth; d++)
    for (guint s = 0; s < band->length; s++)
    {
      double sum = 0;
      guint n = 0;
      for (guint i = s > SMOOTH ? s - SMOOTH : 0; i <= MIN (s + SMOOTH, band->length - 1); i++)
        if (ws_band_is_tool (ws_band_cell (band, i, d)))
        {
          sum += log_light (ws_band_cell (band, i, d));
          n++;
        }
      look->light[(gsize)d * band->length + s] = n > 0 ? (float)(sum / n) : NAN;
    }
}

static double
light_at (const Look *look, guint s, guint d)
{
  return look->light[(gsize)d * look->band->length + s];
}

static gboolean
is_hidden (const Look *look, guint s)
{
  return look->hidden != NULL && look->hidden[s] != 0;
}

/* Median over the deeper half, where no land reaches. */
static void
find_flank (Look *look)
{
  g_autofree double *values = g_new (double, look->depth);
  for (guint s = 0; s < look->band->length; s++)
  {
    guint n = 0;
    look->flank[s] = NAN;
    if (is_hidden (look, s))
      continue;
    for (guint d = look->depth / 2; d < look->depth; d++)
      if (isfinite (light_at (look, s, d)))
        values[n++] = light_at (look, s, d);
    if (n >= look->depth / 8)
      look->flank[s] = ws_median (values, n);
    if (look->flank[s] < log (DARKEST_FLANK + DARK))
      look->flank[s] = NAN;
  }
}

/* A step from land to flank: where, and by how much the land is lighter. */
typedef struct
{
  guint width;
  double step;
} Step;

/* Median over columns from `from` to `to` of the light above the flank's; FALSE with too few. */
static gboolean
mean_profile (const Look *look, guint from, guint to, double *profile)
{
  g_autofree double *values = g_new (double, to - from);
  for (guint d = 0; d < look->depth; d++)
  {
    guint n = 0;
    for (guint s = from; s < to; s++)
      if (isfinite (look->flank[s]) && isfinite (light_at (look, s, d)))
        values[n++] = light_at (look, s, d) - look->flank[s];
    if (n < 6)
      return FALSE;
    profile[d] = ws_median (values, n);
  }
  return TRUE;
}

static double
mean_of (const double *values, guint from, guint to)
{
  double sum = 0;
  for (guint i = from; i < to; i++)
    sum += values[i];
  return sum / MAX (to - from, 1);
}

/* The split of the profile that explains most: land before it, as much flank after it. */
static Step
find_step (const Look *look, const double *profile)
{
  Step best = { 0, 0 };
  double best_score = 0;
  for (guint w = LEAST_PX; w + 4 < look->depth / 2; w++)
  {
    const guint beyond = MIN (w + MAX (w / 2, 6), look->depth);
    const double inner = mean_of (profile, w > EDGE_PX + 2 ? EDGE_PX : 1, w);
    const double step = inner - mean_of (profile, w + 1, beyond);
    const double near =
      mean_of (profile, w > 6 ? w - 5 : 1, w) - mean_of (profile, w + 1, MIN (w + 6, look->depth));
    /* A slow fall of light over the flank is no step: most of it must come near w. */
    const double score = fabs (step) * sqrt (MIN (w, 20.0));
    if (fabs (step) < LEAST_LOG || fabs (near) < 0.6 * fabs (step) || near * step < 0)
      continue;
    if (fabs (near) * sqrt (MIN (w, 20.0)) <= best_score)
      continue;
    best_score = MIN (score, fabs (near) * sqrt (MIN (w, 20.0)));
    best = (Step){ w, step };
  }
  return best;
}

/* The place near `expected` where the column's own light steps most, by half way. */
static double
column_width (const Look *look, guint s, const Step *expected)
{
  const guint w = expected->width, window = CLAMP (w / 2, 2, 6);
  const guint from = MAX ((guint)LEAST_PX, (guint)(0.35 * w)),
              to = MIN (2 * w + 4, look->depth - window - 1);
  const double sign = expected->step > 0 ? 1 : -1;
  double best = 0;
  guint at = 0;
  for (guint d = from; d < to; d++)
  {
    double inner = 0, outer = 0;
    const guint n = MIN (window, d - 1);
    for (guint k = 1; k <= n; k++)
      inner += light_at (look, s, d - k) / n;
    for (guint k = 0; k < window; k++)
      outer += light_at (look, s, d + k) / window;
    const double step = sign * (inner - outer);
    if (step > best)
    {
      best = step;
      at = d;
    }
  }
  if (best < 0.45 * fabs (expected->step))
    return 0;
  /* Half way, in the light's logarithm, near the greatest step. */
  const guint n = MIN (window, at - 1);
  double inner = 0, outer = 0;
  for (guint k = 1; k <= n; k++)
    inner += light_at (look, s, at - k) / n;
  for (guint k = 0; k < window; k++)
    outer += light_at (look, s, at + k) / window;
  const double half = 0.5 * (inner + outer);
  for (guint d = at > 2 ? at - 2 : 1; d <= at + 1 && d < look->depth; d++)
  {
    const double before = sign * (light_at (look, s, d - 1) - half),
                 after = sign * (light_at (look, s, d) - half);
    if (before >= 0 && after < 0)
      return d - 0.5 + before / (before - after);
  }
  return at;
}

static Step
step_between (const Look *look, guint from, guint to)
{
  g_autofree double *profile = g_new (double, look->depth);
  if (to <= from || !mean_profile (look, from, to, profile))
    return (Step){ 0, 0 };
  return find_step (look, profile);
}

static void
measure_columns (const Look *look, WsWearLand *land)
{
  const guint length = look->band->length;
  const Step whole = step_between (look, 0, length);
  for (guint stretch = 0; stretch < STRETCHES; stretch++)
  {
    const guint from = stretch * length / STRETCHES, to = (stretch + 1) * length / STRETCHES;
    Step step = step_between (look, from, to);
    if (step.width == 0 || (whole.width != 0 && step.step * whole.step < 0))
      step = whole;
    for (guint s = from; s < to; s++)
      if (isfinite (look->flank[s]))
        land->width[s] = step.width == 0 ? 0 : column_width (look, s, &step);
  }
}

/* Running median: single streaks of grinding are not the land's end. */
static void
smooth_widths (double *width, guint n)
{
  const guint reach = 4;
  g_autofree double *copy = g_memdup2 (width, n * sizeof *width);
  for (guint s = 0; s < n; s++)
  {
    double near[9];
    guint found = 0;
    for (guint i = s > reach ? s - reach : 0; i <= MIN (s + reach, n - 1); i++)
      if (isfinite (copy[i]))
        near[found++] = copy[i];
    if (isfinite (copy[s]))
      width[s] = ws_median (near, found);
  }
}

/* How far half way may lie from the land's end, px, and how far the edge from its place. */
#define U_END_PX 0.6
#define U_EDGE_PX 0.4

/* VB max is the greatest of a noisy row: nearly the greatest stands for it. */
#define GREATEST 0.98

static void
summarize (WsWearLand *land, guint length)
{
  g_autofree double *seen = g_new (double, length);
  guint n = 0, with_land = 0;
  double sum = 0;
  for (guint s = 0; s < length; s++)
    if (isfinite (land->width[s]))
    {
      with_land += land->width[s] > 0;
      sum += land->width[s];
      seen[n++] = land->width[s];
    }
  land->seen_share = (double)n / length;
  land->judged = land->seen_share >= LEAST_SEEN;
  land->present = land->judged && with_land >= MAX (8, n / 20);
  if (!land->present)
  {
    land->u_mean = land->u_max = land->least / sqrt (3.0);
    return;
  }
  land->mean = sum / n;
  land->max = ws_quantile (seen, n, GREATEST);
  const double place = hypot (U_END_PX, U_EDGE_PX);
  land->u_mean = hypot (place, 0.02 * land->mean);
  land->u_max = hypot (place, 0.04 * land->max) + 0.3;
}

void
ws_wear_land_find (const WsBand *band, const guint8 *hidden, WsWearLand *land)
{
  *land = (WsWearLand){ .judged = FALSE, .least = LEAST_PX };
  const guint depth = MIN (band->depth, (guint)(2 * DEEPEST * band->length));
  land->width = g_new (double, band->length);
  for (guint s = 0; s < band->length; s++)
    land->width[s] = NAN;
  if (depth < 24)
    return;
  const gsize n = (gsize)band->length * depth;
  g_autofree float *light = g_new (float, n);
  g_autofree double *flank = g_new (double, band->length);
  Look look = { band, hidden, depth, light, flank };
  smooth_along (&look);
  find_flank (&look);
  measure_columns (&look, land);
  smooth_widths (land->width, band->length);
  summarize (land, band->length);
}

void
ws_wear_land_clear (WsWearLand *land)
{
  g_clear_pointer (&land->width, g_free);
}
