#include "tool/drill/side/alignment.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/drill/side/values.h"

/*
 * The axis may lean toward the camera: tan k' = tan k / cos lean, and the lips, which lie half
 * the web before and behind the axis, look shifted along it, one up and one down.  What the body's
 * outline tells of it was taken out; where it tells nothing, the lean is one of drills laid by eye,
 * unless the shop knows its block: common practice, no source.
 */
#define UNSEEN_LEAN_DEG 1.0

static double
lean_u (const WsDrillEvidence *seen)
{
  if (seen->attitude.seen)
    return hypot (seen->attitude.u_lean, seen->attitude.lean - seen->attitude.upright);
  return seen->optics->lean_max > 0 ? 0.5 * seen->optics->lean_max : wsi_radians (UNSEEN_LEAN_DEG);
}

/* Of a turned drill less of the margin lies on the silhouette, and part of what is taken for
 * it falls short by a few per cent of the turn's square. */
#define MARGIN_SHORT 0.06

/* Turned and leaning one way and the other, and leaning with another web. */
#define N_VIEWS 5

/* A turn acts one way only, with its square; `effective` makes that the RMS. */
void
wsi_drill_add_alignment_lines (const WsDrillEvidence *seen, const WsDrillLines *lines,
                               WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsDrillPoint *point = seen->point;
  const WsViewTurn *turn = seen->turn;
  const double thick = wsi_web_thick (&seen->web) * point->radius,
               web = seen->web.half * point->radius;
  const double u = lean_u (seen), any = hypot (seen->attitude.upright, u);
  const WsDrillLines views[N_VIEWS] = {
    wsi_drill_lines_turned (lines, thick, turn->effective),
    wsi_drill_lines_turned (lines, thick, -turn->effective),
    wsi_drill_lines_leaning (lines, web, u),
    wsi_drill_lines_leaning (lines, web, -u),
    wsi_drill_lines_leaning (lines, seen->web.u * point->radius, seen->attitude.upright),
  };
  double off[N_VIEWS][WS_DRILL_N_VALUES], at[WS_DRILL_N_VALUES];
  wsi_drill_values (lines, at);
  for (guint k = 0; k < N_VIEWS; k++)
  {
    wsi_drill_values (&views[k], off[k]);
    for (guint i = 0; i < WS_DRILL_N_FROM_LINES; i++)
      off[k][i] = fabs (off[k][i] - at[i]);
  }
  /* Turned and leaning at once, one lip looks steeper and the other flatter. */
  for (guint k = 0; k < 2; k++)
    off[2][WS_DRILL_HALF_ANGLE_A + k] +=
      sin (turn->effective) * sin (any) * sin (lines->angle[k]) * sin (lines->angle[k]);
  off[2][WS_DRILL_HALF_ANGLE_DIFFERENCE] +=
    2 * sin (turn->effective) * sin (any) * sin (lines->angle[0]) * sin (lines->angle[1]);
  off[0][WS_DRILL_DIAMETER] =
    MARGIN_SHORT * turn->effective * turn->effective * at[WS_DRILL_DIAMETER];
  for (guint i = 0; i < WS_DRILL_N_FROM_LINES; i++)
  {
    const double unit = wsi_quantity_per_seen (q[i], seen->optics);
    wsi_quantity_add_line (q[i], "alignment: lips turned", WS_DISTRIBUTION_ONE_SIDED,
                           MAX (off[0][i], off[1][i]) * unit, 1);
    wsi_quantity_add_line (q[i], "alignment: axis leaning", WS_DISTRIBUTION_NORMAL,
                           hypot (MAX (off[2][i], off[3][i]), off[4][i]) * unit, 1);
  }
}

void
wsi_drill_add_turn_line (const WsDrillEvidence *seen, double sensitivity, WsQuantity *quantity)
{
  wsi_quantity_add_line (quantity, "alignment: lips turned", WS_DISTRIBUTION_NORMAL,
                         seen->web.half * seen->point->radius * sin (seen->turn->effective),
                         sensitivity * wsi_quantity_per_seen (quantity, seen->optics));
}
