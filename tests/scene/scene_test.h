/* What the tests of this folder share: cmocka, and a comparison in double precision
 * (cmocka's own is in float). */
#ifndef SCENE_TEST_H
#define SCENE_TEST_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* cmocka.h needs the headers above first. */
#include <cmocka.h>

static inline void
near_or_fail (double value, double expected, double tolerance, const char *file, int line)
{
  if (fabs (value - expected) <= tolerance)
    return;
  print_error ("%.12g is not %.12g within %g\n", value, expected, tolerance);
  _fail (file, line);
}

#define assert_near(value, expected, tolerance)                                                    \
  near_or_fail (value, expected, tolerance, __FILE__, __LINE__)

#endif
