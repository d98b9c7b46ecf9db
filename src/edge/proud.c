#include "edge/proud.h"

#include "base/geometry.h"
#include "edge/line_frame.h"
#include "maths/least_squares.h"
#include "maths/robust.h"
#include "maths/stats.h"

#include <string.h>

/* Blocks of points whose means the search rests on: short enough to fit between teeth. */
#define MIN_BLOCKS 12
#define MAX_BLOCKS 28
#define BLOCK_POINTS 7

/* The means of blocks scatter by more than noise: no edge is straight to less, px. */
#define LEAST_SIGMA 0.012

/* Standard deviation of a ground edge's bow, parts of its length: a lip ground 2 degrees off its
 * flute's design angle has 0.001. */
#define BOW_SIGMA 0.0015
#define BOW_REACH 4.0

/* A block farther off, in standard deviations, is not on the line; one inside counts for more than
 * one outside. */
#define REACH 3.0
#define INSIDE 2.5
#define NOTHING_INSIDE 10.0
#define LEAST_ON_LINE 0.3

/* What stands proud by so many standard deviations is not noise; and where it ends. */
#define PROUD 5.0
#define PROUD_MOST_INSIDE 2.5
#define PROUD_FROM 3.0
#define PROUD_TO 0.5
#define PROUD_LEAST_PX 0.06

#define ROUNDS 8

/* Of what two readings of an edge differ by, so much is a standard uncertainty. */
#define READINGS 0.5
#define STRANGE 1.5

/* Less of the edge left tells too little of its direction. */
#define LEAST_LEFT 0.12
#define MOST_U_ANGLE 0.0025

typedef struct
{
  double s[MAX_BLOCKS], d[MAX_BLOCKS]; /* place -1 .. 1, mean distance outward */
  double bend[MAX_BLOCKS];             /* 3 s^2 - 1 */
  guint n;
  double sigma; /* of a mean */
} Blocks;

typedef struct
{
  WsLineFrame frame;
  double sign;    /* of d outward */
  double *smooth; /* running mean of the residuals, outward */
  double *scratch;
  guint8 *proud;
  guint window;
  double noise; /* of a point */
  double sigma; /* of a block's mean */
  WsBow bow;    /* expected */
} Work;

/* ---- Noise ---------------------------------------------------------------- */

/* Second differences know neither slope nor bow; the quietest third of the edge isn't torn. */
static double
noise_of (const WsLineFrame *frame, guint per_block, double *scratch)
{
  const guint n_blocks = (frame->n - 2) / per_block;
  double of_block[256];
  guint n = 0;
  for (guint b = 0; b < n_blocks && n < G_N_ELEMENTS (of_block); b++)
  {
    for (guint i = 0; i < per_block; i++)
    {
      const double *d = frame->d + b * per_block + i;
      scratch[i] = fabs (d[0] - 2 * d[1] + d[2]) / sqrt (6);
    }
    of_block[n++] = wsi_absolute_sigma (scratch, per_block);
  }
  return n > 0 ? 1.15 * wsi_quantile (of_block, n, 0.33) : 0;
}

/* ---- The search over blocks ------------------------------------------------- */

/* An edge may be rougher than its noise: by second differences again, of means, where they are
 * least.  A quarter of normal deviations lie within 0.319 of their standard deviation. */
static double
roughness (const Blocks *blocks)
{
  double off[MAX_BLOCKS];
  guint n = 0;
  for (guint b = 1; b + 1 < blocks->n; b++)
    off[n++] = fabs (blocks->d[b - 1] - 2 * blocks->d[b] + blocks->d[b + 1]) / sqrt (6);
  return wsi_quantile (off, n, 0.25) / 0.319;
}

