#include "tool/flank/marks.h"

#include <math.h>

/* Keeps the logarithm of dark cells from being noise. */
#define DARK 0.003

/* Marks are looked for by pairs, quadruples … of px, since noise loses more by that than they do.
 */
#define SCALES 3

/* Cells of a scale within which light's mean is taken off: shading is no texture. */
#define HIGH_PASS 5

/* Parts of the flank that are judged each by itself: cells of a scale. */
#define PART 24
#define HALF_ROWS 10 /* PART / 2 - 2 */

/* A part must be seen for so much of it. */
#define LEAST_SEEN 0.8

typedef struct
{
  guint width, height;
  float *light; /* log luminance; NAN where nothing is told */
} Sheet;

/* The tool's sides are blurred over so many cells, which would pass for marks along them. */
#define SIDES 8

/* The part of a row that is flank for sure. */
static void
row_inside (const WsBand *band, guint d, guint *first, guint *last)
{
  *first = *last = 0;
  guint from = 0, to = band->length;
  while (from < to && !wsi_band_is_tool (wsi_band_cell (band, from, d)))
    from++;
  while (to > from && !wsi_band_is_tool (wsi_band_cell (band, to - 1, d)))
    to--;
  if (to - from > 2 * SIDES)
  {
    *first = from + SIDES;
    *last = to - SIDES;
  }
}

static Sheet
sheet_of (const WsBand *band, guint from)
{
  Sheet sheet = { band->length, band->depth - MIN (from, band->depth), NULL };
  sheet.light = g_new (float, MAX ((gsize)sheet.width * sheet.height, 1));
  for (guint y = 0; y < sheet.height; y++)
  {
    guint first, last;
    row_inside (band, y + from, &first, &last);
    for (guint x = 0; x < sheet.width; x++)
    {
      const float *cell = wsi_band_cell (band, x, y + from);
      const gboolean told =
        x >= first && x < last && wsi_band_is_tool (cell) && !wsi_band_is_clipped (cell);
      sheet.light[(gsize)y * sheet.width + x] =
        told ? (float)log (wsi_band_luminance (cell) + DARK) : NAN;
    }
  }
  return sheet;
}

/* Half as large; consumes `sheet`. */
static Sheet
halved (Sheet sheet)
{
  Sheet half = { sheet.width / 2, sheet.height / 2, NULL };
  half.light = g_new (float, MAX ((gsize)half.width * half.height, 1));
  for (guint y = 0; y < half.height; y++)
    for (guint x = 0; x < half.width; x++)
    {
      const float *at = sheet.light + 2 * (gsize)y * sheet.width + 2 * x;
      half.light[(gsize)y * half.width + x] =
        0.25F * (at[0] + at[1] + at[sheet.width] + at[sheet.width + 1]);
    }
  g_free (sheet.light);
  return half;
}

/* Over as much on either side, so that a slope leaves nothing. */
static float
mean_about (const Sheet *sheet, guint x, guint y)
{
  const guint across = MIN (HIGH_PASS, MIN (x, sheet->width - 1 - x)),
              down = MIN (HIGH_PASS, MIN (y, sheet->height - 1 - y));
  float sum = 0;
  guint n = 0;
  for (guint v = y - down; v <= y + down; v++)
    for (guint u = x - across; u <= x + across; u++)
    {
      const float both = sheet->light[(gsize)v * sheet->width + u] +
                         sheet->light[(gsize)(2 * y - v) * sheet->width + 2 * x - u];
      if (isfinite (both))
      {
        sum += both;
        n += 2;
      }
    }
  return sum / (float)MAX (n, 1);
}

/* What is left of light without its slow changes. */
static float *
high_passed (const Sheet *sheet)
{
  float *high = g_new (float, MAX ((gsize)sheet->width * sheet->height, 1));
  for (guint y = 0; y < sheet->height; y++)
    for (guint x = 0; x < sheet->width; x++)
    {
      const gsize i = (gsize)y * sheet->width + x;
      high[i] = isfinite (sheet->light[i]) ? sheet->light[i] - mean_about (sheet, x, y) : NAN;
    }
  return high;
}

/* Structure tensor: sums of products of light's slopes. */
typedef struct
{
  double xx, xy, yy, squares;
  guint n;
} Tensor;

static void
add_place (const Sheet *sheet, const float *high, guint x, guint y, Tensor *tensor)
{
  const float *at = high + (gsize)y * sheet->width + x;
  const guint w = sheet->width;
  /* Slopes of Scharr's kind, as good in all directions. */
  const double dx = 3 * (double)(at[1 - (gint)w] - at[-1 - (gint)w]) +
                    10 * (double)(at[1] - at[-1]) + 3 * (double)(at[1 + w] - at[(gint)w - 1]),
               dy = 3 * (double)(at[(gint)w - 1] - at[-(gint)w - 1]) +
                    10 * (double)(at[w] - at[-(gint)w]) + 3 * (double)(at[w + 1] - at[1 - (gint)w]);
  if (!isfinite (dx) || !isfinite (dy) || !isfinite (at[0]))
    return;
  tensor->xx += dx * dx;
  tensor->xy += dx * dy;
  tensor->yy += dy * dy;
  tensor->squares += (double)at[0] * (double)at[0];
  tensor->n++;
}

