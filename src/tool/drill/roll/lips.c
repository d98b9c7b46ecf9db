#include "tool/drill/roll/lips.h"

#include <string.h>

#include "base/geometry.h"
#include "maths/stats.h"
#include "tool/drill/roll/lip_curve.h"

/* A frame turned by so much from where the lips lie across shows them surely, degrees.  Turned on,
 * the flank behind a lip comes into sight before it as soon as tan (turn) exceeds tan (half angle)
 * times the flank's slope square to the lip, which is a few hundredths; turned back, the lip grows
 * short and the chisel edge stands before it. */
static const double sure[2] = { -30.0, 3.0 };

/* Where frames farther back agree with what the sure ones tell, they are taken in, step by step. */
static const double farther[][2] = { { -38.0, 3.0 }, { -46.0, 3.0 }, { -54.0, 3.0 } };

/* An outline agrees that stands off by less: px, and radii for what a lip's own form may be. */
#define AGREES_PX 0.25
#define AGREES 0.0006

/* While the lips are sought. */
#define SEEK_STEP_DEG 6.0
#define LEAST_FRAMES 2
#define LEAST_SIDES 5
#define COARSE_POINTS 40

#define POINTS 90
#define ROUNDS 12

/* ---- Seeking ---------------------------------------------------------------------------- */

static double
mean_direction (const WsLipFit *fit)
{
  return 0.5 * (atan (fit->x[WS_LIP_BEHIND_SLOPE]) + atan (fit->x[WS_LIP_N + WS_LIP_BEHIND_SLOPE]));
}

/* Counts turns from where the lips, on average, lie across. */
static void
recentre (WsLipFit *fit)
{
  const double by = mean_direction (fit);
  fit->across -= by;
  for (guint k = 0; k < 2; k++)
  {
    double *slope = &fit->x[k * WS_LIP_N + WS_LIP_BEHIND_SLOPE];
    *slope = tan (atan (*slope) - by);
  }
}

/* By how much one side of a frame stands above the model, and its median departure from that. */
static gboolean
side_off (const WsLipFit *fit, guint index, guint k, double *above, double *off)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsLipSample));
  wsi_lip_take_side (fit, index, k, &wsi_lip_whole, points);
  const guint n = points->len;
  if (n < 12)
    return FALSE;
  g_autofree double *rest = g_new (double, n);
  for (guint pass = 0; pass < 2; pass++)
  {
    for (guint i = 0; i < n; i++)
    {
      const WsLipSample *s = &g_array_index (points, WsLipSample, i);
      rest[i] = s->at.y - wsi_lip_seen_height (fit, fit->x, s);
      if (pass == 1)
        rest[i] = fabs (rest[i] - *above);
    }
    /* Not the median alone: an envelope leaves a line at one end. */
    *(pass == 0 ? above : off) = wsi_quantile (rest, n, pass == 0 ? 0.5 : 0.75);
  }
  return TRUE;
}

/* Which sides of which frames in the range agree with the model; how many. */
static guint
take_agreeing (WsLipFit *fit, const double range[2])
{
  guint sides = 0, kept = 0;
  wsi_lip_take_frames (fit, range);
  const double most = (AGREES_PX / fit->roll->radius + AGREES);
  for (guint i = 0; i < fit->seen->len; i++)
  {
    WsLipSeen *seen = &g_array_index (fit->seen, WsLipSeen, i);
    double above[2] = { 0, 0 }, off[2];
    for (guint k = 0; k < 2; k++)
      seen->shows[k] = side_off (fit, i, k, &above[k], &off[k]) && off[k] < most;
    /* Both slide together. */
    if (seen->shows[0] && seen->shows[1] && fabs (above[0] - above[1]) > 3 * most)
      seen->shows[0] = seen->shows[1] = FALSE;
    sides += (guint)seen->shows[0] + (guint)seen->shows[1];
  }
  for (guint i = 0; i < fit->seen->len; i++)
  {
    const WsLipSeen seen = g_array_index (fit->seen, WsLipSeen, i);
    if (seen.shows[0] || seen.shows[1])
      g_array_index (fit->seen, WsLipSeen, kept++) = seen;
  }
  g_array_set_size (fit->seen, kept);
  return sides;
}