static void
make_blocks (const Work *work, const WsLineFit *fit, Blocks *blocks)
{
  const WsLineFrame *frame = &work->frame;
  blocks->n = CLAMP (frame->n / BLOCK_POINTS, MIN_BLOCKS, MAX_BLOCKS);
  for (guint b = 0; b < blocks->n; b++)
  {
    const guint from = frame->n * b / blocks->n, to = frame->n * (b + 1) / blocks->n;
    double t = 0, d = 0;
    for (guint i = from; i < to; i++)
    {
      t += frame->t[i] / (to - from);
      d += frame->d[i] / (to - from);
    }
    blocks->s[b] = (2 * t - fit->t_low - fit->t_high) / (fit->t_high - fit->t_low);
    blocks->d[b] = work->sign * d;
    blocks->bend[b] = 3 * blocks->s[b] * blocks->s[b] - 1;
  }
  blocks->sigma = MAX (hypot (work->noise * sqrt ((double)blocks->n / frame->n), LEAST_SIGMA),
                       roughness (blocks));
}

static double
off (const Blocks *blocks, guint b, const double x[WS_LINE_TERMS])
{
  return blocks->d[b] - x[0] - x[1] * blocks->s[b] - x[2] * 0.5 * blocks->bend[b];
}

/* In two loops, of which the first has no order to keep and is done for several blocks at once. */
static double
cost_of (const Blocks *blocks, const double x[WS_LINE_TERMS], const WsBow *bow, double inside)
{
  double costs[MAX_BLOCKS];
  const guint n = MIN (blocks->n, MAX_BLOCKS);
  for (guint b = 0; b < n; b++)
  {
    const double r = off (blocks, b, x) / blocks->sigma;
    costs[b] = MIN (r * r, REACH * REACH) * (r < 0 ? inside : 1);
  }
  const double strange = (x[2] - bow->outward) / bow->sigma;
  double cost = strange * strange;
  for (guint b = 0; b < n; b++)
    cost += costs[b];
  return cost;
}

/* The blocks that are on the line, a bit each. */
static guint32
blocks_on (const Blocks *blocks, const double x[WS_LINE_TERMS])
{
  guint32 on = 0;
  for (guint b = 0; b < blocks->n; b++)
    if (fabs (off (blocks, b, x)) < REACH * blocks->sigma)
      on |= 1U << b;
  return on;
}

G_STATIC_ASSERT (MAX_BLOCKS <= 32);

/* Least squares through the blocks that are on the line. */
static gboolean
settle (const Blocks *blocks, const WsBow *bow, double x[WS_LINE_TERMS])
{
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, WS_LINE_TERMS);
  const double weight = 1 / (blocks->sigma * blocks->sigma);
  const guint32 on = blocks_on (blocks, x);
  for (guint b = 0; b < blocks->n; b++)
  {
    const double s = blocks->s[b], row[WS_LINE_TERMS] = { 1, s, 0.5 * (3 * s * s - 1) };
    if (on & 1U << b)
      wsi_least_squares_add (&sums, row, blocks->d[b], weight);
  }
  wsi_least_squares_prior (&sums, 2, bow->outward, 1 / (bow->sigma * bow->sigma));
  return wsi_least_squares_solve (&sums, x, NULL);
}

/* The line through two blocks, with a bow that takes it through a third. */
static gboolean
through (const Blocks *blocks, guint i, guint j, guint k, double x[WS_LINE_TERMS])
{
  const double si = blocks->s[i], sj = blocks->s[j], sk = blocks->s[k];
  const double slope = (blocks->d[k] - blocks->d[i]) / (sk - si);
  const double rest = blocks->d[j] - blocks->d[i] - slope * (sj - si);
  const double square = rest / ((sj - si) * (sj - sk));
  x[2] = square / 1.5;
  x[1] = slope - square * (si + sk);
  x[0] = blocks->d[i] - slope * si + square * si * sk + 0.5 * x[2];
  return isfinite (square);
}

/* Sets of blocks that a line was settled through. */
#define SETS 1024
#define MOST_SETS 512

typedef struct
{
  guint32 on[SETS]; /* 0: free */
  guint n;
} Sets;

