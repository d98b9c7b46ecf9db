#include "image/decoder.h"
#include "image/light.h"
#include "image/profile.h"
#include "image/spare.h"

#include <setjmp.h>
#include <stdio.h>
#include <string.h>

#include <jerror.h>
#include <jpeglib.h>

/* A progressive picture has about ten scans; a file of a few kilobytes can ask for
 * thousands, each over every pixel. */
#define MAX_SCANS 64

#define EXIF_MARKER (JPEG_APP0 + 1)
#define PROFILE_MARKER (JPEG_APP0 + 2)
#define EXIF_TAG_ORIENTATION 0x0112
#define EXIF_TAG_X_RESOLUTION 0x011A
#define EXIF_TAG_Y_RESOLUTION 0x011B

typedef struct
{
  const WsImageSource *source;
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr manager;
  struct jpeg_progress_mgr progress;
  jmp_buf escape;
  WsLight light;
  WsPalette greys;   /* for one channel */
  guint orientation; /* EXIF's */
  JSAMPLE *row;
  WsImage *image;
  GError **error;
} Reader;

static gboolean
matches (const WsImageSource *source)
{
  return source->n_bytes >= 3 && memcmp (source->bytes, "\xFF\xD8\xFF", 3) == 0;
}

/* What a sound file may do that this library can't read. */
static gboolean
is_unsupported (int code)
{
  return code == JERR_BAD_PRECISION || code == JERR_SOF_UNSUPPORTED || code == JERR_ARITH_NOTIMPL ||
         code == JERR_CONVERSION_NOTIMPL || code == JERR_COMPONENT_COUNT ||
         code == JERR_CCIR601_NOTIMPL || code == JERR_FRACT_SAMPLE_NOTIMPL;
}

static G_NORETURN void
give_up (j_common_ptr jpeg)
{
  Reader *reader = jpeg->client_data;
  char message[JMSG_LENGTH_MAX];

  jpeg->err->format_message (jpeg, message);
  if (is_unsupported (jpeg->err->msg_code))
    wsi_image_set_unsupported (reader->source, "JPEG", message, reader->error);
  else
    wsi_image_set_damaged (reader->source, "JPEG", message, reader->error);
  longjmp (reader->escape, 1);
}

/* A warning (level -1) means that pixels were made up, two harmless ones apart. */
static void
hear_message (j_common_ptr jpeg, int level)
{
  if (level < 0 && jpeg->err->msg_code != JWRN_JFIF_MAJOR &&
      jpeg->err->msg_code != JWRN_ADOBE_XFORM)
    give_up (jpeg);
}

static void
print_nothing (j_common_ptr jpeg)
{
  (void)jpeg;
}

static void
limit_scans (j_common_ptr jpeg)
{
  Reader *reader = jpeg->client_data;
  if (reader->jpeg.input_scan_number <= MAX_SCANS)
    return;
  wsi_image_set_unsupported (reader->source, "JPEG", "too many scans", reader->error);
  longjmp (reader->escape, 1);
}

/* The EXIF data behind their signature, or NULL. */
static const guint8 *
exif_of (const Reader *reader, gsize *n_bytes)
{
  static const guint8 signature[6] = { 'E', 'x', 'i', 'f', 0, 0 };
  const gsize n = sizeof signature;
  for (jpeg_saved_marker_ptr marker = reader->jpeg.marker_list; marker != NULL;
       marker = marker->next)
    if (marker->marker == EXIF_MARKER && marker->data_length > n &&
        memcmp (marker->data, signature, n) == 0)
    {
      *n_bytes = marker->data_length - n;
      return marker->data + n;
    }
  return NULL;
}

static guint
orientation_of (const Reader *reader)
{
  guint32 orientation;
  gsize n;
  const guint8 *exif = exif_of (reader, &n);
  return exif != NULL && wsi_exif_tag (exif, n, EXIF_TAG_ORIENTATION, &orientation) ? orientation
                                                                                    : 1;
}

