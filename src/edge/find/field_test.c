#include "edge/find/field.h"

#include "base/testing.h"

#define W 40
#define H 30

static double
light_at (double u, double v)
{
  return 0.5 + 0.2 * u - 0.1 * v - 0.3 * u * u + 0.15 * u * v + 0.05 * v * v;
}

static void
add_cells (WsFieldFit *fit, guint to_x, guint to_y)
{
  wsi_field_fit_init (fit, W, H);
  for (guint y = 0; y < to_y; y++)
    for (guint x = 0; x < to_x; x++)
      wsi_field_fit_add (fit, x, y, light_at ((x + 0.5) / W, (y + 0.5) / H));
}

static void
a_quadratic_is_found_again (void **state)
{
  WsFieldFit fit;
  WsField field;
  (void)state;
  add_cells (&fit, W, H);
  assert_true (wsi_field_fit_solve (&fit, 0, &field));
  for (double v = 0; v <= 1; v += 0.25)
    for (double u = 0; u <= 1; u += 0.25)
    {
      assert_near (wsi_field_at (&field, u, v), light_at (u, v), 1e-11);
      const WsFieldRow row = wsi_field_row (&field, v);
      assert_near (row.flat + u * (row.slope + u * row.bend), light_at (u, v), 1e-11);
    }
  const WsField even = wsi_field_even (0.4);
  assert_near (wsi_field_at (&even, 0.3, 0.8), 0.4, 0);
}

static void
too_few_cells_tell_nothing (void **state)
{
  WsFieldFit fit;
  WsField field = wsi_field_even (0.4);
  (void)state;
  add_cells (&fit, 7, 8);
  assert_false (wsi_field_fit_solve (&fit, 0, &field));
  assert_near (field.c[0], 0.4, 0);
  assert_near (field.c[1], 0, 0);
}

/* One column of cells says nothing across: alone there's no telling, a ridge keeps it tame. */
static void
a_ridge_holds_what_is_not_told (void **state)
{
  WsFieldFit fit;
  WsField field = wsi_field_even (0);
  (void)state;
  wsi_field_fit_init (&fit, W, 2 * H);
  for (guint y = 0; y < 2 * H; y++)
    wsi_field_fit_add (&fit, 0, y, 0.5);
  assert_false (wsi_field_fit_solve (&fit, 0, &field));
  assert_true (wsi_field_fit_solve (&fit, 1e-6, &field));
  assert_near (wsi_field_at (&field, 0.5 / W, 0.5), 0.5, 1e-3);
  assert_near (wsi_field_at (&field, 1, 0.5), 0.5, 0.05);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_quadratic_is_found_again),
    cmocka_unit_test (too_few_cells_tell_nothing),
    cmocka_unit_test (a_ridge_holds_what_is_not_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
