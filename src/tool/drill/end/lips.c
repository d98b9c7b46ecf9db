#include "tool/drill/end/lips.h"

#include "base/geometry.h"
#include "edge/circle.h"
#include "edge/find/coarse.h"
#include "maths/stats.h"
#include "tool/drill/end/chisel.h"
#include "tool/drill/end/guess.h"
#include "tool/flank/strip.h"

#include <string.h>

/* Points smaller than this show no chisel edge to speak of. */
#define MIN_RADIUS_PX 60

/* ---- Lips ------------------------------------------------------------------------- */

/* Least fall of lightness at a lip. */
#define LIP_CONTRAST 3.0

static WsLab
mean_lab (const WsEndPicture *picture, WsPoint from, WsPoint direction, guint n)
{
  WsLab sum = { 0, 0, 0 };
  for (guint i = 0; i < n; i++)
  {
    WsLight light = { 0, 0, 0 };
    ws_sampler_at (picture->sampler,
                   ws_strip_picture (picture->optics, ws_point_along (from, i, direction)), &light);
    const WsLab lab = ws_end_lab (picture, light);
    sum = (WsLab){ sum.L + lab.L / n, sum.a + lab.a / n, sum.b + lab.b / n };
  }
  return sum;
}

/* Just outside a lip lies what lies farther out, the flute.  Inside a burn, where straw turns to
 * purple, light falls more than at the lip itself, but not to the flute's neutral colour. */
#define FLUTE_SAME 8.0
#define FLUTE_SHARE 0.3

static gboolean
is_flute (const WsEndPicture *picture, WsPoint edge, WsPoint out, WsPoint end, double drop)
{
  const WsLab near = mean_lab (picture, ws_point_along (edge, 2, out), out, 3);
  const WsLab far = mean_lab (picture, ws_point_along (end, -4, out), out, 4);
  const double off =
    sqrt ((near.L - far.L) * (near.L - far.L) + (near.a - far.a) * (near.a - far.a) +
          (near.b - far.b) * (near.b - far.b));
  return off < MAX (FLUTE_SAME, FLUTE_SHARE * drop);
}

/* Where heat coloured the flank its light changes toward the lip, which moves half way inward: the
 * line rests on clean stretches when they are long enough. */
#define COLOURED 10.0
#define CLEAN_POINTS 40
#define CLEAN_SHARE 0.25

static gboolean
is_coloured (const WsEndPicture *picture, WsPoint edge, WsPoint out)
{
  const WsLab in = mean_lab (picture, ws_point_along (edge, -5, out), out, 3),
              outside = mean_lab (picture, ws_point_along (edge, 2, out), out, 3);
  return hypot (in.a - outside.a, in.b - outside.b) > COLOURED;
}

/* Looked for from farther out again where the first find is no lip. */
#define LIP_TRIES 3

typedef struct
{
  WsPoint at;
  double drop; /* of lightness */
  gboolean coloured;
} LipEdge;

static gboolean
lip_at (const WsEndPicture *picture, WsPoint on, WsPoint search, WsPoint along, double reach,
        LipEdge *found)
{
  const WsPoint end = ws_point_along (on, reach, search);
  double start = -reach;
  for (guint i = 0; i < LIP_TRIES && reach - start > 9; i++)
  {
    double drop;
    const WsPoint from = ws_point_along (on, start, search);
    const double at =
      ws_end_steepest_fall (picture, from, search, along, reach - start, 3, 1, &drop);
    if (isnan (at) || drop < LIP_CONTRAST)
      return FALSE;
    found->at = ws_point_along (from, at, search);
    found->coloured = is_coloured (picture, found->at, search);
    found->drop = drop;
    if (is_flute (picture, found->at, search, end, drop))
      return TRUE;
    start += at + 2;
  }
  return FALSE;
}

