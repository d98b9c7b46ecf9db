#include "tool/form/deviation.h"

#include <string.h>

#include "base/geometry.h"
#include "base/number.h"
#include "edge/chain.h"
#include "result/build.h"
#include "tool/cautions.h"
#include "tool/form/fit.h"
#include "tool/form/lens.h"
#include "tool/form/runs.h"
#include "tool/form/segments.h"
#include "tool/silhouette.h"

/* How far a sound ground edge stands off its form where a profile tells it, px (as for segments).
 */
#define FORM_PX 0.25

/* Deviations are means over so much outline: noise falls, a defect this long still shows whole. */
#define WINDOW_PX 7.0
#define WINDOW_BLURS 3.0

/* Levels fitted from the same window as the edge's place cost this factor (edge/outline.h). */
#define LEVELS_TOO 1.28

/* What the place of an edge between pixels and a blur that is no Gaussian do, alike over a window,
 * px (own trials). */
#define PIXEL_PHASE_PX 0.010

/* How far the greatest of many noisy values lies beyond a typical one, as part of where theory has
 * it: neighbouring windows overlap (own trials). */
#define GREATEST_PART 0.6

/* Places of the worst deviations that the findings name. */
#define N_WORST 5

/* Of the greatest deviation: less beside it is not told as a finding. */
#define WORTH_SHARE 0.2

/* The plot's greatest swing, as part of the picture's shorter side. */
#define PLOT_SHARE 0.06

/* A plate square to the camera by eye leans less than this (assumed, no source). */
#define LEAN_DEG 0.5

/* The blur's shape is no exact Gaussian: of its rounding so much is left (assumed, no source). */
#define ROUNDING_LEFT 0.2

/* Sides of a dovetail run along the drawing's y within this, and are this long beside the whole
 * outline (own trials). */
#define SIDE_RAD 0.09
#define SIDE_SHARE 0.06

/* What scale errors do is told by a trial with this much, relative. */
#define SCALE_TRIAL 1e-3

typedef struct
{
  const WsImage *image;
  const WsOutline *outline;
  const WsToolCard *card;
  const WsOptics *optics;
  WsResult *result;
  WsFormTask task;
  const WsFormFit *fit;
  double *map;               /* smoothed deviation of every point, px; NAN at corners */
  guint *counts;             /* of points that each of its means stands on */
  const WsFormLensU *lens_u; /* of every point's deviation; NULL without a calibration */
} Work;

/* The same quantities from a fit: greatest, least, RMS, then each segment's. */
typedef struct
{
  double max, min, rms; /* px; NAN when there is nothing to tell */
  gint at_max, at_min;
  guint n;       /* of numbers */
  double *worst; /* by number, from 1; NAN where nothing was seen */
  gint *at;
} Summary;

static void
summary_clear (Summary *summary)
{
  g_free (summary->worst);
  g_free (summary->at);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Summary, summary_clear)

static const WsFormPoint *
point_of (const WsFormFit *fit, guint i)
{
  return &g_array_index (fit->points, WsFormPoint, i);
}

static double
window_px (const WsOutline *outline)
{
  return MAX (WINDOW_PX, WINDOW_BLURS * outline->blur_px);
}

/* Running means along the profile, within one segment and away from corners; `counts`: of how many
 * points each. */
static double *
smooth (const WsFormFit *fit, double window, guint *counts)
{
  const guint n = fit->points->len;
  double *map = g_new (double, n + 1);
  guint low = 0, high = 0, counted = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    map[i] = NAN;
    if (p->at_corner)
      continue;
    while (point_of (fit, low)->along < p->along - 0.5 * window)
      low++;
    double sum = 0;
    counted = 0;
    for (high = low; high < n && point_of (fit, high)->along <= p->along + 0.5 * window; high++)
    {
      const WsFormPoint *q = point_of (fit, high);
      if (q->at_corner || q->number != p->number)
        continue;
      sum += q->deviation;
      counted++;
    }
    map[i] = sum / counted;
    counts[i] = counted;
  }
  return map;
}

