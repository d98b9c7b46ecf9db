/*
 * What the marks on a part come to at the speed it turned with.
 */
#ifndef WS_TOOL_PART_PART_MEANING_H
#define WS_TOOL_PART_PART_MEANING_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* Findings, by the card's group [part]; the quantities are finished. */
void wsi_part_surface_tell (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
