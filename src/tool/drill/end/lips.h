/*
 * The lips of a drill's point seen from the end.
 */
#ifndef WS_TOOL_DRILL_END_LIPS_H
#define WS_TOOL_DRILL_END_LIPS_H

#include "tool/drill/end/guess.h"
#include "tool/drill/end/picture.h"
#include "tool/drill/end/shape.h"

G_BEGIN_DECLS

/* Fits the line of lip k, 0 or 1, near a guess; `light_flute` where the flutes are lighter than the
 * flanks.  Sets all but corner, inner end and margin.  FALSE when the lip can't be followed. */
gboolean wsi_end_lip_fit (const WsEndPicture *picture, const WsEndPoint *point,
                          const WsEndGuess *guess, guint k, gboolean light_flute, WsEndLip *lip);

G_END_DECLS

#endif
