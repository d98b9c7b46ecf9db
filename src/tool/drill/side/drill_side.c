/*
 * View `drill-side`: a two-flute drill's point in silhouette, both lips lying in the
 * picture's plane.  Definitions of all quantities: docs/methods/drill.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/card_fit.h"
#include "tool/drill/axis_plumb.h"
#include "tool/drill/body_plumb.h"
#include "tool/drill/camera_distance.h"
#include "tool/drill/fixture.h"
#include "tool/drill/flutes.h"
#include "tool/drill/shared_quantities.h"
#include "tool/drill/side/advice.h"
#include "tool/drill/side/budget.h"
#include "tool/drill/side/burr.h"
#include "tool/drill/side/form.h"
#include "tool/drill/side/marks.h"
#include "tool/drill/side/proud.h"
#include "tool/drill/side/reverse.h"
#include "tool/drill/side/whole_lip.h"
#include "tool/drill/view_turn.h"
#include "tool/flank/burn_outline.h"
#include "tool/silhouette.h"

static const WsQuantityInfo quantities[WS_DRILL_N_QUANTITIES + WS_BURN_SLANTED_N] = {
  WS_DRILL_LIP_QUANTITIES,
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "Of the envelope at the outer corners." },
  { "point_length", WS_UNIT_LENGTH, "PL", "Point length",
    "From the plane of the outer corners to the foremost point, along the axis." },
  { "corner_wear_a", WS_UNIT_LENGTH, NULL, "Corner wear a",
    "Shortest distance from theoretical corner a to the outline." },
  { "corner_wear_b", WS_UNIT_LENGTH, NULL, "Corner wear b",
    "Shortest distance from theoretical corner b to the outline." },
  { "lip_straightness_a", WS_UNIT_LENGTH, NULL, "Straightness a",
    "Peak to valley of lip a about its line, chips left out." },
  { "lip_straightness_b", WS_UNIT_LENGTH, NULL, "Straightness b",
    "Peak to valley of lip b about its line, chips left out." },
  { "chip_depth_a", WS_UNIT_LENGTH, NULL, "Chip depth a",
    "Deepest notch below lip line a; 0 without a chip." },
  { "chip_depth_b", WS_UNIT_LENGTH, NULL, "Chip depth b",
    "Deepest notch below lip line b; 0 without a chip." },
  { "chisel_flat", WS_UNIT_LENGTH, NULL, "Chisel flat",
    "Width of the blunt tip that belongs to neither lip line." },
  { "view_turn", WS_UNIT_DEGREE, NULL, "Turn of view",
    "How far the lips are turned out of the picture's plane, by estimate." },
  { "burr_height_a", WS_UNIT_LENGTH, NULL, "Burr height a",
    "Greatest height of a wire edge above lip line a; 0 when none is seen." },
  { "burr_height_b", WS_UNIT_LENGTH, NULL, "Burr height b",
    "Greatest height of a wire edge above lip line b; 0 when none is seen." },
  { "burr_length_a", WS_UNIT_LENGTH, NULL, "Burr length a",
    "Along lip a between the wire edge's outermost places of a quarter of its height." },
  { "burr_length_b", WS_UNIT_LENGTH, NULL, "Burr length b",
    "Along lip b between the wire edge's outermost places of a quarter of its height." },
  WS_BURN_SLANTED_QUANTITIES,
};

/* ---- Gates: pictures that can't be measured honestly ------------------------------ */

/* Share of a lip that must be sound for its line to stand for it. */
#define MIN_SOUND 0.6

/* The alignment term grows with the square of the turn: beyond this it drowns the angle.  Set on
 * rendered drills: lower, sound ones are refused; higher, more of the turned lie outside U. */
#define MAX_TURN_DEG 3.3

/* Half angles that differ more than this are a lip against a heel, not two lips. */
#define MAX_HALF_ANGLE_GAP_DEG 12.0

/* A chisel edge leaves the apex at least this part of the radius above the tip, and at
 * most that. */
#define MIN_DROP 0.008
#define MAX_DROP 0.3

