#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "image/jpeg_block.h"
#include "image/jpeg_rows.h"

/* What libjpeg writes, and then reads without a warning, is the truth here. */

typedef struct
{
  guint width, height;
  gboolean colour;
  int across, down; /* samples of brightness for one of colour */
  int quality;
  guint restart;
  gboolean own_codes; /* made for the picture */
  gboolean progressive;
} Spec;

static guint8
code_at (GRand *random, guint x, guint y)
{
  const guint ramp = (3 * x + 2 * y) % 256, dark = (x / 20 + y / 12) % 3 == 0 ? 4 : ramp;
  const int code = (int)dark + g_rand_int_range (random, -6, 7);
  return (guint8)CLAMP (code, 0, 255);
}

static void
write_rows (struct jpeg_compress_struct *jpeg)
{
  const guint n = (guint)jpeg->input_components;
  g_autofree guint8 *row = g_malloc ((gsize)jpeg->image_width * n);
  GRand *random = g_rand_new_with_seed (7);
  for (guint y = 0; y < jpeg->image_height; y++)
  {
    for (guint i = 0; i < jpeg->image_width * n; i++)
      row[i] = code_at (random, i / n + 50 * (i % n), y);
    jpeg_write_scanlines (jpeg, &row, 1);
  }
  g_rand_free (random);
}

static GByteArray *
encode (const Spec *spec)
{
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr manager;
  unsigned char *bytes = NULL;
  unsigned long n_bytes = 0;
  jpeg.err = jpeg_std_error (&manager);
  jpeg_create_compress (&jpeg);
  jpeg_mem_dest (&jpeg, &bytes, &n_bytes);
  jpeg.image_width = spec->width;
  jpeg.image_height = spec->height;
  jpeg.input_components = spec->colour ? 3 : 1;
  jpeg.in_color_space = spec->colour ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults (&jpeg);
  jpeg_set_quality (&jpeg, spec->quality, TRUE);
  jpeg.comp_info[0].h_samp_factor = spec->across;
  jpeg.comp_info[0].v_samp_factor = spec->down;
  jpeg.restart_interval = spec->restart;
  jpeg.optimize_coding = spec->own_codes;
  if (spec->progressive)
    jpeg_simple_progression (&jpeg);
  jpeg_start_compress (&jpeg, TRUE);
  write_rows (&jpeg);
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);
  GByteArray *file = g_byte_array_new ();
  g_byte_array_append (file, bytes, (guint)n_bytes);
  free (bytes);
  return file;
}

typedef struct
{
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr manager;
  jmp_buf escape;
  guint8 *strip;
  gsize stride;
  GByteArray *pixels;
  guint next;
} Picture;

static G_NORETURN void
give_up (j_common_ptr jpeg)
{
  Picture *picture = jpeg->client_data;
  longjmp (picture->escape, 1);
}

static void
hear_message (j_common_ptr jpeg, int level)
{
  if (level < 0)
    give_up (jpeg);
}

static guint8 *
place (gpointer data, guint y)
{
  Picture *picture = data;
  assert_int_equal (picture->next, y);
  return picture->strip;
}

static void
take (gpointer data, guint y)
{
  Picture *picture = data;
  const guint height =
    8U * (guint)(picture->jpeg.comps_in_scan > 1 ? picture->jpeg.comp_info[0].v_samp_factor : 1);
  assert_int_equal (picture->next++, y);
  g_byte_array_append (picture->pixels, picture->strip + y % height * picture->stride,
                       picture->jpeg.image_width);
}

static gboolean
read_by_library (Picture *picture)
{
  struct jpeg_decompress_struct *jpeg = &picture->jpeg;
  jpeg_start_decompress (jpeg);
  while (jpeg->output_scanline < jpeg->output_height)
  {
    jpeg_read_scanlines (jpeg, &picture->strip, 1);
    g_byte_array_append (picture->pixels, picture->strip, jpeg->image_width);
  }
  return jpeg_finish_decompress (jpeg);
}

static gboolean
read_guarded (Picture *picture, const guint8 *bytes, gsize n_bytes, gboolean by_library)
{
  struct jpeg_decompress_struct *jpeg = &picture->jpeg;
  if (setjmp (picture->escape))
    return FALSE;
  jpeg_create_decompress (jpeg);
  jpeg_mem_src (jpeg, bytes, n_bytes);
  jpeg_read_header (jpeg, TRUE);
  if (jpeg->image_width > 200 || jpeg->image_height > 200 ||
      (jpeg->jpeg_color_space != JCS_GRAYSCALE && jpeg->jpeg_color_space != JCS_YCbCr))
    return FALSE;
  jpeg->out_color_space = JCS_GRAYSCALE;
  picture->stride = wsi_jpeg_rows_stride (jpeg->image_width);
  /* No byte more than there has to be. */
  picture->strip = g_malloc (WSI_JPEG_ROWS * picture->stride);
  const WsJpegRows rows = { picture->stride, place, take, picture };
  return by_library ? read_by_library (picture) : wsi_jpeg_rows_read (jpeg, &rows);
}

