/*
 * Burn of the flanks along one or two cutting edges, as quantities, marks, findings and advice.
 */
#ifndef WS_TOOL_FLANK_BURN_REPORT_H
#define WS_TOOL_FLANK_BURN_REPORT_H

#include <whetsight/result.h>

#include "tool/flank/front_lit.h"

G_BEGIN_DECLS

typedef struct
{
  WsQuantity *area, *depth, *length; /* depth: NULL in views that see flanks foreshortened */
} WsBurnQuantities;

/* Over all flanks, depth of the deepest.  Leaves the quantities unknown, and says why, where colour
 * can't be judged. */
void ws_burn_report (const WsFlank *flanks, guint n_flanks, const WsOptics *optics,
                     const WsBurnQuantities *quantities, WsResult *result);

/* Once verdicts are in. */
void ws_burn_advise (WsResult *result);

G_END_DECLS

#endif
