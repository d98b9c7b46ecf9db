#include "tool/part/spectrum.h"

#include <math.h>
#include <string.h>

#include "maths/stats.h"
#include "tool/part/feed.h"
#include "tool/part/patch.h"

#define ANGLES 360
#define PER_RADIUS 4 /* frequencies for each 1 / radius */
#define MOST_FREQUENCY 0.36
#define LEAST_PERIODS 5.0 /* in the circle */

/* Of noise a bin stands above the median of its surroundings by ln N / ln 2 with N bins that don't
 * depend on each other: some 20 of a picture's.  Textures are rougher than noise. */
#define LEAST_ABOVE 45.0
#define LEAST_PARTS 3
#define LEAST_CONTRAST 0.002

/* Streaks: the median of the spectrum along one direction stands above that of most directions by
 * so much (natural logarithm), over a narrow fan. */
#define LEAST_RIDGE 0.9
#define RIDGE_FAN_DEG 25.0

#define MOST_FAMILIES 8

/* A surface shows few peaks; ruled paper, screens and woven stuff hundreds, each of which takes
 * milliseconds to look at.  The strongest are. */
#define MOST_TRIED 128

/* Pictures are made smaller by so much at most. */
#define MOST_BY 8

/* Power by direction and frequency. */
typedef struct
{
  guint n; /* frequencies, from 0 on */
  double step;
  float *power; /* ANGLES x n */
} Polar;

/* A bin that stands above what surrounds it. */
typedef struct
{
  guint a, k;
  double power, above;
} Peak;

/* ---- Its spectrum ------------------------------------------------------------------------ */

static void
polar_fill (const WsPatch *patch, Polar *polar)
{
  polar->step = 1 / (PER_RADIUS * patch->radius);
  polar->n = (guint)(MOST_FREQUENCY / polar->step);
  polar->power = g_new (float, (gsize)ANGLES * polar->n);
  g_autofree double *sums = g_new (double, patch->side + 2);
  for (guint a = 0; a < ANGLES; a++)
  {
    wsi_patch_project (patch, G_PI * a / ANGLES - 0.5 * G_PI, sums);
    for (guint k = 0; k < polar->n; k++)
      polar->power[a * polar->n + k] =
        (float)wsi_patch_power_of (sums, patch->side + 2, k * polar->step);
  }
}

/* ---- What stands out ------------------------------------------------------------------- */

static float
at (const Polar *polar, guint a, guint k)
{
  return polar->power[(a % ANGLES) * polar->n + k];
}

/* Medians along a direction over neighbouring frequencies, the peak's own left out. */
static double
along_median (const Polar *polar, guint a, guint k)
{
  double values[80];
  guint n = 0;
  for (int d = -32; d <= 32; d++)
    if (ABS (d) > 2 * PER_RADIUS && (int)k + d >= (int)(LEAST_PERIODS * PER_RADIUS / 2) &&
        (int)k + d < (int)polar->n)
      values[n++] = (double)at (polar, a, (guint)((int)k + d));
  return n > 0 ? wsi_median (values, n) : HUGE_VAL;
}

/* And across directions at one frequency. */
static double
across_median (const Polar *polar, guint k)
{
  double values[ANGLES / 3];
  for (guint i = 0; i < ANGLES / 3; i++)
    values[i] = (double)at (polar, 3 * i, k);
  return wsi_median (values, ANGLES / 3);
}

static gboolean
is_top (const Polar *polar, guint a, guint k)
{
  for (int i = -3; i <= 3; i++)
    for (int j = -PER_RADIUS; j <= PER_RADIUS; j++)
      if ((i != 0 || j != 0) && (int)k + j > 0 && (int)k + j < (int)polar->n &&
          at (polar, (guint)((int)(a + ANGLES) + i), (guint)((int)k + j)) > at (polar, a, k))
        return FALSE;
  return TRUE;
}

static int
stronger_first (gconstpointer a, gconstpointer b)
{
  const WsMarkFamily *p = a, *q = b;
  return p->contrast > q->contrast ? -1 : p->contrast < q->contrast;
}