static gboolean
gate_shape (const WsDrillPoint *point, const WsViewTurn *turn, WsResult *result)
{
  if (point->mirror.kept < 0.6 || point->mirror.rms_px > 0.5 + 0.003 * point->radius)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the body's outline is not symmetric about an axis");
  const double gap = fabs (point->lips[0].half_angle - point->lips[1].half_angle);
  if (wsi_degrees (gap) > MAX_HALF_ANGLE_GAP_DEG)
    return wsi_result_retake (result, WS_RETAKE_LIPS_TURNED,
                              "the half angles differ by %.0f degrees, as lip and heel do",
                              wsi_degrees (gap));
  const double drop = (point->apex.y - point->tip.y) / point->radius;
  if (drop < MIN_DROP || drop > MAX_DROP || fabs (point->apex.x) > 0.35 * point->radius)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "there is no chisel edge between two lips");
  if (wsi_degrees (turn->effective) > MAX_TURN_DEG && !wsi_drill_shows_flutes (point))
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "no flutes are seen behind the point: a turned rod looks the same");
  if (wsi_degrees (turn->effective) > MAX_TURN_DEG)
    return wsi_result_retake (result, WS_RETAKE_LIPS_TURNED, "turned by about %.0f degrees; %s",
                              fabs (wsi_degrees (turn->effective)),
                              turn->mean > 0 ? WS_TURN_CLOCKWISE : WS_TURN_COUNTERCLOCKWISE);
  return TRUE;
}

/* A skew of more than this moves a lip's height by twice as much of the diameter; small ones are in
 * U. */
#define MAX_SKEW 0.002

/* A lean is taken out up to this, since by how much it shifts the lips hangs on the web; where a
 * near camera stands, it is not.  What is left of it there is known to some tenths of a degree. */
#define MAX_LEAN_DEG 2.5
#define MAX_LEAN_NEAR_DEG 0.6

static gboolean
gate_attitude (const WsAttitude *attitude, gboolean is_near, WsResult *result)
{
  const double most = wsi_radians (is_near ? MAX_LEAN_NEAR_DEG : MAX_LEAN_DEG);
  if (attitude->is_sure && fabs (attitude->skew) > MAX_SKEW + 2 * attitude->u_skew)
    return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                              "the body's outline is skewed by %.1f parts in a hundred",
                              100 * fabs (attitude->skew));
  if (fabs (attitude->lean) > most + 2 * attitude->u_lean)
    return wsi_result_retake (result, WS_RETAKE_LEANING, "the axis leans by about %.1f degrees",
                              fabs (wsi_degrees (attitude->lean)));
  return TRUE;
}

static gboolean
gate_point (const WsDrillPoint *point, const WsViewTurn *turn, WsResult *result)
{
  for (guint k = 0; k < 2; k++)
  {
    const WsLineFit *line = &point->lips[k].line;
    /* What stands proud is no damage of the edge. */
    const double edge = (1 - point->lips[k].proud.share) * line->n;
    if (line->n_used >= MIN_SOUND * edge)
      continue;
    /* On a bench it may be the ground's as well. */
    if (!point->outline->backlit)
      return wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                                "lip %s is no clean step from the ground; light it from behind",
                                k == 0 ? "a" : "b");
    return wsi_result_retake (result, WS_RETAKE_DIRTY_EDGE,
                              "only %.0f %% of lip %s is a clean edge", 100.0 * line->n_used / edge,
                              k == 0 ? "a" : "b");
  }
  if (!wsi_drill_gate_proud (point, result))
    return FALSE;
  if (gate_shape (point, turn, result))
    return TRUE;
  /* Dirt spoils the shape; what the shape would mean without it isn't known. */
  const char *place = wsi_drill_proud_place (point);
  const gboolean may_be_dirt =
    result->reason == WS_RETAKE_LIPS_TURNED || result->reason == WS_RETAKE_WRONG_VIEW;
  if (place == NULL || !may_be_dirt)
    return FALSE;
  /* On a bench it may be the ground's as well. */
  return !point->outline->backlit
           ? wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                                "%s is no clean step from the ground; light it from behind", place)
           : wsi_result_retake (result, WS_RETAKE_DIRTY_EDGE, "something clings to %s", place);
}

