/*
 * What a blade must show to be measured from the side.
 */
#ifndef WS_TOOL_BLADE_SIDE_GATES_H
#define WS_TOOL_BLADE_SIDE_GATES_H

#include <whetsight/card.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/blade/side_layout.h"

G_BEGIN_DECLS

typedef struct
{
  const WsToolCard *card;
  const WsOptics *optics;
  const WsBlade *blade;
  const WsSideLayout *layout;
  double relief, top_rake; /* rad */
  double tip_height;       /* px; NAN without a base */
} WsSideFound;

/* FALSE when it doesn't; the result then is a retake. */
gboolean wsi_blade_side_gate (const WsSideFound *found, WsResult *result);

G_END_DECLS

#endif
