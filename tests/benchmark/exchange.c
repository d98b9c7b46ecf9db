/*
 * How fast records come into an archive and out of it, and what memory that takes: whole runs of
 * the program on copies of one real record, in processor time.
 *
 *   WHETSIGHT=build/release/src/whetsight benchmark-exchange [ROWS]
 */
#include <glib/gstdio.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "archive/sample_for_tests.h"
#include "scene/scene.h"

#define ROWS 10000

static gboolean
render (const char *path)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 8.0);
  scene_camera_init (&camera);
  scene_camera_aim (&camera, &drill, 0.4);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  return scene_image_save (image, path, 0);
}

/* One record with its budgets, as the program prints it; NULL when it fails. */
static char *
measure (const char *program, const char *picture)
{
  char *call[] = { (char *)program, "measure", "--json", "--scale", "0.01", (char *)picture, NULL };
  char *record = NULL;
  if (!g_spawn_sync (NULL, call, NULL, G_SPAWN_STDERR_TO_DEV_NULL, NULL, NULL, &record, NULL, NULL,
                     NULL))
    return NULL;
  return record;
}

/* The same record under many ids. */
static gboolean
write_lines (const char *record, const char *path, guint rows)
{
  static const char mark[] = "\"id\":\"";
  FILE *file = fopen (path, "w");
  const char *id = strstr (record, mark);
  if (file == NULL || id == NULL)
    return FALSE;
  id += strlen (mark);
  const char *behind = strchr (id, '"');
  for (guint i = 0; i < rows; i++)
    fprintf (file, "%.*sid-%08u%s", (int)(id - record), record, i, behind);
  return fclose (file) == 0;
}

/* Tells what a whole run took; FALSE when it fails. */
static gboolean
run (const char *what, char *const call[], guint rows)
{
  const pid_t child = fork ();
  if (child == 0)
  {
    if (freopen ("/dev/null", "w", stdout) != NULL)
      execv (call[0], call);
    _exit (127);
  }
  struct rusage usage;
  int status = -1;
  if (child < 0 || wait4 (child, &status, 0, &usage) != child || status != 0)
  {
    g_printerr ("%s: failed\n", what);
    return FALSE;
  }
  const double s = (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
                   1e-6 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
  g_print ("%-14s %9.0f rows a second %8.1f s %8.1f MB\n", what, rows / s, s,
           (double)usage.ru_maxrss / 1024.0);
  return TRUE;
}

static gboolean
run_all (const char *program, const char *folder, const char *lines, guint rows)
{
  static const char *const forms[] = { "csv", "jsonl", "qif", "mtconnect" };
  g_autofree char *archive = g_build_filename (folder, "archive", NULL);
  g_autofree char *out = g_build_filename (folder, "out", NULL);
  char *const import[] = { (char *)program, "archive", "import", archive, (char *)lines, NULL };
  char *const verify[] = { (char *)program, "archive", "verify", archive, NULL };
  gboolean done = run ("import", import, rows) && run ("verify", verify, rows);
  for (gsize i = 0; done && i < G_N_ELEMENTS (forms); i++)
  {
    g_autofree char *what = g_strconcat ("export ", forms[i], NULL);
    char *const export[] = { (char *)program,  "archive", "export", archive, "-f",
                             (char *)forms[i], "-o",      out,      NULL };
    done = run (what, export, rows);
  }
  return done;
}

int
main (int argc, char **argv)
{
  const char *program = g_getenv ("WHETSIGHT");
  const int rows = argc > 1 ? atoi (argv[1]) : ROWS;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (program == NULL || folder == NULL || rows < 1)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-exchange [ROWS]\n");
    return 64;
  }
  g_autofree char *picture = g_build_filename (folder, "tool.png", NULL);
  g_autofree char *lines = g_build_filename (folder, "lines.jsonl", NULL);
  g_autofree char *record = render (picture) ? measure (program, picture) : NULL;
  gboolean done = record != NULL && write_lines (record, lines, (guint)rows);
  if (done)
    g_print ("%d rows, %" G_GSIZE_FORMAT " bytes each; processor time and peak memory\n", rows,
             strlen (record));
  done = done && run_all (program, folder, lines, (guint)rows);
  sample_remove_tree (folder);
  return done ? 0 : 70;
}
