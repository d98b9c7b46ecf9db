#include "tool/drill/end/point.h"

#include "edge/find/coarse.h"
#include "maths/stats.h"
#include "tool/drill/end/chisel.h"
#include "tool/drill/end/likeness.h"
#include "tool/drill/end/lips.h"
#include "tool/drill/end/rim.h"
#include "tool/flank/strip.h"

#include <string.h>

/* Points smaller than this show no chisel edge to speak of, and a web that is off by a fifth
 * (rendered points). */
#define MIN_RADIUS_PX 90

/* Centre and farthest distance of the tool's cells, px of the ideal picture. */
static void
coarse_disc (const WsCoarse *coarse, const WsOptics *optics, WsPoint *centre, double *radius)
{
  double x = 0, y = 0;
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      const guint row = i / coarse->width;
      x += i % coarse->width + 0.5;
      y += row + 0.5;
    }
  const WsPoint mean = wsi_point (x / coarse->area, y / coarse->area);
  g_autofree double *far = g_new (double, coarse->area);
  guint n = 0;
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      const guint row = i / coarse->width;
      far[n++] = hypot (i % coarse->width + 0.5 - mean.x, row + 0.5 - mean.y);
    }
  *centre = wsi_end_scaled (mean, coarse->factor);
  if (optics->lens != NULL)
    *centre = ws_lens_to_ideal (optics->lens, *centre);
  *radius = wsi_quantile (far, n, 0.98) * coarse->factor;
}

/* Mean darkening at the lips, in lightness a cell of the grid, of a real point. */
#define LEAST_SCORE 0.8

/* Lips of a two-flute drill are parallel seen from the end, to regrinding faults. */
#define MOST_PARALLEL_DEG 4.0

/* Webs, and how far off centre they are, as parts of the radius. */
#define WEB_OFF 0.08

static gboolean
is_centred (const WsEndPoint *point)
{
  double inside[2];
  for (guint k = 0; k < 2; k++)
    inside[k] = wsi_point_dot (wsi_point_sub (point->centre, point->lips[k].line.centre),
                               point->lips[k].inward);
  const double web = (inside[0] + inside[1]) / point->radius;
  return web > WS_END_WEB_LEAST && web < 2 * WS_END_WEB_MOST &&
         fabs (inside[0] - inside[1]) < WEB_OFF * point->radius;
}

/* How well two lips' lines hold what was found on them, 0 to 1. */
static double
soundness (const WsEndLip lips[2])
{
  double sound = 1;
  for (guint k = 0; k < 2; k++)
    sound *= (double)lips[k].line.n_used / MAX (lips[k].line.n, 1);
  return sound;
}

/* A heel is bent (rendered points: lips 0 to 0.003 of the radius, heels 0.0095 to 0.03), and both
 * are, by half a turn. */
#define MOST_BOW 0.006

static gboolean
are_bent (const WsEndLip lips[2], double radius)
{
  return MIN (fabs (lips[0].bow), fabs (lips[1].bow)) > MOST_BOW * radius;
}

static gboolean
fit_lips (const WsEndPicture *picture, const WsEndPoint *point, const WsEndGrid *grid,
          const WsEndGuess *guess, WsEndLip lips[2])
{
  const WsPoint e = wsi_point (cos (guess->angle), sin (guess->angle));
  const gboolean light =
    wsi_end_lip_darkening (grid, point->centre, point->radius, e, guess->rho, 1) < 0;
  memset (lips, 0, 2 * sizeof *lips);
  return wsi_end_lip_fit (picture, point, guess, 0, light, &lips[0]) &&
         wsi_end_lip_fit (picture, point, guess, 1, light, &lips[1]);
}

/* A lip's heel, which lies on the other side, may be nearly as straight: both are tried, and the
 * straighter wins. */
#define WORTH_TRYING 0.5

static gboolean
choose_lips (const WsEndPicture *picture, WsEndPoint *point, const WsEndGrid *grid,
             WsRefusal *refusal)
{
  double best = 0;
  gboolean bent = FALSE;
  const WsEndGuess guesses[2] = { wsi_end_guess_lips (grid, point->centre, point->radius, -1),
                                  wsi_end_guess_lips (grid, point->centre, point->radius, 1) };
  const double most = MAX (guesses[0].score, guesses[1].score);
  if (most < LEAST_SCORE)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "no two parallel lips were found");
  for (guint g = 0; g < 2; g++)
  {
    WsEndLip lips[2];
    if (guesses[g].score < WORTH_TRYING * most ||
        !fit_lips (picture, point, grid, &guesses[g], lips))
      continue;
    if (are_bent (lips, point->radius))
    {
      bent = TRUE;
      continue;
    }
    const double score = soundness (lips) * (0.5 + 0.5 * guesses[g].score / most);
    if (score <= best)
      continue;
    best = score;
    memcpy (point->lips, lips, sizeof lips);
  }
  if (best <= 0 && bent)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the edges found are bent, as no lips are");
  if (best <= 0)
    return wsi_refusal_set (refusal, WS_RETAKE_DIRTY_EDGE, "a lip can't be followed");
  return TRUE;
}

