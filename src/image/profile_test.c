/*
 * Colour profiles, made by Little CMS itself: curves of ICC.1:2010 parametric and gamma types.
 */
#include "image/profile.h"

#include "base/testing.h"

#include <glib/gstdio.h>
#include <jpeglib.h>
#include <lcms2.h>
#include <math.h>
#include <png.h>
#include <tiffio.h>

typedef enum
{
  GREY,
  RGB
} Space;

/* Light = code ^ gamma; a negative gamma falls.  Free with g_bytes_unref(). */
static GBytes *
profile_of (Space space, double gamma)
{
  cmsToneCurve *curve = cmsBuildGamma (NULL, fabs (gamma));
  if (gamma < 0)
  {
    const cmsFloat32Number fall[] = { 1.0F, 0.0F };
    cmsFreeToneCurve (curve);
    curve = cmsBuildTabulatedToneCurveFloat (NULL, 2, fall);
  }
  cmsToneCurve *const curves[3] = { curve, curve, curve };
  const cmsCIExyYTRIPLE rec709 = { { 0.64, 0.33, 1 }, { 0.3, 0.6, 1 }, { 0.15, 0.06, 1 } };
  cmsCIExyY white;
  cmsWhitePointFromTemp (&white, 6504);
  cmsHPROFILE profile = space == GREY ? cmsCreateGrayProfile (&white, curve)
                                      : cmsCreateRGBProfile (&white, &rec709, curves);
  cmsUInt32Number n = 0;
  assert_true (cmsSaveProfileToMem (profile, NULL, &n));
  void *bytes = g_malloc (n);
  assert_true (cmsSaveProfileToMem (profile, bytes, &n));
  cmsCloseProfile (profile);
  cmsFreeToneCurve (curve);
  return g_bytes_new_take (bytes, n);
}

static GBytes *
srgb_profile (void)
{
  cmsHPROFILE profile = cmsCreate_sRGBProfile ();
  cmsUInt32Number n = 0;
  assert_true (cmsSaveProfileToMem (profile, NULL, &n));
  void *bytes = g_malloc (n);
  assert_true (cmsSaveProfileToMem (profile, bytes, &n));
  cmsCloseProfile (profile);
  return g_bytes_new_take (bytes, n);
}

static WsProfileFound
read_it (GBytes *bytes, gboolean coloured, WsToneCurve *curve)
{
  return wsi_profile_read (g_bytes_get_data (bytes, NULL), g_bytes_get_size (bytes), coloured,
                           curve);
}

static void
curves_are_those_of_the_profile (void **state)
{
  (void)state;
  static const double gammas[] = { 1.0, 1.8, 2.2 };
  for (Space space = GREY; space <= RGB; space++)
    for (gsize i = 0; i < G_N_ELEMENTS (gammas); i++)
    {
      WsToneCurve curve;
      g_autoptr (GBytes) bytes = profile_of (space, gammas[i]);
      assert_int_equal (read_it (bytes, space == RGB, &curve), WS_PROFILE_READ);
      assert_int_equal (curve.tone, WS_TONE_PROFILE);
      for (double code = 0; code <= 1.0; code += 1.0 / 64)
        assert_near (wsi_tone_light (&curve, code), pow (code, gammas[i]), 2e-4);
      assert_near (wsi_tone_light (&curve, 1.0), 1.0, 1e-9);
    }
}

static void
srgb_is_srgb (void **state)
{
  (void)state;
  WsToneCurve curve;
  g_autoptr (GBytes) bytes = srgb_profile ();
  assert_int_equal (read_it (bytes, TRUE, &curve), WS_PROFILE_READ);
  assert_int_equal (curve.tone, WS_TONE_SRGB);
}

static void
what_says_nothing_is_not_used (void **state)
{
  (void)state;
  WsToneCurve curve;
  g_autoptr (GBytes) grey = profile_of (GREY, 2.2);
  assert_int_equal (read_it (grey, TRUE, &curve), WS_PROFILE_UNUSED);
  g_autoptr (GBytes) cut = g_bytes_new_from_bytes (grey, 0, 100);
  assert_int_equal (read_it (cut, FALSE, &curve), WS_PROFILE_UNUSED);
  g_autoptr (GBytes) noise = g_bytes_new_static ("this is no profile", 18);
  assert_int_equal (read_it (noise, FALSE, &curve), WS_PROFILE_UNUSED);
  g_autoptr (GBytes) falling = profile_of (GREY, -1);
  assert_int_equal (read_it (falling, FALSE, &curve), WS_PROFILE_WRONG);
}

/* ---- In files ---------------------------------------------------------------------------- */

#define WIDTH 64

