/*
 * `whetsight verify` as a user would run it, on pictures of pins and rings of known size.
 */
#include "maths/control.h"
#include "optics/calibration.h"
#include "optics/lens.h"
#include "optics/testing.h"

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/checks.h>

#define MM_PER_PX 0.02

typedef struct
{
  char *folder, *calibration, *checks;
  char *pin, *ring, *blank, *small, *board;
} Fixture;

/* What a run left. */
typedef struct
{
  int status;
  char *out, *err;
} Run;

static void
run_clear (Run *run)
{
  g_free (run->out);
  g_free (run->err);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

static char *
file_in (const Fixture *fixture, const char *name)
{
  return g_build_filename (fixture->folder, name, NULL);
}

static char *
save_picture (const Fixture *fixture, const char *name, const ScenePolygon *polygons, gsize n,
              guint width)
{
  char *path = file_in (fixture, name);
  SceneCamera camera = plain_camera (width, 600);
  camera.tagged = TRUE; /* linear light, which the file has to say */
  g_autoptr (SceneImage) scene = scene_render_polygons (polygons, n, &camera);
  assert_true (scene_image_save (scene, path, 0));
  return path;
}

#define BOARD_COLUMNS 12 /* squares: one more than inner corners */
#define BOARD_ROWS 9
#define SQUARE_PX (1 / MM_PER_PX)

/* A board of 12 x 9 squares of 1 mm. */
static char *
take_board (const Fixture *fixture)
{
  ScenePoint corners[BOARD_COLUMNS * BOARD_ROWS][4];
  ScenePolygon squares[BOARD_COLUMNS * BOARD_ROWS];
  gsize n = 0;
  for (guint row = 0; row < BOARD_ROWS; row++)
    for (guint column = row % 2; column < BOARD_COLUMNS; column += 2)
    {
      const WsPoint middle = { 120.3 + SQUARE_PX * column, 95.7 + SQUARE_PX * row };
      const PinShape square = { middle, 0, SQUARE_PX, SQUARE_PX };
      pin_corners (&square, corners[n]);
      squares[n] = (ScenePolygon){ corners[n], 4, 1.0 };
      n++;
    }
  return save_picture (fixture, "board.png", squares, n, 800);
}

/* A pin of 4 mm, a ring of 8 and 5 mm. */
static void
take_pictures (Fixture *fixture)
{
  ScenePoint corners[4], outer[CIRCLE_CORNERS], inner[CIRCLE_CORNERS];
  const PinShape shape = { { 390.3, 310.7 }, 17, 3000, 4 / MM_PER_PX };
  pin_corners (&shape, corners);
  circle_corners (wsi_point (401, 298.3), 4 / MM_PER_PX, outer);
  circle_corners (wsi_point (401, 298.3), 2.5 / MM_PER_PX, inner);
  const ScenePolygon pin = { corners, 4, 1.0 };
  const ScenePolygon ring[] = { { outer, CIRCLE_CORNERS, 1.0 }, { inner, CIRCLE_CORNERS, -1.0 } };
  fixture->pin = save_picture (fixture, "pin.png", &pin, 1, 800);
  fixture->ring = save_picture (fixture, "ring.png", ring, 2, 800);
  fixture->blank = save_picture (fixture, "blank.png", NULL, 0, 800);
  fixture->small = save_picture (fixture, "small.png", &pin, 1, 640);
  fixture->board = take_board (fixture);
}

static void
make_calibration (const Fixture *fixture)
{
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("pin", "bench 1");
  calibration->lens = (WsLens){ .model = WS_LENS_TELECENTRIC,
                                .width = 800,
                                .height = 600,
                                .parameters = { 0, MM_PER_PX, 0 },
                                .residual_px = 0.01 };
  calibration->lens.covariance[WS_LENS_T_SCALE * (WS_LENS_T_N + 1)] = 2e-6 * 2e-6;
  assert_true (ws_calibration_save (calibration, fixture->calibration, NULL));
}

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-verify-XXXXXX", NULL);
  fixture->calibration = file_in (fixture, "bench.calib");
  fixture->checks = file_in (fixture, "bench.checks.csv");
  take_pictures (fixture);
  make_calibration (fixture);
  *state = fixture;
  return g_getenv ("WHETSIGHT") == NULL;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  g_autoptr (GDir) dir = g_dir_open (fixture->folder, 0, NULL);
  for (const char *name; (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = file_in (fixture, name);
    g_unlink (path);
  }
  g_rmdir (fixture->folder);
  char **const texts[] = { &fixture->folder, &fixture->calibration, &fixture->checks,
                           &fixture->pin,    &fixture->ring,        &fixture->blank,
                           &fixture->small,  &fixture->board };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (*texts[i]);
  g_free (fixture);
  return 0;
}

/* `whetsight verify` with these arguments, which end in NULL. */
static Run
verify (const char *argument, ...)
{
  Run run = { .status = -1 };
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  g_autoptr (GError) error = NULL;
  va_list rest;
  int wait_status;
  g_ptr_array_add (call, (gpointer)g_getenv ("WHETSIGHT"));
  g_ptr_array_add (call, (gpointer) "verify");
  va_start (rest, argument);
  for (; argument != NULL; argument = va_arg (rest, const char *))
    g_ptr_array_add (call, (gpointer)argument);
  va_end (rest);
  g_ptr_array_add (call, NULL);
  g_spawn_sync (NULL, (char **)call->pdata, NULL, G_SPAWN_DEFAULT, NULL, NULL, &run.out, &run.err,
                &wait_status, &error);
  assert_null (error);
  if (g_spawn_check_wait_status (wait_status, &error))
    run.status = 0;
  else if (error->domain == G_SPAWN_EXIT_ERROR)
    run.status = error->code;
  return run;
}

static guint
count_checks (const Fixture *fixture)
{
  g_autoptr (GPtrArray) checks = ws_checks_load (fixture->checks, NULL);
  assert_non_null (checks);
  return checks->len;
}

static double
real_of (const json_t *object, const char *key)
{
  assert_true (json_is_number (json_object_get (object, key)));
  return json_number_value (json_object_get (object, key));
}

/* ---- Pass and fail ---------------------------------------------------------------- */

static void
a_true_pin_passes (void **state)
{
  const Fixture *f = *state;
  g_auto (Run) run = verify ("--calib", f->calibration, "--pin", "4", "--diameter-u", "0.0005",
                             "--json", f->pin, NULL);
  assert_int_equal (run.status, 0);
  assert_string_equal (run.err, "");
  json_t *line = json_loads (run.out, 0, NULL);
  assert_string_equal (json_string_value (json_object_get (line, "file")), "pin.png");
  assert_string_equal (json_string_value (json_object_get (line, "quantity")), "diameter_mm");
  assert_true (json_is_true (json_object_get (line, "pass")));
  assert_near (real_of (line, "reference"), 4, 0);
  assert_near (real_of (line, "U_reference"), 0.001, 1e-12);
  assert_near (real_of (line, "deviation"), real_of (line, "value") - 4, 1e-9);
  assert_near (real_of (line, "E_n"),
               real_of (line, "deviation") / hypot (real_of (line, "U"), 0.001), 1e-6);
  /* The scale alone: 2 x 4 mm x 0.01 %. */
  assert_true (real_of (line, "U") > 0.0008 && real_of (line, "U") < 0.004);
  json_decref (line);
  assert_int_equal (count_checks (f), 1);
}

static void
a_wrong_pin_fails_until_a_pass (void **state)
{
  const Fixture *f = *state;
  g_auto (Run) wrong =
    verify ("--calib", f->calibration, "--pin", "4.02", "--diameter-u", "0.0005", f->pin, NULL);
  assert_int_equal (wrong.status, 1);
  assert_contains (wrong.out, "FAIL\n");
  assert_true (g_regex_match_simple ("^FAILED since [0-9]{4}-[0-9-]{5} [0-9:]{8} UTC: ", wrong.out,
                                     G_REGEX_MULTILINE, 0));
  g_auto (Run) right = verify ("--calib", f->calibration, "--pin", "4", f->pin, NULL);
  assert_int_equal (right.status, 0);
  assert_contains (right.out, "pin.png: diameter 4.000");
  assert_contains (right.out, "mm taken as exact");
  assert_contains (right.out, "PASSED");
  assert_int_equal (count_checks (f), 2);
}

static void
a_ring_has_two_sizes (void **state)
{
  const Fixture *f = *state;
  g_auto (Run) both = verify ("--calib", f->calibration, "--outer", "8", "--inner", "5",
                              "--diameter-u", "0.0005", "--json", f->ring, NULL);
  assert_int_equal (both.status, 0);
  assert_contains (both.out, "\"outer_mm\"");
  assert_contains (both.out, "\"inner_mm\"");
  g_auto (Run) inner = verify ("--calib", f->calibration, "--inner", "5.05", f->ring, NULL);
  assert_int_equal (inner.status, 1);
  assert_lacks (inner.out, "outer");
  assert_int_equal (count_checks (f), 3);
}

static void
a_board_has_squares (void **state)
{
  const Fixture *f = *state;
  g_auto (Run) right =
    verify ("--calib", f->calibration, "--target", "--columns", "11", "--rows", "8", "--square",
            "1", "--square-u", "0.00005", "--json", f->board, NULL);
  assert_int_equal (right.status, 0);
  json_t *line = json_loads (right.out, 0, NULL);
  assert_string_equal (json_string_value (json_object_get (line, "quantity")), "square_mm");
  assert_near (real_of (line, "value"), 1, 0.0001);
  json_decref (line);
  g_auto (Run) wrong = verify ("--calib", f->calibration, "--target", "--columns", "11", "--rows",
                               "8", "--square", "1.002", f->board, NULL);
  assert_int_equal (wrong.status, 1);
  g_auto (Run) no_board = verify ("--calib", f->calibration, "--target", "--columns", "11",
                                  "--rows", "8", "--square", "1", f->pin, NULL);
  assert_int_equal (no_board.status, 3);
  assert_contains (no_board.err, "pin.png: can't be measured");
  assert_int_equal (count_checks (f), 2);
}

static void
a_list_names_pictures_beside_it (void **state)
{
  const Fixture *f = *state;
  g_autofree char *list = file_in (f, "list.csv");
  const char *text = "file,diameter_mm,u_mm\npin.png,4,0.0005\nblank.png,4,0.0005\n";
  assert_true (g_file_set_contents (list, text, -1, NULL));
  g_auto (Run) run = verify ("--calib", f->calibration, "--shots", list, "--json", NULL);
  assert_int_equal (run.status, 3);
  assert_contains (run.out, "{\"file\":\"blank.png\",\"reason\":\"no-tool\",\"pass\":null}");
  assert_contains (run.err, "blank.png: can't be measured");
  assert_int_equal (count_checks (f), 1);
}

/* ---- Chart and drift -------------------------------------------------------------- */

static void
draws_charts (void **state)
{
  const Fixture *f = *state;
  g_autofree char *png = file_in (f, "chart.png"), *svg = file_in (f, "chart.svg");
  g_autofree char *text = NULL;
  g_auto (Run) first =
    verify ("--calib", f->calibration, "--pin", "4", "--chart", png, f->pin, NULL);
  assert_int_equal (first.status, 0);
  g_auto (Run) second =
    verify ("--calib", f->calibration, "--pin", "4", "--chart", svg, f->pin, NULL);
  assert_int_equal (second.status, 0);
  assert_true (g_file_get_contents (png, &text, NULL, NULL));
  assert_memory_equal (text, "\x89PNG", 4);
  g_free (text);
  assert_true (g_file_get_contents (svg, &text, NULL, NULL));
  assert_true (g_str_has_prefix (text, "<?xml"));
}

static void
drift_is_told (void **state)
{
  const Fixture *f = *state;
  g_autoptr (WsCalibration) calibration = ws_calibration_load (f->calibration, NULL);
  for (guint i = 0; i < WS_CONTROL_RUN_LENGTH - 1; i++)
  {
    g_autofree char *name = g_strdup_printf ("r%u", i);
    g_autoptr (GPtrArray) checks = ws_checks_new ();
    WsCheck *check = ws_check_new (name, "diameter_mm", 3.999 + 1e-5 * i, 0.002, 4, 0.001);
    check->calibration = g_strdup (calibration->id);
    check->file = g_strdup ("a.png");
    check->sha256 = g_strdup ("00");
    g_strlcpy (check->time, "2026-11-01T06:00:00Z", sizeof check->time);
    g_ptr_array_add (checks, check);
    g_ptr_array_unref (ws_checks_append (f->calibration, checks, NULL));
  }
  g_auto (Run) run = verify ("--calib", f->calibration, "--pin", "4", f->pin, NULL);
  assert_int_equal (run.status, 0);
  assert_contains (run.err, "diameter 4 mm");
}

/* The calibration's own picture proves nothing, an expired calibration stays expired. */
static void
warnings (void **state)
{
  const Fixture *f = *state;
  char *bytes = NULL;
  gsize n;
  g_autoptr (WsCalibration) calibration = ws_calibration_load (f->calibration, NULL);
  assert_true (g_file_get_contents (f->pin, &bytes, &n, NULL));
  g_autofree char *sha256 =
    g_compute_checksum_for_data (G_CHECKSUM_SHA256, (const guchar *)bytes, n);
  g_free (bytes);
  wsi_calibration_add_source (calibration, "pin.png", sha256, NULL, NAN);
  calibration->expires = g_date_time_new_utc (2020, 1, 1, 0, 0, 0);
  assert_true (ws_calibration_save (calibration, f->calibration, NULL));
  g_auto (Run) run = verify ("--calib", f->calibration, "--pin", "4", f->pin, NULL);
  assert_int_equal (run.status, 0);
  assert_contains (run.err, "bench.calib: has expired");
  assert_contains (run.err, "pin.png: the calibration was made from this very picture");
}

/* ---- What can't be ---------------------------------------------------------------- */

static void
assert_refused (const Run *run, int status, const char *part)
{
  assert_int_equal (run->status, status);
  assert_contains (run->err, part);
  assert_string_equal (strchr (run->err, '\n'), "\n");
}

static void
wrong_calls (void **state)
{
  const Fixture *f = *state;
  const char *c = f->calibration;
  g_auto (Run) no_calibration = verify ("--pin", "4", f->pin, NULL);
  assert_refused (&no_calibration, 64, "--calib");
  g_auto (Run) no_size = verify ("--calib", c, f->pin, NULL);
  assert_refused (&no_size, 64, "--pin");
  g_auto (Run) no_picture = verify ("--calib", c, "--pin", "4", NULL);
  assert_refused (&no_picture, 64, "picture");
  g_auto (Run) two_sizes = verify ("--calib", c, "--pin", "4", "--outer", "4", f->pin, NULL);
  assert_refused (&two_sizes, 64, "--pin");
  g_auto (Run) comma = verify ("--calib", c, "--pin", "4,0", f->pin, NULL);
  assert_refused (&comma, 64, "decimal point");
  g_auto (Run) negative = verify ("--calib", c, "--pin", "4", "--diameter-u", "-1", f->pin, NULL);
  assert_refused (&negative, 64, "--diameter-u");
  g_auto (Run) hole = verify ("--calib", c, "--outer", "4", "--inner", "5", f->ring, NULL);
  assert_refused (&hole, 64, "--inner");
  g_auto (Run) chart = verify ("--calib", c, "--pin", "4", "--chart", "a.pdf", f->pin, NULL);
  assert_refused (&chart, 64, ".svg");
  g_auto (Run) board = verify ("--calib", c, "--target", "--square", "1", f->board, NULL);
  assert_refused (&board, 64, "--columns");
  g_auto (Run) square =
    verify ("--calib", c, "--target", "--columns", "11", "--rows", "8", f->board, NULL);
  assert_refused (&square, 64, "--square");
  g_auto (Run) list = verify ("--calib", c, "--shots", "a.csv", f->pin, NULL);
  assert_refused (&list, 64, "--shots");
  assert_int_equal (count_checks (f), 0);
}

static void
unusable_inputs (void **state)
{
  const Fixture *f = *state;
  g_auto (Run) missing = verify ("--calib", f->calibration, "--pin", "4", "/none.png", NULL);
  assert_refused (&missing, 66, "none.png");
  g_auto (Run) no_picture = verify ("--calib", f->calibration, "--pin", "4", f->calibration, NULL);
  assert_refused (&no_picture, 65, "bench.calib");
  g_auto (Run) other_size = verify ("--calib", f->calibration, "--pin", "4", f->small, NULL);
  assert_refused (&other_size, 65, "small.png: the picture has 640 x 600");
  g_auto (Run) blank = verify ("--calib", f->calibration, "--pin", "4", f->blank, NULL);
  assert_refused (&blank, 3, "blank.png: can't be measured");
  g_auto (Run) no_calibration = verify ("--calib", "/none.calib", "--pin", "4", f->pin, NULL);
  assert_refused (&no_calibration, 66, "none.calib");
  g_auto (Run) bad_calibration = verify ("--calib", f->pin, "--pin", "4", f->pin, NULL);
  assert_refused (&bad_calibration, 65, "pin.png");
  assert_int_equal (count_checks (f), 0);
}

static void
a_damaged_history_is_kept (void **state)
{
  const Fixture *f = *state;
  g_autofree char *after = NULL;
  assert_true (g_file_set_contents (f->checks, "not a table\n", -1, NULL));
  g_auto (Run) run = verify ("--calib", f->calibration, "--pin", "4", f->pin, NULL);
  assert_refused (&run, 65, "bench.checks.csv");
  assert_true (g_file_get_contents (f->checks, &after, NULL, NULL));
  assert_string_equal (after, "not a table\n");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (a_true_pin_passes, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_wrong_pin_fails_until_a_pass, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_ring_has_two_sizes, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_board_has_squares, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_list_names_pictures_beside_it, set_up, tear_down),
    cmocka_unit_test_setup_teardown (draws_charts, set_up, tear_down),
    cmocka_unit_test_setup_teardown (drift_is_told, set_up, tear_down),
    cmocka_unit_test_setup_teardown (warnings, set_up, tear_down),
    cmocka_unit_test_setup_teardown (wrong_calls, set_up, tear_down),
    cmocka_unit_test_setup_teardown (unusable_inputs, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_damaged_history_is_kept, set_up, tear_down),
  };
  g_setenv ("TZ", "UTC0", TRUE);
  return cmocka_run_group_tests (tests, NULL, NULL);
}
