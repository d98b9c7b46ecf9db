/*
 * What measuring costs beyond decoding: user time and peak memory of `whetsight measure` on
 * 12-megapixel pictures of a drill, against a process that only decodes the same file to 8
 * bits, in the same run.
 *
 *   WHETSIGHT=build/src/whetsight benchmark-speed
 */
#include "scene/scene.h"

#include <glib/gstdio.h>
#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

/* jpeglib.h needs stdio.h first. */
#include <jpeglib.h>

#define WIDTH 4000
#define HEIGHT 3000
#define ROUNDS 10

/* --- Decoding alone ----------------------------------------------------------- */

static gboolean
decode_png (FILE *file)
{
  png_structp png = png_create_read_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png == NULL ? NULL : png_create_info_struct (png);
  if (info == NULL || setjmp (png_jmpbuf (png)))
  {
    png_destroy_read_struct (&png, &info, NULL);
    return FALSE;
  }
  png_init_io (png, file);
  png_read_png (png, info, PNG_TRANSFORM_STRIP_16 | PNG_TRANSFORM_EXPAND, NULL);
  png_destroy_read_struct (&png, &info, NULL);
  return TRUE;
}

static gboolean
decode_jpeg (FILE *file)
{
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr errors;
  jpeg.err = jpeg_std_error (&errors);
  jpeg_create_decompress (&jpeg);
  jpeg_stdio_src (&jpeg, file);
  jpeg_read_header (&jpeg, TRUE);
  jpeg_start_decompress (&jpeg);
  const gsize stride = (gsize)jpeg.output_width * (gsize)jpeg.output_components;
  g_autofree guint8 *pixels = g_malloc (stride * jpeg.output_height);
  while (jpeg.output_scanline < jpeg.output_height)
  {
    JSAMPROW row = pixels + stride * jpeg.output_scanline;
    jpeg_read_scanlines (&jpeg, &row, 1);
  }
  jpeg_finish_decompress (&jpeg);
  jpeg_destroy_decompress (&jpeg);
  return TRUE;
}

static int
decode (const char *path)
{
  FILE *file = fopen (path, "rb");
  if (file == NULL)
    return 66;
  const gboolean done = g_str_has_suffix (path, ".png") ? decode_png (file) : decode_jpeg (file);
  fclose (file);
  return done ? 0 : 65;
}

/* --- Pictures ------------------------------------------------------------------- */

static gboolean
render (const char *path, gboolean colour)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 8.0);
  scene_camera_init (&camera);
  camera.width = WIDTH;
  camera.height = HEIGHT;
  camera.blur_px = 1.5;
  camera.shot = 0.008;
  camera.read = 0.001;
  camera.light_x = 0.1;
  camera.vignette = 0.1;
  camera.dust = 30;
  camera.roll_deg = 12.0;
  camera.colour = colour;
  scene_camera_aim (&camera, &drill, 0.4);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  return scene_image_save (image, path, 92);
}

/* In a process of its own: what a process has held before it starts another counts as that
 * one's peak as well. */
static gboolean
render_apart (const char *path, gboolean colour)
{
  const pid_t child = fork ();
  if (child == 0)
    _exit (render (path, colour) ? 0 : 1);
  int status = 0;
  return child > 0 && waitpid (child, &status, 0) == child && status == 0;
}

/* --- Clock ------------------------------------------------------------------------ */

/* The kernel knows the processor time of a process exactly, but tells user from system time
 * by sampling at clock ticks: hence the least of the former, the mean of the latter. */
typedef struct
{
  double cpu_s;  /* user and system, least of all rounds */
  double user_s; /* mean of all rounds */
  double peak_mb;
  int status;
} Cost;

static double
seconds (struct timeval time)
{
  return (double)time.tv_sec + 1e-6 * (double)time.tv_usec;
}

static void
spend (char *const command[], Cost *cost)
{
  const pid_t child = fork ();
  if (child == 0)
  {
    if (freopen ("/dev/null", "w", stdout) != NULL)
      execv (command[0], command);
    _exit (127);
  }
  struct rusage usage;
  int status = 0;
  if (child < 0 || wait4 (child, &status, 0, &usage) != child)
    return;
  const double user = seconds (usage.ru_utime);
  cost->user_s += user / ROUNDS;
  cost->cpu_s = MIN (cost->cpu_s, user + seconds (usage.ru_stime));
  cost->peak_mb = MAX (cost->peak_mb, (double)usage.ru_maxrss / 1024.0);
  cost->status = WIFEXITED (status) ? WEXITSTATUS (status) : -1;
}

static gboolean
compare (const char *self, const char *program, const char *path, gboolean colour)
{
  char *const decoding[] = { (char *)self, "--decode", (char *)path, NULL };
  char *const measuring[] = { (char *)program, "measure", "--scale", "0.005", (char *)path, NULL };
  Cost decoded = { G_MAXDOUBLE, 0.0, 0.0, -1 }, measured = { G_MAXDOUBLE, 0.0, 0.0, -1 };
  for (guint round = 0; round < ROUNDS; round++)
  {
    spend (decoding, &decoded);
    spend (measuring, &measured);
  }
  if (decoded.status != 0 || measured.status < 0 || measured.status > 2)
  {
    g_printerr ("%s: decoding ended with %d, measuring with %d\n", path, decoded.status,
                measured.status);
    return FALSE;
  }
  const double image_mb = (double)WIDTH * HEIGHT * (colour ? 3.0 : 1.0) / 1048576.0;
  g_autofree char *name = g_path_get_basename (path);
  g_print ("%-10s |%8.3f %8.3f %5.2f |%8.3f %8.3f %5.2f |%7.1f %7.1f %7.1f\n", name, decoded.user_s,
           measured.user_s, measured.user_s / decoded.user_s, decoded.cpu_s, measured.cpu_s,
           measured.cpu_s / decoded.cpu_s, decoded.peak_mb, measured.peak_mb,
           3.0 * image_mb + 64.0);
  return TRUE;
}

int
main (int argc, char **argv)
{
  if (argc == 3 && g_str_equal (argv[1], "--decode"))
    return decode (argv[2]);
  const char *program = g_getenv ("WHETSIGHT");
  g_autofree char *self = g_file_read_link ("/proc/self/exe", NULL);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (program == NULL || self == NULL || folder == NULL)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-speed\n");
    return 64;
  }
  g_print ("12 megapixels; user time: mean of %u, all processor time: best of %u; the memory\n"
           "allowed is three times the decoded picture and 64 MB\n"
           "%-10s |%-23s |%-23s |%-23s\n"
           "%-10s |%8s %8s %5s |%8s %8s %5s |%7s %7s %7s\n",
           ROUNDS, ROUNDS, "", " user s", " processor s", " peak MB", "", "decode", "measure",
           "ratio", "decode", "measure", "ratio", "decode", "measure", "allowed");
  gboolean done = TRUE;
  const char *const names[] = { "grey.png", "colour.png", "grey.jpg", "colour.jpg" };
  for (guint i = 0; done && i < G_N_ELEMENTS (names); i++)
  {
    const gboolean colour = i % 2 == 1;
    g_autofree char *path = g_build_filename (folder, names[i], NULL);
    done = render_apart (path, colour) && compare (self, program, path, colour);
    g_remove (path);
  }
  g_rmdir (folder);
  return done ? 0 : 70;
}
