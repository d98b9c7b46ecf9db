/*
 * How the cost of a measurement grows with the picture: processor time of whole runs on the same
 * drill at 1 to 48 megapixels, the project's own reader, as silhouettes use it, and the start taken
 * off, and the slope of that over megapixels, both in logarithms: 1 for what looks at the area, 0.5
 * for what follows an outline. FILE.svg gets the plot.
 *
 *   WHETSIGHT=build/release/src/whetsight benchmark-growth [FILE.svg]
 */
#include "benchmark/cost.h"
#include "scene/scene.h"

#include <glib/gstdio.h>
#include <math.h>
#include <whetsight/image.h>

#define ROUNDS 5

static const guint widths[] = { 1200, 2000, 2800, 4000, 5600, 8000 };
#define N_WIDTHS G_N_ELEMENTS (widths)

/* The same view, finer. */
static gboolean
render (const char *path, guint width)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 8.0);
  scene_camera_init (&camera);
  camera.width = width;
  camera.height = width / 4 * 3;
  camera.blur_px = 1.5;
  camera.shot = 0.008;
  camera.read = 0.001;
  camera.light_x = 0.1;
  camera.roll_deg = 12.0;
  scene_camera_aim (&camera, &drill, 0.4);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  return scene_image_save (image, path, 92);
}

/* In a process of its own, whose memory isn't counted as that of later ones. */
static gboolean
render_apart (const char *path, guint width)
{
  const pid_t child = fork ();
  if (child == 0)
    _exit (render (path, width) ? 0 : 1);
  int status = 0;
  return child > 0 && waitpid (child, &status, 0) == child && status == 0;
}

/* A plain decoder takes longer for a PNG than all of a measurement. */
static gboolean
read_coded (const char *path)
{
  g_autoptr (WsImage) image = ws_image_load (path, NULL, WS_IMAGE_CODED, NULL);
  return image != NULL;
}

/* ms beyond reading and the start; NAN when it fails. */
static double
beyond (const char *program, const char *path, double megapixels)
{
  char *const measuring[] = { (char *)program, "measure", "--scale", "0.005", (char *)path, NULL };
  char *const starting[] = { (char *)program, "--version", NULL };
  Cost reader = { G_MAXDOUBLE, 0.0, -1 }, whole = reader, start = reader;
  for (guint round = 0; round < ROUNDS; round++)
  {
    decode (read_coded, path, &reader);
    spend (measuring, &whole);
    spend (starting, &start);
  }
  if (reader.status != 0 || whole.status < 0 || whole.status > 2 || start.status != 0)
    return NAN;
  const double rest = whole.cpu_ms - reader.cpu_ms - start.cpu_ms;
  g_print ("%8.1f %-4s %9.1f %9.1f %9.1f %9.1f\n", megapixels, strrchr (path, '.') + 1,
           reader.cpu_ms, whole.cpu_ms, rest, whole.peak_mb);
  return rest;
}

static double
slope_of (const double *megapixels, const double *ms)
{
  double x = 0, y = 0, xx = 0, xy = 0;
  for (guint i = 0; i < N_WIDTHS; i++)
  {
    const double a = log (megapixels[i]), b = log (ms[i]);
    x += a / N_WIDTHS;
    y += b / N_WIDTHS;
    xx += a * a / N_WIDTHS;
    xy += a * b / N_WIDTHS;
  }
  return (xy - x * y) / (xx - x * x);
}

/* ---- The plot ------------------------------------------------------------------------------ */

/* 1 to 64 megapixels and 4 to 1024 ms, factors of two alike. */
static double
across (double megapixels)
{
  return 60 + 70 * log2 (megapixels);
}

static double
down (double ms)
{
  return 300 - 34 * log2 (ms / 4);
}

static gboolean
plot (const char *path, const double *megapixels, const double ms[2][N_WIDTHS])
{
  static const char *const names[] = { "PNG", "JPEG" }, *const colours[] = { "#0072b2", "#d55e00" };
  GString *svg = g_string_new ("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"540\" "
                               "height=\"350\" font-family=\"sans-serif\" font-size=\"13\">\n"
                               "<rect width=\"540\" height=\"350\" fill=\"#f6f5f1\"/>\n");
  for (guint n = 1; n <= 64; n *= 2)
    g_string_append_printf (
      svg,
      "<path d=\"M%.0f 28V300\" stroke=\"#d6d6d1\"/><text x=\"%.0f\" y=\"318\" "
      "text-anchor=\"middle\">%u</text>\n",
      across (n), across (n), n);
  for (guint n = 4; n <= 1024; n *= 2)
    g_string_append_printf (
      svg,
      "<path d=\"M60 %.0fH480\" stroke=\"#d6d6d1\"/><text x=\"54\" y=\"%.0f\" "
      "text-anchor=\"end\">%u</text>\n",
      down (n), down (n) + 5, n);
  for (guint f = 0; f < 2; f++)
  {
    g_string_append (svg, "<path d=\"");
    for (guint i = 0; i < N_WIDTHS; i++)
      g_string_append_printf (svg, "%c%.1f %.1f", i == 0 ? 'M' : 'L', across (megapixels[i]),
                              down (ms[f][i]));
    g_string_append_printf (svg,
                            "\" fill=\"none\" stroke=\"%s\" stroke-width=\"2\"/><text x=\"%.0f\" "
                            "y=\"%.0f\" fill=\"%s\">%s, slope %.2f</text>\n",
                            colours[f], across (megapixels[2]),
                            down (ms[f][2]) + (f == 0 ? -12 : 24), colours[f], names[f],
                            slope_of (megapixels, ms[f]));
  }
  g_string_append (svg, "<text x=\"270\" y=\"340\" text-anchor=\"middle\">megapixels</text>\n"
                        "<text x=\"60\" y=\"18\">ms beyond reading and start</text>\n</svg>\n");
  const gboolean saved = g_file_set_contents (path, svg->str, (gssize)svg->len, NULL);
  g_string_free (svg, TRUE);
  return saved;
}

int
main (int argc, char **argv)
{
  static const char *const names[2] = { "tool.png", "tool.jpg" };
  const char *program = g_getenv ("WHETSIGHT");
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  double megapixels[N_WIDTHS], ms[2][N_WIDTHS];
  gboolean done = TRUE;
  if (program == NULL || folder == NULL)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-growth [FILE.svg]\n");
    return 64;
  }
  g_print ("processor time, ms, least of %u rounds; peak memory, MB\n%8s %-4s %9s %9s %9s %9s\n",
           ROUNDS, "MP", "", "reader", "whole", "beyond", "memory");
  for (guint f = 0; done && f < 2; f++)
    for (guint i = 0; done && i < N_WIDTHS; i++)
    {
      g_autofree char *path = g_build_filename (folder, names[f], NULL);
      megapixels[i] = 0.75e-6 * widths[i] * widths[i];
      ms[f][i] =
        render_apart (path, widths[i]) ? beyond (program, path, megapixels[i]) : (double)NAN;
      done = ms[f][i] > 0;
      g_remove (path);
    }
  g_rmdir (folder);
  if (done)
    g_print ("slopes: PNG %.2f, JPEG %.2f\n", slope_of (megapixels, ms[0]),
             slope_of (megapixels, ms[1]));
  return done && (argc < 2 || plot (argv[1], megapixels, ms)) ? 0 : 70;
}
