/*
 * What the benchmarks of speed share: plain decoders, and processor time of them and of whole runs.
 */
#ifndef WS_BENCHMARK_COST_H
#define WS_BENCHMARK_COST_H

#include <glib.h>
#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* jpeglib.h needs stdio.h first. */
#include <jpeglib.h>

/* --- Decoding alone ----------------------------------------------------------- */

typedef struct
{
  const guint8 *bytes;
  gsize n_bytes, at;
} File;

static inline void
take_bytes (png_structp png, png_bytep to, png_size_t n)
{
  File *file = png_get_io_ptr (png);
  if (n > file->n_bytes - file->at)
    png_error (png, "too short");
  memcpy (to, file->bytes + file->at, n);
  file->at += n;
}

static inline gboolean
decode_png (File *file)
{
  png_structp png = png_create_read_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png == NULL ? NULL : png_create_info_struct (png);
  if (info == NULL || setjmp (png_jmpbuf (png)))
  {
    png_destroy_read_struct (&png, &info, NULL);
    return FALSE;
  }
  png_set_read_fn (png, file, take_bytes);
  png_read_png (png, info, PNG_TRANSFORM_IDENTITY, NULL);
  png_destroy_read_struct (&png, &info, NULL);
  return TRUE;
}

static inline gboolean
decode_jpeg (File *file)
{
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr errors;
  jpeg.err = jpeg_std_error (&errors);
  jpeg_create_decompress (&jpeg);
  jpeg_mem_src (&jpeg, file->bytes, file->n_bytes);
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

static inline gboolean
decode_plain (const char *path)
{
  File file = { 0 };
  g_autofree char *bytes = NULL;
  if (!g_file_get_contents (path, &bytes, &file.n_bytes, NULL))
    return FALSE;
  file.bytes = (const guint8 *)bytes;
  return g_str_has_suffix (path, ".png") ? decode_png (&file) : decode_jpeg (&file);
}

/* --- Clock ------------------------------------------------------------------------ */

typedef struct
{
  double cpu_ms; /* user and system, least of all rounds */
  double peak_mb;
  int status;
} Cost;

static inline void
note (Cost *cost, double ms)
{
  cost->cpu_ms = MIN (cost->cpu_ms, ms);
}

static inline double
cpu_ms (void)
{
  struct timespec now;
  clock_gettime (CLOCK_PROCESS_CPUTIME_ID, &now);
  return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

/* In a process of its own, so that its memory is as fresh as a whole run's. */
static inline void
decode (gboolean (*decoder) (const char *path), const char *path, Cost *cost)
{
  int ends[2];
  double ms = -1.0;
  if (pipe (ends) != 0)
    return;
  const pid_t child = fork ();
  if (child == 0)
  {
    const double start = cpu_ms ();
    ms = decoder (path) ? cpu_ms () - start : -1.0;
    _exit (write (ends[1], &ms, sizeof ms) == sizeof ms ? 0 : 1);
  }
  close (ends[1]);
  if (read (ends[0], &ms, sizeof ms) != sizeof ms)
    ms = -1.0;
  close (ends[0]);
  if (child > 0)
    waitpid (child, NULL, 0);
  cost->status = ms >= 0.0 ? 0 : 1;
  note (cost, ms);
}

static inline double
ms_of (struct timeval time)
{
  return 1e3 * (double)time.tv_sec + 1e-3 * (double)time.tv_usec;
}

static inline void
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
  note (cost, ms_of (usage.ru_utime) + ms_of (usage.ru_stime));
  cost->peak_mb = MAX (cost->peak_mb, (double)usage.ru_maxrss / 1024.0);
  cost->status = WIFEXITED (status) ? WEXITSTATUS (status) : -1;
}

#endif
