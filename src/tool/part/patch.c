#include "tool/part/patch.h"

#include <math.h>
#include <string.h>

#include "maths/least_squares.h"
#include "maths/stats.h"

/* A smaller circle holds too few marks. */
#define LEAST_RADIUS 60

/* So far above what lies beside it a quarter shows a peak. */
#define LEAST_ABOVE_PART 6.0

static float
mean_of_block (const WsImage *image, gint64 x0, gint64 y0, guint by)
{
  double sum = 0;
  for (guint y = 0; y < by; y++)
    for (guint x = 0; x < by; x++)
      sum += image->linear[(gsize)(y0 + y) * image->width + (gsize)(x0 + x)];
  return (float)(sum / (by * by * (double)WS_IMAGE_FULL_SCALE));
}

/* Light as a polynomial of second degree of the place: lamps and round parts. */
static void
slow_terms (double x, double y, double row[6])
{
  row[0] = 1;
  row[1] = x;
  row[2] = y;
  row[3] = x * x;
  row[4] = x * y;
  row[5] = y * y;
}

static double
slow_light (const double c[6], double x, double y)
{
  double row[6], sum = 0;
  slow_terms (x, y, row);
  for (guint i = 0; i < 6; i++)
    sum += c[i] * row[i];
  return sum;
}

/* 1 in the middle, 0 at the border: Hann's. */
static double
fading (double r)
{
  return r < 1 ? pow (cos (0.5 * G_PI * r), 2) : 0;
}

static gboolean
take_slow_out (WsPatch *patch)
{
  const double middle = 0.5 * (patch->side - 1), scale = 1 / patch->radius;
  WsLeastSquares sums;
  double c[6], squares = 0;
  wsi_least_squares_init (&sums, 6);
  for (guint j = 0; j < patch->side; j += 2)
    for (guint i = 0; i < patch->side; i += 2)
    {
      double row[6];
      slow_terms ((i - middle) * scale, (j - middle) * scale, row);
      wsi_least_squares_add (&sums, row, (double)patch->value[j * patch->side + i], 1);
    }
  if (!wsi_least_squares_solve (&sums, c, NULL))
    return FALSE;
  for (guint j = 0; j < patch->side; j++)
    for (guint i = 0; i < patch->side; i++)
    {
      const double x = (i - middle) * scale, y = (j - middle) * scale;
      const double slow = slow_light (c, x, y), weight = fading (hypot (x, y));
      float *value = &patch->value[j * patch->side + i];
      const double off = slow > 0.002 ? (double)*value / slow - 1 : 0;
      squares += weight * off * off;
      patch->sum += weight;
      patch->sum2 += weight * weight;
      *value = (float)(weight * CLAMP (off, -1, 1));
    }
  patch->texture = sqrt (squares / MAX (patch->sum, 1));
  return TRUE;
}

/* The picture's middle, `by` x `by` pixels as one. */
gboolean
wsi_patch_take (const WsImage *image, guint by, WsPatch *patch)
{
  const double least = MIN (image->width, image->height);
  patch->radius = floor (MIN (WS_PATCH_MOST_RADIUS, WS_PATCH_PART * least / by));
  if (patch->radius < LEAST_RADIUS)
    return FALSE;
  patch->side = 2 * (guint)patch->radius + 1;
  patch->sum = patch->sum2 = 0;
  patch->value = g_new (float, (gsize)patch->side * patch->side);
  const gint64 left = ((gint64)image->width - (gint64)(patch->side * by)) / 2;
  const gint64 top = ((gint64)image->height - (gint64)(patch->side * by)) / 2;
  for (guint j = 0; j < patch->side; j++)
    for (guint i = 0; i < patch->side; i++)
      patch->value[j * patch->side + i] =
        mean_of_block (image, left + (gint64)i * by, top + (gint64)j * by, by);
  return take_slow_out (patch);
}