static gboolean
add_peak (const WsPatch *patch, const Polar *polar, const Peak *peak, GArray *families)
{
  const double angle = G_PI * peak->a / ANGLES - 0.5 * G_PI, f = peak->k * polar->step;
  WsMarkFamily family = { .fx = f * cos (angle), .fy = f * sin (angle), .above = peak->above };
  const double top = wsi_patch_climb (patch, &family.fx, &family.fy);
  wsi_mark_family_set_direction (&family);
  family.contrast = 2 * sqrt (top) / patch->sum;
  if (family.contrast < LEAST_CONTRAST)
    return FALSE;
  wsi_patch_ask_quarters (patch, &family);
  if (family.parts < LEAST_PARTS)
    return FALSE;
  g_array_append_val (families, family);
  return TRUE;
}

static int
as_found (gconstpointer a, gconstpointer b)
{
  const Peak *p = a, *q = b;
  return p->a != q->a ? (p->a < q->a ? -1 : 1) : p->k < q->k ? -1 : p->k > q->k;
}

/* Equal ones as they were found, whatever the sorting does with them. */
static int
greater_power_first (gconstpointer a, gconstpointer b)
{
  const Peak *p = a, *q = b;
  if (p->power > q->power || p->power < q->power)
    return p->power > q->power ? -1 : 1;
  return as_found (a, b);
}

static void
list_peaks (const Polar *polar, GArray *peaks)
{
  const guint first = (guint)ceil (LEAST_PERIODS * PER_RADIUS / 2);
  g_autofree double *across = g_new (double, polar->n);
  for (guint k = 0; k < polar->n; k++)
    across[k] = across_median (polar, k);
  for (guint a = 0; a < ANGLES; a++)
    for (guint k = first; k < polar->n; k++)
    {
      const double power = (double)at (polar, a, k);
      if (power < LEAST_ABOVE * across[k] || !is_top (polar, a, k))
        continue;
      const double around = MAX (across[k], along_median (polar, a, k));
      const Peak peak = { a, k, power, power / around };
      if (power > LEAST_ABOVE * around)
        g_array_append_val (peaks, peak);
    }
}

static void
find_peaks (const WsPatch *patch, const Polar *polar, GArray *families)
{
  g_autoptr (GArray) peaks = g_array_new (FALSE, FALSE, sizeof (Peak));
  list_peaks (polar, peaks);
  if (peaks->len > MOST_TRIED)
  {
    g_array_sort (peaks, greater_power_first);
    g_array_set_size (peaks, MOST_TRIED);
    g_array_sort (peaks, as_found);
  }
  for (guint i = 0; i < peaks->len && families->len < 4 * MOST_FAMILIES; i++)
    add_peak (patch, polar, &g_array_index (peaks, Peak, i), families);
  g_array_sort (families, stronger_first);
}

/* Multiples of a family that is there already are its harmonics; the lowest stays. */
static void
drop_harmonics (GArray *families)
{
  for (guint i = families->len; i-- > 0;)
  {
    const WsMarkFamily *p = &g_array_index (families, WsMarkFamily, i);
    for (guint k = 0; k < families->len; k++)
    {
      const WsMarkFamily *q = &g_array_index (families, WsMarkFamily, k);
      const double ratio = p->frequency / q->frequency;
      const double off = fabs (remainder (p->direction - q->direction, G_PI));
      if (k != i && ratio > 1.5 && fabs (ratio - round (ratio)) < 0.03 * ratio &&
          off < 0.02 + 3 * (p->u_direction + q->u_direction))
      {
        g_array_remove_index (families, i);
        break;
      }
    }
  }
  if (families->len > MOST_FAMILIES)
    g_array_set_size (families, MOST_FAMILIES);
}

/* ---- The lay ----------------------------------------------------------------------------- */

/* Medians of the spectrum's logarithm along each direction up to a part of all frequencies, and of
 * all directions; how high the highest stands above that. */
