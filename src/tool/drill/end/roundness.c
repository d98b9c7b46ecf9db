#include "tool/drill/end/roundness.h"

#include "edge/find/coarse.h"
#include "maths/robust.h"
#include "result/build.h"
#include "tool/flank/strip.h"

#include <string.h>

#define DIRECTIONS 720

/* The outline is looked for between these parts of the corners' radius, from the ground inward. */
#define FROM 1.12
#define TO 0.86
#define MOST_REACH 390.0 /* px */
#define LEAST_CONTRAST 4.0

/* What is seen behind a corner, degrees: the margin; the flank over the cleared body; the flute, in
 * which the margin winds on, deeper down.  Between them lie the margin's step and the heel. */
#define MARGIN_FROM 1.0
#define MARGIN_TO 4.0
#define FLANK_FROM 20.0
#define FLANK_TO 52.0
#define FLUTE_FROM 95.0
#define FLUTE_TO 170.0

enum
{
  SIZE,
  CENTRE_X,
  CENTRE_Y,
  ALONG,
  ASLANT,
  FLANK,
  FLANK_FALL,
  WINDING,
  N_TERMS
};

/* Standard deviations of what is known beforehand, in radii: the body's clearance is 0.01 to 0.02
 * (common practice), and what a flank falls, or a margin winds into the depth, over a radian looks
 * smaller by what cameras 15 diameters away make of it at most. */
#define U_CLEARANCE 0.02
#define U_FLANK_FALL 0.004
#define U_WINDING 0.03

/* Scatter that rims have at least, px. */
#define LEAST_SCATTER 0.15
#define ROUNDS 12

typedef struct
{
  double angle, behind, radius; /* rad; rad behind the lip's corner, its middle at 0; radii */
  gint part;                    /* 0 margin, 1 flank, 2 flute */
} RimPoint;

typedef struct
{
  RimPoint points[DIRECTIONS];
  guint n;
} RimPoints;

/* Degrees behind the nearer corner, 0 to 180. */
static double
behind_corner (const WsEndPoint *point, double angle)
{
  double least = 360;
  for (guint k = 0; k < 2; k++)
  {
    const WsEndLip *lip = &point->lips[k];
    const WsPoint arm = wsi_point_sub (lip->corner, point->centre);
    const double direction = wsi_point_cross (arm, lip->inward) > 0 ? 1 : -1;
    double off = fmod (direction * wsi_degrees (angle - atan2 (arm.y, arm.x)), 360);
    off = off < 0 ? off + 360 : off;
    least = MIN (least, off);
  }
  return least;
}

static gint
part_of (double behind)
{
  if (behind > MARGIN_FROM && behind < MARGIN_TO)
    return 0;
  if (behind > FLANK_FROM && behind < FLANK_TO)
    return 1;
  return behind > FLUTE_FROM && behind < FLUTE_TO ? 2 : -1;
}

static void
trace (const WsEndPicture *picture, const WsEndPoint *point, RimPoints *rim)
{
  const double R = point->radius, reach = MIN ((FROM - TO) * R, MOST_REACH);
  rim->n = 0;
  for (guint i = 0; i < DIRECTIONS; i++)
  {
    const double angle = 2 * G_PI * i / DIRECTIONS, behind = behind_corner (point, angle);
    const gint part = part_of (behind);
    if (part < 0)
      continue;
    const WsPoint out = wsi_point (cos (angle), sin (angle));
    const double from = 0.5 * (FROM + TO) * R + 0.5 * reach;
    const WsPoint start =
      wsi_strip_picture (picture->optics, wsi_point_along (point->centre, from, out));
    double contrast, width;
    const double at = wsi_coarse_crossing (picture->sampler, start, wsi_end_scaled (out, -1), reach,
                                           LEAST_CONTRAST, &contrast, &width);
    if (!isfinite (at))
      continue;
    const double middle = part == 1 ? 0.5 * (FLANK_FROM + FLANK_TO) : 0;
    rim->points[rim->n++] =
      (RimPoint){ angle, wsi_radians (behind - middle), (from - at) / R, part };
  }
}

static gboolean
rim_row (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  const RimPoint *p = &((const RimPoints *)data)->points[i];
  (void)x;
  memset (row, 0, N_TERMS * sizeof *row);
  row[SIZE] = 1;
  row[CENTRE_X] = cos (p->angle);
  row[CENTRE_Y] = sin (p->angle);
  row[ALONG] = cos (2 * p->angle);
  row[ASLANT] = sin (2 * p->angle);
  row[FLANK] = p->part == 1 ? -1 : 0;
  row[FLANK_FALL] = p->part == 1 ? -p->behind : 0;
  row[WINDING] = p->part == 2 ? -p->behind : 0;
  *value = p->radius;
  return TRUE;
}

