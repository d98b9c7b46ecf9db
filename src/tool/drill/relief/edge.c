#include "tool/drill/relief/edge.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "tool/drill/relief/frame.h"

/* ---- The curve so far ---------------------------------------------------------------------- */

/* Least squares o = a + b s + c s^2 over the newest points, the bend held to what flanks have (own
 * trials on rendered drills, wide). */
#define NEWEST_PX 140
#define BEND 0.05
#define U_BEND 0.15

static gboolean
fit_curve (const GArray *points, double radius, double lift, double step_at_s, WsReliefCurve *curve)
{
  double y[3];
  WsLeastSquares sums;
  const double last = g_array_index (points, WsPoint, points->len - 1).x;
  const double weight = radius * radius / (U_BEND * U_BEND);
  wsi_least_squares_init (&sums, 3);
  wsi_least_squares_prior (&sums, 2, BEND / radius, weight);
  for (guint i = 0; i < points->len; i++)
  {
    const WsPoint p = g_array_index (points, WsPoint, i);
    if (p.x < last - NEWEST_PX)
      continue;
    const double terms[3] = { 1, p.x, p.x * p.x };
    const double o = p.y + (p.x > step_at_s ? lift : 0);
    wsi_least_squares_add (&sums, terms, o, 1);
  }
  if (!wsi_least_squares_solve (&sums, y, NULL))
    return FALSE;
  *curve = (WsReliefCurve){ y[0], y[1], y[2] };
  return TRUE;
}

/* ---- From a candidate to the margin's edge --------------------------------------------------- */

/* The straight line to begin with lies so close to the candidate, px and degrees. */
#define SEARCH_PX 12
#define SEARCH_DEG 6
#define LEAST_DEG 2.0
#define MOST_DEG 31.0

/* Part of the margin that is looked at first, radii. */
#define FIRST_FROM 0.02
#define FIRST_TO 0.13

static double
find_first (const WsReliefFrame *frame, double radius, double fall, WsReliefCurve *curve)
{
  double best = 0;
  for (gint k = -SEARCH_DEG; k <= SEARCH_DEG; k++)
  {
    const double angle = fall + wsi_radians (k);
    if (angle < wsi_radians (LEAST_DEG) || angle > wsi_radians (MOST_DEG))
      continue;
    for (gint a = -SEARCH_PX; a <= SEARCH_PX; a++)
    {
      const WsReliefCurve now = { a, tan (angle), BEND / radius };
      const double step =
        fabs (wsi_relief_mean_step (frame, &now, FIRST_FROM * radius, FIRST_TO * radius, 0));
      if (!(step > best))
        continue;
      best = step;
      *curve = now;
    }
  }
  return best;
}

/* ---- Following it ------------------------------------------------------------------------------
 */

/* As far as the edge is followed: beyond, a round body's edge bends too fast. */
#define FOLLOW_TO 0.62

/* Search to either side, px; and the least step, times that of places off the edge. */
#define WINDOW 3
#define LEAST_TIMES 1.5
#define OFF_EDGE 12

/* Without an edge for so long, radii, it has ended. */
#define LOST 0.08

/* The margin's step begins here, and lifts the edge so far; both in radii (margins of 0.07 to 0.13
 * diameters, body clearance up to 0.025 diameters: common practice). */
#define STEP_FROM 0.13
#define STEP_TO 0.27
#define LIFT_MOST 0.04
#define LIFT_LEAST 3
#define STEP_PX 14
#define LOOK_PX 26
#define LIFT_EVERY 3
#define LIFT_HOPE 0.3

typedef struct
{
  const WsReliefFrame *frame;
  double radius;
  WsReliefCurve curve;
  double lift, step_s; /* HUGE_VAL before the step */
  double mean;         /* step of light that the margin's edge had */
  GArray *points;
  double sum; /* of steps found */
} Follow;

