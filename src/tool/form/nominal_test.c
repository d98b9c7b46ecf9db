#include "tool/form/nominal.h"

#include "base/testing.h"

#include "base/geometry.h"

static WsFormFoot
nearest (const WsFormNominal *profile, WsPoint p, WsPoint heading, double reach)
{
  const WsFormQuery query = { p, heading, reach, 0 };
  return wsi_form_nominal_nearest (profile, &query);
}

/* A place beside the middle of an arc lies outside the box about its ends. */
static void
the_foot_is_found_on_arcs_of_any_size (void **state)
{
  (void)state;
  for (double sweep = -5.9; sweep < 6; sweep += 0.4)
  {
    const WsPoint centre = { 30, -20 };
    const double from = G_PI / 2 - sweep / 2, radius = 100;
    WsContourSegment arc = { .sweep = sweep, .centre = centre, .radius = radius, .number = 1 };
    arc.from = wsi_point_along (centre, radius, wsi_point (cos (from), sin (from)));
    arc.to = wsi_point_along (centre, radius, wsi_point (cos (from + sweep), sin (from + sweep)));
    double start = 0;
    gboolean corner = TRUE;
    const WsFormNominal profile = { .segments = &arc, .start = &start, .corner = &corner, .n = 1 };
    for (double off = -2; off <= 2; off += 4)
    {
      const WsPoint heading = wsi_point (sweep > 0 ? -1 : 1, 0), back = wsi_point (-heading.x, 0);
      const WsPoint p = wsi_point (centre.x, centre.y + radius + off);
      const WsFormFoot foot = nearest (&profile, p, heading, 5);
      assert_near (foot.distance, 2, 1e-9);
      assert_near (foot.t, 0.5, 1e-9);
      assert_near (foot.foot.x, centre.x, 1e-9);
      assert_near (foot.foot.y, centre.y + radius, 1e-9);
      assert_true (isinf (nearest (&profile, p, back, 5).distance));
      assert_true (isinf (nearest (&profile, p, heading, 1.5).distance));
    }
  }
}

/* Whichever segment is looked at first, the foot is the same, at the corner between two as well. */
static void
the_first_look_changes_nothing (void **state)
{
  (void)state;
  g_autoptr (GArray) segments = g_array_new (FALSE, TRUE, sizeof (WsContourSegment));
  WsContour contour = { .segments = segments };
  for (guint i = 0; i < 6; i++)
  {
    const WsContourSegment s = { .from = { i, i % 2 }, .to = { i + 1, 1 - i % 2 }, .number = i };
    g_array_append_val (segments, s);
  }
  g_auto (WsFormNominal) profile = { 0 };
  wsi_form_nominal_init (&profile, &contour, 100);
  for (guint k = 0; k <= 120; k++)
  {
    const WsPoint p = wsi_point (5.0 * k, k % 3 ? -140 : -40);
    WsFormQuery query = { p, wsi_point (1, 0), HUGE_VAL, 0 };
    query.heading = profile.runs[k / 20 % 6];
    const WsFormFoot first = wsi_form_nominal_nearest (&profile, &query);
    for (query.likely = 1; query.likely < 6; query.likely++)
    {
      const WsFormFoot foot = wsi_form_nominal_nearest (&profile, &query);
      assert_int_equal (foot.segment, first.segment);
      assert_near (foot.t, first.t, 0);
      assert_near (foot.distance, first.distance, 0);
    }
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_foot_is_found_on_arcs_of_any_size),
    cmocka_unit_test (the_first_look_changes_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