/* TRUE when it was there before. */
static gboolean
add_set (Sets *sets, guint32 on)
{
  guint at = on * 2654435769U >> 22;
  while (sets->on[at] != 0 && sets->on[at] != on)
    at = (at + 1) % SETS;
  if (sets->on[at] == on)
    return on != 0;
  if (sets->n < MOST_SETS)
  {
    sets->on[at] = on;
    sets->n++;
  }
  return FALSE;
}

/* What a line settles to hangs on the blocks that are on it alone; three are, so that it can be. */
static void
search (const Blocks *blocks, const WsBow *bow, double inside, double best[WS_LINE_TERMS])
{
  double least = HUGE_VAL;
  Sets settled = { .n = 0 };
  for (guint i = 0; i < blocks->n; i++)
    for (guint k = i + blocks->n / 4; k < blocks->n; k++)
      for (guint j = i + 1; j < k; j++)
      {
        double x[WS_LINE_TERMS];
        if (!through (blocks, i, j, k, x) || fabs (x[2] - bow->outward) > BOW_REACH * bow->sigma)
          continue;
        double cost = cost_of (blocks, x, bow, inside);
        if (cost > 2 * least || add_set (&settled, blocks_on (blocks, x)))
          continue;
        for (guint round = 0; round < 2; round++)
          if (!settle (blocks, bow, x))
            break;
        cost = cost_of (blocks, x, bow, inside);
        if (cost < least)
        {
          least = cost;
          memcpy (best, x, sizeof x);
        }
      }
}

/* Blocks that lie off the line, outside or inside, and those that lie on it. */
static void
count_off (const Blocks *blocks, const double x[WS_LINE_TERMS], guint *outside, guint *inside,
           guint *on)
{
  *outside = *inside = *on = 0;
  for (guint b = 0; b < blocks->n; b++)
  {
    const double r = off (blocks, b, x) / blocks->sigma;
    *outside += r > PROUD ? 1 : 0;
    *inside += r < -PROUD ? 1 : 0;
    *on += fabs (r) < REACH ? 1 : 0;
  }
}

/* The likeliest line; where that needs both a chip and something proud of it, and another one only
 * what stands proud, the other.  `apart` is what they differ by. */
static void
search_under (const Blocks *blocks, const WsBow *bow, double best[WS_LINE_TERMS],
              double apart[WS_LINE_TERMS])
{
  guint outside, inside, on;
  search (blocks, bow, INSIDE, best);
  memset (apart, 0, WS_LINE_TERMS * sizeof *apart);
  count_off (blocks, best, &outside, &inside, &on);
  if (outside == 0 || inside == 0)
    return;
  double innermost[WS_LINE_TERMS];
  search (blocks, bow, NOTHING_INSIDE, innermost);
  count_off (blocks, innermost, &outside, &inside, &on);
  const gboolean is_better = inside == 0 && on >= LEAST_ON_LINE * blocks->n;
  for (guint i = 0; i < WS_LINE_TERMS; i++)
  {
    apart[i] = innermost[i] - best[i];
    best[i] = is_better ? innermost[i] : best[i];
  }
}

/* ---- What stands proud ------------------------------------------------------- */

static void
smooth_residuals (Work *work, const WsLineFit *fit, const double terms[WS_LINE_TERMS])
{
  const guint n = work->frame.n, half = work->window / 2;
  for (guint i = 0; i < n; i++)
    work->scratch[i] = work->sign * wsi_line_frame_residual (&work->frame, fit, terms, i);
  for (guint i = 0; i < n; i++)
  {
    const guint from = i > half ? i - half : 0, to = MIN (i + half + 1, n);
    double sum = 0;
    for (guint k = from; k < to; k++)
      sum += work->scratch[k];
    work->smooth[i] = sum / (to - from);
  }
}