static gboolean
fit_lip (const WsEndPicture *picture, const WsEndPoint *point, const WsEndGuess *guess, guint k,
         gboolean light_flute, WsEndLip *lip)
{
  const double side = k == 0 ? 1 : -1;
  const WsPoint e = ws_end_scaled (ws_point (cos (guess->angle), sin (guess->angle)), side);
  const WsPoint n = ws_point (-e.y, e.x);
  const WsPoint out = ws_end_scaled (n, guess->rho > 0 ? 1 : -1);
  const WsPoint search = ws_end_scaled (out, light_flute ? -1 : 1);
  const double reach = CLAMP (0.06 * point->radius, 9, WS_END_MAX_WINDOW / 2.0);
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) clean = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) drops = g_array_new (FALSE, FALSE, sizeof (double));
  for (double t = WS_END_LIP_FROM * point->radius; t <= WS_END_LIP_TO * point->radius; t += 1)
  {
    const WsPoint on = ws_point_along (ws_point_along (point->centre, t, e), guess->rho, n);
    LipEdge found;
    if (!lip_at (picture, on, search, e, reach, &found))
      continue;
    g_array_append_val (points, found.at);
    g_array_append_val (drops, found.drop);
    if (!found.coloured)
      g_array_append_val (clean, found.at);
  }
  lip->contrast = drops->len > 0 ? ws_median ((double *)(void *)drops->data, drops->len) : 0;
  if (clean->len >= MAX (CLEAN_POINTS, CLEAN_SHARE * points->len))
  {
    g_array_set_size (points, 0);
    g_array_append_vals (points, clean->data, clean->len);
  }
  else
    lip->coloured = TRUE;
  g_autofree guint8 *used = g_new0 (guint8, MAX (points->len, 1));
  if (!ws_line_fit ((WsPoint *)(void *)points->data, points->len, used, &lip->line))
    return FALSE;
  if (ws_point_dot (lip->line.direction, e) < 0)
    lip->line.direction = ws_end_scaled (lip->line.direction, -1);
  lip->outward = lip->line.direction;
  const WsPoint square = ws_point (-lip->outward.y, lip->outward.x);
  lip->inward = ws_end_scaled (square, ws_point_dot (square, out) > 0 ? -1 : 1);
  return TRUE;
}

/* ---- Corners, margins, circle ----------------------------------------------------- */

/* Means on either side of a step are taken over so many px: more in large pictures, whose edges are
 * wider. */
static guint
arm_of (const WsEndPoint *point)
{
  return (guint)CLAMP (0.008 * point->radius, 4, 20);
}

/* Mean lightness about a place, over a few px to both sides along `along`. */
static double
level_at (const WsEndPicture *picture, WsPoint at, WsPoint along, double half)
{
  double sum = 0;
  guint n = 0;
  for (double t = -half; t <= half; t += 1, n++)
    sum += ws_end_lightness (picture, ws_point_along (at, t, along));
  return sum / n;
}

/* A search outward, over what ends where the ground begins. */
typedef struct
{
  WsPoint from, out, along; /* `along` is square to `out` */
  double reach;
} Outward;

/* Where the flank ends: light falls outward, or inward where the ground is lighter.  Distance from
 * the start, px; NAN without. */
static double
flank_end (const WsEndPicture *picture, const Outward *search, guint arm, gint smooth)
{
  const WsPoint end = ws_point_along (search->from, search->reach, search->out);
  const double half = 2 * arm;
  double drop;
  if (level_at (picture, search->from, search->along, half) >=
      level_at (picture, end, search->along, half))
  {
    const double at = ws_end_steepest_fall (picture, search->from, search->out, search->along,
                                            search->reach, arm, smooth, &drop);
    return drop < LIP_CONTRAST ? (double)NAN : at;
  }
  const double at = ws_end_steepest_fall (picture, end, ws_end_scaled (search->out, -1),
                                          search->along, search->reach, arm, smooth, &drop);
  return drop < LIP_CONTRAST ? (double)NAN : search->reach - at;
}

