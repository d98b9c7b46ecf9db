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
#include "tool/drill/roll/lips.h"
#include "tool/drill/roll/phase.h"
#include "tool/drill/roll/run_out.h"
#include "tool/drill/side/advice.h"
#include "tool/silhouette.h"

enum
{
  RUN_OUT_POINT,
  RUN_OUT_FAR,
  BEND_TILT,
  BEND_DIRECTION,
  POINT_ANGLE,
  HALF_ANGLE_A,
  HALF_ANGLE_B,
  HALF_ANGLE_DIFFERENCE,
  LIP_LENGTH_A,
  LIP_LENGTH_B,
  LIP_LENGTH_DIFFERENCE,
  LIP_HEIGHT_DIFFERENCE,
  POINT_OFFSET,
  DIAMETER,
  LEAD,
  HELIX,
  WEB,
  N_QUANTITIES
};

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  { "run_out_point", WS_UNIT_LENGTH, NULL, "Run-out at the point",
    "Of the drill's axis at its outer corners, full indicator, about the line it is turned "
    "about." },
  { "run_out_far", WS_UNIT_LENGTH, NULL, "Run-out far from it",
    "The same at the far end of the body in the pictures." },
  { "bend_tilt", WS_UNIT_DEGREE, NULL, "Tilt of the axis",
    "Angle between the drill's axis near its point and the line it is turned about." },
  { "bend_direction", WS_UNIT_DEGREE, NULL, "Direction of run-out",
    "In which the point stands off, from lip b on, counter-clockwise as the point is seen." },
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "Sum of the two half angles." },
  { "half_angle_a", WS_UNIT_DEGREE, NULL, "Half angle a",
    "Angle between lip a, the left one in the picture shown, and the drill's axis." },
  { "half_angle_b", WS_UNIT_DEGREE, NULL, "Half angle b",
    "Angle between lip b, the right one in the picture shown, and the drill's axis." },
  { "half_angle_difference", WS_UNIT_DEGREE, NULL, "Half angle a - b",
    "Half angle a minus half angle b." },
  { "lip_length_a", WS_UNIT_LENGTH, NULL, "Lip length a",
    "Along lip line a from the envelope to the apex." },
  { "lip_length_b", WS_UNIT_LENGTH, NULL, "Lip length b",
    "Along lip line b from the envelope to the apex." },
  { "lip_length_difference", WS_UNIT_LENGTH, NULL, "Lip length a - b",
    "Length of lip a minus length of lip b." },
  { "lip_height_difference", WS_UNIT_LENGTH, NULL, "Lip height a - b",
    "Height along the axis of lip a minus lip b, both at the envelope radius." },
  { "point_offset", WS_UNIT_LENGTH, NULL, "Point offset",
    "Distance of the apex from the axis, positive toward lip b." },
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "Of the body's envelope." },
  { "lead", WS_UNIT_LENGTH, NULL, "Lead of the flutes", "Along the axis for one turn." },
  { "helix", WS_UNIT_DEGREE, "FHA", "Helix angle", "Of the flutes at the envelope." },
  { "web", WS_UNIT_LENGTH, NULL, "Web between the lips",
    "Distance of the lips from each other, square to them." },
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

/* ---- Quantities --------------------------------------------------------------------------- */

typedef struct
{
  const Room *room;
  const WsRoll *roll;
  const WsOptics *optics;
  WsQuantity *q[N_QUANTITIES];
} Fill;

/* What makes 95 % of so few degrees of freedom, as a part of what it makes of many: Student's t
 * over 2, by a series in 1 / freedom that is good to 2 %. */
static double
student (double freedom)
{
  const double f = 1 / MAX (freedom, 2);
  return 0.5 * (1.96 + 2.37 * f + 2.82 * f * f + 2.56 * f * f * f);
}

/* A sensor's pixels are square to a part in 50,000, as drill-side's budget has it. */
#define PIXEL_ASPECT (0.00002 / 1.7320508)

static void
add_seen (const Fill *fill, guint which, const char *name, double u)
{
  wsi_quantity_add_seen_line (fill->q[which], name, WS_DISTRIBUTION_NORMAL, u, fill->optics);
}

/* What goes round with the drill beside its axis, px, full indicator: what the lean leaves of the
 * body's middles (rendered drills). */
#define AXIS_LEFT_PX 0.04

