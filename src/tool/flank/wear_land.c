#include "tool/flank/wear_land.h"

#include "maths/stats.h"
#include "tool/flank/land_profile.h"
#include "tool/flank/land_widths.h"

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

/* Darker columns tell nothing. */
#define DARKEST_FLANK 0.008

/* Brighter ones are cut off, and a land on them would be too. */
#define BRIGHTEST_FLANK 0.93

/* The edge is judged in so many stretches, since wear may be local. */
#define STRETCHES 8

/* Cells averaged along the edge on either side. */
#define SMOOTH 2

/* Share of the columns that must be seen; and where all of the flank is, of those that nothing
 * hides, since a land may be greatest in the others. */
#define LEAST_SEEN 0.15
#define LEAST_CLEAR 0.8

/* The tool's ends are known to a cell of the reduced picture: so many times what the edge's blur
 * takes may be mixed with the ground. */
#define END_EDGES 3

typedef struct
{
  const WsBand *band;
  const guint8 *hidden;
  gboolean whole; /* all of the flank is known to be seen */
  gboolean paled; /* colour of heat would not be told */
  guint depth;
  guint edge;     /* px that the edge's own blur takes */
  double blur;    /* px, standard deviation */
  float *light;   /* log luminance, smoothed along the edge; NAN off the tool */
  double typical; /* median of `flank` */
  double *flank;  /* log luminance of the flank in each column; NAN where nothing is told */
  double *nearby; /* its median over the columns near each */
  double rough;   /* what a flank's cells differ by from it, standard deviation */
  guint n_off;    /* columns that have no flank below them */
} Look;

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
          sum += wsi_land_log_light (wsi_band_cell (band, i, d));
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

/* Light falls off along an edge, but hardly within so much of its length. */
#define NEARBY_SHARE 0.15

static void
find_nearby (Look *look)
{
  const guint length = look->band->length, reach = (guint)(NEARBY_SHARE * length) + 1;
  g_autofree double *values = g_new (double, length);
  for (guint s = 0; s < length; s++)
  {
    guint n = 0;
    for (guint i = s > reach ? s - reach : 0; i <= MIN (s + reach, length - 1); i++)
      if (isfinite (look->flank[i]))
        values[n++] = look->flank[i];
    look->nearby[s] = n > 0 ? wsi_median (values, n) : (double)NAN;
  }
}

/* Cells looked at of each column. */
#define ROUGH_CELLS 16

static void
find_roughness (Look *look)
{
  const guint from = look->depth / 2;
  g_autofree double *values = g_new (double, (gsize)ROUGH_CELLS * look->band->length);
  gsize n = 0;
  for (guint s = 0; s < look->band->length; s++)
    for (guint i = 0; i < ROUGH_CELLS; i++)
    {
      const guint d = from + i * (look->depth - from) / ROUGH_CELLS;
      const double off = light_at (look, s, d) - look->flank[s];
      if (isfinite (off))
        values[n++] = off;
    }
  look->rough = n > 0 ? wsi_mad_sigma (values, n) : 0;
}

/* Median over the deeper half, where lands hardly reach. */
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
    else
      look->n_off++;
    if (look->flank[s] < log (DARKEST_FLANK + WS_LAND_DARK) ||
        look->flank[s] > log (BRIGHTEST_FLANK))
      look->flank[s] = NAN;
  }
  look->typical = typical_flank (look);
  find_nearby (look);
  find_roughness (look);
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

/* Where not all of the flank is seen less than this many is no sign of a land at all. */
#define DOUBT_STREAKS 2.5

/* Where all of it is, what falls by less than this part of a step, wherever it falls most, is
 * shading and no sign of a land at all. */
#define LEAST_STEEP 0.4

/* From four fifths of a step to a quarter, px, and as a part of the land's width: what falls off
 * more slowly is light, not a land. */
#define MAX_FALL_PX 8.0
#define MAX_FALL_SHARE 0.8

static gboolean
is_land (double size, double streaks, double spread)
{
  if (size > SURE_STREAKS * streaks && spread < SURE_SPREAD * size)
    return TRUE;
  return size > FLAT_STREAKS * streaks && size > FLAT_LOG &&
         spread <= FLAT_SPREAD * streaks + FLAT_FLOOR;
}

/* Nothing is ruled out where the flank's light changes by more than this from one place to the
 * next, a standard deviation of its logarithm: half of the least land. */
#define MOST_UNEVEN 0.08