static void
try_lift (const Follow *follow, double from, double k, double *best, double *lift)
{
  const double higher =
    fabs (wsi_relief_mean_step (follow->frame, &follow->curve, from, from + LOOK_PX, k));
  if (!(higher > *best))
    return;
  *best = higher;
  *lift = k;
}

/* Does the edge go on higher up from here?  A step of light is read over some px on either side of
 * it, so that every third place finds it, by two thirds of its height at least. */
static void
look_for_step (Follow *follow, double s)
{
  if (follow->step_s < HUGE_VAL || s < STEP_FROM * follow->radius || s > STEP_TO * follow->radius)
    return;
  const double from = s + STEP_PX + 0.5 * follow->frame->reach, to = from + LOOK_PX;
  const double on = fabs (wsi_relief_mean_step (follow->frame, &follow->curve, from, to, 0));
  double best = 0, lift = 0;
  for (double k = LIFT_LEAST; k <= LIFT_MOST * follow->radius; k += LIFT_EVERY)
    try_lift (follow, from, k, &best, &lift);
  if (best < LIFT_HOPE * follow->mean)
    return;
  const double about = lift;
  for (double k = MAX (LIFT_LEAST, about - LIFT_EVERY + 1); k < about + LIFT_EVERY; k += 1)
    try_lift (follow, from, k, &best, &lift);
  if (best < 0.6 * follow->mean || on > 0.5 * best)
    return;
  follow->lift = lift;
  follow->step_s = s;
}

static gboolean
find_here (const Follow *follow, double s, double *at, double *step)
{
  const double slope = wsi_relief_curve_slope (&follow->curve, s);
  const double lift = s > follow->step_s ? follow->lift : 0;
  const double middle = wsi_relief_curve_at (&follow->curve, s) - lift;
  double best = 0, off = 0;
  for (double d = -WINDOW; d <= WINDOW; d += 0.5)
  {
    const double now = fabs (wsi_relief_step (follow->frame, s, middle + d, slope));
    const double near = now * (1 - 0.5 * d * d / (WINDOW * WINDOW));
    if (!(near > best))
      continue;
    best = near;
    *step = now;
    *at = middle + d;
  }
  for (gint k = -1; k <= 1; k += 2)
    off += 0.5 * fabs (wsi_relief_step (follow->frame, s, middle + k * OFF_EDGE, slope));
  return best > LEAST_TIMES * off;
}

static void
follow_edge (Follow *follow)
{
  double last = 0;
  for (double s = MAX (2, 0.7 * follow->frame->reach - 2);
       s < FOLLOW_TO * follow->radius && s - last < LOST * follow->radius; s += 1)
  {
    look_for_step (follow, s);
    if (s > follow->step_s && s < follow->step_s + STEP_PX)
    {
      last = s;
      continue;
    }
    double at = 0, step = 0;
    if (!find_here (follow, s, &at, &step))
      continue;
    const WsPoint p = { s, at };
    g_array_append_val (follow->points, p);
    follow->sum += step;
    last = s;
    if (follow->points->len > FIRST_TO * follow->radius && follow->points->len % 4 == 0)
      fit_curve (follow->points, follow->radius, follow->lift, follow->step_s, &follow->curve);
  }
}

/* ---- The corner finely --------------------------------------------------------------------------
 */

/* The lip and the leading edge are followed over this stretch, radii, and searched so far aside. */
#define LINE_FROM 0.05
#define LINE_TO 0.33
#define LINE_REACH 8
#define LINE_LEAST 2.0

/* A line is told by so many places, which lie two px apart or more: more tell no more, since all
 * are means over some px. */
#define LINE_PLACES 120
#define LINE_EVERY 2.0

