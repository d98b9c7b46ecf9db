#include "base/testing.h"

#include "cli/suggest.h"

static const char *const names[] = { "point_angle_deg", "point_offset_mm", "half_angle_a_deg",
                                     "measure",         "views",           NULL };

static void
check (const char *word, const char *expected)
{
  const char *meant = wsi_suggest (word, names);
  if (g_strcmp0 (meant, expected) != 0)
    fail_msg ("%s: %s", word, meant != NULL ? meant : "nothing");
}

static void
test_slips_are_recognised (void **state)
{
  (void)state;
  check ("point_angel_deg", "point_angle_deg");
  check ("point_angle_mm", "point_angle_deg");
  check ("point_ofset_mm", "point_offset_mm");
  check ("mesure", "measure");
  check ("view", "views");
}

static void
test_other_words_are_not (void **state)
{
  (void)state;
  check ("", NULL);
  check ("zzzz", NULL);
  check ("diameter_of_the_whole_machine_mm", NULL);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_slips_are_recognised),
    cmocka_unit_test (test_other_words_are_not),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
