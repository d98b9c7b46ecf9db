/*
 * The annotated picture is read back with libpng.
 */
#include "report/sample_for_tests.h"

#include <png.h>

#include <whetsight/error.h>

#include "report/canvas.h"
#include "report/png_writer.h"
#include "result/build.h"

typedef struct
{
  png_structp png;
  png_infop info;
  const guchar *at;
  gsize left;
  guchar *pixels; /* width x height x 3 */
  guint width, height;
} Read;

static void
take (png_structp png, png_bytep bytes, png_size_t n)
{
  Read *file = png_get_io_ptr (png);
  if (n > file->left)
    png_error (png, "short");
  memcpy (bytes, file->at, n);
  file->at += n;
  file->left -= n;
}

static void
read_rows (Read *file)
{
  file->width = png_get_image_width (file->png, file->info);
  file->height = png_get_image_height (file->png, file->info);
  assert_int_equal (png_get_color_type (file->png, file->info), PNG_COLOR_TYPE_RGB);
  assert_int_equal (png_get_bit_depth (file->png, file->info), 8);
  gsize stride = (gsize)file->width * 3;
  file->pixels = g_malloc (stride * file->height);
  for (guint y = 0; y < file->height; y++)
    png_read_row (file->png, file->pixels + y * stride, NULL);
  png_read_end (file->png, file->info);
}

static Read *
read_back (GBytes *bytes)
{
  Read *file = g_new0 (Read, 1);
  file->at = g_bytes_get_data (bytes, &file->left);
  file->png = png_create_read_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  file->info = png_create_info_struct (file->png);
  if (setjmp (png_jmpbuf (file->png)))
    fail_msg ("not a PNG file");
  png_set_read_fn (file->png, file, take);
  png_read_info (file->png, file->info);
  return file;
}

static void
read_free (Read *file)
{
  png_destroy_read_struct (&file->png, &file->info, NULL);
  g_free (file->pixels);
  g_free (file);
}

G_DEFINE_AUTOPTR_CLEANUP_FUNC (Read, read_free)

static const png_text *
note (const Read *file, const char *keyword)
{
  png_textp texts;
  int n = png_get_text (file->png, file->info, &texts, NULL);
  for (int i = 0; i < n; i++)
    if (g_str_equal (texts[i].key, keyword))
      return &texts[i];
  return NULL;
}

/* Light to the left, dark to the right. */
static WsImage *
halves (guint width, guint height)
{
  WsImage *image = ws_image_new (width, height, NULL);
  for (guint y = 0; y < height; y++)
    for (guint x = 0; x < width / 2; x++)
      image->linear[(gsize)y * width + x] = WS_IMAGE_FULL_SCALE;
  return image;
}

static GBytes *
draw (const Sample *sample, guint width, guint height)
{
  g_autoptr (WsImage) image = halves (width, height);
  g_autoptr (GError) error = NULL;
  GBytes *bytes = ws_report_picture (&sample->report, image, &error);
  assert_null (error);
  return bytes;
}

static void
test_the_record_travels_along (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (GBytes) bytes = draw (sample, 64, 64);
  g_autoptr (Read) file = read_back (bytes);
  g_autofree char *record = ws_report_record (&sample->report);
  const png_text *text = note (file, WS_PNG_RECORD_KEYWORD);
  assert_non_null (text);
  assert_true (text->compression == PNG_ITXT_COMPRESSION_zTXt ||
               text->compression == PNG_ITXT_COMPRESSION_NONE);
  assert_string_equal (text->text, record);
  assert_string_equal (note (file, "Software")->text, "whetsight " WS_VERSION);
  assert_string_equal (note (file, "Creation Time")->text, "2026-11-25T10:15:02Z");
}

/* 64 px are enlarged 20 times to 1280, so a pixel of the sheet is 0.0125 / 20 mm: 1600000 a
 * metre. */
static void
test_the_scale_is_that_of_the_sheet (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (GBytes) bytes = draw (sample, 64, 64);
  g_autoptr (Read) file = read_back (bytes);
  png_uint_32 x, y;
  int unit;
  png_charp width, height;
  assert_int_not_equal (png_get_pHYs (file->png, file->info, &x, &y, &unit), 0);
  assert_int_equal (unit, PNG_RESOLUTION_METER);
  assert_int_equal (x, 1600000);
  assert_int_equal (y, 1600000);
  assert_int_not_equal (png_get_sCAL_s (file->png, file->info, &unit, &width, &height), 0);
  assert_int_equal (unit, PNG_SCALE_METER);
  assert_near (g_ascii_strtod (width, NULL), 0.0125e-3 / 20.0, 1e-15);
  assert_string_equal (width, height);
}