/* A straight line along the direction, rad from `away`. */
static gboolean
fit_line (const WsReliefFrame *frame, double radius, double direction, WsLineFit *line)
{
  const WsPoint along =
    wsi_point_sub (wsi_relief_frame_place (frame, cos (direction), sin (direction)), frame->origin);
  const WsReliefFrame turned = { frame->plane, frame->origin, along, wsi_point (-along.y, along.x),
                                 WS_RELIEF_SHORT_REACH };
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const double every = MAX (LINE_EVERY, (LINE_TO - LINE_FROM) * radius / LINE_PLACES);
  for (double s = LINE_FROM * radius; s < LINE_TO * radius; s += every)
  {
    double best = 0, at = 0;
    for (double o = -LINE_REACH; o <= LINE_REACH; o += 0.5)
    {
      const double step = fabs (wsi_relief_step (&turned, s, o, 0));
      if (!(step > best))
        continue;
      best = step;
      at = o;
    }
    const WsPoint p = wsi_relief_frame_place (&turned, s, at);
    if (best > LINE_LEAST && fabs (at) < LINE_REACH)
      g_array_append_val (points, p);
  }
  g_autofree guint8 *used = g_new0 (guint8, MAX (points->len, 1));
  return wsi_line_fit ((WsPoint *)(void *)points->data, points->len, used, line);
}

/* How far the candidate may be off, px, and how well the lines tell the corner. */
#define CORNER_OFF 25
#define U_CORNER 3.0

/* Beyond the corner nothing goes on, also not as far below as a margin's step may lie: of the
 * edge's step of light no more than this part, unless that is no more than other places show. */
#define BEYOND 0.35
#define BEYOND_NOISE 2.5
#define BEYOND_OTHER 0.06

static gboolean
goes_on (const Follow *follow)
{
  const WsReliefCurve straight = { 0, follow->curve.b, 0 };
  const double R = follow->radius, from = -FIRST_TO * R, to = -FIRST_FROM * R;
  double most = 0, noise = 0;
  for (double fall = 0; fall < LIFT_MOST * R; fall += 1)
    most = MAX (most, fabs (wsi_relief_mean_step (follow->frame, &straight, from, to, -fall)));
  for (double fall = LIFT_MOST * R; fall < (LIFT_MOST + BEYOND_OTHER) * R; fall += 1)
    noise = MAX (noise, fabs (wsi_relief_mean_step (follow->frame, &straight, from, to, -fall)));
  return most > BEYOND * follow->mean && most > BEYOND_NOISE * noise;
}

/* Up from here, over the flank and its outline or over nothing but ground: columns over the margin
 * in radii, their width in px, and the step of lightness that ground doesn't have. */
static const double columns[] = { 0.04, 0.09, 0.14 };
#define COLUMN_PX 7
#define COLUMN_FROM 0.04
#define COLUMN_STEP 8
#define GROUND_STEP 0.8

static double
column_light (const WsReliefFrame *frame, double s, double o)
{
  double sum = 0;
  for (gint k = -COLUMN_PX; k <= COLUMN_PX; k++)
  {
    const WsPoint p = wsi_relief_frame_place (frame, s + k, o);
    sum += wsi_relief_light (frame->plane, p.x, p.y);
  }
  return sum / (2 * COLUMN_PX + 1);
}

static gboolean
is_ground_above (const Follow *follow)
{
  const WsReliefFrame *frame = follow->frame;
  for (guint k = 0; k < G_N_ELEMENTS (columns); k++)
  {
    const double s = columns[k] * follow->radius;
    const double from = wsi_relief_curve_at (&follow->curve, s) - COLUMN_FROM * follow->radius;
    for (double o = from;; o -= COLUMN_STEP)
    {
      double step = 0;
      for (gint t = 0; t < COLUMN_STEP; t++)
        step += (column_light (frame, s, o - t) - column_light (frame, s, o - t - COLUMN_STEP)) /
                COLUMN_STEP;
      if (isnan (step))
        break;
      if (fabs (step) > GROUND_STEP)
        return FALSE;
    }
  }
  return TRUE;
}

