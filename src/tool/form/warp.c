#include "tool/form/warp.h"

#include <math.h>

#include "maths/least_squares.h"

#define ROUNDS 4

static const WsFormPoint *
point_of (const WsFormFit *fit, guint i)
{
  return &g_array_index (fit->points, WsFormPoint, i);
}

/* Root mean square of what the terms leave; weights of the next round by it. */
static double
left_over (const WsFormFit *fit, const WsFormWarp *warp, const double *terms, double *weights)
{
  const guint n = fit->points->len;
  double squares = 0, length = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    double row[WS_FORM_WARP_MAX], d = p->deviation;
    warp->row (p, warp->frame, row);
    for (guint k = 0; k < warp->n; k++)
      d -= terms[k] * row[k];
    weights[i] = fabs (d);
    squares += p->at_corner ? 0 : p->length * d * d;
    length += p->at_corner ? 0 : p->length;
  }
  const double rms = length > 0 ? sqrt (squares / length) : 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    weights[i] = p->at_corner || weights[i] > 3 * rms ? 0 : p->length;
  }
  return rms;
}

gboolean
wsi_form_warp_fit (const WsFormFit *fit, const WsFormWarp *warp, WsFormWarped *warped)
{
  double variance[WS_FORM_WARP_MAX * WS_FORM_WARP_MAX] = { 0 };
  g_autofree double *weights = g_new (double, fit->points->len + 1);
  *warped = (WsFormWarped){ .rms = 0 };
  left_over (fit, warp, warped->terms, weights);
  for (guint round = 0; round < ROUNDS; round++)
  {
    WsLeastSquares sums;
    wsi_least_squares_init (&sums, warp->n);
    for (guint i = 0; i < fit->points->len; i++)
    {
      double row[WS_FORM_WARP_MAX];
      warp->row (point_of (fit, i), warp->frame, row);
      wsi_least_squares_add (&sums, row, point_of (fit, i)->deviation, weights[i]);
    }
    if (!wsi_least_squares_solve (&sums, warped->terms, variance))
      return FALSE;
    warped->rms = left_over (fit, warp, warped->terms, weights);
  }
  warped->u_last = warped->rms * sqrt (MAX (variance[warp->n * warp->n - 1], 0));
  return TRUE;
}

guint
wsi_form_warp_segments (const WsFormFit *fit)
{
  guint n = 0, last = 0;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    if (!p->at_corner && p->number != last)
    {
      n++;
      last = p->number;
    }
  }
  return n;
}
