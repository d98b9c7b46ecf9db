/*
 * What to change before measuring again where a picture can't tell: the largest lines of a budget,
 * in the order of what they would bring, each with its cure.
 */
#ifndef WS_TOOL_MEASURE_AGAIN_H
#define WS_TOOL_MEASURE_AGAIN_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* "with the web's thickness on the card (web_mm), U falls from 0.057 to at best 0.013, enough to
 * tell; with …": U without the lines of that cure, since they can't fall below nothing.  Of a known
 * quantity with a budget.  Free with g_free(). */
char *wsi_measuring_cures (const WsToolCard *card, const WsQuantity *quantity);

/* What a view says of an undecided quantity that isn't known; NULL for what is said of any.  Free
 * with g_free(). */
typedef char *(*WsSayUnseen) (const WsQuantity *quantity);

/* Advice for each undecided quantity; `say_unseen` may be NULL. */
void wsi_advise_measuring_again (const WsToolCard *card, WsResult *result, WsSayUnseen say_unseen);

G_END_DECLS

#endif