/* Moves the frame's origin to where lip or leading edge meets the flank's edge; the corner's
 * standard uncertainty along it, NAN where neither is seen. */
static double
move_to_corner (WsReliefFrame *frame, double radius, const WsReliefCorner *corner,
                const WsReliefCurve *curve)
{
  const double directions[2] = { corner->lip, corner->lead };
  const WsPoint along = wsi_point_sub (wsi_relief_frame_place (frame, 1, curve->b), frame->origin);
  const double norm = wsi_point_length (along);
  const WsLineFit edge = { .centre = wsi_relief_frame_place (frame, 0, curve->a),
                           .direction = { along.x / norm, along.y / norm } };
  double s[2];
  guint n = 0;
  for (guint k = 0; k < 2; k++)
  {
    WsLineFit line;
    WsPoint where;
    if (!fit_line (frame, radius, directions[k], &line) || !wsi_line_meet (&line, &edge, &where))
      continue;
    s[n] = wsi_point_dot (wsi_point_sub (where, frame->origin), frame->away);
    n += fabs (s[n]) < CORNER_OFF;
  }
  const double at = n == 2 ? 0.5 * (s[0] + s[1]) : n == 1 ? s[0] : 0;
  frame->origin = wsi_relief_frame_place (frame, at, wsi_relief_curve_at (curve, at));
  return n == 2 ? hypot (U_CORNER, 0.5 * (s[0] - s[1])) : n == 1 ? 1.5 * U_CORNER : NAN;
}

/* ---- Places finely
 * -------------------------------------------------------------------------------- */

#define FINE_REACH 5

/* Lightness that counts for over-exposed, means of some px beside the edge; noise takes some off.
 */
#define CLIPPED 97.0

/* There the lighter side has more light than it shows, and the half-way place moves outward. */
static guint8
is_clipped (const WsReliefFrame *frame, const WsReliefCurve *curve, WsPoint p)
{
  double light[2] = { 0, 0 };
  for (gint side = 0; side < 2; side++)
    for (gint k = -WS_RELIEF_READ_ALONG; k <= WS_RELIEF_READ_ALONG; k++)
      for (gint d = 2; d <= 4; d++)
      {
        const double s = p.x + (double)k * frame->reach / WS_RELIEF_READ_ALONG;
        const WsPoint at =
          wsi_relief_frame_place (frame, s, p.y + curve->b * (s - p.x) + (side == 0 ? -d : d));
        light[side] +=
          wsi_relief_light (frame->plane, at.x, at.y) / (3 * (2 * WS_RELIEF_READ_ALONG + 1));
      }
  return MAX (light[0], light[1]) > CLIPPED;
}

static gboolean
place_finely (const WsEndPicture *picture, const WsReliefFrame *frame, const WsReliefCurve *curve,
              WsPoint *p)
{
  const double slope = wsi_relief_curve_slope (curve, p->x), norm = hypot (1, slope);
  const WsPoint along = wsi_point ((frame->away.x + slope * frame->down.x) / norm,
                                   (frame->away.y + slope * frame->down.y) / norm);
  WsPoint across = { (frame->down.x - slope * frame->away.x) / norm,
                     (frame->down.y - slope * frame->away.y) / norm };
  /* From the lighter side to the darker. */
  if (wsi_relief_step (frame, p->x, p->y, slope) < 0)
    across = wsi_end_scaled (across, -1);
  const WsPoint start =
    wsi_point_along (wsi_relief_frame_place (frame, p->x, p->y), -FINE_REACH, across);
  /* An end of the search speaks against the edge: left out, streaks have passed for one. */
  double drop;
  gboolean at_end;
  const double at = wsi_end_steepest_place (picture, start, across, along, 2 * FINE_REACH + 1, 3,
                                            wsi_relief_smooth (frame->reach), &drop, &at_end);
  if (!(fabs (at - FINE_REACH) < FINE_REACH - 1) || !(drop > 0))
    return FALSE;
  const WsPoint off = wsi_point_sub (wsi_point_along (start, at, across), frame->origin);
  *p = wsi_point (wsi_point_dot (off, frame->away), wsi_point_dot (off, frame->down));
  return TRUE;
}

