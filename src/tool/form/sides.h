/*
 * A profile's direction by the tool's sides: of tools that are held by a dovetail.
 */
#ifndef WS_TOOL_FORM_SIDES_H
#define WS_TOOL_FORM_SIDES_H

#include "tool/form/comparison.h"

G_BEGIN_DECLS

/* Direction of the drawing's x axis by the two longest sides' middle line, rad, with its standard
 * uncertainty; FALSE without two. */
gboolean wsi_form_direction_by_sides (const WsFormComparison *work, double *angle, double *u);

G_END_DECLS

#endif
