/*
 * scene-shop: pictures of the demo's shop that tell of edges after grinding, and of their work.
 *
 *   scene-shop wire-edge FILE | regrind BEFORE AFTER | chatter FILE
 *
 * Prints a line of JSON for each picture: its file, scale and truth.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "regrind.h"
#include "surface.h"

#define QUALITY 93

static int
save (const SceneImage *image, const char *path, double mm_per_px, const char *truth)
{
  g_autofree char *name = g_path_get_basename (path);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  if (!scene_image_save (image, path, QUALITY))
  {
    g_printerr ("scene-shop: can't write %s\n", path);
    return 73;
  }
  printf ("{\"file\": \"%s\", \"mm_per_px\": %s, \"truth\": {%s}}\n", name,
          g_ascii_dtostr (scale, sizeof scale, mm_per_px), truth);
  return 0;
}

/* A good drill, fresh from the wheel. */
static int
wire_edge (char **files)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  scene_drill_init (&drill, 9.989);
  drill.web = 1.5;
  drill.burr_a = (SceneBurr){
    .height = 0.09, .from = 0.42, .to = 0.78, .grain = 0.06, .taper = 0.25, .seed = 41
  };
  scene_camera_init (&camera);
  camera.width = 1280;
  camera.height = 960;
  camera.roll_deg = -6.0;
  camera.blur_px = 0.9;
  camera.back = 0.66;
  camera.shot = 0.005;
  camera.read = 0.001;
  camera.dust = 10;
  camera.seed = 41;
  scene_camera_aim (&camera, &drill, 0.42);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
  g_autofree char *words =
    g_strdup_printf ("\"burr_height_a_mm\": %.5f, \"burr_length_a_mm\": %.5f",
                     truth.burr_height_a_mm, truth.burr_length_a_mm);
  return save (image, files[0], camera.mm_per_px, words);
}

#define REGRIND_SEED 261

static int
regrind (char **files)
{
  SceneRegrind pair;
  scene_regrind (SCENE_REGRIND_BLADE, REGRIND_SEED, &pair);
  g_autofree char *words = g_strdup_printf ("\"shorter_mm\": %.5f", pair.shorter);
  int status = save (pair.before, files[0], pair.mm_per_px, "");
  if (status == 0)
    status = save (pair.after, files[1], pair.mm_per_px, words);
  scene_regrind_clear (&pair);
  return status;
}

#define CHATTER_SEED 302

static int
chatter (char **files)
{
  SceneSurface surface;
  scene_random_surface (CHATTER_SEED, TRUE, &surface);
  g_autoptr (SceneImage) image = scene_render_surface (&surface);
  g_autofree char *words = g_strdup_printf ("\"chatter_pitch_mm\": %.5f, \"feed_pitch_mm\": %.5f",
                                            surface.chatter, surface.feed);
  return save (image, files[0], surface.mm_per_px, words);
}

int
main (int argc, char **argv)
{
  static const struct
  {
    const char *name;
    int files;
    int (*run) (char **files);
  } scenes[] = { { "wire-edge", 1, wire_edge },
                 { "regrind", 2, regrind },
                 { "chatter", 1, chatter } };
  for (gsize i = 0; argc > 1 && i < G_N_ELEMENTS (scenes); i++)
    if (strcmp (argv[1], scenes[i].name) == 0 && argc == 2 + scenes[i].files)
      return scenes[i].run (argv + 2);
  g_printerr ("scene-shop: give wire-edge FILE, regrind BEFORE AFTER or chatter FILE\n");
  return 64;
}
