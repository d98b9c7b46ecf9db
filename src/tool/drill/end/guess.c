#include "tool/drill/end/guess.h"

#include <string.h>

/* Mean of four samples: enough against moire of grinding marks. */
static float
cell_light (const WsEndPicture *picture, const WsEndGrid *grid, guint x, guint y)
{
  double sum = 0;
  for (guint k = 0; k < 4; k++)
  {
    const WsPoint at = wsi_point (grid->origin.x + (x - 0.25 + 0.5 * (k % 2)) * grid->pitch,
                                  grid->origin.y + (y - 0.25 + 0.5 * (k / 2)) * grid->pitch);
    sum += wsi_end_lightness (picture, at);
  }
  return isfinite (sum) ? (float)(sum / 4) : 0;
}

/* Gradients larger than this say no more: edges count by their length. */
#define STRONG 12.0F

void
wsi_end_grid_fill (const WsEndPicture *picture, WsPoint centre, double radius, WsEndGrid *grid)
{
  grid->pitch = 2.5 * radius / WS_END_GRID;
  grid->origin = wsi_point (centre.x - 0.5 * (WS_END_GRID - 1) * grid->pitch,
                            centre.y - 0.5 * (WS_END_GRID - 1) * grid->pitch);
  for (guint y = 0; y < WS_END_GRID; y++)
    for (guint x = 0; x < WS_END_GRID; x++)
      grid->light[y * WS_END_GRID + x] = cell_light (picture, grid, x, y);
  memset (grid->gx, 0, sizeof grid->gx);
  memset (grid->gy, 0, sizeof grid->gy);
  for (guint y = 1; y + 1 < WS_END_GRID; y++)
    for (guint x = 1; x + 1 < WS_END_GRID; x++)
    {
      const guint i = y * WS_END_GRID + x;
      const float gx = 0.5F * (grid->light[i + 1] - grid->light[i - 1]);
      const float gy = 0.5F * (grid->light[i + WS_END_GRID] - grid->light[i - WS_END_GRID]);
      const float size = hypotf (gx, gy);
      const float scale = size > STRONG ? STRONG / size : 1;
      grid->gx[i] = gx * scale;
      grid->gy[i] = gy * scale;
    }
}

/* ---- Axis by two-fold symmetry ---------------------------------------------------- */

/* Half a turn about the axis maps edges onto edges and turns their gradients over. */
static double
symmetry (const WsEndGrid *grid, gint cx2, gint cy2, gint step)
{
  double sum = 0;
  for (gint y = MAX (0, cy2 - WS_END_GRID + 1); y <= MIN (WS_END_GRID - 1, cy2); y += step)
    for (gint x = MAX (0, cx2 - WS_END_GRID + 1); x <= MIN (WS_END_GRID - 1, cx2); x += step)
    {
      const gint i = y * WS_END_GRID + x, j = (cy2 - y) * WS_END_GRID + (cx2 - x);
      const float dot = grid->gx[i] * grid->gx[j] + grid->gy[i] * grid->gy[j];
      sum -= dot;
    }
  return sum;
}

/* Centres within this share of the grid of its middle are tried. */
#define SEARCH 0.16

WsPoint
wsi_end_grid_centre (const WsEndGrid *grid)
{
  const gint reach = (gint)(SEARCH * WS_END_GRID);
  gint best_x = WS_END_GRID - 1, best_y = WS_END_GRID - 1;
  double best = -HUGE_VAL;
  /* Twice the centre is a whole number of cells: steps of half a cell, coarse ones first. */
  for (gint pass = 0; pass < 2; pass++)
  {
    const gint step = pass == 0 ? 3 : 1, span = pass == 0 ? 2 * reach : 4;
    const gint mid_x = best_x, mid_y = best_y;
    best = -HUGE_VAL;
    for (gint y = mid_y - span; y <= mid_y + span; y += step)
      for (gint x = mid_x - span; x <= mid_x + span; x += step)
      {
        const double score = symmetry (grid, x, y, pass == 0 ? 2 : 1);
        if (score > best)
        {
          best = score;
          best_x = x;
          best_y = y;
        }
      }
  }
  return wsi_point (grid->origin.x + 0.5 * best_x * grid->pitch,
                    grid->origin.y + 0.5 * best_y * grid->pitch);
}

/* ---- Lips, roughly ---------------------------------------------------------------- */

static double
grid_normal_gradient (const WsEndGrid *grid, WsPoint at, WsPoint normal)
{
  const gint x = (gint)lround ((at.x - grid->origin.x) / grid->pitch),
             y = (gint)lround ((at.y - grid->origin.y) / grid->pitch);
  if (x < 0 || y < 0 || x >= WS_END_GRID || y >= WS_END_GRID)
    return 0;
  return grid->gx[y * WS_END_GRID + x] * normal.x + grid->gy[y * WS_END_GRID + x] * normal.y;
}

double
wsi_end_lip_darkening (const WsEndGrid *grid, WsPoint centre, double radius, WsPoint e, double rho,
                       double side)
{
  const WsPoint n = wsi_point (-e.y, e.x);
  const WsPoint out = rho > 0 ? n : wsi_point (-n.x, -n.y);
  double sum = 0;
  guint count = 0;
  for (double t = WS_END_LIP_FROM * radius; t <= WS_END_LIP_TO * radius; t += grid->pitch)
  {
    const WsPoint p = wsi_point_along (wsi_point_along (centre, side * t, e), side * rho, n);
    sum -= grid_normal_gradient (grid, p, wsi_point (side * out.x, side * out.y));
    count++;
  }
  return sum / MAX (count, 1);
}

/* A flute is seldom lighter than the flank, so that guess counts for less. */
#define LIGHT_FLUTE 0.6

WsEndGuess
wsi_end_guess_lips (const WsEndGrid *grid, WsPoint centre, double radius, gint side)
{
  WsEndGuess best = { 0, 0, 0 };
  for (guint k = 0; k < 360; k++)
    for (double size = WS_END_WEB_LEAST * radius; size <= WS_END_WEB_MOST * radius;
         size += 0.5 * grid->pitch)
    {
      const double angle = k * G_PI / 360, rho = side * size;
      const WsPoint e = wsi_point (cos (angle), sin (angle));
      const double a = wsi_end_lip_darkening (grid, centre, radius, e, rho, 1),
                   b = wsi_end_lip_darkening (grid, centre, radius, e, rho, -1);
      if (a * b <= 0)
        continue;
      const double score = sqrt (a * b) * (a > 0 ? 1 : LIGHT_FLUTE);
      if (score > best.score)
        best = (WsEndGuess){ angle, rho, score };
    }
  return best;
}
