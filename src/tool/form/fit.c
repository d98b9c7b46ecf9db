#include "tool/form/fit.h"

#include <string.h>

#include "base/geometry.h"
#include "maths/robust.h"
#include "maths/stats.h"
#include "tool/form/guess.h"
#include "tool/form/motion.h"
#include "tool/form/nominal.h"
#include "tool/form/samples.h"

/* Less of the profile beside the outline than this is no match: at first, and in the end. */
#define MIN_GUESSED 0.6
#define MIN_COVERED 0.8

/* Half of the profile must come nearer than this part of its size: a tool farther off is another.
 */
#define MOST_OFF_SHARE 0.01

#define ROUNDS 30
#define FINE_ROUNDS 6
#define COARSE_POINTS 600
#define SHRINK 0.6

/* The least deviation of an outline that it is worth telling apart, px. */
#define LEAST_SCATTER 0.06

/* The reach shrinks for as long as more than this share of the profile stays within: half of it is
 * what any robust fit can lose. */
#define LEAST_KEPT 0.55

/* Of fewer segments none can be spared; of more, each matters too little to spoil the fit. */
#define LEAST_LEAVABLE 3
#define MOST_LEAVABLE 30

/* Another motion is better only when it is clearly so. */
#define CLEARLY_LESS 0.9

/* Blocks of outline whose errors are taken together: as for lines, but an outline is longer. */
#define BLOCKS 20

typedef struct
{
  const WsFormTask *task;
  const WsFormNominal *profile;
  const GArray *samples;
  WsFormMotion motion;
  double angle_held; /* in the motion's sense, or NAN */
  double reach;      /* of the biweight, px */
  guint without;     /* number of a segment that is left out; 0: none */
} Refiner;

/* The present motion's turn, how far to look, and on which segment the last point was. */
typedef struct
{
  WsFormTurn turn, back;
  double reach;
  guint segment;
} Comparing;

static gboolean
compare (const Refiner *refiner, Comparing *by, const WsFormSample *sample, WsFormPoint *point)
{
  const WsFormMotion *motion = &refiner->motion;
  const double sign = motion->forward ? 1 : -1;
  const WsPoint heading =
    wsi_form_turned_by (wsi_point (sign * sample->heading.x, sign * sample->heading.y), &by->back);
  const WsPoint p = wsi_form_turned_by (wsi_point_sub (sample->at, motion->shift), &by->back);
  const WsFormQuery query = { p, heading, by->reach, by->segment };
  const WsFormFoot foot = wsi_form_nominal_nearest (refiner->profile, &query);
  by->segment = foot.segment;
  if (!(foot.distance < HUGE_VAL) || wsi_form_nominal_beyond_ends (refiner->profile, &foot))
    return FALSE;
  const WsContourSegment *s = &refiner->profile->segments[foot.segment];
  const WsPoint d = wsi_form_nominal_direction (refiner->profile, foot.segment, foot.t);
  /* The ground lies on the left-hand side of the outline's way. */
  const WsPoint normal = wsi_point (sign * d.y, -sign * d.x);
  const double bend = fabs (s->sweep) > 0 ? sign * (s->sweep > 0 ? 1 : -1) / s->radius : 0;
  *point = (WsFormPoint){
    .at = sample->at,
    .foot = wsi_point_add (wsi_form_turned_by (foot.foot, &by->turn), motion->shift),
    .normal = wsi_form_turned_by (normal, &by->turn),
    .along =
      refiner->profile->start[foot.segment] + foot.t * refiner->profile->lengths[foot.segment],
    .deviation = wsi_point_dot (wsi_point_sub (p, foot.foot), normal),
    .length = sample->length,
    .misfit = sample->misfit,
    .curvature = bend,
    .number = s->number,
    .at_corner = sample->is_crowded ||
                 wsi_form_nominal_near_corner (refiner->profile, &foot, refiner->task->guard),
  };
  point->is_veiled = sample->is_veiled && !point->at_corner;
  point->at_corner = point->at_corner || sample->is_veiled || sample->is_spoilt;
  /* Blur draws a bulge in and fills a hollow: s^2 / (2 r). */
  const double blur = refiner->task->outline->blur_px;
  point->deviation += 0.5 * blur * blur * CLAMP (bend, -1 / blur, 1 / blur);
  return TRUE;
}