static double
find_ridge (const Polar *polar, double part, double ridge[ANGLES], guint *best, double *usual)
{
  const guint first = (guint)ceil (LEAST_PERIODS * PER_RADIUS / 2);
  double sorted[ANGLES];
  g_autofree double *logs = g_new (double, polar->n);
  *best = 0;
  for (guint a = 0; a < ANGLES; a++)
  {
    guint n = 0;
    for (guint k = first; k < part * polar->n; k++)
      logs[n++] = log ((double)at (polar, a, k) + 1e-30);
    ridge[a] = sorted[a] = n > 0 ? wsi_median (logs, n) : 0;
    *best = ridge[a] > ridge[*best] ? a : *best;
  }
  *usual = wsi_median (sorted, ANGLES);
  return ridge[*best] - *usual;
}

/* Streaks wider than two px have drowned in the grain where frequencies are high: then the low ones
 * tell, which are fewer, so that chance raises one direction by more. */
#define LOW_PART 0.35
#define LEAST_LOW_RIDGE 1.5

static void
find_lay (const Polar *polar, double radius, WsMarkSpectrum *spectrum)
{
  double ridge[ANGLES], usual;
  guint best;
  double height = find_ridge (polar, 1, ridge, &best, &usual), least = LEAST_RIDGE;
  if (height <= least)
  {
    height = find_ridge (polar, LOW_PART, ridge, &best, &usual);
    least = LEAST_LOW_RIDGE;
  }
  /* A fan of directions about the ridge, weighted by what stands above the half of it. */
  double weight = 0, sum = 0, squares = 0;
  for (int d = -ANGLES / 4; d < ANGLES / 4; d++)
  {
    const double above = ridge[(guint)((int)best + d + ANGLES) % ANGLES] - usual - 0.5 * height;
    if (above <= 0)
      continue;
    weight += above;
    sum += above * d;
    squares += above * d * d;
  }
  const double middle = sum / MAX (weight, 1e-9), per = G_PI / ANGLES;
  const double width = sqrt (MAX (squares / MAX (weight, 1e-9) - middle * middle, 0)) * per;
  spectrum->has_lay = height > least && width < RIDGE_FAN_DEG * G_PI / 180 / 2;
  spectrum->across_lay = remainder (per * (best + middle) - 0.5 * G_PI, G_PI);
  /* A fan's middle is known to a part of its width; never to less than the grid. */
  spectrum->u_lay = hypot (0.15 * width, 0.5 * per) + 0.2 / radius;
}

/* ---- Feed marks ---------------------------------------------------------------------------- */

/* Medians along the lay's square, for each frequency. */
static void
find_feed (const WsPatch *patch, const Polar *polar, guint by, WsMarkSpectrum *spectrum)
{
  const int a = (int)lround ((spectrum->across_lay + 0.5 * G_PI) / G_PI * ANGLES);
  g_autofree double *around = g_new (double, polar->n);
  for (guint k = 0; k < polar->n; k++)
    around[k] = along_median (polar, (guint)(a + ANGLES), k);
  const WsRidge ridge = { around, polar->n, polar->step, spectrum->across_lay };
  WsMarkFamily feed;
  double score;
  if (!wsi_feed_find (patch, &ridge, &feed, &score) || score <= spectrum->feed_score)
    return;
  feed.fx /= by;
  feed.fy /= by;
  feed.frequency /= by;
  feed.u_frequency /= by;
  spectrum->feed = feed;
  spectrum->feed_score = score;
  spectrum->has_feed = TRUE;
}

/* Harmonics of feed marks that pixels are too coarse for come back at other frequencies and in
 * other directions: those are none of the surface's. */
#define MOST_ALIASED 30

static gboolean
is_alias (const WsMarkSpectrum *spectrum, const WsMarkFamily *family)
{
  for (guint by = 1; by <= MOST_BY; by *= 2)
    for (guint m = 2; spectrum->has_feed && m <= MOST_ALIASED; m++)
    {
      const double x = remainder (m * spectrum->feed.fx, 1.0 / by);
      const double y = remainder (m * spectrum->feed.fy, 1.0 / by);
      const double off =
        MIN (hypot (x - family->fx, y - family->fy), hypot (x + family->fx, y + family->fy));
      const gboolean folded = hypot (x - m * spectrum->feed.fx, y - m * spectrum->feed.fy) > 1e-9;
      if (folded && off < (1.0 + 0.05 * m) / (WS_PATCH_MOST_RADIUS * by))
        return TRUE;
    }
  return FALSE;
}