/* A land begins at the edge, stands out from all streaks of the flank and ends at once. */
static Step
find_step (const Look *look, double *profile)
{
  const guint n = look->depth, far = n / 3;
  g_autofree double *flank = g_memdup2 (profile + far, (n - far) * sizeof *profile);
  const double middle = wsi_median (flank, n - far), streaks = wsi_mad_sigma (flank, n - far);
  double near[3] = { profile[look->edge], profile[look->edge + 1], profile[look->edge + 2] };
  const double step = wsi_median (near, 3) - middle, size = fabs (step);
  const gboolean uneven = look->whole && wsi_land_unevenness (profile, n) > MOST_UNEVEN;
  if (size < LEAST_LOG)
    return (Step){ .doubtful = uneven };
  for (guint d = 0; d < n; d++)
    profile[d] = (profile[d] - middle) / step;
  const double level = streaks > STREAKY ? STREAKY_LEVEL : 0.5;
  const guint w = wsi_land_first_below (profile, look->edge, n, level),
              high = wsi_land_first_below (profile, look->edge, n, 0.85),
              low = wsi_land_first_below (profile, w, n, CLAMP (1.2 * streaks / size, 0.25, 0.6));
  const gboolean sharp = low - high <= MAX (MAX_FALL_PX, MAX_FALL_SHARE * w);
  const gboolean bounded = w >= LEAST_PX && w < far && sharp;
  if (bounded && is_land (size, streaks, size * wsi_land_spread (profile, look->edge, w)))
    return (Step){ w, step, level, FALSE, size > SURE_STREAKS * streaks };
  /* Cut-off light hides where a land would end. */
  const gboolean cut_off = step > 0 && middle + size > log (BRIGHTEST_FLANK) - look->typical;
  const gboolean stands_out = look->whole ? wsi_land_steepest (profile, look->edge, n) > LEAST_STEEP
                                          : size > DOUBT_STREAKS * streaks;
  return (Step){ .doubtful = uneven || cut_off || stands_out };
}

/* Share of the step that a column of land shows at least. */
#define COLUMN_STEP 0.5

/* A column that is land as deep as its flank is looked for shows no step of its own, but differs
 * from its neighbours' flank. */
static gboolean
is_all_land (const Look *look, guint s, double step)
{
  return (look->flank[s] - look->nearby[s]) * step > COLUMN_STEP * step * step;
}

static double
mean_light (const Look *look, guint s, gint from, gint to)
{
  double sum = 0;
  from = CLAMP (from, (gint)look->edge, (gint)look->depth - 1);
  to = CLAMP (to, from, (gint)look->depth - 1);
  for (gint d = from; d <= to; d++)
    sum += light_at (look, s, (guint)d);
  return sum / (to - from + 1);
}

/* Px beyond a land's end, and its blur, where the flank beside it is read, and so many of them. */
#define BESIDE_PX 4

static gboolean
is_step_of (double step, const Step *expected)
{
  return step * expected->step > 0 && fabs (step) > COLUMN_STEP * fabs (expected->step);
}

/* A land ends at once: this part of its step lies within some px and the blur of its end.  Light
 * that falls off, and streaks aslant, have less there. */
#define LEAST_JUMP 0.5
#define JUMP_GAP_PX 1.0
#define JUMP_PX 3

/* What of `step` lies at the end of a column's land. */
static double
jump_at (const Look *look, guint s, double width, double step)
{
  const double gap = JUMP_GAP_PX + look->blur;
  const gint before = (gint)floor (width - gap), after = (gint)ceil (width + gap);
  return (mean_light (look, s, before - JUMP_PX, before) -
          mean_light (look, s, after, after + JUMP_PX)) /
         step;
}

/* Where a column's light is at that level between its flank's and its land's; NAN where it never
 * is. */
static double
end_of (const Look *look, guint s, double flank, double step, double level)
{
  double before = 1;
  for (guint d = look->edge; d < look->depth; d++)
  {
    const double here = (light_at (look, s, d) - flank) / step;
    if (here < level)
      return d + 0.5 - (level - here) / MAX (before - here, 1e-9);
    before = here;
  }
  return NAN;
}

/* Bands of light that run aslant down the flank may be as light beside the land as half of its
 * step: a column so much wider than the land is expected ends at once, too. */
#define WIDE_COLUMN 1.3

static gboolean
ends_in_a_band (const Look *look, guint s, const Step *expected, double width, double step)
{
  return look->whole && width > WIDE_COLUMN * expected->width + BESIDE_PX &&
         !(jump_at (look, s, width, step) >= LEAST_JUMP);
}

/* Where a column's light is half way from its own land's to its own flank's; NAN where it never is.
 * Bands of light that run aslant down the flank may hide a land that the flank beside it shows. */
