#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "image/codes.h"
#include "maths/stats.h"

/* A silhouette's: noise of `noise` codes about tool and ground, and an edge over all codes between.
 */
static void
fill_taken (double noise, guint32 *counts)
{
  for (guint code = 0; code < WS_IMAGE_CODES; code++)
  {
    const double tool = (code - 45.0) / noise, ground = (code - 216.0) / noise;
    const gboolean between = code > 45 && code < 216;
    counts[code] = (guint32)lrint (4e5 / noise * wsi_normal_pdf (tool) +
                                   8e5 / noise * wsi_normal_pdf (ground) + (between ? 60 : 0));
  }
}

/* The same pixels with a curve laid over their codes. */
static void
lay_over (const guint32 *taken, double gamma, guint32 *counts)
{
  memset (counts, 0, WS_IMAGE_CODES * sizeof *counts);
  for (guint code = 0; code < WS_IMAGE_CODES; code++)
    counts[lrint (255 * pow (code / 255.0, gamma))] += taken[code];
}

static void
taken_pictures_are_whole (void **state)
{
  (void)state;
  guint32 counts[WS_IMAGE_CODES];
  for (double noise = 0.7; noise < 12; noise *= 1.5)
  {
    fill_taken (noise, counts);
    const WsCodes found = wsi_codes_look (counts);
    assert_int_equal (found.gaps, 0);
    assert_true (found.doubles <= 2);
    assert_true (found.missing < 0.05);
  }
}

static void
a_curve_tears_them (void **state)
{
  (void)state;
  static const double gammas[] = { 0.6, 0.8, 0.9, 1.1, 1.2, 1.8 };
  guint32 taken[WS_IMAGE_CODES], counts[WS_IMAGE_CODES];
  fill_taken (3, taken);
  for (gsize i = 0; i < G_N_ELEMENTS (gammas); i++)
  {
    lay_over (taken, gammas[i], counts);
    const WsCodes found = wsi_codes_look (counts);
    assert_true (found.gaps + found.doubles >= 5);
  }
}

static void
a_palette_leaves_most_out (void **state)
{
  (void)state;
  guint32 taken[WS_IMAGE_CODES], counts[WS_IMAGE_CODES] = { 0 };
  fill_taken (3, taken);
  for (guint code = 0; code < WS_IMAGE_CODES; code++)
    counts[code / 8 * 8 + 4] += taken[code];
  assert_true (wsi_codes_look (counts).missing > 0.8);
}

/* Few pixels leave codes out by chance. */
static void
small_pictures_tell_nothing (void **state)
{
  (void)state;
  guint32 counts[WS_IMAGE_CODES] = { 0 };
  for (guint code = 30; code < 220; code++)
    counts[code] = code % 3 == 0 ? 0 : code % 4;
  counts[30] = counts[219] = 20000;
  const WsCodes found = wsi_codes_look (counts);
  assert_int_equal (found.gaps + found.doubles, 0);
  assert_true (found.missing == 0.0);
}

static void
nothing_tells_nothing (void **state)
{
  (void)state;
  guint32 counts[WS_IMAGE_CODES] = { 0 };
  WsCodes found = wsi_codes_look (counts);
  assert_true (found.gaps == 0 && found.doubles == 0 && found.missing == 0.0);
  counts[200] = 1000;
  found = wsi_codes_look (counts);
  assert_true (found.gaps == 0 && found.doubles == 0 && found.missing == 0.0);
}

int
main (void)
{
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test (taken_pictures_are_whole),  cmocka_unit_test (a_curve_tears_them),
    cmocka_unit_test (a_palette_leaves_most_out), cmocka_unit_test (small_pictures_tell_nothing),
    cmocka_unit_test (nothing_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
