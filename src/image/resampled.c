/*
 * An interpolated sample is a weighted mean, and how much noise is left in it depends on where it
 * lies between the samples it was made of.  So in a picture resized along x the noise of columns
 * rises and falls with a period of its own (Gallagher, Canadian Conference on Computer and Robot
 * Vision, 2005, looks for the same by second differences); in one that was skewed along x that of
 * rows does.  A picture resized alike in both directions has the same period in both.
 */
#include "image/resampled.h"

#include "image/light.h"
#include "image/noise.h"
#include "image/passing.h"
#include "image/tone.h"
#include "maths/spectrum.h"

#include <math.h>
#include <stdlib.h>

/* WsNoiseLines with fewer samples of the ground are left out, and pictures with fewer lines. */
#define LEAST_SAMPLES 20
#define LEAST_LINES 200
#define LEAST_SHARE 0.5

/* Light falls off slowly: the running mean over so many lines is the measure. */
#define RUNNING 65

/* Periods from two lines (a mosaic of colours) and of blocks of 16 are the sensor's or the
 * compression's, not an interpolation's. */
#define LEAST_FREQUENCY 0.008
#define MOST_FREQUENCY 0.49
#define BLOCK 16
#define BINS_BESIDE 2

/* Where noise is less than a code or so, rounding leaves more or less of it by where between two
 * codes the light lies (Widrow, Kollar & Liu, IEEE Trans. Instrum. Meas. 45, 1996): on a ground
 * that falls off slowly that is a period, too, of as many lines as light needs for one code.  Lines
 * whose own is beside a frequency by no more than so much of it add to it. */
#define ROUNDING_BESIDE 0.2
#define EVERY_CODE 16    /* lines */
#define SECOND_MEAN 1.95 /* of noise's second differences, over its deviation */
#define ROUNDING_MOST 1.94
#define ROUNDING_FALLS 11.6

/* Of a resized picture's noise 3 to 40 per cent rise and fall, 15 to 250 times what the noise
 * itself would make in a median bin; of plain ones up to 1.5 per cent, 13 times (own trials with
 * bilinear, bicubic and Lanczos kernels, by 1 to 10 per cent). */
#define LEAST_AMPLITUDE 0.025
#define LEAST_PEAK 15.0

/* On a ground that is told from the tool nothing but noise is looked at.  Two magnitudes over their
 * medians make 7 once in 10^13 bins: twice the square of Rayleigh's median, ln 4, times 7^2 is 68
 * of chi-square with four degrees of freedom. */
#define LEAST_GROUND_PEAK 7.0

/* What rises and falls by this part would be told, or nothing is known. */
#define WOULD_BE_SEEN 0.04

/* A lamp that flickers, or a raster on the panel, makes the light itself rise and fall. */
#define LIGHT_PART 0.25

/* Such a part of a peak at the same place makes both directions alike. */
#define ALIKE 0.2

/* What was noted while rows passed tells as much, and more is known of none of them then. */
typedef struct
{
  WsNoiseGround ground;
  const WsPassing *passing; /* NULL: the picture is looked at */
} Look;

typedef struct
{
  guint n;                         /* lines */
  guint n_bins;                    /* k / n, k from 0 */
  double *magnitude[WSI_N_TRACES]; /* over the median */
  double *amplitude[WSI_N_TRACES]; /* relative */
  double most_rounding;            /* greatest amplitude that rounding to codes may have, where */
  double *rates;                   /* it has one frequency: its frequencies, all along; sorted */
  guint n_rates;
} Spectrum;

static int
ascending (gconstpointer a, gconstpointer b)
{
  const double p = *(const double *)a, q = *(const double *)b;
  return (p > q) - (p < q);
}

/* Means of lines over their running mean, less 1, extremes cut off; 0 where too little is seen.
 * FALSE when that is mostly so. */
static gboolean
relative (const WsNoiseLines *lines, WsNoiseTrace trace, double *out)
{
  const guint n = lines->n, half = RUNNING / 2;
  guint seen = 0;
  double squares = 0;
  for (guint i = 0; i < n; i++)
  {
    double sum = 0;
    guint count = 0;
    for (guint k = i > half ? i - half : 0; k <= MIN (i + half, n - 1); k++)
      if (lines->count[trace][k] >= LEAST_SAMPLES)
      {
        sum += (double)lines->sum[trace][k] / lines->count[trace][k];
        count++;
      }
    const gboolean has = lines->count[trace][i] >= LEAST_SAMPLES && sum > 0;
    out[i] = has ? (double)lines->sum[trace][i] / lines->count[trace][i] * count / sum - 1 : 0;
    seen += has ? 1 : 0;
    squares += out[i] * out[i];
  }
  if (seen < LEAST_SHARE * n)
    return FALSE;
  const double most = 4 * sqrt (squares / seen);
  for (guint i = 0; i < n; i++)
    out[i] = CLAMP (out[i], -most, most);
  return TRUE;
}

