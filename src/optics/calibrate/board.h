/*
 * The scale that a chessboard in the measuring plane shows.
 *
 * The board's perfect grid is fitted to the corners, as the lens shows them in the ideal picture,
 * by a similarity (turn, place, scale): least squares in closed form, which with points as complex
 * numbers is a straight line's (docs/methods/calibration.md, "Calibration by a chessboard").  Its
 * scale is the mean square.
 */
#ifndef WS_OPTICS_CALIBRATE_BOARD_H
#define WS_OPTICS_CALIBRATE_BOARD_H

#include <whetsight/optics.h>

G_BEGIN_DECLS

typedef struct
{
  const WsPoint *corners; /* px in the picture, row by row; borrowed */
  guint columns, rows;    /* of corners, each at least 2 */
} WsBoardSeen;

typedef struct
{
  double square_mm;
  double u_mm; /* standard, by the corners' scatter, the calibration's covariance and what its own
                  points left over */
  double rms;  /* distance of the corners from the grid, parts of a square */
} WsBoardScale;

/* `optics` has a scale.  FALSE when the lens has no answer for a corner, or the corners are no
 * grid (all in one place). */
gboolean wsi_board_scale (const WsBoardSeen *seen, const WsOptics *optics, WsBoardScale *scale);

G_END_DECLS

#endif
