#include "tool/form/fit.h"

#include <string.h>

#include "base/geometry.h"
#include "edge/chain.h"
#include "maths/stats.h"
#include "tool/form/segments.h"

/* ---- The profile in px, y down, about its own origin ------------------------------ */

typedef struct
{
  WsContourSegment *segments;
  double *start;    /* along the profile, px */
  gboolean *corner; /* whether the profile bends at the segment's start, or a drawn segment begins:
                       where one is off, blur draws its neighbour along */
  guint n;
  double length, size;
  gboolean is_closed;
} Profile;

/* Neighbours whose directions differ by less join smoothly: chords of a curve, tangent arcs. */
#define SMOOTH_RAD 0.03

static WsPoint
direction_at (const WsContourSegment *s, double t)
{
  if (!(fabs (s->sweep) > 0))
  {
    const WsPoint d = ws_point_sub (s->to, s->from);
    const double length = MAX (ws_point_length (d), 1e-12);
    return ws_point (d.x / length, d.y / length);
  }
  const WsPoint r = ws_point_sub (ws_contour_point (s, t), s->centre);
  const double sign = s->sweep > 0 ? 1 : -1;
  return ws_point (-sign * r.y / s->radius, sign * r.x / s->radius);
}

static void
profile_clear (Profile *profile)
{
  g_free (profile->segments);
  g_free (profile->start);
  g_free (profile->corner);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Profile, profile_clear)

static WsPoint
to_px (WsPoint mm, double scale)
{
  return ws_point (mm.x * scale, -mm.y * scale);
}

static void
find_corners (Profile *profile)
{
  for (guint i = 0; i < profile->n; i++)
  {
    const guint before = i > 0 ? i - 1 : profile->n - 1;
    const WsPoint a = direction_at (&profile->segments[before], 1),
                  b = direction_at (&profile->segments[i], 0);
    const double turn = fabs (atan2 (ws_point_cross (a, b), ws_point_dot (a, b)));
    const gboolean joint = profile->segments[before].number != profile->segments[i].number;
    profile->corner[i] = turn > SMOOTH_RAD || joint || (i == 0 && !profile->is_closed);
  }
}

static void
make_profile (const WsFormTask *task, Profile *profile)
{
  const WsContour *contour = task->nominal;
  const double scale = task->px_per_mm;
  profile->n = contour->segments->len;
  profile->segments = g_new (WsContourSegment, profile->n);
  profile->start = g_new (double, profile->n);
  profile->corner = g_new0 (gboolean, profile->n);
  profile->is_closed = contour->is_closed;
  profile->length = 0;
  WsPoint low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < profile->n; i++)
  {
    WsContourSegment s = g_array_index (contour->segments, WsContourSegment, i);
    s.from = to_px (s.from, scale);
    s.to = to_px (s.to, scale);
    s.centre = to_px (s.centre, scale);
    s.radius *= scale;
    s.sweep = -s.sweep;
    profile->segments[i] = s;
    profile->start[i] = profile->length;
    profile->length += ws_contour_length (&s);
    low = ws_point (MIN (low.x, MIN (s.from.x, s.to.x)), MIN (low.y, MIN (s.from.y, s.to.y)));
    high = ws_point (MAX (high.x, MAX (s.from.x, s.to.x)), MAX (high.y, MAX (s.from.y, s.to.y)));
  }
  profile->size = hypot (high.x - low.x, high.y - low.y);
  find_corners (profile);
}

typedef struct
{
  double distance; /* HUGE_VAL: none */
  guint segment;
  double t; /* 0 .. 1 on it */
  WsPoint foot;
} Foot;

/* Part of the arc at which the direction from its centre is that of p; clamped to its ends. */
static double
arc_part (const WsContourSegment *s, WsPoint p)
{
  const WsPoint a = ws_point_sub (s->from, s->centre), b = ws_point_sub (p, s->centre);
  double ahead = atan2 (ws_point_cross (a, b), ws_point_dot (a, b));
  /* Directions beyond the arc's middle by half a circle belong to the nearer end. */
  const double middle = 0.5 * s->sweep;
  ahead = middle + remainder (ahead - middle, 2 * G_PI);
  return CLAMP (ahead / s->sweep, 0, 1);
}

