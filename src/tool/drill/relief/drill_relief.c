/*
 * View `drill-relief`: a drill's point seen square to one margin at its outer corner.  Definitions:
 * docs/methods/front-lit.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "edge/find/coarse.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/as_taken.h"
#include "tool/card_fit.h"
#include "tool/drill/flank_advice.h"
#include "tool/drill/relief/faces.h"
#include "tool/drill/view_turn.h"
#include "tool/flank/burn_outline.h"
#include "tool/flank/strip.h"
#include "tool/measure_again.h"
#include "tool/pose.h"

enum
{
  LIP_RELIEF,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES + WS_BURN_SLANTED_N] = {
  { "lip_relief", WS_UNIT_DEGREE, NULL, "Lip relief",
    "Angle of the flank's edge at the outer corner to the square of the axis, across the margin." },
  WS_BURN_SLANTED_QUANTITIES,
};

/* ---- From the picture to the tangent ---------------------------------------------------- */

typedef struct
{
  gint side; /* 1: flank to the left, a right-hand drill; 0: nothing found */
  WsReliefAxis axis;
  WsReliefEdge edge;
  WsReliefTangent tangent;
  double own_U; /* of the angle but for the picture's shape, degrees */
} Found;

/* Flanks relieved by less or more are none, and a rough edge is not ground. */
#define LEAST_DEG 3.0
#define MOST_DEG 30.0
#define MOST_SCATTER 0.5
#define GROUND_SCATTER 0.15

/* An edge is seen in most columns that it crosses. */
#define LEAST_SEEN 0.6

/* Corners are looked for on so many cells across. */
#define CORNER_CELLS 480

/* Edges that are clear, long and smooth are ground ones. */
static double
quality_of (const Found *found)
{
  return found->edge.support / MAX (found->tangent.scatter, GROUND_SCATTER);
}

/* The margin's step tells the margin's edge from the land's and from streaks. */
static gboolean
is_edge (const Found *found)
{
  const WsReliefTangent *tangent = &found->tangent;
  return tangent->angle > wsi_radians (LEAST_DEG) && tangent->angle < wsi_radians (MOST_DEG) &&
         tangent->scatter < MOST_SCATTER &&
         found->edge.points->len > LEAST_SEEN * tangent->length && isfinite (tangent->step_at);
}

/* Takes over `edge` when it is the best so far. */
static void
consider (Found *best, gint side, const WsReliefAxis *axis, WsReliefEdge *edge)
{
  Found now = { .side = side, .axis = *axis, .edge = *edge };
  const gboolean fits = wsi_relief_tangent (edge, &now.tangent) && is_edge (&now) &&
                        (best->side == 0 || quality_of (&now) > quality_of (best));
  if (!fits)
  {
    wsi_relief_edge_clear (edge);
    return;
  }
  wsi_relief_edge_clear (&best->edge);
  *best = now;
}

typedef struct
{
  const WsReliefPlane *fine, *coarse;
  const WsEndPicture *picture;
} Planes;

/* One side of the body and the corners that may be there. */
typedef struct
{
  gint side; /* 0: no side of a body */
  WsReliefAxis axis;
  WsReliefCorner corners[WS_RELIEF_CANDIDATES];
  guint n;
} Side;

/* TRUE when one of them is straight beside plain ground. */
static gboolean
find_sides (const Planes *planes, Side sides[2])
{
  gboolean any = FALSE;
  for (guint k = 0; k < 2; k++)
  {
    const gint side = k == 0 ? -1 : 1;
    sides[k].side = wsi_relief_axis_find (planes->fine, side, &sides[k].axis) ? side : 0;
    any = any || sides[k].side != 0;
  }
  return any;
}

static void
find_corners (const Planes *planes, Side sides[2])
{
  for (guint k = 0; k < 2; k++)
    if (sides[k].side != 0)
      sides[k].n = wsi_relief_corners_find (planes->coarse, &sides[k].axis, sides[k].corners);
}

