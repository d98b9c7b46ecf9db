#include "base/testing.h"

#include <png.h>

#include "image/png_rows.h"

/* Odd, and more than is left to libpng, of noise. */
enum
{
  WIDTH = 301,
  HEIGHT = 307
};

typedef struct
{
  int type, bits;
  int filter; /* of PNG_FILTER_..., or all of them */
  gboolean text, time;
  guint idat; /* bytes a chunk; 0: as the library likes */
  guint flat; /* so many rows at the end are all alike */
} Spec;

typedef struct
{
  GByteArray *file;
  guint8 *samples;
  WsPngRows rows;
  guint n_taken;
} Picture;

static void
append (png_structp png, png_bytep bytes, size_t n)
{
  g_byte_array_append (png_get_io_ptr (png), bytes, (guint)n);
}

static void
flush (png_structp png)
{
  (void)png;
}

static void
take (gpointer data, guint y, const guint8 *row)
{
  Picture *picture = data;
  assert_int_equal (y, picture->n_taken % HEIGHT);
  picture->n_taken++;
  if (picture->rows.plane != NULL)
    assert_ptr_equal (row, picture->rows.plane + y * picture->rows.row_bytes);
  else
    assert_memory_equal (row, picture->samples + y * picture->rows.row_bytes,
                         picture->rows.row_bytes);
}

/* Neighbours are near each other, so that filters do something. */
static void
fill (guint8 *samples, gsize n, guint32 seed)
{
  g_autoptr (GRand) rand = g_rand_new_with_seed (seed);
  for (gsize i = 0; i < n; i++)
    samples[i] = (guint8)(i / 7 + (guint)g_rand_int_range (rand, 0, 90));
}

static gsize
first_pixels (const GByteArray *file)
{
  for (gsize i = 8; i + 4 < file->len; i++)
    if (memcmp (file->data + i, "IDAT", 4) == 0)
      return i + 4;
  fail ();
  return 0;
}

