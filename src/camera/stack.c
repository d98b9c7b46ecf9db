#include "camera/stack.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

/* What the mean may smear an edge by without it being seen in its blur. */
#define MOST_SHIFT_PX 0.1

/* Tiles across and down: what turns or is touched moves in a part of the picture. */
#define TILES 6

/* A slope counts as an edge's above this many times the noise, and this share of full scale. */
#define EDGE_NOISES 6.0
#define EDGE_SHARE 0.01

/* Pixels on edges that a tile must have, so that its shift is known to some hundredths. */
#define TILE_PIXELS 40

/* A value this many standard deviations of all others off their mean is none of them: by chance one
 * pixel in some hundred of 16 frames. */
#define OUTLIER_SIGMAS 5.0

typedef struct
{
  guint32 sum;
  guint64 squares;
  guint16 least, most;
} Sums;

struct WsStack
{
  guint width, height, n;
  gboolean colour; /* sums are of red, green and blue, else of light */
  guint bits;      /* these three of the last frame */
  WsTone tone;
  gboolean lossy;
  guint16 *first;
  double first_total;
  Sums *sums;
  double shift_px;
};

WsStack *
wsi_stack_new (void)
{
  return g_new0 (WsStack, 1);
}

void
wsi_stack_free (WsStack *stack)
{
  if (stack == NULL)
    return;
  g_free (stack->first);
  g_free (stack->sums);
  g_free (stack);
}

double
wsi_stack_shift_px (const WsStack *stack)
{
  return stack->shift_px;
}

/* ---- Motion ------------------------------------------------------------------------------ */

static double
total_of (const guint16 *light, gsize n)
{
  double total = 0.0;
  for (gsize i = 0; i < n; i++)
    total += light[i];
  return total;
}

/* A frame against the first, at the first one's brightness: lamps flicker. */
typedef struct
{
  const WsStack *stack;
  const guint16 *now;
  double ratio;
  double least_slope;
} Pair;

static double
difference (const Pair *pair, gsize at)
{
  return pair->now[at] * pair->ratio - pair->stack->first[at];
}

static int
by_value (gconstpointer a, gconstpointer b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* The noise of a frame, from the median size of the differences: edges are few. */
#define NOISE_SAMPLES 4096
#define MEDIAN_TO_SIGMA 1.4826

static double
noise_of (const Pair *pair)
{
  const gsize n = (gsize)pair->stack->width * pair->stack->height;
  const gsize step = MAX (n / NOISE_SAMPLES, 1);
  g_autofree double *sizes = g_new (double, n / step + 1);
  gsize count = 0;
  for (gsize at = 0; at < n; at += step)
    sizes[count++] = fabs (difference (pair, at));
  qsort (sizes, count, sizeof *sizes, by_value);
  return MEDIAN_TO_SIGMA * sizes[count / 2] / sqrt (2.0);
}

/* The normal equations of  now - first = -slope . shift  (Lucas and Kanade, 1981). */
typedef struct
{
  double xx, xy, yy, xd, yd;
  guint n;
} Normal;

static void
add_row (const Pair *pair, guint y, Normal *row)
{
  const guint width = pair->stack->width;
  const guint16 *first = pair->stack->first;
  for (guint x = 1; x + 1 < width; x++)
  {
    const gsize at = (gsize)y * width + x;
    const double gx = 0.5 * (first[at + 1] - first[at - 1]);
    const double gy = 0.5 * (first[at + width] - first[at - width]);
    if (fabs (gx) + fabs (gy) < pair->least_slope)
      continue;
    const double d = -difference (pair, at);
    Normal *tile = &row[x * TILES / width];
    tile->xx += gx * gx;
    tile->xy += gx * gy;
    tile->yy += gy * gy;
    tile->xd += gx * d;
    tile->yd += gy * d;
    tile->n++;
  }
}

/* Along a straight edge nothing is known: the shift is taken across it, by the greater
 * eigenvalue's direction alone. */
static double
shift_of (const Normal *tile)
{
  if (tile->n < TILE_PIXELS)
    return 0.0;
  const double angle = 0.5 * atan2 (2.0 * tile->xy, tile->xx - tile->yy);
  const double c = cos (angle), s = sin (angle);
  const double across = tile->xx * c * c + 2.0 * tile->xy * c * s + tile->yy * s * s;
  const double along = tile->xx * s * s - 2.0 * tile->xy * c * s + tile->yy * c * c;
  const double u = (tile->xd * c + tile->yd * s) / across;
  const double v = along > 0.1 * across ? (tile->yd * c - tile->xd * s) / along : 0.0;
  return hypot (u, v);
}

static double
greatest_shift (const WsStack *stack, const guint16 *now)
{
  Normal tiles[TILES][TILES] = { 0 };
  const double total = total_of (now, (gsize)stack->width * stack->height);
  Pair pair = { stack, now, total > 0.0 ? stack->first_total / total : 1.0, 0.0 };
  pair.least_slope = MAX (EDGE_NOISES * noise_of (&pair), EDGE_SHARE * WS_IMAGE_FULL_SCALE);
  for (guint y = 1; y + 1 < stack->height; y++)
    add_row (&pair, y, tiles[y * TILES / stack->height]);
  double greatest = 0.0;
  for (guint i = 0; i < TILES * TILES; i++)
    greatest = MAX (greatest, shift_of (&tiles[i / TILES][i % TILES]));
  return greatest;
}

/* ---- Sums -------------------------------------------------------------------------------- */

static gsize
n_sums (const WsStack *stack)
{
  return (gsize)stack->width * stack->height * (stack->colour ? 3 : 1);
}

static gboolean
begin (WsStack *stack, const WsFrame *frame, GError **error)
{
  const WsImage *image = frame->image;
  const gsize n = (gsize)image->width * image->height;
  stack->width = image->width;
  stack->height = image->height;
  stack->colour = image->has_colour;
  stack->first = g_try_malloc_n (n, sizeof *stack->first);
  stack->sums = g_try_malloc0_n (n_sums (stack), sizeof *stack->sums);
  if (stack->first == NULL || stack->sums == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                         "no memory for the mean of such large pictures; take one picture");
    return FALSE;
  }
  memcpy (stack->first, image->linear, n * sizeof *stack->first);
  stack->first_total = total_of (image->linear, n);
  for (gsize i = 0; i < n_sums (stack); i++)
    stack->sums[i].least = G_MAXUINT16;
  return TRUE;
}

