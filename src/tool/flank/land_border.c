#include "tool/flank/land_border.h"

#include "maths/stats.h"
#include "tool/flank/land_profile.h"

#include <math.h>

/* A border may be local: it is looked for in overlapping stretches of the edge, this many side by
 * side. */
#define STRETCHES 8

/* Share of a row's columns that must be seen. */
#define LEAST_SEEN 0.15

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
      values[n++] = wsi_land_log_light (cell) - window->middle[s];
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
        values[n++] = wsi_land_log_light (wsi_band_cell (band, s, d));
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

/* The end of the land that was found may lie so far beyond the border that is, px and as part of
 * its depth since ends are ragged, and a wedge's so much nearer to the edge; a notch's in an eighth
 * of the edge anywhere. */
#define SAME_BORDER_PX 12
#define RAGGED_SHARE 0.25
#define SAME_BORDER_SHARE 0.5

/* Does a land end there by a third of the window's columns? */
static gboolean
is_told (const Window *window, const double *width, double where)
{
  const gboolean all = window->last - window->first == window->band->length;
  const double least = all ? SAME_BORDER_SHARE * where : 1,
               most = where + MAX (SAME_BORDER_PX, RAGGED_SHARE * where);
  guint n = 0, seen = 0;
  for (guint s = window->first; width != NULL && s < window->last; s++)
    if (isfinite (width[s]))
    {
      seen++;
      n += width[s] >= least && width[s] <= most ? 1 : 0;
    }
  return n > 0 && 3 * n >= seen;
}

/* The greatest of all that it is told by. */
static gboolean
is_peak (const double *steps, guint d, guint depth)
{
  for (guint i = d > BESIDE_TO ? d - BESIDE_TO : 0; i <= MIN (d + BESIDE_TO, depth - 1); i++)
    if (isfinite (steps[i]) && steps[i] > steps[d])
      return FALSE;
  return TRUE;
}

/* Is there a border in the window where `width` has no land end? */
static gboolean
has_border (const Window *window, const double *width, guint from, double least)
{
  const guint depth = window->band->depth;
  g_autofree double *values = g_new (double, MAX (window->band->length, depth));
  g_autofree double *profile = g_new (double, depth);
  g_autofree double *steps = g_new (double, depth);
  guint n = 0;
  for (guint d = 0; d < depth; d++)
  {
    profile[d] = row_light (window, values, d);
    steps[d] = NAN;
  }
  for (guint d = from + BESIDE_FROM + 1; d + BESIDE_TO < depth; d++)
  {
    steps[d] = step_at (profile, from, d);
    if (isfinite (steps[d]))
      values[n++] = steps[d];
  }
  const double limit = n > 0 ? MAX (least, BORDER_TIMES * wsi_median (values, n)) : HUGE_VAL;
  for (guint d = 0; d < depth; d++)
    if (steps[d] > limit && is_peak (steps, d, depth) && !is_told (window, width, d))
      return TRUE;
  return FALSE;
}

/* Few columns vary more than all. */
#define LOCAL_BORDER_LOG 0.08

gboolean
wsi_land_border_find (const WsBand *band, const guint8 *hidden, const double *width, guint from)
{
  g_autofree double *middle = column_middles (band);
  Window window = { band, hidden, middle, 0, band->length };
  gboolean found = has_border (&window, width, from, BORDER_LOG);
  for (guint k = 0; k + 1 < 2 * STRETCHES && !found; k++)
  {
    window.first = k * band->length / (2 * STRETCHES);
    window.last = MIN (window.first + band->length / STRETCHES, band->length);
    found = has_border (&window, width, from, LOCAL_BORDER_LOG);
  }
  return found;
}
