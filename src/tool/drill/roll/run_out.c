#include "tool/drill/roll/run_out.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "maths/robust.h"
#include "maths/stats.h"
#include "tool/drill/roll/phase.h"

#define ROUNDS 4

double
wsi_roll_frame_lean (const WsRoll *roll, const WsRollFrame *frame)
{
  /* What goes away from the camera toward the point leans its point down. */
  return roll->lean - roll->slope_x * sin (frame->turn) - roll->slope_y * cos (frame->turn);
}

/* ---- One frame's axis ----------------------------------------------------------------- */

/* By how much a lean of 1 shifts the body's middle at a height: lead / 2 pi x (slope of half the
 * width)^2, as the right and the left outline lie that far behind and before the axis. */
static double
shift_of (const WsRoll *roll, const WsRollFrame *frame, double z)
{
  double slope;
  const double half = wsi_roll_profile_at (roll, frame, z, &slope);
  return isnan (half) || isnan (slope) ? (double)NAN : roll->lead / (2 * G_PI) * slope * slope;
}

/* A sample's middle, freed of the lean; FALSE where the width shows something else than the body.
 */
static gboolean
middle_at (const WsRoll *roll, const WsRollFrame *frame, guint k, double *shift, double *middle)
{
  const double z = wsi_roll_height (roll, k);
  const double half = wsi_roll_profile_at (roll, frame, z, NULL);
  *shift = shift_of (roll, frame, z);
  *middle = frame->middle[k];
  return fabs (frame->half[k] - half) < 4 * roll->sigma && isfinite (*shift) && isfinite (*middle);
}

typedef struct
{
  double at, slope; /* at the height 0 */
  double rms;
} Line;

/* Robust line through the middles less the lean's shift. */
static gboolean
fit_line (const WsRoll *roll, const WsRollFrame *frame, double lean, Line *line)
{
  double sigma = HUGE_VAL, off[WS_ROLL_HEIGHTS], x[2] = { 0 };
  for (guint round = 0; round < 6; round++)
  {
    WsLeastSquares sums;
    wsi_least_squares_init (&sums, 2);
    guint n = 0;
    double squares = 0, weights = 0;
    for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
    {
      double shift, middle;
      if (!middle_at (roll, frame, k, &shift, &middle))
        continue;
      const double row[2] = { 1, wsi_roll_height (roll, k) };
      const double value = middle - lean * shift, rest = value - x[0] - x[1] * row[1];
      const double w =
        isfinite (sigma) ? wsi_tukey_weight (rest / (WS_TUKEY_REACH * MAX (sigma, 0.01))) : 1;
      off[n++] = fabs (rest);
      squares += w * rest * rest;
      weights += w;
      wsi_least_squares_add (&sums, row, value, w);
    }
    if (n < 20 || !wsi_least_squares_solve (&sums, x, NULL))
      return FALSE;
    if (round > 0)
      sigma = wsi_absolute_sigma (off, n);
    line->rms = weights > 0 ? sqrt (squares / weights) : HUGE_VAL;
  }
  line->at = x[0];
  line->slope = x[1];
  return TRUE;
}

/* Turns a frame's axis by `slope` and moves it by `at`, and all that stands in its frame. */
static void
move_axis (WsRollFrame *frame, double at, double slope)
{
  const double c = cos (slope), s = sin (slope);
  const WsPoint d = frame->axis.direction, across = wsi_point (-d.y, d.x);
  frame->axis.origin = wsi_point_along (frame->axis.origin, at, across);
  frame->axis.direction = wsi_point (c * d.x + s * across.x, c * d.y + s * across.y);
  for (guint i = 0; i < frame->uz->len; i++)
  {
    WsPoint *p = &g_array_index (frame->uz, WsPoint, i);
    const double u = p->x - at, z = p->y;
    p->x = c * u - s * z;
    p->y = s * u + c * z;
  }
}

/* ---- All frames ------------------------------------------------------------------------ */

/* What all frames' middles tell of the lean, each by its precision. */
typedef struct
{
  double lean[2], near[2]; /* sums of weights, and of weighted values */
} Told;