/* ---- The view --------------------------------------------------------------------- */

/* How well the axis is put where the calibration's plane was, mm: a V-block that stays in its
 * place (an assumption, no source).  A telecentric lens doesn't mind. */
#define PLANE_U_MM 0.02

static void
add_plane_line (const WsDrillEvidence *seen, WsQuantity *quantity)
{
  if (seen->perspective == NULL || quantity->info->unit != WS_UNIT_LENGTH)
    return;
  const double distance = seen->perspective->distance * seen->optics->mm_per_px;
  wsi_quantity_add_line (quantity, "alignment: axis off the calibrated plane",
                         WS_DISTRIBUTION_NORMAL, PLANE_U_MM, quantity->value / distance);
}

/* A scale speaks for a telecentric lens, and a near camera has none. */
static void
add_lens_line (const WsDrillEvidence *seen, guint which, WsQuantity *quantity)
{
  if (seen->perspective != NULL && seen->optics->lens == NULL && which != WS_DRILL_VIEW_TURN)
    wsi_quantity_add_near_lens_line (quantity, seen->optics);
}

/* What remains without an axis is the lips' own: their angle to each other, and their form. */
static void
forget_axis (WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  for (guint i = WS_DRILL_HALF_ANGLE_A; i <= WS_DRILL_CORNER_WEAR_B; i++)
    wsi_quantity_forget (q[i]);
  wsi_quantity_forget (q[WS_DRILL_VIEW_TURN]);
}

/* Where the point is off, and the lip that stands higher. */
static void
place_on_point (const WsDrillPoint *point, WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsAxis *axis = &point->mirror.axis;
  WsQuantity *height = q[WS_DRILL_LIP_HEIGHT_DIFFERENCE];
  const WsDrillLip *high = &point->lips[height->known && height->value < 0.0 ? 1 : 0];
  wsi_quantity_set_place (q[WS_DRILL_POINT_OFFSET], wsi_axis_to_picture (axis, point->apex));
  wsi_quantity_set_place (height, wsi_axis_to_picture (axis, high->corner));
}

static void
fill_quantities (const WsDrillEvidence *seen, WsResult *result)
{
  WsQuantity *q[WS_DRILL_N_QUANTITIES];
  for (guint i = 0; i < WS_DRILL_N_QUANTITIES; i++)
    q[i] = wsi_result_add_quantity (result, &quantities[i], seen->optics->has_scale);
  wsi_drill_fill_lines (seen, q);
  wsi_drill_fill_form (seen, q, result);
  wsi_drill_fill_burrs (seen, q);
  place_on_point (seen->point, q);
  for (guint i = 0; i < WS_DRILL_N_QUANTITIES; i++)
  {
    add_plane_line (seen, q[i]);
    add_lens_line (seen, i, q[i]);
    /* What rests on the lines has a line of its own for the calibration, scale and all; and a
     * turn doesn't depend on the lens. */
    const gboolean from_lines = i < WS_DRILL_N_FROM_LINES || i == WS_DRILL_POINT_LENGTH;
    if (i == WS_DRILL_VIEW_TURN || (from_lines && seen->optics->lens != NULL))
      wsi_quantity_combine (q[i]);
    else
      wsi_quantity_finish (q[i], seen->optics);
  }
  wsi_drill_report_proud (seen, q, result);
  if (!seen->axis_unsure)
    return;
  forget_axis (q);
  wsi_result_hold (result, WS_HOLD_ACCEPT, "axis-unsure",
                   "The body looks asymmetric, as a near camera or the light may make it: half "
                   "angles and all else that counts from the axis are unknown. Calibrate the "
                   "camera, show more of the body, or light it from behind.");
}

/* ---- Burn ------------------------------------------------------------------------- */

/* A lip, and a bit more, in envelope radii from the axis. */
#define BURN_FROM 0.12
#define BURN_TO 0.985

