/*
 * The demo's pictures, measured into an archive: what QIF and MTConnect say of them is what the
 * archive says, and both are valid by their schemas where these are at hand.  Every second picture;
 * all with WHETSIGHT_ALL_PICTURES=1.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <sys/wait.h>

#include "archive/sample_for_tests.h"
#include "base/csv.h"

typedef struct
{
  char *folder, *archive;
  GPtrArray *rows; /* of the csv export */
} Fixture;

/* Arguments end in NULL; free with g_free(). */
static char *
run (const char *argument, ...)
{
  char *out = NULL;
  g_autofree char *err = NULL;
  int status;
  va_list rest;
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  g_ptr_array_add (call, (gpointer)g_getenv ("WHETSIGHT"));
  va_start (rest, argument);
  for (; argument != NULL; argument = va_arg (rest, const char *))
    g_ptr_array_add (call, (gpointer)argument);
  va_end (rest);
  g_ptr_array_add (call, NULL);
  assert_true (g_spawn_sync (WS_SOURCE_DIR "/images", (char **)call->pdata, NULL, G_SPAWN_DEFAULT,
                             NULL, NULL, &out, &err, &status, NULL));
  assert_true (WIFEXITED (status) && WEXITSTATUS (status) < 64);
  return out;
}

/* Paths in a plan begin at the plan. */
static char *
write_plan (const char *folder)
{
  g_autofree char *text = NULL;
  char *path = g_build_filename (folder, "plan.csv", NULL);
  assert_true (g_file_get_contents (WS_SOURCE_DIR "/images/shots.csv", &text, NULL, NULL));
  g_autoptr (GPtrArray) rows = wsi_csv_parse ("shots.csv", text, NULL);
  const guint step = g_getenv ("WHETSIGHT_ALL_PICTURES") != NULL ? 1 : 2;
  GString *plan = g_string_new ("picture,card,view,scale\n");
  assert_true (rows->len > 10);
  for (guint i = step; i < rows->len; i += step)
  {
    char **fields = ((const WsCsvRow *)g_ptr_array_index (rows, i))->fields;
    g_string_append_printf (plan, "%s/images/%s,%s/images/%s,%s,%s\n", WS_SOURCE_DIR, fields[0],
                            WS_SOURCE_DIR, fields[1], fields[2], fields[3]);
  }
  assert_true (g_file_set_contents (path, plan->str, -1, NULL));
  g_string_free (plan, TRUE);
  return path;
}

static int
set_up (void **state)
{
  if (g_getenv ("WHETSIGHT") == NULL)
    return 1;
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-demo-XXXXXX", NULL);
  fixture->archive = g_build_filename (fixture->folder, "archive", NULL);
  g_autofree char *plan = write_plan (fixture->folder);
  g_autofree char *measured = run ("measure", "--plan", plan, "--archive", fixture->archive, NULL);
  assert_contains (measured, "archived, number 1");
  g_autofree char *csv = run ("archive", "export", fixture->archive, "--format", "csv", NULL);
  fixture->rows = wsi_csv_parse ("export", csv, NULL);
  *state = fixture;
  return 0;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  if (fixture == NULL)
    return 0;
  sample_remove_tree (fixture->folder);
  g_ptr_array_unref (fixture->rows);
  g_free (fixture->archive);
  g_free (fixture->folder);
  g_free (fixture);
  return 0;
}

/* ---- By the schemas ----------------------------------------------------------------------- */

/* The schema is of XSD 1.1 and imports one from the network; libxml2 knows 1.0. */
static char *
plain_schema (const Fixture *fixture, const char *published)
{
  static const char xlink[] =
    "<xs:schema xmlns:xs=\"http://www.w3.org/2001/XMLSchema\" "
    "targetNamespace=\"http://www.w3.org/1999/xlink\">"
    "<xs:simpleType name=\"hrefType\"><xs:restriction base=\"xs:anyURI\"/></xs:simpleType>"
    "<xs:attribute name=\"type\" type=\"xs:string\"/></xs:schema>";
  g_autofree char *text = NULL;
  g_autofree char *linked = g_build_filename (fixture->folder, "xlink.xsd", NULL);
  char *path = g_build_filename (fixture->folder, "assets.xsd", NULL);
  assert_true (g_file_get_contents (published, &text, NULL, NULL));
  GString *plain = g_string_new (text);
  g_string_replace (plain, "notNamespace='##targetNamespace'", "namespace='##other'", 0);
  assert_true (g_file_set_contents (linked, xlink, -1, NULL));
  assert_true (g_file_set_contents (path, plain->str, -1, NULL));
  g_string_free (plain, TRUE);
  return path;
}

/* `schema` below the folder of what lies beside the project. */
static void
check_valid (const Fixture *fixture, const char *text, const char *schema)
{
  const char *given = g_getenv ("WHETSIGHT_REFERENCES");
  g_autofree char *validator = g_find_program_in_path ("xmllint");
  g_autofree char *beside = g_build_filename (WS_SOURCE_DIR, "..", "shared", NULL);
  g_autofree char *published =
    g_build_filename (given != NULL ? given : beside, "schemas", schema, NULL);
  g_autofree char *path = g_build_filename (fixture->folder, "export.xml", NULL);
  g_autofree char *told = NULL;
  int status = -1;
  if (validator == NULL || !g_file_test (published, G_FILE_TEST_IS_REGULAR))
  {
    print_message ("not held against %s, which isn't here\n", schema);
    return;
  }
  g_autofree char *used = g_str_has_prefix (schema, "mtconnect") ? plain_schema (fixture, published)
                                                                 : g_strdup (published);
  char *const call[] = {
    validator, (char *)"--nonet", (char *)"--noout", (char *)"--schema", used, path, NULL
  };
  assert_true (g_file_set_contents (path, text, -1, NULL));
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_DEFAULT, NULL, NULL, NULL, &told,
                             &status, NULL));
  if (status != 0)
    print_error ("%s\n", told);
  assert_int_equal (status, 0);
}

