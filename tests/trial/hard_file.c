/* What becomes of a picture on its way into a file: sizes, turns, crops, formats. */
#include <math.h>
#include <stdio.h>
#include <string.h>

/* jpeglib.h needs stdio.h first. */
#include <jpeglib.h>
#include <png.h>
#include <tiffio.h>

#include "hard.h"

/* ---- JPEG ---------------------------------------------------------------------------------------
 */

/* Through JPEG and back, in memory. */
static void
through_jpeg (HardPicture *p, int quality)
{
  struct jpeg_compress_struct out;
  struct jpeg_decompress_struct in;
  struct jpeg_error_mgr errors;
  unsigned char *bytes = NULL;
  unsigned long size = 0;
  const gsize stride = (gsize)p->width * p->channels;
  g_autofree guint8 *row = g_malloc (stride);
  JSAMPROW rows[] = { row };
  out.err = in.err = jpeg_std_error (&errors);
  jpeg_create_compress (&out);
  jpeg_mem_dest (&out, &bytes, &size);
  out.image_width = p->width;
  out.image_height = p->height;
  out.input_components = (int)p->channels;
  out.in_color_space = p->channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults (&out);
  jpeg_set_quality (&out, quality, TRUE);
  jpeg_start_compress (&out, TRUE);
  for (guint y = 0; y < p->height; y++)
  {
    for (gsize i = 0; i < stride; i++)
      row[i] = (guint8)lround (255.0 * CLAMP ((double)p->samples[y * stride + i], 0.0, 1.0));
    jpeg_write_scanlines (&out, rows, 1);
  }
  jpeg_finish_compress (&out);
  jpeg_destroy_compress (&out);
  jpeg_create_decompress (&in);
  jpeg_mem_src (&in, bytes, size);
  jpeg_read_header (&in, TRUE);
  jpeg_start_decompress (&in);
  for (guint y = 0; y < p->height; y++)
  {
    jpeg_read_scanlines (&in, rows, 1);
    for (gsize i = 0; i < stride; i++)
      p->samples[y * stride + i] = (float)row[i] / 255.0f;
  }
  jpeg_finish_decompress (&in);
  jpeg_destroy_decompress (&in);
  free (bytes);
}

/* A JPEG can't say anything but sRGB. */
static void
as_srgb (HardShot *shot)
{
  if (shot->encoding == SCENE_SRGB)
    return;
  hard_to_light (shot);
  shot->encoding = SCENE_SRGB;
  hard_from_light (shot);
}

static void
crop (HardShot *shot, guint left, guint top, guint width, guint height)
{
  HardPicture cut = hard_picture_new (width, height, shot->picture.channels);
  for (guint y = 0; y < height; y++)
    memcpy (hard_sample (&cut, 0, (int)y, 0),
            hard_sample (&shot->picture, (int)left, (int)(top + y), 0),
            (gsize)width * cut.channels * sizeof (float));
  hard_picture_take (&shot->picture, cut);
}

/* Saved, cut by some pixels so that the blocks lie elsewhere, and saved again. */
void
hard_jpeg_twice (HardShot *shot)
{
  const int quality = (int)lround (hard_between (shot, 97.0, 15.0));
  as_srgb (shot);
  shot->bits = 8;
  through_jpeg (&shot->picture, quality);
  crop (shot, 3, 5, shot->picture.width - 3, shot->picture.height - 5);
  shot->jpeg_quality = quality;
}

/* ---- Sizes
 * ---------------------------------------------------------------------------------------- */

typedef struct
{
  double by; /* old pixels to a new one */
  gboolean nearest;
} Sizes;

/* Mean over a box as wide as a new pixel where that is larger, else interpolated. */
static float
resampled (const HardPicture *old, const Sizes *sizes, double x, double y, guint c)
{
  if (sizes->nearest)
    return *hard_sample (old, (int)lround (x), (int)lround (y), c);
  const int n = (int)ceil (2.0 * MAX (sizes->by - 0.5, 0.5));
  double sum = 0.0;
  for (int j = 0; j < n; j++)
    for (int i = 0; i < n; i++)
      sum += hard_between_samples (old, x + MAX (sizes->by - 1.0, 0.0) * ((i + 0.5) / n - 0.5),
                                   y + MAX (sizes->by - 1.0, 0.0) * ((j + 0.5) / n - 0.5), c);
  return (float)(sum / (n * n));
}

