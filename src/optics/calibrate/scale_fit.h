/*
 * A camera's scale, edge shift and radial term from things of known size.
 *
 *     size = s (width + G e + R K1)
 *
 * with s in mm per px, e the edge shift, G = 2 for a dark thing and -2 for a hole in it, and R
 * the width's derivative by the telecentric model's K1.  In px this is linear in 1/s, e and K1;
 * it is solved by weighted least squares with what is known beforehand of e and K1.
 * docs/methods/calibration.md, (C8) to (C14).
 */
#ifndef WS_OPTICS_CALIBRATE_SCALE_FIT_H
#define WS_OPTICS_CALIBRATE_SCALE_FIT_H

#include <whetsight/optics.h>

#include "optics/lens.h"

G_BEGIN_DECLS

typedef struct
{
  double size_mm, u_mm; /* certified size and its standard uncertainty */
  guint artefact;       /* widths with the same number share one error of the size */
  double width_px, u_px;
  double shift_gain;     /* +2 dark thing, -2 hole */
  double radial_gain_px; /* width's derivative by K1 */
} WsScaleWidth;

typedef struct
{
  gboolean rejected; /* too far from what the others say */
  double px;         /* width less what the fit says */
} WsScaleResidual;

/* Parameters in the order of the telecentric model. */
typedef struct
{
  double value[WS_LENS_T_N];
  double covariance[WS_LENS_T_N * WS_LENS_T_N];
  double residual_px; /* RMS of the used widths' residuals, degrees of freedom counted */
  double usual_u_px;  /* median of the widths' own uncertainties */
  guint n_used;
  gboolean has_shift;  /* the widths tell the edge shift, not only what was known before */
  gboolean has_radial; /* K1 is significant; else it is 0 and its variance says what the widths
                          can't exclude */
} WsScaleFit;

/* Standard uncertainty of an edge shift of 0 when nothing tells it, (C9): by the edge's blur and
 * whether the light is clipped. */
double wsi_scale_fit_u_shift (double blur_px, gboolean is_clipped);

/* `residuals` has n places.  `u_shift_px` is what is known beforehand of e about 0.  FALSE when
 * there is no width, or no more than half of them agree. */
gboolean wsi_scale_fit (const WsScaleWidth *widths, guint n, double u_shift_px, WsScaleFit *fit,
                        WsScaleResidual *residuals);

/* The telecentric lens of pictures of this size. */
WsLens wsi_scale_fit_lens (const WsScaleFit *fit, guint width, guint height);

G_END_DECLS

#endif
