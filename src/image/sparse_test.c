#include "base/testing.h"

#include <glib/gstdio.h>
#include <stdlib.h>

#include <jpeglib.h>
#include <png.h>

#include "image/evened.h"
#include "image/light.h"
#include "image/png_rows.h"
#include "image/smoothed.h"

/* More than is kept whole in any case, and no whole tiles. */
enum
{
  WIDTH = 1597,
  HEIGHT = 1583
};

#define SEED 11

typedef struct
{
  gboolean progressive, colour;
  guint orientation; /* 0: none */
  guint width, height;
  guint png_bits; /* 0: JPEG */
  gboolean interlaced;
} Spec;

static const Spec plain_spec = { .width = WIDTH, .height = HEIGHT };

/* A dark bar from the lower border, and a speck, before a noisy ground that falls off. */
static guint8
grey_at (GRand *random, guint x, guint y)
{
  const gboolean bar = x > 500 && x < 700 && y > 400;
  const gboolean speck = x > 100 && x < 105 && y > 700 && y < 705;
  const double ground = 200 - 20.0 * x / WIDTH;
  return (guint8)((bar || speck ? 20 : ground) + 6 * (g_rand_double (random) - 0.5));
}

static void
write_orientation (struct jpeg_compress_struct *jpeg, guint orientation)
{
  guint8 exif[] = { 'E',  'x', 'i', 'f', 0, 0, 'I', 'I', 42, 0, 8, 0, 0, 0, 1, 0,
                    0x12, 1,   3,   0,   1, 0, 0,   0,   0,  0, 0, 0, 0, 0, 0, 0 };
  exif[24] = (guint8)orientation;
  if (orientation != 0)
    jpeg_write_marker (jpeg, JPEG_APP0 + 1, exif, sizeof exif);
}

static void
write_rows (struct jpeg_compress_struct *jpeg, const Spec *spec)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  const guint channels = spec->colour ? 3 : 1;
  g_autofree guint8 *row = g_malloc ((gsize)channels * spec->width);
  while (jpeg->next_scanline < jpeg->image_height)
  {
    for (guint x = 0; x < spec->width; x++)
      memset (row + (gsize)channels * x, grey_at (random, x, jpeg->next_scanline), channels);
    JSAMPROW rows = row;
    jpeg_write_scanlines (jpeg, &rows, 1);
  }
}

/* Free with g_bytes_unref(). */
static GBytes *
write_jpeg (const Spec *spec)
{
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr errors;
  unsigned char *bytes = NULL;
  unsigned long n_bytes = 0;
  jpeg.err = jpeg_std_error (&errors);
  jpeg_create_compress (&jpeg);
  jpeg_mem_dest (&jpeg, &bytes, &n_bytes);
  jpeg.image_width = spec->width;
  jpeg.image_height = spec->height;
  jpeg.input_components = spec->colour ? 3 : 1;
  jpeg.in_color_space = spec->colour ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults (&jpeg);
  jpeg_set_quality (&jpeg, 90, TRUE);
  if (spec->progressive)
    jpeg_simple_progression (&jpeg);
  jpeg_start_compress (&jpeg, TRUE);
  write_orientation (&jpeg, spec->orientation);
  write_rows (&jpeg, spec);
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);
  return g_bytes_new_with_free_func (bytes, n_bytes, free, bytes);
}

static void
append (png_structp png, png_bytep bytes, size_t n)
{
  g_byte_array_append (png_get_io_ptr (png), bytes, (guint)n);
}

static void
write_png_rows (png_structp png, const Spec *spec)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  const guint size = (spec->colour ? 3 : 1) * spec->png_bits / 8;
  g_autofree guint8 *row = g_malloc ((gsize)size * spec->width);
  for (guint y = 0; y < spec->height; y++)
  {
    for (guint x = 0; x < spec->width; x++)
    {
      const guint8 grey = grey_at (random, x, y);
      for (guint k = 0; k < size; k++)
        row[size * x + k] = (guint8)(grey + 5 * k);
    }
    png_write_row (png, row);
  }
}

