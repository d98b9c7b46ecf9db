/*
 * The scale's uncertainty against Monte Carlo trials (JCGM 101:2008) of what it is made of.
 */
#include "tool/known_size.h"

#include "base/geometry.h"
#include "base/testing.h"
#include "result/build.h"

#include <whetsight/judge.h>

#define N_TRIALS 40000
#define SIZE_MM 6.487
#define U_MM 0.02
#define SIZE_PX 455.0
#define U_PX 0.9

static const WsQuantityInfo infos[] = {
  { "diameter", WS_UNIT_LENGTH, NULL, "Diameter", "" },
  { "edge_width", WS_UNIT_LENGTH, NULL, "Edge width", "" },
  { "corner_radius_left", WS_UNIT_LENGTH, NULL, "Radius left", "" },
  { "side_clearance_mean", WS_UNIT_DEGREE, NULL, "Clearance, mean", "" },
};

static void
add (WsResult *result, guint i, double value, double u)
{
  WsQuantity *quantity = wsi_result_add_quantity (result, &infos[i], FALSE);
  wsi_quantity_set (quantity, value);
  wsi_quantity_add_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL, u, 1);
  wsi_quantity_combine (quantity);
}

static WsOptics
known (double mm, double u)
{
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.known_mm = mm;
  optics.u_known_mm = u;
  return optics;
}

/* Box and Muller. */
static double
normal (GRand *rand)
{
  const double radius = sqrt (-2 * log (1 - g_rand_double (rand)));
  return radius * cos (2 * G_PI * g_rand_double (rand));
}

static void
u_is_what_trials_give (void **state)
{
  (void)state;
  WsOptics optics = known (SIZE_MM, U_MM);
  g_autoptr (WsResult) seen = wsi_result_new ("drill-side");
  add (seen, 0, SIZE_PX, U_PX);
  assert_true (wsi_known_size_scale ("diameter", seen, &optics));
  assert_true (optics.has_scale);
  assert_near (optics.mm_per_px, SIZE_MM / SIZE_PX, 1e-15);

  GRand *rand = g_rand_new_with_seed (1);
  double sum = 0, squares = 0;
  for (guint i = 0; i < N_TRIALS; i++)
  {
    const double scale =
      (SIZE_MM + U_MM * normal (rand)) / (SIZE_PX + U_PX * normal (rand)) - optics.mm_per_px;
    sum += scale;
    squares += scale * scale;
  }
  g_rand_free (rand);
  const double u = sqrt (squares / N_TRIALS - sum * sum / N_TRIALS / N_TRIALS);
  assert_near (optics.u_mm_per_px / u, 1, 4 / sqrt (2.0 * N_TRIALS));
}

/* Flat anvils come closer on a rounded corner: the circle's tangent along the tool lies inside the
 * point where the straight front meets the straight side. */
static void
rounded_corners_are_allowed_for (void **state)
{
  (void)state;
  const double r = 20, c = wsi_radians (2);
  /* Front z = 0, side through the origin: x = z tan c for z <= 0; circle below the front. */
  const double middle = -r * tan (c) - r / cos (c), inside = -(middle + r);
  WsOptics sharp = known (3, 1e-9), rounded = sharp;
  g_autoptr (WsResult) seen = wsi_result_new ("blade-plan");
  add (seen, 1, 400, 0.0);
  assert_true (wsi_known_size_scale ("edge_width", seen, &sharp));
  add (seen, 2, r, 0.1);
  add (seen, 3, 2, 0.01);
  assert_true (wsi_known_size_scale ("edge_width", seen, &rounded));
  assert_near (sharp.u_mm_per_px / sharp.mm_per_px, 0, 1e-8);
  assert_near (rounded.u_mm_per_px / rounded.mm_per_px * 400, inside, 0.02 * inside);
}

static void
no_size_no_scale (void **state)
{
  (void)state;
  WsOptics optics = known (SIZE_MM, U_MM);
  g_autoptr (WsResult) seen = wsi_result_new ("drill-side");
  wsi_result_add_quantity (seen, &infos[0], FALSE);
  assert_false (wsi_known_size_scale ("diameter", seen, &optics));
  assert_false (wsi_known_size_scale (NULL, seen, &optics));
  g_autoptr (WsResult) refused = wsi_result_new ("drill-side");
  add (refused, 0, SIZE_PX, U_PX);
  wsi_result_retake (refused, WS_RETAKE_WRONG_VIEW, NULL);
  assert_false (wsi_known_size_scale ("diameter", refused, &optics));
  assert_false (optics.has_scale);
}

static void
the_size_is_given_not_measured (void **state)
{
  (void)state;
  WsOptics optics = known (SIZE_MM, U_MM);
  optics.has_scale = TRUE;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  add (result, 0, 6.48, 0.1);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->diameter_mm = 6.5;
  wsi_known_size_give ("diameter", &optics, card, result);
  assert_int_equal (result->hold, WS_HOLD_NONE);
  const WsQuantity *diameter = ws_result_quantity (result, "diameter");
  assert_true (diameter->given);
  assert_near (diameter->value, SIZE_MM, 0);
  assert_near (diameter->U, 2 * U_MM, 1e-12);
}

/* Nobody measured it here, but who tells of a diameter that is too small gets no green light. */
static void
a_size_outside_its_limits_is_held (void **state)
{
  (void)state;
  WsOptics optics = known (6.3, 0.003);
  optics.has_scale = TRUE;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->diameter_mm = 6.5;
  wsi_quantity_set (wsi_result_add_quantity (result, &infos[0], TRUE), 6.3);
  wsi_known_size_give ("diameter", &optics, card, result);
  assert_string_equal (result->hold_code, "given-size-outside");
  assert_contains (result->hold_why, "6.3000 mm");
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
  assert_int_equal (ws_result_quantity (result, "diameter")->verdict, WS_VERDICT_NONE);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (u_is_what_trials_give),
    cmocka_unit_test (rounded_corners_are_allowed_for),
    cmocka_unit_test (no_size_no_scale),
    cmocka_unit_test (the_size_is_given_not_measured),
    cmocka_unit_test (a_size_outside_its_limits_is_held),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
