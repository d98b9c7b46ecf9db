#include "edge/line_frame.h"

#include "base/geometry.h"
#include "maths/jackknife.h"
#include "maths/least_squares.h"

#include <string.h>

static WsPoint
normal_of (const WsLineFit *fit)
{
  return wsi_point (-fit->direction.y, fit->direction.x);
}

void
wsi_line_legendre (const WsLineFit *fit, double t, double P[WS_LINE_TERMS])
{
  const double s = (2 * t - fit->t_low - fit->t_high) / (fit->t_high - fit->t_low);
  P[0] = 1;
  P[1] = s;
  P[2] = 0.5 * (3 * s * s - 1);
}

void
wsi_line_frame_read (const WsPoint *points, WsLineFit *fit, WsLineFrame *frame)
{
  fit->t_low = HUGE_VAL;
  fit->t_high = -HUGE_VAL;
  for (guint i = 0; i < frame->n; i++)
  {
    frame->t[i] = wsi_point_dot (wsi_point_sub (points[i], fit->centre), fit->direction);
    frame->d[i] = wsi_point_dot (wsi_point_sub (points[i], fit->centre), normal_of (fit));
    fit->t_low = MIN (fit->t_low, frame->t[i]);
    fit->t_high = MAX (fit->t_high, frame->t[i]);
  }
}

gboolean
wsi_line_frame_solve (const WsLineFrame *frame, const WsLineFit *fit, guint skip_from,
                      guint skip_to, const WsLineBowPrior *bow, double terms[WS_LINE_TERMS])
{
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, WS_LINE_TERMS);
  for (guint i = 0; i < frame->n; i++)
  {
    if (i >= skip_from && i < skip_to)
      continue;
    double P[WS_LINE_TERMS];
    wsi_line_legendre (fit, frame->t[i], P);
    wsi_least_squares_add (&sums, P, frame->d[i], frame->weight[i]);
  }
  if (bow != NULL)
    wsi_least_squares_prior (&sums, 2, bow->value, bow->weight);
  return wsi_least_squares_solve (&sums, terms, NULL);
}

double
wsi_line_frame_residual (const WsLineFrame *frame, const WsLineFit *fit,
                         const double terms[WS_LINE_TERMS], guint i)
{
  double P[WS_LINE_TERMS];
  wsi_line_legendre (fit, frame->t[i], P);
  return frame->d[i] - terms[0] - terms[1] * P[1] - terms[2] * P[2];
}

void
wsi_line_frame_absorb (WsLineFit *fit, const double terms[WS_LINE_TERMS])
{
  const double half = 0.5 * (fit->t_high - fit->t_low);
  const double middle = 0.5 * (fit->t_high + fit->t_low);
  const double turn = atan (terms[1] / half);
  const WsPoint normal = normal_of (fit);
  fit->centre =
    wsi_point_along (wsi_point_along (fit->centre, middle, fit->direction), terms[0], normal);
  fit->direction = wsi_point (cos (turn) * fit->direction.x + sin (turn) * normal.x,
                              cos (turn) * fit->direction.y + sin (turn) * normal.y);
  fit->bow = terms[2];
}

void
wsi_line_frame_find_u (const WsLineFrame *frame, WsLineFit *fit, const WsLineBowPrior *bow)
{
  double offset[WS_JACKKNIFE_BLOCKS], slope[WS_JACKKNIFE_BLOCKS];
  const double half = 0.5 * (fit->t_high - fit->t_low);
  for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
  {
    double terms[WS_LINE_TERMS];
    if (!wsi_line_frame_solve (frame, fit, wsi_jackknife_from (frame->n, b),
                               wsi_jackknife_from (frame->n, b + 1), bow, terms))
      memset (terms, 0, sizeof terms);
    offset[b] = terms[0];
    slope[b] = terms[1] / half;
  }
  fit->u_offset = wsi_jackknife_u (offset);
  fit->u_angle = wsi_jackknife_u (slope);
}
