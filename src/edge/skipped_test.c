/*
 * A square that lies slanted, as it is, as it is ground, and with rows and columns left out.
 */
#include "base/testing.h"

#include "edge/skipped.h"

#include <math.h>

#define SIDE 300
#define NOISE_PX 0.02

typedef struct
{
  double factor;  /* by which it was made smaller leaving out lines; 1: it wasn't */
  double ripple;  /* of two sides as a wheel leaves them, px, */
  double length;  /* so long, px */
  double slanted; /* rad */
  double bow;     /* of a side's middle, px */
} Square;

/* Line i of the small picture is the nearest one to i * factor of the large. */
static double
moved_by (double place, double factor)
{
  const double at = (floor (place + 0.5) + 0.5) * factor - 0.5;
  return (floor (at + 0.5) - at) / factor;
}

static void
add_side (GArray *points, const Square *square, guint side, GRand *random)
{
  const double direction = square->slanted + 0.5 * G_PI * side;
  const double tx = cos (direction), ty = sin (direction), nx = ty, ny = -tx;
  for (guint k = 0; k < SIDE; k++)
  {
    const double t = k - 0.5 * SIDE, x = 400 + t * tx + 0.5 * SIDE * nx,
                 y = 400 + t * ty + 0.5 * SIDE * ny;
    const double u = 2.0 * t / SIDE;
    double off = square->bow * (1 - u * u) + NOISE_PX * g_rand_double_range (random, -1.7, 1.7);
    if (square->length > 0 && side % 2 == 0)
      off += square->ripple * sin (2 * G_PI * t / square->length);
    off -= nx * moved_by (x, square->factor) + ny * moved_by (y, square->factor);
    const WsEdgePoint p = {
      .x = x + off * nx, .y = y + off * ny, .nx = (float)nx, .ny = (float)ny
    };
    g_array_append_val (points, p);
  }
}

static double
skipped_of (const Square *square)
{
  GRand *random = g_rand_new_with_seed (5);
  const WsOutline outline = { .points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint)) };
  for (guint side = 0; side < 4; side++)
    add_side (outline.points, square, side, random);
  const double skipped = wsi_outline_skipped (&outline);
  g_array_unref (outline.points);
  g_rand_free (random);
  return skipped;
}

/* A factor of 2.2 has a turn of five lines, one of 2.7 of 3.3, or as waves of half of it. */
static void
lines_left_out_are_told (void **state)
{
  (void)state;
  for (double slanted = 0.2; slanted < 0.75; slanted += 0.1)
  {
    const double turn = skipped_of (&(Square){ 2.2, 0, 0, slanted, 0 });
    assert_true (fabs (turn - 1 / 0.2) < 0.1 || fabs (turn - 1 / 0.4) < 0.1);
    const double other = skipped_of (&(Square){ 2.7, 0, 0, slanted, 0 });
    assert_true (fabs (other - 1 / 0.3) < 0.1 || fabs (other - 1 / 0.4) < 0.1);
  }
}

static void
whole_pictures_have_all (void **state)
{
  (void)state;
  for (double slanted = 0; slanted < 0.8; slanted += 0.1)
  {
    assert_near (skipped_of (&(Square){ 1, 0, 0, slanted, 0 }), 0, 0);
    assert_near (skipped_of (&(Square){ 1, 0, 0, slanted, 5 }), 0, 0);
  }
}

/* A wheel's marks go along the edge, not along rows. */
static void
ripples_of_an_edge_are_its_own (void **state)
{
  (void)state;
  for (double slanted = 0.1; slanted < 0.7; slanted += 0.1)
    for (double length = 4; length < 60; length *= 1.6)
      assert_near (skipped_of (&(Square){ 1, 0.1, length, slanted, 0 }), 0, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lines_left_out_are_told),
    cmocka_unit_test (whole_pictures_have_all),
    cmocka_unit_test (ripples_of_an_edge_are_its_own),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
