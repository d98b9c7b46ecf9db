#include "tool/form/comparison.h"

#include "base/geometry.h"
#include "maths/stats.h"

/* Deviations are means over so much outline: noise falls, a defect this long still shows whole. */
#define WINDOW_PX 7.0
#define WINDOW_BLURS 3.0

/* Two points beside the profile may be lost to a crumb, and blur rounds a sharp corner off over
 * this many of its deviations.  Own trials on rendered profiles. */
#define GAP_PX 4.0
#define GAP_BLURS 6.0

/* Windows so far apart have no block of 8 px in common; differences of fewer tell nothing. */
#define APART 2.0
#define LEAST_DIFFERENCES 60

/* Of a normal distribution the median size is 0.6745 of its standard deviation. */
#define MEDIAN_SIZE 0.6745

void
wsi_form_summary_clear (WsFormSummary *summary)
{
  g_free (summary->worst);
  g_free (summary->at);
}

double
wsi_form_window_px (const WsOutline *outline)
{
  return MAX (WINDOW_PX, WINDOW_BLURS * outline->blur_px);
}

double
wsi_form_profile_px (const WsContour *nominal, double scale)
{
  double length = 0;
  for (guint i = 0; i < nominal->segments->len; i++)
    length += ws_contour_length (&g_array_index (nominal->segments, WsContourSegment, i));
  return length * scale;
}

double
wsi_form_gap_px (const WsOutline *outline)
{
  return GAP_PX + GAP_BLURS * outline->blur_px;
}

/* Leaves out what blur reaches from a gap of the profile that begins at `from` and ends at `to`. */
static void
clear_beside (const WsFormFit *fit, double from, double to, double guard, gboolean *clear)
{
  for (guint k = 0; k < fit->points->len; k++)
  {
    const double along = wsi_form_fit_point (fit, k)->along;
    if (along > from - guard && along < to + guard)
      clear[k] = FALSE;
  }
}

/* A part of the map: neither at a corner nor where the outline leaves the profile, for a drop or
 * what is broken. */
static gboolean *
find_clear (const WsFormComparison *work, gboolean beside_gaps)
{
  const WsFormFit *fit = work->fit;
  const double gap = wsi_form_gap_px (work->outline);
  gboolean *clear = g_new (gboolean, fit->points->len + 1);
  double last = 0;
  for (guint i = 0; i < fit->points->len; i++)
    clear[i] = !wsi_form_fit_point (fit, i)->at_corner;
  for (guint i = 0; i < fit->points->len && !beside_gaps; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    /* So far off it is beside nothing. */
    if (fabs (p->deviation) > gap)
      continue;
    if (p->along - last > gap)
      clear_beside (fit, last, p->along, work->task.guard, clear);
    last = p->along;
  }
  const double end = wsi_form_profile_px (work->task.nominal, fit->scale);
  if (!beside_gaps && end - last > gap)
    clear_beside (fit, last, end, work->task.guard, clear);
  return clear;
}

double *
wsi_form_smooth (const WsFormComparison *work, gboolean beside_gaps, guint *counts)
{
  const WsFormFit *fit = work->fit;
  const guint n = fit->points->len;
  const double half = 0.5 * wsi_form_window_px (work->outline);
  g_autofree gboolean *clear = find_clear (work, beside_gaps);
  double *map = g_new (double, n + 1);
  guint low = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    map[i] = NAN;
    if (!clear[i])
      continue;
    while (wsi_form_fit_point (fit, low)->along < p->along - half)
      low++;
    double sum = 0;
    guint counted = 0;
    for (guint k = low; k < n && wsi_form_fit_point (fit, k)->along <= p->along + half; k++)
      if (clear[k] && wsi_form_fit_point (fit, k)->number == p->number)
      {
        sum += wsi_form_fit_point (fit, k)->deviation;
        counted++;
      }
    map[i] = sum / counted;
    counts[i] = counted;
  }
  return map;
}

/* Of the misfits that a mean's scan lines have on the average, what is beyond so many times the
 * outline's own (plain edges' are alike within a factor of 2) is something beside the edge; and
 * each part of the step moves the edge by up to so much, px.  Under films of oil and at roots of
 * hairs it moved means by 3 to 6 (own trials). */
#define OWN_MISFITS 1.5
#define MISFIT_MOVES_PX 10.0