/* The flank's end just inside the lip. */
static gboolean
find_corner (const WsEndPicture *picture, const WsEndPoint *point, WsEndLip *lip)
{
  const double inside = CLAMP (0.012 * point->radius, 3, 12);
  const WsPoint foot = ws_end_lip_foot (lip, point->centre);
  const double from = 0.88 * point->radius, reach = MIN (0.26 * point->radius, WS_END_MAX_WINDOW);
  const WsPoint start =
    ws_point_along (ws_point_along (foot, from, lip->outward), inside, lip->inward);
  const Outward search = { start, lip->outward, lip->inward, reach };
  const double at = flank_end (picture, &search, arm_of (point), 1);
  if (isnan (at))
    return FALSE;
  lip->corner = ws_point_along (foot, from + at, lip->outward);
  return TRUE;
}

/* Margin arcs are followed so far from the corner, degrees, in steps. */
#define ARC_DEG 30.0
#define ARC_STEPS 240

typedef struct
{
  double radius[ARC_STEPS]; /* of the flank's rim, px; NAN where not seen */
  double direction;         /* of growing angle: 1 or -1 */
  double start;             /* angle of the corner, rad */
} Rim;

static WsPoint
polar (WsPoint centre, double radius, double angle)
{
  return ws_point (centre.x + radius * cos (angle), centre.y + radius * sin (angle));
}

static void
trace_rim (const WsEndPicture *picture, const WsEndPoint *point, const WsEndLip *lip, Rim *rim)
{
  const WsPoint arm = ws_point_sub (lip->corner, point->centre);
  const double length = ws_point_length (arm), from = 0.9 * length;
  rim->start = atan2 (arm.y, arm.x);
  rim->direction = ws_point_cross (arm, lip->inward) > 0 ? 1 : -1;
  for (guint i = 0; i < ARC_STEPS; i++)
  {
    const double angle = rim->start + rim->direction * ws_radians (ARC_DEG * (i + 4.0) / ARC_STEPS);
    const WsPoint out = polar (ws_point (0, 0), 1, angle);
    const Outward search = { ws_point_along (point->centre, from, out), out,
                             ws_point (-out.y, out.x), 0.16 * length };
    rim->radius[i] = from + flank_end (picture, &search, arm_of (point), 1);
  }
}

static double
median_radius (const Rim *rim, guint from, guint to)
{
  double values[ARC_STEPS];
  guint n = 0;
  for (guint i = from; i < MIN (to, ARC_STEPS); i++)
    if (isfinite (rim->radius[i]))
      values[n++] = rim->radius[i];
  return n > 4 ? ws_median (values, n) : NAN;
}

/* Body clearance falls short of the margin by this much of the radius at least. */
#define LEAST_STEP 0.008

/* Share of the step's height from which it has begun. */
#define STEP_BEGINS 0.2

/* Where the rim begins to fall from margin to clearance; 0 without. */
static guint
margin_end (const Rim *rim)
{
  const double margin = median_radius (rim, 0, 24), clear = median_radius (rim, 160, ARC_STEPS);
  if (!(margin - clear > LEAST_STEP * margin))
    return 0;
  const double level = margin - STEP_BEGINS * (margin - clear);
  for (guint i = 3; i + 3 < ARC_STEPS; i++)
    if (rim->radius[i] < level && rim->radius[i + 1] < level && rim->radius[i + 2] < level)
      return i;
  return 0;
}

/* The rim up to the margin's step, or so many steps without one, must be a part of a circle about
 * the axis: other things have corners, but no margins. */
#define ROUND_STEPS 120
#define LEAST_MARGIN_STEPS 20
#define MOST_OUT_OF_ROUND 0.008

static gboolean
is_round (const Rim *rim, guint end)
{
  const guint n = end > 0 ? end : ROUND_STEPS;
  if (n < LEAST_MARGIN_STEPS)
    return FALSE;
  const double first = median_radius (rim, 0, n / 2), second = median_radius (rim, n / 2, n);
  return fabs (first - second) < MOST_OUT_OF_ROUND * first;
}

