#include "optics/calibrate/target.h"

#include <string.h>

#include <whetsight/error.h>

#include "base/geometry.h"
#include "maths/stats.h"
#include "optics/calibrate/target_fit.h"
#include "optics/lens.h"

/* A view is bad whose corners lie that many times as far off as in the median of the others, and
 * at least so far.  Own choice: sound sets of pictures stay within 1.7 times. */
#define OUTLIER_TIMES 3.0
#define OUTLIER_LEAST 0.05

/* Quantiles of chi-squared with 2 and 1 degrees of freedom at 99 %: what tangential distortion and
 * k3 have to exceed to be kept (any table of the distribution). */
#define SIGNIFICANT_2 9.210
#define SIGNIFICANT_1 6.635

/* Of the focal length: beyond, the linear propagation of its uncertainty is no longer true.  Own
 * choice. */
#define LOOSEST_FOCUS 0.1

/* px: beyond, rows, columns or board aren't what was said.  Own choice. */
#define WORST_FIT 3.0

/* Places on each side of the grid where the distortion is checked. */
#define CHECKS 16

/* ---- Views that count ---------------------------------------------------------------------- */

typedef struct
{
  const WsTargetBoard *board;
  WsTargetView **views; /* usable ones; borrowed */
  guint n_views, plane;
  WsPoint *mm, *px;
  WsTargetData data;
} Set;

static void
set_clear (Set *set)
{
  g_free (set->views);
  g_free (set->mm);
  g_free (set->px);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Set, set_clear)

static void
fill_data (Set *set)
{
  const guint n = set->board->columns * set->board->rows;
  for (guint i = 0; i < n; i++)
    set->mm[i] = wsi_target_board_point (set->board, i);
  for (guint v = 0; v < set->n_views; v++)
    memcpy (set->px + (gsize)v * n, set->views[v]->corners, n * sizeof (WsPoint));
  set->data = (WsTargetData){ .width = set->views[0]->width,
                              .height = set->views[0]->height,
                              .n_views = set->n_views,
                              .n_points = n,
                              .board = set->mm,
                              .points = set->px,
                              .same_corners = (set->board->columns + set->board->rows) % 2 == 1 };
}

static gboolean
gather (const WsTargetBoard *board, WsTargetView *const *views, guint n_views, guint plane,
        Set *set, GError **error)
{
  const gsize n = (gsize)board->columns * board->rows;
  *set = (Set){ .board = board,
                .views = g_new (WsTargetView *, n_views),
                .mm = g_new (WsPoint, n),
                .px = g_new (WsPoint, n * n_views) };
  if (views[plane]->rejected != NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "the measuring plane's picture can't be used: %s",
                 views[plane]->rejected);
    return FALSE;
  }
  for (guint i = 0; i < n_views; i++)
  {
    if (views[i]->rejected != NULL)
      continue;
    if (i == plane)
      set->plane = set->n_views;
    set->views[set->n_views++] = views[i];
  }
  if (set->n_views >= WS_TARGET_MIN_VIEWS)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%u usable views of the board, at least %d are needed: take more pictures of the "
               "whole board, sharp, tilted by 15 to 30 degrees to different sides",
               set->n_views, WS_TARGET_MIN_VIEWS);
  return FALSE;
}

/* ---- Residuals ------------------------------------------------------------------------------- */

static void
keep_residuals (const WsTargetData *data, const WsTargetFit *fit, guint index, WsTargetView *view)
{
  double sum = 0;
  g_free (view->residuals);
  view->residuals = g_new (WsPoint, data->n_points);
  for (guint i = 0; i < data->n_points; i++)
  {
    view->residuals[i] = wsi_target_fit_residual (data, fit, index, i);
    sum += wsi_point_dot (view->residuals[i], view->residuals[i]);
  }
  view->rms_px = sqrt (sum / data->n_points);
}

static double
median_of_others (const Set *set, guint but)
{
  g_autofree double *others = g_new (double, set->n_views);
  gsize n = 0;
  for (guint v = 0; v < set->n_views; v++)
    if (v != but)
      others[n++] = set->views[v]->rms_px;
  return wsi_median (others, n);
}

