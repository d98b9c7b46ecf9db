#include "colour/colour.h"

#include "base/testing.h"

/* G. Sharma, W. Wu, E. N. Dalal, Color Res. Appl. 30 (2005) 21-30, Table 1, as scikit-image's
 * tests quote it. */
static const struct
{
  WsLab one, other;
  double difference;
} pairs[] = {
  { { 50.0000, 2.6772, -79.7751 }, { 50.0000, 0.0000, -82.7485 }, 2.0425 },
  { { 50.0000, 3.1571, -77.2803 }, { 50.0000, 0.0000, -82.7485 }, 2.8615 },
  { { 50.0000, 2.8361, -74.0200 }, { 50.0000, 0.0000, -82.7485 }, 3.4412 },
  { { 50.0000, -1.3802, -84.2814 }, { 50.0000, 0.0000, -82.7485 }, 1.0000 },
  { { 50.0000, -1.1848, -84.8006 }, { 50.0000, 0.0000, -82.7485 }, 1.0000 },
  { { 50.0000, -0.9009, -85.5211 }, { 50.0000, 0.0000, -82.7485 }, 1.0000 },
  { { 50.0000, 0.0000, 0.0000 }, { 50.0000, -1.0000, 2.0000 }, 2.3669 },
  { { 50.0000, -1.0000, 2.0000 }, { 50.0000, 0.0000, 0.0000 }, 2.3669 },
  { { 50.0000, 2.4900, -0.0010 }, { 50.0000, -2.4900, 0.0009 }, 7.1792 },
  { { 50.0000, 2.4900, -0.0010 }, { 50.0000, -2.4900, 0.0010 }, 7.1792 },
  { { 50.0000, 2.4900, -0.0010 }, { 50.0000, -2.4900, 0.0011 }, 7.2195 },
  { { 50.0000, 2.4900, -0.0010 }, { 50.0000, -2.4900, 0.0012 }, 7.2195 },
  { { 50.0000, -0.0010, 2.4900 }, { 50.0000, 0.0009, -2.4900 }, 4.8045 },
  { { 50.0000, -0.0010, 2.4900 }, { 50.0000, 0.0010, -2.4900 }, 4.8045 },
  { { 50.0000, -0.0010, 2.4900 }, { 50.0000, 0.0011, -2.4900 }, 4.7461 },
  { { 50.0000, 2.5000, 0.0000 }, { 50.0000, 0.0000, -2.5000 }, 4.3065 },
  { { 50.0000, 2.5000, 0.0000 }, { 73.0000, 25.0000, -18.0000 }, 27.1492 },
  { { 50.0000, 2.5000, 0.0000 }, { 61.0000, -5.0000, 29.0000 }, 22.8977 },
  { { 50.0000, 2.5000, 0.0000 }, { 56.0000, -27.0000, -3.0000 }, 31.9030 },
  { { 50.0000, 2.5000, 0.0000 }, { 58.0000, 24.0000, 15.0000 }, 19.4535 },
  { { 50.0000, 2.5000, 0.0000 }, { 50.0000, 3.1736, 0.5854 }, 1.0000 },
  { { 50.0000, 2.5000, 0.0000 }, { 50.0000, 3.2972, 0.0000 }, 1.0000 },
  { { 50.0000, 2.5000, 0.0000 }, { 50.0000, 1.8634, 0.5757 }, 1.0000 },
  { { 50.0000, 2.5000, 0.0000 }, { 50.0000, 3.2592, 0.3350 }, 1.0000 },
  { { 60.2574, -34.0099, 36.2677 }, { 60.4626, -34.1751, 39.4387 }, 1.2644 },
  { { 63.0109, -31.0961, -5.8663 }, { 62.8187, -29.7946, -4.0864 }, 1.2630 },
  { { 61.2901, 3.7196, -5.3901 }, { 61.4292, 2.2480, -4.9620 }, 1.8731 },
  { { 35.0831, -44.1164, 3.7933 }, { 35.0232, -40.0716, 1.5901 }, 1.8645 },
  { { 22.7233, 20.0904, -46.6940 }, { 23.0331, 14.9730, -42.5619 }, 2.0373 },
  { { 36.4612, 47.8580, 18.3852 }, { 36.2715, 50.5065, 21.2231 }, 1.4146 },
  { { 90.8027, -2.0831, 1.4410 }, { 91.1528, -1.6435, 0.0447 }, 1.4441 },
  { { 90.9257, -0.5406, -0.9208 }, { 88.6381, -0.8985, -0.7239 }, 1.5381 },
  { { 6.7747, -0.2908, -2.4247 }, { 5.8714, -0.0985, -2.2286 }, 0.6377 },
  { { 2.0776, 0.0795, -1.1350 }, { 0.9033, -0.0636, -0.5514 }, 0.9082 },
};