/* The arcs' points within 1 % of the corners' radius, and the corners. */
static void
add_arc (const WsEndPoint *point, const Rim *rim, guint end, GArray *points)
{
  const double margin = median_radius (rim, 0, 24);
  for (guint i = 0; i < (end > 0 ? end : 24); i++)
  {
    if (!(fabs (rim->radius[i] - margin) < 0.006 * margin))
      continue;
    const double angle = rim->start + rim->direction * ws_radians (ARC_DEG * (i + 4.0) / ARC_STEPS);
    const WsPoint p = polar (point->centre, rim->radius[i], angle);
    g_array_append_val (points, p);
  }
}

/* Between clearance and margin there is flank up to the margin's step, and depth behind it: these
 * parts of the radius (body clearances of 1 to 2 % of the diameter: common practice, no source). */
#define MARGIN_BAND_FROM 0.980
#define MARGIN_BAND_TO 0.993

/* Margins end between these angles from the corner, degrees. */
#define MARGIN_LEAST_DEG 4.0
#define MARGIN_MOST_DEG 20.0

/* How much stronger the step is than any other, a few steps away. */
#define MARGIN_CLEAR 1.6
#define MARGIN_APART 12

static double
band_light (const WsEndPicture *picture, const WsEndPoint *point, double angle)
{
  const double from = MARGIN_BAND_FROM * point->radius, to = MARGIN_BAND_TO * point->radius;
  double sum = 0;
  guint n = 0;
  for (double r = from; r <= to; r += 1, n++)
    sum += ws_end_lightness (picture, polar (point->centre, r, angle));
  return n > 0 ? sum / n : (double)NAN;
}

/* Arc from the corner to where the flank ends behind the margin, rad; NAN where no step stands
 * out. */
static double
margin_arc (const WsEndPicture *picture, const WsEndPoint *point, const Rim *rim)
{
  const guint arm = 8;
  double light[ARC_STEPS], change[ARC_STEPS] = { 0 };
  for (guint i = 0; i < ARC_STEPS; i++)
    light[i] = band_light (picture, point,
                           rim->start + rim->direction * ws_radians (ARC_DEG * i / ARC_STEPS));
  const guint from = (guint)(MARGIN_LEAST_DEG * ARC_STEPS / ARC_DEG),
              to = (guint)(MARGIN_MOST_DEG * ARC_STEPS / ARC_DEG);
  guint best = from;
  for (guint i = from; i < to; i++)
  {
    double before = 0, after = 0;
    for (guint k = 0; k < arm; k++)
    {
      before += light[i - 1 - k] / arm;
      after += light[i + k] / arm;
    }
    change[i] = fabs (after - before);
    if (change[i] > change[best])
      best = i;
  }
  double second = 0;
  for (guint i = from; i < to; i++)
    if (i + MARGIN_APART < best || i > best + MARGIN_APART)
      second = MAX (second, change[i]);
  if (!(change[best] >= LIP_CONTRAST && change[best] > MARGIN_CLEAR * second))
    return NAN;
  return ws_radians (ARC_DEG * (best - 0.5) / ARC_STEPS);
}

/* One lip's rim about the present centre; FALSE when it is no margin's. */
static gboolean
read_rim (const WsEndPicture *picture, const WsEndPoint *point, WsEndLip *lip, GArray *points)
{
  Rim rim;
  trace_rim (picture, point, lip, &rim);
  const guint end = margin_end (&rim);
  lip->margin = margin_arc (picture, point, &rim) * point->radius;
  if (!is_round (&rim, end))
    return FALSE;
  add_arc (point, &rim, end, points);
  return TRUE;
}

/* Two short arcs: the circle may only refine what the corners say. */
static void
refine_circle (WsEndPoint *point, const GArray *points)
{
  WsCircle circle;
  if (points->len > 30 && ws_circle_fit ((WsPoint *)(void *)points->data, points->len, &circle) &&
      ws_point_distance (circle.centre, point->centre) < 0.012 * point->radius &&
      fabs (circle.radius - point->radius) < 0.01 * point->radius)
  {
    point->centre = ws_point (0.5 * (circle.centre.x + point->centre.x),
                              0.5 * (circle.centre.y + point->centre.y));
    point->radius = circle.radius;
  }
}

