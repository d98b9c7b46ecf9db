/*
 * A profile's direction by the tool's sides: of tools that are held by a dovetail.
 */
#ifndef WS_TOOL_FORM_SIDES_H
#define WS_TOOL_FORM_SIDES_H

#include "tool/form/comparison.h"

G_BEGIN_DECLS

/* Of the drawing's x axis by the two longest sides' middle line, rad. */
typedef struct
{
  double angle, u; /* with its standard uncertainty, a calibration's included */
  double u_lens;   /* by a lens that nobody calibrated */
} WsFormDirection;

/* FALSE without two sides. */
gboolean wsi_form_direction_by_sides (const WsFormComparison *work, WsFormDirection *direction);

G_END_DECLS

#endif
