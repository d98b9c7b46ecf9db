/*
 * A scale from the tool's own size: a drill's diameter over its margins, a blade's width, measured
 * with a micrometer.
 */
#ifndef WS_TOOL_KNOWN_SIZE_H
#define WS_TOOL_KNOWN_SIZE_H

#include <whetsight/card.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* Sets the scale of `optics` by its known size and by the quantity of that stem, seen without a
 * scale.  FALSE when it wasn't seen. */
gboolean wsi_known_size_scale (const char *stem, const WsResult *seen, WsOptics *optics);

/* Puts the known size where the result, measured by that scale, has what would only be an echo of
 * it.  Where it lies outside its limits, the result is held. */
void wsi_known_size_give (const char *stem, const WsOptics *optics, const WsToolCard *card,
                          WsResult *result);

G_END_DECLS

#endif
