#include "tool/drill/relief/axis.h"

#include "base/geometry.h"

/* ---- Rows that come in from the frame ------------------------------------------------ */

/* Rows averaged above and below, px; every so many rows are looked at. */
#define ROWS 5
#define EVERY 2

/* The ground is read next to the frame; a departure must last.  px */
#define FRAME 2
#define GROUND 10
#define LASTING 5

/* Ground against body in lightness, and in deviations of the ground's noise. */
#define LEAST_STEP 0.7
#define LEAST_DEVIATIONS 4.0

/* Parts of what a px is off by which the ground's level and its slope go along with.  Slowly, so
 * that faint bodies are no ground; where that finds no side, fast enough for a second lamp's light
 * (its slope critically damped). */
typedef struct
{
  double level, slope;
} Following;

static const Following followings[] = { { 0.02, 0 }, { 0.1, 0.0025 } };

/* The frame shows ground as long as its lightness stays within this from row to row. */
#define SAME_GROUND 3.0

/* The body's side lies in this part of the picture's width, its top below this part of the height.
 */
#define WITHIN 0.5
#define BELOW 0.3

static void
mean_row (const WsReliefPlane *plane, guint y, double *row)
{
  for (guint x = 0; x < plane->width; x++)
  {
    double sum = 0;
    for (guint j = y - ROWS; j <= y + ROWS; j++)
      sum += (double)plane->light[(gsize)j * plane->width + x];
    row[x] = sum / (2 * ROWS + 1);
  }
}

/* Index along the row from the frame on that side. */
static double
in_row (const WsReliefPlane *plane, const double *row, gint side, guint i)
{
  return side > 0 ? row[i] : row[plane->width - 1 - i];
}

static double
ground_of (const WsReliefPlane *plane, const double *row, gint side, double *noise)
{
  double sum = 0, squares = 0;
  for (guint i = FRAME; i < FRAME + GROUND; i++)
  {
    const double light = in_row (plane, row, side, i);
    sum += light;
    squares += light * light;
  }
  const double mean = sum / GROUND;
  *noise = sqrt (MAX (squares / GROUND - mean * mean, 0));
  return mean;
}

/* First lasting departure from the ground, px from the frame; NAN without. */
static double
departure (const WsReliefPlane *plane, const double *row, gint side, const Following *following)
{
  double noise, ground = ground_of (plane, row, side, &noise), slope = 0;
  const double least = MAX (LEAST_STEP, LEAST_DEVIATIONS * noise);
  for (guint i = FRAME + GROUND; i < WITHIN * plane->width; i++)
  {
    double off = 0;
    for (guint k = 0; k < LASTING; k++)
      off += (in_row (plane, row, side, i + k) - ground) / LASTING;
    if (fabs (off) > least)
      return i + 0.5 * LASTING;
    slope += following->slope * off;
    ground += slope + following->level * off;
  }
  return NAN;
}

/* Outline points from the top down, as long as the frame shows ground. */
static GArray *
outline_points (const WsReliefPlane *plane, gint side, const Following *following)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autofree double *row = g_new (double, plane->width);
  double ground = NAN, noise;
  for (guint y = plane->height / 20 + ROWS; y + ROWS < plane->height; y += EVERY)
  {
    mean_row (plane, y, row);
    const double level = ground_of (plane, row, side, &noise);
    ground = isnan (ground) ? level : ground;
    if (fabs (level - ground) > SAME_GROUND)
      continue;
    ground += 0.2 * (level - ground);
    const double at = departure (plane, row, side, following);
    const WsPoint p = { side > 0 ? at : plane->width - 1 - at, y };
    if (isfinite (at) && y > BELOW * plane->height)
      g_array_append_val (points, p);
  }
  return points;
}

/* ---- The lowest straight run ------------------------------------------------------------ */

#define UPRIGHT_TAN 0.364 /* 20 degrees */
#define STRAIGHT 1.5      /* px */
#define GAP 12            /* px without points that a run may bridge */

typedef struct
{
  double x, slope; /* x at y = 0, and by y */
  double top, bottom;
} Run;

/* The longest stretch of points along a line. */
static Run
run_along (const GArray *points, WsPoint p, double slope)
{
  const Run line = { p.x - slope * p.y, slope, 0, 0 };
  Run best = line, now = line;
  double last = -HUGE_VAL;
  for (guint i = 0; i < points->len; i++)
  {
    const WsPoint q = g_array_index (points, WsPoint, i);
    if (fabs (q.x - line.x - slope * q.y) > STRAIGHT)
      continue;
    if (q.y - last > GAP)
      now.top = q.y;
    last = now.bottom = q.y;
    if (now.bottom - now.top > best.bottom - best.top)
      best = now;
  }
  return best;
}

/* An outline that turns from one run into another does so between them, px more or less. */
#define MEET 40

