/*
 * libjpeg reports errors by longjmp(): read_picture() and what it calls own nothing.  The Huffman
 * tables that cameras leave out are put in by libjpeg-turbo.
 */
#include "camera/mjpeg.h"

#include <setjmp.h>
#include <stdio.h>

#include <jerror.h>
#include <jpeglib.h>

struct WsMjpeg
{
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr manager;
  jmp_buf escape;
  guint8 *samples;
  gsize n_samples;
};

static G_NORETURN void
give_up (j_common_ptr jpeg)
{
  WsMjpeg *self = jpeg->client_data;
  longjmp (self->escape, 1);
}

/* A warning (level -1) means that pixels were made up, a few bytes too many apart, which many
 * cameras put in. */
static void
hear_message (j_common_ptr jpeg, int level)
{
  const int code = jpeg->err->msg_code;
  if (level < 0 && code != JWRN_EXTRANEOUS_DATA && code != JWRN_JFIF_MAJOR &&
      code != JWRN_ADOBE_XFORM)
    give_up (jpeg);
}

static void
print_nothing (j_common_ptr jpeg)
{
  (void)jpeg;
}

WsMjpeg *
wsi_mjpeg_new (void)
{
  WsMjpeg *self = g_new0 (WsMjpeg, 1);
  self->jpeg.err = jpeg_std_error (&self->manager);
  self->jpeg.client_data = self;
  self->manager.error_exit = give_up;
  self->manager.emit_message = hear_message;
  self->manager.output_message = print_nothing;
  jpeg_create_decompress (&self->jpeg);
  return self;
}

void
wsi_mjpeg_free (WsMjpeg *self)
{
  if (self == NULL)
    return;
  jpeg_destroy_decompress (&self->jpeg);
  g_free (self->samples);
  g_free (self);
}

static gboolean
make_room (WsMjpeg *self, gsize n)
{
  if (n <= self->n_samples)
    return TRUE;
  g_free (self->samples);
  self->samples = g_try_malloc (n);
  self->n_samples = self->samples != NULL ? n : 0;
  return self->samples != NULL;
}

/* A picture's bytes. */
typedef struct
{
  const guint8 *bytes;
  gsize n;
} Bytes;

static gboolean
read_picture (WsMjpeg *self, const Bytes *from, gboolean colour, WsSamples *samples)
{
  struct jpeg_decompress_struct *jpeg = &self->jpeg;
  jpeg_mem_src (jpeg, from->bytes, from->n);
  jpeg_read_header (jpeg, TRUE);
  if (jpeg->image_width != samples->width || jpeg->image_height != samples->height)
    return FALSE;
  /* A grey JPEG has no colour, whatever the device says. */
  const gboolean coloured = colour && jpeg->num_components == 3;
  jpeg->out_color_space = coloured ? JCS_RGB : JCS_GRAYSCALE;
  samples->layout = coloured ? WS_SAMPLES_RGB : WS_SAMPLES_GREY;
  samples->stride = wsi_samples_row_bytes (samples);
  if (!make_room (self, samples->stride * samples->height))
    return FALSE;
  jpeg_start_decompress (jpeg);
  while (jpeg->output_scanline < jpeg->output_height)
  {
    JSAMPROW row = self->samples + jpeg->output_scanline * samples->stride;
    jpeg_read_scanlines (jpeg, &row, 1);
  }
  jpeg_finish_decompress (jpeg);
  samples->bytes = self->samples;
  return TRUE;
}

/* Every call of libjpeg that may jump is made below this frame. */
static gboolean
guard (WsMjpeg *self, const Bytes *from, gboolean colour, WsSamples *samples)
{
  return setjmp (self->escape) == 0 && read_picture (self, from, colour, samples);
}

gboolean
wsi_mjpeg_decode (WsMjpeg *self, const guint8 *bytes, gsize n_bytes, gboolean colour,
                  WsSamples *samples)
{
  const Bytes from = { bytes, n_bytes };
  const gboolean decoded = n_bytes > 0 && guard (self, &from, colour, samples);
  jpeg_abort_decompress (&self->jpeg);
  return decoded;
}
