/*
 * View `drill-roll`: a series of silhouettes of one drill, rolled about its axis in a V-block.
 * Definitions of all quantities: docs/methods/drill-roll.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/card_fit.h"
#include "tool/drill/fixture.h"
#include "tool/drill/flank_advice.h"
#include "tool/drill/roll/phase.h"
#include "tool/drill/roll/told.h"
#include "tool/drill/shared_quantities.h"
#include "tool/drill/side/advice.h"
#include "tool/silhouette.h"

static const WsQuantityInfo quantities[WS_ROLLED_N] = {
  { "run_out_point", WS_UNIT_LENGTH, NULL, "Run-out at the point",
    "Of the drill's axis at its outer corners, full indicator, about the line it is turned "
    "about." },
  { "run_out_far", WS_UNIT_LENGTH, NULL, "Run-out far from it",
    "The same at the far end of the body in the pictures." },
  { "bend_tilt", WS_UNIT_DEGREE, NULL, "Tilt of the axis",
    "Angle between the drill's axis near its point and the line it is turned about." },
  { "bend_direction", WS_UNIT_DEGREE, NULL, "Direction of run-out",
    "In which the point stands off, from lip b on, counter-clockwise as the point is seen." },
  WS_DRILL_LIP_QUANTITIES,
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "Of the body's envelope." },
  WS_DRILL_FLUTE_QUANTITIES,
  { "web", WS_UNIT_LENGTH, NULL, "Web between the lips",
    "Distance of the lips from each other, square to them." },
  { "lip_relief_a", WS_UNIT_DEGREE, NULL, "Lip relief a",
    "How steeply the flank of lip a falls along the circle at its outer corner." },
  { "lip_relief_b", WS_UNIT_DEGREE, NULL, "Lip relief b",
    "How steeply the flank of lip b falls along the circle at its outer corner." },
  { "lip_relief_half_radius_a", WS_UNIT_DEGREE, NULL, "Lip relief a at half radius",
    "The same of lip a at half the radius." },
  { "lip_relief_half_radius_b", WS_UNIT_DEGREE, NULL, "Lip relief b at half radius",
    "The same of lip b at half the radius." },
  { "chisel_edge_angle", WS_UNIT_DEGREE, NULL, "Chisel edge angle",
    "Obtuse angle between the lips' direction and the chisel edge, as the point is seen." },
  { "margin_width", WS_UNIT_LENGTH, NULL, "Margin width",
    "Of the margins, square to them; mean of both." },
};

#define LEAST_PICTURES 8

/* ---- What is kept ----------------------------------------------------------------------- */

typedef struct
{
  WsRoll *roll;
  double level_u; /* greatest of the outlines' places as a whole, px */
} Room;

static gpointer
begin (void)
{
  Room *room = g_new0 (Room, 1);
  room->roll = wsi_roll_new ();
  return room;
}

static void
end (gpointer data)
{
  Room *room = data;
  wsi_roll_free (room->roll);
  g_free (room);
}

static void
take (gpointer data, guint i, const WsImage *image, const WsToolCard *card, const WsOptics *optics,
      WsResult *result)
{
  Room *room = data;
  (void)card;
  WsRefusal refusal = { 0 };
  if (optics->lens != NULL && optics->lens->model == WS_LENS_PINHOLE)
  {
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                       "a rolled drill wants parallel projection, and the calibration is of a near "
                       "camera");
    return;
  }
  g_autoptr (WsOutline) outline = wsi_silhouette_trace_parts (image, optics, result);
  if (outline == NULL)
    return;
  wsi_fixture_cut (outline);
  if (!wsi_roll_add (room->roll, i, outline, &refusal))
  {
    wsi_result_refuse (result, &refusal);
    return;
  }
  room->level_u = MAX (room->level_u, wsi_silhouette_level_u (image, outline));
}

/* ---- Gates ------------------------------------------------------------------------------ */

/* Middles of a two-flute body's heights lie on one axis to this, px and in radii; three flutes
 * leave some hundredths of a radius. */
#define MOST_MIDDLE_PX 0.3
#define MOST_MIDDLE 0.004

/* A camera nearer than this many radii makes more of the lean than parallel projection does. */
#define FAR_RADII 4000.0

static gboolean
gate_flutes (const WsRoll *roll, WsResult *result)
{
  const double radius = wsi_roll_frame (roll, 0)->half_width;
  if (wsi_roll_middle_rms (roll) <= MOST_MIDDLE_PX + MOST_MIDDLE * radius)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "the body's outline is not symmetric about an axis: not two flutes");
}

