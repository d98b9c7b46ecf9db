#include "tool/drill/lines.h"

#include "base/geometry.h"

WsDrillLines
wsi_drill_lines_of (const WsDrillPoint *point)
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
wsi_drill_lines_along (const WsDrillLines *lines, guint k)
{
  return wsi_point (wsi_drill_side (k) * sin (lines->angle[k]), -cos (lines->angle[k]));
}

WsPoint
wsi_drill_lines_outward (const WsDrillLines *lines, guint k)
{
  return wsi_point (wsi_drill_side (k) * cos (lines->angle[k]), sin (lines->angle[k]));
}

WsPoint
wsi_drill_lines_apex (const WsDrillLines *lines)
{
  const WsPoint a = wsi_drill_lines_along (lines, 0), b = wsi_drill_lines_along (lines, 1);
  const double t = wsi_point_cross (wsi_point_sub (lines->centre[1], lines->centre[0]), b) /
                   wsi_point_cross (a, b);
  return wsi_point_along (lines->centre[0], t, a);
}

WsPoint
wsi_drill_lines_corner (const WsDrillLines *lines, guint k)
{
  const WsPoint d = wsi_drill_lines_along (lines, k);
  const double t = (wsi_drill_side (k) * lines->radius - lines->centre[k].x) / d.x;
  return wsi_point_along (lines->centre[k], t, d);
}

void
wsi_drill_lines_turn (WsDrillLines *lines, double pivot_z, double angle)
{
  const double c = cos (angle), s = sin (angle);
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint p = wsi_point (lines->centre[k].x, lines->centre[k].y - pivot_z);
    lines->centre[k] = wsi_point (c * p.x + s * p.y, -s * p.x + c * p.y + pivot_z);
    lines->angle[k] -= wsi_drill_side (k) * angle;
  }
}

WsDrillLines
wsi_drill_lines_turned (const WsDrillLines *lines, double web, double turn)
{
  WsDrillLines seen = *lines;
  for (guint k = 0; k < 2; k++)
  {
    seen.angle[k] = atan (tan (lines->angle[k]) * cos (turn));
    seen.centre[k].x = lines->centre[k].x * cos (turn) + wsi_drill_side (k) * web * sin (turn);
  }
  return seen;
}

WsDrillLines
wsi_drill_lines_leaning (const WsDrillLines *lines, double web, double lean)
{
  WsDrillLines seen = *lines;
  for (guint k = 0; k < 2; k++)
  {
    seen.angle[k] = atan (tan (lines->angle[k]) / cos (lean));
    seen.centre[k].y = lines->centre[k].y * cos (lean) + wsi_drill_side (k) * web * sin (lean);
  }
  return seen;
}

WsDrillLines
wsi_drill_lines_upright (const WsDrillLines *lines, double web, double lean)
{
  WsDrillLines square = *lines;
  for (guint k = 0; k < 2; k++)
  {
    square.angle[k] = atan (tan (lines->angle[k]) * cos (lean));
    square.centre[k].y = (lines->centre[k].y - wsi_drill_side (k) * web * sin (lean)) / cos (lean);
  }
  return square;
}

/* Turned so that the axis stays upright. */
static WsPoint
strained (const double m[4], WsPoint p)
{
  const double length = hypot (m[1], m[3]), s = m[1] / length, c = m[3] / length;
  const WsPoint q = wsi_point (m[0] * p.x + m[1] * p.y, m[2] * p.x + m[3] * p.y);
  return wsi_point (c * q.x - s * q.y, s * q.x + c * q.y);
}

WsDrillLines
wsi_drill_lines_strained (const WsDrillLines *lines, const double m[4])
{
  const double across = (m[0] * m[3] - m[1] * m[2]) / hypot (m[1], m[3]);
  WsDrillLines seen = { .radius = lines->radius * across };
  for (guint k = 0; k < 2; k++)
  {
    const WsPoint along = strained (m, wsi_drill_lines_along (lines, k));
    seen.centre[k] = strained (m, lines->centre[k]);
    seen.angle[k] = atan2 (wsi_drill_side (k) * along.x, -along.y);
  }
  return seen;
}