/* NULL where it isn't read. */
static GByteArray *
decode (const guint8 *bytes, gsize n_bytes, gboolean by_library)
{
  Picture *picture = g_new0 (Picture, 1);
  picture->jpeg.err = jpeg_std_error (&picture->manager);
  picture->jpeg.client_data = picture;
  picture->manager.error_exit = give_up;
  picture->manager.emit_message = hear_message;
  picture->pixels = g_byte_array_new ();
  const gboolean is_read = read_guarded (picture, bytes, n_bytes, by_library);
  jpeg_destroy_decompress (&picture->jpeg);
  GByteArray *pixels = is_read ? picture->pixels : NULL;
  if (!is_read)
    g_byte_array_unref (picture->pixels);
  g_free (picture->strip);
  g_free (picture);
  return pixels;
}

/* What isn't read as the common kind may be one all the same, never the other way round. */
static gboolean
check_same (const guint8 *bytes, gsize n_bytes)
{
  g_autoptr (GByteArray) rows = decode (bytes, n_bytes, FALSE);
  if (rows == NULL)
    return FALSE;
  g_autoptr (GByteArray) library = decode (bytes, n_bytes, TRUE);
  assert_non_null (library);
  assert_int_equal (rows->len, library->len);
  assert_memory_equal (rows->data, library->data, rows->len);
  return TRUE;
}

static void
pixels_are_those_of_libjpeg (void **state)
{
  static const Spec specs[] = {
    { .width = 120, .height = 80, .across = 1, .down = 1, .quality = 92 },
    { .width = 121, .height = 83, .across = 1, .down = 1, .quality = 30, .own_codes = TRUE },
    { .width = 7, .height = 3, .across = 1, .down = 1, .quality = 100 },
    { .width = 97, .height = 41, .across = 2, .down = 2, .quality = 75, .restart = 5 },
    { .width = 120, .height = 80, .colour = TRUE, .across = 1, .down = 1, .quality = 92 },
    { .width = 119, .height = 77, .colour = TRUE, .across = 2, .down = 1, .quality = 98 },
    { .width = 113, .height = 70, .colour = TRUE, .across = 1, .down = 2, .quality = 85 },
    { .width = 130, .height = 49, .colour = TRUE, .across = 2, .down = 2, .quality = 60 },
    { .width = 99, .height = 66, .colour = TRUE, .across = 4, .down = 1, .quality = 90 },
    { .width = 150,
      .height = 150,
      .colour = TRUE,
      .across = 2,
      .down = 2,
      .quality = 95,
      .restart = 1 },
    { .width = 90,
      .height = 90,
      .colour = TRUE,
      .across = 2,
      .down = 2,
      .quality = 50,
      .own_codes = TRUE,
      .restart = 11 },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (specs); i++)
  {
    g_autoptr (GByteArray) file = encode (&specs[i]);
    assert_true (check_same (file->data, file->len));
  }
}

static void
other_kinds_are_left_alone (void **state)
{
  static const Spec specs[] = {
    { .width = 60, .height = 40, .across = 1, .down = 1, .quality = 92, .progressive = TRUE },
    { .width = 60, .height = 40, .colour = TRUE, .across = 3, .down = 1, .quality = 92 },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (specs); i++)
  {
    g_autoptr (GByteArray) file = encode (&specs[i]);
    assert_false (check_same (file->data, file->len));
    g_autoptr (GByteArray) library = decode (file->data, file->len, TRUE);
    assert_non_null (library);
  }
}

static const Spec small[] = {
  { .width = 40, .height = 24, .across = 1, .down = 1, .quality = 95, .restart = 4 },
  { .width = 40, .height = 24, .colour = TRUE, .across = 2, .down = 2, .quality = 80 },
};

/* Each in memory of just its length. */
static void
cut_files_are_not_read (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (small); i++)
  {
    g_autoptr (GByteArray) file = encode (&small[i]);
    for (guint n = 0; n < file->len; n++)
    {
      g_autofree guint8 *cut = g_memdup2 (file->data, n);
      assert_false (check_same (cut, n));
    }
  }
}

/* JPEG has no check sums: a changed file may be read, to the same pixels. */
static void
changed_files_are_read_alike (void **state)
{
  guint read = 0, unread = 0;
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (small); i++)
  {
    g_autoptr (GByteArray) file = encode (&small[i]);
    for (guint k = 0; k < file->len; k++)
      for (guint bit = 0; bit < 8; bit++)
      {
        file->data[k] ^= (guint8)(1U << bit);
        if (check_same (file->data, file->len))
          read++;
        else
          unread++;
        file->data[k] ^= (guint8)(1U << bit);
      }
  }
  assert_true (read > 1000);
  assert_true (unread > 1000);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (pixels_are_those_of_libjpeg),
    cmocka_unit_test (other_kinds_are_left_alone),
    cmocka_unit_test (cut_files_are_not_read),
    cmocka_unit_test (changed_files_are_read_alike),
  };
  if (!wsi_jpeg_block_can ())
    return 77;
  return cmocka_run_group_tests (tests, NULL, NULL);
}
