/*
 * View `drill-relief`: a drill's point seen square to one margin at its outer corner.  Definitions:
 * docs/methods.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "base/stats.h"
#include "edge/line.h"
#include "tool/end_picture.h"

#include <string.h>

enum
{
  LIP_RELIEF,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  { "lip_relief", WS_UNIT_DEGREE, NULL, "Lip relief",
    "Angle of the flank's edge at the outer corner to the square of the axis, across the margin." },
};

/* ---- The corner: where flank, margin and flute meet --------------------------------- */

/* Lightness of a reduced picture. */
typedef struct
{
  guint width, height;
  double pitch; /* px a cell */
  float *light;
} Plane;

#define PLANE_CELLS 480

static Plane
plane_of (const WsEndPicture *picture)
{
  const WsImage *image = picture->sampler->image;
  Plane plane = { .pitch = MAX (1.0, MAX (image->width, image->height) / (double)PLANE_CELLS) };
  plane.width = (guint)(image->width / plane.pitch);
  plane.height = (guint)(image->height / plane.pitch);
  plane.light = g_new0 (float, (gsize)plane.width *plane.height);
  for (guint y = 0; y < plane.height; y++)
    for (guint x = 0; x < plane.width; x++)
    {
      double sum = 0;
      for (guint k = 0; k < 4; k++)
        sum +=
          ws_end_lightness (picture, ws_point ((x + 0.25 + 0.5 * (k % 2)) * plane.pitch - 0.5,
                                               (y + 0.25 + 0.5 * (k / 2)) * plane.pitch - 0.5));
      plane.light[(gsize)y * plane.width + x] = isfinite (sum) ? (float)(sum / 4) : 0;
    }
  return plane;
}

static double
light_at (const Plane *plane, double x, double y)
{
  const gint i = (gint)lround (x), j = (gint)lround (y);
  if (i < 0 || j < 0 || i >= (gint)plane->width || j >= (gint)plane->height)
    return NAN;
  return plane->light[(gsize)j * plane->width + (guint)i];
}

/* Rays of a corner, cells. */
#define RAY_FROM 3
#define RAY_TO 26
#define RAY_SIDE 2.0

#define RAY_PARTS 3

/* Step of light across a ray: the least of its parts' means, so that a line that only crosses an
 * edge doesn't count; 0 when they don't agree in sign, NAN outside the picture. */
static double
ray_step (const Plane *plane, double x, double y, double angle)
{
  const double c = cos (angle), s = sin (angle);
  const gint n = (RAY_TO - RAY_FROM + 1) / RAY_PARTS;
  double least = HUGE_VAL, first = 0;
  for (gint part = 0; part < RAY_PARTS; part++)
  {
    double sum = 0;
    for (gint r = RAY_FROM + part * n; r < RAY_FROM + (part + 1) * n; r++)
      sum += light_at (plane, x + r * c - RAY_SIDE * s, y + r * s + RAY_SIDE * c) -
             light_at (plane, x + r * c + RAY_SIDE * s, y + r * s - RAY_SIDE * c);
    first = part == 0 ? sum : first;
    least = sum * first > 0 ? MIN (least, fabs (sum) / n) : isnan (sum) ? NAN : 0;
    if (!(least > 0))
      return least;
  }
  return least;
}

/* The ray of strongest step between two angles, degrees clockwise from the right; 0 when it lies at
 * an end, where the true one is beyond. */
static double
best_ray (const Plane *plane, double x, double y, double from_deg, double to_deg, double *angle)
{
  double best = 0, at = from_deg;
  for (double deg = from_deg; deg <= to_deg; deg += 3)
  {
    const double step = fabs (ray_step (plane, x, y, ws_radians (deg)));
    if (!(step > best))
      continue;
    best = step;
    at = deg;
  }
  *angle = ws_radians (at);
  return at > from_deg && at + 3 <= to_deg ? best : 0;
}

typedef struct
{
  WsPoint place;    /* px */
  double edge, lip; /* directions of the flank's edge and of the lip, rad */
  double score;
} Corner;

