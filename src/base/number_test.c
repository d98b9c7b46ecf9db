#include "base/testing.h"

#include "base/number.h"

static void
test_reads_decimals (void **state)
{
  (void)state;
  static const struct
  {
    const char *text;
    double value;
  } good[] = { { "0", 0.0 },     { "118", 118.0 },     { "-0.05", -0.05 }, { "+2.5", 2.5 },
               { "1e-3", 1e-3 }, { "1.25E+2", 125.0 }, { "007", 7.0 } };
  for (gsize i = 0; i < G_N_ELEMENTS (good); i++)
  {
    double value = NAN;
    assert_true (wsi_number_parse (good[i].text, &value));
    assert_near (value, good[i].value, 1e-15);
  }
}

static void
test_refuses_anything_else (void **state)
{
  (void)state;
  static const char *const bad[] = { "",     " 1",  "1 ",  "1,5", ".5",   "5.",
                                     "0x10", "inf", "nan", "1e",  "--1",  "1e999",
                                     "1..2", "mm",  "1mm", "-",   "1.5.2" };
  for (gsize i = 0; i < G_N_ELEMENTS (bad); i++)
  {
    double value = 42.0;
    if (wsi_number_parse (bad[i], &value))
      fail_msg ("took \"%s\"", bad[i]);
    assert_near (value, 42.0, 0.0);
  }
  double value;
  assert_false (wsi_number_parse (NULL, &value));
}

static void
test_places_show_two_digits_of_U (void **state)
{
  (void)state;
  assert_int_equal (wsi_number_places (0.012), 3);
  assert_int_equal (wsi_number_places (0.1), 2);
  assert_int_equal (wsi_number_places (1.0), 1);
  assert_int_equal (wsi_number_places (0.0994), 3);
  assert_int_equal (wsi_number_places (0.0996), 2);
  assert_int_equal (wsi_number_places (9.96), 0);
  assert_int_equal (wsi_number_places (25.0), 0);
  assert_int_equal (wsi_number_places (1e-9), 6);
  assert_int_equal (wsi_number_places (0.0), 4);
  assert_int_equal (wsi_number_places (NAN), 4);
}

static void
check_format (double value, guint places, const char *expected)
{
  g_autofree char *text = wsi_number_format (value, places);
  assert_string_equal (text, expected);
}

static void
test_formats_without_negative_zero (void **state)
{
  (void)state;
  check_format (118.0234, 2, "118.02");
  check_format (-0.0004, 2, "0.00");
  check_format (-0.4, 0, "0");
  check_format (-0.51, 1, "-0.5");
  g_autofree char *huge = wsi_number_format (1e300, 2);
  assert_int_equal (strlen (huge), 304);
}

static void
test_decimals_are_the_nearest_doubles (void **state)
{
  (void)state;
  static const char *const texts[] = {
    "0",
    "-0",
    "-0.0",
    "0.1",
    "9007199254740991",
    "9007199254740993",
    "900719925474099.3",
    "1e22",
    "1e23",
    "1e-22",
    "1e-23",
    "123456789e15",
    "4.35e-05",
    "1.7976931348623157e308",
    "5e-324",
    "1E+05",
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    const double value = wsi_number_decimal (texts[i], texts[i] + strlen (texts[i]));
    const double expected = g_ascii_strtod (texts[i], NULL);
    assert_memory_equal (&value, &expected, sizeof value);
  }
}

static void
test_exact_numbers_come_back (void **state)
{
  (void)state;
  static const double values[] = { 0.1, -1.0 / 3.0, 1e-300, 2.5e-308, 1.7e308, 0.0, 12345678.9 };
  for (gsize i = 0; i < G_N_ELEMENTS (values); i++)
  {
    double back = NAN;
    g_autofree char *text = wsi_number_exact (values[i]);
    assert_true (wsi_number_parse (text, &back));
    assert_memory_equal (&back, &values[i], sizeof back);
  }
  g_autofree char *tenth = wsi_number_exact (0.1);
  assert_string_equal (tenth, "0.1");
}

/* As printf has the fewest of 15 to 17 digits that come back. */
static void
check_as_printed (double value)
{
  char expected[64] = "";
  for (int digits = 15; digits <= 17 && fabs (g_ascii_strtod (expected, NULL) - value) > 0;
       digits++)
    g_snprintf (expected, sizeof expected, "%.*g", digits, value);
  g_autofree char *text = wsi_number_exact (value);
  assert_string_equal (text, expected);
}

static void
test_exact_numbers_are_as_printed (void **state)
{
  (void)state;
  static const double edges[] = {
    1e-4, 0.00012, 9.9999e-5,   1e15,         999999999999999.0, 1e14, 123456789012345.0,
    0.5,  100,     118.0001683, 1e-4 + 1e-19, 99.99999999999999
  };
  g_autoptr (GRand) rand = g_rand_new_with_seed (19);
  for (gsize i = 0; i < G_N_ELEMENTS (edges); i++)
  {
    check_as_printed (edges[i]);
    check_as_printed (-edges[i]);
    check_as_printed (nextafter (edges[i], 0));
    check_as_printed (nextafter (edges[i], 1e300));
  }
  for (guint i = 0; i < 50000; i++)
  {
    char number[64];
    const double value =
      g_rand_double_range (rand, -1, 1) * pow (10, g_rand_int_range (rand, -7, 18));
    g_snprintf (number, sizeof number, "%.*g", g_rand_int_range (rand, 1, 18), value);
    check_as_printed (g_ascii_strtod (number, NULL));
  }
}

static void
test_rounds_down_to_steps_of_scales (void **state)
{
  (void)state;
  static const double pairs[][2] = { { 1, 1 },       { 1.9, 1 },     { 2, 2 },      { 4.9, 2 },
                                     { 5, 5 },       { 9.9, 5 },     { 10, 10 },    { 0.3, 0.2 },
                                     { 0.06, 0.05 }, { 1234, 1000 }, { 7e-5, 5e-5 } };
  for (gsize i = 0; i < G_N_ELEMENTS (pairs); i++)
    assert_near (wsi_number_round_down (pairs[i][0]) / pairs[i][1], 1, 1e-12);
}

static void
test_rounds_up_what_must_come_off (void **state)
{
  (void)state;
  assert_near (wsi_number_round_up (0.1201, 2), 0.13, 1e-12);
  assert_near (wsi_number_round_up (0.12, 2), 0.12, 1e-12);
  assert_near (wsi_number_round_up (0.1 + 0.02, 2), 0.12, 1e-12);
  assert_near (wsi_number_round_up (3.0001, 0), 3.0, 1e-12);
  assert_near (wsi_number_round_up (3.1, 0), 4.0, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_reads_decimals),
    cmocka_unit_test (test_refuses_anything_else),
    cmocka_unit_test (test_places_show_two_digits_of_U),
    cmocka_unit_test (test_formats_without_negative_zero),
    cmocka_unit_test (test_decimals_are_the_nearest_doubles),
    cmocka_unit_test (test_exact_numbers_come_back),
    cmocka_unit_test (test_exact_numbers_are_as_printed),
    cmocka_unit_test (test_rounds_down_to_steps_of_scales),
    cmocka_unit_test (test_rounds_up_what_must_come_off),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
