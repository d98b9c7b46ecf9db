#include "words.h"

#include <string.h>

#include <glib/gstdio.h>

#include "scene/scene.h"

#define WIDTH 320
#define HEIGHT 240
#define DIAMETER 6.0

/* Frames of each, at so many a second: good for half a second, and the one before. */
#define FRAMES 8
#define RATE "8"

/* What is wrong with a set-up. */
typedef struct
{
  const char *name;
  double light;                 /* of the ground, of full scale */
  double contrast;              /* of the tool against it */
  double defocus;               /* px */
  double turn_deg, tilt_deg, x; /* px */
  gboolean dirty;
} Shown;

static const Shown all[] = {
  { "no-tool", 0.6, 0.01, 0, 0, 0, 0, FALSE },
  { "too-dark", 0.06, 0.98, 0, 0, 0, 0, FALSE },
  { "too-bright", 1.3, 0.99, 0, 0, 0, 0, FALSE },
  { "out-of-focus", 0.6, 0.98, 10, 0, 0, 0, FALSE },
  { "near-frame", 0.6, 0.98, 0, 0, 0, -97, FALSE },
  { "turned", 0.6, 0.98, 0, 14, 0, 0, FALSE },
  { "leaning", 0.6, 0.98, 0, 0, 5, 0, FALSE },
  { "dirty", 0.6, 0.98, 0, 0, 0, 0, TRUE },
  { "good", 0.6, 0.98, 0, 0, 0, 0, FALSE },
};

static SceneImage *
render (const Shown *shown)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, DIAMETER);
  scene_camera_init (&camera);
  camera.width = WIDTH;
  camera.height = HEIGHT;
  camera.roll_deg = 6.0;
  camera.shot = camera.read = 0.0;
  camera.tagged = TRUE;
  camera.defocus_px = shown->defocus;
  camera.turn_deg = shown->turn_deg;
  camera.tilt_deg = shown->tilt_deg;
  camera.back = shown->light;
  camera.front = shown->light * (1.0 - shown->contrast);
  scene_camera_aim (&camera, &drill, 0.45);
  camera.origin_x += shown->x;
  const SceneDirt crumb = { .kind = SCENE_FRAGMENT,
                            .place = SCENE_AT_LIP,
                            .side = 1,
                            .along = 0.6,
                            .size = 0.25,
                            .proud = 0.1,
                            .opacity = 1.0,
                            .seed = 3 };
  return scene_render_dirty (&drill, &camera, &crumb, shown->dirty ? 1 : 0, NULL);
}

/* The last line that isn't what became of the picture.  Free with g_free(). */
static char *
words_of (const char *text)
{
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  const char *said = "";
  for (char **line = lines; *line != NULL && strstr (*line, " pixels, ") == NULL; line++)
    if (**line != '\0')
      said = *line;
  return g_strdup (said);
}

/* What the program says of a folder of frames that are all alike. */
static char *
say (const char *program, const char *folder, const char *picture)
{
  g_autofree char *out = NULL;
  g_autofree char *address = g_strconcat ("files:", folder, NULL);
  g_autofree char *taken = g_build_filename (folder, "zz-taken.png", NULL);
  char *call[] = { (char *)program, "capture", "--camera", address, "--live",
                   "--rate",        RATE,      "--out",    taken,   NULL };
  gsize n = 0;
  g_autofree char *bytes = NULL;
  if (!g_file_get_contents (picture, &bytes, &n, NULL))
    return NULL;
  for (guint i = 0; i < FRAMES; i++)
  {
    g_autofree char *name = g_strdup_printf ("%u.png", i);
    g_autofree char *path = g_build_filename (folder, name, NULL);
    if (!g_file_set_contents (path, bytes, (gssize)n, NULL))
      return NULL;
  }
  if (!g_spawn_sync (NULL, call, NULL, G_SPAWN_STDERR_TO_DEV_NULL, NULL, NULL, &out, NULL, NULL,
                     NULL))
    return NULL;
  g_remove (taken);
  return words_of (out);
}

static gboolean
show (const Shown *shown, const char *to, const char *program, const char *folder)
{
  g_autofree char *name = g_strconcat ("word-", shown->name, ".png", NULL);
  g_autofree char *path = g_build_filename (to, name, NULL);
  g_autoptr (SceneImage) image = render (shown);
  if (image == NULL || !scene_image_save (image, path, 0))
  {
    g_printerr ("trial: can't write %s\n", path);
    return FALSE;
  }
  g_autofree char *said = say (program, folder, path);
  if (said == NULL)
    g_printerr ("trial: can't run %s\n", program);
  else
    g_print ("%s: %s\n", name, said);
  return said != NULL;
}

int
words_main (int argc, char **argv)
{
  if (argc != 3)
  {
    g_printerr ("trial: words FOLDER PROGRAM\n");
    return 64;
  }
  g_autofree char *folder = g_dir_make_tmp ("whetsight-words-XXXXXX", NULL);
  gboolean done = folder != NULL;
  for (gsize i = 0; done && i < G_N_ELEMENTS (all); i++)
    done = show (&all[i], argv[1], argv[2], folder);
  for (guint i = 0; folder != NULL && i < FRAMES; i++)
  {
    g_autofree char *name = g_strdup_printf ("%u.png", i);
    g_autofree char *path = g_build_filename (folder, name, NULL);
    g_remove (path);
  }
  if (folder != NULL)
    g_rmdir (folder);
  return done ? 0 : 73;
}
