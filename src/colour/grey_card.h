/*
 * A card of neutral patches, found in a picture by itself: what it looks like is what the light and
 * the camera make of grey.
 */
#ifndef WS_COLOUR_GREY_CARD_H
#define WS_COLOUR_GREY_CARD_H

#include "colour/sampler.h"

G_BEGIN_DECLS

typedef struct
{
  WsLight light;    /* of grey: green 1, red and blue in proportion */
  guint n_neutral;  /* patches it comes from, 3 or more */
  WsPoint where_px; /* their middle */
} WsGreyCard;

/*
 * Looks for patches: even, rectangular, of one size and near each other, three of them at least of
 * the same colour but different lightness.  FALSE where there are none.  Takes a look at the whole
 * picture: call it only when nothing else serves.  docs/methods/front-lit.md.
 */
gboolean wsi_grey_card_find (const WsSampler *sampler, WsGreyCard *card);

G_END_DECLS

#endif
