#include "base/file_for_tests.h"
#include "optics/calibration.h"
#include "optics/lens.h"

#include <whetsight/error.h>

#define SHA_OF_PICTURE "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

static int
set_up (void **state)
{
  return file_set_up (state, "a.calib");
}

static void
fill_lens (WsLens *lens)
{
  const guint n = wsi_lens_n_parameters (lens->model);
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j <= i; j++)
      lens->covariance[i * n + j] = lens->covariance[j * n + i] =
        (i == j ? 1 : 0.3 / (1.0 + i - j)) * 1e-7 * (i + 1) * (j + 1) / 3;
}

static WsCalibration *
telecentric (void)
{
  WsCalibration *calibration = wsi_calibration_new ("pin", "bench 2, lens \"A\" = 1;\t[x]\\ µ");
  calibration->lens = (WsLens){ .model = WS_LENS_TELECENTRIC,
                                .width = 1600,
                                .height = 1200,
                                .parameters = { -0.0123, 1.0 / 80.1, -0.002 / 3 },
                                .residual_px = 0.0767 };
  fill_lens (&calibration->lens);
  wsi_calibration_add_artefact (calibration, "pin 4.638 mm", "QT-17/3", 4.638, 0.00025);
  wsi_calibration_add_artefact (calibration, "pin 2 mm", NULL, 2.0, 0.0);
  wsi_calibration_add_source (calibration, "a b.png", SHA_OF_PICTURE, NULL, 0.05);
  wsi_calibration_add_source (calibration, "c.png", SHA_OF_PICTURE, "out of focus", NAN);
  wsi_calibration_add_remark (calibration, g_strdup ("Two pins tell little of distortion."));
  return calibration;
}

static WsCalibration *
pinhole (void)
{
  WsCalibration *calibration = wsi_calibration_new ("target", "");
  calibration->lens =
    (WsLens){ .model = WS_LENS_PINHOLE,
              .width = 1600,
              .height = 1200,
              .parameters = { 0, 9725, 9718.5, 812.3, 590.2, 2.75, 24.3, 0.0012, -0.0007, -150,
                              0.04, -0.03, 0.5, -4.2, -3.1, 131.6 },
              .residual_px = 0.09 };
  fill_lens (&calibration->lens);
  calibration->expires = g_date_time_new_utc (2030, 1, 31, 6, 30, 0);
  return calibration;
}

static void
assert_same_lists (const WsCalibration *a, const WsCalibration *b)
{
  assert_int_equal (a->artefacts->len, b->artefacts->len);
  for (guint i = 0; i < a->artefacts->len; i++)
  {
    const WsArtefact *x = a->artefacts->pdata[i], *y = b->artefacts->pdata[i];
    assert_string_equal (x->what, y->what);
    assert_int_equal (g_strcmp0 (x->certificate, y->certificate), 0);
    assert_near (x->size_mm, y->size_mm, 0);
    assert_near (x->u_mm, y->u_mm, 0);
  }
  assert_int_equal (a->sources->len, b->sources->len);
  for (guint i = 0; i < a->sources->len; i++)
  {
    const WsCalibrationSource *x = a->sources->pdata[i], *y = b->sources->pdata[i];
    assert_string_equal (x->name, y->name);
    assert_string_equal (x->sha256, y->sha256);
    assert_int_equal (g_strcmp0 (x->rejected, y->rejected), 0);
    assert_true (isnan (x->rms_px) ? isnan (y->rms_px) : fabs (x->rms_px - y->rms_px) <= 0);
  }
  assert_int_equal (a->remarks->len, b->remarks->len);
  for (guint i = 0; i < a->remarks->len; i++)
    assert_string_equal (a->remarks->pdata[i], b->remarks->pdata[i]);
}

static void
assert_same (const WsCalibration *a, const WsCalibration *b)
{
  assert_string_equal (a->id, b->id);
  assert_string_equal (a->camera, b->camera);
  assert_string_equal (a->method, b->method);
  assert_string_equal (a->program, b->program);
  assert_string_equal (a->sha256, b->sha256);
  assert_true (g_date_time_equal (a->made, b->made));
  assert_int_equal (a->expires != NULL, b->expires != NULL);
  assert_true (a->expires == NULL || g_date_time_equal (a->expires, b->expires));
  /* Bit by bit. */
  assert_int_equal (a->lens.model, b->lens.model);
  assert_int_equal (a->lens.width, b->lens.width);
  assert_int_equal (a->lens.height, b->lens.height);
  assert_memory_equal (a->lens.parameters, b->lens.parameters, sizeof a->lens.parameters);
  assert_memory_equal (a->lens.covariance, b->lens.covariance, sizeof a->lens.covariance);
  assert_near (a->lens.residual_px, b->lens.residual_px, 0);
  assert_same_lists (a, b);
}

