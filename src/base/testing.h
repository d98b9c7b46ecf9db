/*
 * What unit tests share: cmocka with the headers it needs first, and comparisons that
 * say what was found.
 */
#ifndef WS_BASE_TESTING_H
#define WS_BASE_TESTING_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* cmocka's own comparison is in float. */
static inline void
check_near (double value, double expected, double tolerance, const char *file, int line)
{
  if (fabs (value - expected) <= tolerance)
    return;
  print_error ("%.12g is not %.12g within %g\n", value, expected, tolerance);
  _fail (file, line);
}

static inline void
check_contains (const char *text, const char *part, const char *file, int line)
{
  if (text != NULL && strstr (text, part) != NULL)
    return;
  print_error ("\"%s\" is not in:\n%s\n", part, text != NULL ? text : "(null)");
  _fail (file, line);
}

static inline void
check_lacks (const char *text, const char *part, const char *file, int line)
{
  if (strstr (text, part) == NULL)
    return;
  print_error ("\"%s\" should not be in:\n%s\n", part, text);
  _fail (file, line);
}

#define assert_near(value, expected, tolerance)                                                    \
  check_near (value, expected, tolerance, __FILE__, __LINE__)
#define assert_contains(text, part) check_contains (text, part, __FILE__, __LINE__)
#define assert_lacks(text, part) check_lacks (text, part, __FILE__, __LINE__)

/*
 * What can't run here is skipped and seen to be: a program in which a test was skipped and none
 * failed ends with the status by which ctest says "Skipped" (SKIP_RETURN_CODE), whatever else it
 * ran.  So tests that need what a plain build doesn't have (pictures beside the project, other
 * programs) are best kept in programs of their own.
 */
#define STATUS_SKIPPED 77

static inline int *
skipped_tests (void)
{
  static int n;
  return &n;
}

#undef skip
#define skip() ((*skipped_tests ())++, _skip (__FILE__, __LINE__))

#define skip_for(...) (print_message ("skipped: " __VA_ARGS__), print_message ("\n"), skip ())

/* main() adds up what its groups return. */
static inline int
outcome (int failed)
{
  static int told;
  if (failed != 0)
    return 1;
  if (*skipped_tests () == 0 || told)
    return 0;
  told = 1;
  return STATUS_SKIPPED;
}

#undef cmocka_run_group_tests_name
#undef cmocka_run_group_tests
#define cmocka_run_group_tests_name(name, tests, set_up, tear_down)                                \
  outcome (                                                                                        \
    _cmocka_run_group_tests (name, tests, sizeof (tests) / sizeof (tests)[0], set_up, tear_down))
#define cmocka_run_group_tests(tests, set_up, tear_down)                                           \
  cmocka_run_group_tests_name (#tests, tests, set_up, tear_down)

#endif
