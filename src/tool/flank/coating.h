/*
 * Coated flanks: what the card says of the coating against the colour that is seen.
 */
#ifndef WS_TOOL_FLANK_COATING_H
#define WS_TOOL_FLANK_COATING_H

#include <whetsight/card.h>
#include <whetsight/result.h>

#include "colour/burn_balance.h"

G_BEGIN_DECLS

/* May a flank that is covered so look so?  TRUE where either isn't known. */
gboolean wsi_coating_may_look (WsCoating coating, WsTint tint);

/* Is a coating named, and may it look so? */
gboolean wsi_coating_is_seen (WsCoating coating, WsTint tint);

/* Holds the verdict where the card names another coating than the one that is seen. */
void wsi_coating_check (WsCoating coating, WsTint tint, WsResult *result);

G_END_DECLS

#endif
