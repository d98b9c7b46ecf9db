/*
 * The flanks behind the lips, from the pictures in which they are the outline: turned on, a flank
 * that is convex comes into sight before its lip.  docs/methods/drill-roll.md, (R35) to (R46).
 */
#ifndef WS_TOOL_DRILL_ROLL_FLANK_H
#define WS_TOOL_DRILL_ROLL_FLANK_H

#include "tool/drill/roll/lips.h"

G_BEGIN_DECLS

enum
{
  WS_ROLL_RELIEF_A,
  WS_ROLL_RELIEF_B,
  WS_ROLL_RELIEF_HALF_A, /* at half the radius */
  WS_ROLL_RELIEF_HALF_B,
  WS_ROLL_CHISEL_ANGLE,
  WS_ROLL_N_FLANK_VALUES
};

typedef struct
{
  double value[WS_ROLL_N_FLANK_VALUES]; /* rad */
  double u[WS_ROLL_N_FLANK_VALUES];     /* by noise, turns, and what terms may be beforehand */
  double reach[2];  /* behind the lips both are seen from there to there, radii */
  double to_chisel; /* from there to the chisel edge's far ends, radii */
} WsRollFlanks;

/* FALSE with the reason where the silhouettes don't show them. */
gboolean wsi_roll_find_flanks (const WsRoll *roll, const WsRollLips *lips, WsRollFlanks *flanks,
                               WsRefusal *refusal);

G_END_DECLS

#endif
