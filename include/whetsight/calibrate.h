/*
 * Making a camera's calibration from pictures of things of known size.
 *
 *   g_autoptr (GPtrArray) shots = ws_shots_load ("pins.csv", &error);
 *   const WsCalibrateOptions options = { .camera = "bench", .valid_days = 365 };
 *   g_autoptr (WsSizesDone) done = ws_calibrate_sizes (shots, &options, &error);
 *   ws_calibration_save (ws_sizes_done_calibration (done), "bench.calib", &error);
 *
 * What came of it as text, JSON and picture: ws_report_sizes_text() and so on in report.h.
 */
#ifndef WHETSIGHT_CALIBRATE_H
#define WHETSIGHT_CALIBRATE_H

#include <whetsight/calibration.h>
#include <whetsight/step.h>

G_BEGIN_DECLS

/* ---- Pictures of things of known size -------------------------------------------------- */

typedef enum
{
  WS_SHOT_PIN,  /* a pin seen from the side: diameter */
  WS_SHOT_DISC, /* a ring or disc seen face-on: outer and, of a ring, inner diameter */
  WS_SHOT_BOARD /* a chessboard in the measuring plane: side of a square */
} WsShotKind;

typedef struct
{
  char *path; /* of the picture */
  WsShotKind kind;
  double size_mm;      /* diameter; outer diameter, NAN when not known; side of a square */
  double hole_mm;      /* inner diameter, NAN when not known */
  double u_mm;         /* standard uncertainty of each */
  guint columns, rows; /* of a board's inner corners */
} WsShot;

/* Without sizes.  Takes `path`.  Free with ws_shot_free(). */
WsShot *ws_shot_new (char *path, WsShotKind kind);
void ws_shot_free (WsShot *shot);

/* An empty list of WsShot that owns them.  Free with g_ptr_array_unref(). */
GPtrArray *ws_shots_new (void);

/* A list from a table with the columns file, diameter_mm, u_mm, or file, outer_mm, inner_mm (which
 * may be empty or missing), u_mm (likewise, then 0); file names are relative to the list's folder.
 * Errors: WS_ERROR_NO_INPUT; WS_ERROR_DATA with line and column.  Free with g_ptr_array_unref(). */
GPtrArray *ws_shots_load (const char *path, GError **error);

/* ---- What all calibrations take -------------------------------------------------------- */

/* Borrowed for the time of the call. */
typedef struct
{
  const char *camera;      /* the user's name for the camera and its set-up */
  const char *certificate; /* of the sizes, or NULL */
  guint valid_days;        /* from today */
  WsSteps steps;           /* before each picture, and each time it is looked at again */
  /* Of each picture that was left out when too few are left, or NULL.  A calibration that comes
   * about tells them among its sources. */
  void (*left_out) (const char *picture, const char *why, gpointer data);
  gpointer data; /* for `left_out` */
} WsCalibrateOptions;

/* ---- By pins, rings and discs ---------------------------------------------------------- */

/* A calibration by sizes and what it rests on. */
typedef struct WsSizesDone WsSizesDone;

/* A telecentric camera from shots that are all pins or all discs.  A picture that can't be measured
 * is left out.  Errors: WS_ERROR_USAGE (boards, no shots); WS_ERROR_NO_INPUT (a picture is
 * missing); WS_ERROR_DATA (no picture can be measured, the sizes don't agree); WS_ERROR_CANCELLED.
 * Free with ws_sizes_done_free(). */
WsSizesDone *ws_calibrate_sizes (const GPtrArray *shots, const WsCalibrateOptions *options,
                                 GError **error);
void ws_sizes_done_free (WsSizesDone *done);

/* Lives as long as `done`; to be saved. */
WsCalibration *ws_sizes_done_calibration (const WsSizesDone *done);

/* ---- By a chessboard ------------------------------------------------------------------- */

#define WS_TARGET_MIN_SIDE 3  /* inner corners along a side: fewer are found by chance */
#define WS_TARGET_MAX_SIDE 99 /* own choice, beyond any board */

typedef struct
{
  guint columns, rows; /* of inner corners, WS_TARGET_MIN_SIDE .. WS_TARGET_MAX_SIDE */
  double square_mm;
  double u_square_mm; /* standard uncertainty */
} WsTargetBoard;

typedef enum
{
  WS_TARGET_PINHOLE,    /* three pictures or more, tilted to different sides */
  WS_TARGET_TELECENTRIC /* one picture, of the board in the measuring plane */
} WsTargetCamera;

/* A calibration by a chessboard and what it rests on. */
typedef struct WsTargetDone WsTargetDone;

/* Calibrates from `pictures`, paths, ending in NULL; a path that comes twice counts once.  The
 * board of pictures[plane] lies in the measuring plane.  Pictures without a whole, sharp board and
 * those that fit much worse than the others are left out.  Errors: WS_ERROR_USAGE (no pictures, or
 * several for a telecentric camera); WS_ERROR_NO_INPUT; WS_ERROR_DATA (too few pictures are left,
 * the plane's can't be used, no such camera); WS_ERROR_INTERNAL; WS_ERROR_CANCELLED.  Free with
 * ws_target_done_free(). */
WsTargetDone *ws_calibrate_target (const WsTargetBoard *board, char *const *pictures, guint plane,
                                   WsTargetCamera camera, const WsCalibrateOptions *options,
                                   GError **error);
void ws_target_done_free (WsTargetDone *done);

/* Lives as long as `done`; to be saved. */
WsCalibration *ws_target_done_calibration (const WsTargetDone *done);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsShot, ws_shot_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsSizesDone, ws_sizes_done_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsTargetDone, ws_target_done_free)

G_END_DECLS

#endif
