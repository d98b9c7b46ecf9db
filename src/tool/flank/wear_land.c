#include "tool/flank/wear_land.h"

#include "maths/stats.h"

#include <math.h>

/* A land is looked for down to this part of the edge's length. */
#define DEEPEST 0.3

/* The edge's own blur takes the first px of every profile. */
#define EDGE_PX 2

/* And more of them where it is wide: the ground's light is gone then to 1 %. */
#define BLURS 2.3

/* Narrower lands are lost in the edge's blur. */
#define LEAST_PX 3

/* Of those that are as wide at least the middle cell looked at is land, but for half a blur. */
#define LEAST_BEYOND 1.0
#define LEAST_BLURS 0.5

/* A land differs from the flank in light by this factor at least; own trials on rendered blades,
 * whose ground flanks vary by a tenth from streak to streak. */
#define LEAST_LOG 0.16

/* Keeps the logarithm of dark cells from being noise: one code of 8 bits near black. */
#define DARK 0.003

/* Darker columns tell nothing. */
#define DARKEST_FLANK 0.008

/* Brighter ones are cut off, and a land on them would be too. */
#define BRIGHTEST_FLANK 0.93

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
  guint edge;     /* px that the edge's own blur takes */
  float *light;   /* log luminance, smoothed along the edge; NAN off the tool */
  double typical; /* median of `flank` */
  double *flank;  /* log luminance of the flank in each column; NAN where nothing is told */
} Look;

static double
log_light (const float *cell)
{
  return log (wsi_band_luminance (cell) + DARK);
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
        if (wsi_band_is_tool (wsi_band_cell (band, i, d)))
        {
          sum += log_light (wsi_band_cell (band, i, d));
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

static double
typical_flank (const Look *look)
{
  g_autofree double *values = g_new (double, look->band->length);
  guint n = 0;
  for (guint s = 0; s < look->band->length; s++)
    if (isfinite (look->flank[s]))
      values[n++] = look->flank[s];
  return n > 0 ? wsi_median (values, n) : 0;
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
      look->flank[s] = wsi_median (values, n);
    if (look->flank[s] < log (DARKEST_FLANK + DARK) || look->flank[s] > log (BRIGHTEST_FLANK))
      look->flank[s] = NAN;
  }
  look->typical = typical_flank (look);
}

/* A step from land to flank: where, and by how much the land is lighter. */
typedef struct
{
  guint width; /* 0: none */
  double step;
  double level;      /* share of the step at which the land ends */
  gboolean doubtful; /* none for sure, but something is there */
  gboolean is_sure;  /* higher than any streak */
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
    profile[d] = wsi_median (values, n);
  }
  return TRUE;
}

/* Streaks of grinding that run along the edge may pass for a land.  A step this many of the
 * streaks' standard deviations high is none of them, if it hardly falls off from the edge on (by
 * less than this part of it: rendered lands 0 to 0.05); one less high must be bright, and flat from
 * the edge to its end, as polished land is and streaks aren't: rendered lands spread by 0 to 0.03
 * of the flank's streaks, rendered streaks at the edge by 0.09 to 0.3. */
#define SURE_STREAKS 6.0
#define SURE_SPREAD 0.1
#define FLAT_STREAKS 1.5
#define FLAT_LOG 0.4
#define FLAT_SPREAD 0.06
#define FLAT_FLOOR 0.004

/* Where streaks vary so much (in light's logarithm) the land's neighbour may be a light one: its
 * end is looked for higher up. */
#define STREAKY 0.05
#define STREAKY_LEVEL 0.7

/* Less than this many is no sign of a land at all. */
#define DOUBT_STREAKS 2.5

/* From four fifths of a step to a quarter, px, and as a part of the land's width: what falls off
 * more slowly is light, not a land. */
#define MAX_FALL_PX 8.0
#define MAX_FALL_SHARE 0.8

/* First place from `from` on that is lower than `level`, and the next too; `n` without one. */
static guint
first_below (const double *height, guint from, guint n, double level)
{
  for (guint d = from; d + 1 < n; d++)
    if (height[d] < level && height[d + 1] < level)
      return d;
  return n;
}

/* Robust spread of a land's own light, its blurred ends left out. */
static double
land_spread (const double *profile, guint edge, guint w)
{
  g_autofree double *inner = g_memdup2 (profile + edge, MAX (w, 1) * sizeof *profile);
  const guint n = w > edge + 3 ? w - edge - 2 : 1;
  return wsi_mad_sigma (inner, n);
}