/* The best edge on one side, followed with that reach. */
static void
find_edge (const Planes *planes, const Side *side, gint reach, Found *best)
{
  for (guint i = 0; side->side != 0 && i < side->n; i++)
  {
    WsReliefEdge edge;
    if (wsi_relief_edge_trace (planes->fine, planes->picture, &side->axis, &side->corners[i], reach,
                               &edge))
      consider (best, side->side, &side->axis, &edge);
  }
}

/* How far a picture goes before it isn't one; what is said of the one that goes farthest. */
typedef enum
{
  NO_SIDE,
  NOT_HELD,
  NO_EDGE,
  FOUND
} Outcome;

static const char *const reasons[] = {
  [NO_SIDE] = "no straight side of the body beside plain ground; lay the drill along the picture, "
              "the corner about its middle, and show more of the body behind it",
  [NOT_HELD] = "no drill comes in from the picture's border on plain ground",
  [NO_EDGE] = "no flank's edge with the margin's step at an outer corner; turn a margin's corner "
              "toward the camera and light flank and margin differently",
};

/* Where corners are looked for, which takes long. */
typedef enum
{
  BOTH_SIDES,
  LONGER_SIDE
} Choice;

static void
drop_shorter (Side sides[2])
{
  if (sides[0].side != 0 && sides[1].side != 0)
    sides[sides[0].axis.length < sides[1].axis.length ? 0 : 1].side = 0;
}

/* A body comes in from below its point: standing on its head, lines of the ground were its sides.
 */
static gboolean
hangs (const WsCoarse *held)
{
  const guint above = held->touching[0], below = held->touching[2];
  return above > below;
}

/* When FOUND its edge is cleared by the caller.  `held` is what comes in from the picture's border:
 * a drill is held from outside, and what lies free in the picture is none, whatever its edges. */
static Outcome
find_relief (const WsImage *image, Choice choice, const WsEndPicture *picture, WsCoarse **held,
             Found *best)
{
  const WsOptics *optics = picture->optics;
  const double pitch = MAX (1.0, MAX (image->width, image->height) / (double)CORNER_CELLS);
  g_autoptr (WsReliefPlane) fine = wsi_relief_plane_new (image, optics, 1);
  Planes planes = { fine, NULL, picture };
  const gint reaches[] = { WS_RELIEF_SHORT_REACH, WS_RELIEF_LONG_REACH };
  Side sides[2];
  if (!find_sides (&planes, sides))
    return NO_SIDE;
  if (choice == LONGER_SIDE)
    drop_shorter (sides);
  /* Corners are looked for at length. */
  *held = wsi_coarse_find (picture->sampler, TRUE);
  if (*held == NULL)
    return NOT_HELD;
  if (hangs (*held))
    return NO_SIDE;
  g_autoptr (WsReliefPlane) coarse = wsi_relief_plane_new (image, optics, pitch);
  planes.coarse = coarse;
  find_corners (&planes, sides);
  for (guint k = 0; k < G_N_ELEMENTS (reaches) && best->side == 0; k++)
    for (guint s = 0; s < 2; s++)
      find_edge (&planes, &sides[s], reaches[k], best);
  return best->side == 0 ? NO_EDGE : FOUND;
}

/* ---- The view ---------------------------------------------------------------------------- */

/* An angle known no better decides nothing: limits lie 17 degrees apart.  What is open about a
 * compressed picture's pixels comes to 4.6 to 6.6 degrees, by how the drill lies, and no light
 * narrows it: with it this is allowed, which a clear edge always has. */
#define MOST_U_DEG 5.0
#define MOST_WHOLE_U_DEG 6.8

/* A clearer edge speaks for itself.  Above a less clear one the tool has to show in half of the
 * places, so many cells of the reduced picture away: else it may be an outline (saw teeth against
 * the light). */
