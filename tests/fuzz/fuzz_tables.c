/*
 * Plans of measurements, lists of calibration pictures and shops' settings from arbitrary text. The
 * first byte chooses the reader.  Plans find a card, a.tool, and a picture, a.png, in their folder.
 */
#define _GNU_SOURCE
#include <stdint.h>
#include <string.h>

#include <whetsight/calibrate.h>

#include "cli/config.h"
#include "cli/plan.h"
#include "fuzz/files.h"

int LLVMFuzzerInitialize (int *argc, char ***argv);
int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

static char *folder, *settings;

static void
put (const char *name, const char *text)
{
  g_autofree char *path = g_build_filename (folder, name, NULL);
  if (!g_file_set_contents (path, text, -1, NULL))
    g_error ("%s can't be written", path);
}

/* Settings are looked for where the environment says. */
int
LLVMFuzzerInitialize (int *argc, char ***argv)
{
  (void)argc;
  (void)argv;
  folder = g_dir_make_tmp ("fuzz-tables-XXXXXX", NULL);
  settings = g_build_filename (folder, "whetsight", NULL);
  g_setenv ("XDG_CONFIG_HOME", folder, TRUE);
  g_mkdir_with_parents (settings, 0700);
  put ("a.tool", "[tool]\nid=A\nkind=twist-drill\ndiameter_mm=6.5\n");
  put ("b.tool", "[tool]\nid=B\nkind=cutoff-blade\nwidth_mm=3\n");
  put ("a.png", "");
  return 0;
}

static void
try_plan (const char *path)
{
  const WsTaskSpec said = { .scale = NAN,
                            .scale_u = NAN,
                            .known_diameter = NAN,
                            .known_diameter_u = NAN,
                            .known_width = NAN,
                            .known_width_u = NAN,
                            .lens_distortion = NAN,
                            .fixture = NAN,
                            .fixture_u = NAN };
  g_autoptr (GError) error = NULL;
  g_autoptr (WsPlan) plan = wsi_plan_load (path, &said, &error);
  if ((plan == NULL) != (error != NULL))
    g_error ("a plan and an error, or neither");
  for (guint i = 0; plan != NULL && plan->images[i] != NULL; i++)
    if (wsi_plan_task (plan, i)->job.view == NULL)
      g_error ("a picture without a view");
}

static void
try_shots (const char *path)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) shots = ws_shots_load (path, &error);
  if ((shots == NULL) != (error != NULL))
    g_error ("a list and an error, or neither");
}

static void
try_settings (void)
{
  WsConfig config;
  g_autoptr (GError) error = NULL;
  if (wsi_config_load (&config, &error) != (error == NULL))
    g_error ("settings and an error, or neither");
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  static const char *const names[] = { "plan.csv", "shots.csv", "whetsight/whetsight.conf" };
  if (n_bytes == 0)
    return 0;
  const guint kind = bytes[0] % 3;
  g_autofree char *path = g_build_filename (folder, names[kind], NULL);
  put_file (path, bytes + 1, n_bytes - 1);
  if (kind == 0)
    try_plan (path);
  else if (kind == 1)
    try_shots (path);
  else
    try_settings ();
  return 0;
}
