/*
 * A chessboard in one picture.
 */
#include "optics/calibrate/target.h"

#include "base/geometry.h"
#include "maths/stats.h"
#include "vision/ws_vision.h"

/* Window's half side in parts of a square, and its bounds, px: wide enough to average noise, clear
 * of the next corner where the board is tilted.  Own trials on rendered pictures and on published
 * photographs: 0.014 px of noise a coordinate at 25 px, no less beyond, 0.025 px at 5 px. */
#define WINDOW_SHARE 0.27
#define LEAST_WINDOW 4
#define GREATEST_WINDOW 25

/* px; below, hardly a window is left.  Own choice. */
#define LEAST_SQUARE 12.0

/* 10 to 90 % width of edges, in parts of a square, that is blurred anyhow; how often the median
 * of all views, and how many px at least, when it is blurred beside the others.  Own choice: sharp
 * pictures have 2.5 to 4 px. */
#define BLUR_SHARE 0.25
#define BLUR_TIMES 2.0
#define BLUR_LEAST 5.0

WsTargetView *
wsi_target_view_new (void)
{
  WsTargetView *view = g_new0 (WsTargetView, 1);
  view->edge_px = view->rms_px = NAN;
  return view;
}

void
wsi_target_view_free (WsTargetView *view)
{
  if (view == NULL)
    return;
  g_free (view->rejected);
  g_free (view->corners);
  g_free (view->residuals);
  g_free (view);
}

void
wsi_target_view_reject (WsTargetView *view, char *why)
{
  if (view->rejected == NULL)
    view->rejected = why;
  else
    g_free (why);
}

WsPoint
wsi_target_board_point (const WsTargetBoard *board, guint point)
{
  return wsi_point (board->square_mm * (point % board->columns),
                    board->square_mm * (point / board->columns));
}

static WsVisionLight
light_of (const WsImage *image)
{
  return (WsVisionLight){ image->linear, image->width, image->height };
}

/* ---- What is wrong with a board that isn't the one asked for ------------------------------ */

static WsPoint
part_corner (const WsVisionBoard *part, guint x, guint y)
{
  const double *at = part->corners + 2 * ((gsize)y * part->columns + x);
  return wsi_point (at[0], at[1]);
}

static gboolean
is_inside (const WsImage *image, WsPoint p)
{
  return p.x > -0.5 && p.y > -0.5 && p.x < image->width - 0.5 && p.y < image->height - 0.5;
}

/* Whether the next row or column beyond the part would leave the picture. */
static gboolean
is_at_frame (const WsImage *image, const WsVisionBoard *part)
{
  const guint last_x = part->columns - 1, last_y = part->rows - 1;
  for (guint x = 0; x <= last_x; x++)
  {
    const WsPoint top = part_corner (part, x, 0), end = part_corner (part, x, last_y);
    if (!is_inside (image,
                    wsi_point_along (top, 1, wsi_point_sub (top, part_corner (part, x, 1)))) ||
        !is_inside (
          image, wsi_point_along (end, 1, wsi_point_sub (end, part_corner (part, x, last_y - 1)))))
      return TRUE;
  }
  for (guint y = 0; y <= last_y; y++)
  {
    const WsPoint left = part_corner (part, 0, y), end = part_corner (part, last_x, y);
    if (!is_inside (image,
                    wsi_point_along (left, 1, wsi_point_sub (left, part_corner (part, 1, y)))) ||
        !is_inside (
          image, wsi_point_along (end, 1, wsi_point_sub (end, part_corner (part, last_x - 1, y)))))
      return TRUE;
  }
  return FALSE;
}

static char *
tell_what_is_wrong (const WsImage *image, const WsTargetBoard *board, const WsVisionBoard *part)
{
  if (part->corners == NULL)
    return g_strdup_printf ("no chessboard with %u x %u inner corners is seen; show all of it, "
                            "sharp and evenly lit",
                            board->columns, board->rows);
  const guint more = MAX (part->columns, part->rows), less = MIN (part->columns, part->rows);
  const guint wanted = MAX (board->columns, board->rows), other = MIN (board->columns, board->rows);
  if (more > wanted || less > other)
    return g_strdup_printf ("a chessboard with %u x %u inner corners is seen, not %u x %u", more,
                            less, wanted, other);
  return g_strdup_printf ("only %u x %u of the board's %u x %u inner corners are seen: %s", more,
                          less, wanted, other,
                          is_at_frame (image, part) ? "it is cut by the frame, or covered"
                                                    : "it is covered, damaged or badly lit");
}

