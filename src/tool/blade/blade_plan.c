/*
 * View `blade-plan`: a cutoff blade in silhouette from above, its front edge and both sides.
 * Definitions of all quantities: docs/methods/blade.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/blade/advice.h"
#include "tool/blade/blade.h"
#include "tool/blade/lines.h"
#include "tool/blade/mark.h"
#include "tool/blade/plan_corner.h"
#include "tool/blade/plan_form.h"
#include "tool/blade/proud.h"
#include "tool/card_fit.h"
#include "tool/edge_marks.h"
#include "tool/flank/burn_outline.h"
#include "tool/silhouette.h"

enum
{
  SIDE_RAKE,
  EDGE_WIDTH,
  LEADING_CORNER_ADVANCE,
  SIDE_CLEARANCE_MEAN,
  SIDE_CLEARANCE_LEFT,
  SIDE_CLEARANCE_RIGHT,
  CORNER_RADIUS_LEFT,
  CORNER_RADIUS_RIGHT,
  EDGE_STRAIGHTNESS,
  CHIP_DEPTH,
  BURR_HEIGHT,
  BURR_LENGTH,
  N_QUANTITIES
};

/* The first so many follow from the three lines alone. */
#define N_FROM_LINES (SIDE_CLEARANCE_RIGHT + 1)

static const WsQuantityInfo quantities[N_QUANTITIES + WS_BURN_OUTLINE_N] = {
  { "side_rake", WS_UNIT_DEGREE, NULL, "Side rake",
    "Angle between the front edge and the square to the reference line." },
  { "edge_width", WS_UNIT_LENGTH, "CW", "Edge width",
    "Between the theoretical corners, square to the reference line." },
  { "leading_corner_advance", WS_UNIT_LENGTH, NULL, "Corner advance",
    "How far the leading corner is ahead of the other along the reference line." },
  { "side_clearance_mean", WS_UNIT_DEGREE, NULL, "Clearance, mean",
    "Half the angle between the sides, positive where the blade narrows behind the edge." },
  { "side_clearance_left", WS_UNIT_DEGREE, NULL, "Clearance left",
    "Between left side and the body, whose direction a fixture or the card's reference side "
    "tells." },
  { "side_clearance_right", WS_UNIT_DEGREE, NULL, "Clearance right",
    "Between right side and the body, whose direction a fixture or the card's reference side "
    "tells." },
  { "corner_radius_left", WS_UNIT_LENGTH, NULL, "Corner radius left",
    "Of the arc that touches front and left side and is as far from their corner as the edge." },
  { "corner_radius_right", WS_UNIT_LENGTH, NULL, "Corner radius right",
    "Of the arc that touches front and right side and is as far from their corner as the edge." },
  { "edge_straightness", WS_UNIT_LENGTH, NULL, "Edge straightness",
    "Peak to valley of the front edge about its line, chips left out." },
  { "chip_depth", WS_UNIT_LENGTH, NULL, "Chip depth",
    "Deepest notch below the front edge's line; 0 without a chip." },
  { "burr_height", WS_UNIT_LENGTH, NULL, "Burr height",
    "Greatest height of a wire edge above front and sides; 0 when none is seen." },
  { "burr_length", WS_UNIT_LENGTH, NULL, "Burr length",
    "Of that wire edge, between its outermost places of a quarter of its height." },
  WS_BURN_OUTLINE_QUANTITIES,
};

/* All that the numbers rest on. */
typedef struct
{
  const WsImage *image;
  const WsToolCard *card;
  const WsOptics *optics;
  const WsBlade *blade;
  WsBladeLines lines;
} Seen;

/* ---- Quantities from lines, and their budgets --------------------------------------- */

/* What angles are counted from. */
typedef struct
{
  WsReferenceSide side; /* by the card */
  gboolean has_fixture;
  WsPoint fixture; /* along the body, one way or the other */
} Reference;

static Reference
reference_for (const WsToolCard *card, const WsOptics *optics)
{
  return (Reference){ card->reference_side, optics->has_fixture,
                      wsi_point (cos (optics->fixture), -sin (optics->fixture)) };
}

/* Half-way between the sides, toward the front; the right one is walked away from it. */
static WsPoint
centreline_of (const WsBladeLines *lines)
{
  const WsPoint sum = wsi_point_sub (wsi_blade_lines_direction (lines, WS_BLADE_LEFT),
                                     wsi_blade_lines_direction (lines, WS_BLADE_RIGHT));
  const double length = wsi_point_length (sum);
  return wsi_point (sum.x / length, sum.y / length);
}

