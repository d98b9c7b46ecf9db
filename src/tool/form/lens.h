/*
 * What a calibration's uncertainty makes of a flat profile's quantities, or an unknown lens.
 *
 * Lines and arcs stand for themselves by two or three of their places, each moved as every
 * column of a root of the calibration's covariance would move it.
 */
#ifndef WS_TOOL_FORM_LENS_H
#define WS_TOOL_FORM_LENS_H

#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/form/fit.h"

G_BEGIN_DECLS

/* Standard uncertainties, px or rad. */
typedef struct
{
  double calibration; /* by its covariance */
  double left_over;   /* by the distortion that it leaves over */
} WsFormLensU;

/* Of the direction of a line between two places of the ideal picture. */
WsFormLensU wsi_form_lens_direction (const WsLens *lens, const WsPoint ends[2]);

/* Of the angle between two lines. */
WsFormLensU wsi_form_lens_corner (const WsLens *lens, const WsPoint first[2],
                                  const WsPoint second[2]);

/* Of the radius of an arc by its start, middle and end. */
WsFormLensU wsi_form_lens_radius (const WsLens *lens, const WsPoint places[3], gboolean is_bulge);

/* Of the deviation at each of the fit's points, scale and all: what shifts and turns the whole
 * profile alike goes into the best fit, not into deviations.  Free with g_free(). */
WsFormLensU *wsi_form_lens_deviations (const WsLens *lens, const WsFormFit *fit);

/* Adds both lines to a budget; without a calibration the one of an unknown lens. */
void wsi_form_lens_add (WsQuantity *quantity, WsFormLensU u, const WsOptics *optics);

G_END_DECLS

#endif