/* Marks the runs that stand proud, with a margin, since what begins there begins small. */
static void
mark_proud (Work *work, guint margin)
{
  const guint n = work->frame.n;
  memset (work->proud, 0, n);
  for (guint i = 0; i < n; i++)
  {
    if (work->smooth[i] < PROUD_FROM * work->sigma)
      continue;
    guint from = i, to = i;
    double peak = work->smooth[i];
    while (from > 0 && work->smooth[from - 1] > PROUD_TO * work->sigma)
      from--;
    while (to + 1 < n && work->smooth[to + 1] > PROUD_TO * work->sigma)
    {
      to++;
      peak = MAX (peak, work->smooth[to]);
    }
    if (peak > PROUD * work->sigma)
      memset (work->proud + (from > margin ? from - margin : 0), 1,
              MIN (to + margin + 1, n) - (from > margin ? from - margin : 0));
    i = to;
  }
}

/* Tukey's biweight for the rest. */
static void
weigh_rest (Work *work, WsLineFit *fit, const double terms[WS_LINE_TERMS])
{
  guint kept = 0;
  for (guint i = 0; i < work->frame.n; i++)
    if (!work->proud[i])
      work->scratch[kept++] = fabs (wsi_line_frame_residual (&work->frame, fit, terms, i));
  fit->scatter = kept > 0 ? wsi_absolute_sigma (work->scratch, kept) : 0;
  const double reach = WS_TUKEY_REACH * MAX (fit->scatter, LEAST_SIGMA);
  for (guint i = 0; i < work->frame.n; i++)
    work->frame.weight[i] =
      work->proud[i]
        ? 0
        : wsi_tukey_weight (wsi_line_frame_residual (&work->frame, fit, terms, i) / reach);
}

static WsLineBowPrior
bow_prior (const Work *work)
{
  const double per_point = work->sigma * work->sigma * work->window;
  const WsLineBowPrior prior = { work->sign * work->bow.outward,
                                 per_point / (work->bow.sigma * work->bow.sigma) };
  return prior;
}

/* The line from the terms on, what stands proud left out with so wide a margin. */
static gboolean
refit (Work *work, WsLineFit *fit, guint margin, double terms[WS_LINE_TERMS])
{
  const WsLineBowPrior prior = bow_prior (work);
  for (guint round = 0; round < ROUNDS; round++)
  {
    smooth_residuals (work, fit, terms);
    mark_proud (work, margin);
    weigh_rest (work, fit, terms);
    if (!wsi_line_frame_solve (&work->frame, fit, 0, 0, &prior, terms))
      return FALSE;
  }
  return TRUE;
}

/* Greatest departure to the inside but for a tenth of it, which may be chips. */
static double
most_inside (Work *work)
{
  guint n = 0;
  for (guint i = 0; i < work->frame.n; i++)
    if (!work->proud[i] && work->smooth[i] < 0)
      work->scratch[n++] = -work->smooth[i];
  return n > 0 ? wsi_quantile (work->scratch, n, 0.9) : 0;
}

static void
describe (const Work *work, const WsPoint *points, WsProud *proud)
{
  guint n = 0;
  for (guint i = 0; i < work->frame.n; i++)
  {
    n += work->proud[i];
    if (work->proud[i] && work->smooth[i] > proud->height)
    {
      proud->height = work->smooth[i];
      proud->where = points[i];
    }
  }
  proud->share = (double)n / work->frame.n;
}

/* What begins beside a burr begins too small to be seen: the line with a wider margin about it, and
 * with what hardly shows within that margin. */
static void
find_hidden (Work *work, const WsLineFit *fit, const double terms[WS_LINE_TERMS], guint margin,
             WsProud *proud)
{
  const guint n = work->frame.n;
  const double half = 0.5 * (fit->t_high - fit->t_low);
  const WsLineBowPrior prior = bow_prior (work);
  double wide[WS_LINE_TERMS], raised[WS_LINE_TERMS];
  g_autofree double *d = g_memdup2 (work->frame.d, n * sizeof *d);
  g_autofree double *weight = g_memdup2 (work->frame.weight, n * sizeof *weight);
  mark_proud (work, 3 * margin);
  for (guint i = 0; i < n; i++)
    if (work->proud[i] && work->frame.weight[i] > 0)
    {
      work->frame.d[i] += work->sign * work->sigma;
      work->frame.weight[i] = 0;
    }
  const gboolean is_left = wsi_line_frame_solve (&work->frame, fit, 0, 0, &prior, wide);
  memcpy (work->frame.weight, weight, n * sizeof *weight);
  const gboolean is_found = wsi_line_frame_solve (&work->frame, fit, 0, 0, &prior, raised);
  memcpy (work->frame.d, d, n * sizeof *d);
  mark_proud (work, margin);
  if (!is_left || !is_found)
  {
    proud->unclear = TRUE;
    return;
  }
  proud->u_offset = hypot (proud->u_offset, hypot (wide[0] - terms[0], raised[0] - terms[0]));
  proud->u_angle = hypot (proud->u_angle, hypot (wide[1] - terms[1], raised[1] - terms[1]) / half);
}

