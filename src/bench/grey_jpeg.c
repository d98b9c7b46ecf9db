#include "bench/grey_jpeg.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

#include "image/tone.h"

/* Edges stay sharp to the eye, and a frame of 1280 x 960 takes some 60 kB. */
#define QUALITY 80

void
wsi_grey_table_fill (WsGreyTable *table)
{
  for (guint i = 0; i < WSI_GREY_LEVELS; i++)
    table->code[i] = (guint8)(255.0 * wsi_linear_to_srgb (i / (WSI_GREY_LEVELS - 1.0)) + 0.5);
}

typedef struct
{
  struct jpeg_error_mgr base;
  jmp_buf back;
} Trouble;

static void
jump_back (j_common_ptr jpeg)
{
  longjmp (((Trouble *)(void *)jpeg->err)->back, 1);
}

static void
write_rows (struct jpeg_compress_struct *jpeg, const WsImage *image, const WsGreyTable *table,
            guint8 *row)
{
  jpeg->image_width = image->width;
  jpeg->image_height = image->height;
  jpeg->input_components = 1;
  jpeg->in_color_space = JCS_GRAYSCALE;
  jpeg_set_defaults (jpeg);
  jpeg_set_quality (jpeg, QUALITY, TRUE);
  jpeg->dct_method = JDCT_IFAST;
  jpeg_start_compress (jpeg, TRUE);
  for (guint y = 0; y < image->height; y++)
  {
    const guint16 *light = image->linear + (gsize)y * image->width;
    for (guint x = 0; x < image->width; x++)
      row[x] = table->code[light[x] >> WSI_GREY_SHIFT];
    jpeg_write_scanlines (jpeg, &row, 1);
  }
  jpeg_finish_compress (jpeg);
}

gboolean
wsi_grey_jpeg (const WsImage *image, const WsGreyTable *table, GByteArray *out)
{
  struct jpeg_compress_struct jpeg;
  Trouble trouble;
  unsigned char *bytes = NULL;
  unsigned long n = 0;
  g_autofree guint8 *row = g_malloc (image->width);
  jpeg.err = jpeg_std_error (&trouble.base);
  trouble.base.error_exit = jump_back;
  const gboolean done = setjmp (trouble.back) == 0;
  if (done)
  {
    jpeg_create_compress (&jpeg);
    jpeg_mem_dest (&jpeg, &bytes, &n);
    write_rows (&jpeg, image, table, row);
    g_byte_array_append (out, bytes, (guint)n);
  }
  jpeg_destroy_compress (&jpeg);
  free (bytes);
  return done;
}