/* From frames that show the lips surely, if they lie as supposed, to all that agree; how many sides
 * of frames, 0 where they don't. */
static guint
grow (WsLipFit *fit, guint rounds)
{
  guint sides = 0;
  for (guint i = 0; i < G_N_ELEMENTS (farther); i++)
  {
    recentre (fit);
    sides = take_agreeing (fit, farther[i]);
    if (sides < LEAST_SIDES || fit->seen->len < LEAST_FRAMES || !wsi_lip_fit_run (fit, rounds))
      return 0;
  }
  return sides;
}

/* Where the lips lie across; FALSE where no stretch of the roll shows them. */
static gboolean
seek (WsLipFit *fit)
{
  double best = 0, across = 0, x[WS_LIP_N_UNKNOWNS] = { 0 };
  fit->n_points = COARSE_POINTS;
  for (double deg = 0; deg < 180; deg += SEEK_STEP_DEG)
  {
    fit->across = wsi_radians (deg);
    wsi_lip_take_frames (fit, sure);
    wsi_lip_fit_start (fit);
    if (fit->seen->len < LEAST_FRAMES || !wsi_lip_fit_run (fit, 6))
      continue;
    const double sides = grow (fit, 4);
    if (!(sides > 0))
      continue;
    /* As many frames that agree better are better. */
    const double score = sides - fit->sigma * fit->roll->radius - 0.05 * fit->cost;
    if (score <= best)
      continue;
    best = score;
    across = fit->across;
    memcpy (x, fit->x, sizeof x);
  }
  fit->across = across;
  memcpy (fit->x, x, sizeof x);
  return best > 0;
}

static gboolean
settle (WsLipFit *fit)
{
  fit->n_points = POINTS;
  const guint last = G_N_ELEMENTS (farther) - 1;
  for (guint round = 0; round < 2; round++)
  {
    recentre (fit);
    if (take_agreeing (fit, farther[last]) < LEAST_SIDES || fit->seen->len < LEAST_FRAMES ||
        !wsi_lip_fit_run (fit, ROUNDS))
      return FALSE;
  }
  return TRUE;
}

/* ---- Values ----------------------------------------------------------------------------- */

#define N_SAMPLES 101

typedef struct
{
  double half_angle, corner; /* its height at the envelope */
} LipLine;

/* Total least squares through the lip, as seen when both lie across on average. */
static LipLine
line_of (const WsLipFit *fit, guint k, double turn)
{
  WsPoint points[N_SAMPLES];
  WsPoint mean = { 0, 0 };
  const double *lip = &fit->x[k * WS_LIP_N];
  const WsLipSeen square = { .turn = turn, .c = cos (turn), .s = sin (turn) };
  for (guint i = 0; i < N_SAMPLES; i++)
  {
    const double across = WS_LIP_FROM + (WS_LIP_TO - WS_LIP_FROM) * i / (N_SAMPLES - 1);
    points[i] = wsi_point (across, wsi_lip_height (fit->x, k, wsi_lip_x_at (lip, &square, across)));
    mean = wsi_point_along (mean, 1.0 / N_SAMPLES, points[i]);
  }
  double xx = 0, xy = 0, yy = 0;
  for (guint i = 0; i < N_SAMPLES; i++)
  {
    const WsPoint d = wsi_point_sub (points[i], mean);
    xx += d.x * d.x;
    xy += d.x * d.y;
    yy += d.y * d.y;
  }
  const double direction = 0.5 * atan2 (2 * xy, xx - yy);
  return (LipLine){ G_PI / 2 + direction, mean.y + (1 - mean.x) * tan (direction) };
}