static char *
tell_outlier (const WsTargetView *view, guint n_points, double others)
{
  guint worst = 0;
  for (guint i = 1; i < n_points; i++)
    if (wsi_point_length (view->residuals[i]) > wsi_point_length (view->residuals[worst]))
      worst = i;
  return g_strdup_printf (
    "corners lie %.2f px RMS off the model, %.1f times as far as in the other views; furthest, "
    "%.1f px, near (%.0f, %.0f): squares too small or cut there, glare, or a bent board",
    view->rms_px, view->rms_px / others, wsi_point_length (view->residuals[worst]),
    view->corners[worst].x, view->corners[worst].y);
}

/* TRUE when a view was rejected: the worst, as it also spoils the others' fit. */
static gboolean
reject_worst (const Set *set, const WsTargetFit *fit)
{
  guint worst = 0;
  for (guint v = 0; v < set->n_views; v++)
  {
    keep_residuals (&set->data, fit, v, set->views[v]);
    if (set->views[v]->rms_px > set->views[worst]->rms_px)
      worst = v;
  }
  const double others = median_of_others (set, worst);
  WsTargetView *view = set->views[worst];
  if (view->rms_px <= MAX (OUTLIER_TIMES * others, OUTLIER_LEAST))
    return FALSE;
  wsi_target_view_reject (view, tell_outlier (view, set->data.n_points, others));
  return TRUE;
}

/* ---- Which parameters ------------------------------------------------------------------------ */

static double
covariance_of (const WsTargetFit *fit, guint a, guint b)
{
  const int i = wsi_target_fit_index (fit, a, 0), j = wsi_target_fit_index (fit, b, 0);
  return fit->covariance[(gsize)i * fit->n_parameters + (gsize)j];
}

/* Wald's statistic of p1 and p2 together. */
static double
tangential_statistic (const WsTargetFit *fit)
{
  const double p1 = fit->camera[WS_LENS_P_P1], p2 = fit->camera[WS_LENS_P_P2];
  const double xx = covariance_of (fit, WS_LENS_P_P1, WS_LENS_P_P1),
               xy = covariance_of (fit, WS_LENS_P_P1, WS_LENS_P_P2),
               yy = covariance_of (fit, WS_LENS_P_P2, WS_LENS_P_P2);
  return (p1 * p1 * yy - 2 * p1 * p2 * xy + p2 * p2 * xx) / (xx * yy - xy * xy);
}

static double
k3_statistic (const WsTargetFit *fit)
{
  const double k3 = fit->camera[WS_LENS_P_K3];
  return k3 * k3 / covariance_of (fit, WS_LENS_P_K3, WS_LENS_P_K3);
}

static void
set_free (WsTargetFit *fit, guint first, guint last, gboolean is_free)
{
  for (guint i = first; i <= last; i++)
  {
    fit->is_free[i] = is_free;
    if (!is_free)
      fit->camera[i] = 0;
  }
}

/* Frees some parameters, and holds them at 0 again when the views don't bear them out. */
static gboolean
try_parameters (const WsTargetData *data, guint first, guint last,
                double (*statistic) (const WsTargetFit *), double least, WsTargetFit *fit,
                GError **error)
{
  set_free (fit, first, last, TRUE);
  if (wsi_target_fit_solve (data, fit, NULL) && statistic (fit) > least)
    return TRUE;
  set_free (fit, first, last, FALSE);
  return wsi_target_fit_solve (data, fit, error);
}

/* ---- The lens -----------------------------------------------------------------------------------
 */

static void
make_lens (const Set *set, const WsTargetFit *fit, WsLens *lens)
{
  int index[WS_LENS_P_N];
  *lens = (WsLens){ .model = WS_LENS_PINHOLE,
                    .width = set->data.width,
                    .height = set->data.height,
                    .residual_px = fit->rms_px };
  wsi_target_fit_parameters (fit, set->plane, lens->parameters);
  for (guint i = 0; i < WS_LENS_P_N; i++)
    index[i] = wsi_target_fit_index (fit, i, set->plane);
  /* A larger board is as much further away. */
  const double growth = set->board->u_square_mm / set->board->square_mm;
  for (guint i = 0; i < WS_LENS_P_N; i++)
    for (guint j = 0; j < WS_LENS_P_N; j++)
    {
      double *entry = &lens->covariance[i * WS_LENS_P_N + j];
      if (index[i] >= 0 && index[j] >= 0)
        *entry = fit->covariance[(gsize)index[i] * fit->n_parameters + (gsize)index[j]];
      if (i >= WS_LENS_P_TX && j >= WS_LENS_P_TX)
        *entry += growth * growth * lens->parameters[i] * lens->parameters[j];
    }
}

