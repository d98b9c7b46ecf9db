#include "edge/circle.h"

#include "base/geometry.h"
#include "base/testing.h"

/* Gander, Golub & Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994)
 * 558-578: the points and (4.7398, 2.9835, 4.7142) are from memory; more digits recomputed with
 * a general-purpose library. */
static const WsPoint gander[] = { { 1, 7 }, { 2, 6 }, { 5, 8 }, { 7, 7 }, { 9, 5 }, { 3, 7 } };

/* Coope, "Circle fitting by linear and nonlinear least squares", JOTA 76 (1993) 381-388: points
 * from a public teaching script, results recomputed with a general-purpose library. */
static const WsPoint coope[] = { { 0.7, 4.0 },  { 3.3, 4.7 },  { 5.6, 4.0 },  { 7.5, 1.3 },
                                 { 6.4, -1.1 }, { 4.4, -3.0 }, { 0.3, -2.5 }, { -1.1, 1.3 } };

static void
assert_circle (const WsCircle *circle, double x, double y, double radius)
{
  assert_near (circle->centre.x, x, 1e-7);
  assert_near (circle->centre.y, y, 1e-7);
  assert_near (circle->radius, radius, 1e-7);
}

static void
published_points_give_their_geometric_circle (void **state)
{
  (void)state;
  WsCircle circle;
  assert_true (wsi_circle_fit (gander, G_N_ELEMENTS (gander), &circle));
  assert_circle (&circle, 4.73978243, 2.98353277, 4.71422598);
  assert_near (circle.squares, 1.227599078, 1e-8);
  assert_true (wsi_circle_fit (coope, G_N_ELEMENTS (coope), &circle));
  assert_circle (&circle, 3.04323825, 0.74567832, 4.10585584);
  assert_near (circle.squares, 0.2959484380, 1e-8);
}

static void
published_points_give_their_linear_circle (void **state)
{
  (void)state;
  WsCircle circle;
  assert_true (wsi_circle_fit_linear (gander, G_N_ELEMENTS (gander), &circle));
  assert_circle (&circle, 4.74233129, 3.83512270, 4.10876152);
  assert_true (wsi_circle_fit_linear (coope, G_N_ELEMENTS (coope), &circle));
  assert_circle (&circle, 3.06030357, 0.74360732, 4.10913704);
}

static void
points_on_a_line_are_no_circle (void **state)
{
  (void)state;
  const WsPoint line[] = { { 0, 0 }, { 1, 1 }, { 2, 2 }, { 3, 3 } };
  WsCircle circle;
  assert_false (wsi_circle_fit (line, G_N_ELEMENTS (line), &circle));
  assert_false (wsi_circle_fit (line, 2, &circle));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (published_points_give_their_geometric_circle),
    cmocka_unit_test (published_points_give_their_linear_circle),
    cmocka_unit_test (points_on_a_line_are_no_circle),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