/* Rays from the corner, degrees clockwise from the right with the axis upright and the flank to the
 * left, as on right-hand drills: the flank's edge falls by the lip relief, the lip runs up and
 * inward by the web (wide; common practice). */
static const double edge_ray[2] = { 152, 178 }, lip_ray[2] = { 273, 297 };

/* The outer corner is aimed at: it lies about the picture's middle. */
#define AIM_LEFT 0.3
#define AIM_RIGHT 0.7
#define AIM_TOP 0.22
#define AIM_BOTTOM 0.66

#define ENDS 0.7

static double
ray_near (const Plane *plane, WsPoint at, const double ray[2], gint side, double tilt_deg,
          double *angle)
{
  const double from = side > 0 ? ray[0] : 180 - ray[1], to = side > 0 ? ray[1] : 180 - ray[0];
  return best_ray (plane, at.x, at.y, from + tilt_deg, to + tilt_deg, angle);
}

static Corner
find_corner (const Plane *plane, gint side, double tilt_deg)
{
  Corner best = { .score = 0 };
  for (double y = AIM_TOP * plane->height; y < AIM_BOTTOM * plane->height; y += 2)
    for (double x = AIM_LEFT * plane->width; x < AIM_RIGHT * plane->width; x += 2)
    {
      double edge = 0, lip = 0;
      const WsPoint at = { x, y };
      const double a = ray_near (plane, at, edge_ray, side, tilt_deg, &edge);
      const double b = a > best.score ? ray_near (plane, at, lip_ray, side, tilt_deg, &lip) : 0;
      if (MIN (a, b) <= best.score)
        continue;
      /* Both end here: edges that go on are no corner's. */
      const double score = MIN (a - ENDS * ray_step (plane, x, y, edge + G_PI),
                                b - ENDS * ray_step (plane, x, y, lip + G_PI));
      if (score > best.score)
        best = (Corner){ ws_point ((x + 0.5) * plane->pitch - 0.5, (y + 0.5) * plane->pitch - 0.5),
                         edge, lip, score };
    }
  return best;
}

/* ---- Edges, finely -------------------------------------------------------------------- */

/* Follows an edge from the corner along `angle` for `length` px; appends its points. */
static void
trace (const WsEndPicture *picture, WsPoint corner, double angle, double from, double length,
       GArray *points)
{
  const WsPoint along = ws_point (cos (angle), sin (angle));
  WsPoint across = ws_point (-along.y, along.x);
  const double reach = 9;
  /* From the lighter side to the darker. */
  const WsPoint middle = ws_point_along (corner, from + 10, along);
  if (ws_end_lightness (picture, ws_point_along (middle, 5, across)) >
      ws_end_lightness (picture, ws_point_along (middle, -5, across)))
    across = ws_end_scaled (across, -1);
  double offset = 0;
  for (double t = from; t <= from + length; t += 1)
  {
    double drop;
    const WsPoint start =
      ws_point_along (ws_point_along (corner, t, along), offset - reach, across);
    const double at = ws_end_steepest_fall (picture, start, across, along, 2 * reach, 3, 1, &drop);
    if (isnan (at) || drop < 3)
      continue;
    const WsPoint p = ws_point_along (start, at, across);
    /* Slowly, so that a streak doesn't lead astray. */
    offset += 0.2 * CLAMP (offset - reach + at - offset, -2.0, 2.0);
    g_array_append_val (points, p);
  }
}

/* ---- The axis, by the body's straight side --------------------------------------------- */

/* Rows averaged above and below, each second. */
#define SIDE_ROWS 5

/* The body's side must be straight over this part of the picture's height. */
#define SIDE_LEAST 0.22

/* Ground against body, in lightness. */
#define SIDE_CONTRAST 1.2

/* The ground is read next to the frame, a departure must last, and the body's side lies in the
 * first part of the picture's width. */
#define GROUND_PX 8
#define LASTING_PX 6
#define SIDE_WITHIN 0.45

static double
row_light (const WsEndPicture *picture, double x, double y)
{
  double sum = 0;
  for (gint k = -SIDE_ROWS; k <= SIDE_ROWS; k++)
    sum += ws_end_lightness (picture, ws_point (x, y + 2 * k));
  return sum / (2 * SIDE_ROWS + 1);
}