#define CLEAR_U_DEG 1.0
#define FLANK_CELLS 3
#define LEAST_FLANK 0.5

static gboolean
shows_flank (const WsCoarse *held, const WsOptics *optics, const WsReliefEdge *edge)
{
  guint n = 0;
  for (guint i = 0; i < edge->points->len; i++)
  {
    const WsPoint p = g_array_index (edge->points, WsPoint, i);
    const WsPoint above = wsi_point_along (wsi_point_along (edge->corner, p.x, edge->away),
                                           p.y - FLANK_CELLS * held->factor, edge->down);
    n += wsi_coarse_is_tool (held, wsi_strip_picture (optics, above)) ? 1 : 0;
  }
  return n >= LEAST_FLANK * edge->points->len;
}

/* How square the camera looks at the margin, by eye (assumed), and what a near one makes of it. */
#define U_SQUARE_RAD 0.0015

/* Light that changes along the body's side bends it by so much over its length, px (own trials). */
#define U_SIDE_PX 0.6

static void
mark_relief (const Found *found, WsResult *result)
{
  const WsReliefEdge *edge = &found->edge;
  const double reach = 0.2 * edge->radius, slope = tan (found->tangent.angle);
  const WsPoint corner = edge->corner;
  const WsPoint on_edge =
    wsi_point_along (wsi_point_along (corner, reach, edge->away), reach * slope, edge->down);
  const WsPoint angle[3] = { wsi_point_along (corner, 1.3 * reach, edge->away), corner, on_edge };
  const WsPoint axis[2] = { wsi_point_along (corner, 3 * reach, edge->down),
                            wsi_point_along (corner, -1.5 * reach, edge->down) };
  g_autofree WsPoint *used = g_new (WsPoint, edge->points->len);
  for (guint i = 0; i < edge->points->len; i++)
  {
    const WsPoint p = g_array_index (edge->points, WsPoint, i);
    used[i] = wsi_point_along (wsi_point_along (corner, p.x, edge->away), p.y, edge->down);
  }
  wsi_result_add_mark (result, WS_MARK_AXIS, NULL, axis, 2);
  wsi_result_add_mark (result, WS_MARK_EDGE_USED, "a", used, edge->points->len);
  wsi_result_add_mark (result, WS_MARK_ANGLE, "lip_relief", angle, 3);
  wsi_result_add_mark (result, WS_MARK_CORNER, NULL, &corner, 1);
}

/* NULL with a retake where it is known to no use. */
static WsQuantity *
add_relief (Found *found, const WsCoarse *held, const WsPictureShape *shape, const WsOptics *optics,
            WsResult *result)
{
  WsQuantity *quantity =
    wsi_result_add_quantity (result, &quantities[LIP_RELIEF], optics->has_scale);
  wsi_quantity_set_seen (quantity, found->tangent.angle, optics);
  wsi_quantity_add_seen_line (quantity, "flank's edge and its bow", WS_DISTRIBUTION_NORMAL,
                              found->tangent.u, optics);
  wsi_quantity_add_seen_line (quantity, "place of the corner", WS_DISTRIBUTION_NORMAL,
                              found->tangent.u_corner, optics);
  wsi_quantity_add_seen_line (quantity, "axis by the body's side", WS_DISTRIBUTION_NORMAL,
                              hypot (found->axis.u, U_SIDE_PX / found->axis.length), optics);
  wsi_quantity_add_seen_line (quantity, "alignment: view not square to the margin",
                              WS_DISTRIBUTION_NORMAL, U_SQUARE_RAD, optics);
  wsi_quantity_combine (quantity);
  found->own_U = quantity->U;
  if (found->own_U > CLEAR_U_DEG && found->own_U <= MOST_U_DEG &&
      !shows_flank (held, optics, &found->edge))
  {
    wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                       "what lies above the edge found can't be told from the ground; turn a "
                       "margin's corner toward the camera, before ground that is darker or lighter "
                       "than the flank");
    return NULL;
  }
  const WsPoint away = found->edge.away, down = found->edge.down;
  const double axis = atan2 (down.y, down.x), square = atan2 (away.y, away.x);
  const double side = wsi_point_cross (away, down) > 0 ? 1 : -1;
  wsi_picture_shape_add_to_angle (shape, axis, square + side * found->tangent.angle, optics,
                                  quantity);
  if (found->own_U <= MOST_U_DEG && quantity->U <= MOST_WHOLE_U_DEG)
    return quantity;
  wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                     "no flank's edge is clear: the relief would be known to %.1f degrees only; "
                     "light flank and margin differently",
                     quantity->U);
  return NULL;
}

