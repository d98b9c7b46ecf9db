#include "tool/drill/roll/margin.h"

#include "maths/stats.h"
#include "tool/drill/roll/phase.h"

/* The body behind the margins is where the profile is flat: rises by less over a bin, in radii, and
 * lies so far inside the envelope. */
#define FLAT 0.0004
#define LEAST_CLEARANCE 0.004
#define MOST_CLEARANCE 0.08
#define LEAST_FLAT 6

/* Nor is a step of less px told. */
#define LEAST_STEP_PX 1.5

/* An edge is told where the profile lies so far inside the envelope, in parts of the clearance. */
static const double told[2] = { 0.12, 0.8 };

#define LEAST_SAMPLES 8

/* Where the profile is highest: any bin on a margin. */
static guint
top_bin (const WsRollProfile *profile, double radius)
{
  guint best = 0, most = 0, run = 0;
  for (guint i = 0; i < 2 * WS_ROLL_BINS; i++)
  {
    const guint b = i % WS_ROLL_BINS;
    run = profile->seen[b] && profile->half[b] > (1 - 0.0012) * radius ? run + 1 : 0;
    if (run <= most)
      continue;
    most = run;
    best = (i + WS_ROLL_BINS - run / 2) % WS_ROLL_BINS;
  }
  return best;
}

/* Median distance of the body behind the margins from the envelope; 0 where none is seen. */
static double
clearance_of (const WsRoll *roll)
{
  double off[WS_ROLL_BINS];
  guint n = 0;
  const WsRollProfile *profile = &roll->profile;
  for (guint b = 0; b < WS_ROLL_BINS; b++)
  {
    const guint c = (b + 1) % WS_ROLL_BINS;
    if (!profile->seen[b] || !profile->seen[c])
      continue;
    const double below = roll->radius - profile->half[b];
    if (fabs (profile->half[c] - profile->half[b]) < FLAT * roll->radius &&
        below > LEAST_CLEARANCE * roll->radius && below < MOST_CLEARANCE * roll->radius)
      off[n++] = below;
  }
  return n >= LEAST_FLAT ? wsi_median (off, n) : 0;
}

/* What samples tell of one edge: sums of weights, weighted places, their squares. */
typedef struct
{
  double weights, place, squares, turn;
  guint n;
} Edge;

static void
add_sample (Edge *edge, double place, double turn)
{
  /* An edge that is d off falls by 1 - cos d, so its place is told as sin d squared. */
  const double weight = sin (turn) * sin (turn);
  edge->weights += weight;
  edge->place += weight * place;
  edge->squares += weight * place * place;
  edge->turn += weight * turn;
  edge->n++;
}

static double
place_of (const Edge *edge, double *u)
{
  const double mean = edge->place / edge->weights;
  const double variance = MAX (edge->squares / edge->weights - mean * mean, 0);
  /* Neighbouring heights of a picture share what is wrong with them: one in five counts. */
  *u = sqrt (5 * variance / edge->n);
  return mean;
}

static void
gather (const WsRoll *roll, double top, double clearance, Edge edges[2])
{
  const double R = roll->radius;
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    {
      const double z = wsi_roll_height (roll, k);
      const double off = remainder (z * 2 / roll->lead + frame->phase - top, 1) * G_PI;
      const double below = (R - frame->half[k]) / clearance;
      const double model = wsi_roll_profile_at (roll, frame, z, NULL);
      if (!(below > told[0] && below < told[1]) ||
          !(fabs (frame->half[k] - model) < 4 * roll->sigma) || fabs (off) > 0.25 * G_PI)
        continue;
      const double turn = acos (frame->half[k] / R);
      add_sample (&edges[off > 0], off > 0 ? off - turn : off + turn, turn);
    }
  }
}

gboolean
wsi_roll_find_margin (const WsRoll *roll, WsRollMargin *margin, WsRefusal *refusal)
{
  const double top = (double)top_bin (&roll->profile, roll->radius) / WS_ROLL_BINS;
  Edge edges[2] = { { .n = 0 }, { .n = 0 } };
  *margin = (WsRollMargin){ .clearance = clearance_of (roll) };
  if (margin->clearance < LEAST_STEP_PX)
    return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL,
                            "no step of the body behind the margins is seen");
  gather (roll, top, margin->clearance, edges);
  if (edges[0].n < LEAST_SAMPLES || edges[1].n < LEAST_SAMPLES)
    return wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL, "the margins' edges aren't seen");
  double u[2];
  margin->angle = place_of (&edges[1], &u[1]) - place_of (&edges[0], &u[0]);
  margin->u_angle = hypot (u[0], u[1]);
  margin->turn = 0.5 * (edges[0].turn / edges[0].weights + edges[1].turn / edges[1].weights);
  return TRUE;
}
