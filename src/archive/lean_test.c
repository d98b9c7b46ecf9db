/*
 * Records without their budgets' lines, against jansson alone.
 */
#include "archive/lean.h"

#include "base/testing.h"

#include <string.h>

#define RECORD                                                                                     \
  "{\"quantities\": {\"a_deg\": {\"value\": 1.5, \"budget\": [{\"name\": \"edge, lip a\", "        \
  "\"u\": 3.95e-05, \"n\": -12, \"k\":0, \"x\": null}, { \"name\" : \"b\" , \"t\" : true } ]}, "   \
  "\"b\": {\"budget\":[{\"c\": 2}]}}, \"view\": \"drill-side\"}"

static json_t *
parse (const char *text)
{
  return json_loads (text, JSON_REJECT_DUPLICATES, NULL);
}

static void
lists_are_left_out (void **state)
{
  (void)state;
  g_autofree char *lean = wsi_lean_text (RECORD);
  assert_string_equal (lean, "{\"quantities\": {\"a_deg\": {\"value\": 1.5, \"budget\":[]}, \"b\": "
                             "{\"budget\":[]}}, \"view\": \"drill-side\"}");
}

/* What isn't plain is left to the parser. */
static void
others_stay (void **state)
{
  (void)state;
  static const char *const texts[] = {
    "{\"budget\": [{\"a\": 1, \"a\": 2}]}",
    "{\"budget\": [{\"a\": 1e999}]}",
    "{\"budget\": [{\"a\": 99999999999999999999}]}",
    "{\"budget\": [{\"a\": 01}]}",
    "{\"budget\": [{\"a\": \"\\u00e4\"}]}",
    "{\"budget\": [{\"a\": \"\xff\"}]}",
    "{\"budget\": [{\"a\": [1]}]}",
    "{\"budget\": [{\"a\": 1},]}",
    "{\"budget\": [{\"a\": 1,}]}",
    "{\"budget\": []}",
    "{\"budget\": {}}",
    "{\"budget\": [{\"a\": nul}]}",
    "{\"budget\": [{\"a\": 1.}]}",
    "{\"budget\": [{\"a\": -}]}",
    "{\"budget\": [{\"a\"",
    "{\"budget\":",
    "{\"a\": \"\\\"budget\\\": [{}]\"}",
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    g_autofree char *lean = wsi_lean_text (texts[i]);
    assert_string_equal (lean, texts[i]);
  }
}

/* As jansson has what is left of it, to the last bit of its numbers. */
static void
check_same (const char *text, const json_t *lean)
{
  g_autofree char *left = wsi_lean_text (text);
  json_t *expected = parse (left);
  if (!json_equal (expected, lean) && (expected != NULL || lean != NULL))
    fail_msg ("not the same: %s", text);
  json_decref (expected);
}

static void
same_as_by_jansson (void **state)
{
  (void)state;
  static const char *const texts[] = {
    RECORD,
    " {\"a\" : [ ] , \"b\" : { } , \"c\":[1,-2,[3.5,[\"x\"]]]}\n",
    "{\"a\": \"\u00b5m\", \"b\": \"\", \"c\": \"a\\n\"}",
    "{\"a\": -0, \"b\": -0.0, \"c\": 0.0, \"d\": 0e0, \"e\": 1E5, \"f\": 1e-22, \"g\": 1e-23}",
    "{\"a\": 9007199254740991.0, \"b\": 9007199254740993.0, \"c\": 0.1, \"d\": 1.7976931348623e99}",
    "{\"a\": 1, \"a\": 2}",
    "{\"a\": {\"b\": 1, \"b\": 1}}",
    "{\"a\": 1} x",
    "[1]",
    "1",
    "",
    "{\"a\": [1,]}",
    "{\"a\": tru}",
    "{\"budget\" : [{\"a\": 1}], \"b\": {\"budget\":{\"a\": 1}}}",
    "{\"a\":[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]}",
    "{\"a\": \"\xc0\x80\"}",
    "{\"a\": \"\xed\xa0\x80\"}",
    "{\"a\": \"\x7f\"}",
    "{\"an unusually long name for a member of an object, longer than the room for one\": 1}",
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    json_t *lean = wsi_lean_parse (texts[i], NULL);
    check_same (texts[i], lean);
    json_decref (lean);
  }
}

/* Decimals as records have them, and as they don't. */
static void
numbers_are_the_nearest (void **state)
{
  (void)state;
  g_autoptr (GRand) rand = g_rand_new_with_seed (19);
  for (guint i = 0; i < 20000; i++)
  {
    char number[64], text[96];
    const double value =
      g_rand_double_range (rand, -1, 1) * pow (10, g_rand_int_range (rand, -30, 30));
    g_snprintf (number, sizeof number, "%.*g", g_rand_int_range (rand, 1, 18), value);
    g_snprintf (text, sizeof text, "{\"a\": %s}", number);
    json_t *lean = wsi_lean_parse (text, NULL);
    assert_non_null (lean);
    check_same (text, lean);
    json_decref (lean);
  }
}

/* Whatever byte is put wherever, both are JSON or neither is. */
static void
as_sound_as_it_was (void **state)
{
  static const char bytes[] = "\"\\{}[]:,0-e.n \x01\xc3";
  (void)state;
  g_autofree char *text = g_strdup (RECORD);
  for (gsize i = 0; i < strlen (RECORD); i++)
  {
    for (gsize b = 0; b < sizeof bytes; b++)
    {
      text[i] = bytes[b];
      json_t *whole = parse (text), *lean = wsi_lean_parse (text, NULL);
      check_same (text, lean);
      if ((whole == NULL) != (lean == NULL))
        fail_msg ("%s: %s", whole != NULL ? "refused" : "taken", text);
      json_decref (whole);
      json_decref (lean);
    }
    text[i] = RECORD[i];
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lists_are_left_out), cmocka_unit_test (others_stay),
    cmocka_unit_test (same_as_by_jansson), cmocka_unit_test (numbers_are_the_nearest),
    cmocka_unit_test (as_sound_as_it_was),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