static WsPoint
toward_front (const WsBladeLines *lines, WsPoint direction)
{
  const gboolean ahead = wsi_point_dot (direction, centreline_of (lines)) > 0;
  return ahead ? direction : wsi_point (-direction.x, -direction.y);
}

/* Of rake, width and advance: the card's side, else the fixture's direction, else the centreline.
 */
static WsPoint
reference_of (const WsBladeLines *lines, const Reference *reference)
{
  if (reference->side == WS_REFERENCE_LEFT)
    return wsi_blade_lines_direction (lines, WS_BLADE_LEFT);
  if (reference->side == WS_REFERENCE_RIGHT)
    return toward_front (lines, wsi_blade_lines_direction (lines, WS_BLADE_RIGHT));
  return reference->has_fixture ? toward_front (lines, reference->fixture) : centreline_of (lines);
}

/* Of the clearances: both can be told from the fixture's direction. */
static WsPoint
body_of (const WsBladeLines *lines, const Reference *reference)
{
  return reference->has_fixture ? toward_front (lines, reference->fixture)
                                : reference_of (lines, reference);
}

/* To the right of a direction, as seen looking along it. */
static WsPoint
right_of (WsPoint d)
{
  return wsi_point (-d.y, d.x);
}

/* Angles in rad, lengths in px; rake and advance positive where the right corner leads.
 * `how`: Reference. */
static void
evaluate (const WsBladeLines *lines, const void *how, double *out)
{
  const WsPoint ahead = reference_of (lines, how), body = body_of (lines, how);
  const WsPoint right = right_of (ahead), beside = right_of (body);
  const WsPoint front = wsi_blade_lines_direction (lines, WS_BLADE_FRONT);
  const WsPoint up = wsi_blade_lines_direction (lines, WS_BLADE_LEFT);
  const WsPoint down = wsi_blade_lines_direction (lines, WS_BLADE_RIGHT);
  const WsPoint run =
    wsi_point_sub (wsi_blade_lines_corner (lines, 1), wsi_blade_lines_corner (lines, 0));
  out[SIDE_RAKE] = atan2 (wsi_point_dot (front, ahead), wsi_point_dot (front, right));
  out[EDGE_WIDTH] = wsi_point_dot (run, right);
  out[LEADING_CORNER_ADVANCE] = wsi_point_dot (run, ahead);
  out[SIDE_CLEARANCE_LEFT] = atan2 (-wsi_point_dot (up, beside), wsi_point_dot (up, body));
  out[SIDE_CLEARANCE_RIGHT] = atan2 (-wsi_point_dot (down, beside), -wsi_point_dot (down, body));
  out[SIDE_CLEARANCE_MEAN] = 0.5 * (out[SIDE_CLEARANCE_LEFT] + out[SIDE_CLEARANCE_RIGHT]);
}

static const char *const edge_names[2 * WS_BLADE_N_EDGES] = {
  "edge noise and form, left side place",  "edge noise and form, left side direction",
  "edge noise and form, front place",      "edge noise and form, front direction",
  "edge noise and form, right side place", "edge noise and form, right side direction",
};

/*
 * What is straight ahead in the machine the picture doesn't tell: the blade's two clearances need
 * not be equal, and then the feed isn't along the centreline.  Clearances of 0.8 to 2 degrees,
 * each by itself (common practice, no source), have half their difference at a standard deviation
 * of 0.25 degrees.
 */
#define FEED_DEG 0.25

/* A blade laid on a table or held in a vise by eye lies in the picture's plane to a degree:
 * common practice, no source.  It shortens what lies across the tilt. */
#define TILT_DEG 1.0

/* The card's reference side lies along the body to a few hundredths of a millimetre over some 50
 * mm, as sides that tools are clamped by are ground: common practice, no source. */
#define REFERENCE_SIDE_DEG 0.05

