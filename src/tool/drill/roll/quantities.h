/*
 * What the files of the view `drill-roll` share: its quantities, and how they are filled, each with
 * its budget.
 */
#ifndef WS_TOOL_DRILL_ROLL_QUANTITIES_H
#define WS_TOOL_DRILL_ROLL_QUANTITIES_H

#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/drill/roll/flank.h"
#include "tool/drill/roll/lips.h"
#include "tool/drill/roll/margin.h"
#include "tool/drill/roll/run_out.h"

G_BEGIN_DECLS

enum
{
  WS_ROLLED_RUN_OUT_POINT,
  WS_ROLLED_RUN_OUT_FAR,
  WS_ROLLED_BEND_TILT,
  WS_ROLLED_BEND_DIRECTION,
  WS_ROLLED_POINT_ANGLE, /* in the order of WS_ROLL_POINT_ANGLE and on */
  WS_ROLLED_HALF_ANGLE_A,
  WS_ROLLED_HALF_ANGLE_B,
  WS_ROLLED_HALF_ANGLE_DIFFERENCE,
  WS_ROLLED_LIP_LENGTH_A,
  WS_ROLLED_LIP_LENGTH_B,
  WS_ROLLED_LIP_LENGTH_DIFFERENCE,
  WS_ROLLED_LIP_HEIGHT_DIFFERENCE,
  WS_ROLLED_POINT_OFFSET,
  WS_ROLLED_DIAMETER,
  WS_ROLLED_HELIX,
  WS_ROLLED_LEAD,
  WS_ROLLED_WEB,
  WS_ROLLED_RELIEF_A,
  WS_ROLLED_RELIEF_B,
  WS_ROLLED_RELIEF_HALF_A,
  WS_ROLLED_RELIEF_HALF_B,
  WS_ROLLED_CHISEL_ANGLE,
  WS_ROLLED_MARGIN_WIDTH,
  WS_ROLLED_N
};

typedef struct
{
  const WsRoll *roll;
  const WsOptics *optics;
  double level_u; /* greatest of the outlines' places as a whole, px */
  WsQuantity *q[WS_ROLLED_N];
} WsRollFill;

void wsi_roll_fill_body (const WsRollFill *fill);
void wsi_roll_fill_lips (const WsRollFill *fill, const WsRollLips *lips);
void wsi_roll_fill_flanks (const WsRollFill *fill, const WsRollLips *lips,
                           const WsRollFlanks *flanks);
void wsi_roll_fill_margin (const WsRollFill *fill, const WsRollMargin *margin);

/* Of the axis at the corners and at the far end, `between` apart; lips may be NULL. */
void wsi_roll_fill_run_out (const WsRollFill *fill, const WsRollStation *point,
                            const WsRollStation *far, double between, const WsRollLips *lips);

G_END_DECLS

#endif