static void
summarise (const WsFormFit *fit, const double *map, guint n_numbers, Summary *summary)
{
  *summary = (Summary){ -HUGE_VAL, HUGE_VAL, NAN, -1, -1, n_numbers, NULL, NULL };
  summary->worst = g_new (double, n_numbers + 1);
  summary->at = g_new (gint, n_numbers + 1);
  for (guint k = 0; k <= n_numbers; k++)
  {
    summary->worst[k] = NAN;
    summary->at[k] = -1;
  }
  double squares = 0, length = 0;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = point_of (fit, i);
    if (!isfinite (map[i]))
      continue;
    squares += p->length * map[i] * map[i];
    length += p->length;
    if (map[i] > summary->max)
    {
      summary->max = map[i];
      summary->at_max = (gint)i;
    }
    if (map[i] < summary->min)
    {
      summary->min = map[i];
      summary->at_min = (gint)i;
    }
    double *worst = &summary->worst[p->number];
    if (isfinite (*worst) && fabs (map[i]) <= fabs (*worst))
      continue;
    *worst = map[i];
    summary->at[p->number] = (gint)i;
  }
  if (length > 0)
    summary->rms = sqrt (squares / length);
}

/* ---- Budgets ---------------------------------------------------------------------- */

/* Windows that fit into the map beside each other. */
static double
n_windows (const Work *work)
{
  double length = 0;
  for (guint i = 0; i < work->fit->points->len; i++)
    length += point_of (work->fit, i)->length;
  return MAX (length / window_px (work->outline), 2);
}

static void
add_place_lines (const Work *work, WsQuantity *quantity, guint at)
{
  const WsFormPoint *place = point_of (work->fit, at);
  const double u_edge = work->task.noise / sqrt (MAX (work->counts[at], 1));
  /* The greatest of m normal values lies about sqrt (2 ln m) deviations out. */
  const double u_most = GREATEST_PART * u_edge * sqrt (2 * log (n_windows (work)));
  const WsOptics *optics = work->optics;
  const double lean = ws_radians (LEAN_DEG);
  const double arm = ws_point_distance (place->foot, work->fit->pivot);
  ws_quantity_add_seen_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL, u_edge, optics);
  ws_quantity_add_seen_line (quantity, "edge between pixels", WS_DISTRIBUTION_NORMAL,
                             PIXEL_PHASE_PX, optics);
  ws_quantity_add_seen_line (quantity, "greatest of many", WS_DISTRIBUTION_ONE_SIDED, u_most,
                             optics);
  ws_quantity_add_seen_line (quantity, "best fit", WS_DISTRIBUTION_NORMAL,
                             ws_form_fit_u (work->fit, place), optics);
  ws_quantity_add_seen_line (quantity, "tonal encoding and threshold", WS_DISTRIBUTION_NORMAL,
                             ws_silhouette_level_u (work->image, work->outline), optics);
  const double rounding = fabs (place->curvature) > 0
                            ? ws_silhouette_rounding (work->outline, 1 / fabs (place->curvature))
                            : 0;
  ws_quantity_add_seen_line (quantity, "rounding by blur", WS_DISTRIBUTION_NORMAL,
                             ROUNDING_LEFT * rounding, optics);
  ws_quantity_add_seen_line (quantity, "alignment: plate leaning", WS_DISTRIBUTION_ONE_SIDED,
                             0.25 * lean * lean * arm, optics);
  if (work->lens_u != NULL)
    ws_form_lens_add (quantity, work->lens_u[at], optics);
}

/* `trial_px`: what the quantity becomes when the scale is off by SCALE_TRIAL. */
static void
finish_length (const Work *work, WsQuantity *quantity, double px, double trial_px)
{
  const double u_relative = work->optics->u_mm_per_px / work->optics->mm_per_px;
  const double slope = isfinite (trial_px) ? (trial_px - px) / SCALE_TRIAL : 0;
  ws_quantity_set_seen (quantity, px, work->optics);
  /* A calibration's scale is in its own line. */
  if (work->lens_u == NULL)
    ws_quantity_add_line (quantity, "scale", WS_DISTRIBUTION_NORMAL, u_relative,
                          slope * work->optics->mm_per_px);
  ws_quantity_combine (quantity);
}

