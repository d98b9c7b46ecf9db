#include "tool/drill/side/marks.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/edge_marks.h"

static void
mark_line (const WsDrillPoint *point, WsResult *result, WsMarkRole role, const char *label,
           WsPoint from, WsPoint to)
{
  const WsPoint ends[2] = { wsi_axis_to_picture (&point->mirror.axis, from),
                            wsi_axis_to_picture (&point->mirror.axis, to) };
  wsi_result_add_mark (result, role, label, ends, 2);
}

void
wsi_drill_mark (const WsDrillPoint *point, WsResult *result)
{
  const WsAxis *axis = &point->mirror.axis;
  const double low = MIN (point->lips[0].corner.y, point->lips[1].corner.y) -
                     MAX (1.2 * point->radius, point->mirror.length_px);
  const double high = point->apex.y + 0.25 * point->radius;
  mark_line (point, result, WS_MARK_AXIS, NULL, wsi_point (0, low), wsi_point (0, high));
  const WsPoint apex = wsi_axis_to_picture (axis, point->apex);
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *lip = &point->lips[k];
    const double side = lip->side * point->radius;
    mark_line (point, result, WS_MARK_ENVELOPE, NULL, wsi_point (side, low),
               wsi_point (side, lip->corner.y));
    mark_line (point, result, WS_MARK_EDGE_LINE, k == 0 ? "a" : "b", lip->corner, point->apex);
    wsi_mark_used (result, k == 0 ? "a" : "b", (const WsPoint *)(void *)lip->points->data,
                   lip->used, lip->points->len, axis);
    const WsPoint corner = wsi_axis_to_picture (axis, lip->corner);
    wsi_result_add_mark (result, WS_MARK_CORNER, k == 0 ? "a" : "b", &corner, 1);
    const WsPoint angle[3] = {
      wsi_axis_to_picture (
        axis, wsi_point_along (point->apex, 0.6, wsi_point_sub (lip->corner, point->apex))),
      apex,
      wsi_axis_to_picture (axis, wsi_point (point->apex.x, point->apex.y - 0.7 * point->radius)),
    };
    wsi_result_add_mark (result, WS_MARK_ANGLE, k == 0 ? "half_angle_a" : "half_angle_b", angle, 3);
  }
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, &apex, 1);
}
