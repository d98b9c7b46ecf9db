#include "tool/form/deviation.h"

#include "base/geometry.h"
#include "edge/chain.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/form/deviation_report.h"
#include "tool/form/distortion.h"
#include "tool/form/extent.h"
#include "tool/form/proud.h"
#include "tool/form/segments.h"
#include "tool/form/sides.h"
#include "tool/form/squeeze.h"
#include "tool/silhouette.h"

/* Levels fitted from the same window as the edge's place cost this factor (edge/outline.h). */
#define LEVELS_TOO 1.28

/* What the place of an edge between pixels and a blur that is no Gaussian do, alike over a window,
 * px (own trials). */
#define PIXEL_PHASE_PX 0.010

/* A sharper edge than lens and pixels make was made smaller, maybe by leaving out lines, whose
 * places are off by up to half of one then (own trials, by 2 to 4). */
#define CAMERA_BLUR_PX 0.65
#define LEFT_OUT_PX 0.34

/* How far the greatest of many noisy values lies beyond a typical one, as part of where theory has
 * it: neighbouring windows overlap (own trials). */
#define GREATEST_PART 0.6

/* What scale errors do is told by a trial with this much, relative. */
#define SCALE_TRIAL 1e-3

static double
between_pixels (const WsOutline *outline)
{
  return PIXEL_PHASE_PX + LEFT_OUT_PX * MAX (1 - outline->blur_px / CAMERA_BLUR_PX, 0);
}

/* ---- Budgets ---------------------------------------------------------------------- */

/* Windows that fit into the map beside each other. */
static double
n_windows (const WsFormComparison *work)
{
  double length = 0;
  for (guint i = 0; i < work->fit->points->len; i++)
    length += wsi_form_fit_point (work->fit, i)->length;
  return MAX (length / wsi_form_window_px (work->outline), 2);
}

static void
add_place_lines (const WsFormComparison *work, WsQuantity *quantity, guint at)
{
  const WsFormPoint *place = wsi_form_fit_point (work->fit, at);
  const double u_edge = MAX (work->task.noise / sqrt (MAX (work->counts[at], 1)), work->u_window);
  /* The greatest of m normal values lies about sqrt (2 ln m) deviations out. */
  const double u_most = GREATEST_PART * u_edge * sqrt (2 * log (n_windows (work)));
  const WsOptics *optics = work->optics;
  const double beside = work->beside[at];
  const double arm = wsi_point_distance (place->foot, work->fit->pivot);
  wsi_quantity_add_seen_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL, u_edge, optics);
  wsi_quantity_add_seen_line (quantity, "edge between pixels", WS_DISTRIBUTION_NORMAL,
                              between_pixels (work->outline), optics);
  wsi_quantity_add_seen_line (quantity, "greatest of many", WS_DISTRIBUTION_ONE_SIDED, u_most,
                              optics);
  if (beside > 0)
    wsi_quantity_add_seen_line (quantity, "something beside the edge", WS_DISTRIBUTION_RECTANGULAR,
                                beside / sqrt (3.0), optics);
  wsi_quantity_add_seen_line (quantity, "best fit", WS_DISTRIBUTION_NORMAL,
                              wsi_form_fit_u (work->fit, place), optics);
  wsi_quantity_add_seen_line (quantity, "tonal encoding and threshold", WS_DISTRIBUTION_NORMAL,
                              wsi_silhouette_level_u (work->image, work->outline), optics);
  const double rounding = fabs (place->curvature) > 0
                            ? wsi_silhouette_rounding (work->outline, 1 / fabs (place->curvature))
                            : 0;
  wsi_form_add_rounding_line (quantity, rounding, optics);
  wsi_form_add_lean_line (quantity, arm, optics);
  wsi_form_lens_add (quantity, work->lens_u[at], optics);
}

