/*
 * What of a blade from above doesn't follow from its lines: the edge's form, chips.
 */
#ifndef WS_TOOL_BLADE_PLAN_FORM_H
#define WS_TOOL_BLADE_PLAN_FORM_H

#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Each sets the quantity and adds its budget but for the lines that all have: the front's
 * straightness, and its deepest notch, which is marked. */
void wsi_blade_plan_add_form (const WsBlade *blade, const WsOptics *optics, WsQuantity *quantity);

/* `width`: of the edge, px. */
void wsi_blade_plan_add_chip (const WsBlade *blade, const WsOptics *optics, double width,
                              WsQuantity *quantity, WsResult *result);

G_END_DECLS

#endif
