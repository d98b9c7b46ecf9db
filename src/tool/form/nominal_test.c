#include "tool/form/nominal.h"

#include "base/testing.h"

#include "base/geometry.h"

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
      const WsFormFoot foot = wsi_form_nominal_nearest (&profile, p, heading, 5);
      assert_near (foot.distance, 2, 1e-9);
      assert_near (foot.t, 0.5, 1e-9);
      assert_near (foot.foot.x, centre.x, 1e-9);
      assert_near (foot.foot.y, centre.y + radius, 1e-9);
      assert_true (isinf (wsi_form_nominal_nearest (&profile, p, back, 5).distance));
      assert_true (isinf (wsi_form_nominal_nearest (&profile, p, heading, 1.5).distance));
    }
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_foot_is_found_on_arcs_of_any_size),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
