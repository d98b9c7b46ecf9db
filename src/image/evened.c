/*
 * Rows of a rolling shutter are exposed one after the other, so a lamp that flickers with the mains
 * gives each row as a whole more or less light.  A step between tool and ground is then found where
 * it isn't, by an amount that depends on the row.  What is common to the ground at the left and at
 * the right is the lamp's and can be divided out; a panel's own unevenness differs between both.
 */
#include "image/evened.h"

#include "image/decoder.h"
#include "image/light.h"

#include <math.h>

/* The ground is brighter than this part of what a tenth of the picture exceeds, so far about a
 * sample as blurred edges reach, and below full scale. */
#define BRIGHT_PART 0.25
#define BRIGHT_SHARE 0.9
#define BRIGHT_BINS 512
#define LEVEL_SAMPLES 65536
#define APART_PX 12
#define CLIPPED 65200

/* From one line to the next light changes by no more: else it is something on the ground. */
#define MOST_CHANGE 0.3

/* Samples of a line that are looked at: more tell nothing new. */
#define SAMPLES 512

/* A first look at so few, of which so few are enough, tells that light is far from flickering, by
 * less than this part of the least variance: nothing else has to be looked at then. */
#define FIRST_SAMPLES 16
#define FIRST_BESIDE 2
#define FIRST_LEAST_SAMPLES 3
#define FIRST_PART 0.25
#define FIRST_LEVEL_SAMPLES 4096

/* A half of the ground with fewer samples in a line says nothing of it, and the picture nothing
 * where this share of its lines, or so many, says nothing. */
#define LEAST_SAMPLES 16
#define LEAST_SHARE 0.4
#define LEAST_LINES 100

/* Light's slope is taken over so many lines, as beside an edge (edge/scan.c). */
#define SLOPE_LINES 8

/* A slope of g a pixel moves an edge of spread s by 6.5 g s^2 px (edge/outline.c): 0.01 px at 1 px.
 */
#define LEAST_SLOPE 0.0015

/* Of the slopes' variance what both halves don't have in common stays below this. */
#define MOST_APART 0.1

/* Light of a lamp goes smoothly from row to row: Savitzky & Golay, Anal. Chem. 36 (1964), quadratic
 * over nine. */
#define SMOOTH 4
static const double smoothing[2 * SMOOTH + 1] = { -21, 14, 39, 54, 59, 54, 39, 14, -21 };
#define SMOOTHING_SUM 231

/* How light goes on from each line to the next, as a part of it, in both halves of the ground. */
typedef struct
{
  guint n;       /* lines */
  guint samples; /* of each, looked at, */
  guint beside;  /* so many side by side, which saves the memory's time */
  guint least;   /* of which so many tell */
  double *sum[2];
  guint *count[2];
  guint clipped, seen; /* samples */
} Lines;

static void
lines_init (Lines *lines, guint n)
{
  *lines = (Lines){ .n = n, .samples = SAMPLES, .beside = 1, .least = LEAST_SAMPLES };
  for (guint h = 0; h < 2; h++)
  {
    lines->sum[h] = g_new0 (double, n);
    lines->count[h] = g_new0 (guint, n);
  }
}

static void
lines_clear (Lines *lines)
{
  for (guint h = 0; h < 2; h++)
  {
    g_free (lines->sum[h]);
    g_free (lines->count[h]);
  }
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Lines, lines_clear)

/* Every so-many-th pixel is one of so many samples. */
static gsize
every_sample (guint width, guint height, gsize samples)
{
  return MAX (1, (gsize)width * height / samples) | 1;
}

/* By so many samples of the picture. */
static int
ground_level (const WsImage *image, gsize samples)
{
  guint count[BRIGHT_BINS] = { 0 }, n = 0;
  const gsize every = every_sample (image->width, image->height, samples);
  for (gsize i = 0; i < (gsize)image->width * image->height; i += every, n++)
    count[(guint)wsi_image_light (image, i) * BRIGHT_BINS / (WS_IMAGE_FULL_SCALE + 1)]++;
  guint bin = 0;
  for (guint below = count[0]; below < BRIGHT_SHARE * n; below += count[bin])
    bin++;
  return (int)(BRIGHT_PART * bin * (WS_IMAGE_FULL_SCALE + 1) / BRIGHT_BINS);
}

/* Whether most of the picture's border is as bright: else what is bright isn't the ground. */
static gboolean
is_bright_about (const WsImage *image, int level)
{
  const guint w = image->width, h = image->height;
  guint bright = 0;
  for (guint x = 0; x < w; x++)
    bright += (wsi_image_light_at (image, x, 0) > level ? 1U : 0U) +
              (wsi_image_light_at (image, x, h - 1) > level ? 1U : 0U);
  for (guint y = 0; y < h; y++)
    bright += (wsi_image_light_at (image, 0, y) > level ? 1U : 0U) +
              (wsi_image_light_at (image, w - 1, y) > level ? 1U : 0U);
  return bright > w + h;
}

