/*
 * BMP, read by OpenCV.  How large it claims to be is read here first, so that the limit holds
 * before OpenCV takes any memory.
 */
#include "image/decoder.h"
#include "vision/ws_vision.h"

#include <string.h>

/* Offsets from the start of the file; 12 stands for the oldest header, with 16-bit sizes. */
enum
{
  BMP_PIXELS = 10,
  BMP_HEADER_SIZE = 14,
  BMP_WIDTH = 18,
  BMP_HEIGHT = 22,
  BMP_BITS = 28,
  BMP_COMPRESSION = 30,
  BMP_SMALLEST = 34,
  BMP_ALONG_X = 38, /* pixels a metre */
  BMP_ALONG_Y = 42,
  BMP_LARGER = 46,
  BMP_RLE8 = 1,
  BMP_RLE4 = 2
};

static void
copy_light (const WsVisionPicture *picture, const WsImageSource *source, WsImage *image)
{
  WsToneCurve curve = { .tone = WS_TONE_SRGB_ASSUMED };
  wsi_tone_told (source->flags, &curve);
  WsLight light;

  wsi_light_init (&light, &curve, 8, source->flags);
  light.codes = image->codes;
  for (guint y = 0; y < image->height; y++)
    wsi_light_row (&light, picture->samples + (gsize)y * picture->row_bytes, picture->channels,
                   image->width, wsi_image_linear_row (image, y), wsi_image_rgb_row (image, y));
  wsi_light_clear (&light);
  image->tone = curve.tone;
  image->bits = 8;
  image->has_colour = picture->channels == 3;
}

static WsImage *
decode_with_vision (const WsImageSource *source, GError **error)
{
  WsVisionPicture picture;
  GError *wrong = NULL;
  WsImage *image = NULL;

  if (wsi_vision_decode (source->bytes, source->n_bytes, &picture, &wrong))
  {
    image = wsi_image_new_within (source, picture.width, picture.height, error);
    if (image != NULL)
      copy_light (&picture, source, image);
    wsi_vision_picture_clear (&picture);
  }
  else if (g_error_matches (wrong, WS_ERROR, WS_ERROR_DATA))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: damaged BMP, or of a kind we can't read (%s); take or copy the picture "
                 "again, or save it as PNG",
                 source->name, wrong->message);
    g_error_free (wrong);
  }
  else
    g_propagate_prefixed_error (error, wrong, "%s: ", source->name);
  return image;
}

static guint32
little_endian (const guint8 *bytes, guint n)
{
  guint32 number = 0;
  for (guint i = n; i > 0; i--)
    number = number << 8 | bytes[i - 1];
  return number;
}

static gboolean
matches (const WsImageSource *source)
{
  if (source->n_bytes < BMP_SMALLEST || memcmp (source->bytes, "BM", 2) != 0)
    return FALSE;
  const guint32 header = little_endian (source->bytes + BMP_HEADER_SIZE, 4);
  return header == 12 || (header >= 40 && header <= 124);
}

/* OpenCV takes rows that are missing from the end of the file for black. */
static gboolean
bmp_is_whole (const WsImageSource *source, guint width, guint height, gboolean old_header)
{
  const guint8 *bytes = source->bytes;
  const guint32 compression = old_header ? 0 : little_endian (bytes + BMP_COMPRESSION, 4);
  const guint64 bits = little_endian (bytes + (old_header ? 24 : BMP_BITS), 2);
  const guint64 row_bytes = (width * bits + 31) / 32 * 4;

  if (compression == BMP_RLE8 || compression == BMP_RLE4)
    return TRUE;
  return little_endian (bytes + BMP_PIXELS, 4) + row_bytes * height <= source->n_bytes;
}

static WsImage *
decode (const WsImageSource *source, GError **error)
{
  const guint8 *bytes = source->bytes;
  const gboolean old_header = little_endian (bytes + BMP_HEADER_SIZE, 4) == 12;
  const guint32 width = little_endian (bytes + BMP_WIDTH, old_header ? 2 : 4);
  guint32 height = little_endian (bytes + (old_header ? 20 : BMP_HEIGHT), old_header ? 2 : 4);

  /* A negative height means rows from top to bottom. */
  if (!old_header && height > G_MAXINT32)
    height = 0U - height;
  if (width == 0 || height == 0)
  {
    wsi_image_set_damaged (source, "BMP", "its size is zero", error);
    return NULL;
  }
  if (!wsi_image_check_size (source, width, height, error))
    return NULL;
  if (!bmp_is_whole (source, width, height, old_header))
  {
    wsi_image_set_damaged (source, "BMP", "the file ends too early", error);
    return NULL;
  }
  WsImage *image = decode_with_vision (source, error);
  if (image != NULL && !old_header && source->n_bytes >= BMP_LARGER)
    image->pixel_aspect = wsi_image_aspect (little_endian (bytes + BMP_ALONG_X, 4),
                                            little_endian (bytes + BMP_ALONG_Y, 4));
  return image;
}

const WsImageFormat wsi_image_format_bmp = { "BMP", matches, decode, NULL, FALSE };