/* Edges of the first and the last pixel keep their place. */
static void
resize (HardShot *shot, const Sizes *sizes)
{
  const HardPicture *old = &shot->picture;
  const guint width = (guint)lround (old->width / sizes->by);
  const guint height = (guint)lround (old->height / sizes->by);
  const double by = (double)old->width / width;
  HardPicture new = hard_picture_new (width, height, old->channels);
  for (guint y = 0; y < height; y++)
    for (guint x = 0; x < width; x++)
      for (guint c = 0; c < old->channels; c++)
        *hard_sample (&new, (int)x, (int)y, c) =
          resampled (old, sizes, (x + 0.5) * by - 0.5, (y + 0.5) * by - 0.5, c);
  hard_picture_take (&shot->picture, new);
  shot->mm_per_px *= by;
}

void
hard_resized_up (HardShot *shot)
{
  resize (shot, &(Sizes){ hard_between (shot, 1.0, 0.5), FALSE });
}

void
hard_resized_down (HardShot *shot)
{
  resize (shot, &(Sizes){ hard_between (shot, 1.0, 4.0), FALSE });
}

void
hard_resized_nearest (HardShot *shot)
{
  const double by = hard_between (shot, 1.0, 3.0);
  resize (shot, &(Sizes){ scene_rng_next (&shot->rng) % 2 == 0 ? by : 1.0 / sqrt (by), TRUE });
}

/* ---- Turns, mirrors, crops
 * -------------------------------------------------------------------------- */

static void
turn_once (HardShot *shot)
{
  const HardPicture *old = &shot->picture;
  HardPicture turned = hard_picture_new (old->height, old->width, old->channels);
  for (guint y = 0; y < turned.height; y++)
    for (guint x = 0; x < turned.width; x++)
      for (guint c = 0; c < old->channels; c++)
        *hard_sample (&turned, (int)x, (int)y, c) =
          *hard_sample (old, (int)y, (int)(turned.width - 1 - x), c);
  hard_picture_take (&shot->picture, turned);
}

/* The answer is the same whichever way the camera was held. */
void
hard_quarter_turns (HardShot *shot)
{
  const guint n = (guint)lround (5.0 * shot->strength) % 4;
  for (guint i = 0; i < n; i++)
    turn_once (shot);
}

static void
swap_truth (HardShot *shot, const char *one, const char *other)
{
  const json_t *a = json_object_get (shot->truth, one), *b = json_object_get (shot->truth, other);
  if (a == NULL || b == NULL)
    return;
  const double first = json_number_value (a), second = json_number_value (b);
  hard_set_truth (shot, one, second);
  hard_set_truth (shot, other, first);
}

static void
negate_truth (HardShot *shot, const char *name)
{
  const json_t *value = json_object_get (shot->truth, name);
  if (value != NULL)
    hard_set_truth (shot, name, -json_number_value (value));
}

static void
other_hand_on_card (HardShot *shot)
{
  const gboolean left = strstr (shot->card->str, "hand = left") != NULL;
  g_string_replace (shot->card, left ? "hand = left" : "hand = right",
                    left ? "hand = right" : "hand = left", 1);
}

void
hard_mirrored (HardShot *shot)
{
  static const char *const pairs[][2] = {
    { "half_angle_a_deg", "half_angle_b_deg" },
    { "lip_length_a_mm", "lip_length_b_mm" },
    { "corner_wear_a_mm", "corner_wear_b_mm" },
    { "lip_straightness_a_mm", "lip_straightness_b_mm" },
    { "chip_depth_a_mm", "chip_depth_b_mm" },
    { "side_clearance_left_deg", "side_clearance_right_deg" },
    { "corner_radius_left_mm", "corner_radius_right_mm" },
  };
  static const char *const signs[] = { "half_angle_difference_deg", "lip_length_difference_mm",
                                       "lip_height_difference_mm", "point_offset_mm",
                                       "view_turn_deg" };
  HardPicture *p = &shot->picture;
  for (guint y = 0; y < p->height; y++)
    for (guint x = 0; x < p->width / 2; x++)
      for (guint c = 0; c < p->channels; c++)
      {
        float *left = hard_sample (p, (int)x, (int)y, c);
        float *right = hard_sample (p, (int)(p->width - 1 - x), (int)y, c);
        const float kept = *left;
        *left = *right;
        *right = kept;
      }
  for (gsize i = 0; i < G_N_ELEMENTS (pairs); i++)
    swap_truth (shot, pairs[i][0], pairs[i][1]);
  for (gsize i = 0; i < G_N_ELEMENTS (signs); i++)
    negate_truth (shot, signs[i]);
  other_hand_on_card (shot);
}

