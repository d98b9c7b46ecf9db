#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <whetsight/error.h>

static void
exit_status_is_the_code (void **state)
{
  (void)state;
  const int codes[] = { WS_ERROR_USAGE, WS_ERROR_DATA, WS_ERROR_NO_INPUT, WS_ERROR_INTERNAL,
                        WS_ERROR_CANT_WRITE };
  for (size_t i = 0; i < G_N_ELEMENTS (codes); i++)
  {
    g_autoptr (GError) error = g_error_new_literal (WS_ERROR, codes[i], "x");
    assert_int_equal (ws_error_exit_status (error), codes[i]);
  }
}

static void
too_large_exits_as_bad_data (void **state)
{
  (void)state;
  g_autoptr (GError) error = g_error_new_literal (WS_ERROR, WS_ERROR_TOO_LARGE, "x");
  assert_int_equal (ws_error_exit_status (error), 65);
}

static void
foreign_errors_are_our_fault (void **state)
{
  (void)state;
  g_autoptr (GError) error = g_error_new_literal (G_FILE_ERROR, G_FILE_ERROR_NOENT, "x");
  assert_int_equal (ws_error_exit_status (error), 70);
  assert_int_equal (ws_error_exit_status (NULL), 70);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (exit_status_is_the_code),
    cmocka_unit_test (too_large_exits_as_bad_data),
    cmocka_unit_test (foreign_errors_are_our_fault),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
