#include "tool/drill/roll/flank.h"

#include <string.h>

#include "base/geometry.h"
#include "maths/stats.h"
#include "tool/drill/roll/flank_fit.h"

/* Frames are taken from there on, degrees off the lips' plane: at first up to `first`, then one by
 * one as far as they agree. */
static const double first[2] = { -2, 36 };
#define LAST_DEG 70.0

/* The flank that comes into sight may lie off what the one before tells by so much, in radii. */
#define WIDE 0.02

/* The outline's places across, in radii, and how many points a side. */
static const WsLipRange across = { 0.02, 0.92, FALSE }, inside = { 0.02, 0.45, FALSE };
#define POINTS 70

/* An outline agrees that stands off by less: deviations of those taken at first, and radii for what
 * the terms leave. */
#define AGREES_SIGMAS 2.0
#define AGREES 0.0001
#define MUCH_WORSE 1.4

/* A heel that is taken for a flank bends its form: terms of higher order stand off by more spreads.
 */
#define LIKELY 1.5

#define LEAST_SIDES 6
#define ROUNDS 8

/* ---- Frames ---------------------------------------------------------------------------------- */

/* Takes the points of all sides of frames that show what they may. */
static void
take_points (WsFlankFit *fit)
{
  WsLipFit *take = &fit->take;
  g_array_set_size (take->points, 0);
  for (guint i = 0; i < take->seen->len; i++)
    for (guint k = 0; k < 2; k++)
    {
      const WsLipSeen *seen = &g_array_index (take->seen, WsLipSeen, i);
      const gboolean all = wsi_degrees (seen->turn) < fit->limit[k];
      if (seen->shows[k])
        wsi_lip_take_side (take, i, k, all ? &across : &inside, take->points);
    }
  g_array_set_size (fit->touched, take->points->len);
  for (guint i = 0; i < fit->touched->len; i++)
    wsi_flank_touch (fit, i)->weight = 1;
}

/* Frames up to there; lip k's sides up to the fit's limit. */
static void
take_frames (WsFlankFit *fit, double to_deg)
{
  const double range[2] = { first[0], to_deg };
  wsi_lip_take_frames (&fit->take, range);
  for (guint i = 0; i < fit->take.seen->len; i++)
    for (guint k = 0; k < 2; k++)
    {
      WsLipSeen *seen = &g_array_index (fit->take.seen, WsLipSeen, i);
      seen->shows[k] = wsi_degrees (seen->turn) < fit->inner[k];
    }
  take_points (fit);
}

/* A side's median rest, and departure from that, of those that count; FALSE when few do. */
static gboolean
side_off (const WsFlankFit *fit, guint frame, guint k, double *above, double *off)
{
  const GArray *points = fit->take.points;
  g_autofree double *rest = g_new (double, MAX (points->len, 1));
  for (guint pass = 0; pass < 2; pass++)
  {
    guint n = 0;
    for (guint i = 0; i < points->len; i++)
    {
      const WsLipSample *s = &g_array_index (points, WsLipSample, i);
      if (s->frame == frame && s->lip == k && wsi_flank_touch (fit, i)->counts)
        rest[n++] = pass == 0 ? wsi_flank_touch (fit, i)->rest
                              : fabs (wsi_flank_touch (fit, i)->rest - *above);
    }
    if (n < 10)
      return FALSE;
    *(pass == 0 ? above : off) = wsi_quantile (rest, n, pass == 0 ? 0.5 : 0.75);
  }
  return TRUE;
}

/* Leaves out sides that don't agree with the form; how many are left. */
static guint
keep_agreeing (WsFlankFit *fit)
{
  guint sides = 0;
  wsi_flank_fit_touch (fit);
  for (guint i = 0; i < fit->take.seen->len; i++)
    for (guint k = 0; k < 2; k++)
    {
      WsLipSeen *seen = &g_array_index (fit->take.seen, WsLipSeen, i);
      double above, off;
      seen->shows[k] = seen->shows[k] && side_off (fit, i, k, &above, &off) && off < fit->agrees &&
                       fabs (above) < fit->agrees + 3 * fit->slide;
      sides += (guint)seen->shows[k];
    }
  take_points (fit);
  return sides;
}

