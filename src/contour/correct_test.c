#include "contour/correct.h"

#include "base/geometry.h"
#include "base/testing.h"

/*
 * No published worked numbers were found; these were computed from the textbook formulas for
 * straight and circular form tools (the circular one as remembered from machinists' handbooks) and
 * are given to the digits printed there.
 */

static WsFormCorrection
straight (double r1, double rake_deg, double relief_deg)
{
  return (WsFormCorrection){ wsi_radians (rake_deg), wsi_radians (relief_deg), r1, NAN };
}

static void
straight_tool_depths (void **state)
{
  (void)state;
  const WsFormCorrection flat = straight (10, 0, 10), raked = straight (10, 10, 8);
  assert_near (wsi_form_face_depth (&flat, 15), 5.0000, 5e-5);
  assert_near (wsi_form_flank_depth (&flat, 15), 4.92404, 5e-6);
  assert_near (wsi_form_face_depth (&raked, 15), 5.05107, 5e-6);
  assert_near (wsi_form_flank_depth (&raked, 15), 4.80385, 5e-6);
}

static void
circular_tool_radii (void **state)
{
  (void)state;
  const double inch_relief = asin (0.25 / 1.5), mm_relief = asin (6.0 / 40);
  assert_near (wsi_degrees (inch_relief), 9.594, 5e-4);
  assert_near (wsi_degrees (mm_relief), 8.627, 5e-4);
  /* Depth 0.25 and 5 from any smallest radius: without rake the face depth is the difference. */
  const WsFormCorrection inch = { 0, inch_relief, 1, 1.5 }, mm = { 0, mm_relief, 8, 40 };
  assert_near (wsi_form_circular_radius (&inch, 1.25), 1.254189, 5e-7);
  assert_near (wsi_form_circular_radius (&mm, 13), 35.06459, 5e-6);
  assert_near (wsi_form_circular_radius (&mm, 8), 40, 1e-12);
}

static WsContour *
parse (const char *text)
{
  WsContour *contour = ws_contour_parse (text, strlen (text), "test", NULL);
  assert_non_null (contour);
  return contour;
}

static void
without_rake_the_profile_stays_as_it_is (void **state)
{
  (void)state;
  g_autoptr (WsContour) part = parse ("start 0 3\nline 5 3\narc 7 5 2 ccw\n");
  const WsFormCorrection correction = straight (10, 0, 12);
  g_autoptr (WsContour) tool = wsi_form_correct (part, &correction);
  assert_int_equal (tool->segments->len, 2);
  const WsContourSegment *arc = &g_array_index (tool->segments, WsContourSegment, 1);
  assert_near (arc->radius, 2, 1e-12);
  assert_near (arc->from.y, 0, 1e-12);
  assert_near (arc->centre.y, 2, 1e-12);
}

static void
with_rake_depths_and_numbers_are_right (void **state)
{
  (void)state;
  /* r1 10 at y 0; the step at y 5 is radius 15. */
  g_autoptr (WsContour) part = parse ("start 0 0\nline 4 0\nline 4 5\narc 9 10 5 cw\nline 12 10\n");
  const WsFormCorrection correction = straight (10, 10, 8);
  g_autoptr (WsContour) tool = wsi_form_correct (part, &correction);
  assert_int_equal (tool->n_numbers, 4);
  double before = 0;
  for (guint i = 0; i < tool->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (tool->segments, WsContourSegment, i);
    assert_true (s->number >= before);
    before = s->number;
    if (i > 0)
      assert_near (
        wsi_point_distance (s->from, g_array_index (tool->segments, WsContourSegment, i - 1).to), 0,
        1e-9);
  }
  const WsContourSegment *last =
    &g_array_index (tool->segments, WsContourSegment, tool->segments->len - 1);
  assert_near (last->to.y, wsi_form_face_depth (&correction, 20), 1e-9);
  /* Chords: each end lies on the mapped circle about (9, 5). */
  for (guint i = 0; i < tool->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (tool->segments, WsContourSegment, i);
    if (s->number != 3)
      continue;
    const double y = 5 + sqrt (25 - (s->to.x - 9) * (s->to.x - 9));
    assert_near (s->to.y, wsi_form_face_depth (&correction, 10 + y), 1e-9);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (straight_tool_depths),
    cmocka_unit_test (circular_tool_radii),
    cmocka_unit_test (without_rake_the_profile_stays_as_it_is),
    cmocka_unit_test (with_rake_depths_and_numbers_are_right),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