static double
line_part (const WsContourSegment *s, WsPoint p)
{
  const WsPoint run = ws_point_sub (s->to, s->from);
  const double squares = MAX (ws_point_dot (run, run), 1e-18);
  return CLAMP (ws_point_dot (ws_point_sub (p, s->from), run) / squares, 0, 1);
}

static gboolean
may_be_nearer (const WsContourSegment *s, WsPoint p, double than)
{
  if (fabs (s->sweep) > 0)
    return fabs (ws_point_distance (p, s->centre) - s->radius) < than;
  return p.x > MIN (s->from.x, s->to.x) - than && p.x < MAX (s->from.x, s->to.x) + than &&
         p.y > MIN (s->from.y, s->to.y) - than && p.y < MAX (s->from.y, s->to.y) + than;
}

/* The nearest place within `reach` whose direction agrees with `heading`. */
static Foot
nearest (const Profile *profile, WsPoint p, WsPoint heading, double reach)
{
  Foot best = { .distance = HUGE_VAL };
  double limit = reach;
  for (guint i = 0; i < profile->n; i++)
  {
    const WsContourSegment *s = &profile->segments[i];
    if (!may_be_nearer (s, p, limit))
      continue;
    const double t = fabs (s->sweep) > 0 ? arc_part (s, p) : line_part (s, p);
    const WsPoint foot = ws_contour_point (s, t);
    const double distance = ws_point_distance (foot, p);
    if (distance >= limit || ws_point_dot (direction_at (s, t), heading) < 0.8)
      continue;
    best = (Foot){ distance, i, t, foot };
    limit = distance;
  }
  return best;
}

/* ---- Motion ----------------------------------------------------------------------- */

/* Profile to picture: turn by `angle` (from x toward y, y down), then shift.  `forward` tells
 * whether the outline runs along the profile or against it. */
typedef struct
{
  double angle;
  WsPoint shift;
  gboolean forward;
} Motion;

static WsPoint
turned (WsPoint p, double angle)
{
  const double c = cos (angle), s = sin (angle);
  return ws_point (c * p.x - s * p.y, s * p.x + c * p.y);
}

static WsPoint
moved (const Motion *motion, WsPoint p)
{
  return ws_point_add (turned (p, motion->angle), motion->shift);
}

static WsPoint
moved_back (const Motion *motion, WsPoint p)
{
  return turned (ws_point_sub (p, motion->shift), -motion->angle);
}

/* An outline point with the direction in which the outline runs. */
typedef struct
{
  WsPoint at, heading;
  double length;
  gboolean is_crowded; /* its scan line meets another edge within its window */
} Sample;

/* A scan line's window is 4.5 blurs and 3 px long on either side (edge/outline.c), and another
 * edge's own blur reaches 2.5 blurs into it. */
#define WINDOW_BLURS 7.0
#define WINDOW_PX 3.0

/* Nearer than this to an edge of another direction, blur has moved the outline (a Gaussian's tail
 * beyond 3.5 deviations moves it by less than 0.001 of one). */
#define ROUNDED_BLURS 3.5
#define ROUNDED_PX 1.0

static gboolean
meets (const Sample *a, const Sample *b, double window, double rounded)
{
  if (ws_point_dot (a->heading, b->heading) > 0.5)
    return FALSE;
  if (ws_point_distance (a->at, b->at) < rounded)
    return TRUE;
  /* Rows or columns are scanned, whichever is nearer to the normal. */
  const gboolean by_row = fabs (a->heading.y) >= fabs (a->heading.x);
  const double cosine = by_row ? fabs (a->heading.y) : fabs (a->heading.x);
  const double along = fabs (by_row ? a->at.x - b->at.x : a->at.y - b->at.y);
  const double across = fabs (by_row ? a->at.y - b->at.y : a->at.x - b->at.x);
  return across < 1 && along < window / cosine;
}

/* In a sharp corner or a narrow notch an edge's light is mixed with the other's. */
static void
find_crowded (GArray *samples, double blur)
{
  const double window = WINDOW_PX + WINDOW_BLURS * blur;
  const double rounded = ROUNDED_PX + ROUNDED_BLURS * blur;
  for (guint i = 0; i < samples->len; i++)
  {
    Sample *a = &g_array_index (samples, Sample, i);
    for (guint j = 0; j < samples->len && !a->is_crowded; j++)
      a->is_crowded = meets (a, &g_array_index (samples, Sample, j), window, rounded);
  }
}