static void
add_overall (Work *work, const Summary *here, const Summary *trial)
{
  const struct
  {
    guint quantity;
    double px, trial;
    gint at;
  } overall[] = {
    { WS_FORM_DEVIATION_MAX, here->max, trial->max, here->at_max },
    { WS_FORM_DEVIATION_MIN, here->min, trial->min, here->at_min },
    { WS_FORM_DEVIATION_RMS, here->rms, trial->rms, here->at_max },
  };
  for (guint k = 0; k < G_N_ELEMENTS (overall); k++)
  {
    WsQuantity *quantity = ws_result_add_quantity (
      work->result, &ws_form_quantities[overall[k].quantity], work->optics->has_scale);
    if (overall[k].at < 0 || !isfinite (overall[k].px))
      continue;
    add_place_lines (work, quantity, (guint)overall[k].at);
    finish_length (work, quantity, overall[k].px, overall[k].trial);
  }
}

static void
add_segments (Work *work, const Summary *here, const Summary *trial)
{
  for (guint number = 1; number <= here->n; number++)
  {
    WsQuantity *quantity =
      ws_result_add_numbered (work->result, &ws_form_quantities[WS_FORM_SEGMENT_DEVIATION], number,
                              work->optics->has_scale);
    if (here->at[number] < 0)
      continue;
    add_place_lines (work, quantity, (guint)here->at[number]);
    finish_length (work, quantity, here->worst[number], trial->worst[number]);
  }
}

/* The same map with a profile that is a little larger; NULL quantities where that fails. */
static void
summarise_trial (const Work *work, guint n_numbers, Summary *trial)
{
  WsFormTask task = work->task;
  task.px_per_mm *= 1 + SCALE_TRIAL;
  g_autoptr (WsFormFit) fit = ws_form_refit (&task, work->fit);
  if (fit == NULL)
  {
    const GArray none = { NULL, 0 };
    const WsFormFit empty = { .points = (GArray *)&none };
    summarise (&empty, NULL, n_numbers, trial);
    return;
  }
  g_autofree guint *counts = g_new0 (guint, fit->points->len + 1);
  g_autofree double *map = smooth (fit, window_px (work->outline), counts);
  summarise (fit, map, n_numbers, trial);
}

/* ---- The profile's own lines and arcs ----------------------------------------------- */

static gboolean
is_drawn_as_arc (const WsToolCard *card, guint number)
{
  const WsContour *drawn = card->form.part != NULL ? card->form.part : card->form.nominal;
  for (guint i = 0; i < drawn->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (drawn->segments, WsContourSegment, i);
    if (s->number == number)
      return fabs (s->sweep) > 0;
  }
  return FALSE;
}

/* Points of the outline by the profile, the way the outline runs, in one array; a piece for each
 * drawn segment. */
static void
add_own_forms (Work *work)
{
  const WsFormFit *fit = work->fit;
  const guint n = fit->points->len;
  g_autofree WsPoint *points = g_new (WsPoint, n + 1);
  g_autoptr (GArray) pieces = g_array_new (FALSE, TRUE, sizeof (WsChainPiece));
  g_autoptr (GArray) numbers = g_array_new (FALSE, TRUE, sizeof (guint));
  for (guint i = 0; i < n; i++)
    points[i] = point_of (fit, fit->forward ? i : n - 1 - i)->at;
  for (guint i = 0, j; i < n; i = j)
  {
    const WsFormPoint *first = point_of (fit, fit->forward ? i : n - 1 - i);
    guint from = n, to = 0;
    for (j = i; j < n; j++)
    {
      const WsFormPoint *p = point_of (fit, fit->forward ? j : n - 1 - j);
      if (p->number != first->number)
        break;
      if (p->at_corner)
        continue;
      from = MIN (from, j);
      to = j + 1;
    }
    WsChainPiece piece = { .kind = is_drawn_as_arc (work->card, first->number) ? WS_CHAIN_ARC
                                                                               : WS_CHAIN_LINE };
    if (to <= from || !ws_chain_fit (points, from, to, &piece))
      continue;
    g_array_append_val (pieces, piece);
    g_array_append_val (numbers, first->number);
  }
  WsFormAdding adding = { work->image,
                          work->outline,
                          work->optics,
                          work->result,
                          fit->angle,
                          sqrt (MAX (fit->covariance[8], 0)),
                          "to the profile's x axis",
                          0 };
  ws_form_pieces_add (&adding, points, pieces, (const guint *)(void *)numbers->data);
}