/* One of its quarters, faded on its own. */
static void
take_quarter (const WsPatch *patch, guint quarter, WsPatch *part)
{
  part->radius = floor (0.5 * patch->radius);
  part->side = 2 * (guint)part->radius + 1;
  part->value = g_new0 (float, (gsize)part->side * part->side);
  part->sum = part->sum2 = 0;
  const double shift = 0.8 * (patch->radius - part->radius) / M_SQRT2;
  const double middle = 0.5 * (patch->side - 1), own = 0.5 * (part->side - 1);
  const double cx = middle + (quarter % 2 == 0 ? -shift : shift),
               cy = middle + (quarter / 2 == 0 ? -shift : shift);
  for (guint j = 0; j < part->side; j++)
    for (guint i = 0; i < part->side; i++)
    {
      const guint x = (guint)lround (cx + i - own), y = (guint)lround (cy + j - own);
      const double there = fading (hypot (x - middle, y - middle) / patch->radius);
      const double weight = fading (hypot (i - own, j - own) / part->radius);
      part->sum += weight;
      part->sum2 += weight * weight;
      if (there > 0.02)
        part->value[j * part->side + i] =
          (float)((double)patch->value[y * patch->side + x] / there * weight);
    }
}

/* Rows whose sums are formed side by side, in registers: each waits for its own last addition
 * alone. */
#define ROWS 4

static void
sum_rows (const float *first, guint side, guint rows, const double *x, const double *y,
          double a[ROWS], double b[ROWS])
{
  const float *row[ROWS];
  for (guint k = 0; k < ROWS; k++)
    row[k] = first + (gsize)MIN (k, rows - 1) * side;
  double a0 = 0, a1 = 0, a2 = 0, a3 = 0, b0 = 0, b1 = 0, b2 = 0, b3 = 0;
  for (guint i = 0; i < side; i++)
  {
    const double c = x[i], s = y[i];
    a0 += (double)row[0][i] * c;
    b0 += (double)row[0][i] * s;
    a1 += (double)row[1][i] * c;
    b1 += (double)row[1][i] * s;
    a2 += (double)row[2][i] * c;
    b2 += (double)row[2][i] * s;
    a3 += (double)row[3][i] * c;
    b3 += (double)row[3][i] * s;
  }
  const double sums_a[ROWS] = { a0, a1, a2, a3 }, sums_b[ROWS] = { b0, b1, b2, b3 };
  memcpy (a, sums_a, sizeof sums_a);
  memcpy (b, sums_b, sizeof sums_b);
}

/* At one frequency and direction exactly. */
double
wsi_patch_power (const WsPatch *patch, double fx, double fy)
{
  const double turn = 2 * G_PI * fx, c = cos (turn), s = sin (turn);
  double x[WS_PATCH_MOST_SIDE], y[WS_PATCH_MOST_SIDE], re = 0, im = 0;
  x[0] = 1;
  y[0] = 0;
  for (guint i = 1; i < patch->side; i++)
  {
    x[i] = x[i - 1] * c - y[i - 1] * s;
    y[i] = x[i - 1] * s + y[i - 1] * c;
  }
  for (guint j = 0; j < patch->side; j += ROWS)
  {
    const guint rows = MIN (ROWS, patch->side - j);
    double a[ROWS], b[ROWS];
    sum_rows (&patch->value[(gsize)j * patch->side], patch->side, rows, x, y, a, b);
    for (guint k = 0; k < rows; k++)
    {
      const double p = cos (2 * G_PI * fy * (j + k)), q = sin (2 * G_PI * fy * (j + k));
      re += a[k] * p - b[k] * q;
      im += a[k] * q + b[k] * p;
    }
  }
  return re * re + im * im;
}