/* All points beside the profile; the weights are those of the present reach. */
static GArray *
compare_all (const Refiner *refiner, guint stride)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsFormPoint));
  const double angle = refiner->motion.angle;
  Comparing by = { wsi_form_turn (angle), wsi_form_turn (-angle),
                   MAX (3 * refiner->reach, 0.03 * refiner->profile->size), 0 };
  for (guint i = 0; i < refiner->samples->len; i += stride)
  {
    WsFormPoint point;
    if (!compare (refiner, &by, &g_array_index (refiner->samples, WsFormSample, i), &point))
      continue;
    const gboolean counts = !point.at_corner && point.number != refiner->without;
    point.weight = counts ? point.length * wsi_tukey_weight (point.deviation / refiner->reach) : 0;
    g_array_append_val (points, point);
  }
  return points;
}

/* Share of the profile that lies within half of the reach, where the biweight is more than a
 * half. */
static double
kept_share (const GArray *points, guint without, double reach)
{
  double kept = 0, all = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    if (p->at_corner || p->number == without)
      continue;
    all += p->length;
    kept += fabs (p->deviation) < 0.5 * reach ? p->length : 0;
  }
  return all > 0 ? kept / all : 0;
}

static double
scatter_of (const GArray *points)
{
  g_autofree double *off = g_new (double, points->len + 1);
  guint n = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    if (!p->at_corner)
      off[n++] = fabs (p->deviation);
  }
  return n > 0 ? wsi_absolute_sigma (off, n) : 0;
}

static double
rms_of (const GArray *points)
{
  double squares = 0, length = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    if (p->at_corner)
      continue;
    squares += p->length * p->deviation * p->deviation;
    length += p->length;
  }
  return length > 0 ? sqrt (squares / length) : 0;
}

static WsPoint
pivot_of (const GArray *points)
{
  WsPoint sum = { 0, 0 };
  double weight = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    sum = wsi_point_along (sum, p->weight, p->foot);
    weight += p->weight;
  }
  return weight > 0 ? wsi_point (sum.x / weight, sum.y / weight) : sum;
}

/* What a shift of the profile by (x, y) and a turn about the pivot do to its place along the
 * normal. */
static void
row_of (const WsFormPoint *p, WsPoint pivot, double row[3])
{
  row[0] = p->normal.x;
  row[1] = p->normal.y;
  row[2] = wsi_point_cross (wsi_point_sub (p->foot, pivot), p->normal);
}

static gboolean
solve_motion (const GArray *points, WsPoint pivot, gboolean held, double inverse[9], double x[3])
{
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, 3);
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    double row[3];
    row_of (p, pivot, row);
    if (held)
      row[2] = 0;
    wsi_least_squares_add (&sums, row, p->deviation, p->weight);
  }
  if (held)
    wsi_least_squares_prior (&sums, 2, 0, 1);
  return wsi_least_squares_solve (&sums, x, inverse);
}

/* One step; returns how far it moved the profile's rim, px, or HUGE_VAL. */
static double
step (Refiner *refiner, guint stride)
{
  g_autoptr (GArray) points = compare_all (refiner, stride);
  const WsPoint pivot = pivot_of (points);
  double A[9], b[3];
  if (points->len < 10 || !solve_motion (points, pivot, isfinite (refiner->angle_held), A, b))
    return HUGE_VAL;
  WsFormMotion *motion = &refiner->motion;
  const WsPoint arm = wsi_point_sub (motion->shift, pivot);
  motion->shift =
    wsi_point_add (wsi_point_add (pivot, wsi_form_turned (arm, b[2])), wsi_point (b[0], b[1]));
  motion->angle += b[2];
  return hypot (b[0], b[1]) + fabs (b[2]) * refiner->profile->size;
}

/* Steps with a reach that shrinks; FALSE when too little of the profile is left. */
static gboolean
anneal (Refiner *refiner, guint stride)
{
  const double least = WS_TUKEY_REACH * MAX (refiner->task->noise, LEAST_SCATTER);
  gboolean is_last = FALSE;
  for (guint round = 0; round < ROUNDS; round++)
  {
    const double by = step (refiner, stride);
    if (!(by < HUGE_VAL))
      return FALSE;
    if (is_last && by < 1e-3)
      break;
    g_autoptr (GArray) points = compare_all (refiner, stride);
    const double next = MAX (least, SHRINK * refiner->reach);
    is_last = next >= refiner->reach || kept_share (points, refiner->without, next) < LEAST_KEPT;
    if (!is_last)
      refiner->reach = next;
  }
  return TRUE;
}

