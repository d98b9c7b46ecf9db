/* Pictures and truth to files. */
#include "scene.h"

#include <math.h>
#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <zlib.h>

/* jpeglib.h needs stdio.h first. */
#include <jpeglib.h>

static void
tag_png (png_structp png, png_infop info, const SceneImage *image)
{
  if (image->encoding == SCENE_LINEAR)
    png_set_gAMA_fixed (png, info, PNG_FP_1);
  else if (image->tagged)
    png_set_sRGB_gAMA_and_cHRM (png, info, PNG_sRGB_INTENT_RELATIVE);
}

static gboolean
write_png (const SceneImage *image, FILE *file)
{
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png == NULL ? NULL : png_create_info_struct (png);
  if (info == NULL || setjmp (png_jmpbuf (png)))
  {
    png_destroy_write_struct (&png, &info);
    return FALSE;
  }
  png_init_io (png, file);
  /* Noise has no strings to be found again: no smaller file for three times the time. */
  png_set_compression_level (png, 1);
  png_set_compression_strategy (png, Z_RLE);
  png_set_filter (png, PNG_FILTER_TYPE_BASE, PNG_FILTER_SUB);
  png_set_IHDR (png, info, image->width, image->height, (int)image->bits,
                image->channels == 3 ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
                PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  tag_png (png, info, image);
  png_write_info (png, info);
  if (image->bits == 16 && G_BYTE_ORDER == G_LITTLE_ENDIAN)
    png_set_swap (png);
  const gsize stride = (gsize)image->width * image->channels * (image->bits / 8);
  for (guint j = 0; j < image->height; j++)
    png_write_row (png, image->data + j * stride);
  png_write_end (png, info);
  png_destroy_write_struct (&png, &info);
  return TRUE;
}

static gboolean
write_jpeg (const SceneImage *image, FILE *file, int quality)
{
  if (image->bits != 8)
    return FALSE;
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr errors;
  jpeg.err = jpeg_std_error (&errors);
  jpeg_create_compress (&jpeg);
  jpeg_stdio_dest (&jpeg, file);
  jpeg.image_width = image->width;
  jpeg.image_height = image->height;
  jpeg.input_components = (int)image->channels;
  jpeg.in_color_space = image->channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults (&jpeg);
  jpeg_set_quality (&jpeg, quality, TRUE);
  jpeg_start_compress (&jpeg, TRUE);
  const gsize stride = (gsize)image->width * image->channels;
  for (guint j = 0; j < image->height; j++)
  {
    JSAMPROW row = image->data + j * stride;
    jpeg_write_scanlines (&jpeg, &row, 1);
  }
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);
  return TRUE;
}

gboolean
scene_image_save (const SceneImage *image, const char *path, int jpeg_quality)
{
  FILE *file = fopen (path, "wb");
  if (file == NULL)
    return FALSE;
  const gboolean jpeg = g_str_has_suffix (path, ".jpg") || g_str_has_suffix (path, ".jpeg");
  const gboolean written = jpeg ? write_jpeg (image, file, jpeg_quality) : write_png (image, file);
  return fclose (file) == 0 && written;
}

static void
put (GString *json, const char *name, double value)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (json, "\"%s\": %s, ", name, g_ascii_dtostr (text, sizeof text, value));
}

/* As `camera` in truth; nothing of a telecentric lens without distortion, whose scale is all. */
static void
put_lens (GString *json, const SceneCamera *camera)
{
  if (!(camera->distance_mm > 0.0 || fabs (camera->k1) > 0.0 || fabs (camera->shrink_px) > 0.0))
    return;
  g_string_append_printf (json, "\"camera\": {\"width\": %u, \"height\": %u, ", camera->width,
                          camera->height);
  put (json, "mm_per_px", camera->mm_per_px);
  put (json, "distance_mm", camera->distance_mm);
  if (camera->distance_mm > 0.0)
    put (json, "f_px", camera->distance_mm / camera->mm_per_px);
  put (json, "cx", 0.5 * (camera->width - 1.0) + camera->centre_x);
  put (json, "cy", 0.5 * (camera->height - 1.0) + camera->centre_y);
  put (json, "k1", camera->k1);
  put (json, "k2", camera->k2);
  put (json, "edge_shift_px", camera->shrink_px);
  g_string_truncate (json, json->len - 2);
  g_string_append (json, "}, ");
}

