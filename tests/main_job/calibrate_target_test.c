/*
 * Calibration by a chessboard, end to end: the program calibrates from pictures of boards, and
 * what it keeps is set beside the truth.
 *
 * The pictures are rendered here; published photographs and those of another generator are used
 * as well where they are found, else their tests are skipped and say so.
 */
#include "base/testing.h"
#include "optics/calibration.h"
#include "optics/lens.h"
#include "scene/scene.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <sys/wait.h>

/* --- Running the program ------------------------------------------------------- */

typedef struct
{
  int status;
  char *output, *errors;
  WsCalibration *calibration; /* NULL without one */
} Run;

static void
run_clear (Run *run)
{
  g_free (run->output);
  g_free (run->errors);
  ws_calibration_free (run->calibration);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

/* `options` as one text, then the pictures; `out` is where the calibration goes. */
static Run
calibrate (const char *options, const GPtrArray *pictures, const char *out)
{
  Run run = { 0 };
  int status = 0;
  g_auto (GStrv) words = g_strsplit (options, " ", -1);
  g_autoptr (GPtrArray) argv = g_ptr_array_new ();
  g_ptr_array_add (argv, (gpointer)trial_program ());
  g_ptr_array_add (argv, (gpointer) "calibrate");
  g_ptr_array_add (argv, (gpointer) "target");
  for (guint i = 0; words[i] != NULL; i++)
    g_ptr_array_add (argv, words[i]);
  g_ptr_array_add (argv, (gpointer) "--out");
  g_ptr_array_add (argv, (gpointer)out);
  for (guint i = 0; i < pictures->len; i++)
    g_ptr_array_add (argv, g_ptr_array_index (pictures, i));
  g_ptr_array_add (argv, NULL);
  assert_true (g_spawn_sync (NULL, (char **)argv->pdata, NULL, G_SPAWN_DEFAULT, NULL, NULL,
                             &run.output, &run.errors, &status, NULL));
  run.status = WIFEXITED (status) ? WEXITSTATUS (status) : -1;
  if (run.status == 0)
    run.calibration = ws_calibration_load (out, NULL);
  else
    print_message ("%s", run.errors);
  return run;
}

/* Why a picture was left out, or NULL. */
static const char *
rejection_of (const WsCalibration *calibration, const char *name)
{
  for (guint i = 0; i < calibration->sources->len; i++)
  {
    const WsCalibrationSource *source = g_ptr_array_index (calibration->sources, i);
    if (g_str_has_suffix (source->name, name))
      return source->rejected;
  }
  fail_msg ("%s isn't among the sources", name);
  return NULL;
}

static guint
count_rejected (const WsCalibration *calibration)
{
  guint n = 0;
  for (guint i = 0; i < calibration->sources->len; i++)
    if (((const WsCalibrationSource *)g_ptr_array_index (calibration->sources, i))->rejected)
      n++;
  return n;
}

static void
assert_within_U (double value, double truth, double u)
{
  print_message ("%.7g, truth %.7g, U %.2g\n", value, truth, 2 * u);
  assert_near (value, truth, 2 * u);
}

/* --- Rendered boards ---------------------------------------------------------------- */

#define WIDTH 1000
#define HEIGHT 750
#define FOCUS 5000.0
#define RADIAL -1.2 /* Brown's k1 */
#define DISTANCE 110.0
#define SQUARE 1.5
#define COLUMNS 9
#define ROWS 6
#define SIDE_PARTS 6 /* of a square's side, which distortion bends */
#define BOARD "--columns 9 --rows 6 --square 1.5"

/* Turned about x, then y, then z, degrees; the board's middle at (x, y, z), mm. */
typedef struct
{
  double turn[3];
  double x, y, z;
} Pose;

static const Pose poses[] = {
  { { 22, 2, 4 }, 0.5, 1.0, 110 },     { { -20, 5, -3 }, -2.0, 0, 112 },
  { { 3, 24, 0 }, 1.8, -1.2, 108 },    { { 0, -21, 10 }, -1.0, 1.2, 113 },
  { { 15, 16, 178 }, 0.8, -0.4, 114 }, { { 0, 0, 1.5 }, 0.2, -0.1, DISTANCE },
};
#define N_POSES G_N_ELEMENTS (poses)

static const Pose cut_pose = { { 10, 0, 0 }, 6.0, 0, 110 };

static void
turn_about (double *a, double *b, double degrees)
{
  const double c = cos (degrees * G_PI / 180), s = sin (degrees * G_PI / 180);
  const double first = c * *a - s * *b;
  *b = s * *a + c * *b;
  *a = first;
}

static ScenePoint
look_at (const Pose *pose, double x, double y)
{
  double z = 0;
  turn_about (&y, &z, pose->turn[0]);
  turn_about (&z, &x, pose->turn[1]);
  turn_about (&x, &y, pose->turn[2]);
  const double u = (x + pose->x) / (z + pose->z), v = (y + pose->y) / (z + pose->z);
  const double growth = FOCUS * (1 + RADIAL * (u * u + v * v));
  return (ScenePoint){ 0.5 * (WIDTH - 1) + growth * u, 0.5 * (HEIGHT - 1) + growth * v };
}

/* The square whose lower corner is (x, y) squares from the board's middle. */
static ScenePolygon
square_at (const Pose *pose, double x, double y)
{
  static const double corners[5][2] = { { 0, 0 }, { 1, 0 }, { 1, 1 }, { 0, 1 }, { 0, 0 } };
  ScenePolygon square = { g_new (ScenePoint, 4 * SIDE_PARTS), 4 * SIDE_PARTS, 1.0 };
  for (guint i = 0; i < 4 * SIDE_PARTS; i++)
  {
    const double *from = corners[i / SIDE_PARTS], *to = corners[i / SIDE_PARTS + 1];
    const double t = (double)(i % SIDE_PARTS) / SIDE_PARTS;
    square.points[i] = look_at (pose, SQUARE * (x + from[0] + t * (to[0] - from[0])),
                                SQUARE * (y + from[1] + t * (to[1] - from[1])));
  }
  return square;
}

static void
take_board (const Pose *pose, double blur_px, guint64 seed, const char *path)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.width = WIDTH;
  camera.height = HEIGHT;
  camera.blur_px = blur_px;
  camera.shot = 0.005;
  camera.read = 0.002;
  camera.seed = seed;
  ScenePolygon squares[(COLUMNS + 1) * (ROWS + 1)];
  guint n = 0;
  for (guint y = 0; y <= ROWS; y++)
    for (guint x = y % 2; x <= COLUMNS; x += 2)
      squares[n++] = square_at (pose, x - 0.5 * (COLUMNS + 1), y - 0.5 * (ROWS + 1));
  g_autoptr (SceneImage) image = scene_render_polygons (squares, n, &camera);
  assert_true (scene_image_save (image, path, 0));
  for (guint i = 0; i < n; i++)
    scene_polygon_clear (&squares[i]);
}