/* ---- Findings and marks ------------------------------------------------------------- */

static char *
mm_words (double mm, double U)
{
  return ws_number_format (mm, MIN (ws_number_places (U), 4));
}

/* Place on the drawing. */
static WsPoint
drawing_place (const WsFormFit *fit, WsPoint at)
{
  const WsPoint d = ws_point_sub (at, fit->origin);
  const double c = cos (fit->angle), s = sin (fit->angle);
  /* Picture y is down; the drawing's x axis runs along (cos, -sin). */
  return ws_point ((c * d.x - s * d.y) / fit->scale, -(s * d.x + c * d.y) / fit->scale);
}

static void
add_worst_finding (Work *work, const Summary *here, guint number)
{
  const WsFormPoint *p = point_of (work->fit, (guint)here->at[number]);
  g_autofree char *stem = g_strdup_printf ("segment_%u_deviation", number);
  const WsQuantity *quantity = ws_result_quantity (work->result, stem);
  if (quantity == NULL)
    return;
  const WsPoint on = drawing_place (work->fit, p->foot);
  g_autofree char *off = mm_words (quantity->value, quantity->U);
  g_autofree char *u = mm_words (quantity->U, quantity->U);
  g_autofree char *x = ws_number_format (on.x, 3), *y = ws_number_format (on.y, 3);
  ws_result_add_finding (
    work->result, "deviation",
    g_strdup_printf ("Segment %u deviates most at x %s, y %s mm of the profile: %s mm (± %s), %s.",
                     number, x, y, off, u,
                     quantity->value > 0 ? "too much metal" : "metal missing"),
    &p->at);
  ws_result_add_mark (work->result, WS_MARK_WORST, stem, &p->at, 1);
}

/* Beyond its U, and no mere neighbour of a much greater one, whose end blur draws along. */
static gboolean
is_worth_telling (const Work *work, const Summary *here, guint number)
{
  g_autofree char *stem = g_strdup_printf ("segment_%u_deviation", number);
  const WsQuantity *quantity = ws_result_quantity (work->result, stem);
  const double most = MAX (here->max, -here->min);
  return quantity != NULL && fabs (quantity->value) > quantity->U &&
         fabs (here->worst[number]) > WORTH_SHARE * most;
}

/* The worst places first. */
static void
add_worst_findings (Work *work, const Summary *here)
{
  g_autofree gboolean *told = g_new0 (gboolean, here->n + 1);
  guint n_told = 0;
  for (; n_told < N_WORST; n_told++)
  {
    guint worst = 0;
    for (guint number = 1; number <= here->n; number++)
      if (!told[number] && is_worth_telling (work, here, number) &&
          (worst == 0 || fabs (here->worst[number]) > fabs (here->worst[worst])))
        worst = number;
    if (worst == 0)
      break;
    told[worst] = TRUE;
    add_worst_finding (work, here, worst);
  }
  if (n_told == 0)
    ws_result_add_finding (work->result, "as-drawn",
                           g_strdup ("No segment deviates from the profile by more than the "
                                     "uncertainty."),
                           NULL);
}

/* Names segments that say nothing, so that nobody takes them for good. */
static void
tell_unseen (Work *work, const Summary *here)
{
  g_autoptr (GString) unseen = g_string_new (NULL);
  for (guint number = 1; number <= here->n; number++)
    if (here->at[number] < 0)
      g_string_append_printf (unseen, "%s%u", unseen->len > 0 ? ", " : "", number);
  if (unseen->len > 0)
    ws_result_add_finding (work->result, "not-compared",
                           g_strdup_printf ("Not compared, since too short beside their corners or "
                                            "not in the picture: segments %s.",
                                            unseen->str),
                           NULL);
}

