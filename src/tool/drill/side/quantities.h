/*
 * What the files of the view `drill-side` share: its quantities, and what they rest on.
 */
#ifndef WS_TOOL_DRILL_SIDE_QUANTITIES_H
#define WS_TOOL_DRILL_SIDE_QUANTITIES_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/drill/attitude.h"
#include "tool/drill/lines.h"
#include "tool/drill/perspective.h"
#include "tool/drill/view_turn.h"

G_BEGIN_DECLS

enum
{
  WS_DRILL_POINT_ANGLE,
  WS_DRILL_HALF_ANGLE_A,
  WS_DRILL_HALF_ANGLE_B,
  WS_DRILL_HALF_ANGLE_DIFFERENCE,
  WS_DRILL_LIP_LENGTH_A,
  WS_DRILL_LIP_LENGTH_B,
  WS_DRILL_LIP_LENGTH_DIFFERENCE,
  WS_DRILL_LIP_HEIGHT_DIFFERENCE,
  WS_DRILL_POINT_OFFSET,
  WS_DRILL_DIAMETER,
  WS_DRILL_POINT_LENGTH,
  WS_DRILL_CORNER_WEAR_A,
  WS_DRILL_CORNER_WEAR_B,
  WS_DRILL_LIP_STRAIGHTNESS_A,
  WS_DRILL_LIP_STRAIGHTNESS_B,
  WS_DRILL_CHIP_DEPTH_A,
  WS_DRILL_CHIP_DEPTH_B,
  WS_DRILL_CHISEL_FLAT,
  WS_DRILL_VIEW_TURN,
  WS_DRILL_BURR_HEIGHT_A,
  WS_DRILL_BURR_HEIGHT_B,
  WS_DRILL_BURR_LENGTH_A,
  WS_DRILL_BURR_LENGTH_B,
  WS_DRILL_N_QUANTITIES
};

/* The first so many follow from the two lip lines, the axis and the envelope alone. */
#define WS_DRILL_N_FROM_LINES (WS_DRILL_DIAMETER + 1)

/* All that a drill's numbers rest on. */
typedef struct
{
  const WsImage *image;
  const WsToolCard *card;
  const WsDrillPoint *point;
  const WsViewTurn *turn;
  const WsOptics *optics;
  WsWeb web;
  const WsPerspective *perspective; /* NULL in parallel projection */
  const WsDrillLines *otherwise;    /* what the lines may be as well; NULL without doubt */
  WsAttitude attitude;
  double bend; /* distortion that the body shows in a picture without a calibration; 0: none */
  gboolean axis_unsure; /* only what needs no axis can be told */
} WsDrillEvidence;

G_END_DECLS

#endif