/* Points of tool edge, the stretch each stands for within its neighbours. */
static GArray *
samples_of (const WsOutline *outline)
{
  const WsEdgePoint *p = (const WsEdgePoint *)(void *)outline->points->data;
  const guint n = outline->points->len;
  GArray *samples = g_array_sized_new (FALSE, FALSE, sizeof (Sample), n);
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *a = &p[(i + n - 1) % n], *b = &p[(i + 1) % n];
    if (p[i].on_frame)
      continue;
    const double length = 0.5 * hypot (b->x - a->x, b->y - a->y);
    /* The tool lies on the right-hand side, the ground's normal on the left. */
    const Sample sample = { { p[i].x, p[i].y },
                            { -(double)p[i].ny, (double)p[i].nx },
                            MIN (length, 4 * outline->spacing_px),
                            FALSE };
    g_array_append_val (samples, sample);
  }
  find_crowded (samples, outline->blur_px);
  return samples;
}

/* ---- First guess ------------------------------------------------------------------ */

#define GUESS_SAMPLES 90
#define GUESS_OUTLINE 700

/* Pieces look alike when angle, radius or distance agree to these (own trials). */
#define ANGLE_GAP 0.06
#define RADIUS_RATIO 1.3
#define DISTANCE_RATIO 1.08
#define NOT_PARALLEL 0.17

/* Of the profile's size: how near counts as beside. */
#define BESIDE_SHARE 0.012
#define BESIDE_MIN_PX 4.0

/* Less of the profile beside the outline than this is no match: at first, and in the end. */
#define MIN_GUESSED 0.6
#define MIN_COVERED 0.8

/* Half of the profile must come nearer than this part of its size: a tool farther off is another.
 */
#define MOST_OFF_SHARE 0.01

typedef struct
{
  const Profile *profile;
  GArray *pieces;  /* of the profile */
  GArray *outline; /* pieces of all runs, directions as walked */
  const GArray *samples;
  double held; /* angle, or NAN */

  Motion best;
  double score;
} Guess;

static double
wrapped (double angle)
{
  return remainder (angle, 2 * G_PI);
}

static double
heading_of (WsPoint direction)
{
  return atan2 (direction.y, direction.x);
}

/* Share of the profile near the outline with the same direction. */
static double
score_of (const Guess *guess, const Motion *motion)
{
  const Profile *profile = guess->profile;
  const double beside = MAX (BESIDE_MIN_PX, BESIDE_SHARE * profile->size);
  const guint stride = MAX (1, guess->samples->len / GUESS_OUTLINE);
  double at = 0.5 * profile->length / GUESS_SAMPLES;
  guint found = 0;
  for (guint k = 0, i = 0; k < GUESS_SAMPLES; k++, at += profile->length / GUESS_SAMPLES)
  {
    while (i + 1 < profile->n && profile->start[i + 1] <= at)
      i++;
    const WsContourSegment *s = &profile->segments[i];
    const double t = (at - profile->start[i]) / ws_contour_length (s);
    const WsPoint p = moved (motion, ws_contour_point (s, t));
    WsPoint d = turned (direction_at (s, t), motion->angle);
    if (!motion->forward)
      d = ws_point (-d.x, -d.y);
    for (guint j = 0; j < guess->samples->len; j += stride)
    {
      const Sample *sample = &g_array_index (guess->samples, Sample, j);
      if (fabs (sample->at.x - p.x) < beside && fabs (sample->at.y - p.y) < beside &&
          ws_point_dot (sample->heading, d) > 0.9)
      {
        found++;
        break;
      }
    }
  }
  return (double)found / GUESS_SAMPLES;
}

static void
try_motion (Guess *guess, const Motion *motion)
{
  if (isfinite (guess->held) && fabs (wrapped (motion->angle - guess->held)) > ANGLE_GAP)
    return;
  const double score = score_of (guess, motion);
  if (score <= guess->score)
    return;
  guess->score = score;
  guess->best = *motion;
}

static double
line_heading (const WsChainPiece *line, gboolean forward)
{
  return wrapped (heading_of (line->line.direction) + (forward ? 0 : G_PI));
}