/* More than this would blow up the outline's noise into a fault's looks. */
#define MOST_MAGNIFIED 200.0

/* The largest of 1, 2, 5 times a power of ten that isn't beyond `x`, at least 1. */
static double
round_factor (double x)
{
  if (!(x > 1))
    return 1;
  const double power = pow (10, floor (log10 (x))), leading = x / power;
  return power * (leading >= 5 ? 5 : leading >= 2 ? 2 : 1);
}

static void
mark_stretch (Work *work, guint from, guint to, double factor, gboolean is_first)
{
  g_autofree WsPoint *foot = g_new (WsPoint, to - from), *swung = g_new (WsPoint, to - from);
  for (guint i = from; i < to; i++)
  {
    const WsFormPoint *p = point_of (work->fit, i);
    foot[i - from] = p->foot;
    swung[i - from] = ws_point_along (p->foot, factor * work->map[i], p->normal);
  }
  g_autofree char *label = is_first ? g_strdup_printf ("deviation x %g", factor) : NULL;
  ws_result_add_mark (work->result, WS_MARK_NOMINAL, NULL, foot, to - from);
  ws_result_add_mark (work->result, WS_MARK_DEVIATION, label, swung, to - from);
}

/* Profile and magnified deviation, each segment apart. */
static void
mark_plot (Work *work, const Summary *here)
{
  const double swing = PLOT_SHARE * MIN (work->image->width, work->image->height);
  const double most = MAX (MAX (here->max, -here->min), 1e-3);
  const double factor = round_factor (MIN (swing / most, MOST_MAGNIFIED));
  gboolean is_first = TRUE;
  for (guint i = 0, j; i < work->fit->points->len; i = j)
  {
    j = i + 1;
    if (!isfinite (work->map[i]))
      continue;
    while (j < work->fit->points->len && isfinite (work->map[j]) &&
           point_of (work->fit, j)->number == point_of (work->fit, i)->number)
      j++;
    if (j - i < 3)
      continue;
    mark_stretch (work, i, j, factor, is_first);
    is_first = FALSE;
  }
}

/* ---- The profile's direction by the tool's sides ------------------------------------ */

typedef struct
{
  double heading, u, length; /* of a long line, rad, undirected */
  WsPoint middle;
} Side;

/* Undirected angle between a and b, -pi/2 .. pi/2. */
static double
between (double a, double b)
{
  return remainder (a - b, G_PI);
}

static double
outline_size (const WsOutline *outline)
{
  double x0 = HUGE_VAL, x1 = -HUGE_VAL, y0 = HUGE_VAL, y1 = -HUGE_VAL;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    x0 = MIN (x0, p->x);
    x1 = MAX (x1, p->x);
    y0 = MIN (y0, p->y);
    y1 = MAX (y1, p->y);
  }
  return hypot (x1 - x0, y1 - y0);
}

/* Of a side's direction, with what the calibration makes of it. */
static double
side_u (const Work *work, const WsChainPiece *piece)
{
  const WsLens *lens = work->optics->lens;
  if (lens == NULL)
    return piece->line.u_angle;
  const WsPoint ends[2] = { piece->start, piece->end };
  const WsFormLensU u = ws_form_lens_direction (lens, ends);
  return hypot (piece->line.u_angle, hypot (u.calibration, u.left_over));
}

