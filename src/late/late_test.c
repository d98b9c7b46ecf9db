/*
 * Libraries that are opened when they are first needed.
 */
#include "base/testing.h"

#include <string.h>

#include <whetsight/error.h>

#include "late/cairo.h"
#include "late/crypto.h"
#include "late/late.h"
#include "late/sqlite.h"
#include "late/tiff.h"
#include "late/xml.h"

static void
missing_is_told (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  assert_null (wsi_late_open ("libwhetsight-none.so.0", "ws_late_none_table", &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_INTERNAL));
  assert_non_null (strstr (error->message, "libwhetsight-none.so.0"));
}

static void
symbol_that_is_missing_is_told (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  assert_null (wsi_late_open ("libwhetsight-tiff.so.0", "ws_late_none_table", &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_INTERNAL));
}

static void
all_are_there (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  assert_true (wsi_late_has_cairo (&error));
  assert_true (wsi_late_has_crypto (&error));
  assert_true (wsi_late_has_sqlite (&error));
  assert_true (wsi_late_has_tiff (&error));
  assert_true (wsi_late_has_xml (&error));
}

/* The numbers by which SQLite names its errors are those of its header. */
static void
calls_reach_the_library (void **state)
{
  (void)state;
  sqlite3 *db = NULL;
  assert_int_equal (sqlite3_open (":memory:", &db), SQLITE_OK);
  assert_int_equal (sqlite3_exec (db, "no SQL", NULL, NULL, NULL), SQLITE_ERROR);
  assert_string_equal (sqlite3_errstr (SQLITE_FULL), "database or disk is full");
  assert_int_equal (sqlite3_close (db), SQLITE_OK);
  assert_ptr_equal (wsi_late_sqlite (), wsi_late_sqlite ());
}

/* Many at once, as measuring many pictures does. */
static gpointer
use (gpointer data)
{
  (void)data;
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 2, 3);
  const int height = cairo_image_surface_get_height (surface);
  cairo_surface_destroy (surface);
  return GINT_TO_POINTER (height);
}

static void
threads_find_the_same (void **state)
{
  (void)state;
  GThread *threads[8];
  for (guint i = 0; i < G_N_ELEMENTS (threads); i++)
    threads[i] = g_thread_new ("use", use, NULL);
  for (guint i = 0; i < G_N_ELEMENTS (threads); i++)
    assert_int_equal (GPOINTER_TO_INT (g_thread_join (threads[i])), 3);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (missing_is_told),         cmocka_unit_test (symbol_that_is_missing_is_told),
    cmocka_unit_test (threads_find_the_same),   cmocka_unit_test (all_are_there),
    cmocka_unit_test (calls_reach_the_library),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
