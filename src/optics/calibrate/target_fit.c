#include "optics/calibrate/target_fit.h"

#include <string.h>

#include <whetsight/error.h>

#include "base/geometry.h"
#include "maths/levenberg.h"
#include "optics/lens.h"
#include "optics/pinhole.h"
#include "vision/ws_vision.h"

#define MAX_ROUNDS 60

/* Sum of squares, px^2 a corner, that no step can lower by more: far below any noise. */
#define AT_REST 1e-12

/* Step of a rotation, rad, and of a translation, relative to the distance, for central
 * differences: between rounding and curvature.  All other parameters act linearly or nearly so. */
#define STEP 1e-6

/* What board errors can't be told from: a shift, turn, growth and perspective of every view. */
#define PLANE_FREEDOMS 8

/* ---- Parameters ---------------------------------------------------------------------- */

static guint
n_free_of (const WsTargetFit *fit)
{
  guint n = 0;
  for (guint i = 0; i < WS_TARGET_CAMERA; i++)
    n += fit->is_free[i] ? 1 : 0;
  return n;
}

int
wsi_target_fit_index (const WsTargetFit *fit, guint parameter, guint view)
{
  if (parameter >= WS_TARGET_CAMERA)
    return (int)(n_free_of (fit) + WS_TARGET_POSE * view + parameter - WS_TARGET_CAMERA);
  if (!fit->is_free[parameter])
    return -1;
  int index = 0;
  for (guint i = 0; i < parameter; i++)
    index += fit->is_free[i] ? 1 : 0;
  return index;
}

void
wsi_target_fit_parameters (const WsTargetFit *fit, guint view, double parameters[WS_LENS_P_N])
{
  memcpy (parameters, fit->camera, sizeof fit->camera);
  memcpy (parameters + WS_TARGET_CAMERA, fit->poses + WS_TARGET_POSE * view,
          WS_TARGET_POSE * sizeof (double));
}

/* The fit's parameters in the covariance's order, to `x` or from it. */
static void
copy_to (const WsTargetFit *fit, guint n_views, double *x)
{
  guint k = 0;
  for (guint i = 0; i < WS_TARGET_CAMERA; i++)
    if (fit->is_free[i])
      x[k++] = fit->camera[i];
  memcpy (x + k, fit->poses, WS_TARGET_POSE * n_views * sizeof *x);
}

static void
copy_from (const double *x, guint n_views, WsTargetFit *fit)
{
  guint k = 0;
  for (guint i = 0; i < WS_TARGET_CAMERA; i++)
    if (fit->is_free[i])
      fit->camera[i] = x[k++];
  memcpy (fit->poses, x + k, WS_TARGET_POSE * n_views * sizeof *x);
}

/* ---- Residuals and slopes ---------------------------------------------------------------- */

/* What a view's points depend on, in the order of the covariance. */
typedef struct
{
  double parameters[WS_LENS_P_N];
  guint n;
  guint of[WS_LENS_P_N];    /* the lens' parameter */
  guint index[WS_LENS_P_N]; /* in the covariance */
  double step[WS_LENS_P_N];
} View;

/* Distortion is linear in its parameters: any step will do that moves a corner of the picture by
 * some tenths of a pixel. */
static double
step_of (const WsTargetData *data, const double *p, guint parameter)
{
  const double corner = 0.5 * hypot (data->width, data->height) / p[WS_LENS_P_FX];
  switch (parameter)
  {
  case WS_LENS_P_K1:
    return 1e-4 / pow (corner, 2);
  case WS_LENS_P_K2:
    return 1e-4 / pow (corner, 4);
  case WS_LENS_P_K3:
    return 1e-4 / pow (corner, 6);
  case WS_LENS_P_P1:
  case WS_LENS_P_P2:
    return 1e-4 / corner;
  case WS_LENS_P_TX:
  case WS_LENS_P_TY:
  case WS_LENS_P_TZ:
    return STEP * p[WS_LENS_P_TZ];
  case WS_LENS_P_RX:
  case WS_LENS_P_RY:
  case WS_LENS_P_RZ:
    return STEP;
  default:
    return STEP * p[WS_LENS_P_FX];
  }
}