/* `slide`: mean height of the frames' own slides, radii. */
static void
values_of (const WsLipFit *fit, double slide, double *v)
{
  const double R = fit->roll->radius, turn = -mean_direction (fit);
  const LipLine a = line_of (fit, 0, turn), b = line_of (fit, 1, turn);
  const double ta = 1 / tan (a.half_angle), tb = 1 / tan (b.half_angle);
  const double height = a.corner - b.corner, offset = (tb - ta - height) / (ta + tb);
  v[WS_ROLL_POINT_ANGLE] = a.half_angle + b.half_angle;
  v[WS_ROLL_HALF_ANGLE_A] = a.half_angle;
  v[WS_ROLL_HALF_ANGLE_B] = b.half_angle;
  v[WS_ROLL_HALF_ANGLE_DIFFERENCE] = a.half_angle - b.half_angle;
  v[WS_ROLL_LIP_LENGTH_A] = R * (1 + offset) / sin (a.half_angle);
  v[WS_ROLL_LIP_LENGTH_B] = R * (1 - offset) / sin (b.half_angle);
  v[WS_ROLL_LIP_LENGTH_DIFFERENCE] = v[WS_ROLL_LIP_LENGTH_A] - v[WS_ROLL_LIP_LENGTH_B];
  v[WS_ROLL_LIP_HEIGHT_DIFFERENCE] = R * height;
  v[WS_ROLL_POINT_OFFSET] = R * offset;
  v[WS_ROLL_WEB] = R * (fit->x[WS_LIP_BEHIND] + fit->x[WS_LIP_N + WS_LIP_BEHIND]);
  v[WS_ROLL_CORNERS] = R * (0.5 * (a.corner + b.corner) + slide);
}

/* Mean over all samples of what the model leaves before frames are centred. */
static double
mean_slide (const WsLipFit *fit)
{
  double sum = 0, weights = 1e-12;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsLipSample *s = &g_array_index (fit->points, WsLipSample, i);
    sum += s->weight * (s->at.y - wsi_lip_seen_height (fit, fit->x, s));
    weights += s->weight;
  }
  return sum / weights;
}

/* How far the frames stand off along the axis, deviation; few of them tell it no better than
 * this. */
#define LEAST_SLIDE 0.0003

static double
slide_between (const WsLipFit *fit)
{
  const double mean = mean_slide (fit);
  double squares = 0;
  guint n = 0;
  for (guint from = 0, to = 0; from < fit->points->len; from = to)
  {
    const guint frame = g_array_index (fit->points, WsLipSample, from).frame;
    double sum = 0, weights = 1e-12;
    for (to = from; to < fit->points->len; to++)
    {
      const WsLipSample *s = &g_array_index (fit->points, WsLipSample, to);
      if (s->frame != frame)
        break;
      sum += s->weight * (s->at.y - wsi_lip_seen_height (fit, fit->x, s) - mean);
      weights += s->weight;
    }
    squares += sum * sum / (weights * weights);
    n++;
  }
  return hypot (LEAST_SLIDE, sqrt (squares / MAX (n - 1.0, 1)));
}

/* Leaves each frame out in turn (Efron & Stein, Ann. Stat. 9, 1981). */
static gboolean
jackknife (WsLipFit *fit, WsRollLips *lips)
{
  const guint n = fit->seen->len;
  double squares[WS_ROLL_N_VALUES] = { 0 }, kept[WS_LIP_N_UNKNOWNS], lean = 0;
  memcpy (kept, fit->x, sizeof kept);
  for (guint i = 0; i < n; i++)
  {
    double v[WS_ROLL_N_VALUES];
    fit->left_out = (gint)i;
    memcpy (fit->x, kept, sizeof kept);
    if (!wsi_lip_fit_run (fit, 5))
      return FALSE;
    values_of (fit, mean_slide (fit), v);
    for (guint k = 0; k < WS_ROLL_N_VALUES; k++)
      squares[k] += (v[k] - lips->value[k]) * (v[k] - lips->value[k]);
    lean += (fit->x[WS_LIP_LEAN] - kept[WS_LIP_LEAN]) * (fit->x[WS_LIP_LEAN] - kept[WS_LIP_LEAN]);
  }
  for (guint k = 0; k < WS_ROLL_N_VALUES; k++)
    lips->u[k] = sqrt (squares[k] * (n - 1) / n);
  lips->u_lean = sqrt (lean * (n - 1) / n);
  fit->left_out = -1;
  memcpy (fit->x, kept, sizeof kept);
  return TRUE;
}