char *
scene_board_json (const char *file, const SceneBoard *board, const SceneCamera *camera)
{
  GString *json = g_string_new (NULL);
  g_string_append_printf (json, "{\"file\": \"%s\", \"columns\": %u, \"rows\": %u, ", file,
                          board->columns, board->rows);
  put (json, "square_mm", board->square);
  put_lens (json, camera);
  g_string_append (json, "\"corners_px\": [");
  g_autofree ScenePoint *corners = scene_board_corners (board, camera);
  for (guint i = 0; i < board->columns * board->rows; i++)
  {
    char x[G_ASCII_DTOSTR_BUF_SIZE], y[G_ASCII_DTOSTR_BUF_SIZE];
    g_ascii_formatd (x, sizeof x, "%.4f", corners[i].x);
    g_ascii_formatd (y, sizeof y, "%.4f", corners[i].y);
    g_string_append_printf (json, "%s[%s, %s]", i > 0 ? ", " : "", x, y);
  }
  g_string_append (json, "]}");
  return g_string_free (json, FALSE);
}

char *
scene_truth_json (const char *file, const char *mode, guint64 seed, const SceneDrill *drill,
                  const SceneCamera *camera, const SceneTruth *truth)
{
  GString *json = g_string_new (NULL);
  g_string_append_printf (json, "{\"file\": \"%s\", \"view\": \"drill-side\", \"mode\": \"%s\", ",
                          file, mode);
  g_string_append_printf (json, "\"seed\": %" G_GUINT64_FORMAT ", \"hand\": \"%s\", ", seed,
                          drill->left_hand ? "left" : "right");
  put (json, "mm_per_px", camera->mm_per_px);
  put (json, "roll_deg", camera->roll_deg);
  put (json, "blur_px", camera->blur_px);
  put (json, "helix_deg", drill->helix_deg);
  put (json, "web_mm", drill->web);
  put (json, "tilt_deg", camera->tilt_deg);
  put_lens (json, camera);
  g_string_append (json, "\"truth\": {");
  put (json, "point_angle_deg", truth->point_angle_deg);
  put (json, "half_angle_a_deg", truth->half_angle_a_deg);
  put (json, "half_angle_b_deg", truth->half_angle_b_deg);
  put (json, "half_angle_difference_deg", truth->half_angle_difference_deg);
  put (json, "lip_length_a_mm", truth->lip_length_a_mm);
  put (json, "lip_length_b_mm", truth->lip_length_b_mm);
  put (json, "lip_length_difference_mm", truth->lip_length_difference_mm);
  put (json, "lip_height_difference_mm", truth->lip_height_difference_mm);
  put (json, "point_offset_mm", truth->point_offset_mm);
  put (json, "diameter_mm", truth->diameter_mm);
  put (json, "point_length_mm", truth->point_length_mm);
  put (json, "corner_wear_a_mm", truth->corner_wear_a_mm);
  put (json, "corner_wear_b_mm", truth->corner_wear_b_mm);
  put (json, "lip_straightness_a_mm", truth->lip_straightness_a_mm);
  put (json, "lip_straightness_b_mm", truth->lip_straightness_b_mm);
  put (json, "lip_bow_mm", truth->lip_bow_mm);
  put (json, "chip_depth_a_mm", truth->chip_depth_a_mm);
  put (json, "chip_depth_b_mm", truth->chip_depth_b_mm);
  put (json, "burr_height_a_mm", truth->burr_height_a_mm);
  put (json, "burr_height_b_mm", truth->burr_height_b_mm);
  put (json, "burr_length_a_mm", truth->burr_length_a_mm);
  put (json, "burr_length_b_mm", truth->burr_length_b_mm);
  put (json, "chisel_flat_mm", truth->chisel_flat_mm);
  put (json, "view_turn_deg", truth->view_turn_deg);
  g_string_truncate (json, json->len - 2);
  g_string_append (json, "}}");
  return g_string_free (json, FALSE);
}
