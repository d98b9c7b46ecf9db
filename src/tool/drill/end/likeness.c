#include "tool/drill/end/likeness.h"

#include "tool/flank/drawn.h"
#include "tool/flank/strip.h"

typedef struct
{
  const WsEndGrid *grid;
  WsPoint centre, along, across; /* the lips' mean direction, and square to it */
  double radius;
} Frame;

static Frame
frame_of (const WsEndGrid *grid, const WsEndPoint *point)
{
  const WsPoint e = wsi_point_sub (point->lips[0].outward, point->lips[1].outward);
  const WsPoint along = wsi_end_scaled (e, 1 / wsi_point_length (e));
  return (Frame){ grid, point->centre, along, wsi_point (-along.y, along.x), point->radius };
}

/* Gradient at a place u along and v across, in the frame; 0 outside the grid. */
static WsPoint
gradient_at (const Frame *frame, double u, double v)
{
  const WsEndGrid *grid = frame->grid;
  const WsPoint at =
    wsi_point_along (wsi_point_along (frame->centre, u, frame->along), v, frame->across);
  const gint x = (gint)lround ((at.x - grid->origin.x) / grid->pitch),
             y = (gint)lround ((at.y - grid->origin.y) / grid->pitch);
  if (x < 0 || y < 0 || x >= WS_END_GRID || y >= WS_END_GRID)
    return wsi_point (0, 0);
  const gsize i = (gsize)y * WS_END_GRID + (gsize)x;
  const WsPoint g = wsi_point ((double)grid->gx[i], (double)grid->gy[i]);
  return wsi_point (wsi_point_dot (g, frame->along), wsi_point_dot (g, frame->across));
}

/* ---- Lips end at the web ----------------------------------------------------------- */

/* Light's rise into the flank on a lip's line, over its length on that side of the axis: the
 * strongest of three cells in each place, since lips are bent and the grid is coarse. */
static double
rise_along (const Frame *frame, const WsEndLip *lip, double side)
{
  const WsPoint foot = wsi_point_sub (wsi_end_lip_foot (lip, frame->centre), frame->centre);
  const double v = wsi_point_dot (foot, frame->across);
  const double outward = wsi_point_dot (lip->outward, frame->along) > 0 ? side : -side;
  const double inward = wsi_point_dot (lip->inward, frame->across) > 0 ? 1 : -1;
  double sum = 0;
  guint n = 0;
  for (double t = WS_END_LIP_FROM * frame->radius; t <= WS_END_LIP_TO * frame->radius;
       t += frame->grid->pitch, n++)
  {
    double best = 0;
    for (gint k = -1; k <= 1; k++)
    {
      const double rise = inward * gradient_at (frame, outward * t, v + k * frame->grid->pitch).y;
      if (fabs (rise) > fabs (best))
        best = rise;
    }
    sum += best;
  }
  return sum / MAX (n, 1);
}

/* ---- Symmetry ---------------------------------------------------------------------- */

/* The rim, which all round things share, and the middle are left out, radii. */
#define RING_FROM 0.1
#define RING_TO 0.9

typedef struct
{
  double all, along, across; /* squares of gradients, and their products with the mirrored ones */
  double turned, pairs;
} Sums;

static void
add_place (const Frame *frame, double u, double v, Sums *sums)
{
  const WsPoint g = gradient_at (frame, u, v), h = gradient_at (frame, -u, -v),
                a = gradient_at (frame, u, -v), b = gradient_at (frame, -u, v);
  sums->all += wsi_point_dot (g, g);
  sums->along += g.x * a.x - g.y * a.y;
  sums->across += g.y * b.y - g.x * b.x;
  const double both = wsi_point_length (g) * wsi_point_length (h), dot = wsi_point_dot (g, h);
  if (!(both > 0))
    return;
  /* |g| |h| cos of twice the angle between them: light from one side may turn edges over. */
  sums->turned += 2 * dot * dot / both - both;
  sums->pairs += both;
}

WsEndLikeness
wsi_end_likeness (const WsEndGrid *grid, const WsEndPoint *point)
{
  const Frame frame = frame_of (grid, point);
  const double step = grid->pitch / frame.radius;
  Sums sums = { 1e-9, 0, 0, 0, 1e-9 };
  for (double v = -RING_TO; v <= RING_TO; v += step)
    for (double u = -RING_TO; u <= RING_TO; u += step)
      if (hypot (u, v) > RING_FROM && hypot (u, v) < RING_TO)
        add_place (&frame, u * frame.radius, v * frame.radius, &sums);
  double on = 1e-9, beyond = 0, clear = 0;
  for (guint k = 0; k < 2; k++)
  {
    const double rise = rise_along (&frame, &point->lips[k], 1);
    const double sign = rise < 0 ? -1 : 1;
    on += fabs (rise);
    beyond += sign * rise_along (&frame, &point->lips[k], -1);
    clear = MAX (clear, fabs (rise));
  }
  return (WsEndLikeness){ clear, beyond / on, MAX (sums.along, sums.across) / sums.all,
                          sums.turned / sums.pairs };
}