/* Lip a is the left one in the picture in which the lips lie across best. */
static void
name_lips (WsLipFit *fit, WsRollLips *lips)
{
  double least = HUGE_VAL, b_right = 1;
  for (guint i = 0; i < fit->seen->len; i++)
  {
    const WsLipSeen *seen = &g_array_index (fit->seen, WsLipSeen, i);
    if (fabs (seen->turn) >= least)
      continue;
    least = fabs (seen->turn);
    lips->shown = seen->frame->picture;
    b_right = seen->right;
  }
  if (b_right > 0.5)
    return;
  double swapped[WS_LIP_N];
  memcpy (swapped, fit->x, sizeof swapped);
  memcpy (fit->x, &fit->x[WS_LIP_N], sizeof swapped);
  memcpy (&fit->x[WS_LIP_N], swapped, sizeof swapped);
  fit->x[WS_LIP_HEIGHT] = -fit->x[WS_LIP_HEIGHT];
  fit->across += G_PI;
  for (guint i = 0; i < fit->seen->len; i++)
  {
    WsLipSeen *seen = &g_array_index (fit->seen, WsLipSeen, i);
    const gboolean a = seen->shows[0];
    seen->right = 1 - seen->right;
    seen->shows[0] = seen->shows[1];
    seen->shows[1] = a;
  }
}

/* Of a lip's points in the pictures in which it lies nearly across: chips, dirt. */
#define NEARLY_DEG 35.0

static double
share_left_out (const WsLipFit *fit, guint k)
{
  double n = 0, out = 0;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsLipSample *s = &g_array_index (fit->points, WsLipSample, i);
    const WsLipSeen *seen = &g_array_index (fit->seen, WsLipSeen, s->frame);
    if (s->lip != k || fabs (wsi_degrees (seen->turn)) > NEARLY_DEG)
      continue;
    n++;
    out += s->weight > 0 ? 0 : 1;
  }
  return n > 0 ? out / n : 1;
}

static gboolean
fill (WsLipFit *fit, WsRollLips *lips)
{
  name_lips (fit, lips);
  if (!wsi_lip_fit_run (fit, ROUNDS))
    return FALSE;
  lips->n_frames = fit->seen->len;
  lips->n_forth = lips->n_back = 0;
  for (guint i = 0; i < fit->seen->len; i++)
    *(g_array_index (fit->seen, WsLipSeen, i).right > 0.5 ? &lips->n_forth : &lips->n_back) += 1;
  values_of (fit, mean_slide (fit), lips->value);
  lips->lip_turn = fit->across - mean_direction (fit);
  lips->sigma = fit->sigma * fit->roll->radius;
  for (guint k = 0; k < 2; k++)
    lips->left_out[k] = share_left_out (fit, k);
  lips->lean = fit->x[WS_LIP_LEAN];
  lips->across = fit->across;
  lips->slide = slide_between (fit);
  memcpy (lips->curve, fit->x, sizeof lips->curve);
  lips->curve[WS_LIP_COMMON] += mean_slide (fit);
  return jackknife (fit, lips);
}

gboolean
wsi_roll_find_lips (const WsRoll *roll, WsRollLips *lips, WsRefusal *refusal)
{
  g_autoptr (GArray) seen = g_array_new (FALSE, FALSE, sizeof (WsLipSeen));
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (WsLipSample));
  WsLipFit fit = { .roll = roll, .seen = seen, .points = points, .left_out = -1 };
  *lips = (WsRollLips){ .n_frames = 0 };
  if (!seek (&fit) || !settle (&fit))
    return wsi_refusal_set (refusal, WS_RETAKE_LIPS_TURNED,
                            "too few pictures show the lips near the picture's plane");
  if (!fill (&fit, lips))
    return wsi_refusal_set (refusal, WS_RETAKE_LIPS_TURNED,
                            "the lips hang on a single picture: take more near their plane");
  return TRUE;
}
