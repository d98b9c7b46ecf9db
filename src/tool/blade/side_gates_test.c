/*
 * What isn't the side of a tool, though it has straight edges and sharp corners: turned and bent
 * things.
 */
#include "tool/blade/side_gates.h"

#include "base/testing.h"

#include "base/geometry.h"
#include "result/build.h"
#include "tool/blade/blade.h"

/* Points a px apart on straight lines from corner to corner; the last one is the frame. */
static WsOutline *
outline_of (const WsPoint *corners, guint n)
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->spacing_px = 1;
  outline->blur_px = outline->blur_min_px = outline->blur_max_px = 1;
  outline->noise = 0.01;
  for (guint k = 0; k < n; k++)
  {
    const WsPoint a = corners[k], run = wsi_point_sub (corners[(k + 1) % n], a);
    const double length = wsi_point_length (run);
    for (guint i = 0; i < (guint)length; i++)
    {
      const WsPoint at = wsi_point_along (a, i / length, run);
      const WsEdgePoint p = { .x = at.x,
                              .y = at.y,
                              .nx = (float)(run.y / length),
                              .ny = (float)(-run.x / length),
                              .noise = 0.01f,
                              .step = 0.7f,
                              .on_frame = k + 1 == n };
      g_array_append_val (outline->points, p);
    }
  }
  return outline;
}

/* What the gates say of it as the side of a form tool. */
static WsResult *
gate (const WsPoint *corners, guint n, double relief)
{
  g_autoptr (WsOutline) outline = outline_of (corners, n);
  WsRefusal refusal = { 0 };
  g_autoptr (WsBlade) blade = wsi_blade_locate (outline, WS_BLADE_HOLLOW, &refusal);
  assert_non_null (blade);
  const WsSideLayout layout = wsi_side_layout_usual (blade);
  const WsToolCard card = { .kind = WS_KIND_FORM_TOOL };
  const WsOptics optics = { .mm_per_px = 1 };
  const WsSideFound found = { &card, &optics, blade, &layout, wsi_radians (relief), 0, 300 };
  WsResult *result = wsi_result_new ("form-side");
  wsi_blade_side_gate (&found, result);
  return result;
}

/* A tool with twenty degrees of relief, and a cone with a flat on its end of which one flank is
 * taken for the front. */
static void
a_cone_is_no_tool (void **state)
{
  (void)state;
  const double back = 150 * tan (wsi_radians (20));
  const WsPoint tool[] = { { 100, 100 }, { 700, 100 }, { 700 - 2 * back, 400 }, { 100, 400 } };
  g_autoptr (WsResult) good = gate (tool, 4, 20);
  assert_int_equal (good->reason, WS_RETAKE_NONE);
  const WsPoint cone[] = { { 100, 100 }, { 700 - back, 100 }, { 700, 250 },
                           { 700, 260 }, { 700 - back, 400 }, { 100, 400 } };
  g_autoptr (WsResult) wrong = gate (cone, 6, 20);
  assert_int_equal (wrong->reason, WS_RETAKE_WRONG_VIEW);
  assert_contains (wrong->detail, "as of a cone");
}

/* The same tool, and one whose sides bow by a hundredth of their length. */
static void
a_bent_wire_is_no_tool (void **state)
{
  (void)state;
  enum
  {
    STEPS = 30
  };
  WsPoint wire[2 * STEPS + 2];
  for (guint i = 0; i <= STEPS; i++)
  {
    const double t = (double)i / STEPS, bow = 4 * 9 * t * (1 - t);
    wire[i] = wsi_point (100 + t * 900, 100 + bow);
    wire[2 * STEPS + 1 - i] = wsi_point (100 + t * 800, 400 + bow);
  }
  g_autoptr (WsResult) wrong = gate (wire, G_N_ELEMENTS (wire), 18);
  assert_int_equal (wrong->reason, WS_RETAKE_WRONG_VIEW);
  assert_contains (wrong->detail, "as those of a bent wire");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_cone_is_no_tool),
    cmocka_unit_test (a_bent_wire_is_no_tool),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