/* Margins lean by the helix: 25 to 35 degrees for standard drills (references as in
 * docs/methods/front-lit.md). */
#define USUAL_HELIX_DEG 30.0

/* The margin is looked at from the flank's edge on, as far as this part of the radius along it, and
 * so many times as deep; own choice, no source. */
#define MARGIN_SHARE 0.25
#define MARGIN_DEPTH 2.0

/* A lip's heat shows on the margin below its corner, too. */
static void
add_burn (const WsImage *image, const Found *found, const WsToolCard *card, const WsOptics *optics,
          WsResult *result)
{
  const WsReliefEdge *edge = &found->edge;
  const double helix = wsi_radians (USUAL_HELIX_DEG);
  const WsPoint lean = wsi_point_along (
    wsi_point (cos (helix) * edge->down.x, cos (helix) * edge->down.y), sin (helix), edge->away);
  const double step = isfinite (found->tangent.step_at) ? found->tangent.step_at : HUGE_VAL;
  const double most = MIN (step, MARGIN_SHARE * edge->radius);
  g_autoptr (WsBurnEdges) edges = wsi_burn_edges_new (image, optics, NULL);
  g_autofree WsPoint *places = g_new (WsPoint, edge->points->len + 1),
                     *leans = g_new (WsPoint, edge->points->len + 1);
  guint n = 0;
  for (guint i = 0; i < edge->points->len; i++)
  {
    const WsPoint p = g_array_index (edge->points, WsPoint, i);
    if (p.x > most)
      break;
    leans[n] = lean;
    places[n++] =
      wsi_point_along (wsi_point_along (edge->corner, p.x, edge->away), p.y, edge->down);
  }
  wsi_burn_edges_add_columns (edges, places, leans, n, MARGIN_DEPTH * n);
  wsi_burn_edges_report (edges, card, optics, FALSE, result);
}

/* A camera square at the margin sees its corner half a diameter from the body's side. A view turned
 * by d shows tan (relief) / cos (d), 0.02 of it at 10 degrees; refused beyond this, of which a near
 * camera may take 2 degrees, since the side lies deeper than the corner. */
#define MOST_TURN_DEG 10.0

/* A corner that far round no longer shows the margin: the card's diameter is another drill's. */
#define NO_TURN_DEG 45.0

/* Degrees that the margin's corner has been turned away from the body's side, by the card's
 * diameter; 0 when that or the scale is not known, or can't be this drill's. */
static double
turn_of (const Found *found, const WsToolCard *card, const WsOptics *optics)
{
  if (!optics->has_scale || !(card->diameter_mm > 0))
    return 0;
  const double radius = 0.5 * card->diameter_mm / optics->mm_per_px;
  const double off = found->edge.radius / radius - 1;
  return fabs (off) > sin (wsi_radians (NO_TURN_DEG)) ? 0 : wsi_degrees (asin (off));
}

static gboolean
gate_view (const Found *found, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  const double turn = turn_of (found, card, optics);
  if (fabs (turn) > MOST_TURN_DEG)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the camera looks at the margin some %.0f degrees askew, or the "
                              "card's diameter or the scale is another's; %s",
                              fabs (turn), turn > 0 ? WS_TURN_CLOCKWISE : WS_TURN_COUNTERCLOCKWISE);
  return TRUE;
}