/* Likewise. */
static GBytes *
write_png (const Spec *spec)
{
  GByteArray *file = g_byte_array_new ();
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png_create_info_struct (png);
  png_set_write_fn (png, file, append, NULL);
  png_set_IHDR (png, info, spec->width, spec->height, (int)spec->png_bits,
                spec->colour ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY,
                spec->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
                PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_write_info (png, info);
  for (int pass = 0; pass < png_set_interlace_handling (png); pass++)
    write_png_rows (png, spec);
  png_write_end (png, info);
  png_destroy_write_struct (&png, &info);
  return g_byte_array_free_to_bytes (file);
}

static WsImage *
load (GBytes *file, WsImageFlags flags)
{
  gsize n_bytes;
  const char *bytes = g_bytes_get_data (file, &n_bytes);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture", NULL);
  assert_true (g_file_set_contents (path, bytes, (gssize)n_bytes, NULL));
  WsImage *image = ws_image_load (path, NULL, flags, NULL);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (image);
  return image;
}

static WsImage *
load_as (const Spec *spec, WsImageFlags flags)
{
  g_autoptr (GBytes) file = spec->png_bits > 0 ? write_png (spec) : write_jpeg (spec);
  return load (file, flags);
}

static guint
tiles_kept (const WsImage *image)
{
  const WsSparse *sparse = image->sparse;
  guint n = 0;
  for (guint i = 0; i < sparse->across * sparse->down; i++)
    n += sparse->tile[i] != NULL ? 1 : 0;
  return n;
}

static void
check_all_pixels (const WsImage *image, const WsImage *plain)
{
  g_autofree guint16 *room = g_new (guint16, image->width);
  guint differ = 0;
  for (guint y = 0; y < plain->height; y++)
    for (guint x = 0; x < plain->width; x++)
    {
      const gsize i = (gsize)y * plain->width + x;
      differ += wsi_image_light_at (image, x, y) != plain->linear[i] ? 1 : 0;
      differ += wsi_image_light (image, i) != plain->linear[i] ? 1 : 0;
    }
  assert_int_equal (differ, 0);
  for (guint y = 0; y < plain->height; y += 7)
    assert_memory_equal (wsi_image_light_row (image, y, room),
                         plain->linear + (gsize)y * plain->width, 2 * (gsize)plain->width);
}

/* PNG is read in pieces with ISA-L alone. */
static gboolean
is_read (const Spec *spec)
{
  return spec->png_bits == 0 || wsi_png_rows_can ();
}

static void
pixels_are_the_same (void **state)
{
  (void)state;
  static const Spec specs[] = {
    { .width = WIDTH, .height = HEIGHT },
    { .width = WIDTH, .height = HEIGHT, .colour = TRUE },
    { .width = 2 * WIDTH + 1, .height = HEIGHT / 2 }, /* ends within a tile's first row */
    { .width = WIDTH, .height = HEIGHT, .png_bits = 8 },
    { .width = WIDTH, .height = HEIGHT, .png_bits = 8, .colour = TRUE },
    { .width = WIDTH, .height = HEIGHT, .png_bits = 16 },
    { .width = 2 * WIDTH + 1, .height = HEIGHT / 2, .png_bits = 16, .colour = TRUE },
  };
  for (guint i = 0; i < G_N_ELEMENTS (specs) && is_read (&specs[i]); i++)
  {
    g_autoptr (WsImage) plain = load_as (&specs[i], WS_IMAGE_GREY);
    g_autoptr (WsImage) sparse = load_as (&specs[i], WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
    assert_non_null (sparse->sparse);
    assert_null (sparse->linear);
    assert_null (sparse->coded);
    assert_string_equal (sparse->sha256, plain->sha256);
    assert_int_equal (sparse->file != NULL, specs[i].colour && specs[i].png_bits == 0);
    assert_true (sparse->has_colour == plain->has_colour && sparse->bits == plain->bits &&
                 sparse->tone == plain->tone && sparse->lossy == plain->lossy);
    assert_memory_equal (sparse->codes, plain->codes, sizeof plain->codes);
    assert_true (tiles_kept (sparse) < sparse->sparse->across * sparse->sparse->down / 3);
    check_all_pixels (sparse, plain);
    assert_int_equal (tiles_kept (sparse), sparse->sparse->across * sparse->sparse->down);
    assert_false (wsi_image_is_lost (sparse));
  }
}

/* All within so many px of the bar's edges, and few others. */
static void
edges_are_kept (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = load_as (&plain_spec, WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
  const guint before = tiles_kept (image);
  for (guint y = 400 - WSI_TILE; y < HEIGHT; y++)
    for (guint x = 500 - WSI_TILE; x <= 700 + WSI_TILE; x++)
      if (y < 400 + WSI_TILE || x < 500 + WSI_TILE || x > 700 - WSI_TILE)
        wsi_image_light_at (image, x, y);
  for (guint y = 700 - WSI_TILE; y < 705 + WSI_TILE; y++)
    wsi_image_light_at (image, 103, y);
  assert_int_equal (tiles_kept (image), before);
  wsi_image_light_at (image, 301, 302);
  assert_true (tiles_kept (image) > before);
}

static void
ranges_hold_what_is_left_out (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = load_as (&plain_spec, WS_IMAGE_GREY);
  g_autoptr (WsImage) image = load_as (&plain_spec, WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
  const WsSparse *sparse = image->sparse;
  for (guint line = 0; line < sparse->down; line++)
    for (guint column = 0; column < sparse->across; column++)
    {
      WsLightRange seen = { G_MAXUINT16, 0 }, told;
      const guint right = MIN ((column + 1) * WSI_TILE, WIDTH);
      for (guint y = line * WSI_TILE; y < MIN ((line + 1) * WSI_TILE, HEIGHT); y++)
        for (guint x = column * WSI_TILE; x < right; x++)
        {
          seen.least = MIN (seen.least, plain->linear[(gsize)y * WIDTH + x]);
          seen.most = MAX (seen.most, plain->linear[(gsize)y * WIDTH + x]);
        }
      const gboolean left_out = wsi_image_light_between (image, right - 1, line * WSI_TILE, &told);
      assert_int_equal (left_out, sparse->tile[line * sparse->across + column] == NULL);
      assert_int_equal (told.least, seen.least);
      assert_int_equal (told.most, seen.most);
    }
  WsLightRange none;
  assert_false (wsi_image_light_between (plain, 3, 3, &none));
}

static void
boxes_are_the_same (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = load_as (&plain_spec, WS_IMAGE_GREY);
  g_autoptr (WsImage) image = load_as (&plain_spec, WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
  g_auto (WsBoxes) boxes = { 0 };
  wsi_boxes_init (&boxes, WIDTH, HEIGHT);
  assert_int_equal (boxes.factor, 3);
  assert_int_equal (boxes.width, WIDTH / 3);
  for (guint y = 0; y < HEIGHT; y++)
    wsi_boxes_add (&boxes, y, plain->linear + (gsize)y * WIDTH);
  const gsize n = (gsize)boxes.width * boxes.height;
  assert_memory_equal (boxes.sums, image->sparse->boxes.sums, n * sizeof *boxes.sums);
  /* Of three rows the first and the last. */
  guint sum = 0;
  for (guint k = 0; k < 3; k++)
    sum +=
      (guint)plain->linear[(gsize)9 * WIDTH + 12 + k] + plain->linear[(gsize)11 * WIDTH + 12 + k];
  assert_int_equal (boxes.sums[3 * boxes.width + 4], sum);
}

/* What looks at all of a picture finds what it looks at. */
static void
nothing_is_decoded_again_for_light_and_noise (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = load_as (&plain_spec, WS_IMAGE_GREY);
  g_autoptr (WsImage) image = load_as (&plain_spec, WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
  const guint before = tiles_kept (image);
  double clipped;
  assert_null (wsi_image_evened (plain, &clipped));
  assert_null (wsi_image_evened (image, &clipped));
  assert_near (wsi_image_noise_between (image), wsi_image_noise_between (plain), 0);
  for (guint y = 0; y < HEIGHT; y += 6)
    for (guint x = 0; x < WIDTH; x += 6)
      assert_int_equal (wsi_image_light_at (image, x, y), plain->linear[(gsize)y * WIDTH + x]);
  assert_int_equal (tiles_kept (image), before);
}

static void
others_are_kept_whole (void **state)
{
  (void)state;
  static const Spec specs[] = {
    { .width = WIDTH, .height = HEIGHT, .progressive = TRUE },
    { .width = WIDTH, .height = HEIGHT, .orientation = 6 },
    { .width = WIDTH, .height = 600 },
    { .width = WIDTH, .height = 600, .png_bits = 8 },
    { .width = WIDTH, .height = HEIGHT, .png_bits = 8, .interlaced = TRUE },
  };
  for (guint i = 0; i < G_N_ELEMENTS (specs); i++)
  {
    g_autoptr (WsImage) image = load_as (&specs[i], WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
    assert_null (image->sparse);
    assert_int_equal (image->coded != NULL, !specs[i].interlaced);
  }
  static const WsImageFlags flags[] = { WSI_IMAGE_SPARSE, WS_IMAGE_CODED,
                                        WS_IMAGE_CODED | WS_IMAGE_COLOUR | WSI_IMAGE_SPARSE };
  for (guint i = 0; i < G_N_ELEMENTS (flags); i++)
  {
    g_autoptr (WsImage) image = load_as (&plain_spec, flags[i]);
    assert_null (image->sparse);
  }
  g_autoptr (GBytes) file = write_jpeg (&plain_spec);
  gsize n_bytes;
  const guint8 *bytes = g_bytes_get_data (file, &n_bytes);
  g_autoptr (WsImage) decoded =
    ws_image_decode (bytes, n_bytes, "bytes", NULL, WS_IMAGE_CODED | WSI_IMAGE_SPARSE, NULL);
  assert_null (decoded->sparse);
}

static guint8 *
no_pixels (gpointer data)
{
  (void)data;
  return NULL;
}

static void
what_is_lost_is_told (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = load_as (&plain_spec, WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
  wsi_sparse_keep_file (image->sparse, no_pixels, NULL, NULL);
  wsi_image_light_at (image, 503, 402);
  assert_false (wsi_image_is_lost (image));
  wsi_image_light_at (image, 301, 302);
  assert_true (wsi_image_is_lost (image));
}

/* A file that is written to while its picture is measured isn't what was hashed. */
static void
a_changed_file_is_lost (void **state)
{
  (void)state;
  if (!wsi_png_rows_can ())
    skip ();
  const Spec spec = { .width = WIDTH, .height = HEIGHT, .png_bits = 8 };
  g_autoptr (GBytes) file = write_png (&spec);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture", NULL);
  const char *bytes = g_bytes_get_data (file, NULL);
  assert_true (g_file_set_contents (path, bytes, (gssize)g_bytes_get_size (file), NULL));
  g_autoptr (WsImage) image = ws_image_load (path, NULL, WS_IMAGE_CODED | WSI_IMAGE_SPARSE, NULL);
  FILE *stream = g_fopen (path, "r+");
  assert_true (fseek (stream, 200, SEEK_SET) == 0 && fputc (bytes[200] ^ 1, stream) != EOF);
  fclose (stream);
  wsi_image_light_at (image, 301, 302);
  assert_true (wsi_image_is_lost (image));
  g_remove (path);
  g_rmdir (folder);
}

/* What is wrong with it is said as if it had been read at once. */
static void
damage_is_told (void **state)
{
  (void)state;
  const Spec spec = { .width = WIDTH, .height = HEIGHT, .png_bits = 8 };
  g_autoptr (GBytes) file = write_png (&spec);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture", NULL);
  g_autoptr (GError) error = NULL;
  assert_true (g_file_set_contents (path, g_bytes_get_data (file, NULL),
                                    (gssize)g_bytes_get_size (file) / 2, NULL));
  assert_null (ws_image_load (path, NULL, WS_IMAGE_CODED | WSI_IMAGE_SPARSE, &error));
  assert_contains (error->message, "damaged PNG");
  g_remove (path);
  g_rmdir (folder);
}

static void
colour_can_still_be_had (void **state)
{
  (void)state;
  static const Spec specs[] = {
    { .width = WIDTH, .height = HEIGHT, .colour = TRUE },
    { .width = WIDTH, .height = HEIGHT, .colour = TRUE, .png_bits = 8 },
  };
  for (guint i = 0; i < G_N_ELEMENTS (specs); i++)
  {
    g_autoptr (WsImage) image = load_as (&specs[i], WS_IMAGE_CODED | WSI_IMAGE_SPARSE);
    g_autoptr (WsImage) coloured = ws_image_in_colour (image);
    assert_non_null (coloured);
    assert_non_null (coloured->rgb);
    assert_non_null (coloured->linear);
  }
}

int
main (void)
{
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test (pixels_are_the_same),
    cmocka_unit_test (edges_are_kept),
    cmocka_unit_test (ranges_hold_what_is_left_out),
    cmocka_unit_test (boxes_are_the_same),
    cmocka_unit_test (nothing_is_decoded_again_for_light_and_noise),
    cmocka_unit_test (others_are_kept_whole),
    cmocka_unit_test (what_is_lost_is_told),
    cmocka_unit_test (a_changed_file_is_lost),
    cmocka_unit_test (damage_is_told),
    cmocka_unit_test (colour_can_still_be_had),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
