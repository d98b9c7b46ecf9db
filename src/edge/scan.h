/*
 * Rows and columns of pixels across the tool's edge, each fitted with a blurred step.
 */
#ifndef WS_EDGE_SCAN_H
#define WS_EDGE_SCAN_H

#include "edge/boundary.h"
#include "edge/profile.h"

G_BEGIN_DECLS

typedef struct
{
  const WsImage *image;
  gboolean levels_vary; /* within the tool, so that only its rim tells its level */
  WsStepTable table;
} WsScanFitter;

void wsi_scan_fitter_init (WsScanFitter *fitter, const WsImage *image, gboolean levels_vary);

/* Fits the scan across crack `c`; `blur` is along the scan line, place from the tool pixel. */
gboolean wsi_scan_fit (const WsScanFitter *fitter, const WsCrack *c, double blur, gboolean fit_blur,
                       WsProfile *profile);

/* Blur along the scan line of crack `c`, `blur` at first sight, which windows are made wider for
 * where it is more; NAN where the scan is no step. */
double wsi_scan_blur (const WsScanFitter *fitter, const WsCrack *c, double blur);

/* The same as wsi_scan_fit() with the blur held, for a point of the outline: where narrow notches
 * are no blurred step, the boundary between pixels with a residual as great as the step.  FALSE: no
 * point there, tool and ground are too much alike. */
gboolean wsi_scan_fit_point (const WsScanFitter *fitter, const WsCrack *c, double blur,
                             WsProfile *profile);

/* By which part the ground's light changes from pixel to pixel along the scan line, outward, beyond
 * the edge's blur; NAN where the picture ends there. */
double wsi_scan_ground_slope (const WsScanFitter *fitter, const WsCrack *c, double blur);

/* Fits the scan, blur held, with the ground's light made even. */
gboolean wsi_scan_fit_level (const WsScanFitter *fitter, const WsCrack *c, double blur,
                             double slope, WsProfile *profile);

/* By how much the place of the scan, blur held, moves outward along the scan line when samples
 * count by their noise, whose variance within the tool is `share` of the ground's; 0 where that is
 * unknown. */
double wsi_scan_weighed_move (const WsScanFitter *fitter, const WsCrack *c, double blur,
                              double share);

G_END_DECLS

#endif