static void
what_is_saved_is_loaded (void **state)
{
  const Fixture *fixture = *state;
  WsCalibration *const made[] = { telecentric (), pinhole () };
  for (gsize i = 0; i < G_N_ELEMENTS (made); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsCalibration) saved = made[i];
    assert_null (saved->sha256);
    assert_true (ws_calibration_save (saved, fixture->path, &error));
    g_autoptr (WsCalibration) loaded = ws_calibration_load (fixture->path, &error);
    assert_null (error);
    assert_same (saved, loaded);
  }
}

static void
the_sha256_is_the_files (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *text = NULL;
  gsize length;
  g_autoptr (WsCalibration) calibration = telecentric ();
  assert_true (ws_calibration_save (calibration, fixture->path, NULL));
  assert_true (g_file_get_contents (fixture->path, &text, &length, NULL));
  g_autofree char *sum =
    g_compute_checksum_for_data (G_CHECKSUM_SHA256, (const guchar *)text, length);
  assert_string_equal (calibration->sha256, sum);
}

static void
ids_differ (void **state)
{
  (void)state;
  g_autoptr (WsCalibration) a = wsi_calibration_new ("pin", "x");
  g_autoptr (WsCalibration) b = wsi_calibration_new ("pin", "x");
  assert_string_not_equal (a->id, b->id);
}

static void
texts_become_one_line (void **state)
{
  (void)state;
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("pin", " a\nb\xff ");
  assert_string_equal (calibration->camera, "a b\xef\xbf\xbd");
}

static void
a_lens_without_sense_is_not_saved (void **state)
{
  const Fixture *fixture = *state;
  static const double scales[] = { 0, -0.01, NAN, INFINITY, 1e9 };
  for (gsize i = 0; i < G_N_ELEMENTS (scales); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsCalibration) calibration = telecentric ();
    calibration->lens.parameters[WS_LENS_T_SCALE] = scales[i];
    g_unlink (fixture->path);
    assert_false (ws_calibration_save (calibration, fixture->path, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_INTERNAL));
    assert_false (g_file_test (fixture->path, G_FILE_TEST_EXISTS));
  }
}

static void
an_unwritable_place (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsCalibration) calibration = telecentric ();
  assert_false (ws_calibration_save (calibration, "/nonexistent/a.calib", &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANT_WRITE));
  assert_null (calibration->sha256);
}

/* ---- Damage ----------------------------------------------------------------------- */

/* The text of a good file. */
static char *
good_text (const Fixture *fixture, gsize *length)
{
  char *text = NULL;
  g_autoptr (WsCalibration) calibration = telecentric ();
  assert_true (ws_calibration_save (calibration, fixture->path, NULL));
  assert_true (g_file_get_contents (fixture->path, &text, length, NULL));
  return text;
}

static void
assert_refused (const Fixture *fixture, const char *text, gsize length, const char *part)
{
  g_autoptr (GError) error = NULL;
  assert_true (g_file_set_contents (fixture->path, text, (gssize)length, NULL));
  g_autoptr (WsCalibration) calibration = ws_calibration_load (fixture->path, &error);
  if (calibration != NULL)
    fail_msg ("took this calibration:\n%.*s", (int)length, text);
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  assert_contains (error->message, "a.calib: ");
  assert_contains (error->message, part);
  assert_lacks (error->message, "\n");
  assert_true (g_utf8_validate (error->message, -1, NULL));
}

static void
every_truncation_is_found (void **state)
{
  gsize length;
  g_autofree char *text = good_text (*state, &length);
  for (gsize n = 0; n < length; n++)
    assert_refused (*state, text, n, n == 0 ? "calibrat" : "");
}

static void
every_changed_byte_is_found (void **state)
{
  gsize length;
  g_autofree char *text = good_text (*state, &length);
  for (gsize i = 0; i < length; i++)
  {
    const char was = text[i];
    text[i] = (char)(was ^ (1 << i % 8));
    assert_refused (*state, text, length, "");
    text[i] = was;
  }
}

static void
more_at_the_end_is_found (void **state)
{
  gsize length;
  g_autofree char *text = good_text (*state, &length);
  g_autofree char *longer = g_strconcat (text, "\n", NULL);
  assert_refused (*state, longer, length + 1, "no checksum");
  g_autofree char *zero = g_malloc0 (length + 1);
  memcpy (zero, text, length);
  assert_refused (*state, zero, length + 1, "not a calibration");
}