/* EXIF's word, else JFIF's. */
static double
aspect_of (const Reader *reader)
{
  double along_x, along_y;
  gsize n;
  const guint8 *exif = exif_of (reader, &n);
  if (exif != NULL && wsi_exif_ratio (exif, n, EXIF_TAG_X_RESOLUTION, &along_x) &&
      wsi_exif_ratio (exif, n, EXIF_TAG_Y_RESOLUTION, &along_y))
    return wsi_image_aspect (along_x, along_y);
  return reader->jpeg.saw_JFIF_marker
           ? wsi_image_aspect (reader->jpeg.X_density, reader->jpeg.Y_density)
           : 0;
}

/* Of a colour picture, luma alone is taken when colour isn't wanted: it has every pixel
 * of its own, where chroma is mostly stored at half the size. */
static gboolean
choose_colours (Reader *reader)
{
  struct jpeg_decompress_struct *jpeg = &reader->jpeg;

  switch (jpeg->jpeg_color_space)
  {
  case JCS_GRAYSCALE:
    jpeg->out_color_space = JCS_GRAYSCALE;
    return TRUE;
  case JCS_YCbCr:
    jpeg->out_color_space = reader->source->flags & WS_IMAGE_COLOUR ? JCS_RGB : JCS_GRAYSCALE;
    return TRUE;
  case JCS_RGB:
    jpeg->out_color_space = JCS_RGB;
    return TRUE;
  default:
    wsi_image_set_unsupported (reader->source, "JPEG", "CMYK or unknown colours", reader->error);
    return FALSE;
  }
}

/* Luma stands for the grey of its code. */
static gboolean
read_tone (Reader *reader, WsToneCurve *curve)
{
  JOCTET *bytes = NULL;
  unsigned n_bytes = 0;
  if (wsi_tone_told (reader->source->flags, curve))
    return TRUE;
  *curve = (WsToneCurve){ .tone = WS_TONE_SRGB_ASSUMED };
  if (!jpeg_read_icc_profile (&reader->jpeg, &bytes, &n_bytes))
    return TRUE;
  WsToneCurve profile;
  const WsProfileFound found =
    wsi_profile_read (bytes, n_bytes, reader->jpeg.num_components > 1, &profile);
  free (bytes);
  if (found == WS_PROFILE_WRONG)
    wsi_image_set_unsupported (reader->source, "JPEG", WS_PROFILE_IS_WRONG, reader->error);
  if (found == WS_PROFILE_READ)
    *curve = profile;
  return found != WS_PROFILE_WRONG;
}

/* What is stored in several scans is held whole by the library before the first row comes, and what
 * is turned has to be. */
static gboolean
may_be_sparse (Reader *reader)
{
  return (reader->source->flags & WSI_IMAGE_SPARSE) && !jpeg_has_multiple_scans (&reader->jpeg) &&
         reader->orientation == 1;
}

static WsImage *
new_image (Reader *reader, guint width, guint height)
{
  const WsImageSource *source = reader->source;
  if (!wsi_image_wants_codes (source) || reader->jpeg.out_color_space != JCS_GRAYSCALE)
    return wsi_image_new_within (source, width, height, reader->error);
  WsImage *image = may_be_sparse (reader) ? wsi_image_new_sparse (width, height, 1) : NULL;
  return image != NULL ? image : wsi_image_new_coded_within (source, width, height, reader->error);
}

static gboolean
prepare (Reader *reader)
{
  struct jpeg_decompress_struct *jpeg = &reader->jpeg;
  WsToneCurve curve;
  guint8 ramp[4 * 256];

  jpeg_mem_src (jpeg, reader->source->bytes, reader->source->n_bytes);
  jpeg_save_markers (jpeg, EXIF_MARKER, 0xFFFF);
  jpeg_save_markers (jpeg, PROFILE_MARKER, 0xFFFF);
  jpeg_read_header (jpeg, TRUE);
  /* The markers are gone when the last row has been read. */
  reader->orientation = orientation_of (reader);
  const guint width = jpeg->image_width, height = jpeg->image_height;
  if (!wsi_image_check_size (reader->source, width, height, reader->error) ||
      !choose_colours (reader) || !read_tone (reader, &curve))
    return FALSE;
  reader->image = new_image (reader, width, height);
  if (reader->image == NULL)
    return FALSE;
  reader->image->pixel_aspect = aspect_of (reader);
  reader->image->tone = curve.tone;
  reader->image->bits = 8;
  reader->image->lossy = TRUE;
  reader->image->has_colour = jpeg->num_components > 1;

  wsi_light_init (&reader->light, &curve, 8, reader->source->flags);
  wsi_grey_ramp (ramp);
  wsi_palette_init (&reader->greys, &reader->light, ramp);
  if (reader->image->linear == NULL)
    memcpy (reader->image->light, reader->greys.linear, sizeof reader->image->light);
  return TRUE;
}