/* Corners half a turn apart. */
static gboolean
by_both_corners (const WsEndPicture *picture, WsEndPoint *point, gboolean seen[2])
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const WsPoint a = point->lips[0].corner, b = point->lips[1].corner;
  point->centre = ws_point (0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
  point->radius = 0.5 * ws_point_distance (a, b);
  point->u_centre = 0.003 * point->radius + 0.7;
  for (guint k = 0; k < 2; k++)
    seen[k] = read_rim (picture, point, &point->lips[k], points);
  if (!seen[0] || !seen[1])
    return FALSE;
  refine_circle (point, points);
  return TRUE;
}

/* The centre of symmetry, half a cell of the grid good (rendered points). */
#define U_SYMMETRY 0.01

/* The other flank has the ground's own light: its corner lies half a turn from this one. */
static gboolean
by_one_corner (const WsEndPicture *picture, WsEndPoint *point, guint k, WsPoint symmetry)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  WsEndLip *lip = &point->lips[k], *other = &point->lips[1 - k];
  point->centre = symmetry;
  point->radius = ws_point_distance (lip->corner, symmetry);
  point->u_centre = U_SYMMETRY * point->radius;
  if (!read_rim (picture, point, lip, points))
    return FALSE;
  other->corner = ws_point_sub (ws_end_scaled (symmetry, 2), lip->corner);
  other->margin = NAN;
  return TRUE;
}

static gboolean
find_circle (const WsEndPicture *picture, WsEndPoint *point)
{
  const WsPoint symmetry = point->centre;
  gboolean seen[2];
  for (guint k = 0; k < 2; k++)
    seen[k] = find_corner (picture, point, &point->lips[k]);
  if (seen[0] && seen[1] && by_both_corners (picture, point, seen))
    return TRUE;
  for (guint k = 0; k < 2; k++)
    if (seen[k] && by_one_corner (picture, point, k, symmetry))
      return TRUE;
  return FALSE;
}

/* ---- All together ----------------------------------------------------------------- */

static gboolean
fail (WsRetake *reason, char detail[96], WsRetake why, const char *what)
{
  *reason = why;
  g_strlcpy (detail, what, 96);
  return FALSE;
}

/* Centre and farthest distance of the tool's cells, px of the ideal picture. */
static void
coarse_disc (const WsCoarse *coarse, const WsOptics *optics, WsPoint *centre, double *radius)
{
  double x = 0, y = 0;
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      x += i % coarse->width + 0.5;
      y += i / coarse->width + 0.5;
    }
  const WsPoint mean = ws_point (x / coarse->area, y / coarse->area);
  g_autofree double *far = g_new (double, coarse->area);
  guint n = 0;
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
      far[n++] = hypot (i % coarse->width + 0.5 - mean.x, i / coarse->width + 0.5 - mean.y);
  *centre = ws_end_scaled (mean, coarse->factor);
  if (optics->lens != NULL)
    *centre = ws_lens_to_ideal (optics->lens, *centre);
  *radius = ws_quantile (far, n, 0.98) * coarse->factor;
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
    inside[k] = ws_point_dot (ws_point_sub (point->centre, point->lips[k].line.centre),
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

static gboolean
fit_lips (const WsEndPicture *picture, const WsEndPoint *point, const WsEndGrid *grid,
          const WsEndGuess *guess, WsEndLip lips[2])
{
  const WsPoint e = ws_point (cos (guess->angle), sin (guess->angle));
  const gboolean light =
    ws_end_lip_darkening (grid, point->centre, point->radius, e, guess->rho, 1) < 0;
  memset (lips, 0, 2 * sizeof *lips);
  return fit_lip (picture, point, guess, 0, light, &lips[0]) &&
         fit_lip (picture, point, guess, 1, light, &lips[1]);
}

/* A lip's heel, which lies on the other side, may be nearly as straight: both are tried, and the
 * straighter wins. */
#define WORTH_TRYING 0.5

static gboolean
choose_lips (const WsEndPicture *picture, WsEndPoint *point, const WsEndGrid *grid,
             WsRetake *reason, char detail[96])
{
  double best = 0;
  const WsEndGuess guesses[2] = { ws_end_guess_lips (grid, point->centre, point->radius, -1),
                                  ws_end_guess_lips (grid, point->centre, point->radius, 1) };
  const double most = MAX (guesses[0].score, guesses[1].score);
  if (most < LEAST_SCORE)
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "no two parallel lips were found");
  for (guint g = 0; g < 2; g++)
  {
    WsEndLip lips[2];
    if (guesses[g].score < WORTH_TRYING * most ||
        !fit_lips (picture, point, grid, &guesses[g], lips))
      continue;
    const double score = soundness (lips) * (0.5 + 0.5 * guesses[g].score / most);
    if (score <= best)
      continue;
    best = score;
    memcpy (point->lips, lips, sizeof lips);
  }
  if (best <= 0)
    return fail (reason, detail, WS_RETAKE_DIRTY_EDGE, "a lip can't be followed");
  return TRUE;
}

