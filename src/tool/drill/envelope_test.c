#include "tool/drill/envelope.h"

#include "base/testing.h"

#include "base/geometry.h"

#include <math.h>

#define RADIUS 200.0
#define N_SIDE 140

/* A body whose margins lie on the envelope over 40 px below the corners, at z = 0, which blur of 3
 * px rounds off; farther down it falls away.  The outline goes up on one side and down on the
 * other. */
static WsOutline *
body (WsPoint *uz)
{
  WsOutline *outline = wsi_outline_new (2 * N_SIDE);
  outline->blur_px = outline->blur_min_px = outline->blur_max_px = 3;
  outline->noise = 0.005;
  for (guint i = 0; i < 2 * N_SIDE; i++)
  {
    const double z = i < N_SIDE ? (double)i - N_SIDE : (double)N_SIDE - 1 - i;
    const double rounded = exp (-z * z / (2 * 3 * 3)), away = MAX (0, -40 - z);
    const double u = RADIUS - rounded - 0.05 * away;
    uz[i] = wsi_point (i < N_SIDE ? -u : u, z);
    const WsEdgePoint p = { .x = uz[i].x, .y = uz[i].y };
    g_array_append_val (outline->points, p);
  }
  return outline;
}

static void
what_blur_rounds_at_corners_is_none_of_it (void **state)
{
  (void)state;
  WsPoint uz[2 * N_SIDE];
  g_autoptr (WsOutline) outline = body (uz);
  const WsPoint corners[2] = { { -RADIUS, 0 }, { RADIUS, 0 } };
  const WsEnvelope envelope = wsi_envelope_find (outline, uz, corners);
  assert_near (envelope.radius, RADIUS, 0.01);
  assert_true (envelope.u_radius < 0.1);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (what_blur_rounds_at_corners_is_none_of_it),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
