#include "edge/find/field.h"

/* Ten for each term. */
#define LEAST_CELLS 60

void
wsi_field_fit_init (WsFieldFit *fit, guint width, guint height)
{
  fit->width = width;
  fit->height = height;
  fit->n = 0;
  wsi_least_squares_init (&fit->sums, WS_FIELD_TERMS);
}

void
wsi_field_fit_add (WsFieldFit *fit, guint x, guint y, double level)
{
  const double u = (x + 0.5) / fit->width, v = (y + 0.5) / fit->height;
  const double terms[WS_FIELD_TERMS] = { 1, u, v, u * u, u * v, v * v };
  /* Their number told as a constant, which compilers unroll. */
  wsi_normal_add (fit->sums.A, fit->sums.b, WS_FIELD_TERMS, terms, level, 1);
  fit->n++;
}

gboolean
wsi_field_fit_solve (const WsFieldFit *fit, double ridge, WsField *field)
{
  WsLeastSquares sums = fit->sums;
  if (fit->n < LEAST_CELLS)
    return FALSE;
  for (guint i = 0; i < WS_FIELD_TERMS && ridge > 0; i++)
    wsi_least_squares_prior (&sums, i, 0, ridge * fit->n);
  return wsi_least_squares_solve (&sums, field->c, NULL);
}