/* What of the shifts is no line, against what of the middles is none; a near camera's lean grows
 * along the axis. */
static void
add_told (const WsRoll *roll, const WsRollFrame *frame, Told *told)
{
  const double own = wsi_roll_frame_lean (roll, frame) - roll->lean;
  const double mid = 0.5 * (roll->low + roll->high);
  WsLeastSquares sums;
  double x[4], inverse[16];
  Line line;
  if (!fit_line (roll, frame, roll->lean + own, &line))
    return;
  wsi_least_squares_init (&sums, 4);
  for (guint k = 0; k < WS_ROLL_HEIGHTS; k++)
  {
    double shift, middle;
    if (!middle_at (roll, frame, k, &shift, &middle))
      continue;
    const double z = wsi_roll_height (roll, k);
    const double row[4] = { 1, z, shift, shift * (z - mid) / roll->radius };
    const double rest = middle - (roll->lean + own) * shift - line.at - line.slope * z;
    const double w = wsi_tukey_weight (rest / (WS_TUKEY_REACH * MAX (line.rms, 0.01)));
    wsi_least_squares_add (&sums, row, middle - own * shift, w);
  }
  if (!wsi_least_squares_solve (&sums, x, inverse) || !(inverse[10] > 0) || !(inverse[15] > 0))
    return;
  told->lean[0] += 1 / inverse[10];
  told->lean[1] += x[2] / inverse[10];
  told->near[0] += 1 / inverse[15];
  told->near[1] += x[3] / inverse[15];
}

static void
find_lean (WsRoll *roll)
{
  Told told = { .lean = { 0, 0 } };
  for (guint i = 0; i < roll->frames->len; i++)
    add_told (roll, wsi_roll_frame (roll, i), &told);
  if (!(told.lean[0] > 0))
    return;
  roll->lean = told.lean[1] / told.lean[0];
  roll->u_lean = MAX (roll->sigma, 0.02) / sqrt (told.lean[0]);
  roll->near = told.near[1] / told.near[0];
  roll->u_near = MAX (roll->sigma, 0.02) / sqrt (told.near[0]);
}

/* u = u0 + x cos(turn) - y sin(turn) over all frames. */
static gboolean
fit_circle (const WsRoll *roll, const double *values, double x[3], double inverse[9])
{
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, 3);
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const double turn = wsi_roll_frame (roll, i)->turn;
    const double row[3] = { 1, cos (turn), -sin (turn) };
    wsi_least_squares_add (&sums, row, values[i], 1);
  }
  return wsi_least_squares_solve (&sums, x, inverse);
}

static void
find_slope (WsRoll *roll)
{
  double x[3], inverse[9];
  g_autofree double *slopes = g_new (double, roll->frames->len);
  for (guint i = 0; i < roll->frames->len; i++)
    slopes[i] = wsi_roll_frame (roll, i)->slope;
  if (!fit_circle (roll, slopes, x, inverse))
    return;
  roll->slope_x = x[1];
  roll->slope_y = x[2];
}

void
wsi_roll_true_axes (WsRoll *roll)
{
  WsRefusal refusal = { 0 };
  for (guint round = 0; round < ROUNDS; round++)
  {
    find_slope (roll);
    find_lean (roll);
    for (guint i = 0; i < roll->frames->len; i++)
    {
      WsRollFrame *frame = wsi_roll_frame (roll, i);
      Line line;
      if (fit_line (roll, frame, wsi_roll_frame_lean (roll, frame), &line))
        move_axis (frame, line.at, line.slope);
    }
    wsi_roll_sample (roll, &refusal);
  }
  find_slope (roll);
}

/* ---- Stations ---------------------------------------------------------------------------- */

/* Harmonics 2 and 3 of what is left. */
static void
find_lobes (const WsRoll *roll, const double *left, WsRollStation *station)
{
  const guint n = roll->frames->len;
  for (guint h = 0; h < 2; h++)
  {
    WsLeastSquares sums;
    double x[2], inverse[4];
    wsi_least_squares_init (&sums, 2);
    for (guint i = 0; i < n; i++)
    {
      const double turn = (h + 2) * wsi_roll_frame (roll, i)->turn;
      const double row[2] = { cos (turn), sin (turn) };
      wsi_least_squares_add (&sums, row, left[i], 1);
    }
    station->lobes[h] = wsi_least_squares_solve (&sums, x, inverse) ? hypot (x[0], x[1]) : 0;
  }
  station->u_lobe = station->left * sqrt (2.0 / n);
}

