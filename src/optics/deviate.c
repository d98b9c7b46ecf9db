#include "optics/deviate.h"

#include "base/geometry.h"
#include "optics/lens.h"

/* Share of a variance that rounding may leave of it. */
#define ROUNDING 1e-12

/* Cholesky's factor, lower triangle, of a matrix that may be singular: columns without
 * variance left stay empty. */
static void
factor (const double *covariance, guint n, double *root)
{
  for (guint j = 0; j < n; j++)
  {
    double left = covariance[j * n + j];
    for (guint k = 0; k < j; k++)
      left -= root[j * n + k] * root[j * n + k];
    if (!(left > ROUNDING * covariance[j * n + j]))
      continue;
    root[j * n + j] = sqrt (left);
    for (guint i = j + 1; i < n; i++)
    {
      double sum = covariance[i * n + j];
      for (guint k = 0; k < j; k++)
        sum -= root[i * n + k] * root[j * n + k];
      root[i * n + j] = sum / root[j * n + j];
    }
  }
}

guint
wsi_lens_deviations (const WsLens *lens, WsLens deviations[WS_LENS_MAX])
{
  const guint n = wsi_lens_n_parameters (lens->model);
  double root[WS_LENS_MAX * WS_LENS_MAX] = { 0 };
  guint count = 0;
  factor (lens->covariance, n, root);
  for (guint j = 0; j < n; j++)
  {
    if (!(root[j * n + j] > 0))
      continue;
    deviations[count] = *lens;
    for (guint i = j; i < n; i++)
      deviations[count].parameters[i] += root[i * n + j];
    count++;
  }
  return count;
}

/* RMS of (r / r0)^3 over a 4 x 3 picture, r0 half the diagonal: sqrt of the mean of r^6 (by
 * integration). */
#define CUBIC_RMS 0.30

WsLens
wsi_lens_left_over (const WsLens *lens)
{
  WsLens other = *lens;
  const double half = 0.5 * hypot (lens->width - 1.0, lens->height - 1.0);
  const double relative = lens->residual_px / (CUBIC_RMS * half);
  if (lens->model == WS_LENS_PINHOLE)
  {
    const double r0 = half / lens->parameters[WS_LENS_P_FX];
    other.parameters[WS_LENS_P_K1] += relative / (r0 * r0);
  }
  else
    other.parameters[WS_LENS_T_K1] += relative;
  return other;
}

WsPoint
wsi_lens_deviate (const WsLens *lens, const WsLens *other, WsPoint ideal)
{
  const WsPoint middle = wsi_point (0.5 * (lens->width - 1.0), 0.5 * (lens->height - 1.0));
  const WsPoint moved = ws_lens_to_ideal (other, ws_lens_to_picture (lens, ideal));
  const double growth = ws_lens_mm_per_px (other) / ws_lens_mm_per_px (lens);
  return wsi_point_along (middle, growth, wsi_point_sub (moved, middle));
}