/* Heat colours beside the corner have borders of their own, and an edge that follows one scatters
 * so that U is this at least (rendered drills). */
#define BURNT_U_DEG 2.0

/* Does what lies beyond the colours, which begin at the corner, show the same angle?  It is known
 * no better, so that both may differ by as much as two such angles. */
static gboolean
agrees_beyond (const Found *found, const WsQuantity *burnt, const WsOptics *optics)
{
  const double unit = optics->has_scale ? optics->mm_per_px : 1;
  WsReliefTangent beyond;
  return burnt != NULL && wsi_relief_tangent_beyond (&found->edge, burnt->value / unit, &beyond) &&
         wsi_degrees (fabs (beyond.angle - found->tangent.angle)) < M_SQRT2 * found->own_U;
}

static void
forget_where_burnt (const Found *found, const WsOptics *optics, WsQuantity *relief,
                    WsResult *result)
{
  const WsQuantity *burn = ws_result_quantity (result, "burn_area"),
                   *burnt = ws_result_quantity (result, "burn_length");
  if (burn == NULL || !(burn->value > burn->U))
    return;
  if (found->own_U <= BURNT_U_DEG && agrees_beyond (found, burnt, optics))
    return;
  wsi_quantity_forget (relief);
  wsi_result_hold (result, WS_HOLD_TOOL, "not-seen",
                   "Heat colours at the corner hide where the flank's edge runs: the relief isn't "
                   "told. Measure it after the regrind.");
}

static void
report (const WsImage *image, const WsCoarse *held, Found *found, const WsToolCard *card,
        const WsOptics *optics, WsResult *result)
{
  WsPictureShape shape;
  if (!wsi_relief_has_grain (image, optics, &found->edge))
  {
    wsi_result_retake (
      result, WS_RETAKE_WRONG_VIEW,
      "the surface below the edge found is even as in a drawing, without the grain "
      "of ground metal; take a photograph of the drill");
    return;
  }
  if (!wsi_relief_parts_faces (image, optics, &found->edge, &found->tangent))
  {
    wsi_result_retake (
      result, WS_RETAKE_WRONG_VIEW,
      "the edge found is a line on one face, not a step from flank to margin; turn "
      "a margin's corner toward the camera");
    return;
  }
  if (!wsi_picture_shape (image, optics, held, &shape, result))
    return;
  WsQuantity *relief = add_relief (found, held, &shape, optics, result);
  if (relief == NULL)
    return;
  mark_relief (found, result);
  result->hand = found->side > 0 ? "right" : "left";
  wsi_result_see (result, WS_TRAIT_DIAMETER, 2 * found->edge.radius, 0, optics);
  if (!gate_view (found, card, optics, result))
    return;
  add_burn (image, found, card, optics, result);
  forget_where_burnt (found, optics, relief, result);
}

/* Of a picture with the point up. */
static Outcome
measure_laid (const WsImage *image, Choice choice, const WsToolCard *card, const WsOptics *optics,
              WsResult *result)
{
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, optics, { 1, 1, 1 } };
  Found found = { .side = 0 };
  g_autoptr (WsCoarse) held = NULL;
  const Outcome outcome = find_relief (image, choice, &picture, &held, &found);
  if (outcome == FOUND)
  {
    report (image, held, &found, card, optics, result);
    wsi_relief_edge_clear (&found.edge);
  }
  return outcome;
}

/* Point up as it came, and turned by quarters. */
static const struct
{
  gboolean mirror_x, mirror_y, transpose;
} turns[] = {
  { FALSE, FALSE, FALSE }, { TRUE, FALSE, TRUE }, { FALSE, TRUE, TRUE }, { TRUE, TRUE, FALSE }
};

/* Turned so, and mirrored where light would lie to the left else: a mirrored picture gives the same
 * numbers to the last digit. */