static gboolean
is_on_lip (const WsDrillPoint *point, guint i, guint k)
{
  const WsDrillLip *lip = &point->lips[k];
  const double out = point->uz[i].x * lip->side / point->radius;
  const WsEdgePoint *p = &g_array_index (point->outline->points, WsEdgePoint, i);
  return !p->on_frame && out >= BURN_FROM && out <= BURN_TO && point->uz[i].y >= lip->corner.y;
}

/* Must come before perspective moves the outline.  Free with wsi_burn_edges_free(); NULL in
 * silhouettes. */
static WsBurnEdges *
lips_of (const WsImage *image, const WsOptics *optics, const WsDrillPoint *point)
{
  static const char *const labels[2] = { "a", "b" };
  WsBurnEdges *edges = wsi_burn_edges_new (image, optics, point->outline);
  const guint n = point->outline->points->len;
  for (guint k = 0; k < 2 && edges != NULL; k++)
  {
    guint from = 0, length = 0;
    while (from < n && (!is_on_lip (point, from, k) || is_on_lip (point, (from + n - 1) % n, k)))
      from++;
    while (length < n && is_on_lip (point, (from + length) % n, k))
      length++;
    wsi_burn_edges_add (edges, point->outline, labels[k], from, length);
  }
  return edges;
}

/* Where the body is so asymmetric that the axis may be off by this, rad, nothing is sure. */
#define MAX_PULL 0.003

/* A calibrated camera's distance is known; else the drill tells whether it is near. */
static gboolean
undo_perspective (WsDrillEvidence *seen, WsPerspective *perspective, WsDrillPoint **point,
                  gboolean in_fixture, WsResult *result)
{
  WsRefusal refusal = { 0 };
  WsCameraDistance distance = WS_CAMERA_FAR;
  if (wsi_perspective_of (seen->optics, seen->card, perspective))
  {
    distance = WS_CAMERA_NEAR;
    if (!wsi_perspective_undo (perspective, point, &refusal))
      return wsi_result_refuse (result, &refusal);
  }
  else if (wsi_attitude_undo (point, &seen->attitude))
    return TRUE;
  else if (seen->optics->lens == NULL)
  {
    perspective->foot = wsi_point (0.5 * (seen->image->width - 1), 0.5 * (seen->image->height - 1));
    distance = wsi_camera_distance_seek (perspective, point);
  }
  if (distance == WS_CAMERA_WRONG_HAND)
  {
    wsi_perspective_refuse_hand (perspective, &refusal);
    return wsi_result_refuse (result, &refusal);
  }
  /* Light, or what a fixture leaves of the body, may look like perspective. */
  seen->axis_unsure = distance == WS_CAMERA_UNCLEAR && (in_fixture || (*point)->outline->front_lit);
  if (distance == WS_CAMERA_UNCLEAR && !seen->axis_unsure &&
      fabs ((*point)->mirror.pull_angle) > MAX_PULL)
    return wsi_result_retake (
      result, WS_RETAKE_WRONG_VIEW,
      "the body looks asymmetric: clean it; calibrate a camera that is near");
  seen->perspective = distance == WS_CAMERA_NEAR ? perspective : NULL;
  if (distance == WS_CAMERA_NEAR)
    wsi_attitude_left (*point, seen->optics->lens != NULL, &seen->attitude);
  seen->otherwise = perspective->in_doubt ? &perspective->otherwise : NULL;
  return TRUE;
}

/* What the drill told of the camera. */
static void
say_camera (const WsDrillEvidence *seen, WsResult *result)
{
  if (seen->perspective == NULL)
    return;
  if (seen->perspective->hand_seen)
    result->hand = ws_hand_name (seen->perspective->hand > 0 ? WS_HAND_RIGHT : WS_HAND_LEFT);
  result->perspective_undone = TRUE;
  if (seen->optics->lens != NULL)
    return;
  const double distance = seen->perspective->distance, D = 2 * seen->point->radius;
  g_autofree char *where = seen->optics->has_scale
                             ? g_strdup_printf ("%.0f mm", distance * seen->optics->mm_per_px)
                             : g_strdup_printf ("%.0f diameters", distance / D);
  wsi_result_add_finding (
    result, "camera-near",
    g_strdup_printf ("The camera stands about %s from the drill, as the drill's own outline tells. "
                     "What that does to the picture was undone; a calibrated camera is surer.",
                     where),
    NULL);
}

