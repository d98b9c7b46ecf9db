#include "maths/solve.h"

#include "base/testing.h"

/* A = L L' of L = (2 0 0; 6 1 0; -8 5 3), so det A = 36 and its inverse can be had by hand. */
static void
a_small_system_is_solved_and_inverted (void **state)
{
  (void)state;
  double A[] = { 4.0, 12.0, -16.0, 12.0, 37.0, -43.0, -16.0, -43.0, 98.0 };
  const double inverse[] = { 1777.0 / 36.0, -122.0 / 9.0, 19.0 / 9.0, -122.0 / 9.0, 34.0 / 9.0,
                             -5.0 / 9.0,    19.0 / 9.0,   -5.0 / 9.0, 1.0 / 9.0 };
  /* Of x = (1, 2, 3). */
  double b[] = { -20.0, -43.0, 192.0 };
  assert_true (wsi_solve_spd (A, b, 3, TRUE));
  for (guint i = 0; i < 3; i++)
    assert_near (b[i], i + 1.0, 1e-10);
  for (guint i = 0; i < 9; i++)
    assert_near (A[i], inverse[i], 1e-10);
}

static void
the_factor_is_the_known_one (void **state)
{
  (void)state;
  double A[] = { 4.0, 12.0, -16.0, 12.0, 37.0, -43.0, -16.0, -43.0, 98.0 };
  const double L[] = {
    2.0, 12.0, -16.0, 6.0, 1.0, -43.0, -8.0, 5.0, 3.0
  }; /* above it: as before */
  assert_true (wsi_factor_spd (A, 3));
  for (guint i = 0; i < 9; i++)
    assert_near (A[i], L[i], 1e-12);
  double certain[] = { 1.0, 1.0, 1.0, 1.0 };
  assert_false (wsi_factor_spd (certain, 2));
}

static void
what_is_not_positive_definite_is_refused (void **state)
{
  (void)state;
  double indefinite[] = { 1.0, 2.0, 2.0, 1.0 }, b[] = { 1.0, 1.0 };
  assert_false (wsi_solve_spd (indefinite, b, 2, FALSE));
  double singular[] = { 1.0, 3.0, 3.0, 9.0 };
  assert_false (wsi_solve_spd (singular, b, 2, FALSE));
  double zero[] = { 0.0 };
  assert_false (wsi_solve_spd (zero, b, 1, FALSE));
  double none[] = { NAN };
  assert_false (wsi_solve_spd (none, b, 1, FALSE));
}

/* Of sizes from 1e-12 to 1e12: A = D B D of B = (2 1; 1 2) and so on, in more unknowns than fit the
 * small solver; A times its inverse is the unit matrix. */
static void
a_large_matrix_of_unlike_sizes_is_inverted (void **state)
{
  enum
  {
    N = 13
  };
  double A[N * N], inverse[N * N];
  (void)state;
  for (guint i = 0; i < N; i++)
    for (guint j = 0; j < N; j++)
      A[i * N + j] = (i == j ? 2.0 : 1.0) * pow (10, 2.0 * i - N + 1) * pow (10, 2.0 * j - N + 1);
  memcpy (inverse, A, sizeof A);
  assert_true (wsi_invert_spd (inverse, N));
  for (guint i = 0; i < N; i++)
    for (guint j = 0; j < N; j++)
    {
      /* (I + 1 1')^-1 = I - 1 1' / (N + 1). */
      const double scale = pow (10, 2.0 * i - N + 1) * pow (10, 2.0 * j - N + 1);
      assert_near (inverse[i * N + j] * scale, (i == j ? 1.0 : 0.0) - 1.0 / (N + 1), 1e-12);
    }
  double singular[] = { 1e-20, 3e-10, 3e-10, 9.0 };
  assert_false (wsi_invert_spd (singular, 2));
  assert_near (singular[3], 9.0, 0.0);
  double negative[] = { -1.0 };
  assert_false (wsi_invert_spd (negative, 1));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_small_system_is_solved_and_inverted),
    cmocka_unit_test (the_factor_is_the_known_one),
    cmocka_unit_test (what_is_not_positive_definite_is_refused),
    cmocka_unit_test (a_large_matrix_of_unlike_sizes_is_inverted),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