/* Two lines that aren't parallel: their directions tell the turn, where they meet the shift. */
static void
try_lines (Guess *guess, const WsChainPiece *const nominal[2], const WsChainPiece *const seen[2],
           gboolean forward)
{
  const double first = wrapped (line_heading (seen[0], forward) - line_heading (nominal[0], TRUE));
  const double second = wrapped (line_heading (seen[1], forward) - line_heading (nominal[1], TRUE));
  const double between =
    wrapped (line_heading (nominal[0], TRUE) - line_heading (nominal[1], TRUE));
  WsPoint from, to;
  if (fabs (sin (between)) < sin (NOT_PARALLEL) || fabs (wrapped (first - second)) > ANGLE_GAP ||
      !ws_line_meet (&nominal[0]->line, &nominal[1]->line, &from) ||
      !ws_line_meet (&seen[0]->line, &seen[1]->line, &to))
    return;
  Motion motion = { .angle = first - 0.5 * wrapped (first - second), .forward = forward };
  motion.shift = ws_point_sub (to, turned (from, motion.angle));
  try_motion (guess, &motion);
}

static gboolean
radii_agree (const WsChainPiece *a, const WsChainPiece *b, gboolean forward)
{
  const double ratio = a->circle.radius / b->circle.radius;
  return ratio < RADIUS_RATIO && ratio > 1 / RADIUS_RATIO &&
         (a->turn > 0) == (forward ? b->turn > 0 : b->turn < 0);
}

static void
try_line_and_arc (Guess *guess, const WsChainPiece *const nominal[2],
                  const WsChainPiece *const seen[2], gboolean forward)
{
  if (!radii_agree (nominal[1], seen[1], forward))
    return;
  Motion motion = { .forward = forward };
  motion.angle = wrapped (line_heading (seen[0], forward) - line_heading (nominal[0], TRUE));
  motion.shift =
    ws_point_sub (seen[1]->circle.centre, turned (nominal[1]->circle.centre, motion.angle));
  /* The line must then lie on its own, too. */
  const WsPoint middle = moved (&motion, nominal[0]->line.centre);
  if (fabs (ws_line_distance (&seen[0]->line, middle)) < 0.1 * guess->profile->size)
    try_motion (guess, &motion);
}

static void
try_arcs (Guess *guess, const WsChainPiece *const nominal[2], const WsChainPiece *const seen[2],
          gboolean forward)
{
  const WsPoint a = ws_point_sub (nominal[1]->circle.centre, nominal[0]->circle.centre);
  const WsPoint b = ws_point_sub (seen[1]->circle.centre, seen[0]->circle.centre);
  const double ratio = ws_point_length (a) / MAX (ws_point_length (b), 1e-9);
  if (!radii_agree (nominal[0], seen[0], forward) || !radii_agree (nominal[1], seen[1], forward) ||
      ratio > DISTANCE_RATIO || ratio < 1 / DISTANCE_RATIO || ws_point_length (a) < 10)
    return;
  Motion motion = { .angle = wrapped (heading_of (b) - heading_of (a)), .forward = forward };
  motion.shift =
    ws_point_sub (seen[0]->circle.centre, turned (nominal[0]->circle.centre, motion.angle));
  try_motion (guess, &motion);
}

static void
try_pair (Guess *guess, const WsChainPiece *const nominal[2], const WsChainPiece *const seen[2])
{
  if (nominal[0]->kind != seen[0]->kind || nominal[1]->kind != seen[1]->kind)
    return;
  for (gboolean forward = FALSE; forward <= TRUE; forward++)
  {
    if (nominal[0]->kind == WS_CHAIN_LINE && nominal[1]->kind == WS_CHAIN_LINE)
      try_lines (guess, nominal, seen, forward);
    else if (nominal[0]->kind == WS_CHAIN_LINE)
      try_line_and_arc (guess, nominal, seen, forward);
    else if (nominal[1]->kind == WS_CHAIN_ARC)
      try_arcs (guess, nominal, seen, forward);
  }
}

static const WsChainPiece *
piece_of (const GArray *pieces, guint i)
{
  return &g_array_index (pieces, WsChainPiece, i);
}

