/*
 * What a rolled drill's result says beside its numbers: findings, marks, the turns for the plot.
 */
#ifndef WS_TOOL_DRILL_ROLL_TOLD_H
#define WS_TOOL_DRILL_ROLL_TOLD_H

#include <whetsight/card.h>

#include "tool/drill/roll/quantities.h"

G_BEGIN_DECLS

void wsi_roll_hold_unclean (const WsRollLips *lips, WsResult *result);

void wsi_roll_tell_block (const WsRollFill *fill, const WsRollStation *far, WsResult *result);

void wsi_roll_tell_hand (const WsToolCard *card, WsResult *result);

/* The point's axis in every picture, for the plot; `z`: the corners' height. */
void wsi_roll_keep_turns (const WsRollFill *fill, const WsRollStation *point, double z,
                          WsResult *result);

/* The frame of a picture of the series. */
const WsRollFrame *wsi_roll_shown_frame (const WsRoll *roll, guint picture);

void wsi_roll_mark_body (const WsRoll *roll, const WsRollFrame *frame, double corners,
                         WsResult *result);

void wsi_roll_mark_lips (const WsRoll *roll, const WsRollFrame *frame, const WsRollLips *lips,
                         WsResult *result);

G_END_DECLS

#endif