/* Long lines along the profile's y that are no part of the profile. */
static GArray *
find_sides (const Work *work)
{
  const WsChainRules rules = { work->task.scatter, 4, 1.5, (guint)ceil (work->task.guard) };
  const double y_axis = work->fit->angle + G_PI / 2, size = outline_size (work->outline);
  GArray *sides = g_array_new (FALSE, FALSE, sizeof (Side));
  g_autoptr (GPtrArray) runs = ws_form_runs (work->outline);
  for (guint i = 0; i < runs->len; i++)
  {
    const WsFormRun *run = g_ptr_array_index (runs, i);
    g_autoptr (GArray) pieces = ws_chain_split (run->points, run->n, &rules);
    for (guint k = 0; k < pieces->len; k++)
    {
      const WsChainPiece *piece = &g_array_index (pieces, WsChainPiece, k);
      const WsPoint d = piece->line.direction;
      const Side side = { atan2 (-d.y, d.x), side_u (work, piece),
                          ws_point_distance (piece->start, piece->end), piece->line.centre };
      if (piece->kind != WS_CHAIN_LINE || fabs (between (side.heading, y_axis)) > SIDE_RAD ||
          side.length < SIDE_SHARE * size)
        continue;
      gboolean is_profile = FALSE;
      for (guint j = 0; j < work->fit->points->len && !is_profile; j++)
        is_profile = ws_point_distance (point_of (work->fit, j)->at, side.middle) < 3;
      if (!is_profile)
        g_array_append_val (sides, side);
    }
  }
  return sides;
}

static int
longer_first (gconstpointer a, gconstpointer b)
{
  const double p = ((const Side *)a)->length, q = ((const Side *)b)->length;
  return p > q ? -1 : p < q;
}

/* Direction of the drawing's x axis by the two longest sides' middle line; FALSE without two. */
static gboolean
direction_by_sides (const Work *work, double *angle, double *u)
{
  g_autoptr (GArray) sides = find_sides (work);
  g_array_sort (sides, longer_first);
  if (sides->len < 2)
    return FALSE;
  const double y_axis = work->fit->angle + G_PI / 2;
  double off = 0, squares = 0;
  for (guint i = 0; i < 2; i++)
  {
    const Side *side = &g_array_index (sides, Side, i);
    off += 0.5 * between (side->heading, y_axis);
    squares += 0.25 * side->u * side->u;
  }
  *angle = work->fit->angle + off;
  *u = sqrt (squares);
  return TRUE;
}

/* Adds profile_turn, and returns the fit that the sides' direction holds; NULL when there are no
 * sides to hold by. */
static WsFormFit *
fit_by_sides (Work *work)
{
  double angle, u;
  if (!direction_by_sides (work, &angle, &u))
    return NULL;
  WsQuantity *turn = ws_result_add_quantity (
    work->result, &ws_form_quantities[WS_FORM_PROFILE_TURN], work->optics->has_scale);
  ws_quantity_set_seen (turn, remainder (work->fit->angle - angle, 2 * G_PI), work->optics);
  ws_quantity_add_seen_line (turn, "sides, direction", WS_DISTRIBUTION_NORMAL, u, work->optics);
  ws_quantity_add_seen_line (turn, "best fit", WS_DISTRIBUTION_NORMAL,
                             sqrt (MAX (work->fit->covariance[8], 0)), work->optics);
  ws_quantity_finish (turn, work->optics);
  work->task.held_angle = angle;
  return ws_form_fit (&work->task);
}

/* ---- The whole ---------------------------------------------------------------------- */

static void
fill (Work *work)
{
  g_auto (Summary) here = { 0 }, trial = { 0 };
  const guint n_numbers = work->task.nominal->n_numbers;
  g_autofree guint *counts = g_new0 (guint, work->fit->points->len + 1);
  g_autofree double *map = smooth (work->fit, window_px (work->outline), counts);
  const WsLens *lens = work->optics->lens;
  g_autofree WsFormLensU *lens_u = lens != NULL ? ws_form_lens_deviations (lens, work->fit) : NULL;
  work->map = map;
  work->counts = counts;
  work->lens_u = lens_u;
  summarise (work->fit, map, n_numbers, &here);
  summarise_trial (work, n_numbers, &trial);
  add_overall (work, &here, &trial);
  add_segments (work, &here, &trial);
  add_worst_findings (work, &here);
  tell_unseen (work, &here);
  mark_plot (work, &here);
  add_own_forms (work);
}

/* An outline that is this far off by half of its length is looked at turned over, too; and is then
 * taken for mirrored when that comes so much nearer. */
#define DOUBTFUL_PX 1.5
#define MIRRORED_RATIO 0.4

