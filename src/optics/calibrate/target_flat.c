/*
 * A telecentric camera from one view of a chessboard in the measuring plane.
 */
#include "optics/calibrate/target.h"

#include <whetsight/error.h>

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "optics/lens.h"

/* Board = a (x, y) + b (-y, x) + (s, t) for ideal (x, y): a turn, growth and shift.  Then K1, and
 * two more by which a tilted board departs from that: stretch along x less y, and shear. */
enum
{
  A,
  B,
  S,
  T,
  K1,
  N,
  STRETCH = N,
  SHEAR,
  N_TILTED
};

#define MAX_ROUNDS 20
#define AT_REST 1e-10 /* of a step relative to the scale */

/* A board tilted by more isn't one that lies in the measuring plane.  Own choice. */
#define MAX_TILT_DEG 6.0

/* px: beyond, rows, columns or board aren't what was said.  Own choice. */
#define WORST_FIT 3.0

typedef struct
{
  const WsTargetBoard *board;
  const WsTargetView *view;
  guint n_points;
  WsPoint middle;
  double half_diagonal;
  guint n_parameters;
  double parameters[N_TILTED];
  double inverse[N_TILTED * N_TILTED];
  double sum; /* of squares, px^2 */
} Fit;

static WsPoint
offset_of (const Fit *fit, guint point)
{
  return wsi_point_sub (fit->view->corners[point], fit->middle);
}

static double
radial_of (const Fit *fit, WsPoint d)
{
  return wsi_point_dot (d, d) / (fit->half_diagonal * fit->half_diagonal);
}

/* The board's place less where the model puts the corner seen, mm. */
static WsPoint
residual_mm (const Fit *fit, guint point)
{
  const double *p = fit->parameters;
  const WsPoint d = offset_of (fit, point);
  const double growth = 1 + p[K1] * radial_of (fit, d);
  const WsPoint q = wsi_point (growth * d.x, growth * d.y);
  const WsPoint m =
    wsi_point (q.x + p[STRETCH] * q.x + p[SHEAR] * q.y, q.y - p[STRETCH] * q.y + p[SHEAR] * q.x);
  return wsi_point_sub (wsi_target_board_point (fit->board, point),
                        wsi_point (p[A] * m.x - p[B] * m.y + p[S], p[B] * m.x + p[A] * m.y + p[T]));
}

static void
set_slope (double slopes[2][N_TILTED], guint parameter, double x, double y)
{
  slopes[0][parameter] = x;
  slopes[1][parameter] = y;
}

/* d model / d parameter, of x and of y; second-order products of the tilt left out. */
static void
slopes_of (const Fit *fit, guint point, double slopes[2][N_TILTED])
{
  const double a = fit->parameters[A], b = fit->parameters[B];
  const WsPoint d = offset_of (fit, point);
  const double r2 = radial_of (fit, d), growth = 1 + fit->parameters[K1] * r2;
  const WsPoint q = wsi_point (growth * d.x, growth * d.y);
  set_slope (slopes, A, q.x, q.y);
  set_slope (slopes, B, -q.y, q.x);
  set_slope (slopes, S, 1, 0);
  set_slope (slopes, T, 0, 1);
  set_slope (slopes, K1, r2 * (a * d.x - b * d.y), r2 * (b * d.x + a * d.y));
  set_slope (slopes, STRETCH, a * q.x + b * q.y, b * q.x - a * q.y);
  set_slope (slopes, SHEAR, a * q.y - b * q.x, b * q.y + a * q.x);
}

/* One step; its length relative to the scale, or NAN. */
static double
improve (Fit *fit)
{
  const guint n = fit->n_parameters;
  double step[N_TILTED];
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, n);
  for (guint i = 0; i < fit->n_points; i++)
  {
    double slopes[2][N_TILTED];
    slopes_of (fit, i, slopes);
    const WsPoint r = residual_mm (fit, i);
    wsi_least_squares_add (&sums, slopes[0], r.x, 1);
    wsi_least_squares_add (&sums, slopes[1], r.y, 1);
  }
  if (!wsi_least_squares_solve (&sums, step, fit->inverse))
    return NAN;
  for (guint a = 0; a < n; a++)
    fit->parameters[a] += step[a];
  return hypot (step[A], step[B]) / hypot (fit->parameters[A], fit->parameters[B]);
}

static double
scale_of (const Fit *fit)
{
  return hypot (fit->parameters[A], fit->parameters[B]);
}

/* From any start the second step is nearly right, since all but K1 and tilt act linearly. */
static gboolean
solve (Fit *fit, guint n_parameters)
{
  fit->n_parameters = n_parameters;
  for (guint round = 0; round < MAX_ROUNDS; round++)
  {
    const double moved = improve (fit);
    if (isnan (moved))
      return FALSE;
    if (round > 1 && moved < AT_REST)
      break;
  }
  const double scale = scale_of (fit);
  fit->sum = 0;
  for (guint i = 0; i < fit->n_points; i++)
  {
    const WsPoint r = residual_mm (fit, i);
    fit->sum += wsi_point_dot (r, r) / (scale * scale);
  }
  return isfinite (fit->sum) && scale > 0;
}