/* A text with a checksum that fits, as a careless program might write it. */
static char *
seal (const char *body)
{
  g_autofree char *sum = g_compute_checksum_for_string (G_CHECKSUM_SHA256, body, -1);
  return g_strconcat (body, "[checksum]\nsha256=", sum, "\n", NULL);
}

/* The good text with a line in place of the one that starts with `start`, and sealed anew. */
static char *
with_line (const char *text, const char *start, const char *line)
{
  g_autofree char *body = g_strndup (text, (gsize)(strstr (text, "[checksum]") - text));
  char *at = strstr (body, start);
  assert_non_null (at);
  g_autofree char *before = g_strndup (body, (gsize)(at - body));
  g_autofree char *whole = g_strconcat (before, line, strchr (at + strlen (start), '\n'), NULL);
  return seal (whole);
}

/* Line to replace, what with, and what the message must name. */
static const char *const wrong_lines[][3] = {
  { "format=", "format=whetsight-calibration/2", "[calibration] format" },
  { "format=", "", "[calibration] format is missing" },
  { "id=", "id=", "[calibration] id" },
  { "camera=", "camera=\xff\xfe", "UTF-8" },
  { "camera=", "camera=a\\nb", "[calibration] camera" },
  { "model=", "model=fisheye", "telecentric or pinhole, found \"fisheye\"" },
  { "model=", "model=pinhole", "[parameters] fx_px is missing" },
  { "width=", "width=0", "[calibration] width" },
  { "width=", "width=-5", "[calibration] width" },
  { "height=", "height=99999999999999999999", "[calibration] height" },
  { "height=", "height=12.5", "[calibration] height" },
  { "made=", "made=yesterday", "[calibration] made" },
  { "made=", "made=2026-11-25", "[calibration] made" },
  { "made=", "made=2026-13-25T00:00:00Z", "[calibration] made" },
  { "expires=", "expires=soon", "[calibration] expires" },
  { "expires=", "expires=", "[calibration] expires" },
  { "mm_per_px=", "mm_per_px=-0.0125", "[parameters] mm_per_px" },
  { "mm_per_px=", "mm_per_px=0", "[parameters] mm_per_px" },
  { "mm_per_px=", "mm_per_px=nan", "[parameters] mm_per_px" },
  { "mm_per_px=", "mm_per_px=inf", "[parameters] mm_per_px" },
  { "mm_per_px=", "mm_per_px=1e999", "[parameters] mm_per_px" },
  { "mm_per_px=", "mm_per_px=0,0125", "[parameters] mm_per_px" },
  { "mm_per_px=", "", "[parameters] mm_per_px is missing" },
  { "k1=", "k1=0.5", "[parameters] k1" },
  { "edge_shift_px=", "edge_shift_px=1e6", "[parameters] edge_shift_px" },
  { "edge_shift_px=", "edge_shift_px=1\nedge_shift_px=2", "given twice" },
  { "[covariance]", "[other]", "[covariance] edge_shift_px" },
  { "[covariance]\nedge_shift_px=", "[covariance]\nedge_shift_px=", "[covariance]" },
  { "[covariance]\nedge_shift_px=", "[covariance]\nedge_shift_px=-1e-9", "variance" },
  { "[covariance]\nedge_shift_px=", "[covariance]\nedge_shift_px=1e-9 1e-9", "1 numbers" },
  { "[covariance]\nedge_shift_px=", "[covariance]\nedge_shift_px=1e-19", "correlation" },
  { "rms_px=", "rms_px=-1", "[residual] rms_px" },
  { "rms_px=0.05", "rms_px=x", "[source 1] rms_px" },
  { "size_mm=", "size_mm=1e99", "[artefact 1] size_mm" },
  { "size_mm=", "", "[artefact 1] size_mm is missing" },
  { "u_mm=", "u_mm=-0.1", "[artefact 1] u_mm" },
  { "sha256=0123", "sha256=0123", "[source 1] sha256" },
  { "name=", "", "[source 1] name is missing" },
  { "1=Two", "1=a\\nb", "[remarks] 1" },
};

static void
names_what_is_wrong (void **state)
{
  gsize length;
  g_autofree char *text = good_text (*state, &length);
  for (gsize i = 0; i < G_N_ELEMENTS (wrong_lines); i++)
  {
    g_autofree char *wrong = with_line (text, wrong_lines[i][0], wrong_lines[i][1]);
    assert_refused (*state, wrong, strlen (wrong), wrong_lines[i][2]);
  }
}