static double
coherence_of (const Tensor *tensor)
{
  const double sum = tensor->xx + tensor->yy;
  return sum > 0 ? hypot (tensor->xx - tensor->yy, 2 * tensor->xy) / sum : 0;
}

/* Along the marks: square to the slopes. */
static double
direction_of (const Tensor *tensor)
{
  const double slope = 0.5 * atan2 (2 * tensor->xy, tensor->xx - tensor->yy);
  return slope > 0 ? slope - G_PI_2 : slope + G_PI_2;
}

/* Of one part, from (x0, y0). */
static Tensor
tensor_of (const Sheet *sheet, const float *high, guint x0, guint y0)
{
  Tensor tensor = { 0 };
  for (guint y = MAX (y0, 1); y < MIN (y0 + PART, sheet->height - 1); y++)
    for (guint x = MAX (x0, 1); x < MIN (x0 + PART, sheet->width - 1); x++)
      add_place (sheet, high, x, y, &tensor);
  return tensor;
}

/* Each counts alike, however strong its marks are. */
static void
add_part (const Tensor *part, Tensor *sum)
{
  const double trace = part->xx + part->yy;
  if (!(trace > 0))
    return;
  sum->xx += part->xx / trace;
  sum->xy += part->xy / trace;
  sum->yy += part->yy / trace;
  sum->squares += part->squares / part->n;
  sum->n++;
}

/* A part agrees when its own marks run within 15 degrees of the whole's. */
#define SAME_DIRECTION (15 * G_PI / 180)
#define LEAST_PART_COHERENCE 0.1

static gboolean
agrees (const Tensor *part, const WsMarks *marks)
{
  const double off = fabs (direction_of (part) - marks->direction);
  return coherence_of (part) > LEAST_PART_COHERENCE && MIN (off, G_PI - off) < SAME_DIRECTION;
}

static WsMarks
look (const Sheet *sheet)
{
  WsMarks marks = { 0 };
  g_autofree float *high = high_passed (sheet);
  g_autoptr (GArray) parts = g_array_new (FALSE, FALSE, sizeof (Tensor));
  Tensor sum = { 0 };
  for (guint y = 0; y + PART / 2 < sheet->height; y += PART)
    for (guint x = 0; x + PART / 2 < sheet->width; x += PART)
    {
      const Tensor part = tensor_of (sheet, high, x, y);
      if (part.n < LEAST_SEEN * (PART - 2) * HALF_ROWS)
        continue;
      g_array_append_val (parts, part);
      add_part (&part, &sum);
    }
  marks.parts = parts->len;
  marks.coherence = coherence_of (&sum);
  marks.direction = direction_of (&sum);
  marks.strength = sqrt (sum.squares / MAX (sum.n, 1));
  for (guint i = 0; i < parts->len; i++)
    marks.agreeing += agrees (&g_array_index (parts, Tensor, i), &marks) / (double)parts->len;
  return marks;
}

/* Own trials: docs/methods/front-lit.md (L112). */
#define LEAST_COHERENCE 0.3
/* Between pixels noise is smoothed more along one direction than along the other. */
#define LEAST_COHERENCE_PX 0.4
#define LEAST_AGREEING 0.6
#define LEAST_STRENGTH 0.002
#define LEAST_PARTS 9

static gboolean
are_seen (const WsMarks *marks, guint scale)
{
  const double least = scale == 0 ? LEAST_COHERENCE_PX : LEAST_COHERENCE;
  return marks->parts >= LEAST_PARTS && marks->coherence >= least &&
         marks->agreeing >= LEAST_AGREEING && marks->strength >= LEAST_STRENGTH;
}

/* Of larger sheets the finest scale tells nothing that the next don't, and takes long. */
#define MOST_CELLS 2000000

void
wsi_marks_find (const WsBand *band, guint from, WsMarks *marks)
{
  Sheet sheet = sheet_of (band, from);
  *marks = (WsMarks){ 0 };
  for (guint scale = 0; scale < SCALES && sheet.width > PART && sheet.height > PART; scale++)
  {
    if (scale > 0)
      sheet = halved (sheet);
    if ((gsize)sheet.width * sheet.height > MOST_CELLS)
      continue;
    WsMarks here = look (&sheet);
    here.seen = are_seen (&here, scale);
    if ((here.seen && !marks->seen) ||
        (here.seen == marks->seen && here.coherence > marks->coherence))
      *marks = here;
  }
  g_free (sheet.light);
}
