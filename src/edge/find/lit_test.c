#include "edge/find/lit.h"

#include "base/testing.h"

/* Panel light leaves a tool a tenth, haze a fifth; ground steel lit from the front has the ground's
 * light or more. */
static void
a_silhouette_is_told_from_a_lit_tool (void **state)
{
  (void)state;
  assert_false (wsi_is_front_lit (0, 0.8));
  assert_false (wsi_is_front_lit (0.08, 0.8));
  assert_false (wsi_is_front_lit (0.16, 0.8));
  assert_true (wsi_is_front_lit (0.24, 0.8));
  assert_true (wsi_is_front_lit (0.9, 0.8));
  assert_true (wsi_is_front_lit (0.3, 0));
}

/* Whatever the exposure. */
static void
only_the_ratio_counts (void **state)
{
  (void)state;
  for (double exposure = 1e-3; exposure <= 1; exposure *= 3)
  {
    assert_false (wsi_is_front_lit (0.249 * exposure, exposure));
    assert_true (wsi_is_front_lit (0.251 * exposure, exposure));
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_silhouette_is_told_from_a_lit_tool),
    cmocka_unit_test (only_the_ratio_counts),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