static WsPose
pose_of (const WsImage *image, guint turn)
{
  WsPose pose = wsi_pose_of (image);
  pose.transpose = turns[turn].transpose;
  if (pose.transpose)
    pose.mirror_x = turns[turn].mirror_x;
  else
    pose.mirror_y = turns[turn].mirror_y;
  return pose;
}

/* px; 0 without a side. */
static double
longest_side (const WsImage *image, const WsPose *pose, const WsOptics *optics)
{
  WsImage grey = *image; /* light alone will do */
  grey.rgb = NULL;
  g_autoptr (WsImage) laid = wsi_pose_lay (pose, &grey);
  if (laid == NULL)
    return 0;
  g_autoptr (WsReliefPlane) plane = wsi_relief_plane_new (laid, optics, 1);
  const Planes planes = { plane, NULL, NULL };
  Side sides[2];
  find_sides (&planes, sides);
  return MAX (sides[0].side != 0 ? sides[0].axis.length : 0,
              sides[1].side != 0 ? sides[1].axis.length : 0);
}

static Outcome
measure_turned (const WsImage *image, guint turn, Choice choice, const WsToolCard *card,
                const WsOptics *optics, WsResult *result)
{
  const WsPose pose = pose_of (image, turn);
  g_autoptr (WsImage) laid = wsi_pose_lay (&pose, image);
  if (laid == NULL)
    return measure_laid (image, choice, card, optics, result);
  const Outcome outcome = measure_laid (laid, choice, card, optics, result);
  if (outcome != FOUND)
    return outcome;
  wsi_pose_lay_back (&pose, result);
  if (result->hand != NULL && wsi_pose_is_mirrored (&pose))
    result->hand = g_str_equal (result->hand, "right") ? "left" : "right";
  return outcome;
}

/* The point looks up, or the picture is turned so that the body's side does: by the quarter turn
 * that shows most of one. */
static Outcome
measure_posed (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
               WsResult *result)
{
  const Outcome as_it_came = measure_turned (image, 0, BOTH_SIDES, card, optics, result);
  double longest = 0;
  guint best = 0;
  for (guint i = 1; i < G_N_ELEMENTS (turns) && as_it_came != FOUND; i++)
  {
    const WsPose pose = pose_of (image, i);
    const double length = longest_side (image, &pose, optics);
    best = length > longest ? i : best;
    longest = MAX (longest, length);
  }
  if (best == 0)
    return as_it_came;
  return MAX (as_it_came, measure_turned (image, best, LONGER_SIDE, card, optics, result));
}

/* A calibrated lens belongs to the picture as it came. */
static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  const Outcome farthest = optics->lens == NULL
                             ? measure_posed (image, card, optics, result)
                             : measure_laid (image, BOTH_SIDES, card, optics, result);
  if (farthest != FOUND)
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW, "%s", reasons[farthest]);
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  wsi_burn_advise (card, result);
  wsi_advise_measuring_again (card, result, NULL);
  wsi_drill_advise_relief (result, "lip_relief");
}

static const WsRequired required[] = {
  { .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL, .stem = "lip_relief" },
};

/* The margin's corner stands off the body's side by half a diameter when the camera looks square at
 * it; what a turn that is allowed makes of that is no mismatch. */
#define TURNED_PART 0.18

static const WsFitBand fits[] = {
  { WS_TRAIT_DIAMETER, NULL, TURNED_PART + WS_FIT_DRILL_BELOW, TURNED_PART + WS_FIT_DRILL_ABOVE,
    WS_FIT_DRILL_SLACK_MM, FALSE },
  { .trait = WS_TRAIT_HAND },
};

const WsView wsi_view_drill_relief = {
  .name = "drill-relief",
  .summary = "drill point square to one margin at the outer corner: lip relief",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL,
  .needs = WS_IMAGE_COLOUR,
  .quantities = quantities,
  .n_quantities = G_N_ELEMENTS (quantities),
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .measure = measure,
  .advise = advise,
};
