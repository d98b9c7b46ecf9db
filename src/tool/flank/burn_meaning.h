/*
 * What a temper colour means for the tool: that depends on what it is made of.
 */
#ifndef WS_TOOL_FLANK_BURN_MEANING_H
#define WS_TOOL_FLANK_BURN_MEANING_H

#include <whetsight/card.h>

#include "colour/film.h"

G_BEGIN_DECLS

/* Sentences on the hottest film seen: temperature and hardness.  Free with g_free(). */
char *wsi_burn_meaning (WsMaterial material, WsFilm hottest);

/* What a burnt edge is in for, and what to look for once it is ground; static. */
const char *wsi_burn_effect (WsMaterial material);
const char *wsi_burn_look (WsMaterial material);

G_END_DECLS

#endif