/* Every fourth code in a row, grey. */
static void
row_of (guint8 *row)
{
  for (guint x = 0; x < WIDTH; x++)
    row[x] = (guint8)(4 * x);
}

static void
write_png (const char *path, GBytes *profile)
{
  guint8 row[WIDTH];
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png_create_info_struct (png);
  FILE *file = g_fopen (path, "wb");
  assert_non_null (file);
  png_init_io (png, file);
  png_set_IHDR (png, info, WIDTH, 1, 8, PNG_COLOR_TYPE_GRAY, 0, 0, 0);
  png_set_iCCP (png, info, "curve", 0, g_bytes_get_data (profile, NULL),
                (png_uint_32)g_bytes_get_size (profile));
  png_write_info (png, info);
  row_of (row);
  png_write_row (png, row);
  png_write_end (png, info);
  png_destroy_write_struct (&png, &info);
  fclose (file);
}

static void
write_jpeg (const char *path, GBytes *profile)
{
  guint8 row[WIDTH];
  JSAMPROW rows[1] = { row };
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr errors;
  FILE *file = g_fopen (path, "wb");
  assert_non_null (file);
  jpeg.err = jpeg_std_error (&errors);
  jpeg_create_compress (&jpeg);
  jpeg_stdio_dest (&jpeg, file);
  jpeg.image_width = WIDTH;
  jpeg.image_height = 1;
  jpeg.input_components = 1;
  jpeg.in_color_space = JCS_GRAYSCALE;
  jpeg_set_defaults (&jpeg);
  jpeg_set_quality (&jpeg, 100, TRUE);
  jpeg_start_compress (&jpeg, TRUE);
  jpeg_write_icc_profile (&jpeg, g_bytes_get_data (profile, NULL),
                          (unsigned)g_bytes_get_size (profile));
  row_of (row);
  jpeg_write_scanlines (&jpeg, rows, 1);
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);
  fclose (file);
}

static void
write_tiff (const char *path, GBytes *profile)
{
  guint8 row[WIDTH];
  TIFF *tiff = TIFFOpen (path, "w");
  assert_non_null (tiff);
  TIFFSetField (tiff, TIFFTAG_IMAGEWIDTH, WIDTH);
  TIFFSetField (tiff, TIFFTAG_IMAGELENGTH, 1);
  TIFFSetField (tiff, TIFFTAG_BITSPERSAMPLE, 8);
  TIFFSetField (tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
  TIFFSetField (tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
  TIFFSetField (tiff, TIFFTAG_ICCPROFILE, (guint32)g_bytes_get_size (profile),
                g_bytes_get_data (profile, NULL));
  row_of (row);
  assert_int_equal (TIFFWriteScanline (tiff, row, 0, 0), 1);
  TIFFClose (tiff);
}

static const struct
{
  const char *name;
  void (*write) (const char *path, GBytes *profile);
  double codes_off; /* by the compression */
} kinds[] = { { "a.png", write_png, 0 },
              { "a.jpg", write_jpeg, 1.01 },
              { "a.tif", write_tiff, 0 } };

static WsImage *
written_and_read (gsize kind, GBytes *profile, GError **error)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, kinds[kind].name, NULL);
  kinds[kind].write (path, profile);
  WsImage *image = ws_image_load (path, NULL, WS_IMAGE_GREY, error);
  g_unlink (path);
  g_rmdir (folder);
  return image;
}

static void
files_are_read_by_their_profile (void **state)
{
  (void)state;
  g_autoptr (GBytes) linear = profile_of (GREY, 1.0);
  for (gsize kind = 0; kind < G_N_ELEMENTS (kinds); kind++)
  {
    GError *error = NULL;
    g_autoptr (WsImage) image = written_and_read (kind, linear, &error);
    if (image == NULL)
      fail_msg ("%s: %s", kinds[kind].name, error->message);
    assert_int_equal (image->tone, WS_TONE_PROFILE);
    for (guint x = 0; x < WIDTH; x++)
      assert_near (image->linear[x], WS_IMAGE_FULL_SCALE * 4 * x / 255.0,
                   10 + kinds[kind].codes_off * WS_IMAGE_FULL_SCALE / 255.0);
  }
}

static void
a_falling_profile_is_refused (void **state)
{
  (void)state;
  g_autoptr (GBytes) falling = profile_of (GREY, -1);
  for (gsize kind = 0; kind < G_N_ELEMENTS (kinds); kind++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsImage) image = written_and_read (kind, falling, &error);
    assert_null (image);
    assert_contains (error->message, "colour profile");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (curves_are_those_of_the_profile),
    cmocka_unit_test (srgb_is_srgb),
    cmocka_unit_test (what_says_nothing_is_not_used),
    cmocka_unit_test (files_are_read_by_their_profile),
    cmocka_unit_test (a_falling_profile_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