/* What says where the body points turns what is counted from there, one to one. */
static void
add_reference_lines (const Seen *seen, WsQuantity *q[N_QUANTITIES])
{
  const gboolean by_side = seen->card->reference_side != WS_REFERENCE_CENTRE;
  const WsOptics *optics = seen->optics;
  for (guint i = SIDE_CLEARANCE_LEFT; i <= SIDE_CLEARANCE_RIGHT; i++)
    if (q[i]->known && optics->has_fixture)
      wsi_quantity_add_seen_line (q[i], "alignment: fixture's direction", WS_DISTRIBUTION_NORMAL,
                                  optics->u_fixture, optics);
    else if (q[i]->known)
      wsi_quantity_add_seen_line (q[i], "alignment: reference side against the body",
                                  WS_DISTRIBUTION_NORMAL, wsi_radians (REFERENCE_SIDE_DEG), optics);
  if (by_side)
    wsi_quantity_add_seen_line (q[SIDE_RAKE], "alignment: reference side against the body",
                                WS_DISTRIBUTION_NORMAL, wsi_radians (REFERENCE_SIDE_DEG), optics);
  else if (optics->has_fixture)
    wsi_quantity_add_seen_line (q[SIDE_RAKE], "alignment: fixture's direction",
                                WS_DISTRIBUTION_NORMAL, optics->u_fixture, optics);
}

/* A tilt by t about the reference line shortens widths by cos t, one about the square to it
 * lengths along it. */
static void
add_alignment_lines (const double at[N_FROM_LINES], const WsOptics *optics,
                     WsQuantity *q[N_QUANTITIES])
{
  const double feed = wsi_radians (FEED_DEG), rake = at[SIDE_RAKE];
  const double shortening = 0.5 * wsi_radians (TILT_DEG) * wsi_radians (TILT_DEG);
  wsi_quantity_add_seen_line (q[EDGE_WIDTH], "alignment: feed against the reference line",
                              WS_DISTRIBUTION_NORMAL, feed * fabs (at[LEADING_CORNER_ADVANCE]),
                              optics);
  wsi_quantity_add_seen_line (q[LEADING_CORNER_ADVANCE],
                              "alignment: feed against the reference line", WS_DISTRIBUTION_NORMAL,
                              feed * at[EDGE_WIDTH], optics);
  const double tilt[N_FROM_LINES] = {
    [SIDE_RAKE] = 0.5 * fabs (sin (2 * rake)),
    [EDGE_WIDTH] = at[EDGE_WIDTH],
    [LEADING_CORNER_ADVANCE] = fabs (at[LEADING_CORNER_ADVANCE]),
    [SIDE_CLEARANCE_MEAN] = 0.5 * fabs (sin (2 * at[SIDE_CLEARANCE_MEAN])),
    [SIDE_CLEARANCE_LEFT] = 0.5 * fabs (sin (2 * at[SIDE_CLEARANCE_LEFT])),
    [SIDE_CLEARANCE_RIGHT] = 0.5 * fabs (sin (2 * at[SIDE_CLEARANCE_RIGHT])),
  };
  for (guint i = 0; i < N_FROM_LINES; i++)
    if (q[i]->known)
      wsi_quantity_add_seen_line (q[i], "alignment: blade tilted", WS_DISTRIBUTION_ONE_SIDED,
                                  tilt[i] * shortening, optics);
}

/* One side's clearance is told from the other, by the card the reference, or from the fixture's
 * direction; else the picture has nothing to tell the two apart. */
static gboolean
is_told (guint i, const Reference *reference)
{
  if (i != SIDE_CLEARANCE_LEFT && i != SIDE_CLEARANCE_RIGHT)
    return TRUE;
  return reference->has_fixture ||
         reference->side == (i == SIDE_CLEARANCE_LEFT ? WS_REFERENCE_RIGHT : WS_REFERENCE_LEFT);
}

static void
fill_from_lines (const Seen *seen, const double at[N_FROM_LINES], WsQuantity *q[N_QUANTITIES])
{
  const Reference reference = reference_for (seen->card, seen->optics);
  const WsBladeModel model = { evaluate, &reference, N_FROM_LINES, edge_names };
  for (guint i = 0; i < N_FROM_LINES; i++)
  {
    const gboolean has_hand = i == SIDE_RAKE || i == LEADING_CORNER_ADVANCE;
    if (is_told (i, &reference))
      wsi_quantity_set_seen (q[i], has_hand ? fabs (at[i]) : at[i], seen->optics);
  }
  wsi_blade_lines_budget (&model, seen->blade, seen->image, seen->optics, q);
  add_alignment_lines (at, seen->optics, q);
  add_reference_lines (seen, q);
}

/* ---- Marks --------------------------------------------------------------------------------- */