/* Places across the lines where they are looked at, at most 2 * lines->samples of them. */
static GArray *
places_of (guint samples, guint beside, guint across)
{
  const guint step = MAX (1, across / samples);
  GArray *places = g_array_new (FALSE, FALSE, sizeof (guint));
  for (guint from = 0; from < across; from += step * beside)
    for (guint k = 0; k < beside; k++)
    {
      const guint place = MIN (from + k * MIN (step, APART_PX), across - 1);
      g_array_append_val (places, place);
    }
  return places;
}

static guint
before (guint at)
{
  return at > APART_PX ? at - APART_PX : 0;
}

static guint
behind (guint at, guint n)
{
  return MIN (at + APART_PX, n - 1);
}

/* A column, or a row. */
static void
read_light (const WsImage *image, gboolean column, guint at, guint16 *light)
{
  const guint n = column ? image->height : image->width;
  const guint8 *codes = image->sparse != NULL ? wsi_sparse_line (image->sparse, column, at) : NULL;
  for (guint i = 0; i < n; i++)
    light[i] = codes != NULL ? wsi_image_light_of (image, codes, i)
               : column      ? wsi_image_light_at (image, at, i)
                             : wsi_image_light_at (image, i, at);
}

/* Of one place across the lines: its light, and that APART_PX to either side. */
typedef struct
{
  guint16 *here, *to[2];
} Across;

/* To line `i` from the one before. */
static inline void
add (const Across *across, int level, guint half, guint i, Lines *lines)
{
  const int here = across->here[i], last = across->here[i - 1];
  if (MIN (here, last) <= level || across->to[0][i] <= level || across->to[1][i] <= level ||
      across->here[before (i)] <= level || across->here[behind (i, lines->n)] <= level)
    return;
  lines->seen++;
  if (MAX (here, last) >= CLIPPED)
  {
    lines->clipped++;
    return;
  }
  const double change = 2.0 * (here - last) / (here + last);
  if (fabs (change) > MOST_CHANGE)
    return;
  lines->sum[half][i] += change;
  lines->count[half][i]++;
}

static void
look (const WsImage *image, int level, gboolean rows, Lines *lines)
{
  const guint n = rows ? image->width : image->height;
  g_autoptr (GArray) places = places_of (lines->samples, lines->beside, n);
  g_autofree guint16 *room = g_new (guint16, 3 * (gsize)lines->n);
  const Across across = { room, { room + lines->n, room + 2 * (gsize)lines->n } };
  for (guint k = 0; k < places->len; k++)
  {
    const guint place = g_array_index (places, guint, k);
    read_light (image, rows, place, across.here);
    read_light (image, rows, before (place), across.to[0]);
    read_light (image, rows, behind (place, n), across.to[1]);
    for (guint i = 1; i < lines->n; i++)
      add (&across, level, place >= n / 2 ? 1 : 0, i, lines);
  }
}

/* ---- Whether it flickers ---- */

/* Mean change of light over the lines up to `end`; FALSE where it isn't known. */
static gboolean
slope_before (const Lines *lines, guint half, guint end, double *slope)
{
  *slope = 0;
  for (guint i = end - SLOPE_LINES; i < end; i++)
  {
    if (lines->count[half][i] < lines->least)
      return FALSE;
    *slope += lines->sum[half][i] / lines->count[half][i] / SLOPE_LINES;
  }
  return TRUE;
}

/* Of slopes in both halves, each line's and what they have in common. */
typedef struct
{
  double n, t, tt;        /* of places */
  double s[2], st[2];     /* of slopes */
  double common, squares; /* products of both halves', and squares of their difference */
} Moments;

static void
moments_add (Moments *m, double t, const double slopes[2])
{
  m->n++;
  m->t += t;
  m->tt += t * t;
  for (guint h = 0; h < 2; h++)
  {
    m->s[h] += slopes[h];
    m->st[h] += t * slopes[h];
  }
  m->common += slopes[0] * slopes[1];
  m->squares += (slopes[0] - slopes[1]) * (slopes[0] - slopes[1]);
}

/* Covariance of both halves' slopes about straight lines, which are what lenses make of an even
 * light. */
static double
common_variance (const Moments *m)
{
  const double tt = m->tt - m->t * m->t / m->n;
  double st[2];
  for (guint h = 0; h < 2; h++)
    st[h] = m->st[h] - m->t * m->s[h] / m->n;
  const double common = m->common - m->s[0] * m->s[1] / m->n;
  return (common - (tt > 0 ? st[0] * st[1] / tt : 0)) / m->n;
}

/* FALSE where too few lines are known. */
static gboolean
moments_of (const Lines *lines, Moments *m)
{
  *m = (Moments){ 0 };
  for (guint end = SLOPE_LINES + 1; end <= lines->n; end++)
  {
    double slopes[2];
    if (slope_before (lines, 0, end, &slopes[0]) && slope_before (lines, 1, end, &slopes[1]))
      moments_add (m, end, slopes);
  }
  return m->n >= LEAST_LINES && m->n >= LEAST_SHARE * lines->n;
}

