#include "edge/find/mask.h"

#include "base/testing.h"

static void
masks_grow_shrink_and_fill (void **state)
{
  (void)state;
  guint8 mask[7 * 7] = { 0 };
  mask[3 * 7 + 3] = 1;
  wsi_mask_grow (mask, 7, 7, 2);
  guint set = 0;
  for (guint i = 0; i < 49; i++)
    set += mask[i];
  assert_int_equal (set, 25);
  mask[3 * 7 + 3] = 0;
  wsi_mask_fill_holes (mask, 7, 7);
  assert_int_equal (mask[3 * 7 + 3], 1);
  wsi_mask_shrink (mask, 7, 7, 1);
  set = 0;
  for (guint i = 0; i < 49; i++)
    set += mask[i];
  assert_int_equal (set, 9);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (masks_grow_shrink_and_fill),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
