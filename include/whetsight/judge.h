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

/* Sets every quantity's verdict and the tool's, by numbers and by what holds them (result.h). */
void ws_verdicts_apply (WsResult *result);

/* Held: by its numbers it would be accepted or rejected. */
gboolean ws_verdict_is_withheld (const WsQuantity *quantity);

/* What a view must have judged before a tool of those kinds may be accepted. */
typedef struct
{
  guint kinds;         /* bit (1 << WsToolKind) for each */
  const char *stem;    /* of the quantity */
  const char *on_card; /* a clause that says what the card lacks when there is no limit; or NULL */
  gboolean by_nominal; /* only of tools whose card has a nominal profile */
} WsRequired;

/*
 * After the verdicts: holds the tool (WS_HOLD_TOOL) unless a card and a scale were given and every
 * required quantity of the card's kind was accepted.  `not-judged` where there are no
 * limits, no card or no scale, `not-seen` where a quantity isn't known.  A rejection stands, and
 * so does `near-limit`.
 */
void ws_verdicts_require (WsResult *result, const WsRequired *required, gsize n,
                          const WsToolCard *card, gboolean has_scale);

/* After the advice: a tool accepted by its numbers on which damage was found all the same is held,
 * code `damage`; and what would settle an undecided verdict is advised. */
void ws_verdicts_conclude (WsResult *result, const WsToolCard *card, gboolean has_scale);

G_END_DECLS

#endif