/* A bow that is none of grinding's, beyond what is expected, is of something that hardly shows. */
static double
strange_bow (const Work *work, double bow)
{
  return MAX (fabs (work->sign * bow - work->bow.outward) - STRANGE * work->bow.sigma, 0);
}

/* The longest stretch that is left, alone: what is left beside it may be another part of what
 * stands proud. */
static void
read_longest (Work *work, const WsLineFit *fit, const double terms[WS_LINE_TERMS], WsProud *proud)
{
  const guint n = work->frame.n;
  guint from = 0, longest = 0;
  for (guint i = 0, run = 0; i < n; i++)
  {
    run = work->proud[i] ? 0 : run + 1;
    if (run > longest)
    {
      longest = run;
      from = i + 1 - run;
    }
  }
  const WsLineBowPrior prior = bow_prior (work);
  double alone[WS_LINE_TERMS];
  g_autofree double *weight = g_memdup2 (work->frame.weight, n * sizeof *weight);
  for (guint i = 0; i < n; i++)
    if (i < from || i >= from + longest)
      work->frame.weight[i] = 0;
  const gboolean is_read = wsi_line_frame_solve (&work->frame, fit, 0, 0, &prior, alone);
  memcpy (work->frame.weight, weight, n * sizeof *weight);
  if (!is_read)
    return;
  const double half = 0.5 * (fit->t_high - fit->t_low);
  const double excess = strange_bow (work, terms[2]);
  proud->u_offset = hypot (proud->u_offset, hypot (READINGS * (alone[0] - terms[0]), excess));
  proud->u_angle = hypot (proud->u_angle, hypot (READINGS * (alone[1] - terms[1]), excess) / half);
}

/* Nothing is seen to stand proud; but what would be the line if it did, and a bow that is none of
 * grinding's, tell how little of it would be seen. */
static void
doubt_plain (const Work *work, const WsLineFit *fit, const double terms[WS_LINE_TERMS],
             WsProud *proud)
{
  const double half = 0.5 * (fit->t_high - fit->t_low);
  const double excess = strange_bow (work, fit->bow);
  proud->u_offset = hypot (proud->u_offset, hypot (READINGS * terms[0], excess));
  proud->u_angle = hypot (proud->u_angle, hypot (READINGS * terms[1], excess) / half);
  proud->unclear = proud->u_angle > (proud->height > PROUD_LEAST_PX ? 1 : 2) * MOST_U_ANGLE;
  if (!proud->unclear)
    proud->height = proud->share = 0;
}

/* White noise of the points that are left, where a jackknife has too few blocks of them. */
static void
floor_u (const Work *work, WsLineFit *fit)
{
  WsLeastSquares sums;
  double x[WS_LINE_TERMS], inverse[WS_LINE_TERMS * WS_LINE_TERMS];
  wsi_least_squares_init (&sums, WS_LINE_TERMS);
  for (guint i = 0; i < work->frame.n; i++)
  {
    double P[WS_LINE_TERMS];
    wsi_line_legendre (fit, work->frame.t[i], P);
    wsi_least_squares_add (&sums, P, 0, work->frame.weight[i]);
  }
  wsi_least_squares_prior (&sums, 2, 0, bow_prior (work).weight);
  if (!wsi_least_squares_solve (&sums, x, inverse))
    return;
  const double half = 0.5 * (fit->t_high - fit->t_low);
  const double per_point = MAX (fit->scatter, work->sigma * sqrt (work->window));
  fit->u_offset = MAX (fit->u_offset, per_point * sqrt (inverse[0]));
  fit->u_angle = MAX (fit->u_angle, per_point * sqrt (inverse[WS_LINE_TERMS + 1]) / half);
}

