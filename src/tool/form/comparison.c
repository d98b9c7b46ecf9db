#include "tool/form/comparison.h"

#include "base/geometry.h"

/* Deviations are means over so much outline: noise falls, a defect this long still shows whole. */
#define WINDOW_PX 7.0
#define WINDOW_BLURS 3.0

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

double *
wsi_form_smooth (const WsFormFit *fit, double window, guint *counts)
{
  const guint n = fit->points->len;
  double *map = g_new (double, n + 1);
  guint low = 0, high = 0, counted = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = wsi_form_fit_point (fit, i);
    map[i] = NAN;
    if (p->at_corner)
      continue;
    while (wsi_form_fit_point (fit, low)->along < p->along - 0.5 * window)
      low++;
    double sum = 0;
    counted = 0;
    for (high = low; high < n && wsi_form_fit_point (fit, high)->along <= p->along + 0.5 * window;
         high++)
    {
      const WsFormPoint *q = wsi_form_fit_point (fit, high);
      if (q->at_corner || q->number != p->number)
        continue;
      sum += q->deviation;
      counted++;
    }
    map[i] = sum / counted;
    counts[i] = counted;
  }
  return map;
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
