#include "report/pdf/jpeg.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

/* With letters and their fonts a page stays below 250 kB. */
#define MOST_BYTES 190000

/* Down to where blocks begin to show on an edge. */
static const int qualities[] = { 90, 84, 78, 70, 60, 50 };

typedef struct
{
  struct jpeg_error_mgr manager;
  jmp_buf escape;
} Trouble;

static G_NORETURN void
give_up (j_common_ptr jpeg)
{
  longjmp (((Trouble *)(void *)jpeg->err)->escape, 1);
}

static void
be_silent (j_common_ptr jpeg)
{
  (void)jpeg;
}

static void
set_up (struct jpeg_compress_struct *jpeg, cairo_surface_t *surface, int quality)
{
  jpeg->image_width = (JDIMENSION)cairo_image_surface_get_width (surface);
  jpeg->image_height = (JDIMENSION)cairo_image_surface_get_height (surface);
  jpeg->input_components = 3;
  jpeg->in_color_space = JCS_RGB;
  jpeg_set_defaults (jpeg);
  jpeg_set_quality (jpeg, quality, TRUE);
  jpeg->optimize_coding = TRUE;
}

static void
write_rows (struct jpeg_compress_struct *jpeg, cairo_surface_t *surface, JSAMPLE *row)
{
  const guint8 *pixels = cairo_image_surface_get_data (surface);
  const gsize stride = (gsize)cairo_image_surface_get_stride (surface);
  while (jpeg->next_scanline < jpeg->image_height)
  {
    const guint32 *from = (const guint32 *)(const void *)(pixels + jpeg->next_scanline * stride);
    JSAMPLE *to = row;
    for (guint x = 0; x < jpeg->image_width; x++)
      for (guint shift = 24; shift > 0; shift -= 8)
        *to++ = (JSAMPLE)(from[x] >> (shift - 8));
    jpeg_write_scanlines (jpeg, &row, 1);
  }
}

/* Free with free(): the library allocates so.  NULL when it can't be encoded. */
static unsigned char *
encode (cairo_surface_t *surface, int quality, unsigned long *n_bytes)
{
  struct jpeg_compress_struct jpeg = { 0 };
  Trouble trouble;
  unsigned char *bytes = NULL;
  JSAMPLE *row = g_malloc (3 * (gsize)cairo_image_surface_get_width (surface));
  jpeg.err = jpeg_std_error (&trouble.manager);
  trouble.manager.error_exit = give_up;
  trouble.manager.output_message = be_silent;
  *n_bytes = 0;
  if (setjmp (trouble.escape) != 0)
  {
    jpeg_destroy_compress (&jpeg);
    free (bytes);
    g_free (row);
    return NULL;
  }
  jpeg_create_compress (&jpeg);
  jpeg_mem_dest (&jpeg, &bytes, n_bytes);
  set_up (&jpeg, surface, quality);
  jpeg_start_compress (&jpeg, TRUE);
  write_rows (&jpeg, surface, row);
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);
  g_free (row);
  return bytes;
}

gboolean
wsi_jpeg_attach (cairo_surface_t *surface)
{
  unsigned long n_bytes = 0;
  unsigned char *bytes = NULL;
  if (cairo_surface_status (surface) != CAIRO_STATUS_SUCCESS)
    return FALSE;
  cairo_surface_flush (surface);
  for (gsize i = 0; i < G_N_ELEMENTS (qualities) && (bytes == NULL || n_bytes > MOST_BYTES); i++)
  {
    free (bytes);
    bytes = encode (surface, qualities[i], &n_bytes);
    if (bytes == NULL)
      return FALSE;
  }
  if (cairo_surface_set_mime_data (surface, CAIRO_MIME_TYPE_JPEG, bytes, n_bytes, free, bytes) ==
      CAIRO_STATUS_SUCCESS)
    return TRUE;
  free (bytes);
  return FALSE;
}