/* Each bin's magnitude, after Hann's window. */
static void
transform (double *values, guint n, double *magnitude, double *amplitude)
{
  const guint n_bins = n / 2;
  double window = 0;
  for (guint i = 0; i < n; i++)
  {
    const double hann = 0.5 - 0.5 * cos (2 * G_PI * i / (n - 1));
    values[i] *= hann;
    window += hann;
  }
  g_autofree WsComplex *found = g_new (WsComplex, n_bins + 1);
  wsi_spectrum (values, n, found);
  for (guint k = 0; k < n_bins; k++)
  {
    magnitude[k] = hypot (found[k].re, found[k].im);
    amplitude[k] = 2 * magnitude[k] / window;
  }
  g_autofree double *sorted = g_memdup2 (magnitude, sizeof (double) * n_bins);
  qsort (sorted, n_bins, sizeof *sorted, ascending);
  const double median = sorted[n_bins / 2];
  for (guint k = 0; k < n_bins; k++)
    magnitude[k] = median > 0 ? magnitude[k] / median : 0;
}

/* Mean of a trace over all lines. */
static double
mean_trace (const WsNoiseLines *lines, WsNoiseTrace trace)
{
  double sum = 0, count = 0;
  for (guint i = 0; i < lines->n; i++)
  {
    sum += (double)lines->sum[trace][i];
    count += lines->count[trace][i];
  }
  return count > 0 ? sum / count : 0;
}

static double
code_of (const WsImage *image, double light)
{
  const double part = light / WS_IMAGE_FULL_SCALE;
  return 255 * (image->tone == WS_TONE_LINEAR ? part : wsi_linear_to_srgb (part));
}

/* By how much of itself the mean of second differences rises and falls at most as light passes from
 * code to code, all of a line at once.  Of noise's variance that is 2 exp (-2 pi^2 s^2), s in codes
 * (Widrow, Kollar & Liu, as above); of what is seen in means of absolute values, rounding itself
 * among it, own trials with s from 0.3 to 0.5 give 1.94 exp (-11.6 s^2) to 2 per cent. */
static double
most_of_rounding (const WsNoiseLines *lines, const WsImage *image)
{
  const double light = mean_trace (lines, WSI_LIGHT), rough = mean_trace (lines, WSI_ALONG);
  const double seen =
    (code_of (image, light + 0.5 * rough) - code_of (image, light - 0.5 * rough)) / SECOND_MEAN;
  return ROUNDING_MOST * exp (-ROUNDING_FALLS * seen * seen);
}

/* Codes that the light changes by from line to line, about the running mean. */
static void
find_rounding (const WsNoiseLines *lines, const WsImage *image, Spectrum *spectrum)
{
  double *rate = g_new (double, lines->n);
  guint n = 0;
  double last = NAN;
  for (guint i = 0; i + RUNNING <= lines->n; i += EVERY_CODE)
  {
    double light = 0;
    guint count = 0;
    for (guint k = i; k < i + RUNNING; k++)
    {
      light += (double)lines->sum[WSI_LIGHT][k];
      count += lines->count[WSI_LIGHT][k];
    }
    const double code = count > 0 ? code_of (image, light / count) : (double)NAN;
    if (isfinite (code) && isfinite (last))
      rate[n++] = fabs (code - last) / EVERY_CODE;
    last = code;
  }
  spectrum->most_rounding = most_of_rounding (lines, image);
  qsort (rate, n, sizeof *rate, ascending);
  spectrum->rates = rate;
  spectrum->n_rates = image->bits > 8 ? 0 : n;
}

/* The greatest amplitude that rounding may have at a frequency: where the light changes faster and
 * slower along the picture, only so many lines have theirs there. */
static double
rounding_at (const Spectrum *spectrum, double frequency)
{
  const double beside = ROUNDING_BESIDE * frequency + (double)BINS_BESIDE / spectrum->n;
  guint within = 0;
  for (guint i = 0; i < spectrum->n_rates; i++)
    within += fabs (spectrum->rates[i] - frequency) < beside ? 1 : 0;
  return within > 0 ? spectrum->most_rounding * within / spectrum->n_rates : 0;
}

static void
spectrum_clear (Spectrum *spectrum)
{
  for (guint t = 0; t < WSI_N_TRACES; t++)
  {
    g_free (spectrum->magnitude[t]);
    g_free (spectrum->amplitude[t]);
  }
  g_free (spectrum->rates);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Spectrum, spectrum_clear)

