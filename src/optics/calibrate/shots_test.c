#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/calibrate.h>
#include <whetsight/error.h>

static int
set_up (void **state)
{
  *state = g_dir_make_tmp ("whetsight-shots-XXXXXX", NULL);
  return *state == NULL;
}

static int
tear_down (void **state)
{
  g_autofree char *path = g_build_filename (*state, "list.csv", NULL);
  g_unlink (path);
  g_rmdir (*state);
  g_free (*state);
  return 0;
}

static GPtrArray *
load (void **state, const char *text, GError **error)
{
  g_autofree char *path = g_build_filename (*state, "list.csv", NULL);
  assert_true (g_file_set_contents (path, text, -1, NULL));
  return ws_shots_load (path, error);
}

static void
reads_pins (void **state)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) shots =
    load (state, "file,diameter_mm,u_mm\na.png,4.638,0.00025\n/b.png,2,0\n", &error);
  assert_null (error);
  assert_int_equal (shots->len, 2);
  const WsShot *shot = shots->pdata[0];
  g_autofree char *expected = g_build_filename (*state, "a.png", NULL);
  assert_string_equal (shot->path, expected);
  assert_int_equal (shot->kind, WS_SHOT_PIN);
  assert_near (shot->size_mm, 4.638, 0);
  assert_near (shot->u_mm, 0.00025, 0);
  assert_true (isnan (shot->hole_mm));
  assert_string_equal (((const WsShot *)shots->pdata[1])->path, "/b.png");
}

static void
reads_discs (void **state)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) shots =
    load (state, "outer_mm,file,inner_mm,u_mm,certificate\n22,a.png,,0.001,Q\n,b.png,5,0.001,Q\n",
          &error);
  assert_null (error);
  const WsShot *disc = shots->pdata[0], *hole = shots->pdata[1];
  assert_int_equal (disc->kind, WS_SHOT_DISC);
  assert_near (disc->size_mm, 22, 0);
  assert_true (isnan (disc->hole_mm));
  assert_near (hole->hole_mm, 5, 0);
  assert_true (isnan (hole->size_mm));
}

/* Where the certificate tells no uncertainty. */
static void
u_may_be_missing (void **state)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) without = load (state, "file,diameter_mm\na.png,4\n", &error);
  g_autoptr (GPtrArray) empty = load (state, "file,outer_mm,u_mm\na.png,4,\n", &error);
  assert_null (error);
  assert_near (((const WsShot *)without->pdata[0])->u_mm, 0, 0);
  assert_near (((const WsShot *)empty->pdata[0])->u_mm, 0, 0);
}

static const char *const wrong[][2] = {
  { "", "lists no pictures" },
  { "file,diameter_mm,u_mm\n", "lists no pictures" },
  { "file,diameter,u_mm\na,1,1\n", "no column \"diameter\"" },
  { "file,u_mm\na,1\n", "line 1: expected the columns" },
  { "file,diameter_mm,outer_mm,u_mm\na,1,1,1\n", "line 1: expected the columns" },
  { "file,diameter_mm,u_mm\na,1\n", "line 2: not as many fields" },
  { "file,diameter_mm,u_mm\n,1,1\n", "line 2: file" },
  { "file,diameter_mm,u_mm\na,0,1\n", "line 2: diameter_mm: expected millimetres above 0" },
  { "file,diameter_mm,u_mm\na,,1\n", "line 2: diameter_mm" },
  { "file,diameter_mm,u_mm\na,\"4,6\",1\n", "line 2: diameter_mm" },
  { "file,diameter_mm,u_mm\na,1,-1\n", "line 2: u_mm" },
  { "file,diameter_mm,u_mm\na,1,nan\n", "line 2: u_mm" },
  { "file,outer_mm,inner_mm,u_mm\na,,,1\n", "line 2: expected outer_mm or inner_mm" },
  { "file,outer_mm,inner_mm,u_mm\na,5,5,1\n", "line 2: inner_mm" },
  { "file,diameter_mm,u_mm\n\"a", "line 2: a quote" },
};

static void
names_what_is_wrong (void **state)
{
  for (gsize i = 0; i < G_N_ELEMENTS (wrong); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (GPtrArray) shots = load (state, wrong[i][0], &error);
    if (shots != NULL)
      fail_msg ("took this list:\n%s", wrong[i][0]);
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, "list.csv: ");
    assert_contains (error->message, wrong[i][1]);
    assert_lacks (error->message, "\n");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (reads_pins),
    cmocka_unit_test (reads_discs),
    cmocka_unit_test (u_may_be_missing),
    cmocka_unit_test (names_what_is_wrong),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