static View
view_of (const WsTargetData *data, const WsTargetFit *fit, guint view)
{
  View v = { .n = 0 };
  wsi_target_fit_parameters (fit, view, v.parameters);
  for (guint i = 0; i < WS_LENS_P_N; i++)
  {
    const int index = wsi_target_fit_index (fit, i, view);
    if (index < 0)
      continue;
    v.of[v.n] = i;
    v.index[v.n] = (guint)index;
    v.step[v.n++] = step_of (data, v.parameters, i);
  }
  return v;
}

/* d (x, y) / d parameter, two rows of v->n. */
static void
slopes_of (const View *v, WsPoint board, double slopes[2][WS_LENS_P_N])
{
  double p[WS_LENS_P_N];
  memcpy (p, v->parameters, sizeof p);
  for (guint k = 0; k < v->n; k++)
  {
    const double at = p[v->of[k]], h = v->step[k];
    p[v->of[k]] = at + h;
    const WsPoint more = wsi_pinhole_project (p, board);
    p[v->of[k]] = at - h;
    const WsPoint less = wsi_pinhole_project (p, board);
    p[v->of[k]] = at;
    slopes[0][k] = (more.x - less.x) / (2 * h);
    slopes[1][k] = (more.y - less.y) / (2 * h);
  }
}

static WsPoint
seen_at (const WsTargetData *data, guint view, guint point)
{
  return data->points[(gsize)view * data->n_points + point];
}

WsPoint
wsi_target_fit_residual (const WsTargetData *data, const WsTargetFit *fit, guint view, guint point)
{
  double p[WS_LENS_P_N];
  wsi_target_fit_parameters (fit, view, p);
  return wsi_point_sub (seen_at (data, view, point), wsi_pinhole_project (p, data->board[point]));
}

static double
sum_of_view (const WsTargetData *data, const WsTargetFit *fit, guint view)
{
  double sum = 0;
  for (guint i = 0; i < data->n_points; i++)
  {
    const WsPoint r = wsi_target_fit_residual (data, fit, view, i);
    sum += wsi_point_dot (r, r);
  }
  return sum;
}

static double
sum_of_squares (const WsTargetData *data, const WsTargetFit *fit)
{
  double sum = 0;
  for (guint v = 0; v < data->n_views; v++)
    sum += sum_of_view (data, fit, v);
  return sum;
}

/* ---- Least squares ----------------------------------------------------------------------------
 */

/* Adds a view's J'J times `weight`, and its J'r unless `gradient` is NULL: a view's points depend
 * on few of all parameters. */
static void
add_normal_equations (const WsTargetData *data, const WsTargetFit *fit, guint view, double weight,
                      double *normal, double *gradient)
{
  const guint n = fit->n_parameters;
  const View v = view_of (data, fit, view);
  for (guint i = 0; i < data->n_points; i++)
  {
    double s[2][WS_LENS_P_N];
    slopes_of (&v, data->board[i], s);
    const WsPoint r = wsi_target_fit_residual (data, fit, view, i);
    for (guint a = 0; a < v.n; a++)
    {
      if (gradient != NULL)
        gradient[v.index[a]] += s[0][a] * r.x + s[1][a] * r.y;
      for (guint b = 0; b < v.n; b++)
        normal[v.index[a] * n + v.index[b]] += weight * (s[0][a] * s[0][b] + s[1][a] * s[1][b]);
    }
  }
}

typedef struct
{
  const WsTargetData *data;
  WsTargetFit *fit; /* stands where it was last looked at */
} Search;

static double
squares_at (gconstpointer data, const double *x)
{
  const Search *search = data;
  copy_from (x, search->data->n_views, search->fit);
  return sum_of_squares (search->data, search->fit);
}

static void
add_equations (gconstpointer data, const double *x, double *JJ, double *Jr)
{
  const Search *search = data;
  copy_from (x, search->data->n_views, search->fit);
  for (guint v = 0; v < search->data->n_views; v++)
    add_normal_equations (search->data, search->fit, v, 1, JJ, Jr);
}

/* Leaves the inverse of J'J in fit->covariance. */
static gboolean
find_camera (const WsTargetData *data, WsTargetFit *fit, double *sum, GError **error)
{
  const WsLevenberg problem = { .n = fit->n_parameters,
                                .most_rounds = MAX_ROUNDS,
                                .rest = AT_REST * data->n_points * data->n_views,
                                .squares = squares_at,
                                .equations = add_equations };
  const Search search = { data, fit };
  g_autofree double *x = g_new (double, problem.n);
  copy_to (fit, data->n_views, x);
  const gboolean found = wsi_levenberg_fit (&problem, &search, x, sum, fit->covariance);
  copy_from (x, data->n_views, fit);
  if (!found)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "the views don't determine the camera; take more, the board tilted by 15 to 30 "
                 "degrees to different sides");
  return found;
}