static gboolean
turns_into (const Run *upper, const Run *lower)
{
  const double y = (upper->x - lower->x) / (lower->slope - upper->slope);
  return y > upper->bottom - MEET && y < lower->top + MEET;
}

/* A run that another one turns into downward is the flank's outline, the other one the body's; else
 * the longer one counts: the lower may be a streak where the body's rim has the ground's light. */
static gboolean
is_better (const Run *a, const Run *b, double least)
{
  if (a->bottom - a->top < least)
    return FALSE;
  if (b->bottom - b->top < least)
    return TRUE;
  if (a->top > b->bottom - GAP && turns_into (b, a))
    return TRUE;
  if (b->top > a->bottom - GAP && turns_into (a, b))
    return FALSE;
  return a->bottom - a->top > b->bottom - b->top;
}

/* Points this far apart make a line to try, in points. */
#define APART 30
#define TRY_EVERY 3

static Run
lowest_run (const GArray *points, double least)
{
  Run best = { 0, 0, 0, 0 };
  for (guint i = 0; i < points->len; i += TRY_EVERY)
    for (guint k = i + APART; k < points->len && k < i + 3 * APART; k += TRY_EVERY)
    {
      const WsPoint p = g_array_index (points, WsPoint, i);
      const WsPoint q = g_array_index (points, WsPoint, k);
      const double slope = (q.x - p.x) / (q.y - p.y);
      if (fabs (slope) > UPRIGHT_TAN)
        continue;
      const Run run = run_along (points, p, slope);
      if (is_better (&run, &best, least))
        best = run;
    }
  return best;
}

/* ---- Finely --------------------------------------------------------------------------------- */

/* Profile across the side, px to both sides; and the stretch that one profile is the mean of. */
#define REACH 6
#define N_ACROSS (2 * REACH + 1)
#define STRETCH 5

typedef struct
{
  double light[N_ACROSS];
} Profile;

static Profile
profile_at (const WsReliefPlane *plane, WsPoint foot, WsPoint down)
{
  Profile profile = { { 0 } };
  for (gint k = 0; k < N_ACROSS; k++)
    for (gint j = 0; j < STRETCH; j++)
    {
      const double t = j - 0.5 * (STRETCH - 1), across = k - REACH;
      profile.light[k] += wsi_relief_light (plane, foot.x + t * down.x - across * down.y,
                                            foot.y + t * down.y + across * down.x) /
                          STRETCH;
    }
  return profile;
}

/* How far `one` lies further across than `mean`: least squares of their difference on the mean's
 * slope and a constant. */
static double
shift_of (const Profile *one, const Profile *mean)
{
  double s = 0, ss = 0, r = 0, rs = 0;
  const gint n = N_ACROSS - 2;
  for (gint k = 1; k <= n; k++)
  {
    const double slope = 0.5 * (mean->light[k + 1] - mean->light[k - 1]);
    const double off = one->light[k] - mean->light[k];
    s += slope / n;
    r += off / n;
    ss += slope * slope;
    rs += off * slope;
  }
  const double varied = ss - n * s * s;
  return varied > 0 ? CLAMP (-(rs - n * r * s) / varied, -2.0, 2.0) : NAN;
}

/* Moves the line to where profiles agree with their mean. */
static gboolean
align (const WsReliefPlane *plane, const Run *run, WsLineFit *line)
{
  WsPoint down = line->direction;
  if (down.y < 0)
    down = wsi_point (-down.x, -down.y);
  const guint n = (guint)((run->bottom - run->top) / STRETCH);
  g_autofree Profile *profiles = g_new (Profile, n);
  g_autofree WsPoint *places = g_new (WsPoint, n);
  g_autofree guint8 *used = g_new0 (guint8, MAX (n, 1));
  Profile mean = { { 0 } };
  guint m = 0;
  for (guint i = 0; i < n; i++)
  {
    const double y = run->top + (i + 0.5) * STRETCH;
    places[m] = wsi_point_along (line->centre, (y - line->centre.y) / down.y, down);
    profiles[m] = profile_at (plane, places[m], down);
    if (isfinite (profiles[m].light[0]) && isfinite (profiles[m].light[N_ACROSS - 1]))
      m++;
  }
  for (guint i = 0; i < m; i++)
    for (guint k = 0; k < N_ACROSS; k++)
      mean.light[k] += profiles[i].light[k] / m;
  for (guint i = 0; i < m; i++)
  {
    const double by = shift_of (&profiles[i], &mean);
    places[i] = wsi_point (places[i].x - by * down.y, places[i].y + by * down.x);
  }
  return wsi_line_fit (places, m, used, line);
}

/* Light of a ground that falls off evenly departs somewhere, too, but is no steeper there than 3 px
 * to either side (so many times: sides of rendered drills 50 and more, blurred by 3 px 2.7; slopes
 * up to 1.8). */
#define MIDDLE 2
#define BESIDE 3
#define STEEPER 2.2

