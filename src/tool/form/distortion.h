/*
 * How much an uncalibrated lens bends an outline, as its profile shows.
 */
#ifndef WS_TOOL_FORM_DISTORTION_H
#define WS_TOOL_FORM_DISTORTION_H

#include "tool/form/fit.h"

G_BEGIN_DECLS

/* The radial distortion with which the profile fits far better, either way, as a share of the
 * corner's distance from the middle of a picture of that size; 0 where none explains what is off,
 * or the profile has too few segments to tell. */
double wsi_form_distortion (const WsFormFit *fit, guint width, guint height);

G_END_DECLS

#endif