static void
test_no_scale_no_chunk (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (FALSE);
  g_autoptr (GBytes) bytes = draw (sample, 64, 64);
  g_autoptr (Read) file = read_back (bytes);
  assert_int_equal (png_get_valid (file->png, file->info, PNG_INFO_pHYs), 0);
  assert_int_equal (png_get_valid (file->png, file->info, PNG_INFO_sCAL), 0);
}

/* 0.01455004 mm/px -> 68728 px/m. */
static void
test_pixels_a_metre (void **state)
{
  (void)state;
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 3, 2);
  const WsPngNotes notes = { "{}", "2026-11-25T10:15:02Z", 0.01455004, FALSE };
  g_autoptr (GBytes) bytes = wsi_png_write (surface, &notes, NULL);
  g_autoptr (Read) file = read_back (bytes);
  assert_int_equal (png_get_x_pixels_per_meter (file->png, file->info), 68728);
  cairo_surface_destroy (surface);
}

/* However it is packed. */
static void
test_pixels_come_back (void **state)
{
  (void)state;
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 50, 20);
  guint32 *pixels = (guint32 *)(void *)cairo_image_surface_get_data (surface);
  const guint stride = (guint)cairo_image_surface_get_stride (surface) / 4;
  for (guint y = 0; y < 20; y++)
    for (guint x = 0; x < 50; x++)
      pixels[y * stride + x] = (x * 0x050301U + y * 0x010704U) & 0xFFFFFFU;
  cairo_surface_mark_dirty (surface);
  for (guint i = 0; i < 2; i++)
  {
    const WsPngNotes notes = { .is_photograph = i == 1 };
    g_autoptr (GBytes) bytes = wsi_png_write (surface, &notes, NULL);
    g_autoptr (Read) file = read_back (bytes);
    read_rows (file);
    for (guint n = 0; n < 50 * 20; n++)
    {
      const guint8 *at = file->pixels + 3 * (gsize)n;
      const guint32 found = (guint32)at[0] << 16 | (guint32)at[1] << 8 | at[2];
      assert_int_equal (found, pixels[n / 50 * stride + n % 50]);
    }
  }
  cairo_surface_destroy (surface);
}

static void
test_sizes (void **state)
{
  (void)state;
  static const struct
  {
    guint width, height, sheet;
  } sizes[] = { { 64, 64, 1280 },     { 300, 200, 1500 }, { 1280, 960, 1280 }, { 1600, 1200, 1600 },
                { 4000, 3000, 2000 }, { 3, 5000, 1280 },  { 6000, 2, 2000 },   { 1, 1, 2560 } };
  g_autoptr (Sample) sample = sample_new (TRUE);
  for (gsize i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    g_autoptr (GBytes) bytes = draw (sample, sizes[i].width, sizes[i].height);
    g_autoptr (Read) file = read_back (bytes);
    if (sizes[i].width > 1)
      assert_int_equal (png_get_image_width (file->png, file->info), sizes[i].sheet);
    assert_true (png_get_image_width (file->png, file->info) >= 1280);
  }
}

static guint
count_near (const Read *file, WsColour colour)
{
  guint n = 0;
  const double rgb[] = { colour.r * 255.0, colour.g * 255.0, colour.b * 255.0 };
  for (gsize i = 0; i < (gsize)file->width * file->height; i++)
  {
    const guchar *pixel = file->pixels + 3 * i;
    n += fabs (pixel[0] - rgb[0]) < 2.0 && fabs (pixel[1] - rgb[1]) < 2.0 &&
         fabs (pixel[2] - rgb[2]) < 2.0;
  }
  return n;
}

/* The verdict's colour fills the head of the sheet; lips and axis are there in theirs. */
static void
test_what_is_drawn (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  for (int verdict = WS_VERDICT_NONE; verdict <= WS_VERDICT_REJECT; verdict++)
  {
    sample->result->verdict = (WsVerdict)verdict;
    g_autoptr (GBytes) bytes = draw (sample, 64, 64);
    g_autoptr (Read) file = read_back (bytes);
    read_rows (file);
    assert_true (count_near (file, wsi_canvas_verdict_colour ((WsVerdict)verdict)) > 100000);
    assert_true (count_near (file, WS_SKY_BLUE) > 1000);
    assert_true (count_near (file, WS_PURPLE) > 200);
    assert_true (count_near (file, WS_WHITE) > 300000);
    assert_true (count_near (file, WS_BLACK) > 300000);
  }
}

