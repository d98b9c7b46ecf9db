/*
 * Plans: which card, view and scale each picture gets, and what is refused at which line.
 */
#include "cli/plan.h"

#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/error.h>

#define IMAGES WS_SOURCE_DIR "/images/"

static char *folder;

static int
set_up (void **state)
{
  (void)state;
  folder = g_dir_make_tmp ("whetsight-plan-XXXXXX", NULL);
  return folder == NULL;
}

static char *
file_in (const char *name)
{
  return g_build_filename (folder, name, NULL);
}

static int
tear_down (void **state)
{
  (void)state;
  const char *const names[] = { "plan.csv", "a.tool", "b.tool", "p.png" };
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *path = file_in (names[i]);
    g_unlink (path);
  }
  g_rmdir (folder);
  g_free (folder);
  return 0;
}

static WsTaskSpec
nothing (void)
{
  return (WsTaskSpec){ .scale = NAN,
                       .scale_u = NAN,
                       .known_diameter = NAN,
                       .known_diameter_u = NAN,
                       .known_width = NAN,
                       .known_width_u = NAN,
                       .lens_distortion = NAN,
                       .fixture = NAN,
                       .fixture_u = NAN };
}

/* The plan's files are named from the plan: links to those of images/. */
static WsPlan *
load (const char *text, const WsTaskSpec *said, GError **error)
{
  g_autofree char *path = file_in ("plan.csv");
  assert_true (g_file_set_contents (path, text, -1, NULL));
  return wsi_plan_load (path, said, error);
}

static void
each_picture_gets_its_own (void **state)
{
  (void)state;
  const WsTaskSpec said = nothing ();
  GError *error = NULL;
  g_autoptr (WsPlan) plan =
    load ("picture,card,view,scale,scale_u,known_diameter\n" IMAGES "good-118.png," IMAGES
          "QT-D-0118.tool,drill-side,0.0142,2e-6,\n" IMAGES "blade-good.png," IMAGES
          "QT-B-0030.tool,,,,\n" IMAGES "dark-field.png," IMAGES
          "QT-D-0118.tool,drill-side,,,6.487\n" IMAGES "good-118.png," IMAGES
          "QT-D-0118.tool,drill-side,0.0142,2e-6,\n",
          &said, &error);
  assert_null (error);
  assert_int_equal (g_strv_length (plan->images), 4);
  assert_string_equal (plan->images[1], IMAGES "blade-good.png");
  const WsJob *drill = &wsi_plan_task (plan, 0)->job, *blade = &wsi_plan_task (plan, 1)->job,
              *by_size = &wsi_plan_task (plan, 2)->job;
  assert_string_equal (drill->card->id, "QT-D-0118");
  assert_near (drill->optics.mm_per_px, 0.0142, 0);
  assert_near (drill->optics.u_mm_per_px, 2e-6, 0);
  assert_string_equal (blade->card->id, "QT-B-0030");
  assert_string_equal (blade->view->name, "blade-plan");
  assert_false (blade->optics.has_scale);
  assert_near (by_size->optics.known_mm, 6.487, 0);
  /* What is said the same way is loaded once. */
  assert_ptr_equal (wsi_plan_task (plan, 3), wsi_plan_task (plan, 0));
  assert_int_equal (plan->different->len, 3);
}

static void
a_scale_for_all_yields_to_a_lines_own (void **state)
{
  (void)state;
  WsTaskSpec said = nothing ();
  GError *error = NULL;
  said.scale = 0.02;
  g_autoptr (WsPlan) plan =
    load ("picture,card,known_diameter\n" IMAGES "good-118.png," IMAGES "QT-D-0118.tool,\n" IMAGES
          "good-118.png," IMAGES "QT-D-0118.tool,6.49\n",
          &said, &error);
  assert_null (error);
  assert_near (wsi_plan_task (plan, 0)->job.optics.mm_per_px, 0.02, 0);
  assert_false (wsi_plan_task (plan, 1)->job.optics.has_scale);
  assert_near (wsi_plan_task (plan, 1)->job.optics.known_mm, 6.49, 0);
}

/* One camera and one fixture serve all of a call's pictures. */
static void
lens_and_fixture_are_said_once (void **state)
{
  (void)state;
  WsTaskSpec said = nothing ();
  GError *error = NULL;
  said.lens_distortion = 0.1;
  said.fixture = 90;
  g_autoptr (WsPlan) plan = load (
    "picture,card,scale\n" IMAGES "blade-good.png," IMAGES "QT-B-0030.tool,0.006\n", &said, &error);
  assert_null (error);
  const WsOptics *optics = &wsi_plan_task (plan, 0)->job.optics;
  assert_near (optics->lens_distortion, 0.001, 1e-12);
  assert_true (optics->has_fixture);
  assert_near (optics->fixture, G_PI / 2, 1e-12);
  assert_near (optics->u_fixture, 0.05 * G_PI / 180, 1e-12);
}