static WsLight
mean_colour (const WsCoarse *coarse, const WsSampler *sampler)
{
  WsLight sum = { 1e-9, 1e-9, 1e-9 };
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      const WsLight light = wsi_sampler_pixel (sampler, i % coarse->width * coarse->factor,
                                               i / coarse->width * coarse->factor);
      sum = (WsLight){ sum.r + light.r, sum.g + light.g, sum.b + light.b };
    }
  const double y = wsi_colour_xyz (sum).y;
  return (WsLight){ sum.r / y, sum.g / y, sum.b / y };
}

/* A point seen along its axis is a disc that stands free: so far beyond its rim, in radii and cells
 * of the reduced picture, is ground, and inside it is tool. */
#define BEYOND_FROM 1.04
#define BEYOND_TO 1.2
#define BEYOND_CELLS 1.5
#define RING_DIRECTIONS 180

/* Of places beyond the rim at most so many show something else, and inside it at least so many
 * show the tool: flutes may have the ground's light (rendered points: up to 0.01, from 0.5). */
#define MOST_BEYOND 0.1
#define LEAST_WITHIN 0.3

/* So much of the rim may be cut off by the picture's border. */
#define MOST_OUTSIDE 0.02

static gboolean
is_outside (const WsCoarse *coarse, WsPoint at)
{
  return at.x < 0 || at.y < 0 || at.x >= coarse->factor * (double)coarse->width ||
         at.y >= coarse->factor * (double)coarse->height;
}

/* Share of the places between two radii, px, that `is` says yes of. */
static double
share_of_ring (const WsEndPicture *picture, const WsCoarse *coarse, const WsEndPoint *point,
               double from, double to, gboolean (*is) (const WsCoarse *, WsPoint))
{
  guint n = 0, yes = 0;
  for (guint i = 0; i < RING_DIRECTIONS; i++)
    for (double r = from; r < to; r += coarse->factor, n++)
    {
      const double angle = 2 * G_PI * i / RING_DIRECTIONS;
      const WsPoint at = wsi_strip_picture (
        picture->optics, wsi_point_along (point->centre, r, wsi_point (cos (angle), sin (angle))));
      yes += is (coarse, at) ? 1 : 0;
    }
  return (double)yes / MAX (n, 1);
}

static gboolean
stands_free (const WsEndPicture *picture, const WsCoarse *coarse, const WsEndPoint *point,
             WsRefusal *refusal)
{
  const double R = point->radius, near = BEYOND_CELLS * coarse->factor;
  const double beyond = share_of_ring (picture, coarse, point, BEYOND_FROM * R + near,
                                       BEYOND_TO * R + near, wsi_coarse_is_thing);
  const double within = share_of_ring (picture, coarse, point, 0, R - near, wsi_coarse_is_tool);
  const double outside = share_of_ring (picture, coarse, point, R, R + 0.5, is_outside);
  if (beyond <= MOST_BEYOND && within >= LEAST_WITHIN && outside <= MOST_OUTSIDE)
    return TRUE;
  return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                          "what is seen is no disc that stands free on a plain ground; show a "
                          "drill's point along its axis, all of its rim inside the picture");
}

static gboolean
locate (WsEndPicture *picture, WsEndPoint *point, WsRefusal *refusal)
{
  g_autoptr (WsCoarse) coarse = wsi_coarse_find (picture->sampler, FALSE);
  if (coarse == NULL)
    return wsi_refusal_set (refusal, WS_RETAKE_NO_TOOL,
                            "no drill point stands free in the picture");
  coarse_disc (coarse, picture->optics, &point->centre, &point->radius);
  if (point->radius < MIN_RADIUS_PX)
    return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the point is less than 180 px wide");
  picture->steel = mean_colour (coarse, picture->sampler);
  g_autofree WsEndGrid *grid = g_new (WsEndGrid, 1);
  wsi_end_grid_fill (picture, point->centre, point->radius, grid);
  point->centre = wsi_end_grid_centre (grid);
  if (!choose_lips (picture, point, grid, refusal))
    return FALSE;
  const double turn =
    wsi_point_cross (point->lips[0].outward, wsi_end_scaled (point->lips[1].outward, -1));
  if (fabs (wsi_degrees (turn)) > MOST_PARALLEL_DEG)
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "the lips found are not parallel");
  point->right_hand = wsi_point_cross (point->lips[0].outward, point->lips[0].inward) > 0;
  if (!wsi_end_circle_find (picture, point))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "no outer corners with margins can be seen");
  if (!stands_free (picture, coarse, point, refusal))
    return FALSE;
  if (!is_centred (point))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "the lips don't lie evenly about an axis");
  wsi_end_chisel_find (picture, point);
  /* Two parallel lines alone are no drill point. */
  if (!point->has_chisel && isnan (point->lips[0].margin) && isnan (point->lips[1].margin))
    return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                            "neither margins nor a chisel edge show");
  return wsi_end_is_drill (grid, point, refusal);
}

WsEndPoint *
wsi_end_point_locate (const WsSampler *sampler, const WsOptics *optics, WsRefusal *refusal)
{
  WsEndPicture picture = { sampler, optics, { 1, 1, 1 } };
  g_autofree WsEndPoint *point = g_new0 (WsEndPoint, 1);
  refusal->reason = WS_RETAKE_NONE;
  return locate (&picture, point, refusal) ? g_steal_pointer (&point) : NULL;
}