typedef struct
{
  char *folder;
  char *out;
  GPtrArray *pictures;
} Fixture;

static char *
name_in (const Fixture *fixture, const char *name)
{
  return g_build_filename (fixture->folder, name, NULL);
}

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-target-XXXXXX", NULL);
  fixture->out = name_in (fixture, "bench.calib");
  fixture->pictures = g_ptr_array_new_with_free_func (g_free);
  *state = fixture;
  return fixture->folder == NULL;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  g_autoptr (GDir) dir = g_dir_open (fixture->folder, 0, NULL);
  for (const char *name = g_dir_read_name (dir); name != NULL; name = g_dir_read_name (dir))
  {
    g_autofree char *path = name_in (fixture, name);
    g_unlink (path);
  }
  g_rmdir (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture->out);
  g_ptr_array_unref (fixture->pictures);
  g_free (fixture);
  return 0;
}

/* Pictures are taken once for all tests, since that takes longer than calibrating. */
static void
add_board (Fixture *fixture, const Pose *pose, double blur_px, const char *name)
{
  char *path = name_in (fixture, name);
  if (!g_file_test (path, G_FILE_TEST_EXISTS))
    take_board (pose, blur_px, g_str_hash (name), path);
  g_ptr_array_add (fixture->pictures, path);
}

static void
add_good_boards (Fixture *fixture)
{
  for (guint i = 0; i < N_POSES; i++)
  {
    g_autofree char *name = g_strdup_printf ("good-%u.png", i);
    add_board (fixture, &poses[i], 1.0, name);
  }
}

/* The board of the last good picture lies in the plane. */
static Run
calibrate_fixture (const Fixture *fixture)
{
  g_autofree char *plane = name_in (fixture, "good-5.png");
  g_autofree char *options = g_strdup_printf (BOARD " --square-u 0.0001 --plane %s", plane);
  return calibrate (options, fixture->pictures, fixture->out);
}