/* `trial_px`: what the quantity becomes when the scale is off by SCALE_TRIAL. */
static void
finish_length (const WsFormComparison *work, WsQuantity *quantity, double px, double trial_px)
{
  const double u_relative = work->optics->u_mm_per_px / work->optics->mm_per_px;
  const double slope = isfinite (trial_px) ? (trial_px - px) / SCALE_TRIAL : 0;
  /* A calibration's scale is in its own line. */
  if (work->optics->lens == NULL)
    wsi_quantity_add_line (quantity, "scale", WS_DISTRIBUTION_NORMAL, u_relative,
                           slope * work->optics->mm_per_px);
  wsi_quantity_combine (quantity);
}

static void
add_overall (WsFormComparison *work, const WsFormSummary *here, const WsFormSummary *trial)
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
    WsQuantity *quantity = wsi_result_add_quantity (
      work->result, &wsi_form_quantities[overall[k].quantity], work->optics->has_scale);
    if (overall[k].at < 0 || !isfinite (overall[k].px))
      continue;
    wsi_quantity_set_seen (quantity, overall[k].px, work->optics);
    add_place_lines (work, quantity, (guint)overall[k].at);
    finish_length (work, quantity, overall[k].px, overall[k].trial);
  }
}

static void
add_segments (WsFormComparison *work, const WsFormSummary *here, const WsFormSummary *trial)
{
  for (guint number = 1; number <= here->n; number++)
  {
    WsQuantity *quantity =
      wsi_result_add_numbered (work->result, &wsi_form_quantities[WS_FORM_SEGMENT_DEVIATION],
                               number, work->optics->has_scale);
    if (here->at[number] < 0)
      continue;
    wsi_quantity_set_seen (quantity, here->worst[number], work->optics);
    add_place_lines (work, quantity, (guint)here->at[number]);
    finish_length (work, quantity, here->worst[number], trial->worst[number]);
  }
}

/* The same map with a profile that is a little larger; NULL quantities where that fails. */
static void
summarise_trial (const WsFormComparison *work, const GArray *prouds, guint n_numbers,
                 WsFormSummary *trial)
{
  WsFormTask task = work->task;
  task.px_per_mm *= 1 + SCALE_TRIAL;
  g_autoptr (WsFormFit) fit = wsi_form_refit (&task, work->fit);
  if (fit == NULL)
  {
    const GArray none = { NULL, 0 };
    const WsFormFit empty = { .points = (GArray *)&none };
    wsi_form_summarise (&empty, NULL, n_numbers, trial);
    return;
  }
  g_autofree guint *counts = g_new0 (guint, fit->points->len + 1);
  WsFormComparison other = *work;
  other.fit = fit;
  g_autofree double *map = wsi_form_smooth (&other, FALSE, counts);
  wsi_form_proud_leave_out (prouds, fit, map);
  wsi_form_summarise (fit, map, n_numbers, trial);
}

/* ---- The profile's own lines and arcs ----------------------------------------------- */

/* The first of that number; a curve has chords of one number.  NULL when there is none. */
static const WsContourSegment *
drawn_segment (const WsContour *contour, guint number)
{
  for (guint i = 0; i < contour->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (contour->segments, WsContourSegment, i);
    if (s->number == number)
      return s;
  }
  return NULL;
}

static gboolean
is_drawn_as_arc (const WsToolCard *card, guint number)
{
  const WsFormSpec *form = &card->form;
  const WsContourSegment *s =
    drawn_segment (form->part != NULL ? form->part : form->nominal, number);
  return s != NULL && fabs (s->sweep) > 0;
}

/* Against the profile's x axis, above -90 to 90 degrees. */
static double
drawn_direction (const WsToolCard *card, guint number)
{
  const WsContourSegment *s = drawn_segment (card->form.nominal, number);
  if (s == NULL)
    return 0;
  const WsPoint run = wsi_point_sub (s->to, s->from);
  const double direction = ws_direction_near (wsi_degrees (atan2 (run.y, run.x)), 0);
  return direction > -90 ? direction : direction + 180;
}

