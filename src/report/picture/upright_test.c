#include "report/picture/upright.h"

#include "base/geometry.h"
#include "report/sample_for_tests.h"

static Sample *
with_mark (WsMarkRole role, const WsPoint *points, gsize n)
{
  Sample *sample = sample_new (TRUE);
  g_ptr_array_set_size (sample->result->marks, 0);
  wsi_result_add_mark (sample->result, role, "1", points, n);
  return sample;
}

/* Along the axis, or out of a profile that has the tool on its right-hand side. */
static void
test_directions (void **state)
{
  (void)state;
  static const WsPoint axis[] = { { 10, 10 }, { 40, 50 } };
  static const WsPoint profile[] = { { 10, 10 }, { 25, 90 }, { 40, 50 } };
  g_autoptr (Sample) drill = with_mark (WS_MARK_AXIS, axis, 2);
  g_autoptr (Sample) form = with_mark (WS_MARK_SEGMENT, profile, 3);
  g_autoptr (Sample) none = with_mark (WS_MARK_OUTLINE, profile, 3);
  g_autoptr (Sample) nowhere = with_mark (WS_MARK_AXIS, axis, 1);
  WsPoint up;
  assert_true (wsi_upright_direction (drill->result, &up));
  assert_near (up.x, 0.6, 1e-12);
  assert_near (up.y, 0.8, 1e-12);
  assert_true (wsi_upright_direction (form->result, &up));
  assert_near (up.x, 0.8, 1e-12);
  assert_near (up.y, -0.6, 1e-12);
  assert_false (wsi_upright_direction (none->result, &up));
  assert_false (wsi_upright_direction (nowhere->result, &up));
  assert_false (wsi_upright_helps (none->result));
}

/* From 45 degrees on, to either side. */
static void
test_when_it_helps (void **state)
{
  (void)state;
  for (int degrees = -180; degrees <= 180; degrees += 2)
  {
    const double turn = degrees * G_PI / 180;
    const WsPoint axis[] = { { 50, 50 }, { 50 + 30 * sin (turn), 50 - 30 * cos (turn) } };
    g_autoptr (Sample) sample = with_mark (WS_MARK_AXIS, axis, 2);
    assert_int_equal (wsi_upright_helps (sample->result), ABS (degrees) > 45);
  }
}

/* Whatever the turn, what leads to the point leads upward; the outline keeps its shape, lies in the
 * area with its sides in the middle, and is not larger than on the sheet before. */
static void
test_turning (void **state)
{
  (void)state;
  static const double widths[] = { 300, 1500 };
  for (gsize w = 0; w < G_N_ELEMENTS (widths); w++)
    for (int degrees = 0; degrees < 360; degrees += 15)
    {
      const double turn = degrees * G_PI / 180;
      const WsPoint up = { sin (turn), -cos (turn) }, side = { cos (turn), sin (turn) };
      const WsPoint middle = { 400, 300 };
      const WsPoint axis[] = { wsi_point_along (middle, -100, up),
                               wsi_point_along (middle, 100, up) };
      const WsPoint outline[] = { wsi_point_along (axis[0], -50, side),
                                  wsi_point_along (middle, -50, side), axis[1],
                                  wsi_point_along (middle, 50, side),
                                  wsi_point_along (axis[0], 50, side) };
      g_autoptr (Sample) sample = with_mark (WS_MARK_AXIS, axis, 2);
      wsi_result_add_mark (sample->result, WS_MARK_OUTLINE, NULL, outline, 5);
      WsSheet sheet = { .factor = 2, .x = 1000, .y = 200, .width = widths[w], .height = 900 };
      wsi_upright_turn (&sheet, sample->result);
      const WsPoint left = wsi_sheet_place (&sheet, outline[0]),
                    right = wsi_sheet_place (&sheet, outline[4]),
                    point = wsi_sheet_place (&sheet, outline[2]),
                    foot = wsi_sheet_place (&sheet, axis[0]);
      const double factor = widths[w] < 1000 ? 0.72 * 300 / 100 : 2;
      assert_near (sheet.factor, fmin (factor, 2), 1e-9);
      assert_near (point.x, foot.x, 1e-6);
      assert_near (foot.y - point.y, 200 * sheet.factor, 1e-6);
      assert_near (left.y, right.y, 1e-6);
      assert_near (right.x - left.x, 100 * sheet.factor, 1e-6);
      assert_near (0.5 * (left.x + right.x), 1000 + 0.5 * widths[w], 1.5 * sheet.factor);
      assert_near (point.y, 200 + 0.16 * 900, 1.5 * sheet.factor);
    }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_directions),
    cmocka_unit_test (test_when_it_helps),
    cmocka_unit_test (test_turning),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