/* The least turn of a frame that is greater, degrees. */
static double
next_turn (const WsFlankFit *fit, double after)
{
  double next = HUGE_VAL;
  for (guint i = 0; i < fit->take.roll->frames->len; i++)
  {
    const double turn =
      remainder (wsi_roll_frame (fit->take.roll, i)->turn - fit->take.across, G_PI);
    if (wsi_degrees (turn) > after + 1e-6)
      next = MIN (next, wsi_degrees (turn));
  }
  return next;
}

/* ---- The whole --------------------------------------------------------------------------------
 */

/* From where the fit is begun: the fall behind the lip and its bend. */
static const double starts[][2] = { { 0.08, 0.1 }, { 0.08, 0.4 }, { 0.16, 0.1 },
                                    { 0.16, 0.4 }, { 0.26, 0.1 }, { 0.26, 0.4 } };

#define FEW_TERMS 4

/* Behind the lip, in radii: points that lie on the flank surely, and where the nearest ones must
 * be. */
#define SURELY_BEHIND 0.04
#define NEAREST 0.35

/* Turns of pictures that show a flank differ by more, rad. */
#define LEAST_BETWEEN 0.05

/* A relief that is less well known says nothing, rad. */
#define MOST_U 0.0105

static gboolean
seek (WsFlankFit *fit)
{
  double least = HUGE_VAL;
  WsFlankForm best = fit->form;
  fit->limit[0] = fit->limit[1] = fit->inner[0] = fit->inner[1] = HUGE_VAL;
  take_frames (fit, first[1]);
  fit->n_terms = FEW_TERMS;
  for (gsize i = 0; i < G_N_ELEMENTS (starts); i++)
  {
    for (guint k = 0; k < 2; k++)
    {
      memcpy (fit->form.fall[k], wsi_flank_usual, sizeof wsi_flank_usual);
      fit->form.fall[k][0] = starts[i][0];
      fit->form.fall[k][3] = starts[i][1];
    }
    fit->sigma = 0.001;
    if (!wsi_flank_fit_run (fit, 4, 0) || fit->sigma >= least)
      continue;
    least = fit->sigma;
    best = fit->form;
  }
  fit->form = best;
  return least < HUGE_VAL;
}

/* Takes the frames of one turn more in; a side that doesn't agree, since its heel is seen by now,
 * is the last one of its lip's. */
static gboolean
take_next (WsFlankFit *fit, double turn)
{
  const WsFlankForm was = fit->form;
  const double sigma = fit->sigma;
  if (MAX (fit->inner[0], fit->inner[1]) < turn)
    return TRUE;
  take_frames (fit, turn + 1e-6);
  if (!wsi_flank_fit_run (fit, ROUNDS, WIDE))
    return FALSE;
  const gboolean worse =
    fit->sigma > MUCH_WORSE * sigma + AGREES || !wsi_flank_fit_is_likely (fit, LIKELY);
  gboolean good = TRUE;
  for (guint i = 0; i < fit->take.seen->len; i++)
    for (guint k = 0; k < 2; k++)
    {
      const WsLipSeen *seen = &g_array_index (fit->take.seen, WsLipSeen, i);
      double above, off;
      if (wsi_degrees (seen->turn) < turn - 1e-6 || !seen->shows[k] ||
          (side_off (fit, i, k, &above, &off) && off < fit->agrees && !worse))
        continue;
      *(fit->limit[k] > turn ? &fit->limit[k] : &fit->inner[k]) = turn - 1e-6;
      good = FALSE;
    }
  if (good)
    return TRUE;
  fit->form = was;
  fit->sigma = sigma;
  return take_next (fit, turn);
}

