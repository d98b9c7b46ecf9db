#include "tool/drill/side/alignment.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/drill/side/values.h"

/*
 * The axis may lean toward the camera: tan k' = tan k / cos lean, and the lips, which lie half
 * the web before and behind the axis, look shifted along it, one up and one down.  A V-block set
 * square to the camera is taken to keep the lean to a fifth of a degree: an assumption, no source,
 * set no wider so that U of the lip lengths stays useful.
 */
#define LEAN_DEG 0.2

/* Of a turned drill less of the margin lies on the silhouette, and part of what is taken for
 * it falls short by a few per cent of the turn's square. */
#define MARGIN_SHORT 0.06

/* A turn acts one way only, with its square; `effective` makes that the RMS. */
void
wsi_drill_add_alignment_lines (const WsDrillEvidence *seen, const WsDrillLines *lines,
                               WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsDrillPoint *point = seen->point;
  const WsViewTurn *turn = seen->turn;
  const double thick = wsi_web_thick (&seen->web) * point->radius,
               web = seen->web.half * point->radius;
  const WsDrillLines views[4] = { wsi_drill_lines_turned (lines, thick, turn->effective),
                                  wsi_drill_lines_turned (lines, thick, -turn->effective),
                                  wsi_drill_lines_leaning (lines, web, wsi_radians (LEAN_DEG)),
                                  wsi_drill_lines_leaning (lines, web, -wsi_radians (LEAN_DEG)) };
  double off[4][WS_DRILL_N_VALUES], at[WS_DRILL_N_VALUES];
  wsi_drill_values (lines, at);
  for (guint k = 0; k < 4; k++)
  {
    wsi_drill_values (&views[k], off[k]);
    for (guint i = 0; i < WS_DRILL_N_FROM_LINES; i++)
      off[k][i] = fabs (off[k][i] - at[i]);
  }
  /* Turned and leaning at once, one lip looks steeper and the other flatter. */
  for (guint k = 0; k < 2; k++)
    off[2][WS_DRILL_HALF_ANGLE_A + k] += sin (turn->effective) * sin (wsi_radians (LEAN_DEG)) *
                                         sin (lines->angle[k]) * sin (lines->angle[k]);
  off[2][WS_DRILL_HALF_ANGLE_DIFFERENCE] += 2 * sin (turn->effective) *
                                            sin (wsi_radians (LEAN_DEG)) * sin (lines->angle[0]) *
                                            sin (lines->angle[1]);
  off[0][WS_DRILL_DIAMETER] =
    MARGIN_SHORT * turn->effective * turn->effective * at[WS_DRILL_DIAMETER];
  for (guint i = 0; i < WS_DRILL_N_FROM_LINES; i++)
  {
    const double unit = wsi_quantity_per_seen (q[i], seen->optics);
    wsi_quantity_add_line (q[i], "alignment: lips turned", WS_DISTRIBUTION_ONE_SIDED,
                           MAX (off[0][i], off[1][i]) * unit, 1);
    wsi_quantity_add_line (q[i], "alignment: axis leaning", WS_DISTRIBUTION_NORMAL,
                           MAX (off[2][i], off[3][i]) * unit, 1);
  }
}

void
wsi_drill_add_turn_line (const WsDrillEvidence *seen, double sensitivity, WsQuantity *quantity)
{
  wsi_quantity_add_line (quantity, "alignment: lips turned", WS_DISTRIBUTION_NORMAL,
                         seen->web.half * seen->point->radius * sin (seen->turn->effective),
                         sensitivity * wsi_quantity_per_seen (quantity, seen->optics));
}
