/*
 * What an answer costs: processor time of whole runs of `whetsight measure`, with start, reading,
 * hashing, measuring and record, on 12-megapixel pictures of a drill, over a plain decode of the
 * same file (libpng or libjpeg, from bytes to memory, nothing else) and over the project's own
 * reader; both decodes without the start of a process.  All interleaved in one run; what is told is
 * the least of all rounds, since other work on the machine only adds.
 *
 *   WHETSIGHT=build/release/src/whetsight benchmark-speed [ROUNDS]
 */
#include "benchmark/big_picture.h"
#include "benchmark/cost.h"

#include <glib/gstdio.h>
#include <stdlib.h>
#include <whetsight/image.h>

#define ROUNDS 15

static gboolean
decode_ours (const char *path)
{
  g_autoptr (WsImage) image = ws_image_load (path, NULL, WS_IMAGE_GREY, NULL);
  return image != NULL;
}

/* --- Pictures ------------------------------------------------------------------- */

/* In a process of its own: what a process has held before it starts another counts as that
 * one's peak as well. */
static gboolean
render_apart (const char *path, gboolean colour)
{
  const pid_t child = fork ();
  if (child == 0)
    _exit (render_big_picture (path, colour) ? 0 : 1);
  int status = 0;
  return child > 0 && waitpid (child, &status, 0) == child && status == 0;
}

static gboolean
compare (const char *program, const char *path, guint rounds)
{
  char *const measuring[] = { (char *)program, "measure", "--scale", "0.005", (char *)path, NULL };
  char *const starting[] = { (char *)program, "--version", NULL };
  Cost costs[4];
  for (guint i = 0; i < G_N_ELEMENTS (costs); i++)
    costs[i] = (Cost){ G_MAXDOUBLE, 0.0, -1 };
  for (guint round = 0; round < rounds; round++)
  {
    decode (decode_plain, path, &costs[0]);
    decode (decode_ours, path, &costs[1]);
    spend (measuring, &costs[2]);
    spend (starting, &costs[3]);
  }
  if (costs[0].status != 0 || costs[1].status != 0 || costs[2].status < 0 || costs[2].status > 2 ||
      costs[3].status != 0)
  {
    g_printerr ("%s: ended with %d, %d, %d, %d\n", path, costs[0].status, costs[1].status,
                costs[2].status, costs[3].status);
    return FALSE;
  }
  const double plain = costs[0].cpu_ms, ours = costs[1].cpu_ms, whole = costs[2].cpu_ms;
  const double picture_mb = 2.0 * BIG_WIDTH * BIG_HEIGHT / 1048576.0;
  g_autofree char *name = g_path_get_basename (path);
  g_print ("%-10s |%7.1f %7.1f %7.1f %7.1f |%8.2f %8.2f |%7.1f %7.2f\n", name, plain, ours, whole,
           costs[3].cpu_ms, whole / plain, whole / ours, costs[2].peak_mb,
           costs[2].peak_mb / picture_mb);
  return TRUE;
}

int
main (int argc, char **argv)
{
  const char *program = g_getenv ("WHETSIGHT");
  const int rounds = argc > 1 ? atoi (argv[1]) : ROUNDS;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (program == NULL || folder == NULL || rounds < 1)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-speed [ROUNDS]\n");
    return 64;
  }
  g_print ("12 megapixels, processor time, least of %d rounds; memory over that of the picture at\n"
           "16 bits a pixel\n"
           "%-10s |%-31s |%-17s |%-15s\n"
           "%-10s |%7s %7s %7s %7s |%8s %8s |%7s %7s\n",
           rounds, "", " ms", " whole run over", " peak memory", "", "plain", "ours", "whole",
           "start", "plain", "ours", "MB", "ratio");
  gboolean done = TRUE;
  const char *const names[] = { "grey.png", "colour.png", "grey.jpg", "colour.jpg" };
  for (guint i = 0; done && i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *path = g_build_filename (folder, names[i], NULL);
    done = render_apart (path, i % 2 == 1) && compare (program, path, (guint)rounds);
    g_remove (path);
  }
  g_rmdir (folder);
  return done ? 0 : 70;
}
