/*
 * What to mind at the grinding wheel, the same for every tool.
 */
#ifndef WS_TOOL_CAUTIONS_H
#define WS_TOOL_CAUTIONS_H

#include <whetsight/result.h>

G_BEGIN_DECLS

/* Adds them to the result's cautions, once. */
void wsi_cautions_add (WsResult *result);

G_END_DECLS

#endif