static void
try_all_pairs (Guess *guess)
{
  for (guint i = 0; i < guess->pieces->len; i++)
    for (guint j = 0; j < guess->pieces->len; j++)
    {
      const WsChainPiece *nominal[2] = { piece_of (guess->pieces, i), piece_of (guess->pieces, j) };
      for (guint k = 0; k < guess->outline->len && i != j; k++)
        for (guint l = 0; l < guess->outline->len; l++)
        {
          const WsChainPiece *seen[2] = { piece_of (guess->outline, k),
                                          piece_of (guess->outline, l) };
          if (k != l)
            try_pair (guess, nominal, seen);
        }
    }
}

/* The profile as points a pixel apart, split as the outline is. */
static GArray *
pieces_of_profile (const Profile *profile, const WsChainRules *rules)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < profile->n; i++)
  {
    const guint n = MAX (1, (guint)ceil (ws_contour_length (&profile->segments[i])));
    for (guint k = 0; k < n; k++)
    {
      const WsPoint p = ws_contour_point (&profile->segments[i], (k + 0.5) / n);
      g_array_append_val (points, p);
    }
  }
  return ws_chain_split ((const WsPoint *)(void *)points->data, points->len, rules);
}

static GArray *
pieces_of_outline (const WsOutline *outline, const WsChainRules *rules)
{
  GArray *all = g_array_new (FALSE, FALSE, sizeof (WsChainPiece));
  g_autoptr (GPtrArray) runs = ws_form_runs (outline);
  for (guint i = 0; i < runs->len; i++)
  {
    const WsFormRun *run = g_ptr_array_index (runs, i);
    g_autoptr (GArray) pieces = ws_chain_split (run->points, run->n, rules);
    g_array_append_vals (all, pieces->data, pieces->len);
  }
  return all;
}

static double
guess_motion (const WsFormTask *task, const Profile *profile, const GArray *samples, Motion *motion)
{
  const WsChainRules rules = { task->scatter, 4, 1.5, (guint)ceil (task->guard) };
  g_autoptr (GArray) pieces = pieces_of_profile (profile, &rules);
  g_autoptr (GArray) outline = pieces_of_outline (task->outline, &rules);
  Guess guess = { .profile = profile, .pieces = pieces, .outline = outline, .samples = samples };
  guess.held = -task->held_angle;
  try_all_pairs (&guess);
  *motion = guess.best;
  return guess.score;
}

/* ---- Refinement ------------------------------------------------------------------- */

#define ROUNDS 30
#define FINE_ROUNDS 6
#define COARSE_POINTS 600
#define SHRINK 0.6

/* Tukey's reach in standard deviations, and the least deviation of an outline that it is worth
 * telling apart, px. */
#define TUKEY_REACH 4.685
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
  const Profile *profile;
  const GArray *samples;
  Motion motion;
  double angle_held; /* in the motion's sense, or NAN */
  double reach;      /* of the biweight, px */
  guint without;     /* number of a segment that is left out; 0: none */
} Refiner;

/* Whether a corner or an open end is nearer than `reach` along the profile; chords of one curve are
 * passed through. */
static gboolean
near_corner (const Profile *profile, const Foot *foot, double reach)
{
  double run = foot->t * ws_contour_length (&profile->segments[foot->segment]);
  for (guint i = foot->segment; run < reach; i--)
  {
    if (profile->corner[i])
      return TRUE;
    if (i == 0)
      break;
    run += ws_contour_length (&profile->segments[i - 1]);
  }
  run = (1 - foot->t) * ws_contour_length (&profile->segments[foot->segment]);
  for (guint i = foot->segment + 1; run < reach && i < profile->n; i++)
  {
    if (profile->corner[i])
      return TRUE;
    run += ws_contour_length (&profile->segments[i]);
  }
  return run < reach && profile->corner[0];
}

/* Beyond an open profile's ends there is nothing to compare with. */
static gboolean
beyond_ends (const Profile *profile, const Foot *foot)
{
  if (profile->is_closed)
    return FALSE;
  return (foot->segment == 0 && !(foot->t > 0)) ||
         (foot->segment == profile->n - 1 && !(foot->t < 1));
}

