/*
 * Advice on what to do with a tool.  Cautions follow from the work that it asks for, so that no
 * view can advise work and forget them.
 */
#ifndef WS_TOOL_ADVISE_H
#define WS_TOOL_ADVISE_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* Adds a sentence, which is taken over, and the cautions of `work`, a WsWork or several, once. */
void wsi_advise (WsResult *result, guint work, char *text);

/* Before all other advice on a tool that isn't accepted: what stands on its edge (findings
 * `wire-edge` and `dirt`) goes first, since nothing is ground, and no better picture taken, for
 * what a stone or a cloth cures.  Nothing where nothing does. */
void wsi_advise_cleaning_first (WsResult *result);

/* No grinding cures the tool: says so, and why, a sentence that is taken over.  Work that was or
 * will be advised is left out, since it would be lost on this tool. */
void wsi_advise_set_aside (WsResult *result, char *why);

/* Once a view has advised: an accepted tool without advice is left alone, and a rejected tool that
 * there is no grinding advice for is set aside, unless what lacks is the card that says to what to
 * grind, or the tool has to be cleaned first. */
void wsi_advise_conclude (const WsToolCard *card, WsResult *result);

/* Where `one` lies beside `other` in the picture as it was taken: "on the left", "on the right",
 * "at the top", "at the bottom"; static. */
const char *wsi_picture_side (WsPoint one, WsPoint other);

G_END_DECLS

#endif
