/*
 * How far a form tool's outline is from its nominal profile, segment by segment.
 */
#ifndef WS_TOOL_FORM_DEVIATION_H
#define WS_TOOL_FORM_DEVIATION_H

#include <whetsight/card.h>
#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* Adds deviations, segments and corners with budgets, findings and the deviation plot's marks.
 * FALSE when that can't be: the verdict is held when the outline doesn't show the card's profile,
 * and the result a retake when it does so in a mirror or by no direction.  Needs a scale. */
gboolean wsi_form_deviation_add (const WsImage *image, const WsOutline *outline,
                                 const WsToolCard *card, const WsOptics *optics, WsResult *result);

G_END_DECLS

#endif
