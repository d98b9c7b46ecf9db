#include "tool/form/guess.h"

#include "base/geometry.h"
#include "tool/form/runs.h"
#include "tool/form/samples.h"

#define GUESS_SAMPLES 90
#define GUESS_OUTLINE 700

/* Pieces look alike when angle, radius or distance agree to these (own trials). */
#define ANGLE_GAP 0.06
#define RADIUS_RATIO 1.3
#define DISTANCE_RATIO 1.08
#define NOT_PARALLEL 0.17

/* How near counts as beside, of the profile's size. */
#define BESIDE_SHARE 0.012

/* A place on the profile and its direction there. */
typedef struct
{
  WsPoint at, direction;
} Place;

typedef struct
{
  const WsFormSought *sought;
  GArray *pieces;  /* of the profile */
  GArray *outline; /* pieces of all runs, directions as walked */

  double beside;
  Place places[GUESS_SAMPLES];
  WsFormMotion best;
  guint score; /* of GUESS_SAMPLES */
} Guess;

static double
heading_of (WsPoint direction)
{
  return atan2 (direction.y, direction.x);
}

double
wsi_form_beside (const WsFormNominal *profile)
{
  return MAX (WS_FORM_BESIDE_MIN_PX, BESIDE_SHARE * profile->size);
}

static void
find_places (const WsFormNominal *profile, Place places[GUESS_SAMPLES])
{
  double at = 0.5 * profile->length / GUESS_SAMPLES;
  for (guint k = 0, i = 0; k < GUESS_SAMPLES; k++, at += profile->length / GUESS_SAMPLES)
  {
    while (i + 1 < profile->n && profile->start[i + 1] <= at)
      i++;
    const WsContourSegment *s = &profile->segments[i];
    const double t = (at - profile->start[i]) / profile->lengths[i];
    places[k] = (Place){ ws_contour_point (s, t), wsi_form_nominal_direction (profile, i, t) };
  }
}

static gboolean
is_beside (const Guess *guess, WsPoint p, WsPoint direction)
{
  const GArray *samples = guess->sought->samples;
  const guint stride = MAX (1, samples->len / GUESS_OUTLINE);
  for (guint j = 0; j < samples->len; j += stride)
  {
    const WsFormSample *sample = &g_array_index (samples, WsFormSample, j);
    if (fabs (sample->at.x - p.x) < guess->beside && fabs (sample->at.y - p.y) < guess->beside &&
        wsi_point_dot (sample->heading, direction) > 0.9)
      return TRUE;
  }
  return FALSE;
}

/* How many of the profile's places lie near the outline with the same direction; given up, with
 * what was found, when that can't be more than `least`. */
static guint
score_of (const Guess *guess, const WsFormMotion *motion, guint least)
{
  const WsFormTurn turn = wsi_form_turn (motion->angle);
  guint found = 0;
  for (guint k = 0; k < GUESS_SAMPLES && found + GUESS_SAMPLES - k > least; k++)
  {
    const Place *place = &guess->places[k];
    const WsPoint p = wsi_point_add (wsi_form_turned_by (place->at, &turn), motion->shift);
    const WsPoint d = wsi_form_turned_by (place->direction, &turn);
    if (is_beside (guess, p, motion->forward ? d : wsi_point (-d.x, -d.y)))
      found++;
  }
  return found;
}

static void
try_motion (Guess *guess, const WsFormMotion *motion)
{
  if (isfinite (guess->sought->held) &&
      fabs (wsi_form_wrapped (motion->angle - guess->sought->held)) > ANGLE_GAP)
    return;
  const guint score = score_of (guess, motion, guess->score);
  if (score <= guess->score)
    return;
  guess->score = score;
  guess->best = *motion;
}

static double
line_heading (const WsChainPiece *line, gboolean forward)
{
  return wsi_form_wrapped (heading_of (line->line.direction) + (forward ? 0 : G_PI));
}