/* Of WsFormPoint *, the way the outline runs; without those that something clings to. */
static GPtrArray *
clean_points (const WsFormComparison *work)
{
  const WsFormFit *fit = work->fit;
  const guint n = fit->points->len;
  GPtrArray *clean = g_ptr_array_new ();
  for (guint i = 0; i < n; i++)
  {
    const guint at = fit->forward ? i : n - 1 - i;
    const WsFormPoint *p = wsi_form_fit_point (fit, at);
    if (p->at_corner || isfinite (work->map[at]))
      g_ptr_array_add (clean, (gpointer)p);
  }
  return clean;
}

/* Points of the outline by the profile, the way the outline runs, in one array; a piece for each
 * drawn segment. */
static void
add_own_forms (WsFormComparison *work)
{
  const WsFormFit *fit = work->fit;
  g_autoptr (GPtrArray) clean = clean_points (work);
  const guint n = clean->len;
  g_autofree WsPoint *points = g_new (WsPoint, n + 1);
  g_autoptr (GArray) pieces = g_array_new (FALSE, TRUE, sizeof (WsChainPiece));
  g_autoptr (GArray) numbers = g_array_new (FALSE, TRUE, sizeof (guint));
  g_autoptr (GArray) drawn = g_array_new (FALSE, TRUE, sizeof (double));
  for (guint i = 0; i < n; i++)
    points[i] = ((const WsFormPoint *)clean->pdata[i])->at;
  for (guint i = 0, j; i < n; i = j)
  {
    const WsFormPoint *first = clean->pdata[i];
    guint from = n, to = 0;
    for (j = i; j < n; j++)
    {
      const WsFormPoint *p = clean->pdata[j];
      if (p->number != first->number)
        break;
      if (p->at_corner)
        continue;
      from = MIN (from, j);
      to = j + 1;
    }
    WsChainPiece piece = { .kind = is_drawn_as_arc (work->card, first->number) ? WS_CHAIN_ARC
                                                                               : WS_CHAIN_LINE };
    if (to <= from || !wsi_chain_fit (points, from, to, &piece))
      continue;
    g_array_append_val (pieces, piece);
    const double direction = drawn_direction (work->card, first->number);
    g_array_append_val (numbers, first->number);
    g_array_append_val (drawn, direction);
  }
  WsFormAdding adding = { .image = work->image,
                          .outline = work->outline,
                          .optics = work->optics,
                          .lens = work->lens,
                          .result = work->result,
                          .axis = fit->angle,
                          .u_axis = sqrt (MAX (fit->covariance[8], 0)),
                          .against = "the profile's x axis",
                          .drawn = (const double *)(void *)drawn->data };
  wsi_form_pieces_add (&adding, points, pieces, (const guint *)(void *)numbers->data);
}

/* Adds profile_turn, and returns the fit that the sides' direction holds; NULL when there are no
 * sides to hold by. */
static WsFormFit *
fit_by_sides (WsFormComparison *work)
{
  WsFormDirection sides;
  if (!wsi_form_direction_by_sides (work, &sides))
    return NULL;
  WsQuantity *turn = wsi_result_add_quantity (
    work->result, &wsi_form_quantities[WS_FORM_PROFILE_TURN], work->optics->has_scale);
  wsi_quantity_set_seen (turn, remainder (work->fit->angle - sides.angle, 2 * G_PI), work->optics);
  wsi_quantity_add_seen_line (turn, "sides, direction", WS_DISTRIBUTION_NORMAL, sides.u,
                              work->optics);
  wsi_quantity_add_seen_line (turn, "best fit", WS_DISTRIBUTION_NORMAL,
                              sqrt (MAX (work->fit->covariance[8], 0)), work->optics);
  wsi_quantity_add_lens_line (turn, sides.u_lens, work->optics);
  wsi_quantity_combine (turn);
  work->task.held_angle = sides.angle;
  return wsi_form_fit (&work->task);
}

