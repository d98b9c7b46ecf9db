/*
 * The program itself, run as a user would.  Its path comes in the environment, WHETSIGHT.
 */
#ifndef WS_CLI_PROGRAM_FOR_TESTS_H
#define WS_CLI_PROGRAM_FOR_TESTS_H

#include "base/testing.h"

#include <glib/gstdio.h>

#include "cli/run_for_tests.h"
#include "scene/scene.h"

typedef struct
{
  char *folder; /* of the test's files */
  char *good;   /* a picture of a good drill, 10 mm */
  char *blank;  /* a picture of nothing */
  char *broken; /* no picture */
} Fixture;

static double good_scale;

static inline char *
file_in (const Fixture *fixture, const char *name)
{
  return g_build_filename (fixture->folder, name, NULL);
}

static inline void
take_picture (const char *path, gboolean with_drill)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 10.0);
  scene_camera_init (&camera);
  scene_camera_aim (&camera, &drill, 0.45);
  good_scale = camera.mm_per_px;
  g_autoptr (SceneImage) image =
    with_drill ? scene_render (&drill, &camera, NULL) : scene_render_polygons (NULL, 0, &camera);
  assert_true (scene_image_save (image, path, 0));
}

static inline int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-cli-XXXXXX", NULL);
  fixture->good = file_in (fixture, "good.png");
  fixture->blank = file_in (fixture, "blank.png");
  fixture->broken = file_in (fixture, "broken.png");
  take_picture (fixture->good, TRUE);
  take_picture (fixture->blank, FALSE);
  g_file_set_contents (fixture->broken, "\x89PNG\r\n\x1a\nand no more", -1, NULL);
  *state = fixture;
  return g_getenv ("WHETSIGHT") == NULL;
}

static inline void
remove_tree (const char *path)
{
  GDir *dir = g_dir_open (path, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *inner = g_build_filename (path, name, NULL);
    remove_tree (inner);
  }
  if (dir != NULL)
    g_dir_close (dir);
  g_remove (path);
}

static inline int
tear_down (void **state)
{
  Fixture *fixture = *state;
  remove_tree (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture->good);
  g_free (fixture->blank);
  g_free (fixture->broken);
  g_free (fixture);
  return 0;
}

static inline char *
write_card (const Fixture *fixture, const char *name, const char *limits)
{
  char *path = file_in (fixture, name);
  g_autofree char *text = g_strconcat ("[tool]\nid = QT-D-0007\nkind = twist-drill\n"
                                       "diameter_mm = 10\n[limits]\ndiameter_mm = 9.9 .. 10.1\n",
                                       limits, NULL);
  assert_true (g_file_set_contents (path, text, -1, NULL));
  return path;
}

static inline char *
scale_text (void)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  return g_strdup (g_ascii_dtostr (buffer, sizeof buffer, good_scale));
}

static inline guint
count_lines (const char *text)
{
  guint n = 0;
  for (; *text != '\0'; text++)
    n += *text == '\n';
  return n;
}

#endif