static void
mark_edges (const WsBlade *blade, WsResult *result)
{
  static const char *const letters[WS_BLADE_N_EDGES] = { "L", NULL, "R" };
  for (guint e = 0; e < WS_BLADE_N_EDGES; e++)
    wsi_blade_mark_edge (blade, e, letters[e], result);
  for (guint k = 0; k < 2; k++)
    wsi_result_add_mark (result, WS_MARK_CORNER, letters[2 * k], &blade->corners[k].place, 1);
}

/* The angle of the front with the square to the reference line, at the trailing corner. */
static void
mark_rake (const Seen *seen, gboolean right_leads, WsResult *result)
{
  const WsBlade *blade = seen->blade;
  const WsPoint trailing = blade->corners[right_leads ? 0 : 1].place;
  const WsPoint leading = blade->corners[right_leads ? 1 : 0].place;
  const Reference reference = reference_for (seen->card, seen->optics);
  const WsPoint ahead = reference_of (&seen->lines, &reference);
  const WsPoint run = wsi_point_sub (leading, trailing);
  const WsPoint square = wsi_point_along (run, -wsi_point_dot (run, ahead), ahead);
  const WsPoint angle[3] = { leading, trailing, wsi_point_add (trailing, square) };
  wsi_mark_angle_to (result, "side_rake", angle);
}

/* Through the middle of the front, or the corner on the reference side. */
static void
mark_reference (const Seen *seen, WsResult *result)
{
  static const double parts[] = {
    [WS_REFERENCE_CENTRE] = 0.5, [WS_REFERENCE_LEFT] = 0.0, [WS_REFERENCE_RIGHT] = 1.0
  };
  const double part = parts[seen->card->reference_side];
  const WsPoint left = seen->blade->corners[0].place, right = seen->blade->corners[1].place;
  const WsPoint run = wsi_point_sub (right, left);
  const Reference reference = reference_for (seen->card, seen->optics);
  const WsPoint ahead = reference_of (&seen->lines, &reference);
  const WsPoint from = wsi_point_along (left, part, run);
  const double width = wsi_point_length (run);
  const WsPoint ends[2] = { wsi_point_along (from, -1.2 * width, ahead),
                            wsi_point_along (from, 0.2 * width, ahead) };
  wsi_result_add_mark (result, WS_MARK_AXIS, NULL, ends, 2);
}

/* ---- The view -------------------------------------------------------------------------------- */

/* Sides farther from parallel than this, or a front turned more, are no plan of a cutoff blade:
 * side rakes of up to 14 and clearances of up to 3 degrees are seen; common practice, no source. */
#define MAX_CLEARANCE_DEG 8.0
#define MAX_RAKE_DEG 30.0

/* Blades are several times as high as wide: what is so many times as wide as the card says shows
 * its side.  Common practice, no source. */
#define SIDE_WIDTHS 3.0

static gboolean
gate_plan (const double at[N_FROM_LINES], const WsToolCard *card, const WsOptics *optics,
           WsResult *result)
{
  const double taper = wsi_degrees (at[SIDE_CLEARANCE_MEAN]);
  const double off = wsi_degrees (at[SIDE_CLEARANCE_LEFT] - at[SIDE_CLEARANCE_MEAN]);
  const double ratio = at[EDGE_WIDTH] * optics->mm_per_px / card->width_mm;
  if (fabs (taper) > MAX_CLEARANCE_DEG)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the sides lie at %.0f degrees to each other", 2 * fabs (taper));
  if (optics->has_fixture && fabs (off) > MAX_CLEARANCE_DEG)
    return wsi_result_retake (
      result, WS_RETAKE_WRONG_VIEW,
      "the blade lies at %.0f degrees to the fixture's direction; check that", fabs (off));
  if (fabs (wsi_degrees (at[SIDE_RAKE])) > MAX_RAKE_DEG)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the front lies at %.0f degrees to the sides",
                              90 - fabs (wsi_degrees (at[SIDE_RAKE])));
  if (optics->has_scale && isfinite (ratio) && ratio > SIDE_WIDTHS)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "%.2f mm wide, as a blade's side, and %.2f mm by the tool card",
                              at[EDGE_WIDTH] * optics->mm_per_px, card->width_mm);
  return TRUE;
}

/* Of what doesn't follow from the lines. */
static void
add_lens_lines (const Seen *seen, WsQuantity *q[N_QUANTITIES])
{
  const double bow =
    wsi_blade_lens_bow (&seen->blade->edges[WS_BLADE_FRONT], seen->image, seen->optics);
  for (guint i = N_FROM_LINES; i < N_QUANTITIES; i++)
    wsi_quantity_add_lens_line (
      q[i], i == EDGE_STRAIGHTNESS || i == CHIP_DEPTH || i == BURR_HEIGHT ? bow : 0, seen->optics);
}

