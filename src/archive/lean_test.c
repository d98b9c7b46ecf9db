/*
 * Records without their budgets' lines, against jansson alone.
 */
#include "archive/lean.h"

#include "archive/columns.h"
#include "base/testing.h"

#include <math.h>
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

/* ---- Quantities beside the tree ---- */

#define ROW_A                                                                                      \
  "{\"value\": 117.625, \"U\": 0.25, \"k\": 2, \"smallest_seen\": null, \"lower\": 116, "          \
  "\"upper\": 1.2e2, \"limit_source\": \"tool card\", \"conformance\": 1.0, "                      \
  "\"verdict\": \"accept\", \"budget\": [{\"name\": \"x\", \"u\": 0.1}]}"
#define ROW_B                                                                                      \
  "{\"value\":-0,\"U\":null,\"smallest_seen\":0.01,\"verdict\":null,\"budget\": [ "                \
  "],\"more\":true}"
#define QUANTITIES "{\"point_angle_deg\": " ROW_A ", \"lip_mm\" : " ROW_B " , \"none\": {}}"

static void
keep (const WsRow *row, gpointer data)
{
  g_array_append_val ((GArray *)data, *row);
}

static void
check_number (const char *text, const char *name, double seen, double expected)
{
  if (!(isnan (seen) && isnan (expected)) &&
      (seen < expected || seen > expected || signbit (seen) != signbit (expected)))
    fail_msg ("%s: %g in place of %g: %s", name, seen, expected, text);
}

/* `whole` by jansson, of the same text. */
static void
check_rows (const char *text, json_t *whole, const WsLean *lean)
{
  g_autoptr (GArray) expected = g_array_new (FALSE, FALSE, sizeof (WsRow));
  wsi_columns_each_quantity (whole, keep, expected);
  assert_int_equal (json_object_size (json_object_get (lean->record, "quantities")), 0);
  if (lean->rows->len != expected->len)
    fail_msg ("%u rows in place of %u: %s", lean->rows->len, expected->len, text);
  for (guint i = 0; i < expected->len; i++)
  {
    const WsRow *a = &g_array_index (lean->rows, WsRow, i);
    const WsRow *b = &g_array_index (expected, WsRow, i);
    assert_string_equal (a->name, b->name);
    assert_int_equal (g_strcmp0 (a->verdict, b->verdict), 0);
    check_number (text, a->name, a->value, b->value);
    check_number (text, a->name, a->U, b->U);
    check_number (text, a->name, a->k, b->k);
    check_number (text, a->name, a->lower, b->lower);
    check_number (text, a->name, a->upper, b->upper);
    check_number (text, a->name, a->smallest_seen, b->smallest_seen);
  }
}

/* Whether it has rows; then they are the tree's, and else the tree is whole. */
static gboolean
read_as_jansson (const char *text)
{
  g_auto (WsLean) lean = { 0 };
  json_error_t cause;
  json_t *whole = parse (text);
  const gboolean read = wsi_lean_read (&lean, text, NULL, &cause), has_rows = lean.rows != NULL;
  if (read != (whole != NULL))
    fail_msg ("%s: %s", read ? "taken" : "refused", text);
  if (has_rows)
    check_rows (text, whole, &lean);
  else if (read)
    check_same (text, lean.tree);
  json_decref (whole);
  return has_rows;
}