/* Truncated squares: what a motion leaves that noise doesn't explain, whatever is off by more. */
static double
cost_of (const Refiner *refiner, guint stride)
{
  const double most = WS_TUKEY_REACH * MAX (refiner->task->noise, LEAST_SCATTER);
  g_autoptr (GArray) points = compare_all (refiner, stride);
  double cost = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    const double d = MIN (fabs (p->deviation), most);
    cost += p->at_corner ? 0 : p->length * d * d;
  }
  return cost;
}

/* A long segment that is off pulls the first fit so far that no shrinking brings it back: each is
 * left out in turn, and the motion that then fits most of the profile best is kept. */
static void
try_without_each (Refiner *refiner, double reach, guint stride)
{
  Refiner best = *refiner;
  double least = cost_of (refiner, stride);
  const guint n = refiner->task->nominal->n_numbers;
  for (guint number = 1; n >= LEAST_LEAVABLE && n <= MOST_LEAVABLE && number <= n; number++)
  {
    Refiner trial = *refiner;
    trial.without = number;
    trial.reach = reach;
    if (!anneal (&trial, stride))
      continue;
    trial.without = 0;
    if (!anneal (&trial, stride))
      continue;
    const double cost = cost_of (&trial, stride);
    if (cost >= CLEARLY_LESS * least)
      continue;
    least = cost;
    best = trial;
  }
  *refiner = best;
}

/* Turns the profile to the held angle about its middle, which the guess has placed. */
static void
hold_angle (Refiner *refiner)
{
  const WsContourSegment *s = &refiner->profile->segments[refiner->profile->n / 2];
  const WsPoint middle = ws_contour_point (s, 0.5),
                place = wsi_form_moved (&refiner->motion, middle);
  refiner->motion.angle = refiner->angle_held;
  refiner->motion.shift = wsi_point_sub (place, wsi_form_turned (middle, refiner->angle_held));
}

static gboolean
refine (Refiner *refiner)
{
  const guint stride = MAX (1, refiner->samples->len / COARSE_POINTS);
  const double reach = 2 * wsi_form_beside (refiner->profile);
  if (isfinite (refiner->angle_held))
    hold_angle (refiner);
  refiner->reach = reach;
  if (!anneal (refiner, stride))
    return FALSE;
  try_without_each (refiner, reach, stride);
  for (guint round = 0; round < FINE_ROUNDS; round++)
  {
    const double by = step (refiner, 1);
    if (!(by < HUGE_VAL))
      return FALSE;
    if (by < 1e-4)
      break;
  }
  return TRUE;
}

static int
by_along (gconstpointer a, gconstpointer b)
{
  const double p = ((const WsFormPoint *)a)->along, q = ((const WsFormPoint *)b)->along;
  return p < q ? -1 : p > q;
}

/* Scatter of the sums of the estimating equations over blocks: the correlation along the edge and
 * the form of the segments are in it. */
static void
find_covariance (WsFormFit *fit, gboolean held)
{
  double A[9], b[3], middle[9] = { 0 };
  if (!solve_motion (fit->points, fit->pivot, held, A, b))
    return;
  for (guint block = 0; block < BLOCKS; block++)
  {
    double sum[3] = { 0 };
    const guint from = block * fit->points->len / BLOCKS;
    for (guint i = from; i < (block + 1) * fit->points->len / BLOCKS; i++)
    {
      const WsFormPoint *p = &g_array_index (fit->points, WsFormPoint, i);
      double row[3];
      row_of (p, fit->pivot, row);
      for (guint j = 0; j < 3; j++)
        sum[j] += p->weight * row[j] * p->deviation;
    }
    for (guint j = 0; j < 9; j++)
      middle[j] += sum[j / 3] * sum[j % 3];
  }
  double half[9] = { 0 };
  for (guint j = 0; j < 3; j++)
    for (guint k = 0; k < 3; k++)
      for (guint l = 0; l < 3; l++)
        half[j * 3 + k] += A[j * 3 + l] * middle[l * 3 + k];
  for (guint j = 0; j < 3; j++)
    for (guint k = 0; k < 3; k++)
    {
      fit->covariance[j * 3 + k] = 0;
      for (guint l = 0; l < 3; l++)
        fit->covariance[j * 3 + k] += half[j * 3 + l] * A[l * 3 + k];
    }
  for (guint j = 0; held && j < 3; j++)
    fit->covariance[6 + j] = fit->covariance[3 * j + 2] = 0;
}

