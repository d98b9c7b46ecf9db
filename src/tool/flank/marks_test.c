#include "tool/flank/marks.h"

#include "base/testing.h"

#include <math.h>

#define LENGTH 220
#define DEPTH 200

typedef double (*Pattern) (double s, double d);

/* A number of -1 to 1 that looks drawn at random. */
static double
noise (guint i)
{
  guint32 x = i * 2654435761u + 12345u;
  x ^= x >> 15;
  x *= 2246822519u;
  x ^= x >> 13;
  return x / 2147483648.0 - 1;
}

static double
streaks (double at)
{
  const double cell = floor (at / 3), part = at / 3 - cell;
  return (1 - part) * noise ((guint)(cell + 1000)) + part * noise ((guint)(cell + 1001));
}

static double
across (double s, double d)
{
  (void)d;
  return streaks (s);
}

static double
slanting (double s, double d)
{
  return streaks (s * cos (0.5) + d * sin (0.5));
}

static double
crossed (double s, double d)
{
  return sin (0.9 * s) + sin (0.9 * d);
}

static double
checkered (double s, double d)
{
  return ((guint)(s / 12) + (guint)(d / 12)) % 2 == 0 ? 1 : -1;
}

static double
nothing (double s, double d)
{
  (void)s;
  (void)d;
  return 0;
}

/* Shading is no texture, however much it has a direction. */
static double
shading (double s, double d)
{
  (void)d;
  return 6 * (s / LENGTH - 0.5);
}

/* `grain`: of each cell by itself. */
static WsMarks
marks_of (Pattern pattern, double strength, double grain)
{
  g_autoptr (WsBand) band = wsi_band_new (LENGTH, DEPTH);
  WsMarks marks;
  for (guint d = 0; d < DEPTH; d++)
    for (guint s = 0; s < LENGTH; s++)
    {
      const double light =
        0.3 * (1 + strength * pattern (s, d) + grain * noise (d * LENGTH + s + 7919));
      for (guint k = 0; k < 3; k++)
        wsi_band_cell (band, s, d)[k] = (float)light;
    }
  wsi_marks_find (band, 4, &marks);
  return marks;
}

static void
marks_are_seen_with_their_direction (void **state)
{
  (void)state;
  const WsMarks square = marks_of (across, 0.1, 0.02), slant = marks_of (slanting, 0.1, 0.02);
  assert_true (square.seen);
  assert_true (square.coherence > 0.5 && square.agreeing > 0.95);
  assert_near (fabs (square.direction), G_PI_2, 0.03);
  assert_true (slant.seen);
  /* They run along s sin = d cos, that is with the slope -cos / sin. */
  assert_near (slant.direction, 0.5 - G_PI_2, 0.05);
}

/* Fainter than the camera's noise, pixel by pixel. */
static void
marks_are_seen_through_noise (void **state)
{
  (void)state;
  assert_true (marks_of (across, 0.03, 0.05).seen);
}

static void
what_has_no_one_direction_is_no_ground_flank (void **state)
{
  (void)state;
  assert_false (marks_of (nothing, 0, 0).seen);
  assert_false (marks_of (nothing, 0, 0.05).seen);
  assert_false (marks_of (crossed, 0.1, 0.02).seen);
  assert_false (marks_of (checkered, 0.2, 0.02).seen);
  assert_false (marks_of (shading, 0.1, 0).seen);
}

/* Half of the flank is smooth: polished, or out of focus. */
static double
in_half (double s, double d)
{
  return d < 0.5 * DEPTH ? streaks (s) : 0;
}

static void
marks_must_be_everywhere (void **state)
{
  (void)state;
  assert_false (marks_of (in_half, 0.1, 0.03).seen);
}

static void
a_band_too_small_tells_nothing (void **state)
{
  (void)state;
  g_autoptr (WsBand) band = wsi_band_new (30, 3);
  WsMarks marks;
  wsi_marks_find (band, 4, &marks);
  assert_false (marks.seen);
  assert_int_equal (marks.parts, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (marks_are_seen_with_their_direction),
    cmocka_unit_test (marks_are_seen_through_noise),
    cmocka_unit_test (what_has_no_one_direction_is_no_ground_flank),
    cmocka_unit_test (marks_must_be_everywhere),
    cmocka_unit_test (a_band_too_small_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