static gboolean
compare (const Refiner *refiner, const Sample *sample, double reach, WsFormPoint *point)
{
  const Motion *motion = &refiner->motion;
  const double sign = motion->forward ? 1 : -1;
  const WsPoint heading =
    turned (ws_point (sign * sample->heading.x, sign * sample->heading.y), -motion->angle);
  const WsPoint p = moved_back (motion, sample->at);
  const Foot foot = nearest (refiner->profile, p, heading, reach);
  if (!(foot.distance < HUGE_VAL) || beyond_ends (refiner->profile, &foot))
    return FALSE;
  const WsContourSegment *s = &refiner->profile->segments[foot.segment];
  const WsPoint d = direction_at (s, foot.t);
  /* The ground lies on the left-hand side of the outline's way. */
  const WsPoint normal = ws_point (sign * d.y, -sign * d.x);
  const double bend = fabs (s->sweep) > 0 ? sign * (s->sweep > 0 ? 1 : -1) / s->radius : 0;
  *point = (WsFormPoint){
    .at = sample->at,
    .foot = moved (motion, foot.foot),
    .normal = turned (normal, motion->angle),
    .along = refiner->profile->start[foot.segment] + foot.t * ws_contour_length (s),
    .deviation = ws_point_dot (ws_point_sub (p, foot.foot), normal),
    .length = sample->length,
    .curvature = bend,
    .number = s->number,
    .at_corner = sample->is_crowded || near_corner (refiner->profile, &foot, refiner->task->guard),
  };
  /* Blur draws a bulge in and fills a hollow: s^2 / (2 r). */
  const double blur = refiner->task->outline->blur_px;
  point->deviation += 0.5 * blur * blur * CLAMP (bend, -1 / blur, 1 / blur);
  return TRUE;
}

static double
biweight (double x, double reach)
{
  const double r = x / reach;
  return fabs (r) < 1 ? (1 - r * r) * (1 - r * r) : 0;
}

/* All points beside the profile; the weights are those of the present reach. */
static GArray *
compare_all (const Refiner *refiner, guint stride)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsFormPoint));
  const double reach = MAX (3 * refiner->reach, 0.03 * refiner->profile->size);
  for (guint i = 0; i < refiner->samples->len; i += stride)
  {
    WsFormPoint point;
    if (!compare (refiner, &g_array_index (refiner->samples, Sample, i), reach, &point))
      continue;
    const gboolean counts = !point.at_corner && point.number != refiner->without;
    point.weight = counts ? point.length * biweight (point.deviation, refiner->reach) : 0;
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
  return n > 0 ? 1.4826 * ws_median (off, n) : 0;
}

static WsPoint
pivot_of (const GArray *points)
{
  WsPoint sum = { 0, 0 };
  double weight = 0;
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    sum = ws_point_along (sum, p->weight, p->foot);
    weight += p->weight;
  }
  return weight > 0 ? ws_point (sum.x / weight, sum.y / weight) : sum;
}

/* What a shift of the profile by (x, y) and a turn about the pivot do to its place along the
 * normal. */
static void
row_of (const WsFormPoint *p, WsPoint pivot, double row[3])
{
  row[0] = p->normal.x;
  row[1] = p->normal.y;
  row[2] = ws_point_cross (ws_point_sub (p->foot, pivot), p->normal);
}

static gboolean
normal_equations (const GArray *points, WsPoint pivot, gboolean held, double A[9], double b[3])
{
  memset (A, 0, sizeof (double) * 9);
  memset (b, 0, sizeof (double) * 3);
  for (guint i = 0; i < points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    double row[3];
    row_of (p, pivot, row);
    for (guint j = 0; j < 3; j++)
    {
      for (guint k = 0; k < 3; k++)
        A[j * 3 + k] += p->weight * row[j] * row[k];
      b[j] += p->weight * row[j] * p->deviation;
    }
  }
  if (held)
  {
    A[2] = A[5] = A[6] = A[7] = 0;
    A[8] = 1;
    b[2] = 0;
  }
  return ws_solve_spd (A, b, 3, TRUE);
}

