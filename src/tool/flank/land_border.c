#include "tool/flank/land_border.h"

#include "maths/stats.h"

#include <math.h>

/* Keeps the logarithm of dark cells from being noise: one code of 8 bits near black. */
#define DARK 0.003

/* A border may be local: it is looked for in overlapping stretches of the edge, this many side by
 * side. */
#define STRETCHES 8

/* Share of a row's columns that must be seen. */
#define LEAST_SEEN 0.15

static double
log_light (const float *cell)
{
  return log (wsi_band_luminance (cell) + DARK);
}

/* Light on either side of a border is taken from so many px to so many from it. */
#define BESIDE_FROM 3
#define BESIDE_TO 14

/* A border's step, and how many times greater than what the flank's own light does from place to
 * place. */
#define BORDER_LOG 0.03
#define BORDER_TIMES 6.0

typedef struct
{
  const WsBand *band;
  const guint8 *hidden;
  double *middle;    /* of each column's light; NAN where too little tells */
  guint first, last; /* columns */
} Window;

/* In each column less its own median, since streaks across the edge are no border; NAN where too
 * few columns tell. */
static double
row_light (const Window *window, double *values, guint d)
{
  guint n = 0;
  for (guint s = window->first; s < window->last; s++)
  {
    const float *cell = wsi_band_cell (window->band, s, d);
    if ((window->hidden == NULL || window->hidden[s] == 0) && isfinite (window->middle[s]) &&
        wsi_band_is_tool (cell))
      values[n++] = log_light (cell) - window->middle[s];
  }
  const double wanted = MAX (8, LEAST_SEEN * (window->last - window->first));
  return n >= wanted ? wsi_median (values, n) : (double)NAN;
}

static double *
column_middles (const WsBand *band)
{
  double *middle = g_new (double, band->length);
  g_autofree double *values = g_new (double, band->depth);
  for (guint s = 0; s < band->length; s++)
  {
    guint n = 0;
    for (guint d = 0; d < band->depth; d++)
      if (wsi_band_is_tool (wsi_band_cell (band, s, d)))
        values[n++] = log_light (wsi_band_cell (band, s, d));
    middle[s] = n >= band->depth / 4 ? wsi_median (values, n) : (double)NAN;
  }
  return middle;
}

/* Near the edge fewer cells lie before a border; `from` is the first that counts. */
static double
step_at (const double *profile, guint from, guint d)
{
  double before = 0, after = 0;
  guint n = 0;
  for (guint k = BESIDE_FROM; k <= BESIDE_TO; k++)
  {
    after += profile[d + k] / (BESIDE_TO - BESIDE_FROM + 1);
    if (d >= from + k)
    {
      before += profile[d - k];
      n++;
    }
  }
  return fabs (after - before / n);
}

/* Deepest place of the steepest border in the window, or NAN. */
static double
border_in (const Window *window, guint from, double least)
{
  const guint depth = window->band->depth;
  g_autofree double *values = g_new (double, MAX (window->band->length, depth));
  g_autofree double *profile = g_new (double, depth);
  for (guint d = 0; d < depth; d++)
    profile[d] = row_light (window, values, d);
  double greatest = 0, where = NAN;
  guint n = 0;
  for (guint d = from + BESIDE_FROM + 1; d + BESIDE_TO < depth; d++)
  {
    const double step = step_at (profile, from, d);
    if (!isfinite (step))
      continue;
    if (step > greatest)
    {
      greatest = step;
      where = d;
    }
    values[n++] = step;
  }
  return n > 0 && greatest > MAX (least, BORDER_TIMES * wsi_median (values, n)) ? where
                                                                                : (double)NAN;
}

/* Few columns vary more than all. */
#define LOCAL_BORDER_LOG 0.08

/* The end of the land that was found may lie so far beyond the border that is, px. */
#define SAME_BORDER_PX 12

/* Does a land end there or before, by a third of the window's columns?  Beyond its end is none. */
static gboolean
is_told (const Window *window, const double *width, double where)
{
  guint n = 0, seen = 0;
  for (guint s = window->first; width != NULL && s < window->last; s++)
    if (isfinite (width[s]))
    {
      seen++;
      n += width[s] > 0 && width[s] <= where + SAME_BORDER_PX ? 1 : 0;
    }
  return n > 0 && 3 * n >= seen;
}

gboolean
wsi_land_border_find (const WsBand *band, const guint8 *hidden, const double *width, guint from)
{
  g_autofree double *middle = column_middles (band);
  Window window = { band, hidden, middle, 0, band->length };
  double where = border_in (&window, from, BORDER_LOG);
  gboolean found = isfinite (where) && !is_told (&window, width, where);
  for (guint k = 0; k + 1 < 2 * STRETCHES && !found; k++)
  {
    window.first = k * band->length / (2 * STRETCHES);
    window.last = MIN (window.first + band->length / STRETCHES, band->length);
    where = border_in (&window, from, LOCAL_BORDER_LOG);
    found = isfinite (where) && !is_told (&window, width, where);
  }
  return found;
}
