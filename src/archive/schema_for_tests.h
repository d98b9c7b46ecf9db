/*
 * Published schemas, where they lie beside the project, and documents held against them.
 */
#ifndef WS_ARCHIVE_SCHEMA_FOR_TESTS_H
#define WS_ARCHIVE_SCHEMA_FOR_TESTS_H

#include "base/testing.h"

#include "archive/sample_for_tests.h"

/* Skips without the schema or without what validates by it.  Free with g_free(). */
static inline char *
schema_path (const char *name)
{
  const char *given = g_getenv ("WHETSIGHT_REFERENCES");
  g_autofree char *validator = g_find_program_in_path ("xmllint");
  g_autofree char *beside = g_build_filename (WS_SOURCE_DIR, "..", "shared", NULL);
  char *path = g_build_filename (given != NULL ? given : beside, "schemas", name, NULL);
  if (validator != NULL && g_file_test (path, G_FILE_TEST_IS_REGULAR))
    return path;
  print_message ("skipped: %s is missing\n",
                 validator == NULL ? "xmllint (Debian: libxml2-utils)" : path);
  g_free (path);
  return NULL;
}

static inline void
assert_valid (const char *text, const char *schema)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-exchange-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "export.xml", NULL);
  char *const call[] = { "xmllint", "--nonet", "--noout", "--schema", (char *)schema, path, NULL };
  int status = -1;
  g_autofree char *told = NULL;
  assert_true (g_file_set_contents (path, text, -1, NULL));
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL,
                             &told, &status, NULL));
  if (status != 0)
    print_error ("%s\n", told);
  sample_remove_tree (folder);
  assert_int_equal (status, 0);
}

static inline char *
replace (const char *text, const char *from, const char *to)
{
  g_auto (GStrv) parts = g_strsplit (text, from, -1);
  assert_true (g_strv_length (parts) > 1);
  return g_strjoinv (to, parts);
}

/* The schema is of XSD 1.1 and imports one from the network; libxml2 knows 1.0. */
static inline char *
plain_schema (const char *from, const char *folder)
{
  static const char xlink[] =
    "<xs:schema xmlns:xs=\"http://www.w3.org/2001/XMLSchema\" "
    "targetNamespace=\"http://www.w3.org/1999/xlink\">"
    "<xs:simpleType name=\"hrefType\"><xs:restriction base=\"xs:anyURI\"/></xs:simpleType>"
    "<xs:attribute name=\"type\" type=\"xs:string\"/></xs:schema>";
  g_autofree char *text = NULL;
  g_autofree char *linked = g_build_filename (folder, "xlink.xsd", NULL);
  char *path = g_build_filename (folder, "assets.xsd", NULL);
  assert_true (g_file_get_contents (from, &text, NULL, NULL));
  g_autofree char *plain =
    replace (text, "notNamespace='##targetNamespace'", "namespace='##other'");
  assert_true (g_file_set_contents (linked, xlink, -1, NULL));
  assert_true (g_file_set_contents (path, plain, -1, NULL));
  return path;
}

#endif
