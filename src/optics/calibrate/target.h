/*
 * Calibration of a camera by pictures of a chessboard (docs/methods/calibration.md, "Calibration by
 * a chessboard").
 *
 * Order of calls: wsi_target_find() for every picture; wsi_target_reject_blurred();
 * wsi_target_window(); wsi_target_refine() for every picture again; then one of
 * wsi_target_calibrate() and wsi_target_calibrate_flat().
 */
#ifndef WS_OPTICS_CALIBRATE_TARGET_H
#define WS_OPTICS_CALIBRATE_TARGET_H

#include <whetsight/calibrate.h>
#include <whetsight/image.h>

G_BEGIN_DECLS

#define WS_TARGET_MIN_VIEWS 3

/* A picture of the board. */
typedef struct
{
  guint width, height;
  char *rejected;     /* why it can't be used, or NULL */
  WsPoint *corners;   /* px, row by row; NULL when no whole board is seen */
  WsPoint *residuals; /* px, seen less expected; NULL before a calibration */
  double square_px;   /* median distance of neighbouring corners */
  double edge_px;     /* 10 to 90 % width of the squares' edges; NAN when not known */
  double rms_px;      /* distance of the corners from the model; NAN before a calibration */
} WsTargetView;

WsTargetView *wsi_target_view_new (void);
void wsi_target_view_free (WsTargetView *view);
G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsTargetView, wsi_target_view_free)

/* `why` is taken over; the first reason stays. */
void wsi_target_view_reject (WsTargetView *view, char *why);

/* Finds the board roughly; a view without is rejected.  Errors: WS_ERROR_INTERNAL. */
gboolean wsi_target_find (const WsImage *image, const WsTargetBoard *board, WsTargetView *view,
                          GError **error);

/* Rejects views that are blurred, or much more so than most. */
void wsi_target_reject_blurred (WsTargetView *const *views, guint n_views);

/* Half the side of the square about each corner that is looked at, px: the same for all views,
 * so that all corners count alike.  0 without a usable view. */
guint wsi_target_window (const WsTargetView *const *views, guint n_views);

/* Corners to some hundredths of a pixel.  Errors: WS_ERROR_INTERNAL. */
gboolean wsi_target_refine (const WsImage *image, const WsTargetBoard *board, guint window,
                            WsTargetView *view, GError **error);

typedef struct
{
  WsLens lens;
  guint n_views;     /* that it rests on */
  guint n_found;     /* with a whole, sharp board */
  double rms_px;     /* distance of corners from the model, over the views it rests on */
  double rms_all_px; /* over all that were found, before any was rejected for its residuals */
  double sigma_px;   /* standard deviation of a corner's coordinate in the picture */
  double board_mm;   /* and of the board's own corners about a perfect board; 0: can't be told */
  double tilt_deg;   /* of the board against the picture, of a flat view; else NAN */
} WsTargetResult;

/*
 * A pinhole camera from at least WS_TARGET_MIN_VIEWS views; the board of views[plane] lies in the
 * measuring plane.  Rejects views that fit much worse than the others.  Errors: WS_ERROR_DATA
 * (too few usable views, the plane's view rejected, camera not determined), WS_ERROR_INTERNAL.
 */
gboolean wsi_target_calibrate (const WsTargetBoard *board, WsTargetView *const *views,
                               guint n_views, guint plane, WsTargetResult *result, GError **error);

/* A telecentric camera from one view of the board in the measuring plane.  Errors: WS_ERROR_DATA
 * (view rejected, board not square on, no such camera). */
gboolean wsi_target_calibrate_flat (const WsTargetBoard *board, WsTargetView *view,
                                    WsTargetResult *result, GError **error);

/* A board's corner, mm. */
WsPoint wsi_target_board_point (const WsTargetBoard *board, guint point);

/* Share of the picture's width (0) or height (1) that the usable views' corners span. */
double wsi_target_span (const WsTargetBoard *board, const WsTargetView *const *views, guint n_views,
                        guint axis);

G_END_DECLS

#endif