/* First lasting departure from the ground along a row from the picture's left or right border. */
static double
side_in_row (const WsEndPicture *picture, double y, gint side)
{
  const double width = picture->sampler->image->width, first = side > 0 ? 2 : width - 3;
  double ground = 0;
  for (guint i = 0; i < GROUND_PX; i++)
    ground += row_light (picture, first + side * (double)i, y) / GROUND_PX;
  for (double i = 0; i < SIDE_WITHIN * width; i++)
  {
    double off = 0;
    for (guint k = 0; k < LASTING_PX; k++)
      off += (row_light (picture, first + side * (i + k), y) - ground) / LASTING_PX;
    if (fabs (off) > SIDE_CONTRAST)
      return first + side * (i + 0.5 * LASTING_PX);
    /* Uneven light is followed slowly. */
    ground += 0.02 * off;
  }
  return NAN;
}

static gboolean
find_axis (const WsEndPicture *picture, gint side, WsLineFit *axis)
{
  const double height = picture->sampler->image->height;
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (double y = height - 12; y > 0.5 * height; y -= 2)
  {
    const WsPoint p = { side_in_row (picture, y, side), y };
    if (isfinite (p.x))
      g_array_append_val (points, p);
  }
  g_autofree guint8 *used = g_new0 (guint8, MAX (points->len, 1));
  if (!ws_line_fit ((WsPoint *)(void *)points->data, points->len, used, axis))
    return FALSE;
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i < points->len; i++)
    if (used[i])
    {
      low = MIN (low, g_array_index (points, WsPoint, i).y);
      high = MAX (high, g_array_index (points, WsPoint, i).y);
    }
  return high - low > SIDE_LEAST * height && axis->scatter < 1.5 && fabs (axis->bow) < 2.5;
}

/* ---- Relief ------------------------------------------------------------------------------ */

typedef struct
{
  WsPoint corner;
  WsPoint tangent; /* unit, along the flank's edge away from the corner */
  double angle;    /* rad */
  double u_edge, u_axis;
  double length;  /* px of edge that it rests on */
  double scatter; /* of its points, px */
} Relief;

/* The flank's edge steepens across the margin: chord less tangent there, by rendered drills ground
 * as cones (own trials); the fit may differ from that as far as its points say. */
#define BOW_RAD 0.0122
#define U_BOW_RAD 0.0050

/* The fit ends at the margin's step, a gap of so many px, or at this part of the picture's width.
 */
#define GAP_PX 4.0
#define MOST_LENGTH 0.075
#define LEAST_LENGTH 25

/* Noise of edge points, px, correlated over some. */
#define POINT_U 0.3
#define CORRELATED 3.0

/* In the axis' frame: s away from the corner square to the axis, o down along it. */
static guint
edge_points (const GArray *traced, const Relief *relief, const WsLineFit *axis, gint side,
             double most, double *s, double *o)
{
  const WsPoint down =
    axis->direction.y > 0 ? axis->direction : ws_end_scaled (axis->direction, -1);
  const WsPoint away = ws_end_scaled (ws_point (-down.y, down.x), side);
  guint n = 0;
  for (guint i = 0; i < traced->len; i++)
  {
    const WsPoint off = ws_point_sub (g_array_index (traced, WsPoint, i), relief->corner);
    const double t = ws_point_dot (off, away);
    if (t < 3)
      continue;
    if (t > most || (n > 0 && t - s[n - 1] > GAP_PX))
      break;
    s[n] = t;
    o[n++] = ws_point_dot (off, down);
  }
  return n;
}