gboolean
wsi_roll_station (const WsRoll *roll, double z, WsRollStation *station)
{
  const guint n = roll->frames->len;
  double x[3], inverse[9], squares = 0;
  g_autofree double *across = g_new (double, n);
  for (guint i = 0; i < n; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    across[i] = frame->offset + frame->slope * z;
  }
  if (n < 6 || !fit_circle (roll, across, x, inverse))
    return FALSE;
  for (guint i = 0; i < n; i++)
  {
    const double turn = wsi_roll_frame (roll, i)->turn;
    across[i] -= x[0] + x[1] * cos (turn) - x[2] * sin (turn);
    squares += across[i] * across[i];
  }
  *station = (WsRollStation){ .x = x[1], .y = x[2], .middle = x[0] };
  station->left = sqrt (squares / (n - 3));
  station->u = station->left * sqrt (0.5 * (inverse[4] + inverse[8]));
  const double square = x[1] * x[1] + x[2] * x[2] - 2 * station->u * station->u;
  station->radius = sqrt (MAX (square, 0));
  find_lobes (roll, across, station);
  return TRUE;
}

/* ---- Half turns ---------------------------------------------------------------------------- */

/* The body looks alike half a turn on.  So many directions are tried for the run-out, and so many
 * rounds. */
#define DIRECTIONS 12
#define SIGN_ROUNDS 6

/* What the other half turns must leave at most of what is left as they stand: by chance signs that
 * are free leave half of it, with few pictures less; and what is left must be more than px. */
#define MUCH_BETTER 0.3
#define MUCH_BETTER_OF_FEW 0.15
#define FEW 12
#define WORTH_PX 0.1

/* Fits c + sign (x cos - y sin) from a direction on, with the sign of each frame free; RMS of what
 * is left. */
static double
fit_with_signs (const WsRoll *roll, const double *across, double x[3])
{
  const guint n = roll->frames->len;
  double squares = HUGE_VAL;
  for (guint round = 0; round < SIGN_ROUNDS; round++)
  {
    WsLeastSquares sums;
    double inverse[9];
    wsi_least_squares_init (&sums, 3);
    squares = 0;
    for (guint i = 0; i < n; i++)
    {
      const double turn = wsi_roll_frame (roll, i)->turn;
      const double wave = x[1] * cos (turn) - x[2] * sin (turn), off = across[i] - x[0];
      const double sign = wave * off < 0 ? -1 : 1;
      const double row[3] = { 1, sign * cos (turn), -sign * sin (turn) };
      wsi_least_squares_add (&sums, row, across[i], 1);
      squares += (off - sign * wave) * (off - sign * wave);
    }
    if (!wsi_least_squares_solve (&sums, x, inverse))
      return HUGE_VAL;
  }
  return sqrt (squares / (n - 3));
}

gboolean
wsi_roll_half_turns_missed (const WsRoll *roll, double z)
{
  const guint n = roll->frames->len;
  WsRollStation station;
  double best = HUGE_VAL, low = HUGE_VAL, high = -HUGE_VAL;
  g_autofree double *across = g_new (double, n);
  if (!wsi_roll_station (roll, z, &station) || station.left < WORTH_PX)
    return FALSE;
  for (guint i = 0; i < n; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    across[i] = frame->offset + frame->slope * z;
    low = MIN (low, across[i]);
    high = MAX (high, across[i]);
  }
  for (guint k = 0; k < DIRECTIONS; k++)
  {
    const double angle = G_PI * k / DIRECTIONS, radius = 0.5 * (high - low);
    double x[3] = { 0.5 * (low + high), radius * cos (angle), radius * sin (angle) };
    best = MIN (best, fit_with_signs (roll, across, x));
  }
  return best < (n < FEW ? MUCH_BETTER_OF_FEW : MUCH_BETTER) * station.left;
}