/* Else the test above would pass for its own mistakes. */
static void
a_sealed_text_is_taken (void **state)
{
  const Fixture *fixture = *state;
  gsize length;
  g_autoptr (GError) error = NULL;
  g_autofree char *text = good_text (fixture, &length);
  g_autofree char *sealed = with_line (text, "camera=", "camera=other");
  assert_true (g_file_set_contents (fixture->path, sealed, -1, NULL));
  g_autoptr (WsCalibration) calibration = ws_calibration_load (fixture->path, &error);
  assert_null (error);
  assert_string_equal (calibration->camera, "other");
}

static void
a_pinhole_without_sense (void **state)
{
  const Fixture *fixture = *state;
  static const char *const lines[][3] = {
    { "fx_px=", "fx_px=-9725", "fx_px" },
    { "fy_px=", "fy_px=0", "fy_px" },
    { "tz_mm=", "tz_mm=-131", "tz_mm" },
    { "tz_mm=", "tz_mm=1e300", "scale" },
  };
  g_autofree char *text = NULL;
  g_autoptr (WsCalibration) calibration = pinhole ();
  assert_true (ws_calibration_save (calibration, fixture->path, NULL));
  assert_true (g_file_get_contents (fixture->path, &text, NULL, NULL));
  for (gsize i = 0; i < G_N_ELEMENTS (lines); i++)
  {
    g_autofree char *wrong = with_line (text, lines[i][0], lines[i][1]);
    assert_refused (fixture, wrong, strlen (wrong), lines[i][2]);
  }
}

/* Random bytes and shuffled lines, sealed so that they come past the checksum. */
static void
garbage_is_refused (void **state)
{
  gsize length;
  g_autofree char *text = good_text (*state, &length);
  g_autoptr (GRand) random = g_rand_new_with_seed (5);
  for (int trial = 0; trial < 300; trial++)
  {
    g_autofree char *body = g_strndup (text, (gsize)(strstr (text, "[checksum]") - text));
    const gint32 n = (gint32)strlen (body);
    for (int i = 0; i < 1 + trial % 30; i++)
      body[g_rand_int_range (random, 0, n)] = (char)g_rand_int_range (random, 1, 256);
    g_autofree char *sealed = seal (body);
    const Fixture *fixture = *state;
    g_autoptr (GError) error = NULL;
    assert_true (g_file_set_contents (fixture->path, sealed, -1, NULL));
    g_autoptr (WsCalibration) calibration = ws_calibration_load (fixture->path, &error);
    /* A changed digit may pass: it is sealed.  Neither or both would be a mistake. */
    assert_true ((calibration == NULL) == (error != NULL));
  }
}

static void
a_missing_file_is_no_input (void **state)
{
  const Fixture *fixture = *state;
  const char *const paths[] = { "/nonexistent/a.calib", fixture->folder };
  for (gsize i = 0; i < G_N_ELEMENTS (paths); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_null (ws_calibration_load (paths[i], &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  }
}

/* ---- Use -------------------------------------------------------------------------- */

static void
fits_its_own_pictures_only (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsCalibration) calibration = telecentric ();
  assert_true (ws_calibration_fits (calibration, 1600, 1200, &error));
  assert_null (error);
  assert_false (ws_calibration_fits (calibration, 1200, 1600, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  assert_contains (error->message, "1200 x 1600");
}

static void
expires_on_the_second (void **state)
{
  (void)state;
  g_autoptr (WsCalibration) calibration = pinhole ();
  g_autoptr (GDateTime) before = g_date_time_add_seconds (calibration->expires, -1);
  assert_false (ws_calibration_expired (calibration, before));
  assert_true (ws_calibration_expired (calibration, calibration->expires));
  g_clear_pointer (&calibration->expires, g_date_time_unref);
  assert_false (ws_calibration_expired (calibration, before));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (what_is_saved_is_loaded),
    cmocka_unit_test (the_sha256_is_the_files),
    cmocka_unit_test (ids_differ),
    cmocka_unit_test (texts_become_one_line),
    cmocka_unit_test (a_lens_without_sense_is_not_saved),
    cmocka_unit_test (an_unwritable_place),
    cmocka_unit_test (every_truncation_is_found),
    cmocka_unit_test (every_changed_byte_is_found),
    cmocka_unit_test (more_at_the_end_is_found),
    cmocka_unit_test (names_what_is_wrong),
    cmocka_unit_test (a_sealed_text_is_taken),
    cmocka_unit_test (a_pinhole_without_sense),
    cmocka_unit_test (garbage_is_refused),
    cmocka_unit_test (a_missing_file_is_no_input),
    cmocka_unit_test (fits_its_own_pictures_only),
    cmocka_unit_test (expires_on_the_second),
  };
  return cmocka_run_group_tests (tests, set_up, file_tear_down);
}