static gboolean
is_land (double size, double streaks, double spread)
{
  if (size > SURE_STREAKS * streaks && spread < SURE_SPREAD * size)
    return TRUE;
  return size > FLAT_STREAKS * streaks && size > FLAT_LOG &&
         spread <= FLAT_SPREAD * streaks + FLAT_FLOOR;
}

/* A land begins at the edge, stands out from all streaks of the flank and ends at once. */
static Step
find_step (const Look *look, double *profile)
{
  const guint n = look->depth, far = n / 3;
  g_autofree double *flank = g_memdup2 (profile + far, (n - far) * sizeof *profile);
  const double middle = wsi_median (flank, n - far), streaks = wsi_mad_sigma (flank, n - far);
  double near[3] = { profile[look->edge], profile[look->edge + 1], profile[look->edge + 2] };
  const double step = wsi_median (near, 3) - middle, size = fabs (step);
  if (size < LEAST_LOG)
    return (Step){ .width = 0 };
  for (guint d = (0 + 1); d < n; d++)
    profile[d] = (profile[d] - middle) / step;
  const double level = streaks > STREAKY ? STREAKY_LEVEL : 0.5;
  const guint w = first_below (profile, look->edge, n, level),
              high = first_below (profile, look->edge, n, 0.85),
              low = first_below (profile, w, n, CLAMP (1.2 * streaks / size, 0.25, 0.6));
  const gboolean sharp = low - high <= MAX (MAX_FALL_PX, MAX_FALL_SHARE * w);
  const gboolean bounded = w >= LEAST_PX && w < far && sharp;
  if (bounded && is_land (size, streaks, size * land_spread (profile, look->edge, w)))
    return (Step){ w, step, level, FALSE, size > SURE_STREAKS * streaks };
  /* Cut-off light hides where a land would end. */
  const gboolean cut_off = step > 0 && middle + size > log (BRIGHTEST_FLANK) - look->typical;
  return (Step){ .doubtful = cut_off || size > DOUBT_STREAKS * streaks };
}

/* Share of the step that a column of land shows at least. */
#define COLUMN_STEP 0.5

/* Where a column's light is half way from its own land's to its own flank's. */
static double
column_width (const Look *look, guint s, const Step *expected)
{
  double near[8];
  guint n = 0;
  for (guint d = look->edge; d < MAX (look->edge + 2, MIN (expected->width / 2, 8)); d++)
    near[n++] = light_at (look, s, d);
  const double step = wsi_median (near, n) - look->flank[s];
  if (!(step * expected->step > 0 && fabs (step) > COLUMN_STEP * fabs (expected->step)))
    return 0;
  double before = 1;
  for (guint d = look->edge; d < MIN (2 * expected->width + 3, look->depth); d++)
  {
    const double here = (light_at (look, s, d) - look->flank[s]) / step;
    if (here < expected->level)
      return d + 0.5 - (expected->level - here) / MAX (before - here, 1e-9);
    before = here;
  }
  return NAN;
}

static Step
step_between (const Look *look, guint from, guint to)
{
  g_autofree double *profile = g_new (double, look->depth);
  if (to <= from || !mean_profile (look, from, to, profile))
    return (Step){ .width = 0 };
  return find_step (look, profile);
}

/* Among streaks, columns that show no land beside others that do are not seen, rather than sound.
 */
static void
forget_gaps (WsWearLand *land, guint from, guint to)
{
  for (guint s = from; s < to; s++)
    if (land->width[s] <= 0)
      land->width[s] = NAN;
}

/* Of the stretch itself, of one half a stretch before or behind, or of the whole edge: a land may
 * begin in its middle.  Streaks have three chances then, so only a sure land counts beside the
 * stretch itself, and less is a doubt. */
static Step
step_for (const Look *look, guint stretch, const Step *whole)
{
  const guint length = look->band->length, half = length / (2 * STRETCHES);
  const guint from = stretch * length / STRETCHES, to = (stretch + 1) * length / STRETCHES;
  const Step own = step_between (look, from, to);
  Step step = own;
  gboolean doubtful = own.doubtful;
  for (guint k = 0; k < 2 && step.width == 0; k++)
  {
    const guint first = k == 0 ? from - MIN (from, half) : MIN (from + half, length);
    const Step other = step_between (look, first, MIN (first + to - from, length));
    if (other.is_sure)
      step = other;
    else
      doubtful |= other.width != 0;
  }
  if (step.width == 0 || (whole->width != 0 && step.step * whole->step < 0))
    step = *whole;
  step.doubtful |= doubtful && step.width == 0;
  return step;
}

