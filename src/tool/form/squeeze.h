/*
 * Whether an outline is off its profile as a picture that was squeezed or skewed would have it.
 */
#ifndef WS_TOOL_FORM_SQUEEZE_H
#define WS_TOOL_FORM_SQUEEZE_H

#include "tool/form/fit.h"

G_BEGIN_DECLS

/* How much longer the picture must be one way than across it for the profile to fit far better,
 * relative; 0 where no such picture explains what is off, or the profile has too few segments to
 * tell. */
double wsi_form_squeeze (const WsFormFit *fit);

G_END_DECLS

#endif