/* o = a + b s + c s^2 with a prior on c; b is the tangent's slope at the corner. */
static gboolean
fit_edge (const double *s, const double *o, guint n, Relief *relief)
{
  double x[3] = { 0 }, A[9];
  double spread = HUGE_VAL;
  g_autofree double *off = g_new (double, n);
  const double length = s[n - 1];
  const double weight = CORRELATED * POINT_U * POINT_U * length * length / (U_BOW_RAD * U_BOW_RAD);
  for (guint round = 0; round < 6; round++)
  {
    double y[3] = { 0, 0, weight * BOW_RAD / length };
    memset (A, 0, sizeof A);
    A[8] = weight;
    for (guint i = 0; i < n; i++)
    {
      const double terms[3] = { 1, s[i], s[i] * s[i] };
      const double r = (o[i] - x[0] - x[1] * s[i] - x[2] * s[i] * s[i]) / (4.685 * spread);
      const double w = fabs (r) < 1 ? (1 - r * r) * (1 - r * r) : 0;
      for (guint p = 0; p < 3; p++)
      {
        y[p] += w * terms[p] * o[i];
        for (guint q = 0; q < 3; q++)
          A[3 * p + q] += w * terms[p] * terms[q];
      }
    }
    if (!ws_solve_spd (A, y, 3, TRUE))
      return FALSE;
    memcpy (x, y, sizeof x);
    for (guint i = 0; i < n; i++)
      off[i] = o[i] - x[0] - x[1] * s[i] - x[2] * s[i] * s[i];
    spread = MAX (ws_mad_sigma (off, n), 0.15);
  }
  relief->scatter = spread;
  relief->angle = atan (x[1]);
  relief->u_edge = MAX (spread, POINT_U) * sqrt (CORRELATED * A[4]);
  relief->length = length;
  return TRUE;
}

static gboolean
fit_relief (const WsEndPicture *picture, const Corner *corner, gint side, const WsLineFit *axis,
            Relief *relief)
{
  const double width = picture->sampler->image->width, most = MOST_LENGTH * width;
  g_autoptr (GArray) lip = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GArray) edge = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  trace (picture, corner->place, corner->lip, 0.02 * width, 0.1 * width, lip);
  trace (picture, corner->place, corner->edge, 0.02 * width, most, edge);
  g_autofree guint8 *used = g_new0 (guint8, MAX (MAX (lip->len, edge->len), 1));
  WsLineFit lip_line, edge_line;
  if (!ws_line_fit ((WsPoint *)(void *)lip->data, lip->len, used, &lip_line) ||
      !ws_line_fit ((WsPoint *)(void *)edge->data, edge->len, used, &edge_line) ||
      !ws_line_meet (&lip_line, &edge_line, &relief->corner))
    return FALSE;
  relief->tangent = edge_line.direction;
  if (side * relief->tangent.x > 0)
    relief->tangent = ws_end_scaled (relief->tangent, -1);
  g_array_set_size (edge, 0);
  trace (picture, relief->corner, atan2 (relief->tangent.y, relief->tangent.x), 2, most, edge);
  g_autofree double *s = g_new (double, MAX (edge->len, 1));
  g_autofree double *o = g_new (double, MAX (edge->len, 1));
  const guint n = edge_points (edge, relief, axis, side, most, s, o);
  if (n < LEAST_LENGTH || !fit_edge (s, o, n, relief))
    return FALSE;
  relief->u_axis = hypot (axis->u_angle, 0.6 / (axis->t_high - axis->t_low));
  return TRUE;
}

/* Flanks relieved by less or more are none, and a rough edge is not ground. */
#define LEAST_DEG 3.0
#define MOST_DEG 30.0
#define MOST_SCATTER 1.0

/* Steps of light across the flank's edge and the lip, at their corner. */
#define LEAST_SCORE 4.0

/* An angle known no better is no use: the body's side is too faint or too short. */
#define MOST_U_DEG 0.5

/* How square the camera looks at the margin, by eye (assumed), and what a near one makes of it. */
#define U_SQUARE_RAD 0.0015

typedef struct
{
  Corner corner;
  Relief relief;
  WsLineFit axis;
  gint side; /* 1: flank to the left, a right-hand drill; 0: nothing found */
} Found;

static double
u_of (const Relief *relief)
{
  return hypot (hypot (relief->u_edge, relief->u_axis), U_SQUARE_RAD);
}