static gboolean
gate_distance (const WsRoll *roll, WsResult *result)
{
  if (fabs (roll->near) <= 6 * roll->u_near || fabs (roll->near) <= 1 / FAR_RADII)
    return TRUE;
  return wsi_result_retake (
    result, WS_RETAKE_WRONG_VIEW,
    "a near camera, as the body tells; a rolled drill wants parallel projection");
}

/* Less of a turn doesn't tell a circle. */
#define LEAST_ROLL_DEG 300.0

static gboolean
gate_turns (const WsRoll *roll, WsResult *result)
{
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i < roll->frames->len; i++)
  {
    low = MIN (low, wsi_roll_frame (roll, i)->turn);
    high = MAX (high, wsi_roll_frame (roll, i)->turn);
  }
  const double step = (high - low) / MAX (roll->frames->len - 1.0, 1);
  if (wsi_roll_half_turns_missed (roll, wsi_roll_frame (roll, 0)->tip))
    return wsi_result_retake (
      result, WS_RETAKE_WRONG_VIEW,
      "the axis goes round as if half turns lay between some pictures: take "
      "smaller steps, or give the pictures in their order");
  if (wsi_degrees (high - low + step) >= LEAST_ROLL_DEG)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "the drill is rolled by %.0f degrees only; a whole turn is needed",
                            wsi_degrees (high - low));
}

/* ---- The whole ----------------------------------------------------------------------------- */

/* Where the lips aren't found the corners lie about so far below the tip, in radii. */
#define USUAL_CORNERS 0.55

/* The point's body needs the lips' curves; what can't be seen of it is told with its reason. */
static void
fill_flanks (const WsRollFill *fill, const WsRollLips *lips, WsResult *result)
{
  WsRefusal refusal = { 0 };
  WsRollFlanks flanks;
  WsRollMargin margin;
  if (lips != NULL && wsi_roll_find_flanks (fill->roll, lips, &flanks, &refusal))
  {
    wsi_roll_fill_flanks (fill, lips, &flanks);
    wsi_result_add_finding (
      result, "flanks-seen",
      g_strdup_printf ("The flanks are seen from %.2f to %.2f of the radius behind their lips. "
                       "What lies farther back isn't.",
                       flanks.reach[0], flanks.reach[1]),
      NULL);
  }
  else if (lips != NULL)
    wsi_result_add_finding (
      result, "flanks-unseen",
      g_strdup_printf ("Lip relief and chisel edge can't be told: %s.", refusal.detail), NULL);
  if (wsi_roll_find_margin (fill->roll, &margin, &refusal))
    wsi_roll_fill_margin (fill, &margin);
  else
    wsi_result_add_finding (
      result, "margin-unseen",
      g_strdup_printf ("The margins' width can't be told: %s.", refusal.detail), NULL);
}

/* `corners`: their height. */
static void
fill_axis (const WsRollFill *fill, const WsRollLips *lips, double corners, WsResult *result)
{
  const WsRoll *roll = fill->roll;
  const WsOptics *optics = fill->optics;
  const WsRollFrame *frame = wsi_roll_shown_frame (roll, result->shown);
  WsRollStation point, far;
  if (!wsi_roll_station (roll, corners, &point) || !wsi_roll_station (roll, roll->low, &far))
    return;
  wsi_roll_fill_run_out (fill, &point, &far, corners - roll->low, lips);
  wsi_roll_tell_block (fill, &far, result);
  wsi_roll_keep_turns (fill, &point, corners, result);
  result->far_mm = (corners - roll->low) * (optics->has_scale ? optics->mm_per_px : 1);
  wsi_quantity_set_place (fill->q[WS_ROLLED_RUN_OUT_POINT],
                          wsi_axis_to_picture (&frame->axis, wsi_point (0, corners)));
}

static void
fill_all (const Room *room, const WsRollLips *lips, const WsToolCard *card, const WsOptics *optics,
          WsResult *result)
{
  const WsRoll *roll = room->roll;
  WsRollFill fill = { .roll = roll, .optics = optics, .level_u = room->level_u };
  for (guint i = 0; i < WS_ROLLED_N; i++)
    fill.q[i] = wsi_result_add_quantity (result, &quantities[i], optics->has_scale);
  const WsRollFrame *frame = wsi_roll_shown_frame (roll, lips != NULL ? lips->shown : 0);
  const double corners =
    lips != NULL ? lips->value[WS_ROLL_CORNERS] : frame->tip - USUAL_CORNERS * roll->radius;
  result->shown = frame->picture;
  wsi_roll_fill_body (&fill);
  fill_axis (&fill, lips, corners, result);
  if (lips != NULL)
  {
    wsi_roll_fill_lips (&fill, lips);
    wsi_roll_hold_unclean (lips, result);
    wsi_roll_mark_lips (roll, frame, lips, result);
  }
  fill_flanks (&fill, lips, result);
  wsi_roll_mark_body (roll, frame, corners, result);
  wsi_roll_tell_hand (card, result);
  for (guint i = 0; i < WS_ROLLED_N; i++)
    if (fill.q[i]->known)
      wsi_quantity_finish (fill.q[i], optics);
}

