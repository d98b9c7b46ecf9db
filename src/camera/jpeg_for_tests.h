/*
 * Pictures of one colour as cameras compress them.
 */
#ifndef WS_CAMERA_JPEG_FOR_TESTS_H
#define WS_CAMERA_JPEG_FOR_TESTS_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib.h>
#include <jpeglib.h>

typedef struct
{
  guint width, height;
  guint8 rgb[3];
  gboolean grey;
} PlainPicture;

/* Free with g_free(). */
static inline guint8 *
plain_jpeg (const PlainPicture *of, gsize *n_bytes)
{
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr manager;
  unsigned char *bytes = NULL;
  unsigned long n = 0;
  g_autofree guint8 *row = g_malloc ((gsize)of->width * 3);
  jpeg.err = jpeg_std_error (&manager);
  jpeg_create_compress (&jpeg);
  jpeg_mem_dest (&jpeg, &bytes, &n);
  jpeg.image_width = of->width;
  jpeg.image_height = of->height;
  jpeg.input_components = of->grey ? 1 : 3;
  jpeg.in_color_space = of->grey ? JCS_GRAYSCALE : JCS_RGB;
  jpeg_set_defaults (&jpeg);
  jpeg_set_quality (&jpeg, 95, TRUE);
  jpeg_start_compress (&jpeg, TRUE);
  for (guint x = 0; x < of->width * (guint)jpeg.input_components; x++)
    row[x] = of->rgb[of->grey ? 0 : x % 3];
  while (jpeg.next_scanline < jpeg.image_height)
  {
    JSAMPROW rows = row;
    jpeg_write_scanlines (&jpeg, &rows, 1);
  }
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);
  guint8 *copy = g_memdup2 (bytes, n);
  free (bytes);
  *n_bytes = n;
  return copy;
}

/* Leaves the Huffman tables out, as most webcams do: ITU-T T.81, B.1.1.3 and B.2.4.2. */
static inline void
drop_huffman_tables (guint8 *bytes, gsize *n_bytes)
{
  gsize at = 2;
  while (at + 4 <= *n_bytes && bytes[at] == 0xFF && bytes[at + 1] != 0xDA)
  {
    const gsize n = 2 + (gsize)bytes[at + 2] * 256 + bytes[at + 3];
    if (bytes[at + 1] == 0xC4)
    {
      memmove (bytes + at, bytes + at + n, *n_bytes - at - n);
      *n_bytes -= n;
    }
    else
      at += n;
  }
}

#endif