/* The hues of this pair are opposite: either branch is right, and both are published. */
#define OPPOSITE_PAIR 14
#define OTHER_BRANCH 4.7461

static void
differences_are_the_published_ones (void **state)
{
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
  {
    const double found = wsi_colour_difference (pairs[i].one, pairs[i].other);
    if (i + 1 == OPPOSITE_PAIR && fabs (found - OTHER_BRANCH) <= 1e-4)
      continue;
    assert_near (found, pairs[i].difference, 1e-4);
  }
}

/* Also the other way round but for that pair. */
static void
differences_are_symmetric (void **state)
{
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (pairs); i++)
    if (i + 1 != OPPOSITE_PAIR)
      assert_near (wsi_colour_difference (pairs[i].other, pairs[i].one), pairs[i].difference, 1e-4);
}

static WsLab
lab_of_bytes (int r, int g, int b)
{
  const WsLight light = { wsi_colour_from_code (r / 255.0), wsi_colour_from_code (g / 255.0),
                          wsi_colour_from_code (b / 255.0) };
  return wsi_colour_lab (light);
}

static void
assert_lab (WsLab lab, double L, double a, double b, double tolerance)
{
  assert_near (lab.L, L, tolerance);
  assert_near (lab.a, a, tolerance);
  assert_near (lab.b, b, tolerance);
}

/* The second row is a gold value of colorspacious' tests (Debian python3-colorspacious); the
 * others were computed with the same formulas elsewhere and agree with common tables to 0.01. */
static const struct
{
  int r, g, b;
  WsLab lab;
} colours[] = {
  { 0, 0, 0, { 0.0000, 0.0000, 0.0000 } },          { 10, 10, 10, { 2.7417, 0.0000, 0.0000 } },
  { 51, 102, 153, { 42.0100, -0.1474, -32.8446 } }, { 119, 119, 119, { 50.0344, 0.0000, 0.0000 } },
  { 128, 128, 128, { 53.5850, 0.0000, 0.0000 } },   { 255, 255, 255, { 100.0000, 0.0000, 0.0000 } },
  { 255, 0, 0, { 53.2329, 80.1053, 67.2228 } },     { 0, 255, 0, { 87.7370, -86.1884, 83.1861 } },
  { 0, 0, 255, { 32.3026, 79.1936, -107.8537 } },   { 255, 255, 0, { 97.1382, -21.5608, 94.4877 } },
  { 0, 255, 255, { 91.1165, -48.0840, -14.1278 } }, { 255, 0, 255, { 60.3199, 98.2497, -60.8330 } },
};

static void
srgb_bytes_become_lab (void **state)
{
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (colours); i++)
    assert_lab (lab_of_bytes (colours[i].r, colours[i].g, colours[i].b), colours[i].lab.L,
                colours[i].lab.a, colours[i].lab.b, 1e-4);
}

/* colorspacious, gold_values.py. */
static void
transfer_curve_has_gold_values (void **state)
{
  (void)state;
  assert_near (wsi_colour_from_code (0.1), 0.010022825574869, 1e-12);
  assert_near (wsi_colour_from_code (0.2), 0.0331047665708851, 1e-12);
  assert_near (wsi_colour_from_code (0.9), 0.787412289395617, 1e-12);
  assert_near (wsi_colour_from_code (0.04), 0.00309597523219814, 1e-12);
  /* colour-science, test_srgb.py. */
  assert_near (wsi_colour_to_code (0.18), 0.461356129500442, 1e-9);
}

/* colorspacious, gold_values.py: XYZ for D65; its white has more digits than the matrix. */
static void
xyz_becomes_lab (void **state)
{
  (void)state;
  assert_lab (wsi_colour_lab_of_xyz ((WsXyz){ 0.1, 0.2, 0.3 }), 51.8372, -56.3591, -13.1812, 0.03);
  assert_lab (wsi_colour_lab_of_xyz ((WsXyz){ 0.005, 0.006, 0.004 }), 5.4198, -2.8790, 3.6230,
              0.01);
}

static void
hue_runs_from_red_over_yellow (void **state)
{
  (void)state;
  assert_near (wsi_colour_hue_deg ((WsLab){ 50, 0, 10 }), 90, 1e-12);
  assert_near (wsi_colour_hue_deg ((WsLab){ 50, 0, -10 }), 270, 1e-12);
  assert_near (wsi_colour_chroma ((WsLab){ 50, 3, -4 }), 5, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (differences_are_the_published_ones),
    cmocka_unit_test (differences_are_symmetric),
    cmocka_unit_test (srgb_bytes_become_lab),
    cmocka_unit_test (transfer_curve_has_gold_values),
    cmocka_unit_test (xyz_becomes_lab),
    cmocka_unit_test (hue_runs_from_red_over_yellow),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