static Found
find_relief (const WsEndPicture *picture)
{
  Found best = { .side = 0 };
  Plane plane = plane_of (picture);
  for (gint side = -1; side <= 1; side += 2)
  {
    Found found = { .side = side };
    if (!find_axis (picture, side, &found.axis))
      continue;
    const double tilt = ws_degrees (atan (found.axis.direction.x / -found.axis.direction.y));
    found.corner = find_corner (&plane, side, tilt);
    if (found.corner.score < MAX (LEAST_SCORE, best.corner.score) ||
        !fit_relief (picture, &found.corner, side, &found.axis, &found.relief))
      continue;
    const double deg = ws_degrees (found.relief.angle);
    if (deg > LEAST_DEG && deg < MOST_DEG && found.relief.scatter < MOST_SCATTER)
      best = found;
  }
  g_free (plane.light);
  return best;
}

static void
mark_relief (const Found *found, double reach, WsResult *result)
{
  const WsPoint corner = found->relief.corner;
  const WsPoint down =
    found->axis.direction.y > 0 ? found->axis.direction : ws_end_scaled (found->axis.direction, -1);
  const WsPoint away = ws_end_scaled (ws_point (-down.y, down.x), found->side);
  const double slope = tan (found->relief.angle);
  const WsPoint on_edge =
    ws_point_along (ws_point_along (corner, reach, away), reach * slope, down);
  const WsPoint angle[3] = { ws_point_along (corner, 1.3 * reach, away), corner, on_edge };
  const WsPoint edge[2] = { corner, on_edge };
  const WsPoint axis[2] = { ws_point_along (corner, -1.5 * reach, down),
                            ws_point_along (corner, 3 * reach, down) };
  ws_result_add_mark (result, WS_MARK_AXIS, NULL, axis, 2);
  ws_result_add_mark (result, WS_MARK_EDGE_USED, "a", edge, 2);
  ws_result_add_mark (result, WS_MARK_ANGLE, "lip_relief", angle, 3);
  ws_result_add_mark (result, WS_MARK_CORNER, NULL, &corner, 1);
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  (void)card;
  WsSampler sampler;
  ws_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, optics, { 1, 1, 1 } };
  const Found found = find_relief (&picture);
  if (found.side == 0)
  {
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW,
                      "no outer corner beside a straight side of the body, point up");
    return;
  }
  if (ws_degrees (u_of (&found.relief)) > MOST_U_DEG)
  {
    ws_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                      "the relief would be known to %.1f degrees only",
                      2 * ws_degrees (u_of (&found.relief)));
    return;
  }
  WsQuantity *quantity =
    ws_result_add_quantity (result, &quantities[LIP_RELIEF], optics->has_scale);
  quantity->value = ws_degrees (found.relief.angle);
  quantity->known = TRUE;
  ws_quantity_add_line (quantity, "flank's edge and its bow", WS_DISTRIBUTION_NORMAL,
                        found.relief.u_edge, ws_degrees (1));
  ws_quantity_add_line (quantity, "axis by the body's side", WS_DISTRIBUTION_NORMAL,
                        found.relief.u_axis, ws_degrees (1));
  ws_quantity_add_line (quantity, "alignment: view not square to the margin",
                        WS_DISTRIBUTION_NORMAL, U_SQUARE_RAD, ws_degrees (1));
  ws_quantity_combine (quantity);
  result->hand = found.side > 0 ? "right" : "left";
  mark_relief (&found, found.relief.length, result);
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  (void)card;
  const WsQuantity *relief = ws_result_quantity (result, "lip_relief");
  if (relief == NULL || relief->verdict != WS_VERDICT_REJECT)
    return;
  g_ptr_array_add (result->advice,
                   g_strdup (relief->value < relief->lower
                               ? "Too little lip relief: the heel rubs, the drill heats up and "
                                 "needs force. Grind more off the flank behind the lip."
                               : "Too much lip relief: the lips are weak, dig in and chip. Regrind "
                                 "the flanks with less relief."));
}

const WsView ws_view_drill_relief = {
  .name = "drill-relief",
  .summary = "drill point square to one margin at the outer corner: lip relief",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL,
  .needs = WS_IMAGE_COLOUR,
  .quantities = quantities,
  .n_quantities = N_QUANTITIES,
  .measure = measure,
  .advise = advise,
};