static gboolean
grow (WsFlankFit *fit)
{
  fit->n_terms = WS_FLANK_N;
  take_frames (fit, first[1]);
  if (!wsi_flank_fit_run (fit, ROUNDS, WIDE))
    return FALSE;
  fit->agrees = AGREES_SIGMAS * fit->sigma + AGREES;
  for (double turn = next_turn (fit, first[1]);
       turn < LAST_DEG && MAX (fit->inner[0], fit->inner[1]) > turn; turn = next_turn (fit, turn))
    if (!take_next (fit, turn))
      return FALSE;
  take_frames (fit, LAST_DEG);
  return wsi_flank_fit_run (fit, ROUNDS, 0) && keep_agreeing (fit) >= LEAST_SIDES &&
         wsi_flank_fit_run (fit, ROUNDS, 0);
}

static void
values_of (const WsFlankForm *form, double *v)
{
  for (guint k = 0; k < 2; k++)
  {
    v[WS_ROLL_RELIEF_A + k] = wsi_flank_relief (form, k, 1);
    v[WS_ROLL_RELIEF_HALF_A + k] = wsi_flank_relief (form, k, 0.5);
  }
  v[WS_ROLL_CHISEL_ANGLE] = wsi_flank_chisel_angle (form);
}

/* By the covariance, with the slopes of each value by each term. */
static gboolean
find_u (const WsFlankFit *fit, WsRollFlanks *flanks)
{
  double C[WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS],
    slope[WS_FLANK_N_UNKNOWNS][WS_ROLL_N_FLANK_VALUES];
  if (!wsi_flank_fit_covariance (fit, C))
    return FALSE;
  for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
  {
    WsFlankForm form = fit->form;
    form.fall[j / WS_FLANK_N][j % WS_FLANK_N] += 1e-5;
    values_of (&form, slope[j]);
    for (guint i = 0; i < WS_ROLL_N_FLANK_VALUES; i++)
      slope[j][i] = (slope[j][i] - flanks->value[i]) / 1e-5;
  }
  for (guint i = 0; i < WS_ROLL_N_FLANK_VALUES; i++)
  {
    double variance = 0;
    for (guint j = 0; j < WS_FLANK_N_UNKNOWNS; j++)
      for (guint k = 0; k < WS_FLANK_N_UNKNOWNS; k++)
        variance += slope[j][i] * C[j * WS_FLANK_N_UNKNOWNS + k] * slope[k][i];
    flanks->u[i] = sqrt (MAX (variance, 0));
  }
  return TRUE;
}

/* What pictures tell of one flank. */
typedef struct
{
  double least_turn, most_turn; /* of frames that show it along half of their side, rad */
  double nearest, farthest;     /* places seen behind the lip */
} Seen;

/* A frame's points of one flank: from where to where behind the lip; FALSE when they are few. */
static gboolean
reach_of (const WsFlankFit *fit, guint from, guint to, guint k, double reach[2])
{
  g_autofree double *behind = g_new (double, MAX (to - from, 1));
  guint n = 0;
  for (guint i = from; i < to; i++)
  {
    const WsFlankTouch *touch = wsi_flank_touch (fit, i);
    if (g_array_index (fit->take.points, WsLipSample, i).lip != k || !(touch->weight > 0))
      continue;
    if (touch->contact.behind > SURELY_BEHIND)
      behind[n++] = touch->contact.behind;
  }
  if (n < 8)
    return FALSE;
  reach[0] = wsi_quantile (behind, n, 0.1);
  reach[1] = wsi_quantile (behind, n, 0.9);
  return TRUE;
}