static void
drop_aliases (WsMarkSpectrum *spectrum)
{
  for (guint i = spectrum->families->len; i-- > 0;)
    if (is_alias (spectrum, &g_array_index (spectrum->families, WsMarkFamily, i)))
      g_array_remove_index (spectrum->families, i);
}

/* ---- All of it --------------------------------------------------------------------------- */

/* The contrast of marks that would just have stood out, at the median of all frequencies. */
static double
least_contrast (const WsPatch *patch, const Polar *polar)
{
  const guint first = (guint)ceil (LEAST_PERIODS * PER_RADIUS / 2);
  g_autofree double *medians = g_new (double, polar->n);
  guint n = 0;
  for (guint k = first; k < polar->n; k++)
    medians[n++] = across_median (polar, k);
  const double usual = n > 0 ? wsi_quantile (medians, n, 0.9) : 0;
  return MAX (2 * sqrt (LEAST_ABOVE * usual) / patch->sum, LEAST_CONTRAST);
}

static void
look (const WsImage *image, guint by, WsMarkSpectrum *spectrum)
{
  WsPatch patch = { 0 };
  Polar polar = { 0 };
  g_autoptr (GArray) families = g_array_new (FALSE, FALSE, sizeof (WsMarkFamily));
  if (wsi_patch_take (image, by, &patch))
  {
    polar_fill (&patch, &polar);
    find_peaks (&patch, &polar, families);
    if (by == 1 || !spectrum->has_lay)
      find_lay (&polar, patch.radius, spectrum);
    if (spectrum->has_lay)
      find_feed (&patch, &polar, by, spectrum);
    spectrum->least_contrast = MAX (spectrum->least_contrast, least_contrast (&patch, &polar));
    spectrum->radius = patch.radius * by;
    spectrum->texture = MAX (spectrum->texture, patch.texture);
  }
  for (guint i = 0; i < families->len; i++)
  {
    WsMarkFamily family = g_array_index (families, WsMarkFamily, i);
    family.fx /= by;
    family.fy /= by;
    family.frequency /= by;
    family.u_frequency /= by;
    g_array_append_val (spectrum->families, family);
  }
  g_free (patch.value);
  g_free (polar.power);
}

/* The same marks seen at two sizes are one family: the finer look counts. */
static void
drop_doubles (GArray *families)
{
  for (guint i = families->len; i-- > 1;)
    for (guint k = 0; k < i; k++)
    {
      const WsMarkFamily *p = &g_array_index (families, WsMarkFamily, i);
      const WsMarkFamily *q = &g_array_index (families, WsMarkFamily, k);
      if (fabs (p->frequency - q->frequency) > 0.03 * q->frequency + 3 * q->u_frequency ||
          fabs (remainder (p->direction - q->direction, G_PI)) > 0.05)
        continue;
      /* The one with the smaller u stays. */
      if (p->u_frequency < q->u_frequency)
        g_array_index (families, WsMarkFamily, k) = *p;
      g_array_remove_index (families, i);
      break;
    }
}

void
wsi_mark_spectrum_find (const WsImage *image, WsMarkSpectrum *spectrum)
{
  *spectrum = (WsMarkSpectrum){ 0 };
  spectrum->families = g_array_new (FALSE, FALSE, sizeof (WsMarkFamily));
  spectrum->middle = (WsPoint){ 0.5 * (image->width - 1.0), 0.5 * (image->height - 1.0) };
  const double whole = WS_PATCH_PART * MIN (image->width, image->height);
  look (image, 1, spectrum);
  for (guint by = 2; (by - 1) * WS_PATCH_MOST_RADIUS < whole && by <= MOST_BY; by *= 2)
    look (image, by, spectrum);
  drop_doubles (spectrum->families);
  drop_aliases (spectrum);
  g_array_sort (spectrum->families, stronger_first);
  drop_harmonics (spectrum->families);
}

void
wsi_mark_spectrum_clear (WsMarkSpectrum *spectrum)
{
  g_clear_pointer (&spectrum->families, g_array_unref);
}