/* By no more than so many times what the mean is off the rest of its segment: where it isn't, it is
 * a corner's light that misfits. */
#define MOVES_OFF 1.25

/* It adds to the tool.  Only as the ground's light does it make less of it, and then by no more
 * than this, px; where more is missing the tool is broken. */
#define MOST_LESS_PX 0.3

/* What is compared of point `at`'s segment within half a window of it: its misfits' mean. */
static double
mean_misfit (const WsFormComparison *work, guint at)
{
  const WsFormFit *fit = work->fit;
  const WsFormPoint *p = wsi_form_fit_point (fit, at);
  const double half = 0.5 * wsi_form_window_px (work->outline);
  guint from = at, counted = 0;
  double sum = 0;
  while (from > 0 && wsi_form_fit_point (fit, from - 1)->along >= p->along - half)
    from--;
  for (guint k = from; k < fit->points->len; k++)
  {
    const WsFormPoint *q = wsi_form_fit_point (fit, k);
    if (q->along > p->along + half)
      break;
    if (q->at_corner || q->number != p->number)
      continue;
    sum += q->misfit;
    counted++;
  }
  return counted > 0 ? sum / counted : 0;
}

double
wsi_form_level (const WsFormFit *fit, const double *map, guint number, double share)
{
  g_autofree double *values = g_new (double, fit->points->len + 1);
  gsize n = 0;
  for (guint i = 0; i < fit->points->len; i++)
    if (wsi_form_fit_point (fit, i)->number == number && isfinite (map[i]))
      values[n++] = map[i];
  return n > 0 ? wsi_quantile (values, n, share) : 0;
}

double *
wsi_form_veils (const WsFormComparison *work, const double *map)
{
  const guint n = work->fit->points->len;
  double *veils = g_new0 (double, n + 1), level = 0;
  guint number = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (work->fit, i);
    if (!isfinite (map[i]))
      continue;
    if (p->number != number)
      level = wsi_form_level (work->fit, map, p->number, 0.5);
    number = p->number;
    const double off = map[i] - level;
    const double most = MIN (MOVES_OFF * fabs (off), off < 0 ? MOST_LESS_PX : HUGE_VAL);
    const double more = mean_misfit (work, i) - OWN_MISFITS * work->outline->noise;
    veils[i] = CLAMP (MISFIT_MOVES_PX * more, 0, most);
  }
  return veils;
}

double
wsi_form_window_u (const WsFormFit *fit, const double *map, double window)
{
  const guint n = fit->points->len;
  g_autofree double *sizes = g_new (double, n + 1);
  gsize found = 0;
  for (guint i = 0, next = 0; i < n; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    while (next < n && wsi_form_fit_point (fit, next)->along < p->along + APART * window)
      next++;
    if (next < n && wsi_form_fit_point (fit, next)->number == p->number && isfinite (map[i]) &&
        isfinite (map[next]))
      sizes[found++] = fabs (map[next] - map[i]);
  }
  return found < LEAST_DIFFERENCES ? 0 : wsi_median (sizes, found) / (MEDIAN_SIZE * sqrt (2.0));
}

void
wsi_form_summarise (const WsFormFit *fit, const double *map, guint n_numbers,
                    WsFormSummary *summary)
{
  *summary = (WsFormSummary){ -HUGE_VAL, HUGE_VAL, NAN, -1, -1, n_numbers, NULL, NULL };
  summary->worst = g_new (double, n_numbers + 1);
  summary->at = g_new (gint, n_numbers + 1);
  for (guint k = 0; k <= n_numbers; k++)
  {
    summary->worst[k] = NAN;
    summary->at[k] = -1;
  }
  double squares = 0, length = 0;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    if (!isfinite (map[i]))
      continue;
    squares += p->length * map[i] * map[i];
    length += p->length;
    if (map[i] > summary->max)
    {
      summary->max = map[i];
      summary->at_max = (gint)i;
    }
    if (map[i] < summary->min)
    {
      summary->min = map[i];
      summary->at_min = (gint)i;
    }
    double *worst = &summary->worst[p->number];
    if (isfinite (*worst) && fabs (map[i]) <= fabs (*worst))
      continue;
    *worst = map[i];
    summary->at[p->number] = (gint)i;
  }
  if (length > 0)
    summary->rms = sqrt (squares / length);
}