/* A cone on a rod, a nail or a punch, has two clean edges as well, and a rod that was turned to a
 * blunt cone has a flat between them: the chisel edge tells the one, flutes the other, and where
 * neither is seen nothing tells that this is a drill. */
static void
hold_unless_drill (const WsDrillPoint *point, WsResult *result)
{
  const WsQuantity *flat = ws_result_quantity (result, "chisel_flat");
  const gboolean chisel = flat != NULL && flat->value > flat->U;
  const gboolean flutes = wsi_drill_shows_flutes (point);
  if (result->reason != WS_RETAKE_NONE || (chisel && flutes))
    return;
  if (!chisel && !flutes)
    wsi_result_hold (result, WS_HOLD_VERDICT, "not-seen",
                     "Neither flutes nor a chisel edge are seen: a cone on a rod looks the same. "
                     "Show more of the body behind the point, turn the lips until they lie square "
                     "to the camera, or look at the point from its end (drill-end).");
  else if (!chisel)
    wsi_result_hold (
      result, WS_HOLD_TOOL, "not-seen",
      "No chisel edge is seen between the lips. Make sure that this is a drill, turn it "
      "until its lips lie square to the camera, and show its tip larger.");
  else
    wsi_result_hold (
      result, WS_HOLD_TOOL, "not-seen",
      "No flutes are seen: a turned rod with a blunt cone looks the same. Show more of "
      "the body behind the point, so that its flutes show in the outline, or look at "
      "the point from its end (drill-end).");
}

/* Told from here on. */
#define BENT_SIGMAS 2.0

/* What is told of a lens isn't taken off: all of it is in what is measured, not anything up to it.
 */
#define ALL_OF_IT 1.7320508

/* A lens that bends more than this bends axis and lips beyond what the lines of U are reckoned for:
 * rendered drills. */
#define MOST_BEND 0.01

/* By the body's width, else by its axis. */
static WsPlumb
plumb_of (const WsDrillEvidence *seen)
{
  const guint width = seen->image->width, height = seen->image->height;
  const WsPlumb body = wsi_drill_body_plumb (seen->point, width, height);
  const WsPlumb axis = wsi_drill_axis_plumb (seen->point, width, height);
  const gboolean is_told = fabs (body.distortion) > BENT_SIGMAS * body.u;
  return is_told || axis.lines == 0 ? body : axis;
}

/* How much the lens may bend, by what the body shows of it or was told; 0: neither.  What a near
 * camera makes of a body's width is more than lenses do. */