/* What bridges a corner fills its rounding. */
static void
hide_corner (const WsBlade *blade, guint k, WsQuantity *radius, WsResult *result)
{
  if (!wsi_blade_hides_corner (blade, k))
    return;
  wsi_quantity_forget (radius);
  wsi_result_hold (result, WS_HOLD_ACCEPT, "wire-edge",
                   "Something stands proud at the %s corner and hides its rounding: a wire edge or "
                   "dirt. Clean the blade, hone it lightly, and measure again.",
                   k == 0 ? "left" : "right");
}

/* Of an edge that lies mostly under a wire edge, another line is as likely.  Lit from the front,
 * burn and shade make an edge look so, and what is seen on the face still rejects. */
static void
hold_unclear (const WsBlade *blade, WsResult *result)
{
  const WsHold hold = blade->outline->front_lit ? WS_HOLD_ACCEPT : WS_HOLD_VERDICT;
  for (guint e = 0; e < WS_BLADE_N_EDGES; e++)
    if (blade->edges[e].proud.unclear)
      wsi_result_hold (
        result, hold, "wire-edge",
        "What stands proud of an edge hides too much of it. Clean the blade, hone it "
        "lightly, and measure again.");
}

/* What is rounded over more of its front than this has no corner there: a cone, a point, a chamfer.
 * Corners wear to some hundredths of the width; own choice. */
#define MOST_CORNER 0.3

static void
hold_cone (const WsQuantity *radius, const WsQuantity *width, const char *side, WsResult *result)
{
  if (radius->value - radius->U > MOST_CORNER * width->value)
    wsi_result_hold (result, WS_HOLD_VERDICT, "card-mismatch",
                     "The %s corner is off over a third of the edge or more, and no wear explains "
                     "that: it is broken, or this is something else. Look at the tool, and check "
                     "that the card is this tool's.",
                     side);
}

/* Whoever looks at a flank sees its edge square to the corners below it, but for side rake times
 * the sine of the relief: 1.2 degrees for 7 and 10; own choice, wider. */
#define MOST_FLANK_RAKE_DEG 1.5

/* Lit from the front, a blade's flank has its top's outline, and no side rake. */
static void
hold_flank (const Seen *seen, const WsQuantity *rake, WsResult *result)
{
  if (seen->blade->outline->front_lit && rake->value - rake->U < MOST_FLANK_RAKE_DEG)
    wsi_result_hold (result, WS_HOLD_VERDICT, "not-judged",
                     "The front is square to the sides, as the edge above a flank looks: this may "
                     "be the flank, and not the blade from above. Lay the blade so that its top "
                     "faces the camera, or take its outline before a bright ground.");
}

static void
fill (const Seen *seen, const double at[N_FROM_LINES], WsResult *result)
{
  WsQuantity *q[N_QUANTITIES];
  for (guint i = 0; i < N_QUANTITIES; i++)
    q[i] = wsi_result_add_quantity (result, &quantities[i], seen->optics->has_scale);
  fill_from_lines (seen, at, q);
  wsi_blade_plan_add_corner (seen->blade, seen->image, seen->optics, 0, q[CORNER_RADIUS_LEFT]);
  wsi_blade_plan_add_corner (seen->blade, seen->image, seen->optics, 1, q[CORNER_RADIUS_RIGHT]);
  wsi_blade_plan_add_form (seen->blade, seen->optics, q[EDGE_STRAIGHTNESS]);
  wsi_blade_plan_add_chip (seen->blade, seen->optics, at[EDGE_WIDTH], q[CHIP_DEPTH], result);
  wsi_blade_plan_add_burr (seen->blade, seen->optics, q[BURR_HEIGHT], q[BURR_LENGTH], result);
  add_lens_lines (seen, q);
  for (guint i = 0; i < N_QUANTITIES; i++)
    wsi_blade_lines_finish (q[i], i < N_FROM_LINES, seen->optics);
  for (guint k = 0; k < 2; k++)
    hide_corner (seen->blade, k, q[CORNER_RADIUS_LEFT + k], result);
  /* What stands on the front may bridge a notch: that none is seen beside it says too little. */
  if (!(q[CHIP_DEPTH]->value > 0) && wsi_blade_hides_front (seen->blade))
    wsi_quantity_forget (q[CHIP_DEPTH]);
  for (guint k = 0; k < 2; k++)
    hold_cone (q[CORNER_RADIUS_LEFT + k], q[EDGE_WIDTH], k == 0 ? "left" : "right", result);
  hold_unclear (seen->blade, result);
  hold_flank (seen, q[SIDE_RAKE], result);
  /* Which corner leads can't be told of an edge that is square within U. */
  if (q[SIDE_RAKE]->value > q[SIDE_RAKE]->U)
    result->hand = at[SIDE_RAKE] > 0 ? "right" : "left";
  mark_reference (seen, result);
  mark_edges (seen->blade, result);
  mark_rake (seen, at[SIDE_RAKE] > 0, result);
}