static void
fill_station (const Fill *fill, guint which, const WsRollStation *station)
{
  const double freedom = fill->roll->frames->len - 3.0;
  wsi_quantity_set_seen (fill->q[which], 2 * station->radius, fill->optics);
  add_seen (fill, which, "play of the block and lobes, from picture to picture",
            2 * station->u * student (freedom));
  add_seen (fill, which, "axis", AXIS_LEFT_PX);
}

/* A direction is known where the run-out is more than this many of its u. */
#define DIRECTION_SIGMAS 4.0

static void
fill_bend (const Fill *fill, const WsRollStation *point, const WsRollStation *far, double between,
           const WsRollLips *lips)
{
  const WsRoll *roll = fill->roll;
  const double freedom = roll->frames->len - 3.0, u = hypot (point->u, far->u) / between;
  const double square = roll->slope_x * roll->slope_x + roll->slope_y * roll->slope_y;
  wsi_quantity_set_seen (fill->q[BEND_TILT], atan (sqrt (MAX (square - 2 * u * u, 0))),
                         fill->optics);
  add_seen (fill, BEND_TILT, "play of the block, from picture to picture", u * student (freedom));
  if (lips == NULL || point->radius < DIRECTION_SIGMAS * point->u)
    return;
  double direction = atan2 (point->y, point->x) + lips->lip_turn;
  direction -= 2 * G_PI * floor (direction / (2 * G_PI));
  wsi_quantity_set_seen (fill->q[BEND_DIRECTION], direction, fill->optics);
  add_seen (fill, BEND_DIRECTION, "play of the block and lobes, from picture to picture",
            point->u / point->radius * student (freedom));
}

/* How much of a lip's shape the model leaves, of the radius (rendered drills): a lip ground off its
 * flute's design angle is no parabola. */
#define LIP_MODEL 0.00003
#define HEIGHT_MODEL 0.00005
#define WEB_MODEL 0.004

static void
fill_lip (const Fill *fill, guint which, const WsRollLips *lips, guint value)
{
  const double R = fill->roll->radius;
  const gboolean is_angle = value <= WS_ROLL_HALF_ANGLE_DIFFERENCE;
  const double freedom = lips->n_frames - 2.0;
  WsQuantity *quantity = fill->q[which];
  wsi_quantity_set_seen (quantity, lips->value[value], fill->optics);
  add_seen (fill, which, "edge noise, form and turn, from picture to picture",
            lips->u[value] * student (freedom));
  add_seen (fill, which, "model of the lip",
            is_angle ? LIP_MODEL : (which == WEB ? WEB_MODEL : HEIGHT_MODEL) * R);
  if (is_angle)
    add_seen (fill, which, "pixel aspect",
              PIXEL_ASPECT * (value == WS_ROLL_HALF_ANGLE_DIFFERENCE ? 0.1 : 0.5));
}

static void
fill_lips (const Fill *fill, const WsRollLips *lips)
{
  static const guint of[][2] = {
    { POINT_ANGLE, WS_ROLL_POINT_ANGLE },
    { HALF_ANGLE_A, WS_ROLL_HALF_ANGLE_A },
    { HALF_ANGLE_B, WS_ROLL_HALF_ANGLE_B },
    { HALF_ANGLE_DIFFERENCE, WS_ROLL_HALF_ANGLE_DIFFERENCE },
    { LIP_LENGTH_A, WS_ROLL_LIP_LENGTH_A },
    { LIP_LENGTH_B, WS_ROLL_LIP_LENGTH_B },
    { LIP_LENGTH_DIFFERENCE, WS_ROLL_LIP_LENGTH_DIFFERENCE },
    { LIP_HEIGHT_DIFFERENCE, WS_ROLL_LIP_HEIGHT_DIFFERENCE },
    { POINT_OFFSET, WS_ROLL_POINT_OFFSET },
    { WEB, WS_ROLL_WEB },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (of); i++)
    fill_lip (fill, of[i][0], lips, of[i][1]);
  /* The envelope makes the lips' ends; where the outline lies as a whole moves both. */
  for (guint i = LIP_LENGTH_A; i <= LIP_LENGTH_B; i++)
    add_seen (fill, i, "tonal encoding and threshold", 1.2 * fill->room->level_u);
}

/* What bins and kinks of the profile leave of its highest stretch, px. */
#define ENVELOPE_U_PX 0.02

/* What the profile's straight pieces make of the lead, as a part of it (rendered drills). */
#define LEAD_MODEL 0.00006