static void
measure_columns (const Look *look, WsWearLand *land)
{
  const guint length = look->band->length;
  const Step whole = step_between (look, 0, length);
  for (guint stretch = 0; stretch < STRETCHES; stretch++)
  {
    const guint from = stretch * length / STRETCHES, to = (stretch + 1) * length / STRETCHES;
    const Step step = step_for (look, stretch, &whole);
    for (guint s = from; s < to; s++)
      if (isfinite (look->flank[s]) && !step.doubtful)
        land->width[s] = step.width == 0 ? 0 : column_width (look, s, &step);
    land->streaky |= step.width != 0 && step.level > 0.5;
    land->cut_off |= step.width != 0 && step.step + look->typical > log (WS_BAND_CLIPPED);
  }
  if (land->streaky)
    forget_gaps (land, 0, length);
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
      width[s] = wsi_median (near, found);
  }
}

/* How far half way may lie from the land's end, px, and how far the edge from its place. */
#define U_END_PX 0.6
#define U_EDGE_PX 0.4

/* Light that is cut off in the land spills over both its borders, px together: about the blur's
 * standard deviation each for a land three times too bright.  Own trials on rendered pictures. */
#define BLOOM_PX 1.5
#define U_BLOOM_PX 0.5

/* VB max is the greatest of a noisy row: nearly the greatest stands for it. */
#define GREATEST 0.95

/* A wide blur mixes land, flank and ground, which shifts both borders: by so much of what it is
 * wider than a sharp picture's, and more where both are mixed in one place.  Own trials. */
#define BLUR_SHIFT 0.3
#define SHARP_PX 0.9
#define NARROW_SHIFT 1.8
#define NARROW_BLURS 5.0

static double
blur_moves (const WsWearLand *land)
{
  const gboolean narrow = land->mean < NARROW_BLURS * land->blur_px;
  return BLUR_SHIFT * MAX (land->blur_px - SHARP_PX, 0) * (narrow ? NARROW_SHIFT : 1);
}

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
  /* Streaks beside the land make some columns far too wide. */
  land->mean = land->streaky ? wsi_quantile (seen, n, 0.5) : sum / n;
  land->max = wsi_quantile (seen, n, GREATEST);
  if (land->cut_off)
  {
    land->mean = MAX (land->mean - BLOOM_PX, 0);
    land->max = MAX (land->max - BLOOM_PX, 0);
  }
  const double place =
    hypot (hypot (U_END_PX, U_EDGE_PX), land->cut_off ? U_BLOOM_PX : 0) + blur_moves (land);
  land->u_mean = hypot (place, 0.02 * land->mean);
  land->u_max = hypot (place, 0.04 * land->max) + 0.3;
}

void
wsi_wear_land_find (const WsBand *band, const guint8 *hidden, double blur_px, WsWearLand *land)
{
  const guint edge = (guint)MAX (EDGE_PX, ceil (BLURS * blur_px));
  *land = (WsWearLand){
    .judged = FALSE,
    .blur_px = blur_px,
    .edge_px = edge,
    .least = MAX (LEAST_PX, edge + LEAST_BEYOND + LEAST_BLURS * blur_px),
  };
  const guint depth = MIN (band->depth, (guint)(2 * DEEPEST * band->length));
  land->width = g_new (double, band->length);
  for (guint s = 0; s < band->length; s++)
    land->width[s] = NAN;
  if (depth < MAX (24, 6 * edge))
    return;
  const gsize n = (gsize)band->length * depth;
  g_autofree float *light = g_new (float, n);
  g_autofree double *flank = g_new (double, band->length);
  Look look = { band, hidden, depth, edge, light, 0, flank };
  smooth_along (&look);
  find_flank (&look);
  measure_columns (&look, land);
  smooth_widths (land->width, band->length);
  summarize (land, band->length);
}

/* ---- A border deeper down ----------------------------------------------------------- */

/* Light on either side of a border is taken from so many px to so many from it. */
#define BESIDE_FROM 3
#define BESIDE_TO 14

/* A border's step, and how many times greater than what the flank's own light does from place to
 * place. */