/* ---- Covariance --------------------------------------------------------------------------------
 */

/* One corner of the board over all views. */
typedef struct
{
  double weight[3]; /* sum of A'A: xx, xy, yy */
  double pull[2];   /* sum of A'r */
} Corner;

/* A = d (x, y) / d (board), row-major. */
static void
board_slopes (const View *v, WsPoint board, double a[4])
{
  const double h = STEP * v->parameters[WS_LENS_P_TZ];
  const WsPoint right = wsi_pinhole_project (v->parameters, wsi_point (board.x + h, board.y));
  const WsPoint left = wsi_pinhole_project (v->parameters, wsi_point (board.x - h, board.y));
  const WsPoint below = wsi_pinhole_project (v->parameters, wsi_point (board.x, board.y + h));
  const WsPoint above = wsi_pinhole_project (v->parameters, wsi_point (board.x, board.y - h));
  a[0] = (right.x - left.x) / (2 * h);
  a[1] = (below.x - above.x) / (2 * h);
  a[2] = (right.y - left.y) / (2 * h);
  a[3] = (below.y - above.y) / (2 * h);
}

static Corner
corner_of (const WsTargetData *data, const WsTargetFit *fit, const View *views, guint point)
{
  Corner corner = { { 0 }, { 0 } };
  for (guint v = 0; v < data->n_views; v++)
  {
    double a[4];
    board_slopes (&views[v], data->board[point], a);
    const WsPoint r = wsi_target_fit_residual (data, fit, v, point);
    corner.weight[0] += a[0] * a[0] + a[2] * a[2];
    corner.weight[1] += a[0] * a[1] + a[2] * a[3];
    corner.weight[2] += a[1] * a[1] + a[3] * a[3];
    corner.pull[0] += a[0] * r.x + a[2] * r.y;
    corner.pull[1] += a[1] * r.x + a[3] * r.y;
  }
  return corner;
}

/* What moving the corner alone would take off the sum of squares. */
static double
gain_of (const Corner *c)
{
  const double det = c->weight[0] * c->weight[2] - c->weight[1] * c->weight[1];
  return (c->pull[0] * c->pull[0] * c->weight[2] - 2 * c->pull[0] * c->pull[1] * c->weight[1] +
          c->pull[1] * c->pull[1] * c->weight[0]) /
         det;
}

/* (T4): variance components of picture and board by the method of moments. */
static void
split_variance (const WsTargetData *data, WsTargetFit *fit, const View *views, double sum)
{
  const double n = 2.0 * data->n_points * data->n_views, n_board = 2.0 * data->n_points;
  fit->sigma_px = sqrt (sum / MAX (n - fit->n_parameters, 1));
  fit->board_mm = 0;
  const double within = n - fit->n_parameters - n_board + PLANE_FREEDOMS;
  if (!data->same_corners || within < n_board)
    return;
  double between = 0, weight = 0;
  for (guint i = 0; i < data->n_points; i++)
  {
    const Corner corner = corner_of (data, fit, views, i);
    between += gain_of (&corner);
    weight += corner.weight[0] + corner.weight[2];
  }
  const double variance = MAX (sum - between, 0) / within;
  const double excess = between - (n_board - PLANE_FREEDOMS) * variance;
  if (excess <= 0)
    return;
  fit->sigma_px = sqrt (variance);
  fit->board_mm = sqrt (excess / weight);
}

/* Adds what the board's own error in one corner does to all parameters, of unit variance times
 * `variance`. */
