/*
 * Where the drill's own axis is in each picture, and so how it runs out against the line that it is
 * turned about.
 */
#ifndef WS_TOOL_DRILL_ROLL_RUN_OUT_H
#define WS_TOOL_DRILL_ROLL_RUN_OUT_H

#include "tool/drill/roll/series.h"

G_BEGIN_DECLS

/* Of the axis at one height, in the drill's frame, px. */
typedef struct
{
  double x, y;     /* from the line turned about */
  double middle;   /* the line's place across, in the series' frame */
  double u;        /* standard uncertainty of either */
  double radius;   /* the distance, freed of what chance adds to it */
  double left;     /* RMS of what a plain circle leaves: the block's play, and lobes */
  double lobes[2]; /* amplitudes of the second and the third harmonic, */
  double u_lobe;   /* standard uncertainty of one of their parts */
} WsRollStation;

/* Frees every frame's axis of what a lean does to the body's middle, and sets the lean and the
 * slope of the drill's own axis.  Points and samples follow. */
void wsi_roll_true_axes (WsRoll *roll);

/* FALSE when the turns don't tell a circle. */
gboolean wsi_roll_station (const WsRoll *roll, double z, WsRollStation *station);

/* Whether the axis goes round far better when some pictures are taken for half a turn on: then the
 * pictures are in another order than they were thought to be, or half turns lie between them. */
gboolean wsi_roll_half_turns_missed (const WsRoll *roll, double z);

/* How far the axis' far end of a frame is off across the line of sight's plane: the lean that the
 * drill has there, rad. */
double wsi_roll_frame_lean (const WsRoll *roll, const WsRollFrame *frame);

G_END_DECLS

#endif