static guint
nearest_point (const WsOutline *outline, WsPoint place)
{
  guint best = 0;
  double least = HUGE_VAL;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    const double distance = wsi_point_distance (wsi_point (p->x, p->y), place);
    if (distance < least)
    {
      least = distance;
      best = i;
    }
  }
  return best;
}

/* Heat on the face along the front, which is seen square on. */
static void
add_burn (const Seen *seen, const WsOutline *outline, WsResult *result)
{
  g_autoptr (WsBurnEdges) edges = wsi_burn_edges_new (seen->image, seen->optics, outline);
  if (edges != NULL)
  {
    const guint len = outline->points->len,
                from = nearest_point (outline, seen->blade->corners[0].place),
                to = nearest_point (outline, seen->blade->corners[1].place);
    wsi_burn_edges_add (edges, outline, NULL, from, (to + len - from) % len + 1);
  }
  wsi_burn_edges_report (edges, seen->card, seen->optics, TRUE, result);
  const WsQuantity *burn = ws_result_quantity (result, "burn_area");
  if (!(burn != NULL && burn->value > 0) && wsi_burn_edges_show_land (edges, outline->blur_px))
    wsi_result_hold (result, WS_HOLD_VERDICT, "not-judged",
                     "A band of another lustre runs along the front, as wear does on a flank: this "
                     "may be the flank below the edge. Lay the blade so that its top faces the "
                     "camera, or take its outline before a bright ground.");
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *told, WsResult *result)
{
  g_autoptr (WsOutline) outline = wsi_silhouette_trace (image, told, result);
  if (outline == NULL)
    return;
  const WsOptics seen_by = wsi_silhouette_optics (image, outline, told, result), *const optics =
                                                                                   &seen_by;
  WsRefusal refusal = { 0 };
  g_autoptr (WsBlade) blade = wsi_blade_locate (outline, WS_BLADE_STRAIGHT, &refusal);
  if (blade == NULL)
  {
    wsi_result_refuse (result, &refusal);
    return;
  }
  const Seen seen = { image, card, optics, blade, wsi_blade_lines_of (blade) };
  double at[N_FROM_LINES];
  const Reference reference = reference_for (card, optics);
  evaluate (&seen.lines, &reference, at);
  if (!gate_plan (at, card, optics, result))
    return;
  fill (&seen, at, result);
  add_burn (&seen, outline, result);
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  wsi_burn_advise (card, result);
  wsi_blade_plan_advise (card, result);
}

#define BLADE (1u << WS_KIND_CUTOFF_BLADE)

static const WsRequired required[] = {
  { .kinds = BLADE,
    .stem = "side_rake",
    .on_card = "part_has_centre_hole = yes or no is missing on the tool card" },
  { .kinds = BLADE, .stem = "corner_radius_left" },
  { .kinds = BLADE, .stem = "corner_radius_right" },
  { .kinds = BLADE, .stem = "edge_straightness" },
  { .kinds = BLADE, .stem = "chip_depth" },
};

static const WsFitBand fits[] = {
  { WS_TRAIT_WIDTH, "edge_width", WS_FIT_WIDTH_BELOW, WS_FIT_WIDTH_ABOVE, WS_FIT_WIDTH_SLACK_MM,
    FALSE },
  { .trait = WS_TRAIT_HAND, .is_ground = TRUE },
};

const WsView wsi_view_blade_plan = {
  .name = "blade-plan",
  .summary = "cutoff blade from above in silhouette, its front edge and both sides",
  .kinds = 1u << WS_KIND_CUTOFF_BLADE,
  .needs = WS_IMAGE_CODED,
  .quantities = quantities,
  .n_quantities = G_N_ELEMENTS (quantities),
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .own_size = "edge_width",
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .measure = measure,
  .advise = advise,
};
