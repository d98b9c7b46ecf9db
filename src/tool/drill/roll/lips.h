/*
 * The lips as lines in space, from all pictures in which they are the outline.
 *
 * Each lip goes through the picture's plane twice a turn, on either side of the axis.  There and up
 * to some degrees off it the outline of the point is the lip itself, so a curve that turns with the
 * drill explains all these pictures at once.  What a lean does to the heights has the other sign
 * half a turn later, and so is told from the lips.
 */
#ifndef WS_TOOL_DRILL_ROLL_LIPS_H
#define WS_TOOL_DRILL_ROLL_LIPS_H

#include "tool/drill/roll/lip_curve.h"

G_BEGIN_DECLS

enum
{
  WS_ROLL_POINT_ANGLE,
  WS_ROLL_HALF_ANGLE_A,
  WS_ROLL_HALF_ANGLE_B,
  WS_ROLL_HALF_ANGLE_DIFFERENCE,
  WS_ROLL_LIP_LENGTH_A,
  WS_ROLL_LIP_LENGTH_B,
  WS_ROLL_LIP_LENGTH_DIFFERENCE,
  WS_ROLL_LIP_HEIGHT_DIFFERENCE,
  WS_ROLL_POINT_OFFSET,
  WS_ROLL_WEB,
  WS_ROLL_CORNERS, /* their mean height in the series' frame */
  WS_ROLL_N_VALUES
};

typedef struct
{
  double value[WS_ROLL_N_VALUES];  /* rad, px */
  double u[WS_ROLL_N_VALUES];      /* from leaving frames out */
  double lip_turn;                 /* of the drill when the lips lie across, a on the left; rad */
  guint n_frames, n_forth, n_back; /* with a on the left, on the right */
  guint shown;                     /* the frame in which they lie across best */
  double sigma;                    /* of the outline about the lips, px */
  double left_out[2];              /* share of lip a's, b's points that stand off it */
  double lean, u_lean;
  double curve[WS_LIP_N_UNKNOWNS]; /* the model, and the turn it counts from */
  double across;
  double slide; /* of the drill along its axis from picture to picture, deviation, radii */
} WsRollLips;

/* FALSE with the reason when too few pictures show them. */
gboolean wsi_roll_find_lips (const WsRoll *roll, WsRollLips *lips, WsRefusal *refusal);

G_END_DECLS

#endif