/* ---- Order of corners ------------------------------------------------------------------------ */

static WsPoint
corner_at (const WsTargetBoard *board, const WsTargetView *view, guint x, guint y)
{
  return view->corners[y * board->columns + x];
}

static void
swap_corners (WsTargetView *view, guint i, guint j)
{
  const WsPoint kept = view->corners[i];
  view->corners[i] = view->corners[j];
  view->corners[j] = kept;
}

/* Light in the middle of the square whose first corner is (x, y). */
static double
light_in (const WsImage *image, const WsTargetBoard *board, const WsTargetView *view, guint x,
          guint y)
{
  const WsPoint middle = wsi_point_along (
    corner_at (board, view, x, y), 0.5,
    wsi_point_sub (corner_at (board, view, x + 1, y + 1), corner_at (board, view, x, y)));
  const guint column = (guint)CLAMP (middle.x + 0.5, 0, image->width - 1.0);
  const guint row = (guint)CLAMP (middle.y + 0.5, 0, image->height - 1.0);
  return image->linear[(gsize)row * image->width + column];
}

/* Brings the corners of every view into the same order on the board, if its pattern tells which
 * end is which: columns to the right of rows as y is of x, and a dark square first. */
static void
put_in_order (const WsImage *image, const WsTargetBoard *board, WsTargetView *view)
{
  const guint n = board->columns * board->rows;
  const WsPoint first = view->corners[0];
  const WsPoint along = wsi_point_sub (corner_at (board, view, board->columns - 1, 0), first);
  const WsPoint down = wsi_point_sub (corner_at (board, view, 0, board->rows - 1), first);
  if (wsi_point_cross (along, down) < 0)
    for (guint y = 0; y < board->rows; y++)
      for (guint x = 0; x < board->columns / 2; x++)
        swap_corners (view, y * board->columns + x, (y + 1) * board->columns - 1 - x);
  if ((board->columns + board->rows) % 2 == 1 &&
      light_in (image, board, view, 0, 0) > light_in (image, board, view, 1, 0))
    for (guint i = 0; i < n / 2; i++)
      swap_corners (view, i, n - 1 - i);
}

/* ---- Finding -----------------------------------------------------------------------------------
 */

static double
median_square (const WsTargetBoard *board, const WsTargetView *view)
{
  const guint n = board->columns * board->rows;
  g_autofree double *sides = g_new (double, (gsize)2 * n);
  gsize count = 0;
  for (guint y = 0; y < board->rows; y++)
    for (guint x = 0; x < board->columns; x++)
    {
      const WsPoint at = corner_at (board, view, x, y);
      if (x > 0)
        sides[count++] = wsi_point_distance (at, corner_at (board, view, x - 1, y));
      if (y > 0)
        sides[count++] = wsi_point_distance (at, corner_at (board, view, x, y - 1));
    }
  return wsi_median (sides, count);
}

static void
reject_unfit (WsTargetView *view)
{
  if (view->square_px < LEAST_SQUARE)
    wsi_target_view_reject (
      view, g_strdup_printf ("squares are only %.0f px wide, at least %.0f are needed; go nearer",
                             view->square_px, LEAST_SQUARE));
  if (view->edge_px > BLUR_SHARE * view->square_px)
    wsi_target_view_reject (view,
                            g_strdup_printf ("blurred: edges are %.1f px wide", view->edge_px));
}

static gboolean
keep_corners (const WsImage *image, const WsTargetBoard *board, const WsVisionBoard *found,
              WsTargetView *view, GError **error)
{
  const guint n = board->columns * board->rows;
  view->corners = g_new (WsPoint, n);
  for (guint i = 0; i < n; i++)
    view->corners[i] = wsi_point (found->corners[2 * i], found->corners[2 * i + 1]);
  put_in_order (image, board, view);
  view->square_px = median_square (board, view);
  const WsVisionLight light = light_of (image);
  const WsVisionBoard ordered = { board->columns, board->rows, &view->corners[0].x };
  double widths[2];
  if (!wsi_vision_edge_widths (&light, &ordered, widths, error))
    return FALSE;
  view->edge_px = fmax (widths[0], widths[1]);
  reject_unfit (view);
  return TRUE;
}

