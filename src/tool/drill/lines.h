/*
 * What most quantities of a drill's point follow from: two lip lines and the envelope, in the
 * tool frame (u across, z toward the point), px and rad.  And how they look when the drill or
 * the camera stands otherwise, which is what uncertainty budgets ask.
 */
#ifndef WS_TOOL_DRILL_LINES_H
#define WS_TOOL_DRILL_LINES_H

#include "tool/drill/point.h"

G_BEGIN_DECLS

typedef struct
{
  WsPoint centre[2]; /* of lip a, lip b */
  double angle[2];   /* half angles */
  double radius;
} WsDrillLines;

WsDrillLines wsi_drill_lines_of (const WsDrillPoint *point);

/* -1 for lip a, +1 for lip b. */
static inline double
wsi_drill_side (guint k)
{
  return k == 0 ? -1 : 1;
}

/* Unit vectors of lip k: outward along it, and outward normal to it. */
WsPoint wsi_drill_lines_along (const WsDrillLines *lines, guint k);
WsPoint wsi_drill_lines_outward (const WsDrillLines *lines, guint k);

/* Where the lip lines meet, and where lip line k meets the envelope. */
WsPoint wsi_drill_lines_apex (const WsDrillLines *lines);
WsPoint wsi_drill_lines_corner (const WsDrillLines *lines, guint k);

/* In a frame turned by `angle` about (0, pivot_z): what an error of the axis does. */
void wsi_drill_lines_turn (WsDrillLines *lines, double pivot_z, double angle);

/* As seen when turned by `turn` about the axis, the lips lying `web` before and behind it:
 * tan k' = tan k cos t. */
WsDrillLines wsi_drill_lines_turned (const WsDrillLines *lines, double web, double turn);

/* As seen when the axis leans toward the camera: tan k' = tan k / cos lean, and lips shifted
 * along the axis, one up and one down. */
WsDrillLines wsi_drill_lines_leaning (const WsDrillLines *lines, double web, double lean);

/* The other way round: as seen square on, when `lines` were seen leaning. */
WsDrillLines wsi_drill_lines_upright (const WsDrillLines *lines, double web, double lean);

/* In a picture strained by the matrix `m`, (u, z) to (u, z), row-major. */
WsDrillLines wsi_drill_lines_strained (const WsDrillLines *lines, const double m[4]);

G_END_DECLS

#endif
