/*
 * An outline cut into stretches.
 */
#ifndef WS_TOOL_FORM_RUNS_H
#define WS_TOOL_FORM_RUNS_H

#include "edge/outline.h"

G_BEGIN_DECLS

/* One stretch of the outline between stretches of frame, or a closed outline, cut where it is
 * farthest from the tool's cutting end; px. */
typedef struct
{
  WsPoint *points;
  guint n;
} WsFormRun;

/* Of WsFormRun, in the outline's order.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_form_runs (const WsOutline *outline);

G_END_DECLS

#endif
