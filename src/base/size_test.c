#include "base/size.h"

#include "base/testing.h"

static double
size (const char *text)
{
  double mm = (double)NAN;
  wsi_size_parse (text, &mm);
  return mm;
}

static void
lengths_in_both_systems (void **state)
{
  (void)state;
  static const struct
  {
    const char *text;
    double mm;
  } cases[] = { { "6.5", 6.5 },           { "6.5 mm", 6.5 },      { "6.5mm", 6.5 },
                { "0.25 in", 6.35 },      { "0.25in", 6.35 },     { "0.25\"", 6.35 },
                { "1/4", 6.35 },          { "1/4 in", 6.35 },     { "1/4\"", 6.35 },
                { "1/64", 0.396875 },     { "3/128", 0.5953125 }, { "1 1/4", 31.75 },
                { "1-1/4 in", 31.75 },    { "2 in", 50.8 },       { "-0.002 in", -0.0508 },
                { "-1/32 in", -0.79375 }, { "1e-3 in", 0.0254 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    double mm = (double)NAN;
    assert_true (wsi_length_parse (cases[i].text, &mm));
    assert_near (mm, cases[i].mm, 1e-12);
  }
}

static void
what_is_no_length (void **state)
{
  (void)state;
  static const char *const wrong[] = { NULL,     "",       "in",      "mm",    "1/",     "/4",
                                       "1/3",    "1/256",  "4/4",     "5/4",   "0/8",    "1/4 mm",
                                       "1/4mm",  "0,25in", "0.25 cm", "1 / 4", "1  1/4", "1 2",
                                       "1/4/2",  "#0",     "#81",     "#",     "#7 in",  "#07x",
                                       "f",      "AA",     "F in",    "0x10",  "nan in", "inf",
                                       "12345/4" };
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
  {
    double mm = 77;
    if (wsi_size_parse (wrong[i], &mm))
      fail_msg ("\"%s\" is %g", wrong[i], mm);
    assert_near (mm, 77, 0);
  }
  double mm;
  assert_false (wsi_length_parse ("#7", &mm));
  assert_false (wsi_length_parse ("F", &mm));
}

/* The ends of both rows, sizes that everybody knows by the thread they are drilled for, and E, the
 * only letter that is a fraction as well. */
static void
known_drills (void **state)
{
  (void)state;
  static const struct
  {
    const char *name;
    double inches;
  } cases[] = { { "#1", 0.228 },   { "#7", 0.201 },   { "#10", 0.1935 }, { "#21", 0.159 },
                { "#25", 0.1495 }, { "#30", 0.1285 }, { "#36", 0.1065 }, { "#43", 0.089 },
                { "#50", 0.07 },   { "#60", 0.04 },   { "#80", 0.0135 }, { "A", 0.234 },
                { "F", 0.257 },    { "Q", 0.332 },    { "Z", 0.413 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    assert_near (size (cases[i].name) / WS_MM_PER_INCH, cases[i].inches, 1e-12);
  assert_near (size ("E"), size ("1/4"), 1e-12);
}

/* Numbers fall, letters rise, and A goes on where 1 ends: a slip of a digit breaks the row or its
 * steps, of which none is wider than a thirteenth of the size below #56. */
static void
the_rows_hang_together (void **state)
{
  (void)state;
  double last = 0;
  for (int number = 80; number >= 1; number--)
  {
    g_autofree char *name = g_strdup_printf ("#%d", number);
    const double mm = size (name);
    assert_true (mm > last);
    if (number < 80)
      assert_true (mm / last < 1.13);
    last = mm;
  }
  for (char letter = 'A'; letter <= 'Z'; letter++)
  {
    const char name[] = { letter, '\0' };
    const double mm = size (name);
    assert_true (mm > last && mm / last < 1.05);
    last = mm;
  }
}

static void
bare_numbers_say_no_unit (void **state)
{
  (void)state;
  assert_false (wsi_size_says_unit ("6.5"));
  assert_true (wsi_size_says_unit ("6.5 mm"));
  assert_true (wsi_size_says_unit ("1/4"));
  assert_true (wsi_size_says_unit ("#7"));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lengths_in_both_systems),
    cmocka_unit_test (what_is_no_length),
    cmocka_unit_test (known_drills),
    cmocka_unit_test (the_rows_hang_together),
    cmocka_unit_test (bare_numbers_say_no_unit),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
