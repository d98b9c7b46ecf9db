#include "image/smoothed.h"

#include "image/light.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The ground: brighter than this part of what a tenth of the picture exceeds, below full scale. */
#define BRIGHT_PART 0.7
#define BRIGHT_SHARE 0.9
#define CLIPPED 65200

/* Of all pixels so many are looked at, in rows as far apart as that takes. */
#define SAMPLES 2.0e5
#define LEAST_SAMPLES 2000

/* Second differences of more than so many times the mean are edges. */
#define REACH 4.0

/* Of second differences that are exactly 0: no noise is left to speak of. */
#define MOST_ZEROS 0.5

typedef struct
{
  guint16 *values;
  guint n, zeros;
} Differences;

static int
ascending (gconstpointer a, gconstpointer b)
{
  return *(const guint16 *)a - *(const guint16 *)b;
}

static guint
rows_apart (guint width, guint height)
{
  return (guint)MAX (1.0, ceil ((double)width * height / SAMPLES));
}

void
wsi_smoothed_rows (guint width, guint height, GArray *rows)
{
  const guint every = rows_apart (width, height);
  for (guint y = every / 2; y < height; y += every)
    g_array_append_val (rows, y);
}

static int
bright_level (const WsImage *image)
{
  const guint every = rows_apart (image->width, image->height);
  g_autofree guint16 *values = g_new (guint16, image->width);
  g_autofree guint16 *room = g_new (guint16, image->width);
  double sum = 0;
  guint rows = 0;
  for (guint y = every / 2; y < image->height; y += every, rows++)
  {
    memcpy (values, wsi_image_light_row (image, y, room), sizeof *values * image->width);
    qsort (values, image->width, sizeof *values, ascending);
    sum = MAX (sum, values[(guint)(BRIGHT_SHARE * (image->width - 1))]);
  }
  return (int)(BRIGHT_PART * sum);
}

/* Along a row, `apart` px to either side. */
static void
collect (const WsImage *image, int bright, guint apart, Differences *differences)
{
  const guint every = rows_apart (image->width, image->height), reach = WS_SMOOTHED_APART;
  g_autofree guint16 *room = g_new (guint16, image->width);
  for (guint y = every / 2; y < image->height; y += every)
  {
    const guint16 *row = wsi_image_light_row (image, y, room);
    for (guint x = reach; x + reach < image->width; x++)
    {
      const int a = row[x - apart], b = row[x], c = row[x + apart];
      if (row[x - reach] <= bright || b <= bright || row[x + reach] <= bright || b >= CLIPPED)
        continue;
      const int value = abs (a - 2 * b + c);
      differences->values[differences->n++] = (guint16)MIN (value, G_MAXUINT16);
      differences->zeros += value == 0 ? 1 : 0;
    }
  }
}

static double
mean_below (const Differences *differences, double most)
{
  double sum = 0;
  guint kept = 0;
  for (guint i = 0; i < differences->n; i++)
    if (differences->values[i] < most)
    {
      sum += differences->values[i];
      kept++;
    }
  return kept > 0 ? sum / kept : 0;
}

/* Without what lies far beyond, twice: NAN where there is no noise. */
static double
mean_difference (const WsImage *image, int bright, guint apart, guint16 *room)
{
  Differences differences = { .values = room };
  collect (image, bright, apart, &differences);
  if (differences.n < LEAST_SAMPLES || differences.zeros > MOST_ZEROS * differences.n)
    return NAN;
  double mean = mean_below (&differences, HUGE_VAL);
  for (guint round = 0; round < 2; round++)
    mean = mean_below (&differences, REACH * mean);
  return mean;
}

double
wsi_image_noise_between (const WsImage *image)
{
  if (image->width <= 2 * WS_SMOOTHED_APART)
    return NAN;
  const int bright = bright_level (image);
  const gsize rows = image->height / rows_apart (image->width, image->height) + 1;
  g_autofree guint16 *room = g_new (guint16, rows * image->width);
  const double near = mean_difference (image, bright, 1, room);
  const double far = mean_difference (image, bright, WS_SMOOTHED_APART, room);
  return far > 0 ? near / far : NAN;
}