/* Longest run of the colour in a row, px. */
static guint
longest_run (const Read *file, WsColour colour)
{
  const double rgb[3] = { 255.0 * colour.r, 255.0 * colour.g, 255.0 * colour.b };
  guint longest = 0, run = 0;
  for (gsize i = 0; i < (gsize)file->width * file->height; i++)
  {
    const guchar *pixel = file->pixels + 3 * i;
    const gboolean is_it = fabs (pixel[0] - rgb[0]) < 2.0 && fabs (pixel[1] - rgb[1]) < 2.0 &&
                           fabs (pixel[2] - rgb[2]) < 2.0;
    run = is_it && i % file->width != 0 ? run + 1 : 0;
    longest = MAX (longest, run);
  }
  return longest;
}

/* A fifth of the picture, rounded down: 0.1 mm of 0.64 mm, at 1600 px a mm of the sheet. */
static void
test_the_scale_bar_is_as_long_as_it_says (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  g_autoptr (GBytes) bytes = draw (sample, 64, 64);
  g_autoptr (Read) file = read_back (bytes);
  read_rows (file);
  assert_near (longest_run (file, WS_INK), 160, 1);
}

/* One mark alone is drawn, too. */
static void
test_every_mark_is_drawn (void **state)
{
  (void)state;
  guint purple[2];
  for (guint n = 0; n < 2; n++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    g_ptr_array_set_size (sample->result->marks, 0);
    const WsPoint ends[] = { { 32, 4 }, { 32, 60 } };
    if (n > 0)
      wsi_result_add_mark (sample->result, WS_MARK_AXIS, NULL, ends, 2);
    g_autoptr (GBytes) bytes = draw (sample, 64, 64);
    g_autoptr (Read) file = read_back (bytes);
    read_rows (file);
    purple[n] = count_near (file, WS_PURPLE);
  }
  assert_true (purple[1] > purple[0] + 200);
}

/* A tool that points to the side is shown again, point up, to the right: half as wide a sheet more,
 * in which its edges are drawn as well. */
static void
test_upright (void **state)
{
  (void)state;
  guint blue[2], widths[2];
  for (guint n = 0; n < 2; n++)
  {
    g_autoptr (Sample) sample = sample_new (TRUE);
    const WsPoint axis[] = { { 4, 32 }, { 60, 32 } }, edge[] = { { 40, 20 }, { 60, 32 } };
    g_ptr_array_set_size (sample->result->marks, 0);
    wsi_result_add_mark (sample->result, WS_MARK_EDGE_USED, "a", edge, 2);
    if (n > 0)
      wsi_result_add_mark (sample->result, WS_MARK_AXIS, NULL, axis, 2);
    g_autoptr (GBytes) bytes = draw (sample, 64, 64);
    g_autoptr (Read) file = read_back (bytes);
    read_rows (file);
    widths[n] = file->width;
    blue[n] = count_near (file, WS_SKY_BLUE);
  }
  assert_int_equal (widths[0], 1280);
  assert_int_equal (widths[1], 1920);
  assert_true (blue[1] > 1.5 * blue[0]);
}

static void
test_a_retake_is_drawn_too (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  wsi_result_retake (sample->result, WS_RETAKE_NO_TOOL, "nothing darker than the ground");
  g_autoptr (GBytes) bytes = draw (sample, 64, 64);
  g_autoptr (Read) file = read_back (bytes);
  read_rows (file);
  assert_true (count_near (file, WS_BLUE) > 100000);
  assert_contains (note (file, WS_PNG_RECORD_KEYWORD)->text, "\"no-tool\"");
}

/* Marks may lie anywhere, be short of points, or name what isn't there. */
static void
test_odd_marks_are_survived (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  const WsPoint far_away[] = { { 1e6, -1e6 }, { 1e6, -1e6 }, { 1e6, -1e6 } };
  for (int role = WS_MARK_OUTLINE; role <= WS_MARK_CHIP; role++)
    for (gsize n = 0; n <= 3; n++)
      wsi_result_add_mark (sample->result, (WsMarkRole)role, n == 1 ? NULL : "nothing", far_away,
                           n);
  g_autoptr (GBytes) bytes = draw (sample, 64, 64);
  assert_non_null (bytes);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_the_record_travels_along),
    cmocka_unit_test (test_the_scale_is_that_of_the_sheet),
    cmocka_unit_test (test_no_scale_no_chunk),
    cmocka_unit_test (test_pixels_a_metre),
    cmocka_unit_test (test_pixels_come_back),
    cmocka_unit_test (test_sizes),
    cmocka_unit_test (test_what_is_drawn),
    cmocka_unit_test (test_the_scale_bar_is_as_long_as_it_says),
    cmocka_unit_test (test_every_mark_is_drawn),
    cmocka_unit_test (test_upright),
    cmocka_unit_test (test_a_retake_is_drawn_too),
    cmocka_unit_test (test_odd_marks_are_survived),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