/* ---- The whole ----------------------------------------------------------------- */

static gboolean
fit_under (Work *work, const WsPoint *points, guint8 *used, WsLineFit *fit, WsProud *proud)
{
  Blocks blocks;
  double terms[WS_LINE_TERMS] = { 0 }, apart[WS_LINE_TERMS];
  make_blocks (work, fit, &blocks);
  work->window = MAX (work->frame.n / blocks.n, 3);
  search_under (&blocks, &work->bow, terms, apart);
  work->sigma = blocks.sigma;
  const guint margin = work->window / 2 + 1;
  terms[0] *= work->sign;
  terms[1] *= work->sign;
  terms[2] *= work->sign;
  const double half = 0.5 * (fit->t_high - fit->t_low);
  proud->u_offset = READINGS * fabs (apart[0]);
  proud->u_angle = READINGS * fabs (apart[1]) / half;
  if (!refit (work, fit, margin, terms))
  {
    describe (work, points, proud);
    proud->unclear = TRUE;
    return FALSE;
  }
  describe (work, points, proud);
  if (!(proud->height > MAX (PROUD_LEAST_PX, PROUD_MOST_INSIDE * most_inside (work))))
  {
    doubt_plain (work, fit, terms, proud);
    return FALSE;
  }
  find_hidden (work, fit, terms, margin, proud);
  read_longest (work, fit, terms, proud);
  const WsLineBowPrior prior = bow_prior (work);
  wsi_line_frame_absorb (fit, terms);
  wsi_line_frame_read (points, fit, &work->frame);
  wsi_line_frame_find_u (&work->frame, fit, &prior);
  floor_u (work, fit);
  fit->n_used = 0;
  for (guint i = 0; i < fit->n; i++)
  {
    used[i] = work->frame.weight[i] > 0.05;
    fit->n_used += used[i];
  }
  proud->unclear = proud->unclear || fit->n_used < LEAST_LEFT * fit->n ||
                   hypot (fit->u_angle, proud->u_angle) > MOST_U_ANGLE;
  return TRUE;
}

gboolean
wsi_line_fit_under (const WsPoint *points, guint n, WsPoint outward, const WsBow *bow, guint8 *used,
                    WsLineFit *fit, WsProud *proud)
{
  memset (proud, 0, sizeof *proud);
  const gboolean is_plain = wsi_line_fit (points, n, used, fit);
  if (n < 3 * MIN_BLOCKS || !(fit->t_high > fit->t_low))
    return is_plain;
  g_autofree double *room = g_new (double, 5 * (gsize)n);
  g_autofree guint8 *marks = g_new0 (guint8, n);
  g_autofree guint8 *of_rest = g_new0 (guint8, n);
  Work work = { .frame = { room, room + n, room + 2 * (gsize)n, n },
                .smooth = room + 3 * (gsize)n,
                .scratch = room + 4 * (gsize)n,
                .proud = marks };
  WsLineFit under = *fit;
  wsi_line_frame_read (points, &under, &work.frame);
  work.sign = fit->direction.x * outward.y - fit->direction.y * outward.x < 0 ? -1 : 1;
  work.bow = bow != NULL ? *bow : (WsBow){ 0, BOW_SIGMA * (fit->t_high - fit->t_low) };
  work.noise = noise_of (&work.frame, MAX (n / 16, 8), work.scratch);
  if (!fit_under (&work, points, of_rest, &under, proud))
    return is_plain || proud->unclear;
  *fit = under;
  memcpy (used, of_rest, n);
  return TRUE;
}
