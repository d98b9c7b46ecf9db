#include "tool/form/lens.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "optics/deviate.h"
#include "optics/lens.h"
#include "result/build.h"
#include "tool/silhouette.h"

#define MOST_PLACES 4

/* How places move. */
typedef struct
{
  const WsLens *lens, *other;
  double shift; /* of every edge toward the ground, px */
} Move;

static Move
move_to (const WsLens *lens, const WsLens *other)
{
  return (Move){ lens, other,
                 other->parameters[WS_LENS_EDGE_SHIFT] - lens->parameters[WS_LENS_EDGE_SHIFT] };
}

/* A number that follows from places; `shift` as in Move. */
typedef double (*Number) (const WsPoint *places, double shift);

typedef struct
{
  Number number;
  guint n;
  const WsPoint *places;
} Task;

/* Change of the number; an angle's by less than a turn. */
static double
change (const Task *task, const Move *move)
{
  WsPoint moved[MOST_PLACES];
  for (guint i = 0; i < task->n; i++)
    moved[i] = wsi_lens_deviate (move->lens, move->other, task->places[i]);
  return task->number (moved, move->shift) - task->number (task->places, 0);
}

static WsFormLensU
uncertainty (const Task *task, const WsLens *lens)
{
  WsLens deviations[WS_LENS_MAX];
  const guint n = wsi_lens_deviations (lens, deviations);
  const WsLens left_over = wsi_lens_left_over (lens);
  double squares = 0;
  for (guint k = 0; k < n; k++)
  {
    const Move move = move_to (lens, &deviations[k]);
    const double by = change (task, &move);
    squares += by * by;
  }
  const Move move = move_to (lens, &left_over);
  return (WsFormLensU){ sqrt (squares), fabs (change (task, &move)) };
}

/* ---- Lines and arcs ---------------------------------------------------------------------- */

/* Between two lines of two places each, -pi .. pi. */
static double
turn (const WsPoint *places, double shift)
{
  (void)shift; /* moves both ends of a line alike */
  const WsPoint a = wsi_point_sub (places[1], places[0]), b = wsi_point_sub (places[3], places[2]);
  return atan2 (wsi_point_cross (a, b), wsi_point_dot (a, b));
}

WsFormLensU
wsi_form_lens_corner (const WsLens *lens, const WsPoint first[2], const WsPoint second[2])
{
  const WsPoint places[4] = { first[0], first[1], second[0], second[1] };
  const Task task = { turn, 4, places };
  return uncertainty (&task, lens);
}

/* Against the picture's rows. */
static double
direction (const WsPoint *places, double shift)
{
  const WsPoint fixed[4] = { { 0, 0 }, { 1, 0 }, places[0], places[1] };
  return turn (fixed, shift);
}

WsFormLensU
wsi_form_lens_direction (const WsLens *lens, const WsPoint ends[2])
{
  /* Away from +-pi, where the direction jumps. */
  const gboolean is_back = ends[1].x < ends[0].x;
  const WsPoint places[2] = { ends[is_back ? 1 : 0], ends[is_back ? 0 : 1] };
  const Task task = { direction, 2, places };
  return uncertainty (&task, lens);
}

/* Of the circle through three places: abc / (4 area). */
static double
circumradius (const WsPoint *places)
{
  const WsPoint a = wsi_point_sub (places[1], places[0]), b = wsi_point_sub (places[2], places[0]);
  return wsi_point_length (a) * wsi_point_length (b) * wsi_point_distance (places[1], places[2]) /
         (2 * fabs (wsi_point_cross (a, b)));
}

/* A bulge grows where edges move outward, a hollow shrinks. */
static double
bulge_radius (const WsPoint *places, double shift)
{
  return circumradius (places) + shift;
}

static double
hollow_radius (const WsPoint *places, double shift)
{
  return circumradius (places) - shift;
}

WsFormLensU
wsi_form_lens_radius (const WsLens *lens, const WsPoint places[3], gboolean is_bulge)
{
  const Task task = { is_bulge ? bulge_radius : hollow_radius, 3, places };
  return uncertainty (&task, lens);
}

/* ---- Deviations ---------------------------------------------------------------------------- */

static const WsFormPoint *
point_of (const WsFormFit *fit, guint i)
{
  return &g_array_index (fit->points, WsFormPoint, i);
}

/* What a shift (x, y) and, unless it is held, a turn about the pivot move a point along its
 * normal; lengths of turns in px, so that the sums are of one size. */
static void
motion_terms (const WsFormFit *fit, const WsFormPoint *p, double terms[3])
{
  terms[0] = p->normal.x;
  terms[1] = p->normal.y;
  terms[2] = fit->turn_held
               ? 0
               : wsi_point_cross (wsi_point_sub (p->foot, fit->pivot), p->normal) / fit->scale;
}

/* Against rounding only. */
#define RIDGE 1e-9

/* Takes out of `along` what the best fit takes: weighted least squares. */
static void
leave_motion_out (const WsFormFit *fit, double *along)
{
  const guint n = fit->turn_held ? 2 : 3;
  double b[3], terms[3];
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, n);
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    motion_terms (fit, p, terms);
    wsi_least_squares_add (&sums, terms, along[i], p->weight);
  }
  /* A motion that a profile doesn't hold, as a circle its turn, stays out. */
  const double rest = RIDGE * (sums.A[0] + sums.A[n + 1]);
  for (guint j = 0; j < n; j++)
    wsi_least_squares_prior (&sums, j, 0, rest);
  if (!wsi_least_squares_solve (&sums, b, NULL))
    return;
  for (guint i = 0; i < fit->points->len; i++)
  {
    motion_terms (fit, point_of (fit, i), terms);
    for (guint j = 0; j < n; j++)
      along[i] -= b[j] * terms[j];
  }
}

/* Sets how much every point's deviation changes. */
static void
changes (const WsFormFit *fit, const WsLens *lens, const WsLens *other, double *along)
{
  const Move move = move_to (lens, other);
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    const WsPoint moved = wsi_lens_deviate (lens, other, p->at);
    along[i] = wsi_point_dot (wsi_point_sub (moved, p->at), p->normal) + move.shift;
  }
  leave_motion_out (fit, along);
}

WsFormLensU *
wsi_form_lens_deviations (const WsLens *lens, const WsFormFit *fit)
{
  WsLens deviations[WS_LENS_MAX];
  const guint n = wsi_lens_deviations (lens, deviations), n_points = fit->points->len;
  const WsLens left_over = wsi_lens_left_over (lens);
  WsFormLensU *u = g_new0 (WsFormLensU, n_points + 1);
  g_autofree double *along = g_new (double, n_points + 1);
  for (guint k = 0; k < n; k++)
  {
    changes (fit, lens, &deviations[k], along);
    for (guint i = 0; i < n_points; i++)
      u[i].calibration = hypot (u[i].calibration, along[i]);
  }
  changes (fit, lens, &left_over, along);
  for (guint i = 0; i < n_points; i++)
    u[i].left_over = fabs (along[i]);
  return u;
}

void
wsi_form_lens_add (WsQuantity *quantity, WsFormLensU u, const WsOptics *optics)
{
  if (optics->lens == NULL)
  {
    wsi_quantity_add_lens_line (quantity, u.calibration, optics);
    return;
  }
  wsi_quantity_add_seen_line (quantity, "calibration", WS_DISTRIBUTION_NORMAL, u.calibration,
                              optics);
  wsi_quantity_add_seen_line (quantity, "lens distortion left over", WS_DISTRIBUTION_NORMAL,
                              u.left_over, optics);
}