static void
sum_lines (const Look *at, gboolean of_columns, WsNoiseLines *lines)
{
  if (at->passing != NULL)
    wsi_passing_sum (at->passing, of_columns, lines);
  else if (of_columns)
    wsi_noise_sum_columns (&at->ground, lines);
  else
    wsi_noise_sum_rows (&at->ground, lines);
}

static gboolean
look (const Look *at, gboolean of_columns, Spectrum *spectrum)
{
  const WsImage *image = at->ground.image;
  g_auto (WsNoiseLines) lines = { 0 };
  wsi_noise_lines_init (&lines, of_columns ? image->width : image->height);
  *spectrum = (Spectrum){ .n = lines.n, .n_bins = lines.n / 2 };
  for (guint t = 0; t < WSI_N_TRACES; t++)
  {
    spectrum->magnitude[t] = g_new0 (double, spectrum->n_bins);
    spectrum->amplitude[t] = g_new0 (double, spectrum->n_bins);
  }
  sum_lines (at, of_columns, &lines);
  find_rounding (&lines, image, spectrum);
  g_autofree double *values = g_new (double, lines.n);
  for (WsNoiseTrace t = 0; t < WSI_N_TRACES; t++)
  {
    if (!relative (&lines, t, values))
      return FALSE;
    transform (values, lines.n, spectrum->magnitude[t], spectrum->amplitude[t]);
  }
  return TRUE;
}

static double
peak_at (const Spectrum *spectrum, guint bin)
{
  return hypot (spectrum->magnitude[WSI_ALONG][bin], spectrum->magnitude[WSI_ACROSS][bin]);
}

static double
amplitude_at (const Spectrum *spectrum, guint bin)
{
  return MAX (spectrum->amplitude[WSI_ALONG][bin], spectrum->amplitude[WSI_ACROSS][bin]);
}

/* Such as an interpolation may make. */
static gboolean
counts (const Spectrum *spectrum, guint bin)
{
  const double frequency = (double)bin / spectrum->n, amplitude = amplitude_at (spectrum, bin);
  if (frequency < LEAST_FREQUENCY || frequency > MOST_FREQUENCY)
    return FALSE;
  return amplitude >= LEAST_AMPLITUDE &&
         spectrum->amplitude[WSI_LIGHT][bin] < LIGHT_PART * amplitude;
}

/* Such as rounding may make as well. */
static gboolean
may_be_rounding (const Spectrum *spectrum, guint bin)
{
  return amplitude_at (spectrum, bin) < rounding_at (spectrum, (double)bin / spectrum->n);
}

/* Such as blocks and mosaics make as well. */
static gboolean
may_be_blocks (const Spectrum *spectrum, guint bin)
{
  const double blocks = (double)bin / spectrum->n * BLOCK;
  return fabs (blocks - round (blocks)) * spectrum->n <= BINS_BESIDE * BLOCK;
}

static gboolean
is_common (const Spectrum *spectrum, guint bin)
{
  return may_be_rounding (spectrum, bin) || may_be_blocks (spectrum, bin);
}

/* The bin of the greatest peak that isn't common; 0 without one. */
static guint
greatest_peak (const Spectrum *spectrum, double least)
{
  guint best = 0;
  double most = least;
  for (guint k = 1; k < spectrum->n_bins; k++)
    if (peak_at (spectrum, k) > most && counts (spectrum, k) && !is_common (spectrum, k))
    {
      most = peak_at (spectrum, k);
      best = k;
    }
  return best;
}

static guint
same_bin (const Spectrum *one, guint bin, const Spectrum *other)
{
  return (guint)lrint ((double)bin / one->n * other->n);
}

/* The other direction's greatest at the same frequency. */
static double
peak_of_other (const Spectrum *one, guint bin, const Spectrum *other)
{
  const guint at = same_bin (one, bin, other);
  double most = 0;
  for (guint k = at > BINS_BESIDE ? at - BINS_BESIDE : 1;
       k <= at + BINS_BESIDE && k < other->n_bins; k++)
    most = MAX (most, peak_at (other, k));
  return most;
}

static gboolean
is_alike (const Spectrum *one, guint bin, const Spectrum *other)
{
  return peak_of_other (one, bin, other) > ALIKE * peak_at (one, bin);
}

/* Amplitude of a peak that would just be told. */
static double
least_told (const Spectrum *spectrum, double least)
{
  g_autofree double *sorted =
    g_memdup2 (spectrum->amplitude[WSI_ALONG], sizeof (double) * spectrum->n_bins);
  qsort (sorted, spectrum->n_bins, sizeof *sorted, ascending);
  return least * sorted[spectrum->n_bins / 2];
}

/* On ground that is told from the tool light that rises and falls by more, relative, at any
 * frequency makes noise do so, too, at its multiples: where it is steep a patch looks rough. */
