#include "edge/local_blur.h"

#include "base/geometry.h"
#include "edge/scan.h"
#include "maths/stats.h"

#include <math.h>

/* Fewer fits tell nothing of one place. */
#define LEAST_FITS 16

/* NAN where the scan line is no step. */
static double
blur_at (const WsScanFitter *fitter, const WsOutline *outline, const WsEdgePoint *p)
{
  double along;
  WsProfile profile;
  const WsCrack c = wsi_outline_crack (p, outline->blur_px, &along);
  if (p->on_frame || !wsi_scan_fit (fitter, &c, along, TRUE, &profile))
    return NAN;
  return profile.blur * outline->blur_px / along;
}

double
wsi_outline_blur_near (const WsImage *image, const WsOutline *outline, WsPoint place, double from,
                       double to)
{
  WsScanFitter fitter;
  wsi_scan_fitter_init (&fitter, image, outline->front_lit);
  g_autoptr (GArray) found = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const double off = wsi_point_distance (wsi_point (p->x, p->y), place);
    const double blur = off >= from && off <= to ? blur_at (&fitter, outline, p) : NAN;
    if (isfinite (blur))
      g_array_append_val (found, blur);
  }
  double *blurs = (double *)(void *)found->data;
  return found->len >= LEAST_FITS ? wsi_median (blurs, found->len) : outline->blur_px;
}
