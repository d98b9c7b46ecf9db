/*
 * Limits and verdicts.
 */
#ifndef WHETSIGHT_JUDGE_H
#define WHETSIGHT_JUDGE_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/*
 * Guard bands of ISO 14253-1:2017: `accept` when the value lies inside the limits
 * by at least U, `reject` when outside by at least U, `undecided` between,
 * WS_VERDICT_NONE when both limits are open.  Both limits and U in the value's unit.  Of a
 * direction, `value` is its number nearest to the limits' middle.
 */
WsVerdict ws_verdict_for (double value, double U, double lower, double upper);

/* Probability, 0 .. 1, that the true value lies inside the limits, for a value with a normal
 * distribution of standard uncertainty `u` and nothing else known (JCGM 106:2012, clause 7: y =
 * value, flat prior).  NAN when both limits are open or the value or u isn't known. */
double ws_conformance_probability (double value, double u, double lower, double upper);

/* The worse of two: none < accept < undecided < reject < retake. */
WsVerdict ws_verdict_worse (WsVerdict a, WsVerdict b);

/* Sets every quantity's limits: the card's, else the built-in ones for the kind and
 * the diameter (the card's, else the measured one).  Lengths in px get no limits.  A direction
 * with limits is told by its number nearest to their middle. */
void ws_limits_apply (WsResult *result, const WsToolCard *card);

/* Sets every quantity's verdict and the tool's; where acceptance is withheld (result.h), `accept`
 * becomes `undecided`. */
void ws_verdicts_apply (WsResult *result);

/* By its numbers it would be accepted. */
gboolean ws_verdict_is_withheld (const WsQuantity *quantity);

/* Turns every `accept` into `undecided`, with a finding that says why: for a gauge that can't
 * be trusted. */
void ws_verdicts_withhold (WsResult *result, const char *code, const char *why);

G_END_DECLS

#endif
