/* scene-roll: renders a series of one drill, rolled, and prints the truth as one line of JSON. */
#include "roll.h"

#include <stdio.h>
#include <stdlib.h>

static int
save_all (const SceneRoll *roll, const char *folder)
{
  for (guint i = 0; i < roll->n; i++)
  {
    g_autofree char *name = g_strdup_printf ("%02u.jpg", i);
    g_autofree char *path = g_build_filename (folder, name, NULL);
    g_autoptr (SceneImage) image = scene_render_roll (roll, i);
    if (!scene_image_save (image, path, 90))
    {
      fprintf (stderr, "scene-roll: can't write %s\n", path);
      return 73;
    }
  }
  return 0;
}

int
main (int argc, char **argv)
{
  if (argc < 2 || argc > 3)
  {
    fputs ("usage: scene-roll FOLDER [SEED]: without a seed the bent drill of the demo\n", stderr);
    return 64;
  }
  SceneRoll roll;
  SceneRollTruth truth;
  if (argc == 3)
    scene_random_roll (g_ascii_strtoull (argv[2], NULL, 10), &roll);
  else
    scene_bent_drill (&roll);
  scene_roll_truth (&roll, &truth);
  const int status = save_all (&roll, argv[1]);
  g_autofree char *json = scene_roll_json (&roll, &truth);
  if (status == 0)
    puts (json);
  return status;
}