/* ---- The whole ---------------------------------------------------------------------- */

static void
fill (WsFormComparison *work)
{
  g_auto (WsFormSummary) here = { 0 }, trial = { 0 };
  const guint n_numbers = work->task.nominal->n_numbers;
  g_autofree guint *counts = g_new0 (guint, work->fit->points->len + 1);
  g_autofree double *map = wsi_form_smooth (work, FALSE, counts);
  g_autofree WsFormLensU *lens_u = wsi_form_lens_deviations (work->lens, work->fit);
  work->map = map;
  g_autofree double *beside = wsi_form_veils (work, map);
  work->counts = counts;
  work->beside = beside;
  work->lens_u = lens_u;
  /* Blocks of a lossy compression move neighbours alike. */
  work->u_window =
    work->image->lossy ? wsi_form_window_u (work->fit, map, wsi_form_window_px (work->outline)) : 0;
  /* Also what stands where the outline leaves the profile: that is where dirt begins. */
  g_autofree guint *all_counts = g_new0 (guint, work->fit->points->len + 1);
  g_autofree double *all = wsi_form_smooth (work, TRUE, all_counts);
  work->counts = all_counts;
  g_autoptr (GArray) prouds = wsi_form_proud_find (work, all);
  work->counts = counts;
  wsi_form_proud_leave_out (prouds, work->fit, map);
  wsi_form_summarise (work->fit, map, n_numbers, &here);
  summarise_trial (work, prouds, n_numbers, &trial);
  add_overall (work, &here, &trial);
  add_segments (work, &here, &trial);
  /* First: what it hides isn't compared, and cleaning cures both. */
  wsi_form_proud_report (work, prouds);
  wsi_form_deviation_report (work, &here);
  wsi_form_extent_report (work);
  add_own_forms (work);
  wsi_form_burr_add (work, prouds);
}

/* An outline that is this far off by half of its length is looked at turned over, too; and is then
 * taken for mirrored when that comes so much nearer. */
#define DOUBTFUL_PX 1.5
#define MIRRORED_RATIO 0.4

/* Whether the profile fits (better) turned over: a mirrored picture, or a tool of the other hand.
 */
static gboolean
fits_mirrored (const WsFormComparison *work, const WsFormFit *direct)
{
  WsContour over = *work->task.nominal;
  over.segments = g_array_copy (work->task.nominal->segments);
  ws_contour_mirror (&over);
  WsFormTask task = work->task;
  task.nominal = &over;
  g_autoptr (WsFormFit) fit = wsi_form_fit (&task);
  g_array_unref (over.segments);
  return fit != NULL && (direct == NULL || fit->scatter < MIRRORED_RATIO * direct->scatter);
}

/* An outline that lies farther off than this, root mean square, may be that of another size: tried
 * are sizes in steps of the card's, and one between the best of them and its neighbours.  Sound
 * edges of the right size lie within 0.05 px on rendered tools, which at another size are off by a
 * pixel a percent.  The fit is robust and may hold on to a part that the wrong size hardly moves,
 * so that half of the outline says little. */
#define OTHER_SIZE_PX 0.1
#define SIZE_STEP 0.005
#define MOST_STEPS 8
#define N_SIZES (2 * MOST_STEPS + 1)

/* So much nearer must the outline come at the other size, nearer still where that is hardly
 * another: a grinder's fault may look like it.  What differs by less than LEAST_OTHER, or by three
 * standard uncertainties of the scale, is no other size.  Own choice. */
#define OTHER_RATIO 0.4
#define NEAR_RATIO 0.25
#define NEAR_SIZE 0.0075
#define LEAST_OTHER 0.002

/* A fit that leaves out more of the profile than this is no better one. */
#define LESS_COVERED 0.05