/* One step; returns how far it moved the profile's rim, px, or HUGE_VAL. */
static double
step (Refiner *refiner, guint stride)
{
  g_autoptr (GArray) points = compare_all (refiner, stride);
  const WsPoint pivot = pivot_of (points);
  double A[9], b[3];
  if (points->len < 10 || !normal_equations (points, pivot, isfinite (refiner->angle_held), A, b))
    return HUGE_VAL;
  Motion *motion = &refiner->motion;
  const WsPoint arm = ws_point_sub (motion->shift, pivot);
  motion->shift = ws_point_add (ws_point_add (pivot, turned (arm, b[2])), ws_point (b[0], b[1]));
  motion->angle += b[2];
  return hypot (b[0], b[1]) + fabs (b[2]) * refiner->profile->size;
}

/* Steps with a reach that shrinks; FALSE when too little of the profile is left. */
static gboolean
anneal (Refiner *refiner, guint stride)
{
  const double least = TUKEY_REACH * MAX (refiner->task->noise, LEAST_SCATTER);
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
  const double most = TUKEY_REACH * MAX (refiner->task->noise, LEAST_SCATTER);
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
  const WsPoint middle = ws_contour_point (s, 0.5), place = moved (&refiner->motion, middle);
  refiner->motion.angle = refiner->angle_held;
  refiner->motion.shift = ws_point_sub (place, turned (middle, refiner->angle_held));
}

static gboolean
refine (Refiner *refiner)
{
  const guint stride = MAX (1, refiner->samples->len / COARSE_POINTS);
  const double reach = MAX (2 * BESIDE_MIN_PX, 2 * BESIDE_SHARE * refiner->profile->size);
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
  if (!normal_equations (fit->points, fit->pivot, held, A, b))
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
  fit->angle = wrapped (-refiner->motion.angle);
  fit->forward = refiner->motion.forward;
  fit->turn_held = isfinite (refiner->angle_held);
  fit->points = compare_all (refiner, 1);
  g_array_sort (fit->points, by_along);
  fit->pivot = pivot_of (fit->points);
  fit->scatter = scatter_of (fit->points);
  fit->covered = covered_share (fit->points, refiner->profile->length, task->outline->spacing_px);
  find_covariance (fit, fit->turn_held);
  return fit;
}

WsFormFit *
ws_form_fit (const WsFormTask *task)
{
  g_auto (Profile) profile = { 0 };
  make_profile (task, &profile);
  g_autoptr (GArray) samples = samples_of (task->outline);
  Refiner refiner = { .task = task, .profile = &profile, .samples = samples };
  refiner.angle_held = -task->held_angle;
  if (guess_motion (task, &profile, samples, &refiner.motion) < MIN_GUESSED || !refine (&refiner))
    return NULL;
  g_autoptr (WsFormFit) fit = finish (&refiner);
  const gboolean matches = fit->covered >= MIN_COVERED &&
                           fit->scatter < MAX (BESIDE_MIN_PX, MOST_OFF_SHARE * profile.size);
  return matches ? g_steal_pointer (&fit) : NULL;
}

WsFormFit *
ws_form_refit (const WsFormTask *task, const WsFormFit *near)
{
  g_auto (Profile) profile = { 0 };
  make_profile (task, &profile);
  g_autoptr (GArray) samples = samples_of (task->outline);
  Refiner refiner = { .task = task, .profile = &profile, .samples = samples };
  refiner.angle_held = near->turn_held ? -near->angle : NAN;
  refiner.motion.angle = -near->angle;
  /* Scaled about the pivot. */
  const double ratio = task->px_per_mm / near->scale;
  refiner.motion.shift =
    ws_point_along (near->pivot, ratio, ws_point_sub (near->origin, near->pivot));
  refiner.motion.forward = near->forward;
  return refine (&refiner) ? finish (&refiner) : NULL;
}

double
ws_form_fit_u (const WsFormFit *fit, const WsFormPoint *point)
{
  double row[3], sum = 0;
  row_of (point, fit->pivot, row);
  for (guint j = 0; j < 3; j++)
    for (guint k = 0; k < 3; k++)
      sum += row[j] * fit->covariance[j * 3 + k] * row[k];
  return sqrt (MAX (sum, 0));
}

WsPoint
ws_form_fit_place (const WsFormFit *fit, WsPoint mm)
{
  return ws_point_add (turned (to_px (mm, fit->scale), -fit->angle), fit->origin);
}

void
ws_form_fit_free (WsFormFit *fit)
{
  if (fit == NULL)
    return;
  g_clear_pointer (&fit->points, g_array_unref);
  g_free (fit);
}
