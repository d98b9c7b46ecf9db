#include "tool/edge_marks.h"

#include "result/build.h"

/* A stretch shorter than this would be a dot. */
#define MIN_STRETCH 6

void
wsi_mark_used (WsResult *result, const char *label, const WsPoint *points, const guint8 *used,
               guint n, const WsAxis *axis)
{
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i <= n; i++)
  {
    if (i < n && used[i])
    {
      const WsPoint p = axis != NULL ? wsi_axis_to_picture (axis, points[i]) : points[i];
      g_array_append_val (run, p);
      continue;
    }
    if (run->len >= MIN_STRETCH)
      wsi_result_add_mark (result, WS_MARK_EDGE_USED, label, (WsPoint *)(void *)run->data,
                           run->len);
    g_array_set_size (run, 0);
  }
}

void
wsi_mark_angle_to (WsResult *result, const char *stem, const WsPoint angle[3])
{
  wsi_result_add_mark (result, WS_MARK_ENVELOPE, NULL, angle + 1, 2);
  wsi_result_add_mark (result, WS_MARK_ANGLE, stem, angle, 3);
}