/* An outline that is farther off than this may be that of a size so far away that the fit holds on
 * to a part of it: sizes out to FAR_SIZE are laid on anew, in steps that the refined fit bridges.
 * Own choice. */
#define FAR_OFF_PX 0.5
#define FAR_SIZE 1.25
#define FAR_STEP 0.03
#define FINE_STEP 0.005

/* Where half of the outline lies nearer than this to the profile, px, something else is off than
 * the size: a fault, a speck.  Own choice. */
#define SURE_PX 0.15

/* A fault on one of fewer segments may look like another size. */
#define FAR_SEGMENTS 5

/* Root mean square with the card's profile at another size; HUGE_VAL where it doesn't fit. */
static double
rms_at (const WsFormComparison *work, const WsFormFit *direct, double size)
{
  WsFormTask task = work->task;
  task.px_per_mm *= size;
  g_autoptr (WsFormFit) fit = wsi_form_refit (&task, direct);
  return fit != NULL && fit->covered > direct->covered - LESS_COVERED ? fit->rms : HUGE_VAL;
}

/* Where the parabola through the squares at three neighbouring sizes is least, steps from the
 * middle one. */
static double
vertex (const double rms[3])
{
  const double a = rms[0] * rms[0], b = rms[1] * rms[1], c = rms[2] * rms[2];
  const double bend = a - 2 * b + c;
  return isfinite (bend) && bend > 0 ? CLAMP (0.5 * (a - c) / bend, -0.5, 0.5) : 0;
}

/* The size, in parts of the card's, at which the profile fits so much better that scale or card
 * must be another's; 1 where none does. */
static double
better_size (const WsFormComparison *work, const WsFormFit *direct)
{
  double rms[N_SIZES];
  guint best = MOST_STEPS;
  rms[MOST_STEPS] = direct->rms;
  for (guint k = 0; k < N_SIZES; k++)
  {
    if (k != MOST_STEPS)
      rms[k] = rms_at (work, direct, 1 + ((double)k - MOST_STEPS) * SIZE_STEP);
    best = rms[k] < rms[best] ? k : best;
  }
  const double between = best > 0 && best + 1 < N_SIZES ? vertex (&rms[best - 1]) : 0;
  const double size = 1 + (best + between - MOST_STEPS) * SIZE_STEP, by = fabs (size - 1);
  const double left = fabs (between) > 0 ? rms_at (work, direct, size) : rms[best];
  const double ratio = by < NEAR_SIZE ? NEAR_RATIO : OTHER_RATIO;
  const double u_scale = work->optics->u_mm_per_px / work->optics->mm_per_px;
  return left < ratio * direct->rms && by > MAX (LEAST_OTHER, 3 * u_scale) ? size : 1;
}

/* About the fit at that size. */
static double
finest_rms (const WsFormComparison *work, const WsFormFit *near, double *size)
{
  double rms = near->rms;
  const double middle = *size;
  for (double by = -0.5 * FAR_STEP; by < 0.6 * FAR_STEP; by += FINE_STEP)
  {
    const double there = rms_at (work, near, middle * (1 + by));
    *size = there < rms ? middle * (1 + by) : *size;
    rms = MIN (rms, there);
  }
  return rms;
}

/* The same, farther away. */
static double
far_size (const WsFormComparison *work, const WsFormFit *direct)
{
  g_autoptr (WsFormFit) best = NULL;
  double size = 1;
  for (double trial = 1 / FAR_SIZE; trial < FAR_SIZE; trial *= 1 + FAR_STEP)
  {
    WsFormTask task = work->task;
    task.px_per_mm *= trial;
    g_autoptr (WsFormFit) fit = wsi_form_fit (&task);
    if (fit == NULL || fit->covered < direct->covered - LESS_COVERED ||
        (best != NULL && fit->rms >= best->rms))
      continue;
    g_clear_pointer (&best, wsi_form_fit_free);
    best = g_steal_pointer (&fit);
    size = trial;
  }
  return best != NULL && finest_rms (work, best, &size) < NEAR_RATIO * direct->rms ? size : 1;
}