#define BORDER_LOG 0.05
#define BORDER_TIMES 6.0

typedef struct
{
  const WsBand *band;
  const guint8 *hidden;
  double *middle;    /* of each column's light; NAN where too little tells */
  guint first, last; /* columns */
} Window;

/* In each column less its own median, since streaks across the edge are no border; NAN where too
 * few columns tell. */
static double
row_light (const Window *window, double *values, guint d)
{
  guint n = 0;
  for (guint s = window->first; s < window->last; s++)
  {
    const float *cell = wsi_band_cell (window->band, s, d);
    if ((window->hidden == NULL || window->hidden[s] == 0) && isfinite (window->middle[s]) &&
        wsi_band_is_tool (cell))
      values[n++] = log_light (cell) - window->middle[s];
  }
  const double wanted = MAX (8, LEAST_SEEN * (window->last - window->first));
  return n >= wanted ? wsi_median (values, n) : (double)NAN;
}

static double *
column_middles (const WsBand *band)
{
  double *middle = g_new (double, band->length);
  g_autofree double *values = g_new (double, band->depth);
  for (guint s = 0; s < band->length; s++)
  {
    guint n = 0;
    for (guint d = 0; d < band->depth; d++)
      if (wsi_band_is_tool (wsi_band_cell (band, s, d)))
        values[n++] = log_light (wsi_band_cell (band, s, d));
    middle[s] = n >= band->depth / 4 ? wsi_median (values, n) : (double)NAN;
  }
  return middle;
}

/* Near the edge fewer cells lie before a border; `from` is the first that counts. */
static double
step_at (const double *profile, guint from, guint d)
{
  double before = 0, after = 0;
  guint n = 0;
  for (guint k = BESIDE_FROM; k <= BESIDE_TO; k++)
  {
    after += profile[d + k] / (BESIDE_TO - BESIDE_FROM + 1);
    if (d >= from + k)
    {
      before += profile[d - k];
      n++;
    }
  }
  return fabs (after - before / n);
}

/* Deepest place of the steepest border in the window, or NAN. */
static double
border_in (const Window *window, guint from, double least)
{
  const guint depth = window->band->depth;
  g_autofree double *values = g_new (double, MAX (window->band->length, depth));
  g_autofree double *profile = g_new (double, depth);
  for (guint d = 0; d < depth; d++)
    profile[d] = row_light (window, values, d);
  double greatest = 0, where = NAN;
  guint n = 0;
  for (guint d = from + BESIDE_FROM + 1; d + BESIDE_TO < depth; d++)
  {
    const double step = step_at (profile, from, d);
    if (!isfinite (step))
      continue;
    if (step > greatest)
    {
      greatest = step;
      where = d;
    }
    values[n++] = step;
  }
  return n > 0 && greatest > MAX (least, BORDER_TIMES * wsi_median (values, n)) ? where
                                                                                : (double)NAN;
}

/* Few columns vary more than all. */
#define LOCAL_BORDER_LOG 0.12

/* The end of the land that was found may lie so far beyond the border that is, px. */
#define SAME_BORDER_PX 12

/* Does a land end there or before, by a third of the window's columns?  Beyond its end is none. */
static gboolean
is_told (const Window *window, const double *width, double where)
{
  guint n = 0, seen = 0;
  for (guint s = window->first; width != NULL && s < window->last; s++)
    if (isfinite (width[s]))
    {
      seen++;
      n += width[s] > 0 && width[s] <= where + SAME_BORDER_PX ? 1 : 0;
    }
  return n > 0 && 3 * n >= seen;
}

gboolean
wsi_wear_land_has_border (const WsBand *band, const guint8 *hidden, const double *width, guint from)
{
  g_autofree double *middle = column_middles (band);
  Window window = { band, hidden, middle, 0, band->length };
  double where = border_in (&window, from, BORDER_LOG);
  gboolean found = isfinite (where) && !is_told (&window, width, where);
  for (guint k = 0; k + 1 < 2 * STRETCHES && !found; k++)
  {
    window.first = k * band->length / (2 * STRETCHES);
    window.last = MIN (window.first + band->length / STRETCHES, band->length);
    where = border_in (&window, from, LOCAL_BORDER_LOG);
    found = isfinite (where) && !is_told (&window, width, where);
  }
  return found;
}

void
wsi_wear_land_clear (WsWearLand *land)
{
  g_clear_pointer (&land->width, g_free);
}