/* Whether the profile fits (better) turned over: a mirrored picture, or a tool of the other hand.
 */
static gboolean
fits_mirrored (const Work *work, const WsFormFit *direct)
{
  WsContour over = *work->task.nominal;
  over.segments = g_array_copy (work->task.nominal->segments);
  ws_contour_mirror (&over);
  WsFormTask task = work->task;
  task.nominal = &over;
  g_autoptr (WsFormFit) fit = ws_form_fit (&task);
  g_array_unref (over.segments);
  return fit != NULL && (direct == NULL || fit->scatter < MIRRORED_RATIO * direct->scatter);
}

/* FALSE when the outline doesn't show the profile; the result then is a retake. */
static gboolean
check_match (const Work *work, const WsFormFit *fit)
{
  if (fit != NULL && fit->scatter < DOUBTFUL_PX)
    return TRUE;
  if (fits_mirrored (work, fit))
    ws_result_retake (work->result, WS_RETAKE_WRONG_VIEW,
                      "the outline fits the card's profile only as its mirror image; if the "
                      "drawing shows it from the other side, say profile_mirrored = true");
  else if (fit == NULL)
    ws_result_retake (work->result, WS_RETAKE_WRONG_VIEW,
                      "the outline doesn't show the card's profile at this scale");
  return work->result->reason == WS_RETAKE_NONE;
}

void
ws_form_deviation_add (const WsImage *image, const WsOutline *outline, const WsToolCard *card,
                       const WsOptics *optics, WsResult *result)
{
  Work work = { .image = image, .outline = outline, .card = card, .optics = optics };
  work.result = result;
  work.task = (WsFormTask){ card->form.nominal,
                            outline,
                            1 / optics->mm_per_px,
                            ws_form_guard (outline),
                            hypot (ws_silhouette_point_u (outline), FORM_PX),
                            LEVELS_TOO * ws_silhouette_point_u (outline),
                            NAN };
  g_autoptr (WsFormFit) fit = ws_form_fit (&work.task);
  if (!check_match (&work, fit))
    return;
  work.fit = fit;
  g_autoptr (WsFormFit) held = card->form.by_dovetail ? fit_by_sides (&work) : NULL;
  if (card->form.by_dovetail && held == NULL)
  {
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW,
                      "the card takes the profile's direction from the tool's sides, and two "
                      "straight sides don't show");
    return;
  }
  if (held != NULL)
    work.fit = held;
  fill (&work);
}

/* ---- Advice ------------------------------------------------------------------------- */

static gboolean
is_segment_deviation (const WsQuantity *quantity)
{
  return g_str_has_prefix (quantity->info->stem, "segment_") &&
         g_str_has_suffix (quantity->info->stem, "_deviation");
}

/* "segment_3_deviation" */
static guint
segment_number (const WsQuantity *quantity)
{
  return (guint)g_ascii_strtoull (quantity->info->stem + strlen ("segment_"), NULL, 10);
}

static char *
segment_advice (const WsQuantity *quantity)
{
  const guint number = segment_number (quantity);
  g_autofree char *off = mm_words (fabs (quantity->value), quantity->U);
  if (quantity->value > 0)
    return g_strdup_printf ("Segment %u stands proud by %s mm and cuts the part too small there: "
                            "grind it back by that much.",
                            number, off);
  return g_strdup_printf ("Segment %u is short of metal by %s mm and leaves the part too big "
                          "there: the rest of the profile has to be ground back to it.",
                          number, off);
}

void
ws_form_deviation_advise (const WsToolCard *card, WsResult *result)
{
  (void)card;
  gboolean any = FALSE;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (!quantity->known || !is_segment_deviation (quantity) ||
        quantity->verdict != WS_VERDICT_REJECT)
      continue;
    g_ptr_array_add (result->advice, segment_advice (quantity));
    any = TRUE;
  }
  if (!any)
    return;
  g_ptr_array_add (result->advice,
                   g_strdup ("Grind the face only when the profile itself is right: a form tool "
                             "is sharpened on its face, which keeps its profile."));
  ws_cautions_add (result);
}