static void
fill_body (const Fill *fill)
{
  const WsRoll *roll = fill->roll;
  /* A round edge is seen a little inside its place. */
  double blur = 0;
  for (guint i = 0; i < roll->frames->len; i++)
    blur += wsi_roll_frame (roll, i)->blur / roll->frames->len;
  const double rounding = blur * blur / (2 * MAX (roll->radius, blur));
  wsi_quantity_set_seen (fill->q[DIAMETER], 2 * (roll->radius + rounding), fill->optics);
  add_seen (fill, DIAMETER, "tonal encoding and threshold", 2 * fill->room->level_u);
  add_seen (fill, DIAMETER, "envelope", 2 * hypot (ENVELOPE_U_PX, 0.3 * rounding));
  wsi_quantity_set_seen (fill->q[LEAD], roll->lead, fill->optics);
  const double u_lead = hypot (2 * roll->u_lead, LEAD_MODEL * roll->lead);
  add_seen (fill, LEAD, "edge noise and form", 2 * roll->u_lead);
  add_seen (fill, LEAD, "model of the profile", LEAD_MODEL * roll->lead);
  const double tangent = 2 * G_PI * roll->radius / roll->lead;
  wsi_quantity_set_seen (fill->q[HELIX], atan (tangent), fill->optics);
  add_seen (fill, HELIX, "lead and envelope",
            tangent / (1 + tangent * tangent) *
              hypot (u_lead / roll->lead, (fill->room->level_u + ENVELOPE_U_PX) / roll->radius));
}

/* ---- What is told ------------------------------------------------------------------------- */

/* Of a lip's points; more is no clean edge. */
#define MOST_LEFT_OUT 0.06

static void
hold_unclean (const WsRollLips *lips, WsResult *result)
{
  for (guint k = 0; k < 2; k++)
    if (lips->left_out[k] > MOST_LEFT_OUT)
      wsi_result_hold (
        result, WS_HOLD_ACCEPT, "not-seen",
        "%.0f %% of lip %s stands off its line: a chip, or dirt. Look at it from the "
        "side (drill-side).",
        100 * lips->left_out[k], k == 0 ? "a" : "b");
}

/* A lobe is told from here on, in its u, and mm. */
#define LOBE_SIGMAS 4.0

static void
tell_block (const Fill *fill, const WsRollStation *far, WsResult *result)
{
  const double per = fill->optics->has_scale ? fill->optics->mm_per_px : 1;
  const char *unit = fill->optics->has_scale ? "mm" : "px";
  wsi_result_add_finding (result, "block-play",
                          g_strdup_printf ("Beside its run-out the drill moved by %.4f %s (RMS) "
                                           "from picture to picture: play in the block, or its "
                                           "wear. U allows for that.",
                                           far->left * per, unit),
                          NULL);
  for (guint h = 0; h < 2; h++)
    if (far->lobes[h] > LOBE_SIGMAS * far->u_lobe)
      wsi_result_add_finding (
        result, "lobes",
        g_strdup_printf ("The axis moves by %.4f %s %u times a turn: what lies in the block is out "
                         "of round. That is no run-out, and isn't counted as such.",
                         far->lobes[h] * per, unit, h + 2),
        NULL);
}

static void
tell_hand (const WsToolCard *card, WsResult *result)
{
  result->hand = ws_hand_name (card->hand);
  if (card->hand != WS_HAND_UNKNOWN)
    return;
  wsi_result_add_finding (
    result, "hand-unknown",
    g_strdup (
      "Silhouettes of a right-hand drill turned one way are those of a left-hand one turned "
      "the other way: the hand is unknown, and directions are told as for a right-hand "
      "drill. The card can say it (hand)."),
    NULL);
}

/* The point's axis in every picture, for the plot. */
static void
keep_turns (const Fill *fill, const WsRollStation *point, double z, WsResult *result)
{
  const WsRoll *roll = fill->roll;
  const double per = fill->optics->has_scale ? fill->optics->mm_per_px : 1;
  const double first = wsi_roll_frame (roll, 0)->turn;
  result->turned = g_array_new (FALSE, FALSE, sizeof (WsTurned));
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    const double fit = point->x * cos (frame->turn) - point->y * sin (frame->turn);
    const WsTurned turned = { .picture = frame->picture,
                              .turn_deg = wsi_degrees (frame->turn - first),
                              .off = per * (frame->offset + frame->slope * z - point->middle),
                              .fit = per * fit };
    g_array_append_val (result->turned, turned);
  }
}

static const WsRollFrame *
shown_frame (const WsRoll *roll, guint picture)
{
  for (guint i = 0; i < roll->frames->len; i++)
    if (wsi_roll_frame (roll, i)->picture == picture)
      return wsi_roll_frame (roll, i);
  return wsi_roll_frame (roll, 0);
}