/* Off the edge, both ways, px. */
static const double off_edge[] = { 10, 14, 18 };

/* Edges show by steps of light so many times those beside them (own trials on rendered drills: true
 * edges 4.6 to 75, streaks up to 6, those with something like a margin's step up to 4). */
#define LEAST_CLARITY 4.0

static double
clarity_of (const Follow *follow)
{
  double on = 0, off = 0;
  for (guint i = 0; i < follow->points->len; i++)
  {
    const WsPoint p = g_array_index (follow->points, WsPoint, i);
    on += fabs (wsi_relief_step (follow->frame, p.x, p.y, follow->curve.b));
    for (guint k = 0; k < 2 * G_N_ELEMENTS (off_edge); k++)
      off +=
        fabs (wsi_relief_step (follow->frame, p.x, p.y + (k % 2 == 0 ? 1 : -1) * off_edge[k / 2],
                               follow->curve.b)) /
        (2 * G_N_ELEMENTS (off_edge));
  }
  return on / MAX (off, 1e-9);
}

/* ---- All of it ---------------------------------------------------------------------- */

#define LEAST_POINTS 40

void
wsi_relief_edge_clear (WsReliefEdge *edge)
{
  g_clear_pointer (&edge->points, g_array_unref);
  g_clear_pointer (&edge->clipped, g_array_unref);
}

gboolean
wsi_relief_edge_trace (const WsReliefPlane *plane, const WsEndPicture *picture,
                       const WsReliefAxis *axis, const WsReliefCorner *corner, gint reach,
                       WsReliefEdge *edge)
{
  WsReliefFrame frame = { plane, corner->place, wsi_point (-axis->inward.x, -axis->inward.y),
                          wsi_point (-axis->up.x, -axis->up.y), reach };
  Follow follow = { .frame = &frame, .step_s = HUGE_VAL };
  follow.radius = wsi_point_dot (wsi_point_sub (corner->place, axis->foot), axis->inward);
  follow.mean = find_first (&frame, follow.radius, corner->fall, &follow.curve);
  if (!(follow.mean > 0))
    return FALSE;
  const double u_corner = move_to_corner (&frame, follow.radius, corner, &follow.curve);
  if (isnan (u_corner))
    return FALSE;
  follow.curve.a = 0;
  follow.radius = wsi_point_dot (wsi_point_sub (frame.origin, axis->foot), axis->inward);
  if (goes_on (&follow) || is_ground_above (&follow))
    return FALSE;
  follow.points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  follow_edge (&follow);
  g_autoptr (GArray) points = follow.points;
  const double clarity = clarity_of (&follow);
  if (points->len < LEAST_POINTS || !(clarity > LEAST_CLARITY))
    return FALSE;
  *edge = (WsReliefEdge){ .corner = frame.origin,
                          .away = frame.away,
                          .down = frame.down,
                          .radius = follow.radius,
                          .points = g_array_new (FALSE, FALSE, sizeof (WsPoint)),
                          .clipped = g_array_new (FALSE, FALSE, sizeof (guint8)),
                          .u_corner = u_corner,
                          .reach = reach,
                          .clarity = clarity,
                          .support = corner->score * follow.sum / follow.radius };
  for (guint i = 0; i < points->len; i++)
  {
    WsPoint p = g_array_index (points, WsPoint, i);
    const WsReliefCurve local = { 0, follow.curve.b, 0 };
    if (!place_finely (picture, &frame, &local, &p))
      continue;
    const guint8 clipped = is_clipped (&frame, &local, p);
    g_array_append_val (edge->points, p);
    g_array_append_val (edge->clipped, clipped);
  }
  return TRUE;
}