static double
bend_of (const WsDrillEvidence *seen, WsResult *result)
{
  const double told = seen->optics->lens_distortion;
  if (seen->optics->lens != NULL || seen->perspective != NULL)
    return 0;
  const WsPlumb plumb = plumb_of (seen);
  const double seen_bend = fabs (plumb.distortion) + plumb.u;
  if (!(fabs (plumb.distortion) > plumb.u))
    return told;
  if (!(fabs (plumb.distortion) > BENT_SIGMAS * plumb.u))
    return MAX (seen_bend, told);
  wsi_silhouette_tell_bend (plumb.distortion, seen->optics, result);
  if (fabs (plumb.distortion) > MOST_BEND)
    wsi_result_hold (result, WS_HOLD_VERDICT, "lens-bends",
                     "The lens bends what is straight too much to judge a drill by its picture. "
                     "Calibrate the camera (whetsight calibrate) and measure again.");
  return MAX (ALL_OF_IT * seen_bend, told);
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  g_autoptr (WsOutline) outline = wsi_silhouette_trace_parts (image, optics, result);
  if (outline == NULL)
    return;
  const gboolean in_fixture = wsi_fixture_cut (outline);

  WsRefusal refusal = { 0 };
  g_autoptr (WsDrillPoint) point = wsi_drill_point_locate (outline, &refusal);
  if (point == NULL)
  {
    wsi_result_refuse (result, &refusal);
    return;
  }
  g_autoptr (WsBurnEdges) lips = lips_of (image, optics, point);
  g_autofree double *moves = wsi_whole_lips_weigh (image, point);
  WsPerspective perspective;
  WsDrillEvidence seen = { .image = image, .card = card, .optics = optics };
  if (!undo_perspective (&seen, &perspective, &point, in_fixture, result))
    return;
  wsi_whole_lips_direct (point, moves);
  seen.web = wsi_web_of (perspective.web_px, 2 * point->radius);
  const WsViewTurn turn = wsi_view_turn_estimate (point, &seen.web);
  result->turn_deg = wsi_degrees (turn.mean);
  result->u_turn_deg = wsi_degrees (turn.deviation);
  if (seen.attitude.seen)
    result->lean_deg = wsi_degrees (seen.attitude.lean);
  if (!gate_attitude (&seen.attitude, seen.perspective != NULL, result) ||
      !gate_point (point, &turn, result))
    return;
  wsi_drill_mark (point, result);
  seen.point = point;
  seen.turn = &turn;
  seen.bend = bend_of (&seen, result);
  say_camera (&seen, result);
  fill_quantities (&seen, result);
  hold_unless_drill (point, result);
  wsi_burn_edges_report (lips, card, optics, FALSE, result);
}

static void
advise (const WsToolCard *card, WsResult *result)
{
  wsi_burn_advise (card, result);
  wsi_drill_side_advise (card, result);
}

#define TWIST (1u << WS_KIND_TWIST_DRILL)
#define DRILLS (TWIST | 1u << WS_KIND_SPOT_DRILL)

static const WsRequired required[] = {
  { .kinds = DRILLS, .stem = "point_angle" },
  { .kinds = DRILLS, .stem = "half_angle_difference" },
  { .kinds = DRILLS, .stem = "lip_length_difference" },
  { .kinds = DRILLS, .stem = "lip_height_difference" },
  { .kinds = DRILLS, .stem = "point_offset" },
  /* A spot drill's diameter makes no hole. */
  { .kinds = TWIST, .stem = "diameter", .on_card = "diameter_mm is missing on the tool card" },
  { .kinds = DRILLS, .stem = "corner_wear_a" },
  { .kinds = DRILLS, .stem = "corner_wear_b" },
  { .kinds = DRILLS, .stem = "lip_straightness_a" },
  { .kinds = DRILLS, .stem = "lip_straightness_b" },
  { .kinds = DRILLS, .stem = "chip_depth_a" },
  { .kinds = DRILLS, .stem = "chip_depth_b" },
};

static const WsFitBand fits[] = {
  { WS_TRAIT_DIAMETER, "diameter", WS_FIT_DRILL_BELOW, 0, WS_FIT_DRILL_SLACK_MM, FALSE },
  { WS_TRAIT_POINT, "point_angle", WS_FIT_POINT_DEG, WS_FIT_POINT_DEG, 0, FALSE },
};

const WsView wsi_view_drill_side = {
  .name = "drill-side",
  .summary = "drill point from the side in silhouette, both lips in the picture's plane",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL,
  .needs = WS_IMAGE_CODED,
  .quantities = quantities,
  .n_quantities = G_N_ELEMENTS (quantities),
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .own_size = "diameter",
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .measure = measure,
  .advise = advise,
};

const WsView wsi_view_drill_reverse = {
  .name = "drill-reverse",
  .summary = "the same in two pictures half a turn apart, which takes the camera's lean out",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL,
  .needs = WS_IMAGE_CODED,
  .quantities = quantities,
  .n_quantities = WS_DRILL_N_QUANTITIES,
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .series = &wsi_drill_reverse_series,
  .measure = wsi_drill_reverse_measure,
  .advise = advise,
};