static void
mark (const WsRoll *roll, const WsRollFrame *frame, double corners, WsResult *result)
{
  const double R = roll->radius;
  const WsPoint axis[2] = { wsi_axis_to_picture (&frame->axis, wsi_point (0, roll->low)),
                            wsi_axis_to_picture (&frame->axis, wsi_point (0, frame->tip)) };
  wsi_result_add_mark (result, WS_MARK_AXIS, NULL, axis, 2);
  for (int side = -1; side <= 1; side += 2)
  {
    const WsPoint edge[2] = { wsi_axis_to_picture (&frame->axis, wsi_point (side * R, roll->low)),
                              wsi_axis_to_picture (&frame->axis, wsi_point (side * R, corners)) };
    wsi_result_add_mark (result, WS_MARK_ENVELOPE, NULL, edge, 2);
  }
}

static void
mark_lips (const WsRoll *roll, const WsRollFrame *frame, const WsRollLips *lips, WsResult *result)
{
  const double R = roll->radius, ka = lips->value[WS_ROLL_HALF_ANGLE_A];
  const double half = 0.5 * lips->value[WS_ROLL_LIP_HEIGHT_DIFFERENCE];
  const WsPoint a = wsi_axis_to_picture (&frame->axis,
                                         wsi_point (-R, lips->value[WS_ROLL_CORNERS] + half)),
                b = wsi_axis_to_picture (&frame->axis,
                                         wsi_point (R, lips->value[WS_ROLL_CORNERS] - half));
  const double x = lips->value[WS_ROLL_POINT_OFFSET];
  const WsPoint apex = wsi_axis_to_picture (
    &frame->axis, wsi_point (x, lips->value[WS_ROLL_CORNERS] + half + (R + x) / tan (ka)));
  const WsPoint lip_a[2] = { a, apex }, lip_b[2] = { b, apex };
  wsi_result_add_mark (result, WS_MARK_EDGE_LINE, "a", lip_a, 2);
  wsi_result_add_mark (result, WS_MARK_EDGE_LINE, "b", lip_b, 2);
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, &apex, 1);
  wsi_result_add_mark (result, WS_MARK_CORNER, NULL, &a, 1);
  wsi_result_add_mark (result, WS_MARK_CORNER, NULL, &b, 1);
}

/* ---- The whole ----------------------------------------------------------------------------- */

/* Where the lips aren't found the corners lie about so far below the tip, in radii. */
#define USUAL_CORNERS 0.55

static void
fill_all (const Room *room, const WsRollLips *lips, const WsToolCard *card, const WsOptics *optics,
          WsResult *result)
{
  const WsRoll *roll = room->roll;
  Fill fill = { .room = room, .roll = roll, .optics = optics };
  WsRollStation point, far;
  for (guint i = 0; i < N_QUANTITIES; i++)
    fill.q[i] = wsi_result_add_quantity (result, &quantities[i], optics->has_scale);
  const WsRollFrame *frame = shown_frame (roll, lips != NULL ? lips->shown : 0);
  const double corners =
    lips != NULL ? lips->value[WS_ROLL_CORNERS] : frame->tip - USUAL_CORNERS * roll->radius;
  result->shown = frame->picture;
  fill_body (&fill);
  if (wsi_roll_station (roll, corners, &point) && wsi_roll_station (roll, roll->low, &far))
  {
    fill_station (&fill, RUN_OUT_POINT, &point);
    fill_station (&fill, RUN_OUT_FAR, &far);
    fill_bend (&fill, &point, &far, corners - roll->low, lips);
    tell_block (&fill, &far, result);
    keep_turns (&fill, &point, corners, result);
    result->far_mm = (corners - roll->low) * (optics->has_scale ? optics->mm_per_px : 1);
    wsi_quantity_set_place (fill.q[RUN_OUT_POINT],
                            wsi_axis_to_picture (&frame->axis, wsi_point (0, corners)));
  }
  if (lips != NULL)
  {
    fill_lips (&fill, lips);
    hold_unclean (lips, result);
    mark_lips (roll, frame, lips, result);
  }
  mark (roll, frame, corners, result);
  tell_hand (card, result);
  for (guint i = 0; i < N_QUANTITIES; i++)
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
  { WS_TRAIT_DIAMETER, "diameter", WS_FIT_DRILL_BELOW, WS_FIT_DRILL_ABOVE, WS_FIT_DRILL_SLACK_MM,
    FALSE },
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
  .needs = WS_IMAGE_GREY,
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