gboolean
wsi_target_find (const WsImage *image, const WsTargetBoard *board, WsTargetView *view,
                 GError **error)
{
  const WsVisionLight light = light_of (image);
  WsVisionBoard found;
  view->width = image->width;
  view->height = image->height;
  if (!wsi_vision_find_board (&light, board->columns, board->rows, &found, error))
    return FALSE;
  gboolean done = TRUE;
  if (found.corners != NULL && found.columns == board->columns && found.rows == board->rows)
    done = keep_corners (image, board, &found, view, error);
  else
    wsi_target_view_reject (view, tell_what_is_wrong (image, board, &found));
  wsi_vision_board_clear (&found);
  return done;
}

/* ---- Over all views
 * ------------------------------------------------------------------------------ */

void
wsi_target_reject_blurred (WsTargetView *const *views, guint n_views)
{
  g_autofree double *widths = g_new (double, MAX (n_views, 1));
  guint n = 0;
  for (guint i = 0; i < n_views; i++)
    if (views[i]->rejected == NULL && isfinite (views[i]->edge_px))
      widths[n++] = views[i]->edge_px;
  if (n < WS_TARGET_MIN_VIEWS)
    return;
  const double median = wsi_median (widths, n);
  for (guint i = 0; i < n_views; i++)
    if (views[i]->edge_px > MAX (BLUR_TIMES * median, BLUR_LEAST))
      wsi_target_view_reject (
        views[i], g_strdup_printf ("blurred: edges are %.1f px wide, in most views %.1f px",
                                   views[i]->edge_px, median));
}

guint
wsi_target_window (const WsTargetView *const *views, guint n_views)
{
  g_autofree double *squares = g_new (double, MAX (n_views, 1));
  guint n = 0;
  for (guint i = 0; i < n_views; i++)
    if (views[i]->rejected == NULL)
      squares[n++] = views[i]->square_px;
  if (n == 0)
    return 0;
  return (guint)CLAMP (lround (WINDOW_SHARE * wsi_median (squares, n)), LEAST_WINDOW,
                       GREATEST_WINDOW);
}

/* Whole pixels between a point and the picture's border. */
static double
room_of (const WsImage *image, WsPoint p)
{
  const double across = MIN (p.x, image->width - 1.0 - p.x);
  return floor (MIN (across, MIN (p.y, image->height - 1.0 - p.y)));
}

gboolean
wsi_target_refine (const WsImage *image, const WsTargetBoard *board, guint window,
                   WsTargetView *view, GError **error)
{
  const WsVisionLight light = light_of (image);
  for (guint i = 0; i < board->columns * board->rows; i++)
  {
    WsPoint *corner = &view->corners[i];
    const double room = room_of (image, *corner);
    if (room < LEAST_WINDOW)
    {
      wsi_target_view_reject (
        view,
        g_strdup_printf ("cut by the frame: a corner lies %.0f px from the border", MAX (room, 0)));
      return TRUE;
    }
    double at[2] = { corner->x, corner->y };
    if (!wsi_vision_refine_corner (&light, MIN (window, (guint)room), at, error))
      return FALSE;
    *corner = wsi_point (at[0], at[1]);
  }
  return TRUE;
}

double
wsi_target_span (const WsTargetBoard *board, const WsTargetView *const *views, guint n_views,
                 guint axis)
{
  double low = G_MAXDOUBLE, high = -G_MAXDOUBLE, side = 1;
  for (guint v = 0; v < n_views; v++)
    for (guint i = 0; views[v]->rejected == NULL && i < board->columns * board->rows; i++)
    {
      const double at = axis == 0 ? views[v]->corners[i].x : views[v]->corners[i].y;
      side = axis == 0 ? views[v]->width : views[v]->height;
      low = MIN (low, at);
      high = MAX (high, at);
    }
  return MAX (high - low, 0) / side;
}
