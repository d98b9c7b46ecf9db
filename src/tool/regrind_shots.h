/*
 * Two pictures of a tool, before and after it was reground, as outlines that can be laid on each
 * other (edge/regrind.h).
 */
#ifndef WS_TOOL_REGRIND_SHOTS_H
#define WS_TOOL_REGRIND_SHOTS_H

#include <whetsight/card.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "edge/regrind.h"

G_BEGIN_DECLS

/* A picture that was measured, and by what; borrowed. */
typedef struct
{
  const WsResult *result;
  const WsOptics *optics;
} WsRegrindShot;

/* NULL when it can't be told what was taken off; `what` then says why, static.  Free with
 * wsi_regrind_free(). */
WsRegrind *wsi_regrind_of_shots (const WsToolCard *card, const WsRegrindShot *before,
                                 const WsRegrindShot *after, const char **what);

/* Can pictures of the view of that name be laid on each other? */
gboolean wsi_regrind_sees (const char *view);

G_END_DECLS

#endif