static Seen
seen_of (const WsFlankFit *fit, guint k)
{
  Seen seen = { HUGE_VAL, -HUGE_VAL, HUGE_VAL, 0 };
  for (guint from = 0, to; from < fit->touched->len; from = to)
  {
    double reach[2];
    to = wsi_flank_fit_next_frame (fit, from);
    if (!reach_of (fit, from, to, k, reach))
      continue;
    const guint frame = g_array_index (fit->take.points, WsLipSample, from).frame;
    const double turn = g_array_index (fit->take.seen, WsLipSeen, frame).turn;
    seen.least_turn = MIN (seen.least_turn, turn);
    seen.most_turn = MAX (seen.most_turn, turn);
    seen.nearest = MIN (seen.nearest, reach[0]);
    seen.farthest = MAX (seen.farthest, reach[1]);
  }
  return seen;
}

/* Whether both flanks are seen in pictures of different turns, and from near their lips on: an edge
 * behind a flat flank, seen once, may be taken for a convex one. */
static gboolean
are_seen (const WsFlankFit *fit, WsRollFlanks *flanks)
{
  gboolean good = TRUE;
  flanks->reach[0] = 0;
  flanks->reach[1] = HUGE_VAL;
  for (guint k = 0; k < 2; k++)
  {
    const Seen seen = seen_of (fit, k);
    good = good && seen.most_turn - seen.least_turn > LEAST_BETWEEN && seen.nearest < NEAREST;
    flanks->reach[0] = MAX (flanks->reach[0], seen.nearest);
    flanks->reach[1] = MIN (flanks->reach[1], seen.farthest);
  }
  return good;
}

/* How near the chisel edge's far ends the flanks are seen, the farther one of both, radii. */
static double
nearest_to_chisel (const WsFlankFit *fit)
{
  double nearest[2] = { HUGE_VAL, HUGE_VAL };
  const WsPoint ends[2] = { wsi_flank_chisel_end (&fit->form, 0),
                            wsi_flank_chisel_end (&fit->form, 1) };
  for (guint i = 0; i < fit->touched->len; i++)
  {
    const WsFlankTouch *touch = wsi_flank_touch (fit, i);
    const guint k = g_array_index (fit->take.points, WsLipSample, i).lip;
    if (touch->weight > 0.5 && touch->on_flank)
      nearest[k] =
        MIN (nearest[k], hypot (touch->contact.x - ends[k].x, touch->contact.y - ends[k].y));
  }
  return MAX (nearest[0], nearest[1]);
}

static gboolean
find (WsFlankFit *fit, WsRollFlanks *flanks)
{
  if (!seek (fit) || !grow (fit))
    return FALSE;
  if (!are_seen (fit, flanks))
    return FALSE;
  values_of (&fit->form, flanks->value);
  flanks->to_chisel = nearest_to_chisel (fit);
  return find_u (fit, flanks);
}

gboolean
wsi_roll_find_flanks (const WsRoll *roll, const WsRollLips *lips, WsRollFlanks *flanks,
                      WsRefusal *refusal)
{
  g_autoptr (GArray) seen = g_array_new (FALSE, FALSE, sizeof (WsLipSeen));
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsLipSample));
  g_autoptr (GArray) touched = g_array_new (FALSE, TRUE, sizeof (WsFlankTouch));
  WsFlankFit fit = { .take = { .roll = roll,
                               .across = lips->across,
                               .seen = seen,
                               .points = points,
                               .left_out = -1,
                               .n_points = POINTS },
                     .slide = lips->slide,
                     .touched = touched };
  memcpy (fit.take.x, lips->curve, sizeof fit.take.x);
  fit.form.lips = fit.take.x;
  const gboolean found = find (&fit, flanks);
  double worst = 0;
  if (!found)
    return wsi_refusal_set (
      refusal, WS_RETAKE_LIPS_TURNED,
      "two pictures of each flank just after its lip are wanted; flat or hollow "
      "ones show in none");
  for (guint i = 0; i < WS_ROLL_CHISEL_ANGLE; i++)
    worst = MAX (worst, flanks->u[i]);
  if (worst > MOST_U)
    return wsi_refusal_set (
      refusal, WS_RETAKE_LIPS_TURNED,
      "relief known to %.1f degrees only: more pictures are wanted just after "
      "the lips lie across",
      2 * wsi_degrees (worst));
  return TRUE;
}