static void
finish (gpointer data, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  Room *room = data;
  WsRoll *roll = room->roll;
  WsRefusal refusal = { 0 };
  WsRollLips lips;
  if (roll->frames->len < LEAST_PICTURES)
  {
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW, "only %u pictures can be used",
                       roll->frames->len);
    return;
  }
  result->shown = wsi_roll_frame (roll, 0)->picture;
  if (!wsi_roll_sample (roll, &refusal) ||
      (gate_flutes (roll, result) && !wsi_roll_find_phases (roll, &refusal)))
    wsi_result_refuse (result, &refusal);
  if (result->reason != WS_RETAKE_NONE)
    return;
  wsi_roll_true_axes (roll);
  if (!gate_distance (roll, result) || !gate_turns (roll, result))
    return;
  const gboolean seen = wsi_roll_find_lips (roll, &lips, &refusal);
  fill_all (room, seen ? &lips : NULL, card, optics, result);
  if (!seen)
    wsi_result_add_finding (result, "lips-unseen",
                            g_strdup_printf ("The lips can't be told: %s.", refusal.detail), NULL);
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  (void)image;
  (void)card;
  (void)optics;
  wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                     "one picture is no series: name 8 or more of the same drill, rolled");
}

/* ---- Advice -------------------------------------------------------------------------------- */

static void
advise (const WsToolCard *card, WsResult *result)
{
  const WsQuantity *run_out = ws_result_quantity (result, "run_out_point");
  const WsQuantity *direction = ws_result_quantity (result, "bend_direction");
  if (run_out == NULL || run_out->verdict != WS_VERDICT_REJECT)
  {
    wsi_drill_side_advise (card, result);
    if (!wsi_drill_advise_relief (result, "lip_relief_a"))
      wsi_drill_advise_relief (result, "lip_relief_b");
    wsi_drill_advise_chisel (result);
    return;
  }
  wsi_result_add_finding (
    result, "bent",
    direction != NULL
      ? g_strdup_printf (
          "The drill is bent: its point runs out, toward %.0f degrees from lip b. It "
          "drills oversize, and the hole wanders.",
          direction->value)
      : g_strdup ("The drill is bent: its point runs out. It drills oversize, and the hole "
                  "wanders."),
    ws_quantity_place (run_out));
  wsi_advise_set_aside (result, g_strdup ("No grinding straightens a bent drill."));
}

#define TWIST (1u << WS_KIND_TWIST_DRILL)
#define DRILLS (TWIST | 1u << WS_KIND_SPOT_DRILL)

static const WsRequired required[] = {
  { .kinds = DRILLS,
    .stem = "run_out_point",
    .on_card = "length_mm, from which its limit follows, is missing on the tool card" },
  { .kinds = DRILLS, .stem = "point_angle" },
  { .kinds = DRILLS, .stem = "half_angle_difference" },
  { .kinds = DRILLS, .stem = "lip_length_difference" },
  { .kinds = DRILLS, .stem = "lip_height_difference" },
  { .kinds = DRILLS, .stem = "point_offset" },
  { .kinds = TWIST, .stem = "diameter", .on_card = "diameter_mm is missing on the tool card" },
};

static const WsFitBand fits[] = {
  { WS_TRAIT_DIAMETER, "diameter", WS_FIT_DRILL_BELOW, 0, WS_FIT_DRILL_SLACK_MM, FALSE },
  { WS_TRAIT_POINT, "point_angle", WS_FIT_POINT_DEG, WS_FIT_POINT_DEG, 0, FALSE },
};

static const WsSeriesView series = {
  .least = LEAST_PICTURES,
  .most = 200,
  .begin = begin,
  .take = take,
  .finish = finish,
  .end = end,
};

const WsView wsi_view_drill_roll = {
  .name = "drill-roll",
  .summary = "a series of silhouettes of one drill, rolled about its axis",
  .kinds = DRILLS,
  .needs = WS_IMAGE_CODED,
  .quantities = quantities,
  .n_quantities = G_N_ELEMENTS (quantities),
  .fits = fits,
  .n_fits = G_N_ELEMENTS (fits),
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .series = &series,
  .measure = measure,
  .advise = advise,
};
