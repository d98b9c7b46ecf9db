/*
 * The shop's settings, by a folder of their own.
 */
#include "cli/config.h"

#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/error.h>

static char *folder, *inner, *path;

static int
set_up (void **state)
{
  (void)state;
  folder = g_dir_make_tmp ("whetsight-config-XXXXXX", NULL);
  inner = g_build_filename (folder, "whetsight", NULL);
  path = g_build_filename (inner, "whetsight.conf", NULL);
  /* Read once, when GLib is first asked. */
  g_setenv ("XDG_CONFIG_HOME", folder, TRUE);
  return g_mkdir (inner, 0700);
}

static int
tear_down (void **state)
{
  (void)state;
  g_unlink (path);
  g_rmdir (inner);
  g_rmdir (folder);
  g_free (path);
  g_free (inner);
  g_free (folder);
  return 0;
}

static void
write_settings (const char *text)
{
  assert_true (g_file_set_contents (path, text, -1, NULL));
}

static void
a_word_comes_before_the_file (void **state)
{
  (void)state;
  WsUnits units;
  g_unlink (path);
  assert_true (wsi_config_units (NULL, WS_UNITS_BOTH, &units, NULL));
  assert_int_equal (units, WS_UNITS_BOTH);
  write_settings ("# ours\n[show]\nunits = in\n");
  assert_true (wsi_config_units (NULL, WS_UNITS_MM, &units, NULL));
  assert_int_equal (units, WS_UNITS_IN);
  assert_true (wsi_config_units ("mm", WS_UNITS_BOTH, &units, NULL));
  assert_int_equal (units, WS_UNITS_MM);
}

static void
slips_are_told (void **state)
{
  (void)state;
  static const char *const cases[][2] = {
    { "[show]\nunit = in\n", "[show] unit: no such setting; expected [show] units" },
    { "[shop]\nunits = in\n", "[shop] units: no such setting" },
    { "[show]\nunits = inch\n", "expected mm, in or both, found \"inch\"" },
    { "[show]\nunits = in\nunits = mm\n", "given twice" },
    { "units = in\n", "whetsight.conf" },
    { "[report]\ncompany = \n", "[report] company: expected a text, found none" },
    { "[report]\nclient = W\n", "expected [show] units, or [report] company, address, logo" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GError) error = NULL;
    WsUnits units;
    write_settings (cases[i][0]);
    assert_false (wsi_config_units (NULL, WS_UNITS_MM, &units, &error));
    assert_int_equal (error->code, WS_ERROR_DATA);
    assert_contains (error->message, cases[i][1]);
    assert_null (strchr (error->message, '\n'));
  }
}

static void
papers_have_a_head (void **state)
{
  (void)state;
  g_auto (WsConfig) config = { 0 };
  g_autofree char *logo = g_build_filename (inner, "logo.png", NULL);
  write_settings ("[report]\ncompany = Quillbrook Turning\nlogo = logo.png\norder = 1187\n");
  assert_true (wsi_config_load (&config, NULL));
  assert_string_equal (config.company, "Quillbrook Turning");
  assert_string_equal (config.logo, logo);
  assert_string_equal (config.order, "1187");
  assert_null (config.customer);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_word_comes_before_the_file),
    cmocka_unit_test (slips_are_told),
    cmocka_unit_test (papers_have_a_head),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
