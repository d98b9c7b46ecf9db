#include "tool/drill/side/values.h"

#include "base/geometry.h"

void
wsi_drill_values (const WsDrillLines *lines, double out[WS_DRILL_N_VALUES])
{
  const WsPoint apex = wsi_drill_lines_apex (lines), a = wsi_drill_lines_corner (lines, 0),
                b = wsi_drill_lines_corner (lines, 1);
  out[WS_DRILL_POINT_ANGLE] = lines->angle[0] + lines->angle[1];
  out[WS_DRILL_HALF_ANGLE_A] = lines->angle[0];
  out[WS_DRILL_HALF_ANGLE_B] = lines->angle[1];
  out[WS_DRILL_HALF_ANGLE_DIFFERENCE] = lines->angle[0] - lines->angle[1];
  out[WS_DRILL_LIP_LENGTH_A] = wsi_point_distance (a, apex);
  out[WS_DRILL_LIP_LENGTH_B] = wsi_point_distance (b, apex);
  out[WS_DRILL_LIP_LENGTH_DIFFERENCE] = out[WS_DRILL_LIP_LENGTH_A] - out[WS_DRILL_LIP_LENGTH_B];
  out[WS_DRILL_LIP_HEIGHT_DIFFERENCE] = a.y - b.y;
  out[WS_DRILL_POINT_OFFSET] = apex.x;
  out[WS_DRILL_DIAMETER] = 2 * lines->radius;
  out[WS_DRILL_CORNER_HEIGHT] = 0.5 * (a.y + b.y);
}
