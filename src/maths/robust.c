#include "maths/robust.h"

#include "maths/stats.h"

#include <string.h>

/* Sums over the points, weighted by the residuals of the round before; sigma 0: equally. */
static void
sum_up (const WsRobustModel *model, gconstpointer data, const double *residuals,
        const WsRobustSolution *before, WsLeastSquares *sums)
{
  guint n = 0;
  wsi_least_squares_init (sums, model->n_unknowns);
  if (model->prior != NULL)
    model->prior (data, before->sigma, sums);
  for (guint i = 0; i < model->n_points; i++)
  {
    double row[WS_LEAST_SQUARES_MAX], value;
    if (!model->row (data, i, before->x, row, &value))
      continue;
    const double weight =
      before->sigma > 0 ? wsi_tukey_weight (residuals[n] / (WS_TUKEY_REACH * before->sigma)) : 1;
    wsi_least_squares_add (sums, row, value, weight);
    n++;
  }
}

static void
find_residuals (const WsRobustModel *model, gconstpointer data, double *residuals,
                WsRobustSolution *solution)
{
  solution->n_left = 0;
  for (guint i = 0; i < model->n_points; i++)
  {
    double row[WS_LEAST_SQUARES_MAX], value;
    if (!model->row (data, i, solution->x, row, &value))
      continue;
    for (guint k = 0; k < model->n_unknowns; k++)
      value -= solution->x[k] * row[k];
    residuals[solution->n_left++] = value;
  }
}

gboolean
wsi_robust_fit (const WsRobustModel *model, gconstpointer data, double *residuals,
                WsRobustSolution *solution)
{
  g_autofree double *scratch = g_new (double, model->n_points);
  memset (solution, 0, sizeof *solution);
  for (guint round = 0; round < model->n_rounds; round++)
  {
    WsLeastSquares sums;
    sum_up (model, data, residuals, solution, &sums);
    if (!wsi_least_squares_solve (&sums, solution->x, solution->inverse))
      return FALSE;
    find_residuals (model, data, residuals, solution);
    if (solution->n_left == 0)
      return FALSE;
    memcpy (scratch, residuals, solution->n_left * sizeof *scratch);
    solution->sigma = MAX (wsi_mad_sigma (scratch, solution->n_left), model->least_sigma);
  }
  return TRUE;
}