static void
faults_are_told_by_line (void **state)
{
  (void)state;
  static const struct
  {
    const char *text;
    int code;
    const char *said;
  } cases[] = {
    { "picture,card\n", WS_ERROR_DATA, "lists no pictures" },
    { "picture,crad\na,b\n", WS_ERROR_DATA, "line 1: no column \"crad\"" },
    { "picture,view\na,b\n", WS_ERROR_DATA, "line 1: expected the columns picture and card" },
    { "picture,card,card\na,b,c\n", WS_ERROR_DATA, "line 1: the column \"card\" is there twice" },
    { "picture,card\na\n", WS_ERROR_DATA, "line 2: 1 fields, but the first line has 2" },
    { "picture,card\n,b\n", WS_ERROR_DATA, "line 2: picture: expected a file's name" },
    { "picture,card\n" IMAGES "good-118.png,\n", WS_ERROR_DATA, "line 2: card: expected" },
    { "picture,card\nnone.png,b\n", WS_ERROR_NO_INPUT,
      "line 2: picture: no such file \"none.png\"" },
    { "picture,card\n" IMAGES "good-118.png,none.tool\n", WS_ERROR_NO_INPUT, "line 2: " },
    { "picture,card,scale\n" IMAGES "good-118.png," IMAGES "QT-D-0118.tool,0.01\n" IMAGES
      "good-118.png," IMAGES "QT-D-0118.tool,\"0,01\"\n",
      WS_ERROR_DATA, "line 3: scale: expected millimetres above 0" },
    { "picture,card,view\n" IMAGES "good-118.png," IMAGES "QT-D-0118.tool,drill-sid\n",
      WS_ERROR_DATA, "line 2: view: no view \"drill-sid\"" },
    { "picture,card,scale,known_diameter\n" IMAGES "good-118.png," IMAGES
      "QT-D-0118.tool,0.01,6.5\n",
      WS_ERROR_DATA, "line 2: give one of" },
    { "picture,card,known_width\n" IMAGES "good-118.png," IMAGES "QT-D-0118.tool,6.5\n",
      WS_ERROR_DATA, "line 2: known-width: drill-side doesn't show it" },
    { "picture,card\n\"a,b\n", WS_ERROR_DATA, "plan.csv" },
  };
  const WsTaskSpec said = nothing ();
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (load (cases[i].text, &said, &error));
    assert_contains (error->message, cases[i].said);
    assert_null (strchr (error->message, '\n'));
    assert_int_equal (error->code, cases[i].code);
  }
}

static void
write_card (const char *name, const char *id)
{
  g_autofree char *path = file_in (name);
  g_autofree char *text = g_strdup_printf ("[tool]\nid = %s\nkind = twist-drill\n", id);
  assert_true (g_file_set_contents (path, text, -1, NULL));
}

/* One card can't judge the pictures of several tools. */
static void
a_folder_of_several_tools_is_refused (void **state)
{
  (void)state;
  g_autofree char *a = file_in ("a.tool"), *picture = file_in ("p.png");
  WsTaskSpec said = nothing ();
  said.tool = a;
  char *const paths[] = { folder, NULL }, *const named[] = { picture, NULL };
  assert_true (g_file_set_contents (picture, "x", 1, NULL));
  write_card ("a.tool", "A");
  g_autoptr (GError) error = NULL;
  g_autoptr (WsPlan) own = wsi_plan_of_one (&said, paths, &error);
  assert_non_null (own);
  assert_true (own->has_folders);

  write_card ("b.tool", "B");
  assert_null (wsi_plan_of_one (&said, paths, &error));
  assert_int_equal (error->code, WS_ERROR_USAGE);
  assert_contains (error->message, "b.tool");
  assert_contains (error->message, "--plan");
  /* Who names a picture says that it is the card's. */
  g_autoptr (GError) none = NULL;
  g_autoptr (WsPlan) one = wsi_plan_of_one (&said, named, &none);
  assert_non_null (one);
  assert_false (one->has_folders);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (each_picture_gets_its_own),
    cmocka_unit_test (a_scale_for_all_yields_to_a_lines_own),
    cmocka_unit_test (lens_and_fixture_are_said_once),
    cmocka_unit_test (faults_are_told_by_line),
    cmocka_unit_test (a_folder_of_several_tools_is_refused),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
