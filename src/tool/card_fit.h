/*
 * Is this the tool that the card tells of?
 */
#ifndef WS_TOOL_CARD_FIT_H
#define WS_TOOL_CARD_FIT_H

#include <whetsight/view.h>

G_BEGIN_DECLS

/* Holds what the picture shows of the tool against its card, by the view's bands, and against what
 * tools of this trade are at all.  A mismatch holds the verdict, `card-mismatch`; what is ground
 * the wrong way is a rejection.  Wants the limits to be set. */
void wsi_card_fit_check (const WsView *view, const WsToolCard *card, WsResult *result);

/* ---- Bands that several views share, with their reasons ---- */

/*
 * A drill's diameter.  Below: h8 takes up to 1.4 % of the smallest drills, back taper of 0.02 to
 * 0.08 mm in 100 mm under 1 % once all of the flutes is ground away, and worn margins a bit more.
 * Above: nothing but a coating or a built-up edge, some hundredths of a millimetre, for views that
 * see it by the way.  A view that measures it has 0 above: neither wear nor grinding makes a drill
 * larger, so that scale, light, lens or card are wrong, or it is another drill; a coated one's
 * card says so by its limit.  (Standards' figures as quoted by catalogues; margins: common
 * practice, no source.)
 */
#define WS_FIT_DRILL_BELOW 0.03
#define WS_FIT_DRILL_ABOVE 0.01
#define WS_FIT_DRILL_SLACK_MM 0.05

/*
 * A point ground by hand misses its angle by some degrees; the next kind of point is 12 or more
 * away (90, 118, 130 to 140 degrees).  Counted from the middle of the limits.  Common practice, no
 * source.
 */
#define WS_FIT_POINT_DEG 10.0

/*
 * A blade's width.  Below: with 3 degrees of clearance, the most that is seen, grinding 1.5 widths
 * off the front takes 15 %.  Above: the width in the making.  Blades come in steps of 20 % and
 * more. Common practice, no source.
 */
#define WS_FIT_WIDTH_BELOW 0.15
#define WS_FIT_WIDTH_ABOVE 0.05
#define WS_FIT_WIDTH_SLACK_MM 0.05

G_END_DECLS

#endif