static WsLight
mean_colour (const WsCoarse *coarse, const WsSampler *sampler)
{
  WsLight sum = { 1e-9, 1e-9, 1e-9 };
  for (guint i = 0; i < coarse->width * coarse->height; i++)
    if (coarse->tool[i])
    {
      const WsLight light = ws_sampler_pixel (sampler, i % coarse->width * coarse->factor,
                                              i / coarse->width * coarse->factor);
      sum = (WsLight){ sum.r + light.r, sum.g + light.g, sum.b + light.b };
    }
  const double y = ws_colour_xyz (sum).y;
  return (WsLight){ sum.r / y, sum.g / y, sum.b / y };
}

static gboolean
locate (WsEndPicture *picture, WsEndPoint *point, WsRetake *reason, char detail[96])
{
  g_autoptr (WsCoarse) coarse = ws_coarse_find (picture->sampler, FALSE);
  if (coarse == NULL)
    return fail (reason, detail, WS_RETAKE_NO_TOOL, "no drill point stands free in the picture");
  coarse_disc (coarse, picture->optics, &point->centre, &point->radius);
  if (point->radius < MIN_RADIUS_PX)
    return fail (reason, detail, WS_RETAKE_TOO_SMALL, "the point is less than 120 px wide");
  picture->steel = mean_colour (coarse, picture->sampler);
  g_autofree WsEndGrid *grid = g_new (WsEndGrid, 1);
  ws_end_grid_fill (picture, point->centre, point->radius, grid);
  point->centre = ws_end_grid_centre (grid);
  if (!choose_lips (picture, point, grid, reason, detail))
    return FALSE;
  const double turn =
    ws_point_cross (point->lips[0].outward, ws_end_scaled (point->lips[1].outward, -1));
  if (fabs (ws_degrees (turn)) > MOST_PARALLEL_DEG)
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "the lips found are not parallel");
  point->right_hand = ws_point_cross (point->lips[0].outward, point->lips[0].inward) > 0;
  if (!find_circle (picture, point))
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "no outer corners with margins can be seen");
  if (!is_centred (point))
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "the lips don't lie evenly about an axis");
  ws_end_chisel_find (picture, point);
  /* Two parallel lines alone are no drill point. */
  if (!point->has_chisel && isnan (point->lips[0].margin) && isnan (point->lips[1].margin))
    return fail (reason, detail, WS_RETAKE_WRONG_VIEW, "neither margins nor a chisel edge show");
  return TRUE;
}

WsEndPoint *
ws_end_point_locate (const WsSampler *sampler, const WsOptics *optics, WsRetake *reason,
                     char detail[96])
{
  WsEndPicture picture = { sampler, optics, { 1, 1, 1 } };
  g_autofree WsEndPoint *point = g_new0 (WsEndPoint, 1);
  *reason = WS_RETAKE_NONE;
  return locate (&picture, point, reason, detail) ? g_steal_pointer (&point) : NULL;
}