#define MOST_LIGHT 0.02

static gboolean
has_even_light (const Spectrum *spectrum)
{
  for (guint k = (guint)(LEAST_FREQUENCY * spectrum->n); k < spectrum->n_bins; k++)
    if (spectrum->amplitude[WSI_LIGHT][k] > MOST_LIGHT)
      return FALSE;
  return TRUE;
}

/* Has one direction a peak that is its own, and the other hasn't? */
static gboolean
is_uneven (const Spectrum *columns, const Spectrum *rows, double least)
{
  const guint of_columns = greatest_peak (columns, least), of_rows = greatest_peak (rows, least);
  return (of_columns > 0 && !is_alike (columns, of_columns, rows)) ||
         (of_rows > 0 && !is_alike (rows, of_rows, columns));
}

/* A peak that another thing may have made, or is alike to what chance or rounding may have made in
 * the other direction. */
static gboolean
is_doubtful (const Spectrum *one, guint bin, const Spectrum *other)
{
  const guint at = MIN (same_bin (one, bin, other), other->n_bins - 1);
  return may_be_rounding (one, bin) || may_be_rounding (other, at) ||
         peak_of_other (one, bin, other) < LEAST_GROUND_PEAK ||
         (may_be_blocks (one, bin) && !is_alike (one, bin, other));
}

/* Of all bright pixels a peak of less than this part of the greatest that rounding may make is
 * rounding's: that many lines have their frequency there, and none but a rare squeeze would just
 * hit it.  Own trials: 0.2 to 0.35 of plain pictures, 0.6 and more of squeezed ones. */
#define SURELY_ROUNDING 0.4

static gboolean
is_rounding (const Spectrum *spectrum, guint bin)
{
  return amplitude_at (spectrum, bin) <
         SURELY_ROUNDING * rounding_at (spectrum, (double)bin / spectrum->n);
}

/* Nobody squeezes a picture by more without seeing it (assumed): traces of higher frequency are
 * those of pictures made smaller as a whole. */
#define MOST_SQUEEZE 0.12

/* In a picture squeezed or skewed by f noise rises and falls with frequency f: the highest that may
 * be due to either, or 0. */
static double
most_doubtful (const Spectrum *one, const Spectrum *other, double least, gboolean of_ground)
{
  double most = 0;
  for (guint k = 1; k < MOST_SQUEEZE * one->n; k++)
    if (peak_at (one, k) > least && counts (one, k) && is_doubtful (one, k, other) &&
        (of_ground || !is_rounding (one, k)))
      most = (double)(k + BINS_BESIDE) / one->n;
  return most;
}

static WsResampled
judge (const Look *at, double least, double *may_be)
{
  g_auto (Spectrum) columns = { 0 };
  g_auto (Spectrum) rows = { 0 };
  if (!look (at, TRUE, &columns) || !look (at, FALSE, &rows))
    return WS_RESAMPLED_UNKNOWN;
  if (at->ground.cells != NULL && !(has_even_light (&columns) && has_even_light (&rows)))
    return WS_RESAMPLED_UNKNOWN;
  if (is_uneven (&columns, &rows, least))
    return WS_RESAMPLED_UNEVENLY;
  if (!(MAX (least_told (&columns, least), least_told (&rows, least)) < WOULD_BE_SEEN))
    return WS_RESAMPLED_UNKNOWN;
  const gboolean of_ground = at->ground.cells != NULL;
  *may_be = MAX (most_doubtful (&columns, &rows, least, of_ground),
                 most_doubtful (&rows, &columns, least, of_ground));
  return *may_be > 0 ? WS_RESAMPLED_LITTLE : WS_RESAMPLED_NOT;
}

static gboolean
set_limits (Look *at)
{
  const WsImage *image = at->ground.image;
  at->passing = image->sparse != NULL && at->ground.cells == NULL ? image->sparse->passing : NULL;
  if (at->passing != NULL)
    switch (wsi_passing_limits (at->passing, &at->ground))
    {
    case WS_PASSING_TOLD:
      return TRUE;
    case WS_PASSING_NO_NOISE:
      return FALSE;
    case WS_PASSING_UNTOLD:
    default:
      at->passing = NULL;
    }
  return wsi_noise_set_limits (&at->ground);
}

WsResampled
wsi_image_resampled (const WsImage *image, const WsImageCells *ground, double *may_be)
{
  *may_be = 0;
  Look at = { .ground = { .image = image, .cells = ground } };
  if (image->lossy || MIN (image->width, image->height) < WSI_NOISE_LEAST_LINES ||
      !set_limits (&at))
    return WS_RESAMPLED_UNKNOWN;
  return judge (&at, ground != NULL ? LEAST_GROUND_PEAK : LEAST_PEAK, may_be);
}
