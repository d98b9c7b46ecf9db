#include "base/testing.h"

#include "judge/web.h"

/* 0.11 to 0.20 diameters, evenly spread: mean and standard deviation. */
static void
test_the_usual_web (void **state)
{
  (void)state;
  const WsWeb web = wsi_web_of (NAN, 10.0);
  assert_false (web.by_card);
  assert_near (web.half, 0.155, 1e-12);
  assert_near (web.u, (0.20 - 0.11) / sqrt (12.0), 1e-4);
  assert_near (wsi_web_thick (&web), 0.22, 1e-12);
}

static void
test_the_card_goes_first (void **state)
{
  (void)state;
  const WsWeb web = wsi_web_of (2.0, 10.0);
  assert_true (web.by_card);
  assert_near (web.half, 0.2, 1e-12);
  assert_near (web.u, 0.01, 1e-12);
  assert_near (wsi_web_of (99.0, 10.0).half, 1.0, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_the_usual_web),
    cmocka_unit_test (test_the_card_goes_first),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