/* To the top of the peak, by parabolas along x and y. */
double
wsi_patch_climb (const WsPatch *patch, double *fx, double *fy)
{
  double step = 0.12 / patch->radius, top = wsi_patch_power (patch, *fx, *fy);
  for (guint round = 0; round < 5; round++, step *= 0.6)
    for (guint axis = 0; axis < 2; axis++)
    {
      double *f = axis == 0 ? fx : fy;
      const double at = *f;
      *f = at - step;
      const double less = wsi_patch_power (patch, *fx, *fy);
      *f = at + step;
      const double more = wsi_patch_power (patch, *fx, *fy);
      const double bend =
        log (MAX (less, 1e-300)) - 2 * log (MAX (top, 1e-300)) + log (MAX (more, 1e-300));
      const double slope = log (MAX (more, 1e-300)) - log (MAX (less, 1e-300));
      *f = at + (bend < 0 ? CLAMP (-0.5 * slope / bend, -2, 2) : slope > 0 ? 1 : -1) * step;
      top = wsi_patch_power (patch, *fx, *fy);
    }
  return top;
}

void
wsi_mark_family_set_direction (WsMarkFamily *family)
{
  if (family->fx < 0)
  {
    family->fx = -family->fx;
    family->fy = -family->fy;
  }
  family->frequency = hypot (family->fx, family->fy);
  family->direction = atan2 (family->fy, family->fx);
}

/* What the quarters make of it: how many show it, and how they differ. */
void
wsi_patch_ask_quarters (const WsPatch *patch, WsMarkFamily *family)
{
  double f[4] = { 0 }, d[4] = { 0 };
  for (guint q = 0; q < 4; q++)
  {
    WsPatch part = { 0 };
    take_quarter (patch, q, &part);
    double fx = family->fx, fy = family->fy;
    const double top = wsi_patch_climb (&part, &fx, &fy);
    /* Beside it, along and across. */
    double beside[8];
    for (guint i = 0; i < 8; i++)
      beside[i] = wsi_patch_power (&part, fx + 2.5 / part.radius * cos (G_PI * (i + 0.5) / 4),
                                   fy + 2.5 / part.radius * sin (G_PI * (i + 0.5) / 4));
    const double off = hypot (fx - family->fx, fy - family->fy) * part.radius;
    if (top > LEAST_ABOVE_PART * wsi_median (beside, 8) && off < 0.8)
    {
      f[family->parts] = hypot (fx, fy) - family->frequency;
      d[family->parts++] = remainder (atan2 (fy, fx) - family->direction, G_PI);
    }
    g_free (part.value);
  }
  double ff = 0, dd = 0;
  for (guint i = 0; i < family->parts; i++)
  {
    ff += f[i] * f[i];
    dd += d[i] * d[i];
  }
  /* Quarters overlap little; the whole is known twice as well. */
  const double n = MAX (family->parts, 1);
  const double floor_f = 0.01 / patch->radius;
  family->u_frequency = hypot (sqrt (ff / n) / 2, floor_f);
  family->u_direction = hypot (sqrt (dd / n) / 2, floor_f / family->frequency);
}

/* Sums of the patch across a direction, one for each px along it. */
void
wsi_patch_project (const WsPatch *patch, double angle, double *sums)
{
  const double c = cos (angle), s = sin (angle), middle = 0.5 * (patch->side - 1);
  memset (sums, 0, (patch->side + 2) * sizeof *sums);
  for (guint j = 0; j < patch->side; j++)
  {
    const float *row = &patch->value[j * patch->side];
    const double reach = sqrt (MAX (patch->radius * patch->radius - pow (j - middle, 2), 0));
    const guint from = (guint)ceil (middle - reach), to = (guint)floor (middle + reach);
    double t = (from - middle) * c + (j - middle) * s + middle + 0.5;
    for (guint i = from; i <= to; i++, t += c)
    {
      const guint bin = (guint)CLAMP (t, 0, (double)patch->side);
      const double part = t - bin;
      sums[bin] += (1 - part) * (double)row[i];
      sums[bin + 1] += part * (double)row[i];
    }
  }
}

double
wsi_patch_power_of (const double *sums, guint n, double frequency)
{
  const double turn = 2 * G_PI * frequency, c = cos (turn), s = sin (turn);
  double re = 0, im = 0, x = 1, y = 0;
  for (guint i = 0; i < n; i++)
  {
    re += sums[i] * x;
    im += sums[i] * y;
    const double next = x * c - y * s;
    y = x * s + y * c;
    x = next;
  }
  return re * re + im * im;
}
