/*
 * How fast the archive is: storing and finding rows (pictures excluded), verifying against hashing
 * the same files alone, and measuring many pictures at once against one after the other.
 *
 *   WHETSIGHT=build/release/src/whetsight benchmark-archive [ROWS]
 */
#include <fcntl.h>
#include <glib/gstdio.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <whetsight/archive.h>

#include "archive/sample_for_tests.h"
#include "base/sha256.h"
#include "scene/scene.h"

#define ROWS 100000
#define SINGLE_ROWS 500 /* stored one transaction each */
#define SYNCS 300
#define TOOLS 100
#define FILES 200
#define FILE_BYTES (2 << 20)
#define ROUNDS 3
#define PICTURES 40

static double
seconds_since (gint64 start)
{
  return (double)(g_get_monotonic_time () - start) / 1e6;
}

/* As large as a record of a drill's side with its budgets. */
static char *
padded (char *record)
{
  g_autofree char *short_record = record;
  g_autofree char *pad = g_strnfill (10000, 'x');
  char *end = strrchr (short_record, '}');
  *end = '\0';
  return g_strdup_printf ("%s, \"pad\": \"%s\"}", short_record, pad);
}

static gboolean
store_row (WsArchive *archive, guint i)
{
  char id[32], tool[32];
  g_snprintf (id, sizeof id, "id-%08u", i);
  g_snprintf (tool, sizeof tool, "QT-D-%04u", i % TOOLS);
  const Sample sample = {
    id, "2026-11-25T10:15:02Z", tool, "accept", 117.0 + i % 300 / 100.0, NULL
  };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  inspection->record = padded (inspection->record);
  return ws_archive_store (archive, inspection, NULL, NULL);
}

/* A row that is safe from a power cut costs a sync: nothing stores faster than the disk syncs. */
static double
syncs_a_second (const char *folder)
{
  g_autofree char *path = g_build_filename (folder, "sync", NULL);
  const int fd = g_open (path, O_WRONLY | O_CREAT, 0666);
  const gint64 start = g_get_monotonic_time ();
  for (guint i = 0; i < SYNCS; i++)
    if (write (fd, "x", 1) != 1 || fdatasync (fd) != 0)
      return 0.0;
  const double rate = SYNCS / seconds_since (start);
  close (fd);
  g_remove (path);
  return rate;
}

static gboolean
fill (const char *folder, guint rows)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  gboolean done = archive != NULL;
  gint64 start = g_get_monotonic_time ();
  for (guint i = 0; done && i < SINGLE_ROWS; i++)
    done = store_row (archive, i);
  const double rate = SINGLE_ROWS / seconds_since (start), syncs = syncs_a_second (folder);
  g_print ("stored one by one  %8.0f rows a second, %.0f %% of the disk's %.0f syncs\n", rate,
           100.0 * rate / syncs, syncs);
  const clock_t before = clock ();
  start = g_get_monotonic_time ();
  done = done && ws_archive_begin (archive, NULL);
  for (guint i = SINGLE_ROWS; done && i < rows; i++)
    done = store_row (archive, i);
  done = done && ws_archive_commit (archive, NULL);
  g_print ("stored in a batch  %8.0f rows a second, %.0f by processor time (wanted: 2000)\n",
           (rows - SINGLE_ROWS) / seconds_since (start),
           (double)(rows - SINGLE_ROWS) * CLOCKS_PER_SEC / (double)(clock () - before));
  return done;
}

/* Least time of a call of the program, ms; -1 when it fails. */
static double
time_call (char *const call[])
{
  double least = G_MAXDOUBLE;
  for (guint round = 0; round < ROUNDS; round++)
  {
    const gint64 start = g_get_monotonic_time ();
    int status = -1;
    const pid_t child = fork ();
    if (child == 0)
    {
      if (freopen ("/dev/null", "w", stdout) != NULL && freopen ("/dev/null", "w", stderr) != NULL)
        execv (call[0], call);
      _exit (127);
    }
    if (child < 0 || waitpid (child, &status, 0) != child || !WIFEXITED (status) ||
        WEXITSTATUS (status) > 3)
      return -1.0;
    least = MIN (least, 1e3 * seconds_since (start));
  }
  return least;
}

static void
find (const char *program, const char *folder, guint rows)
{
  char *const by_tool[] = { (char *)program, "archive",   "list", (char *)folder,
                            "--tool",        "QT-D-0042", NULL };
  char *const by_value[] = { (char *)program, "archive",    "list",
                             (char *)folder,  "--quantity", "point_angle_deg",
                             "--above",       "119.985",    NULL };
  g_print ("list by tool       %8.1f ms of %u rows, the whole program (wanted: 50)\n",
           time_call (by_tool), rows);
  g_print ("list by value      %8.1f ms\n", time_call (by_value));
}

/* ---- Verifying --------------------------------------------------------------------------- */