/* What light's slopes have in common left and right; 0 where it doesn't flicker. */
static double
flicker (const Lines *lines)
{
  Moments m;
  if (!moments_of (lines, &m))
    return 0;
  const double common = common_variance (&m);
  const double apart = m.squares / m.n / 2;
  return common > LEAST_SLOPE * LEAST_SLOPE && apart < MOST_APART * common ? sqrt (common) : 0;
}

/* By a first look; FALSE also where the first look tells nothing. */
static gboolean
is_far_from_flickering (const WsImage *image, int level, gboolean rows)
{
  g_auto (Lines) lines = { 0 };
  Moments m;
  lines_init (&lines, rows ? image->height : image->width);
  lines.samples = FIRST_SAMPLES;
  lines.beside = FIRST_BESIDE;
  lines.least = FIRST_LEAST_SAMPLES;
  look (image, level, rows, &lines);
  return moments_of (&lines, &m) && common_variance (&m) < FIRST_PART * LEAST_SLOPE * LEAST_SLOPE;
}

void
wsi_evened_first_lines (guint across, GArray *lines)
{
  g_autoptr (GArray) places = places_of (FIRST_SAMPLES, FIRST_BESIDE, across);
  for (guint k = 0; k < places->len; k++)
  {
    const guint place = g_array_index (places, guint, k);
    const guint read[3] = { place, before (place), behind (place, across) };
    g_array_append_vals (lines, read, G_N_ELEMENTS (read));
  }
}

gsize
wsi_evened_first_every (guint width, guint height)
{
  return every_sample (width, height, FIRST_LEVEL_SAMPLES);
}

/* ---- Without it ---- */

/* By which each line's light is multiplied: at most 1.  Free with g_free(). */
static double *
factors_of (const Lines *lines)
{
  const guint n = lines->n;
  g_autofree double *light = g_new0 (double, n); /* its logarithm */
  double *factors = g_new (double, n);
  double least = 0;
  for (guint i = 1; i < n; i++)
  {
    const guint count = lines->count[0][i] + lines->count[1][i];
    const double change = count < LEAST_SAMPLES ? 0 : (lines->sum[0][i] + lines->sum[1][i]) / count;
    light[i] = light[i - 1] + change;
  }
  for (guint i = 0; i < n; i++)
  {
    double sum = 0;
    for (int k = -SMOOTH; k <= SMOOTH; k++)
      sum += smoothing[k + SMOOTH] * light[CLAMP ((int)i + k, 0, (int)n - 1)];
    factors[i] = sum / SMOOTHING_SUM;
    least = MIN (least, factors[i]);
  }
  for (guint i = 0; i < n; i++)
    factors[i] = exp (least - factors[i]);
  return factors;
}

static void
divide_out (const WsImage *image, gboolean rows, const double *factors, guint16 *light)
{
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
    {
      const gsize at = (gsize)y * image->width + x;
      light[at] = (guint16)lround (wsi_image_light_at (image, x, y) * factors[rows ? y : x]);
    }
}

WsImage *
wsi_image_evened (const WsImage *image, double *clipped)
{
  *clipped = 0;
  if (MIN (image->width, image->height) < LEAST_LINES)
    return NULL;
  const int first_level = ground_level (image, FIRST_LEVEL_SAMPLES);
  if (is_far_from_flickering (image, first_level, TRUE) &&
      is_far_from_flickering (image, first_level, FALSE))
    return NULL;
  const int level = ground_level (image, LEVEL_SAMPLES);
  if (!is_bright_about (image, level))
    return NULL;
  g_auto (Lines) of_rows = { 0 };
  g_auto (Lines) of_columns = { 0 };
  lines_init (&of_rows, image->height);
  lines_init (&of_columns, image->width);
  look (image, level, TRUE, &of_rows);
  look (image, level, FALSE, &of_columns);
  const double by_rows = flicker (&of_rows), by_columns = flicker (&of_columns);
  if (!(MAX (by_rows, by_columns) > 0))
    return NULL;
  const gboolean rows = by_rows >= by_columns;
  WsImage *evened = ws_image_new (image->width, image->height, NULL);
  if (evened == NULL)
    return NULL;
  const Lines *lines = rows ? &of_rows : &of_columns;
  *clipped = (double)lines->clipped / lines->seen;
  g_autofree double *factors = factors_of (lines);
  divide_out (image, rows, factors, evened->linear);
  guint16 *light = evened->linear;
  *evened = *image;
  evened->linear = light;
  evened->coded = NULL;
  evened->sparse = NULL;
  evened->rgb = NULL;
  evened->taken = NULL;
  evened->file = wsi_image_file (image);
  return evened;
}