/* Of the last test. */
static int
forget_pictures (void **state)
{
  Fixture *fixture = *state;
  g_ptr_array_set_size (fixture->pictures, 0);
  return 0;
}

static void
rendered_boards_give_the_camera (void **state)
{
  Fixture *fixture = *state;
  add_good_boards (fixture);
  g_auto (Run) run = calibrate_fixture (fixture);
  assert_int_equal (run.status, 0);
  const WsLens *lens = &run.calibration->lens;
  assert_int_equal (lens->model, WS_LENS_PINHOLE);
  assert_within_U (ws_lens_mm_per_px (lens), DISTANCE / FOCUS, ws_lens_u_mm_per_px (lens));
  assert_within_U (lens->parameters[WS_LENS_P_FX], FOCUS,
                   sqrt (lens->covariance[WS_LENS_P_FX * WS_LENS_P_N + WS_LENS_P_FX]));
  assert_true (ws_lens_u_mm_per_px (lens) < 1e-4 * ws_lens_mm_per_px (lens));
  assert_true (lens->residual_px < 0.06);
  assert_int_equal (count_rejected (run.calibration), 0);
  assert_contains (run.output, "mm_per_px");
  g_autofree char *chart = name_in (fixture, "bench.residuals.png");
  assert_true (g_file_test (chart, G_FILE_TEST_IS_REGULAR));
}

/* Half of a good picture's file. */
static void
add_damaged (Fixture *fixture, const char *name)
{
  g_autofree char *bytes = NULL;
  gsize n = 0;
  char *path = name_in (fixture, name);
  assert_true (g_file_get_contents (g_ptr_array_index (fixture->pictures, 0), &bytes, &n, NULL));
  assert_true (g_file_set_contents (path, bytes, (gssize)(n / 2), NULL));
  g_ptr_array_add (fixture->pictures, path);
}

static void
poor_pictures_are_left_out (void **state)
{
  Fixture *fixture = *state;
  add_good_boards (fixture);
  add_board (fixture, &cut_pose, 1.0, "cut.png");
  add_board (fixture, &poses[0], 5.0, "blurred.png");
  add_damaged (fixture, "damaged.png");
  g_auto (Run) run = calibrate_fixture (fixture);
  assert_int_equal (run.status, 0);
  assert_int_equal (count_rejected (run.calibration), 3);
  assert_contains (rejection_of (run.calibration, "cut.png"), "cut by the frame");
  assert_contains (rejection_of (run.calibration, "blurred.png"), "blurred");
  assert_contains (rejection_of (run.calibration, "damaged.png"), "damaged");
  assert_contains (run.output, "cut.png");
  assert_within_U (ws_lens_mm_per_px (&run.calibration->lens), DISTANCE / FOCUS,
                   ws_lens_u_mm_per_px (&run.calibration->lens));
}

static void
too_few_boards_leave_the_old_file (void **state)
{
  Fixture *fixture = *state;
  g_autofree char *left = NULL;
  add_board (fixture, &poses[0], 1.0, "good-0.png");
  add_board (fixture, &poses[5], 1.0, "good-5.png");
  assert_true (g_file_set_contents (fixture->out, "old", -1, NULL));
  g_auto (Run) run = calibrate_fixture (fixture);
  assert_int_equal (run.status, 65);
  assert_contains (run.errors, "at least 3");
  assert_true (g_file_get_contents (fixture->out, &left, NULL, NULL));
  assert_string_equal (left, "old");
}

static void
assert_status (const Fixture *fixture, const char *options, int status, const char *why)
{
  g_auto (Run) run = calibrate (options, fixture->pictures, fixture->out);
  assert_int_equal (run.status, status);
  assert_contains (run.errors, why);
}

static void
wrong_calls_are_told (void **state)
{
  Fixture *fixture = *state;
  add_board (fixture, &poses[0], 1.0, "good-0.png");
  assert_status (fixture, BOARD, 64, "--plane");
  assert_status (fixture, "--columns 9 --rows 6 --plane good-5.png", 64, "--square");
  assert_status (fixture, "--columns 9.5 --rows 6 --square 1 --plane good-5.png", 64, "--columns");
  assert_status (fixture, BOARD " --plane nowhere.png", 66, "nowhere.png");
  assert_status (fixture, BOARD " --telecentric --valid-days soon", 64, "--valid-days");
}

