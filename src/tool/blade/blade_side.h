/*
 * A tool from the side, its top, front and base: the same for cutoff blades and form tools.
 */
#ifndef WS_TOOL_BLADE_BLADE_SIDE_H
#define WS_TOOL_BLADE_BLADE_SIDE_H

#include <whetsight/result.h>
#include <whetsight/view.h>

#include "base/refusal.h"
#include "tool/blade/shape.h"
#include "tool/blade/side_layout.h"

G_BEGIN_DECLS

enum
{
  WS_BLADE_SIDE_FRONT_RELIEF,
  WS_BLADE_SIDE_TOP_RAKE,
  WS_BLADE_SIDE_TIP_HEIGHT,
  WS_BLADE_SIDE_EDGE_ROUNDING,
  WS_BLADE_SIDE_BURR_HEIGHT,
  WS_BLADE_SIDE_FRONT_RELIEF_WHOLE,   /* of a front that isn't plane */
  WS_BLADE_SIDE_SECOND_RELIEF,        /* of a front ground with two */
  WS_BLADE_SIDE_FRONT_RELIEF_SECTION, /* with the card's side rake */
  WS_BLADE_SIDE_N_QUANTITIES
};

extern const WsQuantityInfo wsi_blade_side_quantities[WS_BLADE_SIDE_N_QUANTITIES];

/* WsView.fits of blade-side: the tip's height, where the card limits it. */
#define WS_BLADE_SIDE_N_FITS 1
extern const WsFitBand wsi_blade_side_fits[WS_BLADE_SIDE_N_FITS];

/* WsView.measure of blade-side. */
void wsi_blade_side_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                             WsResult *result);

/* Its edges, and which is which; NULL with the reason.  Free with wsi_blade_free(). */
WsBlade *wsi_blade_side_find (const WsOutline *outline, WsSideLayout *layout, WsRefusal *refusal);

G_END_DECLS

#endif