static double
column_width (const Look *look, guint s, const Step *expected)
{
  double near[8];
  guint n = 0;
  for (guint d = look->edge; d < MAX (look->edge + 2, MIN (expected->width / 2, 8)); d++)
    near[n++] = light_at (look, s, d);
  const double land = wsi_median (near, n), flank = look->flank[s], step = land - flank;
  /* What is neither as a land nor as the flank is no sound edge: burnt, dirty. */
  if (step * expected->step < -COLUMN_STEP * expected->step * expected->step)
    return NAN;
  const double width =
    is_step_of (step, expected) ? end_of (look, s, flank, step, expected->level) : 0;
  const gboolean in_a_band = ends_in_a_band (look, s, expected, width, step);
  if (is_step_of (step, expected) && !in_a_band)
    return width;
  const gint from = (gint)(expected->width + BESIDE_PX + ceil (look->blur));
  const double beside = mean_light (look, s, from, from + BESIDE_PX);
  if (is_step_of (land - beside, expected))
    return end_of (look, s, beside, land - beside, expected->level);
  return in_a_band || is_all_land (look, s, expected->step) ? (double)NAN : 0;
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

/* Streaks aslant pass through a stretch as a land does.  Where all of the flank is seen, and no
 * land runs along all of the edge, a step is more than so many of the flank's own deviations. */
#define LOCAL_ROUGH 3.0

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
      doubtful |= other.width != 0 || (look->whole && other.doubtful);
  }
  if (step.width == 0 || (whole->width != 0 && step.step * whole->step < 0))
    step = *whole;
  step.doubtful |= doubtful && step.width == 0;
  step.doubtful |= look->whole && whole->width == 0 && step.width != 0 &&
                   fabs (step.step) < LOCAL_ROUGH * look->rough;
  return step;
}

static gboolean
ends_at_once (const Look *look, const double *width, guint from, guint to, double step)
{
  g_autofree double *jumps = g_new (double, MAX (to - from, 1));
  guint n = 0;
  for (guint s = from; s < to; s++)
  {
    if (!(width[s] > 0))
      continue;
    jumps[n] = jump_at (look, s, width[s], step);
    n += isfinite (jumps[n]) ? 1 : 0;
  }
  return n == 0 || wsi_median (jumps, n) >= LEAST_JUMP;
}

static void
measure_stretch (const Look *look, guint from, guint to, const Step *step, double *width)
{
  if (step->doubtful)
    return;
  for (guint s = from; s < to; s++)
    if (isfinite (look->flank[s]))
      width[s] = step->width == 0 ? 0 : column_width (look, s, step);
  if (look->whole && step->width != 0 && !ends_at_once (look, width, from, to, step->step))
    for (guint s = from; s < to; s++)
      width[s] = NAN;
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
    measure_stretch (look, from, to, &step, land->width);
    land->streaky |= step.width != 0 && step.level > 0.5;
    land->cut_off |= step.width != 0 && step.step + look->typical > log (WS_BAND_CLIPPED);
  }
  land->lost = look->whole && wsi_land_widths_lost (land->width, look->flank, length);
  if (land->streaky)
    forget_gaps (land, 0, length);
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

static guint
hidden_columns (const Look *look)
{
  guint n = 0;
  for (guint s = 0; s < look->band->length; s++)
    n += is_hidden (look, s) ? 1 : 0;
  return n;
}

/* Unseen, the land may differ as it does where it is seen; without colours all may be burnt. */
static double
unseen_share (const Look *look)
{
  return look->paled ? 1 : (double)hidden_columns (look) / look->band->length;
}

static void
summarize (const Look *look, WsWearLand *land)
{
  const guint length = look->band->length, hidden = hidden_columns (look) + look->n_off;
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
  const double wanted = look->whole ? LEAST_CLEAR * (length - hidden) : 0;
  land->judged = land->seen_share >= LEAST_SEEN && n >= wanted && !land->lost;
  land->present = land->judged && with_land >= MAX (8, n / 20);
  if (!land->present)
  {
    land->u_mean = land->u_max = land->least / sqrt (3.0);
    return;
  }
  land->mean = sum / n;
  const double unseen = unseen_share (look) * wsi_land_widths_spread (land->width, length);
  /* Streaks beside the land make some columns far too wide; so does a notch. */
  const double skewed = land->streaky ? fabs (land->mean - wsi_quantile (seen, n, 0.5)) / 2 : 0;
  land->max = wsi_quantile (seen, n, GREATEST);
  if (land->cut_off)
  {
    land->mean = MAX (land->mean - BLOOM_PX, 0);
    land->max = MAX (land->max - BLOOM_PX, 0);
  }
  const double place =
    hypot (hypot (U_END_PX, U_EDGE_PX), land->cut_off ? U_BLOOM_PX : 0) + blur_moves (land);
  land->u_mean = hypot (hypot (place, 0.02 * land->mean), hypot (skewed, unseen));
  land->u_max = hypot (hypot (place, 0.04 * land->max), unseen) + 0.3;
}

void
wsi_wear_land_find (const WsLandSight *sight, WsWearLand *land)
{
  const WsBand *band = sight->band;
  const double blur_px = sight->blur_px;
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
  g_autofree double *nearby = g_new (double, band->length);
  Look look = { .band = band,
                .hidden = sight->hidden,
                .whole = sight->whole,
                .paled = sight->paled,
                .depth = depth,
                .edge = edge,
                .blur = blur_px,
                .light = light,
                .flank = flank,
                .nearby = nearby };
  smooth_along (&look);
  find_flank (&look);
  measure_columns (&look, land);
  wsi_land_widths_smooth (land->width, band->length);
  wsi_land_widths_forget_ends (land->width, band->length, END_EDGES * edge);
  summarize (&look, land);
}

void
wsi_wear_land_clear (WsWearLand *land)
{
  g_clear_pointer (&land->width, g_free);
}