/* A short stretch in the middle of a pinhole's picture is as good as telecentric. */
static void
one_board_gives_a_telecentric_scale (void **state)
{
  Fixture *fixture = *state;
  add_board (fixture, &poses[5], 1.0, "good-5.png");
  g_auto (Run) run = calibrate (BOARD " --telecentric", fixture->pictures, fixture->out);
  assert_int_equal (run.status, 0);
  const WsLens *lens = &run.calibration->lens;
  assert_int_equal (lens->model, WS_LENS_TELECENTRIC);
  assert_near (lens->parameters[WS_LENS_T_SCALE] * FOCUS / DISTANCE, 1, 1e-3);
}

/* --- Published photographs ------------------------------------------------------------ */

/* Of Debian's package opencv-doc 4.6.0+dfsg-12: 13 photographs of a board of 9 x 6 inner corners
 * and 25 mm squares. */
#define PHOTOGRAPHS "/usr/share/doc/opencv-doc/examples/data"

static GPtrArray *
photographs (void)
{
  GPtrArray *pictures = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 1; i <= 14; i++)
  {
    char *path = g_strdup_printf (PHOTOGRAPHS "/left%02u.jpg", i);
    if (g_file_test (path, G_FILE_TEST_IS_REGULAR))
      g_ptr_array_add (pictures, path);
    else
      g_free (path);
  }
  if (pictures->len == 13)
    return pictures;
  print_message ("skipped: no photographs in " PHOTOGRAPHS "; install opencv-doc\n");
  g_ptr_array_unref (pictures);
  return NULL;
}

/* The package's left_intrinsics.yml, from all 13: f 535.916, centre (342.283, 235.571), RMS
 * 0.39259 px.  In left02 the squares of the outer rows are narrower than the neighbourhood that
 * corners are found in. */
static void
published_photographs_give_the_published_camera (void **state)
{
  Fixture *fixture = *state;
  g_autoptr (GPtrArray) pictures = photographs ();
  if (pictures == NULL)
    skip ();
  g_auto (Run) run = calibrate (
    "--columns 9 --rows 6 --square 25 --plane " PHOTOGRAPHS "/left01.jpg", pictures, fixture->out);
  assert_int_equal (run.status, 0);
  const double *p = run.calibration->lens.parameters;
  assert_near (p[WS_LENS_P_FX], 535.916, 3);
  assert_near (p[WS_LENS_P_FY], 535.916, 3);
  assert_near (p[WS_LENS_P_CX], 342.283, 3);
  assert_near (p[WS_LENS_P_CY], 235.571, 3);
  const char *rms = strstr (run.output, "RMS ");
  assert_non_null (rms);
  assert_near (g_ascii_strtod (rms + strlen ("RMS "), NULL), 0.425, 0.075);
  assert_int_equal (count_rejected (run.calibration), 1);
  assert_contains (rejection_of (run.calibration, "left02.jpg"), "off the model");
}

/* --- Another generator's boards ---------------------------------------------------------- */

static double
number_in (const json_t *object, const char *name)
{
  const json_t *number = json_object_get (object, name);
  assert_true (json_is_number (number));
  return json_number_value (number);
}

static WsLens
true_lens (const json_t *camera)
{
  WsLens lens = { .model = WS_LENS_PINHOLE,
                  .width = (guint)number_in (camera, "width"),
                  .height = (guint)number_in (camera, "height") };
  double *p = lens.parameters;
  p[WS_LENS_P_FX] = p[WS_LENS_P_FY] = number_in (camera, "f_px");
  p[WS_LENS_P_CX] = number_in (camera, "cx");
  p[WS_LENS_P_CY] = number_in (camera, "cy");
  p[WS_LENS_P_K1] = number_in (camera, "k1_brown");
  p[WS_LENS_P_K2] = number_in (camera, "k2_brown");
  p[WS_LENS_P_TZ] = number_in (camera, "distance_mm");
  return lens;
}

/* How far the calibration's ideal picture is from the true one, over the whole field: a turn,
 * growth and shift apart, which its frame may differ by. */