static gboolean
check_still (WsStack *stack, const WsFrame *of, GError **error)
{
  const WsImage *frame = of->image;
  if (frame->width != stack->width || frame->height != stack->height)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "picture %u has %u x %u pixels, the first %u x %u; leave the camera's resolution",
                 stack->n + 1, frame->width, frame->height, stack->width, stack->height);
    return FALSE;
  }
  if (frame->has_colour != stack->colour)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "picture %u %s, the first %s; leave the camera's pixel format", stack->n + 1,
                 stack->colour ? "is grey" : "has colour",
                 stack->colour ? "has colour" : "is grey");
    return FALSE;
  }
  const double shift = greatest_shift (stack, frame->linear);
  stack->shift_px = MAX (stack->shift_px, shift);
  if (shift <= MOST_SHIFT_PX)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "something moved by about %.2f px between picture 1 and %u; clamp the tool, don't "
               "touch the bench",
               shift, stack->n + 1);
  return FALSE;
}

gboolean
wsi_stack_add (WsStack *stack, const WsFrame *frame, GError **error)
{
  if (!(stack->n == 0 ? begin (stack, frame, error) : check_still (stack, frame, error)))
    return FALSE;
  const guint16 *from = stack->colour ? frame->colour : frame->image->linear;
  const gsize n = n_sums (stack);
  for (gsize i = 0; i < n; i++)
  {
    const guint16 light = from[i];
    Sums *sums = &stack->sums[i];
    sums->sum += light;
    sums->squares += (guint64)light * light;
    sums->least = MIN (sums->least, light);
    sums->most = MAX (sums->most, light);
  }
  stack->bits = frame->image->bits;
  stack->tone = frame->image->tone;
  stack->lossy = frame->image->lossy;
  stack->n++;
  return TRUE;
}

/* Whether `value` lies far off the mean of the other n - 1. */
static gboolean
is_outlier (const Sums *sums, double n, double value)
{
  const double others = n - 1.0;
  const double mean = (sums->sum - value) / others;
  const double variance =
    MAX (((double)sums->squares - value * value) / others - mean * mean, 0.0) * others /
    (others - 1.0);
  /* Codes come in steps: a code off is no outlier. */
  const double step = WS_IMAGE_FULL_SCALE / 255.0;
  return fabs (value - mean) > OUTLIER_SIGMAS * sqrt (variance) + step;
}

static guint16
mean_of (const Sums *sums, guint n)
{
  double sum = sums->sum, count = n;
  if (n >= WS_STACK_ROBUST)
  {
    if (is_outlier (sums, n, sums->most))
    {
      sum -= sums->most;
      count -= 1.0;
    }
    else if (is_outlier (sums, n, sums->least))
    {
      sum -= sums->least;
      count -= 1.0;
    }
  }
  return (guint16)lround (sum / count);
}

gboolean
wsi_stack_mean (const WsStack *stack, WsFrame *mean, GError **error)
{
  WsImage *image = wsi_frame_room (mean, stack->width, stack->height, stack->colour, error);
  if (image == NULL)
    return FALSE;
  guint16 *to = stack->colour ? mean->colour : image->linear;
  const gsize n = n_sums (stack);
  for (gsize i = 0; i < n; i++)
    to[i] = mean_of (&stack->sums[i], stack->n);
  if (stack->colour)
    wsi_frame_take_luminance (mean);
  image->bits = stack->bits;
  image->tone = stack->tone;
  image->lossy = stack->lossy;
  image->has_colour = stack->colour;
  image->format = "camera";
  return TRUE;
}