/* ---- What they say ------------------------------------------------------------------------ */

static const char *
field (const Fixture *fixture, guint row, const char *name)
{
  const WsCsvRow *head = g_ptr_array_index (fixture->rows, 0);
  const WsCsvRow *fields = g_ptr_array_index (fixture->rows, row);
  return fields->fields[wsi_csv_column (head, name)];
}

/* One inspection's part of the QIF document. */
static char *
part_of (const char *text, const char *id)
{
  g_autofree char *mark = g_strdup_printf ("name=\"inspection\" value=\"%s\"", id);
  const char *from = strstr (text, mark);
  assert_non_null (from);
  const char *to = strstr (from, "</MeasurementResults>");
  assert_non_null (to);
  return g_strndup (from, (gsize)(to - from));
}

static guint
count (const char *text, const char *what)
{
  guint n = 0;
  for (; (text = strstr (text, what)) != NULL; text++)
    n++;
  return n;
}

/* How many of its quantities have that verdict; px are left out there. */
static guint
count_rows (const Fixture *fixture, const char *id, const char *verdict)
{
  guint n = 0;
  for (guint i = 1; i < fixture->rows->len; i++)
    n += g_str_equal (field (fixture, i, "id"), id) &&
             g_str_equal (field (fixture, i, "quantity_verdict"), verdict) &&
             !g_str_has_suffix (field (fixture, i, "quantity"), "_px")
           ? 1
           : 0;
  return n;
}

static void
test_qif (void **state)
{
  static const char *const tools[][2] = { { "accept", "PASS" },
                                          { "reject", "FAIL" },
                                          { "undecided", "UNKNOWN" },
                                          { "retake", "NOT_MEASURED" } };
  static const char *const quantities[][2] = { { "accept", "PASS" },
                                               { "reject", "FAIL" },
                                               { "undecided", "INDETERMINATE" } };
  const Fixture *fixture = *state;
  g_autofree char *text = run ("archive", "export", fixture->archive, "--format", "qif", NULL);
  guint n_found[G_N_ELEMENTS (tools)] = { 0 };
  check_valid (fixture, text, "qif3/QIFDocument.xsd");
  for (guint i = 1; i < fixture->rows->len; i++)
  {
    const char *id = field (fixture, i, "id"), *verdict = field (fixture, i, "verdict");
    g_autofree char *part = part_of (text, id);
    for (gsize k = 0; k < G_N_ELEMENTS (tools); k++)
    {
      g_autofree char *status = g_strdup_printf ("<InspectionStatusEnum>%s<", tools[k][1]);
      const gboolean is_it = g_str_equal (verdict, tools[k][0]);
      assert_int_equal (count (part, status), is_it ? 1 : 0);
      n_found[k] += is_it ? 1 : 0;
    }
    for (gsize k = 0; k < G_N_ELEMENTS (quantities); k++)
    {
      g_autofree char *status = g_strdup_printf ("<CharacteristicStatusEnum>%s<", quantities[k][1]);
      assert_int_equal (count (part, status), count_rows (fixture, id, quantities[k][0]));
    }
  }
  assert_true (n_found[0] > 0 && n_found[1] > 0);
}

static void
test_mtconnect (void **state)
{
  static const char *const standings[][2] = { { ": fit", "AVAILABLE" },
                                              { ": not fit", "UNAVAILABLE" },
                                              { ": incomplete", "UNKNOWN" } };
  const Fixture *fixture = *state;
  guint n_fit = 0;
  g_autofree char *text =
    run ("archive", "export", fixture->archive, "--format", "mtconnect", NULL);
  g_autofree char *listed = run ("archive", "tools", fixture->archive, NULL);
  g_auto (GStrv) lines = g_strsplit (listed, "\n", -1);
  check_valid (fixture, text, "mtconnect/MTConnectAssets_2.4.xsd");
  assert_int_equal (count (text, "<CuttingTool "), g_strv_length (lines) - 1);
  for (gsize i = 0; *lines[i] != '\0'; i++)
  {
    g_autofree char *id = g_strndup (lines[i], strcspn (lines[i], " "));
    g_autofree char *mark = g_strdup_printf ("assetId=\"%s\"", id);
    const char *from = strstr (text, mark);
    assert_non_null (from);
    g_autofree char *part = g_strndup (from, (gsize)(strstr (from, "</CuttingTool>") - from));
    for (gsize k = 0; k < G_N_ELEMENTS (standings); k++)
    {
      g_autofree char *status = g_strdup_printf ("<Status>%s<", standings[k][1]);
      assert_int_equal (count (part, status), strstr (lines[i], standings[k][0]) != NULL ? 1 : 0);
    }
    n_fit += strstr (lines[i], ": fit") != NULL ? 1 : 0;
  }
  assert_true (n_fit > 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_qif),
    cmocka_unit_test (test_mtconnect),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