static double
left_over_px (const WsLens *lens, const WsLens *truth)
{
  double sums[8] = { 0 }; /* n, x, y, X, Y, xx + yy, xX + yY, xY - yX */
  double squares = 0;
  for (guint pass = 0; pass < 2; pass++)
    for (guint i = 0; i < 25 * 19; i++)
    {
      const WsPoint at = { (lens->width - 1.0) * (i % 25) / 24.0,
                           (lens->height - 1.0) * (i / 25) / 18.0 };
      const WsPoint a = ws_lens_to_ideal (lens, at), b = ws_lens_to_ideal (truth, at);
      const double x = a.x - 0.5 * lens->width, y = a.y - 0.5 * lens->height;
      const double X = b.x - 0.5 * lens->width, Y = b.y - 0.5 * lens->height;
      if (pass == 0)
      {
        const double terms[8] = { 1, x, y, X, Y, x * x + y * y, x * X + y * Y, x * Y - y * X };
        for (guint k = 0; k < 8; k++)
          sums[k] += terms[k];
        continue;
      }
      const double n = sums[0], xx = sums[5] - (sums[1] * sums[1] + sums[2] * sums[2]) / n;
      const double c = (sums[6] - (sums[1] * sums[3] + sums[2] * sums[4]) / n) / xx;
      const double s = (sums[7] - (sums[1] * sums[4] - sums[2] * sums[3]) / n) / xx;
      const double dx = x - sums[1] / n, dy = y - sums[2] / n;
      squares +=
        pow (X - sums[3] / n - c * dx + s * dy, 2) + pow (Y - sums[4] / n - s * dx - c * dy, 2);
    }
  return sqrt (squares / sums[0]);
}

static GPtrArray *
pictures_in (const char *folder, const json_t *names)
{
  GPtrArray *pictures = g_ptr_array_new_with_free_func (g_free);
  gsize i;
  json_t *name;
  json_array_foreach (names, i, name)
    g_ptr_array_add (pictures, g_build_filename (folder, json_string_value (name), NULL));
  return pictures;
}

static void
check_reference (const char *folder, const json_t *entry, const char *out)
{
  const json_t *board = json_object_get (entry, "board"),
               *camera = json_object_get (entry, "camera");
  g_autoptr (GPtrArray) pictures = pictures_in (folder, json_object_get (board, "images"));
  g_autofree char *options = g_strdup_printf (
    "--columns %.0f --rows %.0f --square %g --plane %s/%s", number_in (board, "columns"),
    number_in (board, "rows"), number_in (board, "square_mm"), folder,
    json_string_value (json_object_get (board, "in_tool_plane")));
  g_auto (Run) run = calibrate (options, pictures, out);
  assert_int_equal (run.status, 0);
  const WsLens *lens = &run.calibration->lens;
  const WsLens truth = true_lens (camera);
  assert_within_U (ws_lens_mm_per_px (lens), number_in (camera, "mm_per_px"),
                   ws_lens_u_mm_per_px (lens));
  assert_within_U (lens->parameters[WS_LENS_P_FX], number_in (camera, "f_px"),
                   sqrt (lens->covariance[WS_LENS_P_FX * WS_LENS_P_N + WS_LENS_P_FX]));
  print_message ("distortion left over: %.4f px RMS\n", left_over_px (lens, &truth));
  assert_true (left_over_px (lens, &truth) < 0.02);
}

static void
reference_boards_give_the_camera (void **state)
{
  Fixture *fixture = *state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/pinhole");
  if (folder == NULL)
    skip ();
  g_autofree char *path = g_build_filename (folder, "truth-pinhole.json", NULL);
  json_t *list = json_load_file (path, 0, NULL);
  assert_true (json_is_array (list) && json_array_size (list) > 0);
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry) check_reference (folder, entry, fixture->out);
  json_decref (list);
}

int
main (int argc, char **argv)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup (rendered_boards_give_the_camera, forget_pictures),
    cmocka_unit_test_setup (poor_pictures_are_left_out, forget_pictures),
    cmocka_unit_test_setup (too_few_boards_leave_the_old_file, forget_pictures),
    cmocka_unit_test_setup (wrong_calls_are_told, forget_pictures),
    cmocka_unit_test_setup (one_board_gives_a_telecentric_scale, forget_pictures),
  };
  const struct CMUnitTest references[] = {
    cmocka_unit_test_setup (reference_boards_give_the_camera, forget_pictures),
    cmocka_unit_test_setup (published_photographs_give_the_published_camera, forget_pictures),
  };
  return argc > 1 && strcmp (argv[1], "references") == 0
           ? cmocka_run_group_tests (references, set_up, tear_down)
           : cmocka_run_group_tests (tests, set_up, tear_down);
}
