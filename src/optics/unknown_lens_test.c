/*
 * What a lens that nobody calibrated may do to points.
 */
#include "base/testing.h"
#include "optics/deviate.h"
#include "optics/unknown_lens.h"

#include <math.h>

/* Anything up to the distortion is as likely: at the corner its standard deviation is that over the
 * root of 3, on the way there less by the distance squared, in the middle nothing. */
static void
the_corner_moves_by_what_is_told (void **state)
{
  (void)state;
  const WsOptics none = WS_OPTICS_UNKNOWN;
  WsOptics told = none;
  told.lens_distortion = 0.01;
  const struct
  {
    const WsOptics *optics;
    double distortion;
  } cases[] = { { &none, 0.003 }, { &told, 0.01 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    WsLens bent[WS_LENS_MAX];
    const WsLens lens = wsi_unknown_lens (cases[i].optics, 801, 601);
    assert_near (wsi_unknown_lens_distortion (cases[i].optics), cases[i].distortion, 0);
    assert_int_equal (wsi_lens_deviations (&lens, bent), 1);
    const double u = cases[i].distortion / sqrt (3);
    const WsPoint corner = wsi_lens_deviate (&lens, &bent[0], (WsPoint){ 800, 600 }),
                  half = wsi_lens_deviate (&lens, &bent[0], (WsPoint){ 600, 300 }),
                  middle = wsi_lens_deviate (&lens, &bent[0], (WsPoint){ 400, 300 });
    assert_near (fabs (corner.x - 800), 400 * u, 0.01 * 400 * u);
    assert_near (fabs (corner.y - 600), 300 * u, 0.01 * 300 * u);
    assert_near (fabs (half.x - 600), 200 * u * 0.16, 1e-9 + 0.01 * 200 * u * 0.16);
    assert_near (middle.x, 400, 1e-9);
    assert_near (middle.y, 300, 1e-9);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_corner_moves_by_what_is_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