/* ---- What a drill's point must have ------------------------------------------------ */

/* Own trials, rendered points against pictures of anything: the clearer lip 6.8 and more, a lip's
 * line beyond the web -0.6 to 0.3 of it (slots and squares 0.8 to 1), mirrored -0.1 to 0.26 (slots,
 * crosses and chessboards 0.45 to 1), turned 0.09 to 0.99 (things by chance -0.1 to 0.1). */
#define LEAST_CLEAR 4.0
#define MOST_GOES_ON 0.55
#define MOST_MIRRORED 0.4
#define LEAST_TURNED 0.05

/* Webs of drills are 0.08 diameters and more (common practice, no source). */
#define LEAST_WEB 0.16

/* The body falls back behind the margins by so much of the radius (clearances of 1 to 2 % of the
 * diameter: common practice; seen on rendered points: 0.003 to 0.043 on the clearer side; round
 * things without margins: below 0.0015). */
#define LEAST_CLEARANCE 0.0025
#define MOST_CLEARANCE 0.055

static double
web_of (const WsEndPoint *point)
{
  const WsPoint a = wsi_end_lip_foot (&point->lips[0], point->centre),
                b = wsi_end_lip_foot (&point->lips[1], point->centre);
  return wsi_point_distance (a, b) / point->radius;
}

/* Where what lies behind the margins is lit, or the ground as light, the rim shows no step.  Then
 * both margins' ends stand for it, unlike by this part at most, or one of them and the chisel edge.
 */
#define MOST_UNLIKE 0.2

static gboolean
has_margins (const WsEndPoint *point)
{
  const double a = point->lips[0].margin, b = point->lips[1].margin;
  for (guint k = 0; k < 2; k++)
    if (point->lips[k].clearance > LEAST_CLEARANCE && point->lips[k].clearance < MOST_CLEARANCE)
      return TRUE;
  return fabs (a - b) < 0.5 * MOST_UNLIKE * (a + b) ||
         (point->has_chisel && (isfinite (a) || isfinite (b)));
}

#define SHOW_POINT "; show a drill's point along its axis, both lips and all of the rim lit"

gboolean
wsi_end_is_drill (const WsEndGrid *grid, const WsEndPoint *point, WsRefusal *refusal)
{
  const WsEndLikeness like = wsi_end_likeness (grid, point);
  if (like.clear < LEAST_CLEAR)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "no lip stands out clearly from its flute" SHOW_POINT);
  if (like.goes_on > MOST_GOES_ON)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the edges found go on across the middle, as no lips do" SHOW_POINT);
  if (like.mirrored > MOST_MIRRORED || like.turned < LEAST_TURNED)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "what is seen hasn't a drill's symmetry" SHOW_POINT);
  if (web_of (point) < LEAST_WEB)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the edges found leave no web between them" SHOW_POINT);
  if (!has_margins (point))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "no margins are seen to end behind the corners" SHOW_POINT);
  return TRUE;
}

/* ---- Grain ------------------------------------------------------------------------- */

/* Where flanks are looked at, radii along the lip and square to it. */
#define GRAIN_FROM 0.4
#define GRAIN_TO 0.85
#define GRAIN_NEAR 0.05
#define GRAIN_FAR 0.25
#define GRAIN_ROWS 20

/* Fewer tell nothing. */
#define LEAST_PIXELS 200

gboolean
wsi_end_has_grain (const WsEndPicture *picture, const WsEndPoint *point)
{
  WsDrawn drawn = { 0 };
  for (guint k = 0; k < 2; k++)
  {
    const WsEndLip *lip = &point->lips[k];
    const WsPoint foot = wsi_end_lip_foot (lip, point->centre);
    for (double t = GRAIN_FROM * point->radius; t < GRAIN_TO * point->radius; t += 1)
      for (guint row = 0; row < GRAIN_ROWS; row++)
      {
        const double depth =
          point->radius * (GRAIN_NEAR + (GRAIN_FAR - GRAIN_NEAR) * row / GRAIN_ROWS);
        const WsPoint at = wsi_strip_picture (
          picture->optics,
          wsi_point_along (wsi_point_along (foot, t, lip->outward), depth, lip->inward));
        wsi_drawn_look (&drawn, picture->sampler->image, at);
      }
  }
  return drawn.n < LEAST_PIXELS || !wsi_is_drawn (&drawn);
}
