#include "tool/edge_marks.h"

#include "base/testing.h"

#include "result/build.h"

#define N 40

/* Ten points left out, then a stretch too short to draw. */
static WsResult *
marked (const WsAxis *axis, const WsPoint *points)
{
  guint8 used[N];
  for (guint i = 0; i < N; i++)
    used[i] = (i < 15 || i >= 25) && i != 36;
  WsResult *result = wsi_result_new ("drill-side");
  wsi_mark_used (result, "a", points, used, N, axis);
  return result;
}

static void
stretches_lie_on_the_edge_in_the_picture (void **state)
{
  (void)state;
  /* Along the axis upward, 5 px to its right. */
  const WsAxis axis = { { 100, 200 }, { 0, -1 } };
  WsPoint tool[N], picture[N];
  for (guint i = 0; i < N; i++)
  {
    tool[i] = wsi_point (5, i);
    picture[i] = wsi_point (105, 200.0 - i);
  }
  for (guint k = 0; k < 2; k++)
  {
    g_autoptr (WsResult) result = marked (k == 0 ? NULL : &axis, k == 0 ? picture : tool);
    assert_int_equal (result->marks->len, 2);
    for (guint m = 0; m < 2; m++)
    {
      const WsMark *mark = g_ptr_array_index (result->marks, m);
      assert_int_equal (mark->role, WS_MARK_EDGE_USED);
      assert_string_equal (mark->label, "a");
      assert_int_equal (mark->points->len, m == 0 ? 15 : 11);
      for (guint i = 0; i < mark->points->len; i++)
      {
        const WsPoint p = g_array_index (mark->points, WsPoint, i);
        assert_near (p.x, 105, 1e-9);
        assert_near (p.y, 200.0 - i - (m == 0 ? 0 : 25), 1e-9);
      }
    }
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (stretches_lie_on_the_edge_in_the_picture),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