static Picture
picture_of (const Spec *spec)
{
  Picture picture = { .file = g_byte_array_new () };
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png_create_info_struct (png);
  png_set_write_fn (png, picture.file, append, flush);
  png_set_IHDR (png, info, WIDTH, HEIGHT, spec->bits, spec->type, PNG_INTERLACE_NONE,
                PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_set_filter (png, PNG_FILTER_TYPE_BASE, spec->filter);
  if (spec->idat != 0)
    png_set_compression_buffer_size (png, spec->idat);
  png_write_info (png, info);
  const gsize row_bytes = png_get_rowbytes (png, info);
  picture.samples = g_malloc0 (HEIGHT * row_bytes);
  fill (picture.samples, (HEIGHT - spec->flat) * row_bytes,
        (guint32)(spec->type * 16 + spec->bits));
  for (guint y = 0; y < HEIGHT; y++)
    png_write_row (png, picture.samples + y * row_bytes);
  png_text text = { .compression = PNG_TEXT_COMPRESSION_NONE,
                    .key = (char *)"made",
                    .text = (char *)"by a test" };
  png_time time = { .year = 2024, .month = 5, .day = 6 };
  if (spec->text)
    png_set_text (png, info, &text, 1);
  if (spec->time)
    png_set_tIME (png, info, &time);
  png_write_end (png, info);
  picture.rows = (WsPngRows){ .row_bytes = row_bytes,
                              .pixel_bytes = (guint)(png_get_channels (png, info) * spec->bits / 8),
                              .n_rows = HEIGHT,
                              .take = take };
  png_destroy_write_struct (&png, &info);
  picture.rows.bytes = picture.file->data;
  picture.rows.n_bytes = picture.file->len;
  picture.rows.at = first_pixels (picture.file);
  return picture;
}

static void
picture_clear (Picture *picture)
{
  g_byte_array_unref (picture->file);
  g_free (picture->samples);
  g_free (picture->rows.plane);
}

static gboolean
read_again (Picture *picture)
{
  picture->n_taken = 0;
  picture->rows.data = picture;
  return wsi_png_rows_read (&picture->rows);
}

static void
check_kind (const Spec *spec)
{
  Picture picture = picture_of (spec);
  assert_true (read_again (&picture));
  assert_int_equal (picture.n_taken, HEIGHT);
  picture.rows.plane = g_malloc (HEIGHT * picture.rows.row_bytes);
  assert_true (read_again (&picture));
  assert_memory_equal (picture.rows.plane, picture.samples, HEIGHT * picture.rows.row_bytes);
  picture_clear (&picture);
}

static void
every_kind_by_every_filter (void **state)
{
  (void)state;
  static const int types[] = { PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_GRAY_ALPHA, PNG_COLOR_TYPE_RGB,
                               PNG_COLOR_TYPE_RGB_ALPHA };
  static const int filters[] = { PNG_FILTER_NONE, PNG_FILTER_SUB,   PNG_FILTER_UP,
                                 PNG_FILTER_AVG,  PNG_FILTER_PAETH, PNG_ALL_FILTERS };
  if (!wsi_png_rows_can ())
    skip ();
  for (gsize t = 0; t < G_N_ELEMENTS (types); t++)
    for (gsize f = 0; f < G_N_ELEMENTS (filters); f++)
      for (int bits = 8; bits <= 16; bits += 8)
        check_kind (&(Spec){ .type = types[t], .bits = bits, .filter = filters[f] });
  check_kind (&(Spec){ .bits = 8, .filter = PNG_ALL_FILTERS, .idat = 100 });
  check_kind (&(Spec){ .bits = 8, .filter = PNG_ALL_FILTERS, .idat = 1 << 20 });
  check_kind (&(Spec){ .bits = 8, .filter = PNG_ALL_FILTERS, .text = TRUE });
  /* Rows are still waiting when the library has taken all that is packed. */
  check_kind (&(Spec){ .bits = 8, .filter = PNG_FILTER_NONE, .flat = 60 });
  check_kind (&(Spec){ .type = PNG_COLOR_TYPE_RGB, .bits = 16, .flat = 60 });
}

/* One of as many bytes as the last time and some, and the last one's end is the file's. */
typedef struct
{
  const GByteArray *file;
  gsize at, size;
} Pieces;

static gsize
next_piece (gpointer data, const guint8 **bytes)
{
  Pieces *pieces = data;
  const gsize n = MIN (pieces->size, pieces->file->len - pieces->at);
  *bytes = pieces->file->data + pieces->at;
  pieces->at += n;
  pieces->size += 3;
  return n;
}

static void
pieces_are_joined (void **state)
{
  (void)state;
  if (!wsi_png_rows_can ())
    skip ();
  Picture picture = picture_of (&(Spec){ .bits = 8, .filter = PNG_ALL_FILTERS, .idat = 1000 });
  for (gsize cut = 0; cut < 20; cut += 4)
  {
    Pieces pieces = { picture.file, picture.rows.at + cut, 1 };
    picture.rows.n_bytes = pieces.at;
    picture.rows.more = next_piece;
    picture.rows.more_data = &pieces;
    assert_true (read_again (&picture));
    assert_int_equal (picture.n_taken, HEIGHT);
    pieces = (Pieces){ picture.file, picture.rows.at + cut, 5 };
    picture.file->len -= 6;
    assert_false (read_again (&picture));
    picture.file->len += 6;
  }
  picture_clear (&picture);
}

/* Nothing is made of what isn't sound to the last byte: libpng says what is wrong with it. */
static void
damage_is_left_to_libpng (void **state)
{
  (void)state;
  if (!wsi_png_rows_can ())
    skip ();
  Picture picture = picture_of (&(Spec){ .bits = 8, .filter = PNG_ALL_FILTERS, .text = TRUE });
  const gsize at = picture.rows.at, n = picture.file->len;
  for (gsize i = at - 8; i < n; i += i < at + 40 || i + 90 > n ? 1 : 997)
  {
    picture.file->data[i] ^= 0x41;
    picture.rows.plane = g_malloc (HEIGHT * picture.rows.row_bytes);
    assert_false (read_again (&picture));
    picture.file->data[i] ^= 0x41;
    g_clear_pointer (&picture.rows.plane, g_free);
    picture.rows.n_bytes = i;
    assert_false (i >= at && read_again (&picture));
    picture.rows.n_bytes = n;
  }
  assert_true (read_again (&picture));
  picture_clear (&picture);
}

static void
too_many_and_too_few_rows_are_left_to_libpng (void **state)
{
  (void)state;
  if (!wsi_png_rows_can ())
    skip ();
  Picture picture = picture_of (&(Spec){ .bits = 8, .filter = PNG_FILTER_SUB });
  for (guint n = HEIGHT - 1; n <= HEIGHT + 1; n++)
  {
    picture.rows.n_rows = n;
    assert_int_equal (read_again (&picture), n == HEIGHT);
  }
  picture_clear (&picture);
}

static void
other_chunks_are_left_to_libpng (void **state)
{
  (void)state;
  Picture picture = picture_of (&(Spec){ .bits = 8, .filter = PNG_FILTER_SUB, .time = TRUE });
  assert_false (read_again (&picture));
  picture_clear (&picture);
}

/* PNG 3rd edition, 5.5 and annex D. */
static guint32
check_sum (const guint8 *bytes, gsize n)
{
  guint32 sum = 0xFFFFFFFF;
  for (gsize i = 0; i < n; i++)
  {
    sum ^= bytes[i];
    for (guint bit = 0; bit < 8; bit++)
      sum = sum & 1 ? sum >> 1 ^ 0xEDB88320 : sum >> 1;
  }
  return ~sum;
}

/* Check sums anew, the packed data's own sum wrong. */
static void
a_wrong_sum_of_pixels_is_left_to_libpng (void **state)
{
  (void)state;
  if (!wsi_png_rows_can ())
    skip ();
  Picture picture = picture_of (&(Spec){ .bits = 8, .filter = PNG_FILTER_SUB, .idat = 1 << 20 });
  guint8 *end = picture.file->data + picture.file->len - 12; /* of the only chunk of pixels */
  end[-5] ^= 1;
  const guint8 *from = picture.file->data + picture.rows.at - 4;
  const guint32 sum = check_sum (from, (gsize)(end - 4 - from));
  for (guint i = 0; i < 4; i++)
    end[-4 + (int)i] = (guint8)(sum >> (24 - 8 * i));
  assert_false (read_again (&picture));
  end[-5] ^= 1;
  picture_clear (&picture);
}

static void
other_filters_are_none (void **state)
{
  (void)state;
  const guint8 from[4] = { 1, 2, 3, 4 }, above[4] = { 0 };
  guint8 row[4];
  for (guint filter = 0; filter < 256; filter++)
    assert_int_equal (wsi_png_unfilter (filter, from, above, 4, 1, row), filter <= 4);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (every_kind_by_every_filter),
    cmocka_unit_test (pieces_are_joined),
    cmocka_unit_test (damage_is_left_to_libpng),
    cmocka_unit_test (too_many_and_too_few_rows_are_left_to_libpng),
    cmocka_unit_test (other_chunks_are_left_to_libpng),
    cmocka_unit_test (a_wrong_sum_of_pixels_is_left_to_libpng),
    cmocka_unit_test (other_filters_are_none),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
