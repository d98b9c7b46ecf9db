#ifndef WS_JUDGE_LIMITS_H
#define WS_JUDGE_LIMITS_H

#include <glib.h>

G_BEGIN_DECLS

/*
 * How far from the envelope the lip of an unworn drill ends: R - sqrt (R^2 - w^2), with
 * w half the web.  `web` NAN: the usual one (judge/web.h).  Both in one unit, which
 * is the result's too.
 */
double wsi_unworn_corner_shortfall (double diameter, double web);

G_END_DECLS

#endif
