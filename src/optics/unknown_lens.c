#include "optics/unknown_lens.h"

#include <math.h>

#include "base/geometry.h"
#include "optics/deviate.h"
#include "optics/lens.h"

double
wsi_unknown_lens_distortion (const WsOptics *optics)
{
  return optics->lens_distortion > 0 ? optics->lens_distortion : WS_UNKNOWN_DISTORTION;
}

WsLens
wsi_unknown_lens (const WsOptics *optics, guint width, guint height)
{
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = width, .height = height };
  const double u = wsi_unknown_lens_distortion (optics) / sqrt (3.0);
  lens.parameters[WS_LENS_T_SCALE] = 1;
  lens.covariance[WS_LENS_T_K1 * WS_LENS_T_N + WS_LENS_T_K1] = u * u;
  return lens;
}

double
wsi_unknown_lens_bow (const WsLens *unknown, WsPoint from, WsPoint to)
{
  WsLens bent[WS_LENS_MAX];
  if (wsi_lens_deviations (unknown, bent) == 0)
    return 0;
  const WsPoint middle = wsi_point (0.5 * (from.x + to.x), 0.5 * (from.y + to.y));
  const WsPoint start = wsi_lens_deviate (unknown, &bent[0], from);
  const WsPoint chord = wsi_point_sub (wsi_lens_deviate (unknown, &bent[0], to), start);
  const WsPoint off = wsi_point_sub (wsi_lens_deviate (unknown, &bent[0], middle), start);
  return fabs (wsi_point_cross (chord, off)) / wsi_point_length (chord);
}