static Fit
start (const WsTargetBoard *board, const WsTargetView *view)
{
  const WsPoint middle = wsi_point (0.5 * (view->width - 1.0), 0.5 * (view->height - 1.0));
  const guint last = board->columns - 1;
  const WsPoint run = wsi_point_sub (view->corners[last], view->corners[0]);
  const double length2 = wsi_point_dot (run, run), side = board->square_mm * last;
  return (Fit){ .board = board,
                .view = view,
                .n_points = board->columns * board->rows,
                .middle = middle,
                .half_diagonal = wsi_point_length (middle),
                .parameters = { side * run.x / length2, -side * run.y / length2 } };
}

static double
variance_of (const Fit *fit)
{
  return fit->sum / (2.0 * fit->n_points - fit->n_parameters);
}

/* Shortening 1 - cos(tilt) of the board along one direction, from the stretch left over, and its
 * standard uncertainty. */
static double
shortening_of (const Fit *fit, double *u)
{
  const guint n = fit->n_parameters;
  const double mm2 = variance_of (fit) * scale_of (fit) * scale_of (fit);
  *u = 2 * sqrt (mm2 * MAX (fit->inverse[STRETCH * n + STRETCH], fit->inverse[SHEAR * n + SHEAR]));
  return 2 * hypot (fit->parameters[STRETCH], fit->parameters[SHEAR]);
}

/* Covariance of scale and K1; the scale's also by the board and by the shortening that the tilt
 * makes on average. */
static void
make_lens (const Fit *fit, double shortening, WsLens *lens)
{
  const guint n = fit->n_parameters;
  const double scale = scale_of (fit), mm2 = variance_of (fit) * scale * scale;
  const double c = fit->parameters[A] / scale, s = fit->parameters[B] / scale;
  const double *v = fit->inverse;
  const double of_board = fit->board->u_square_mm / fit->board->square_mm;
  *lens = (WsLens){ .model = WS_LENS_TELECENTRIC,
                    .width = fit->view->width,
                    .height = fit->view->height,
                    .residual_px = sqrt (fit->sum / fit->n_points) };
  lens->parameters[WS_LENS_T_SCALE] = scale;
  lens->parameters[WS_LENS_T_K1] = fit->parameters[K1];
  double *covariance = lens->covariance;
  covariance[WS_LENS_T_SCALE * WS_LENS_T_N + WS_LENS_T_SCALE] =
    mm2 * (c * c * v[A * n + A] + 2 * c * s * v[A * n + B] + s * s * v[B * n + B]) +
    scale * scale * (of_board * of_board + 0.25 * shortening * shortening);
  covariance[WS_LENS_T_K1 * WS_LENS_T_N + WS_LENS_T_K1] = mm2 * v[K1 * n + K1];
  covariance[WS_LENS_T_SCALE * WS_LENS_T_N + WS_LENS_T_K1] =
    covariance[WS_LENS_T_K1 * WS_LENS_T_N + WS_LENS_T_SCALE] =
      mm2 * (c * v[A * n + K1] + s * v[B * n + K1]);
}

static void
keep_residuals (const Fit *fit, WsTargetView *view)
{
  const double a = fit->parameters[A], b = fit->parameters[B], scale2 = a * a + b * b;
  g_free (view->residuals);
  view->residuals = g_new (WsPoint, fit->n_points);
  for (guint i = 0; i < fit->n_points; i++)
  {
    const WsPoint r = residual_mm (fit, i);
    view->residuals[i] = wsi_point (-(a * r.x + b * r.y) / scale2, -(a * r.y - b * r.x) / scale2);
  }
  view->rms_px = sqrt (fit->sum / fit->n_points);
}

static gboolean
refuse (GError **error, const char *format, const char *what)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, format, what);
  return FALSE;
}

static gboolean
check (const Fit *tilted, double tilt_deg, GError **error)
{
  if (sqrt (tilted->sum / tilted->n_points) > WORST_FIT)
    return refuse (error, "%s",
                   "the corners fit no telecentric camera; check --columns and --rows, "
                   "or leave out --telecentric for another lens");
  if (!(tilt_deg < MAX_TILT_DEG))
    return refuse (error, "%s",
                   "the board doesn't lie square to the camera; lay it flat in the "
                   "measuring plane");
  return TRUE;
}

gboolean
wsi_target_calibrate_flat (const WsTargetBoard *board, WsTargetView *view, WsTargetResult *result,
                           GError **error)
{
  *result = (WsTargetResult){ .tilt_deg = NAN };
  if (view->rejected != NULL)
    return refuse (error, "the picture can't be used: %s", view->rejected);
  Fit fit = start (board, view);
  Fit tilted = fit;
  if (!solve (&fit, N) || !solve (&tilted, N_TILTED))
    return refuse (error, "%s",
                   "the corners fit no telecentric camera; check --columns and --rows");
  double u;
  const double shortening = shortening_of (&tilted, &u);
  result->tilt_deg = wsi_degrees (acos (1 - CLAMP (shortening, 0, 1)));
  if (!check (&tilted, shortening > 2 * u ? result->tilt_deg : 0, error))
    return FALSE;
  make_lens (&fit, shortening, &result->lens);
  keep_residuals (&fit, view);
  result->n_views = result->n_found = 1;
  result->rms_px = result->rms_all_px = result->lens.residual_px;
  result->sigma_px = sqrt (variance_of (&fit));
  return TRUE;
}