/* Whether every place in the picture has its place on the plane. */
static gboolean
is_monotone (const WsLens *lens)
{
  for (guint y = 0; y <= CHECKS; y++)
    for (guint x = 0; x <= CHECKS; x++)
    {
      const WsPoint at =
        wsi_point ((double)lens->width * x / CHECKS - 0.5, (double)lens->height * y / CHECKS - 0.5);
      const WsPoint back = ws_lens_to_picture (lens, ws_lens_to_ideal (lens, at));
      if (!(wsi_point_distance (at, back) < 1e-3))
        return FALSE;
    }
  return TRUE;
}

static gboolean
check_fit (const WsTargetFit *fit, const WsLens *lens, GError **error)
{
  const double f = fit->camera[WS_LENS_P_FX];
  const double u_f = sqrt (covariance_of (fit, WS_LENS_P_FX, WS_LENS_P_FX));
  const char *wrong = NULL;
  if (fit->rms_px > WORST_FIT)
    wrong = "the corners fit no camera; check --columns and --rows and that the board is flat";
  else if (!(u_f < LOOSEST_FOCUS * f))
    wrong = "the views hardly tell the focal length; take more, the board tilted by 15 to 30 "
            "degrees to different sides";
  else if (!is_monotone (lens))
    wrong = "the distortion found turns back within the picture; take more views, with the board "
            "in the picture's corners too";
  if (wrong != NULL)
    g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, wrong);
  return wrong == NULL;
}

/* ---- All ---------------------------------------------------------------------------------------
 */

/* The next fit without the worst view, until none stands out. */
static gboolean
fit_sound_views (const WsTargetBoard *board, WsTargetView *const *views, guint n_views, guint plane,
                 Set *set, WsTargetFit *fit, WsTargetResult *result, GError **error)
{
  for (gboolean first = TRUE;; first = FALSE)
  {
    set_clear (set);
    wsi_target_fit_clear (fit);
    if (!gather (board, views, n_views, plane, set, error))
      return FALSE;
    fill_data (set);
    if (!wsi_target_fit_start (&set->data, fit, error) ||
        !wsi_target_fit_solve (&set->data, fit, error))
      return FALSE;
    if (first)
    {
      result->n_found = set->n_views;
      result->rms_all_px = fit->rms_px;
    }
    if (!reject_worst (set, fit))
      return TRUE;
  }
}

gboolean
wsi_target_calibrate (const WsTargetBoard *board, WsTargetView *const *views, guint n_views,
                      guint plane, WsTargetResult *result, GError **error)
{
  g_auto (Set) set = { .views = NULL };
  g_auto (WsTargetFit) fit = { .poses = NULL };
  *result = (WsTargetResult){ .tilt_deg = NAN };
  if (!fit_sound_views (board, views, n_views, plane, &set, &fit, result, error) ||
      !try_parameters (&set.data, WS_LENS_P_P1, WS_LENS_P_P2, tangential_statistic, SIGNIFICANT_2,
                       &fit, error) ||
      !try_parameters (&set.data, WS_LENS_P_K3, WS_LENS_P_K3, k3_statistic, SIGNIFICANT_1, &fit,
                       error))
    return FALSE;
  make_lens (&set, &fit, &result->lens);
  if (fit.is_free[WS_LENS_P_K3] && !is_monotone (&result->lens))
  {
    set_free (&fit, WS_LENS_P_K3, WS_LENS_P_K3, FALSE);
    if (!wsi_target_fit_solve (&set.data, &fit, error))
      return FALSE;
    make_lens (&set, &fit, &result->lens);
  }
  for (guint v = 0; v < set.n_views; v++)
    keep_residuals (&set.data, &fit, v, set.views[v]);
  result->n_views = set.n_views;
  result->rms_px = fit.rms_px;
  result->sigma_px = fit.sigma_px;
  result->board_mm = fit.board_mm;
  return check_fit (&fit, &result->lens, error);
}
