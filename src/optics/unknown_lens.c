#include "optics/unknown_lens.h"

#include <math.h>

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