/* Neighbours share light and wear over so many degrees. */
#define CORRELATED_DEG 6.0
#define CORRELATED (CORRELATED_DEG * DIRECTIONS / 360)

static void
add_priors (gconstpointer data, double sigma, WsLeastSquares *sums)
{
  (void)data;
  const double s = sigma > 0 ? sigma : 0.002, k = s * s * CORRELATED;
  wsi_least_squares_prior (sums, FLANK, 0, k / (U_CLEARANCE * U_CLEARANCE));
  wsi_least_squares_prior (sums, FLANK_FALL, 0, k / (U_FLANK_FALL * U_FLANK_FALL));
  wsi_least_squares_prior (sums, WINDING, 0, k / (U_WINDING * U_WINDING));
}

/* Of directions looked in. */
#define LEAST_POINTS 150

/* Outlines that scatter more, px and radii, or have another form than a drill's, tell nothing: the
 * light hides a part of the rim, or the corners lie elsewhere. */
#define MOST_SCATTER_PX 0.5
#define MOST_SCATTER 0.0015
#define LEAST_CLEARANCE 0.005
#define MOST_CLEARANCE 0.045
#define LEAST_FALL (-0.008)
#define MOST_FALL 0.02
#define LEAST_WINDING (-0.005)
#define MOST_WINDING 0.06

/* What the form leaves open besides, in radii (rendered points: 0.0003 to 0.012). */
#define U_FORM 0.007

static gboolean
is_plausible (const WsRobustSolution *solution, double radius)
{
  const double *x = solution->x;
  return solution->sigma < MAX (MOST_SCATTER_PX / radius, MOST_SCATTER) &&
         x[FLANK] > LEAST_CLEARANCE && x[FLANK] < MOST_CLEARANCE && x[FLANK_FALL] > LEAST_FALL &&
         x[FLANK_FALL] < MOST_FALL && x[WINDING] > LEAST_WINDING && x[WINDING] < MOST_WINDING;
}

gboolean
wsi_end_roundness (const WsEndPicture *picture, const WsEndPoint *point, WsEndRoundness *found)
{
  g_autofree RimPoints *rim = g_new (RimPoints, 1);
  trace (picture, point, rim);
  const WsRobustModel model = { rim->n,  N_TERMS,   ROUNDS, LEAST_SCATTER / point->radius,
                                rim_row, add_priors };
  g_autofree double *off = g_new (double, rim->n + 1);
  WsRobustSolution solution;
  if (rim->n < LEAST_POINTS || !wsi_robust_fit (&model, rim, off, &solution))
    return FALSE;
  const double variance = solution.sigma * solution.sigma * CORRELATED;
  const double *inverse = solution.inverse;
  *found = (WsEndRoundness){ solution.x[ALONG], solution.x[ASLANT],
                             hypot (sqrt (variance * inverse[ALONG * (N_TERMS + 1)]), U_FORM),
                             hypot (sqrt (variance * inverse[ASLANT * (N_TERMS + 1)]), U_FORM) };
  return is_plausible (&solution, point->radius);
}

/* So many standard uncertainties off a circle no drill's rim is. */
#define OUT_OF_ROUND 4.0

/* So many standard uncertainties are no chance, whatever the noise says. */
#define SEEN 2.0

/* What is seen of either, too small to be believed, may be there. */
static double
bound (double by_noise, double seen, double u)
{
  const double by_rim = 2 * hypot (seen, u);
  return fabs (seen) > SEEN * u ? MAX (by_noise, by_rim) : MIN (by_noise, by_rim);
}

gboolean
wsi_end_round_check (const WsEndPicture *picture, const WsEndPoint *point, WsPictureShape *shape,
                     WsResult *result)
{
  WsEndRoundness rim;
  if (!wsi_end_roundness (picture, point, &rim))
    return TRUE;
  if (fabs (rim.along) > OUT_OF_ROUND * rim.u_along ||
      fabs (rim.aslant) > OUT_OF_ROUND * rim.u_aslant)
    return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                              "the drill's rim is no circle but %.1f %% longer one way than across",
                              200 * hypot (rim.along, rim.aslant));
  shape->u_aspect = bound (shape->u_aspect, rim.along, rim.u_along);
  shape->u_skew = bound (shape->u_skew, rim.aslant, rim.u_aslant);
  return TRUE;
}
