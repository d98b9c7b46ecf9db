#include "edge/crests.h"

#include "image/light.h"

#include <math.h>

/* Rows that are smoothed at once, and how far the smoothing reaches. */
#define BAND_ROWS 128
#define REACH 4

typedef struct
{
  const WsImage *image;
  double least;
  float kernel[2 * REACH + 1];
  guint first, rows; /* of the picture, that `smooth` and `change` hold */
  float *across;     /* smoothed along rows */
  float *smooth;
  float *change; /* length of the gradient */
  GArray *points;
  GArray *pixels; /* of guint64, y * width + x, for each point */
} Work;

static void
fill_kernel (float kernel[2 * REACH + 1])
{
  double sum = 0;
  for (int i = -REACH; i <= REACH; i++)
    sum += exp (-0.5 * i * i / (WS_CRESTS_SMOOTHING * WS_CRESTS_SMOOTHING));
  for (int i = -REACH; i <= REACH; i++)
    kernel[i + REACH] =
      (float)(exp (-0.5 * i * i / (WS_CRESTS_SMOOTHING * WS_CRESTS_SMOOTHING)) / sum);
}

static void
smooth_row (const Work *work, guint row)
{
  const guint width = work->image->width;
  g_autofree guint16 *room = g_new (guint16, width);
  const guint16 *light = wsi_image_light_row (work->image, work->first + row, room);
  float *out = work->across + (gsize)row * width;
  for (guint x = 0; x < width; x++)
  {
    float sum = 0;
    for (int i = -REACH; i <= REACH; i++)
      sum += work->kernel[i + REACH] * light[CLAMP ((int)x + i, 0, (int)width - 1)];
    out[x] = sum / WS_IMAGE_FULL_SCALE;
  }
}

static void
smooth_down (const Work *work, guint row)
{
  const guint width = work->image->width;
  float *out = work->smooth + (gsize)row * width;
  for (guint x = 0; x < width; x++)
    out[x] = 0;
  for (int i = -REACH; i <= REACH; i++)
  {
    const guint from = (guint)CLAMP ((int)row + i, 0, (int)work->rows - 1);
    const float *in = work->across + (gsize)from * width, weight = work->kernel[i + REACH];
    for (guint x = 0; x < width; x++)
      out[x] += weight * in[x];
  }
}

static WsPoint
gradient (const Work *work, guint x, guint row)
{
  const guint width = work->image->width;
  const float *at = work->smooth + (gsize)row * width + x;
  const float right = at[1], left = *(at - 1), below = at[width], above = *(at - (gsize)width);
  return (WsPoint){ 0.5 * (double)(right - left), 0.5 * (double)(below - above) };
}

static void
take_change (const Work *work, guint row)
{
  const guint width = work->image->width;
  for (guint x = 1; x + 1 < width; x++)
  {
    const WsPoint g = gradient (work, x, row);
    work->change[(gsize)row * width + x] = (float)hypot (g.x, g.y);
  }
}

static void
take_crest (const Work *work, guint x, guint row)
{
  const gsize width = work->image->width, at = row * width + x;
  const double here = (double)work->change[at];
  if (!(here > work->least))
    return;
  const WsPoint g = gradient (work, x, row);
  const gboolean by_row = fabs (g.x) >= fabs (g.y);
  const gsize step = by_row ? 1 : width;
  const double before = (double)work->change[at - step], after = (double)work->change[at + step];
  if (!(before > 0 && after > 0) || before >= here || after > here)
    return;
  const double bend = log (before) - 2 * log (here) + log (after);
  const double shift = bend < 0 ? 0.5 * (log (before) - log (after)) / bend : 0;
  const WsEdgePoint point = { .x = x + (by_row ? shift : 0),
                              .y = work->first + row + (by_row ? 0 : shift),
                              .nx = (float)(g.x / here),
                              .ny = (float)(g.y / here) };
  const guint64 pixel = (guint64)(work->first + row) * width + x;
  g_array_append_val (work->points, point);
  g_array_append_val (work->pixels, pixel);
}

/* Of the picture's rows from `top` on. */
static void
look_at_band (Work *work, guint top)
{
  const guint height = work->image->height, margin = REACH + 2;
  const guint end = MIN (top + BAND_ROWS, height);
  work->first = top > margin ? top - margin : 0;
  work->rows = MIN (end + margin, height) - work->first;
  for (guint row = 0; row < work->rows; row++)
    smooth_row (work, row);
  for (guint row = 0; row < work->rows; row++)
    smooth_down (work, row);
  for (guint row = 1; row + 1 < work->rows; row++)
    take_change (work, row);
  for (guint y = MAX (top, 2); y < end && y + 2 < height; y++)
    for (guint x = 2; x + 2 < work->image->width; x++)
      take_crest (work, x, y - work->first);
}

/* ---- What hangs together ------------------------------------------------------------------- */

typedef struct
{
  GHashTable *at; /* a pixel's point, from 1 */
  guint64 width;
  guint8 *seen;
  GArray *run; /* of guint */
} Chains;

static void
add_neighbours (Chains *chains, guint64 pixel)
{
  for (int dy = -1; dy <= 1; dy++)
    for (int dx = -1; dx <= 1; dx++)
    {
      const guint64 next = pixel + (guint64)(dy * (gint64)chains->width + dx);
      const guint found = GPOINTER_TO_UINT (g_hash_table_lookup (chains->at, &next));
      if (found == 0 || chains->seen[found - 1])
        continue;
      const guint i = found - 1;
      chains->seen[i] = 1;
      g_array_append_val (chains->run, i);
    }
}

/* The points whose chain is long enough. */
static GArray *
take_long (const Work *work, guint shortest)
{
  GArray *kept = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  const guint64 *pixels = (const guint64 *)(const void *)work->pixels->data;
  const guint n = work->points->len;
  g_autoptr (GHashTable) at = g_hash_table_new (g_int64_hash, g_int64_equal);
  g_autofree guint8 *seen = g_new0 (guint8, n + 1);
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (guint));
  Chains chains = { at, work->image->width, seen, run };
  for (guint i = 0; i < n; i++)
    g_hash_table_insert (at, (gpointer)&pixels[i], GUINT_TO_POINTER (i + 1));
  for (guint i = 0; i < n; i++)
  {
    if (seen[i])
      continue;
    g_array_set_size (run, 0);
    seen[i] = 1;
    g_array_append_val (run, i);
    for (guint k = 0; k < run->len; k++)
      add_neighbours (&chains, pixels[g_array_index (run, guint, k)]);
    for (guint k = 0; run->len >= shortest && k < run->len; k++)
      g_array_append_val (kept,
                          g_array_index (work->points, WsEdgePoint, g_array_index (run, guint, k)));
  }
  return kept;
}

GArray *
wsi_crests_find (const WsImage *image, double least, guint shortest)
{
  const gsize room = (gsize)image->width * (BAND_ROWS + 2 * (REACH + 2));
  g_autofree float *across = g_new0 (float, room);
  g_autofree float *smooth = g_new0 (float, room);
  g_autofree float *change = g_new0 (float, room);
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  g_autoptr (GArray) pixels = g_array_new (FALSE, FALSE, sizeof (guint64));
  Work work = { .image = image,
                .least = least,
                .across = across,
                .smooth = smooth,
                .change = change,
                .points = points,
                .pixels = pixels };
  fill_kernel (work.kernel);
  for (guint top = 0; top < image->height && image->width > 4; top += BAND_ROWS)
    look_at_band (&work, top);
  return take_long (&work, shortest);
}