static void
check_size (const WsFormComparison *work, const WsFormFit *fit)
{
  double size = fit->rms > OTHER_SIZE_PX ? better_size (work, fit) : 1;
  if (!(size < 1 || size > 1) && fit->rms > FAR_OFF_PX && fit->scatter > SURE_PX &&
      work->task.nominal->n_numbers >= FAR_SEGMENTS)
    size = far_size (work, fit);
  if (size < 1 || size > 1)
    wsi_result_hold (work->result, WS_HOLD_VERDICT, "card-mismatch",
                     "The outline fits the card's profile far better at some %.1f %% of its size. "
                     "Check the scale, and check that card and profile are this tool's.",
                     100 * size);
}

/* FALSE when the outline doesn't show the profile: it is another's, or seen from the other side. */
static gboolean
check_match (const WsFormComparison *work, const WsFormFit *fit)
{
  const gboolean doubtful = fit == NULL || fit->scatter >= DOUBTFUL_PX;
  if (doubtful && fits_mirrored (work, fit))
    return wsi_result_retake (
      work->result, WS_RETAKE_WRONG_VIEW,
      "the outline fits the card's profile only as its mirror image; if the "
      "drawing shows it from the other side, say profile_mirrored = true");
  if (fit == NULL)
  {
    wsi_form_extent_hold (work);
    return FALSE;
  }
  check_size (work, fit);
  const double squeeze = work->optics->lens == NULL ? wsi_form_squeeze (fit) : 0;
  if (squeeze > 0)
    wsi_result_hold (work->result, WS_HOLD_VERDICT, "card-mismatch",
                     "The outline fits the card's profile far better drawn longer one way by "
                     "%.1f %%. Check that the picture is as the camera took it, neither squeezed "
                     "nor skewed, and that profile and rake on the card are this tool's.",
                     100 * squeeze);
  return TRUE;
}

/* An uncalibrated lens may bend as it is said to, or as the outline shows that it does. */
static WsLens
lens_as_seen (const WsFormComparison *work)
{
  WsOptics optics = *work->optics;
  const double told = wsi_unknown_lens_distortion (&optics);
  const double seen = optics.lens != NULL
                        ? 0
                        : wsi_form_distortion (work->fit, work->image->width, work->image->height);
  if (fabs (seen) > told)
  {
    optics.lens_distortion = fabs (seen);
    wsi_silhouette_tell_bend (seen, work->optics, work->result);
  }
  return wsi_unknown_lens (&optics, work->image->width, work->image->height);
}

gboolean
wsi_form_deviation_add (const WsImage *image, const WsOutline *outline, const WsToolCard *card,
                        const WsOptics *optics, WsResult *result)
{
  WsFormComparison work = { .image = image, .outline = outline, .card = card, .optics = optics };
  work.result = result;
  work.task = (WsFormTask){ card->form.nominal,
                            outline,
                            1 / optics->mm_per_px,
                            wsi_form_guard (outline),
                            wsi_form_scatter (outline),
                            LEVELS_TOO * wsi_silhouette_point_u (outline),
                            NAN };
  g_autoptr (WsFormFit) fit = wsi_form_fit (&work.task);
  if (!check_match (&work, fit))
    return FALSE;
  work.fit = fit;
  const WsLens unknown = lens_as_seen (&work);
  work.lens = optics->lens != NULL ? optics->lens : &unknown;
  g_autoptr (WsFormFit) held = card->form.by_dovetail ? fit_by_sides (&work) : NULL;
  if (card->form.by_dovetail && held == NULL)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the card takes the profile's direction from the tool's sides, and "
                              "two straight sides don't show");
  if (held != NULL)
    work.fit = held;
  fill (&work);
  return TRUE;
}
