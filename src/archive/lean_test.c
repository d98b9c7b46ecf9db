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
    cmocka_unit_test (lists_are_left_out),
    cmocka_unit_test (others_stay),
    cmocka_unit_test (as_sound_as_it_was),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
