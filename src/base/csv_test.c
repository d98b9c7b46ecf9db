#include "base/testing.h"

#include <whetsight/error.h>

#include "base/csv.h"

static GPtrArray *
parse (const char *text)
{
  g_autoptr (GError) error = NULL;
  GPtrArray *rows = wsi_csv_parse ("a.csv", text, &error);
  assert_null (error);
  return rows;
}

static void
assert_row (const GPtrArray *rows, guint i, guint line, const char *joined)
{
  const WsCsvRow *row = g_ptr_array_index (rows, i);
  g_autofree char *text = g_strjoinv ("|", row->fields);
  assert_int_equal (row->line, line);
  assert_int_equal (row->n, g_strv_length (row->fields));
  assert_string_equal (text, joined);
}

static void
reads_rows (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) rows = parse ("\xef\xbb\xbf"
                                      "file,diameter_mm\r\n\na b.png,4.638\n"
                                      "\"c,\"\"d\"\"\ne\",2\r\nlast,");
  assert_int_equal (rows->len, 4);
  assert_row (rows, 0, 1, "file|diameter_mm");
  assert_row (rows, 1, 3, "a b.png|4.638");
  assert_row (rows, 2, 4, "c,\"d\"\ne|2");
  assert_row (rows, 3, 6, "last|");
  assert_int_equal (wsi_csv_column (rows->pdata[0], "diameter_mm"), 1);
  assert_int_equal (wsi_csv_column (rows->pdata[0], "u_mm"), -1);
}

static void
an_empty_text_has_no_rows (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) rows = parse ("\n\r\n\n");
  assert_int_equal (rows->len, 0);
}

static void
refuses_loose_quotes (void **state)
{
  (void)state;
  static const char *const wrong[][2] = {
    { "a\n\"b", "line 2: a quote" },
    { "\"a\"b\n", "line 1: text after" },
    { "\"", "line 1: a quote" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (wsi_csv_parse ("a.csv", wrong[i][0], &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, wrong[i][1]);
  }
}

static void
what_is_written_is_read (void **state)
{
  (void)state;
  g_autoptr (GString) out = g_string_new (NULL);
  const char *const fields[] = { "", "plain", "", "a,b", "say \"x\"", "two\nlines", "\r\n", NULL };
  wsi_csv_append_row (out, fields);
  wsi_csv_append_row (out, fields);
  g_autoptr (GPtrArray) rows = parse (out->str);
  assert_int_equal (rows->len, 2);
  for (guint line = 0; line < 2; line++)
  {
    const WsCsvRow *row = rows->pdata[line];
    assert_int_equal (row->n, G_N_ELEMENTS (fields) - 1);
    for (gsize i = 0; fields[i] != NULL; i++)
      assert_string_equal (row->fields[i], fields[i]);
  }
}

static void
formulas_are_defused (void **state)
{
  (void)state;
  g_autoptr (GString) out = g_string_new (NULL);
  const char *const fields[] = { "=1+1", "@SUM(A1)", "-2+3|x", "+A1", "-0.05",
                                 "-",    "a=b",      "+1e3",   NULL };
  wsi_csv_append_row (out, fields);
  assert_string_equal (out->str, "'=1+1,'@SUM(A1),'-2+3|x,'+A1,-0.05,-,a=b,+1e3\r\n");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (reads_rows),           cmocka_unit_test (an_empty_text_has_no_rows),
    cmocka_unit_test (refuses_loose_quotes), cmocka_unit_test (what_is_written_is_read),
    cmocka_unit_test (formulas_are_defused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