static void
read_codes (Reader *reader)
{
  struct jpeg_decompress_struct *jpeg = &reader->jpeg;
  while (jpeg->output_scanline < jpeg->output_height)
  {
    JSAMPLE *row = wsi_image_coded_row (reader->image, jpeg->output_scanline);
    jpeg_read_scanlines (jpeg, &row, 1);
  }
  jpeg_finish_decompress (jpeg);
}

static void
read_sparsely (Reader *reader)
{
  struct jpeg_decompress_struct *jpeg = &reader->jpeg;
  WsSparse *sparse = reader->image->sparse;
  while (jpeg->output_scanline < jpeg->output_height)
  {
    const guint y = jpeg->output_scanline;
    JSAMPLE *row = wsi_sparse_place (sparse, y);
    jpeg_read_scanlines (jpeg, &row, 1);
    wsi_sparse_take (sparse, y, reader->image->light);
  }
  jpeg_finish_decompress (jpeg);
  wsi_sparse_end (sparse);
}

static gboolean
read_pixels (Reader *reader)
{
  struct jpeg_decompress_struct *jpeg = &reader->jpeg;
  const WsImage *image = reader->image;

  jpeg_start_decompress (jpeg);
  if (image->sparse != NULL)
    read_sparsely (reader);
  else if (image->coded != NULL)
    read_codes (reader);
  if (image->linear == NULL)
    return TRUE;
  reader->row = g_try_malloc_n (image->width, (gsize)jpeg->output_components);
  if (reader->row == NULL)
    return wsi_image_set_no_room (reader->source, reader->error);
  while (jpeg->output_scanline < jpeg->output_height)
  {
    const guint y = jpeg->output_scanline;
    guint16 *linear = wsi_image_linear_row (image, y);
    guint8 *rgb = wsi_image_rgb_row (image, y);
    jpeg_read_scanlines (jpeg, &reader->row, 1);
    if (jpeg->output_components == 1)
      wsi_palette_row (&reader->greys, reader->row, image->width, linear, rgb);
    else
      wsi_light_row (&reader->light, reader->row, 3, image->width, linear, rgb);
  }
  jpeg_finish_decompress (jpeg);
  return TRUE;
}

/* Every call of libjpeg that may jump is made below this frame. */
static gboolean
read_guarded (Reader *reader)
{
  if (setjmp (reader->escape))
    return FALSE;
  jpeg_create_decompress (&reader->jpeg);
  reader->jpeg.progress = &reader->progress;
  return prepare (reader) && read_pixels (reader) &&
         wsi_image_orient (reader->image, reader->orientation, reader->error);
}

static WsImage *
decode (const WsImageSource *source, GError **error)
{
  Reader *reader = g_new0 (Reader, 1);
  WsImage *image = NULL;

  reader->source = source;
  reader->error = error;
  reader->jpeg.err = jpeg_std_error (&reader->manager);
  reader->jpeg.client_data = reader;
  reader->manager.error_exit = give_up;
  reader->manager.emit_message = hear_message;
  reader->manager.output_message = print_nothing;
  reader->progress.progress_monitor = limit_scans;
  if (read_guarded (reader))
    image = g_steal_pointer (&reader->image);

  jpeg_destroy_decompress (&reader->jpeg);
  wsi_light_clear (&reader->light);
  g_free (reader->row);
  ws_image_free (reader->image);
  g_free (reader);
  return image;
}

const WsImageFormat wsi_image_format_jpeg = { "JPEG", matches, decode, NULL, FALSE };