/* Up to a third of the width and of the height is cut off, unevenly. */
void
hard_cropped (HardShot *shot)
{
  const double most = 0.35 * shot->strength;
  const double x = scene_rng_uniform (&shot->rng, 0.0, 1.0);
  const double y = scene_rng_uniform (&shot->rng, 0.0, 1.0);
  const guint w = shot->picture.width, h = shot->picture.height;
  crop (shot, (guint)(most * x * w), (guint)(most * y * h), (guint)((1.0 - most) * w),
        (guint)((1.0 - most) * h));
}

/* ---- Formats
 * ------------------------------------------------------------------------------------------ */

static void
write_u32 (guint8 *to, guint32 number)
{
  for (int i = 0; i < 4; i++)
    to[i] = (guint8)(number >> (8 * i));
}

/* Bottom up, blue first, 24 bits. */
static gboolean
write_bmp (const HardShot *shot, const SceneImage *image, const char *path)
{
  (void)shot;
  const gsize stride = (3 * (gsize)image->width + 3) / 4 * 4, size = 54 + stride * image->height;
  g_autofree guint8 *file = g_malloc0 (size);
  memcpy (file, "BM", 2);
  write_u32 (file + 2, (guint32)size);
  write_u32 (file + 10, 54);
  write_u32 (file + 14, 40);
  write_u32 (file + 18, image->width);
  write_u32 (file + 22, image->height);
  write_u32 (file + 26, 1 | 24 << 16);
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
      for (guint c = 0; c < 3; c++)
        file[54 + (image->height - 1 - y) * stride + 3 * x + c] =
          image->data[((gsize)y * image->width + x) * image->channels +
                      (image->channels == 3 ? 2 - c : 0)];
  return g_file_set_contents (path, (const char *)file, (gssize)size, NULL);
}

static gboolean
write_tiff (const HardShot *shot, const SceneImage *image, const char *path)
{
  const guint compressions[] = { COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE };
  TIFF *tiff = TIFFOpen (path, shot->seed % 2 == 0 ? "wl" : "wb");
  if (tiff == NULL)
    return FALSE;
  TIFFSetField (tiff, TIFFTAG_IMAGEWIDTH, image->width);
  TIFFSetField (tiff, TIFFTAG_IMAGELENGTH, image->height);
  TIFFSetField (tiff, TIFFTAG_BITSPERSAMPLE, image->bits);
  TIFFSetField (tiff, TIFFTAG_SAMPLESPERPIXEL, image->channels);
  TIFFSetField (tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
  TIFFSetField (tiff, TIFFTAG_PHOTOMETRIC,
                image->channels == 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK);
  TIFFSetField (tiff, TIFFTAG_COMPRESSION, compressions[shot->seed / 2 % 3]);
  TIFFSetField (tiff, TIFFTAG_ROWSPERSTRIP, 16);
  const gsize stride = (gsize)image->width * image->channels * (image->bits / 8);
  gboolean written = TRUE;
  for (guint y = 0; y < image->height; y++)
    written = written && TIFFWriteScanline (tiff, image->data + y * stride, y, 0) == 1;
  TIFFClose (tiff);
  return written;
}

static gboolean
write_interlaced (const HardShot *shot, const SceneImage *image, const char *path)
{
  (void)shot;
  FILE *file = fopen (path, "wb");
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png_create_info_struct (png);
  if (file == NULL || setjmp (png_jmpbuf (png)))
    return FALSE;
  g_autofree png_bytep *rows = g_new (png_bytep, image->height);
  for (guint y = 0; y < image->height; y++)
    rows[y] = image->data + (gsize)y * image->width * image->channels;
  png_init_io (png, file);
  png_set_compression_level (png, 2);
  png_set_IHDR (png, info, image->width, image->height, 8,
                image->channels == 3 ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY,
                PNG_INTERLACE_ADAM7, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_write_info (png, info);
  png_write_image (png, rows);
  png_write_end (png, info);
  png_destroy_write_struct (&png, &info);
  return fclose (file) == 0;
}

/* None of these changes what is seen; with JPEG it changes a little. */
void
hard_every_format (HardShot *shot)
{
  as_srgb (shot);
  shot->bits = 8;
  switch ((int)lround (5.0 * shot->strength))
  {
  case 0:
    break;
  case 1:
    shot->bits = 16;
    break;
  case 2:
    shot->jpeg_quality = 95;
    break;
  case 3:
    shot->write = write_tiff;
    shot->extension = "tif";
    break;
  case 4:
    shot->write = write_bmp;
    shot->extension = "bmp";
    break;
  default:
    shot->write = write_interlaced;
    break;
  }
}
