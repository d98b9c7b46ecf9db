#include "optics/calibrate/board.h"

#include "base/geometry.h"
#include "optics/propagate.h"

static WsPoint
grid_point (const WsBoardSeen *seen, guint i)
{
  return wsi_point (i % seen->columns - 0.5 * (seen->columns - 1.0),
                    i / seen->columns - 0.5 * (seen->rows - 1.0));
}

static WsPoint
ideal_of (const WsLens *lens, WsPoint corner)
{
  return lens != NULL ? ws_lens_to_ideal (lens, corner) : corner;
}

typedef struct
{
  double scale;  /* px a square */
  double rms_px; /* distance from the grid */
  double spread; /* sum of squared distances from the grid's middle, squares */
} Fit;

/* q = mean + factor g, or with g mirrored (a board seen with its rows the other way round); the
 * grid's middle is 0. */
static Fit
fit_grid (const WsBoardSeen *seen, const WsLens *lens)
{
  const guint n = seen->columns * seen->rows;
  WsPoint mean = { 0, 0 }, factor[2] = { { 0, 0 }, { 0, 0 } };
  double spread = 0, squares = 0;
  for (guint i = 0; i < n; i++)
    mean = wsi_point_along (mean, 1.0 / n, ideal_of (lens, seen->corners[i]));
  for (guint i = 0; i < n; i++)
  {
    const WsPoint q = wsi_point_sub (ideal_of (lens, seen->corners[i]), mean);
    const WsPoint g = grid_point (seen, i);
    squares += wsi_point_dot (q, q);
    spread += wsi_point_dot (g, g);
    factor[0].x += q.x * g.x + q.y * g.y;
    factor[0].y += q.y * g.x - q.x * g.y;
    factor[1].x += q.x * g.x - q.y * g.y;
    factor[1].y += q.y * g.x + q.x * g.y;
  }
  const double direct = wsi_point_length (factor[0]), mirrored = wsi_point_length (factor[1]);
  const double scale = fmax (direct, mirrored) / spread;
  const double rest = squares - scale * scale * spread;
  return (Fit){ scale, sqrt (fmax (rest, 0) / n), spread };
}

static double
square_through (const WsLens *lens, gconstpointer data)
{
  return fit_grid (data, lens).scale * ws_lens_mm_per_px (lens);
}

gboolean
wsi_board_scale (const WsBoardSeen *seen, const WsOptics *optics, WsBoardScale *scale)
{
  const WsLens *lens = optics->lens;
  const Fit fit = fit_grid (seen, lens);
  if (!(fit.scale > 0) || !isfinite (fit.rms_px))
    return FALSE;
  /* rms_px is of both coordinates together. */
  const double corners = fit.rms_px / G_SQRT2 / sqrt (fit.spread);
  /* The calibration's points lay off its model by residual_px; so may both ends of the board. */
  const double across = hypot (seen->columns - 1.0, seen->rows - 1.0);
  const double rest = lens != NULL ? 2 * lens->residual_px / across : 0;
  const double camera = lens != NULL ? wsi_lens_propagate (lens, square_through, seen)
                                     : fit.scale * optics->u_mm_per_px;
  scale->square_mm = fit.scale * optics->mm_per_px;
  scale->u_mm = hypot (hypot (corners, rest) * optics->mm_per_px, camera);
  scale->rms = fit.rms_px / fit.scale;
  return isfinite (scale->u_mm);
}