static void
rows_are_the_trees (void **state)
{
  (void)state;
  static const char *const plain[] = {
    "{\"quantities\": " QUANTITIES "}",
    "{\"a\": {\"b\": [1]}, \"quantities\": {}, \"c\": null}",
    "{\"quantities\": {\"a\": {\"value\": 1.7976931348623157, \"verdict\": \"retake\"}}}",
    "{\"quantities\": {\"a\": {\"values\": 1, \"u\": 2, \"K\": 3, \"low\": 4}}}",
  };
  /* What isn't plain, or is to be looked at as it stands. */
  static const char *const others[] = {
    "{\"quantities\": {\"a\": {\"value\": \"1\"}}}",
    "{\"quantities\": {\"a\": {\"value\": true}}}",
    "{\"quantities\": {\"a\": {\"value\": 1, \"given\": 2}}}",
    "{\"quantities\": {\"a\": {\"verdict\": \"perhaps\"}}}",
    "{\"quantities\": {\"a\": {\"verdict\": 1}}}",
    "{\"quantities\": {\"a\": {\"smallest_seen\": -1}}}",
    "{\"quantities\": {\"a\": {\"k\": [1]}}}",
    "{\"quantities\": {\"a\": {\"more\": {}}}}",
    "{\"quantities\": {\"a\": 1}}",
    "{\"quantities\": {\"\\u0061\": {}}}",
    "{\"quantities\": [1]}",
    "{\"a\": {\"quantities\": {\"b\": {\"value\": 1}}}}",
    "{\"view\": \"drill-side\"}",
    /* Neither JSON nor a record. */
    "{\"quantities\": {\"a\": {}, \"a\": {}}}",
    "{\"quantities\": {\"a\": {\"value\": 1, \"value\": 1}}}",
    "{\"quantities\": {\"a\": {\"x\": 1, \"x\": 1}}}",
    "{\"quantities\": {\"a\": {\"value\": 1,}}}",
    "{\"quantities\": {\"a\": {}}, \"quantities\": {\"a\": {}}}",
    "{\"quantities\": {\"a\": {}}",
  };
  for (gsize i = 0; i < G_N_ELEMENTS (plain); i++)
    if (!read_as_jansson (plain[i]))
      fail_msg ("no rows of %s", plain[i]);
  for (gsize i = 0; i < G_N_ELEMENTS (others); i++)
    if (read_as_jansson (others[i]))
      fail_msg ("rows of %s", others[i]);
}

/* More of them than anybody measures are left to the tree. */
static void
many_rows (void **state)
{
  (void)state;
  GString *text = g_string_new ("{\"quantities\": {\"a\": {}");
  for (guint i = 0; i < 99; i++)
    g_string_append_printf (text, ", \"a%u\": {\"value\": %u}", i, i);
  g_string_append (text, "}}");
  assert_false (read_as_jansson (text->str));
  g_string_free (text, TRUE);
}

static json_t *
record_of (json_t *tree)
{
  return json_object_get (tree, "record");
}

/* Not those of what stands around it or within it. */
static void
rows_are_the_records (void **state)
{
  (void)state;
  static const struct
  {
    const char *text;
    gboolean has_rows;
  } lines[] = {
    { "{\"record\": {\"quantities\": " QUANTITIES "}}", TRUE },
    { "{\"x\": 1, \"record\": {\"a\": 1, \"quantities\": " QUANTITIES "}}", TRUE },
    { "{\"quantities\": {\"a\": {\"value\": 1}}, \"record\": {\"quantities\": " QUANTITIES "}}",
      FALSE },
    { "{\"quantities\": {\"a\": {\"value\": 1}}, \"record\": {\"b\": 1}}", FALSE },
    { "{\"record\": {\"result\": {\"quantities\": " QUANTITIES "}}}", FALSE },
    { "{\"record\": {\"result\": {\"quantities\": " QUANTITIES "}, \"quantities\": {}}}", FALSE },
    { "{\"quantities\": " QUANTITIES "}", FALSE },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (lines); i++)
  {
    g_auto (WsLean) lean = { 0 };
    json_error_t cause;
    assert_true (wsi_lean_read (&lean, lines[i].text, record_of, &cause));
    if ((lean.rows != NULL) != lines[i].has_rows)
      fail_msg ("%s rows of %s", lean.rows != NULL ? "has" : "has no", lines[i].text);
    if (lean.rows == NULL)
    {
      check_same (lines[i].text, lean.tree);
      continue;
    }
    json_t *whole = parse (lines[i].text);
    check_rows (lines[i].text, record_of (whole), &lean);
    json_decref (whole);
  }
}

/* Whatever byte is put wherever. */
static void
rows_of_any_bytes (void **state)
{
  static const char bytes[] = "\"\\{}[]:,0-e.n \x01\xc3";
  static const char plain[] = "{\"quantities\": " QUANTITIES ", \"view\": \"drill-side\"}";
  (void)state;
  g_autofree char *text = g_strdup (plain);
  for (gsize i = 0; i < strlen (plain); i++)
  {
    for (gsize b = 0; b < sizeof bytes; b++)
    {
      text[i] = bytes[b];
      read_as_jansson (text);
    }
    text[i] = plain[i];
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (lists_are_left_out), cmocka_unit_test (others_stay),
    cmocka_unit_test (same_as_by_jansson), cmocka_unit_test (numbers_are_the_nearest),
    cmocka_unit_test (as_sound_as_it_was), cmocka_unit_test (rows_are_the_trees),
    cmocka_unit_test (many_rows),          cmocka_unit_test (rows_are_the_records),
    cmocka_unit_test (rows_of_any_bytes),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
