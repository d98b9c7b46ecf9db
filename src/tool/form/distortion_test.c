/*
 * A profile of eight segments as a lens bends it, and as a grinder's fault has it.
 */
#include "base/testing.h"

#include "base/geometry.h"
#include "tool/form/distortion.h"

#define WIDTH 1400
#define HEIGHT 1000
#define NOISE_PX 0.01

typedef struct
{
  double distortion;
  double fault_px; /* of one segment */
  guint n_segments;
} Case;

/* Whatever the same each time. */
static double
noise_of (guint i)
{
  return NOISE_PX * (sin (12.9898 * i) + sin (78.233 * i));
}

static void
add_segment (GArray *points, const Case *c, guint number)
{
  const WsPoint middle = wsi_point (0.5 * (WIDTH - 1), 0.5 * (HEIGHT - 1));
  const double corner = wsi_point_length (middle), direction = number % 2 == 0 ? 0.7 : -0.5;
  const WsPoint run = wsi_point (cos (direction), sin (direction)), normal = { -run.y, run.x };
  for (guint k = 0; k < 100; k++)
  {
    const double x = 250 + 110.0 * number + k * run.x, y = 480 + (number % 2) * 60 + k * run.y;
    const WsPoint q = { (x - middle.x) / corner, (y - middle.y) / corner };
    const double lens = c->distortion * corner * wsi_point_dot (q, q) * wsi_point_dot (q, normal);
    const WsFormPoint point = { .at = { x, y },
                                .foot = { x, y },
                                .normal = normal,
                                .deviation = lens + noise_of (points->len) +
                                             (number == 3 ? c->fault_px * k / 100 : 0),
                                .length = 1,
                                .weight = 1,
                                .number = number + 1 };
    g_array_append_val (points, point);
  }
}

static double
distortion_of (const Case *c)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsFormPoint));
  for (guint number = 0; number < c->n_segments; number++)
    add_segment (points, c, number);
  double squares = 0;
  for (guint i = 0; i < points->len; i++)
    squares += pow (g_array_index (points, WsFormPoint, i).deviation, 2);
  const WsFormFit fit = { .pivot = { 650, 500 },
                          .points = points,
                          .rms = sqrt (squares / points->len) };
  return wsi_form_distortion (&fit, WIDTH, HEIGHT);
}

static void
distortions_are_found (void **state)
{
  (void)state;
  static const double distortions[] = { -0.02, -0.01, 0.005, 0.015 };
  for (guint i = 0; i < G_N_ELEMENTS (distortions); i++)
    assert_near (distortion_of (&(Case){ distortions[i], 0, 8 }), distortions[i], 0.001);
}

static void
noise_and_faults_are_none (void **state)
{
  (void)state;
  assert_near (distortion_of (&(Case){ 0, 0, 8 }), 0, 1e-12);
  for (double fault = -2; fault < 2.1; fault += 0.5)
    assert_near (distortion_of (&(Case){ 0, fault, 8 }), 0, 1e-12);
}

/* Four segments may be off as they like. */
static void
few_segments_tell_nothing (void **state)
{
  (void)state;
  assert_near (distortion_of (&(Case){ 0.015, 0, 4 }), 0, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (distortions_are_found),
    cmocka_unit_test (noise_and_faults_are_none),
    cmocka_unit_test (few_segments_tell_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
