/*
 * A sensor's noise never is the same twice.  Where a line of pixels is the one before once more, it
 * was copied; where a picture is enlarged so, edges lie up to half a pixel of the old picture from
 * where its pixels now stand, and alike along whole lines.
 */
#include "image/repeated.h"

#include "image/light.h"
#include "image/passing.h"

#include <math.h>

/* Fewer lines of their own say nothing; and lines of their own differ from the one before in this
 * part of their samples, or there is next to no noise. */
#define LEAST_LINES 60
#define LEAST_DIFFERENT 0.25

/* A picture is made at most so many times as large; of fewer repeated lines no order is seen. */
#define MOST_TIMES 8
#define LEAST_REPEATED 8

/* Rounding to whole lines moves a count by 1 at most; where it begins, by another. */
#define EVEN 2.0

typedef struct
{
  guint n;
  guint *different; /* samples of each line that aren't those of the line before */
  guint samples;    /* that were compared */
} Lines;

static void
compare_rows (const WsImage *image, Lines *lines)
{
  const guint step = wsi_passing_step (image->width);
  lines->samples = (image->width + step - 1) / step;
  for (guint y = 1; y < image->height; y++)
    for (guint x = 0; x < image->width; x += step)
    {
      const gsize at = (gsize)y * image->width + x;
      lines->different[y] +=
        wsi_image_light (image, at) != wsi_image_light (image, at - image->width) ? 1 : 0;
    }
}

static void
compare_columns (const WsImage *image, Lines *lines)
{
  const guint step = wsi_passing_step (image->height);
  lines->samples = (image->height + step - 1) / step;
  for (guint y = 0; y < image->height; y += step)
    for (guint x = 1; x < image->width; x++)
    {
      const gsize at = (gsize)y * image->width + x;
      lines->different[x] += wsi_image_light (image, at) != wsi_image_light (image, at - 1) ? 1 : 0;
    }
}

/* Is there a sample of line `at`, of rows or columns, that isn't that of the line before? */
static gboolean
is_own (const WsImage *image, gboolean rows, guint at)
{
  const gsize w = image->width, before = rows ? w : 1;
  const guint n = rows ? image->width : image->height, step = wsi_passing_step (n);
  for (guint i = 0; i < n; i += step)
  {
    const gsize pixel = rows ? at * w + i : i * w + at;
    if (wsi_image_light (image, pixel) != wsi_image_light (image, pixel - before))
      return TRUE;
  }
  return FALSE;
}

/* Nearly every line differs from the one before, as its first samples mostly tell: then no more
 * has to be looked at. */
static gboolean
all_are_own (const WsImage *image, gboolean rows)
{
  const guint n = rows ? image->height : image->width;
  guint repeated = 0;
  if (image->sparse != NULL && image->sparse->passing != NULL)
    return wsi_passing_repeated (image->sparse->passing, rows) < LEAST_REPEATED;
  for (guint i = 1; i < n && repeated < LEAST_REPEATED; i++)
    repeated += is_own (image, rows, i) ? 0 : 1;
  return repeated < LEAST_REPEATED;
}

/* Lines to one of its own, where those lie at even distances; else 1. */
static double
times (const Lines *lines)
{
  guint own = 0;
  guint64 different = 0;
  for (guint i = 1; i < lines->n; i++)
  {
    own += lines->different[i] > 0 ? 1 : 0;
    different += lines->different[i];
  }
  const double found = own > 0 ? (double)(lines->n - 1) / own : 0;
  if (own < LEAST_LINES || own + LEAST_REPEATED >= lines->n || found > MOST_TIMES ||
      (double)different < LEAST_DIFFERENT * own * lines->samples)
    return 1;
  guint count = 0;
  for (guint i = 1; i < lines->n; i++)
  {
    count += lines->different[i] > 0 ? 1 : 0;
    if (fabs (count - i / found) > EVEN)
      return 1;
  }
  return found;
}

double
wsi_image_repeated (const WsImage *image)
{
  if (image->lossy)
    return 1;
  double most = 1;
  for (guint d = 0; d < 2; d++)
  {
    const guint n = d == 0 ? image->height : image->width;
    if (all_are_own (image, d == 0))
      continue;
    g_autofree guint *different = g_new0 (guint, n);
    Lines lines = { .n = n, .different = different };
    if (d == 0)
      compare_rows (image, &lines);
    else
      compare_columns (image, &lines);
    most = MAX (most, times (&lines));
  }
  return most;
}