static void
add_board_error (const WsTargetData *data, WsTargetFit *fit, const double *inverse,
                 const View *views, guint point, double variance)
{
  const guint n = fit->n_parameters;
  g_autofree double *pull = g_new0 (double, (gsize)2 * n);
  g_autofree double *change = g_new0 (double, (gsize)2 * n);
  for (guint v = 0; v < data->n_views; v++)
  {
    double s[2][WS_LENS_P_N], a[4];
    slopes_of (&views[v], data->board[point], s);
    board_slopes (&views[v], data->board[point], a);
    for (guint k = 0; k < views[v].n; k++)
    {
      pull[views[v].index[k]] += s[0][k] * a[0] + s[1][k] * a[2];
      pull[n + views[v].index[k]] += s[0][k] * a[1] + s[1][k] * a[3];
    }
  }
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
    {
      change[i] += inverse[i * n + j] * pull[j];
      change[n + i] += inverse[i * n + j] * pull[n + j];
    }
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      fit->covariance[i * n + j] +=
        variance * (change[i] * change[j] + change[n + i] * change[n + j]);
}

/* product = A B, n x n. */
static void
multiply (const double *A, const double *B, guint n, double *product)
{
  memset (product, 0, (gsize)n * n * sizeof (double));
  for (guint i = 0; i < n; i++)
    for (guint k = 0; k < n; k++)
      for (guint j = 0; j < n; j++)
        product[i * n + j] += A[i * n + k] * B[k * n + j];
}

/* What noise in the pictures does.  Views differ in it by light and blur, so each has its share of
 * the variance by its own residuals. */
static void
spread_noise (const WsTargetData *data, WsTargetFit *fit, const double *inverse, double sum)
{
  const guint n = fit->n_parameters;
  g_autofree double *scatter = g_new0 (double, (gsize)n *n);
  g_autofree double *half = g_new (double, (gsize)n *n);
  for (guint v = 0; v < data->n_views; v++)
  {
    const double share = sum > 0 ? data->n_views * sum_of_view (data, fit, v) / sum : 1;
    add_normal_equations (data, fit, v, share * fit->sigma_px * fit->sigma_px, scatter, NULL);
  }
  multiply (inverse, scatter, n, half);
  multiply (half, inverse, n, fit->covariance);
}

/* (T5) */
static void
set_covariance (const WsTargetData *data, WsTargetFit *fit, double sum)
{
  const gsize n2 = (gsize)fit->n_parameters * fit->n_parameters;
  g_autofree View *views = g_new (View, data->n_views);
  for (guint v = 0; v < data->n_views; v++)
    views[v] = view_of (data, fit, v);
  split_variance (data, fit, views, sum);
  g_autofree double *inverse = g_new (double, n2);
  memcpy (inverse, fit->covariance, n2 * sizeof (double));
  spread_noise (data, fit, inverse, sum);
  if (fit->board_mm > 0)
    for (guint i = 0; i < data->n_points; i++)
      add_board_error (data, fit, inverse, views, i, fit->board_mm * fit->board_mm);
}

gboolean
wsi_target_fit_solve (const WsTargetData *data, WsTargetFit *fit, GError **error)
{
  double sum;
  fit->n_parameters = n_free_of (fit) + WS_TARGET_POSE * data->n_views;
  g_free (fit->covariance);
  fit->covariance = g_new (double, (gsize)fit->n_parameters * fit->n_parameters);
  if (!find_camera (data, fit, &sum, error))
    return FALSE;
  fit->rms_px = sqrt (sum / ((double)data->n_points * data->n_views));
  set_covariance (data, fit, sum);
  return TRUE;
}

/* ---- Start --------------------------------------------------------------------------------------
 */

gboolean
wsi_target_fit_start (const WsTargetData *data, WsTargetFit *fit, GError **error)
{
  G_STATIC_ASSERT (sizeof (WsPoint) == 2 * sizeof (double));
  const WsVisionViews views = { .width = data->width,
                                .height = data->height,
                                .n_views = data->n_views,
                                .n_points = data->n_points,
                                .board = &data->board[0].x,
                                .points = &data->points[0].x };
  double found[6];
  *fit = (WsTargetFit){ .poses = g_new0 (double, (gsize)WS_TARGET_POSE * data->n_views) };
  if (!wsi_vision_calibrate (&views, found, fit->poses, error))
    return FALSE;
  memcpy (fit->camera + WS_LENS_P_FX, found, sizeof found);
  for (guint i = WS_LENS_P_FX; i <= WS_LENS_P_K2; i++)
    fit->is_free[i] = TRUE;
  return TRUE;
}

void
wsi_target_fit_clear (WsTargetFit *fit)
{
  g_clear_pointer (&fit->poses, g_free);
  g_clear_pointer (&fit->covariance, g_free);
}
