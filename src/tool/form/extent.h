/*
 * What of a profile and of an outline was laid on each other, and whether that way round.
 */
#ifndef WS_TOOL_FORM_EXTENT_H
#define WS_TOOL_FORM_EXTENT_H

#include "tool/form/comparison.h"

G_BEGIN_DECLS

/* Says what of the outline isn't judged.  Holds acceptance where some of the profile has no outline
 * beside it, and the verdict where the profile lies across the tool. */
void wsi_form_extent_report (WsFormComparison *work);

/* The outline doesn't show the card's profile: holds the verdict and says how large both are. */
void wsi_form_extent_hold (const WsFormComparison *work);

G_END_DECLS

#endif