/* Share of the profile's length with outline beside it: lengths of points, gaps left out. */
static double
covered_share (const GArray *points, double length, double spacing)
{
  double covered = 0, last = -HUGE_VAL;
  for (guint i = 0; i < points->len; i++)
  {
    const double along = g_array_index (points, WsFormPoint, i).along;
    covered += MIN (along - last, 3 * spacing + 2);
    last = along;
  }
  return MIN (covered / length, 1);
}

static WsFormFit *
finish (Refiner *refiner)
{
  const WsFormTask *task = refiner->task;
  WsFormFit *fit = g_new0 (WsFormFit, 1);
  fit->scale = task->px_per_mm;
  fit->origin = refiner->motion.shift;
  fit->angle = wsi_form_wrapped (-refiner->motion.angle);
  fit->forward = refiner->motion.forward;
  fit->turn_held = isfinite (refiner->angle_held);
  fit->points = compare_all (refiner, 1);
  g_array_sort (fit->points, by_along);
  fit->pivot = pivot_of (fit->points);
  fit->scatter = scatter_of (fit->points);
  fit->rms = rms_of (fit->points);
  fit->covered = covered_share (fit->points, refiner->profile->length, task->outline->spacing_px);
  find_covariance (fit, fit->turn_held);
  return fit;
}

WsFormFit *
wsi_form_fit (const WsFormTask *task)
{
  g_auto (WsFormNominal) profile = { 0 };
  wsi_form_nominal_init (&profile, task->nominal, task->px_per_mm);
  g_autoptr (GArray) samples = wsi_form_samples (task->outline);
  Refiner refiner = { .task = task, .profile = &profile, .samples = samples };
  refiner.angle_held = -task->held_angle;
  const WsChainRules rules = { task->scatter, 4, 1.5, (guint)ceil (task->guard) };
  const WsFormSought sought = { &profile, task->outline, samples, &rules, refiner.angle_held };
  if (wsi_form_guess (&sought, &refiner.motion) < MIN_GUESSED || !refine (&refiner))
    return NULL;
  g_autoptr (WsFormFit) fit = finish (&refiner);
  const gboolean matches =
    fit->covered >= MIN_COVERED &&
    fit->scatter < MAX (WS_FORM_BESIDE_MIN_PX, MOST_OFF_SHARE * profile.size);
  return matches ? g_steal_pointer (&fit) : NULL;
}

WsFormFit *
wsi_form_refit (const WsFormTask *task, const WsFormFit *near)
{
  g_auto (WsFormNominal) profile = { 0 };
  wsi_form_nominal_init (&profile, task->nominal, task->px_per_mm);
  g_autoptr (GArray) samples = wsi_form_samples (task->outline);
  Refiner refiner = { .task = task, .profile = &profile, .samples = samples };
  refiner.angle_held = near->turn_held ? -near->angle : NAN;
  refiner.motion.angle = -near->angle;
  /* Scaled about the pivot. */
  const double ratio = task->px_per_mm / near->scale;
  refiner.motion.shift =
    wsi_point_along (near->pivot, ratio, wsi_point_sub (near->origin, near->pivot));
  refiner.motion.forward = near->forward;
  return refine (&refiner) ? finish (&refiner) : NULL;
}

double
wsi_form_fit_u (const WsFormFit *fit, const WsFormPoint *point)
{
  double row[3], sum = 0;
  row_of (point, fit->pivot, row);
  for (guint j = 0; j < 3; j++)
    for (guint k = 0; k < 3; k++)
      sum += row[j] * fit->covariance[j * 3 + k] * row[k];
  return sqrt (MAX (sum, 0));
}

WsPoint
wsi_form_fit_place (const WsFormFit *fit, WsPoint mm)
{
  return wsi_point_add (wsi_form_turned (wsi_form_px (mm, fit->scale), -fit->angle), fit->origin);
}

void
wsi_form_fit_free (WsFormFit *fit)
{
  if (fit == NULL)
    return;
  g_clear_pointer (&fit->points, g_array_unref);
  g_free (fit);
}
