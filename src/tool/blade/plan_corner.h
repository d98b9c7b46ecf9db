/*
 * How round a blade's corners are, seen from above.
 */
#ifndef WS_TOOL_BLADE_PLAN_CORNER_H
#define WS_TOOL_BLADE_PLAN_CORNER_H

#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Radius of corner k and its standard uncertainty, px. */
double wsi_blade_corner_round (const WsBlade *blade, const WsImage *image, const WsOptics *optics,
                               guint k, double *u);

/* Sets the radius of corner k and adds its budget but for the lines that all quantities have. */
void wsi_blade_plan_add_corner (const WsBlade *blade, const WsImage *image, const WsOptics *optics,
                                guint k, WsQuantity *quantity);

G_END_DECLS

#endif