static gboolean
is_step (const WsReliefPlane *plane, const WsLineFit *line)
{
  Profile mean = { { 0 } };
  for (double t = line->t_low; t <= line->t_high; t += STRETCH)
  {
    const Profile one =
      profile_at (plane, wsi_point_along (line->centre, t, line->direction), line->direction);
    const gboolean inside = isfinite (one.light[0]) && isfinite (one.light[N_ACROSS - 1]);
    for (guint k = 0; k < N_ACROSS && inside; k++)
      mean.light[k] += one.light[k];
  }
  const double *light = mean.light + REACH;
  const double middle = fabs (light[MIDDLE] - light[-MIDDLE]) / (2.0 * MIDDLE);
  const double beside =
    MIN (fabs (light[REACH] - light[BESIDE]), fabs (light[-BESIDE] - light[-REACH])) /
    (REACH - BESIDE);
  return middle > STEEPER * beside;
}

/* The run's end at the heel is round. */
#define HEEL 8.0

/* Near the heel the outline is the heel's own helix as long as the land covers less than a quarter
 * turn: its top end bends inward, and is cut off by this part at a time until no more than so much
 * bow is left, px (own trials on rendered drills). */
#define CUT 0.08
#define MOST_BOW 0.1

/* A helix' bow falls with the square of its length, a heel's goes as the heel is cut off.  What of
 * it is left of a part this long is no heel's but made by light that changes along the side; so
 * much is borne with, px, and counts in u (own trials: 0.12 and 0.46 px of sides whose light was
 * the ground's here and there; helices keep 0.36 of theirs). */
#define STAYING_PART 0.6
#define STAYING_BOW 0.8
#define MOST_LIGHT_BOW 0.6

#define ALIGN_ROUNDS 4

/* A ground side scatters less, px (rendered drills 0.04 to 0.4, one as light as its ground 0.8;
 * light that falls off 1.6). */
#define MOST_SCATTER 1.2

static gboolean
align_fully (const WsReliefPlane *plane, const Run *run, WsLineFit *line)
{
  for (guint i = 0; i < ALIGN_ROUNDS; i++)
    if (!align (plane, run, line))
      return FALSE;
  return TRUE;
}

/* How far both ends of the fitted points stand inward of their middle, by their bow. */
static double
inward_bow (const WsLineFit *line, gint side)
{
  return -line->direction.y * side * line->bow;
}

/* FALSE where nothing straight is left. */
static gboolean
cut_heel (const WsReliefPlane *plane, gint side, double least, Run *run, WsLineFit *line)
{
  const WsLineFit whole = *line;
  const double bow = inward_bow (line, side), length = run->bottom - run->top;
  gboolean asked = bow > MOST_LIGHT_BOW;
  while (inward_bow (line, side) > MOST_BOW)
  {
    run->top += CUT * (run->bottom - run->top);
    if (run->bottom - run->top < least || !align_fully (plane, run, line))
      return FALSE;
    if (asked || run->bottom - run->top > STAYING_PART * length)
      continue;
    asked = TRUE;
    if (inward_bow (line, side) > STAYING_BOW * bow)
    {
      *line = whole;
      break;
    }
  }
  return TRUE;
}

static gboolean
find_following (const WsReliefPlane *plane, gint side, const Following *following,
                WsReliefAxis *axis)
{
  g_autoptr (GArray) points = outline_points (plane, side, following);
  const double least = WS_RELIEF_LEAST_SIDE * plane->height;
  Run run = lowest_run (points, least);
  if (run.bottom - run.top < least)
    return FALSE;
  run.top += HEEL;
  const double norm = hypot (1, run.slope);
  WsLineFit line = { .centre = { run.x + run.slope * run.top, run.top },
                     .direction = { run.slope / norm, 1 / norm } };
  if (!align_fully (plane, &run, &line))
    return FALSE;
  if (!cut_heel (plane, side, least, &run, &line))
    return FALSE;
  if (line.scatter > MOST_SCATTER || !is_step (plane, &line))
    return FALSE;
  const double sign = line.direction.y < 0 ? 1 : -1;
  axis->foot = line.centre;
  axis->up = wsi_point (sign * line.direction.x, sign * line.direction.y);
  axis->inward = wsi_point (-side * axis->up.y, side * axis->up.x);
  axis->length = line.t_high - line.t_low;
  /* What bow is left may lie at one end only. */
  axis->u = hypot (line.u_angle, 2 * line.bow / axis->length);
  axis->scatter = line.scatter;
  return TRUE;
}

gboolean
wsi_relief_axis_find (const WsReliefPlane *plane, gint side, WsReliefAxis *axis)
{
  for (guint i = 0; i < G_N_ELEMENTS (followings); i++)
    if (find_following (plane, side, &followings[i], axis))
      return TRUE;
  return FALSE;
}
