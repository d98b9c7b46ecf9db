#include "tool/drill/lines.h"

#include "base/geometry.h"

WsDrillLines
ws_drill_lines_of (const WsDrillPoint *point)
{
  WsDrillLines lines = { .radius = point->radius };
  for (guint k = 0; k < 2; k++)
  {
    lines.centre[k] = point->lips[k].line.centre;
    lines.angle[k] = point->lips[k].half_angle;
  }
  return lines;
}

WsPoint
ws_drill_lines_along (const WsDrillLines *lines, guint k)
{
  return ws_point (ws_drill_side (k) * sin (lines->angle[k]), -cos (lines->angle[k]));
}

WsPoint
ws_drill_lines_outward (const WsDrillLines *lines, guint k)
{
  return ws_point (ws_drill_side (k) * cos (lines->angle[k]), sin (lines->angle[k]));
}

WsPoint
ws_drill_lines_apex (const WsDrillLines *lines)
{
  const WsPoint a = ws_drill_lines_along (lines, 0), b = ws_drill_lines_along (lines, 1);
  const double t =
    ws_point_cross (ws_point_sub (lines->centre[1], lines->centre[0]), b) / ws_point_cross (a, b);
  return ws_point_along (lines->centre[0], t, a);
}

WsPoint
ws_drill_lines_corner (const WsDrillLines *lines, guint k)
{
  const WsPoint d = ws_drill_lines_along (lines, k);
  const double t = (ws_drill_side (k) * lines->radius - lines->centre[k].x) / d.x;
  return ws_point_along (lines->centre[k], t, d);
}

void
ws_drill_lines_turn (WsDrillLines *lines, double pivot_z, double angle)
{
  const double c = cos (angle), s = sin (angle);
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint p = ws_point (lines->centre[k].x, lines->centre[k].y - pivot_z);
    lines->centre[k] = ws_point (c * p.x + s * p.y, -s * p.x + c * p.y + pivot_z);
    lines->angle[k] -= ws_drill_side (k) * angle;
  }
}

WsDrillLines
ws_drill_lines_turned (const WsDrillLines *lines, double web, double turn)
{
  WsDrillLines seen = *lines;
  for (guint k = 0; k < 2; k++)
  {
    seen.angle[k] = atan (tan (lines->angle[k]) * cos (turn));
    seen.centre[k].x = lines->centre[k].x * cos (turn) + ws_drill_side (k) * web * sin (turn);
  }
  return seen;
}

WsDrillLines
ws_drill_lines_leaning (const WsDrillLines *lines, double web, double lean)
{
  WsDrillLines seen = *lines;
  for (guint k = 0; k < 2; k++)
  {
    seen.angle[k] = atan (tan (lines->angle[k]) / cos (lean));
    seen.centre[k].y = lines->centre[k].y * cos (lean) + ws_drill_side (k) * web * sin (lean);
  }
  return seen;
}