static gboolean
store_files (WsArchive *archive)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  gboolean done = TRUE;
  for (guint i = 0; done && i < FILES; i++)
  {
    guint32 *words = g_malloc (FILE_BYTES);
    for (gsize k = 0; k < FILE_BYTES / sizeof *words; k++)
      words[k] = g_rand_int (rand);
    char id[32];
    g_snprintf (id, sizeof id, "file-%08u", i);
    g_autoptr (GBytes) original = g_bytes_new_take (words, FILE_BYTES);
    const Sample sample = { id, "2026-11-25T10:15:02Z", "QT-D-0118", "accept", 118.0, original };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    const WsPictures pictures = { .original = original };
    done = ws_archive_store (archive, inspection, &pictures, NULL);
  }
  return done;
}

static gboolean
hash_one (const WsInspection *inspection, gpointer data, GError **error)
{
  char hex[WS_SHA256_HEX_SIZE];
  (void)error;
  g_autofree char *path = ws_archive_picture_path (data, inspection->image);
  return wsi_sha256_file (path, NULL, hex);
}

static void
tell (const char *what, gpointer data)
{
  (void)data;
  g_print ("%s\n", what);
}

static gboolean
compare_verify (const char *folder)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  const WsVerifier verifier = { tell, NULL, NULL };
  WsVerification found;
  double hashed = G_MAXDOUBLE, verified = G_MAXDOUBLE;
  if (archive == NULL || !store_files (archive))
    return FALSE;
  for (guint round = 0; round < ROUNDS; round++)
  {
    gint64 start = g_get_monotonic_time ();
    if (!ws_archive_each (archive, &all, FALSE, hash_one, archive, NULL))
      return FALSE;
    hashed = MIN (hashed, seconds_since (start));
    start = g_get_monotonic_time ();
    if (!ws_archive_verify (archive, NULL, &verifier, &found, NULL) || found.wrong > 0)
      return FALSE;
    verified = MIN (verified, seconds_since (start));
  }
  const double mb = (double)FILES * FILE_BYTES / 1e6;
  g_print ("SHA-256 alone      %8.0f MB a second, one thread\n", mb / hashed);
  g_print ("verify             %8.0f MB a second: %.0f %% of that (wanted: 80)\n", mb / verified,
           100.0 * hashed / verified);
  return TRUE;
}

static void
verify_rows (const char *folder, guint rows)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, NULL);
  const WsVerifier verifier = { tell, NULL, NULL };
  WsVerification found;
  const gint64 start = g_get_monotonic_time ();
  if (archive != NULL && ws_archive_verify (archive, NULL, &verifier, &found, NULL))
    g_print ("verify %u rows %9.1f s\n", rows, seconds_since (start));
}

/* ---- Many pictures at once ------------------------------------------------------------------ */

static gboolean
render_all (const char *folder)
{
  gboolean done = TRUE;
  for (guint i = 0; done && i < PICTURES; i++)
  {
    SceneDrill drill;
    SceneCamera camera;
    scene_drill_init (&drill, 6.0 + 0.1 * i);
    scene_camera_init (&camera);
    scene_camera_aim (&camera, &drill, 0.4);
    g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
    g_autofree char *name = g_strdup_printf ("%02u.png", i);
    g_autofree char *path = g_build_filename (folder, name, NULL);
    done = scene_image_save (image, path, 0);
  }
  return done;
}

static void
compare_jobs (const char *program, const char *folder)
{
  g_autofree char *pictures = g_build_filename (folder, "pictures", NULL);
  g_autofree char *out = g_build_filename (folder, "out", NULL);
  if (g_mkdir (pictures, 0777) != 0 || !render_all (pictures))
    return;
  char *one[] = { (char *)program, "measure", "--scale", "0.01", "--out", out,
                  "--jobs",        "1",       pictures,  NULL };
  char *two[] = { (char *)program, "measure", "--scale", "0.01", "--out", out,
                  "--jobs",        "2",       pictures,  NULL };
  const double alone = time_call (one), both = time_call (two);
  g_print ("measure, 1 job     %8.1f pictures a second\n", 1e3 * PICTURES / alone);
  g_print ("measure, 2 jobs    %8.1f pictures a second: %.2f times that (wanted: 1.8)\n",
           1e3 * PICTURES / both, alone / both);
}

int
main (int argc, char **argv)
{
  const char *program = g_getenv ("WHETSIGHT");
  const int wanted = argc > 1 ? atoi (argv[1]) : ROWS;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (program == NULL || folder == NULL || wanted <= SINGLE_ROWS)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-archive [ROWS]\n");
    return 64;
  }
  g_autofree char *rows = g_build_filename (folder, "rows", NULL);
  g_autofree char *files = g_build_filename (folder, "files", NULL);
  const guint n_rows = (guint)wanted;
  gboolean done = fill (rows, n_rows);
  if (done)
  {
    find (program, rows, n_rows);
    verify_rows (rows, n_rows);
  }
  done = done && compare_verify (files);
  compare_jobs (program, folder);
  sample_remove_tree (folder);
  return done ? 0 : 70;
}
