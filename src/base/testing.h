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

#endif