/* Two lines that aren't parallel: their directions tell the turn, where they meet the shift. */
static void
try_lines (Guess *guess, const WsChainPiece *const nominal[2], const WsChainPiece *const seen[2],
           gboolean forward)
{
  const double first =
    wsi_form_wrapped (line_heading (seen[0], forward) - line_heading (nominal[0], TRUE));
  const double second =
    wsi_form_wrapped (line_heading (seen[1], forward) - line_heading (nominal[1], TRUE));
  const double between =
    wsi_form_wrapped (line_heading (nominal[0], TRUE) - line_heading (nominal[1], TRUE));
  WsPoint from, to;
  if (fabs (sin (between)) < sin (NOT_PARALLEL) ||
      fabs (wsi_form_wrapped (first - second)) > ANGLE_GAP ||
      !wsi_line_meet (&nominal[0]->line, &nominal[1]->line, &from) ||
      !wsi_line_meet (&seen[0]->line, &seen[1]->line, &to))
    return;
  WsFormMotion motion = { .angle = first - 0.5 * wsi_form_wrapped (first - second),
                          .forward = forward };
  motion.shift = wsi_point_sub (to, wsi_form_turned (from, motion.angle));
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
  WsFormMotion motion = { .forward = forward };
  motion.angle =
    wsi_form_wrapped (line_heading (seen[0], forward) - line_heading (nominal[0], TRUE));
  motion.shift = wsi_point_sub (seen[1]->circle.centre,
                                wsi_form_turned (nominal[1]->circle.centre, motion.angle));
  /* The line must then lie on its own, too. */
  const WsPoint middle = wsi_form_moved (&motion, nominal[0]->line.centre);
  if (fabs (wsi_line_distance (&seen[0]->line, middle)) < 0.1 * guess->sought->profile->size)
    try_motion (guess, &motion);
}

static void
try_arcs (Guess *guess, const WsChainPiece *const nominal[2], const WsChainPiece *const seen[2],
          gboolean forward)
{
  const WsPoint a = wsi_point_sub (nominal[1]->circle.centre, nominal[0]->circle.centre);
  const WsPoint b = wsi_point_sub (seen[1]->circle.centre, seen[0]->circle.centre);
  const double ratio = wsi_point_length (a) / MAX (wsi_point_length (b), 1e-9);
  if (!radii_agree (nominal[0], seen[0], forward) || !radii_agree (nominal[1], seen[1], forward) ||
      ratio > DISTANCE_RATIO || ratio < 1 / DISTANCE_RATIO || wsi_point_length (a) < 10)
    return;
  WsFormMotion motion = { .angle = wsi_form_wrapped (heading_of (b) - heading_of (a)),
                          .forward = forward };
  motion.shift = wsi_point_sub (seen[0]->circle.centre,
                                wsi_form_turned (nominal[0]->circle.centre, motion.angle));
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
pieces_of_profile (const WsFormNominal *profile, const WsChainRules *rules)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < profile->n; i++)
  {
    const guint n = MAX (1, (guint)ceil (profile->lengths[i]));
    for (guint k = 0; k < n; k++)
    {
      const WsPoint p = ws_contour_point (&profile->segments[i], (k + 0.5) / n);
      g_array_append_val (points, p);
    }
  }
  return wsi_chain_split ((const WsPoint *)(void *)points->data, points->len, rules);
}

static GArray *
pieces_of_outline (const WsOutline *outline, const WsChainRules *rules)
{
  GArray *all = g_array_new (FALSE, FALSE, sizeof (WsChainPiece));
  g_autoptr (GPtrArray) runs = wsi_form_runs (outline);
  for (guint i = 0; i < runs->len; i++)
  {
    const WsFormRun *run = g_ptr_array_index (runs, i);
    g_autoptr (GArray) pieces = wsi_chain_split (run->points, run->n, rules);
    g_array_append_vals (all, pieces->data, pieces->len);
  }
  return all;
}

double
wsi_form_guess (const WsFormSought *sought, WsFormMotion *motion)
{
  g_autoptr (GArray) pieces = pieces_of_profile (sought->profile, sought->rules);
  g_autoptr (GArray) outline = pieces_of_outline (sought->outline, sought->rules);
  Guess guess = { .sought = sought, .pieces = pieces, .outline = outline };
  guess.beside = wsi_form_beside (sought->profile);
  find_places (sought->profile, guess.places);
  try_all_pairs (&guess);
  *motion = guess.best;
  return (double)guess.score / GUESS_SAMPLES;
}
