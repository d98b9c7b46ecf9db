#include "tool/drill/roll/told.h"

#include "base/geometry.h"
#include "result/build.h"

/* Of a lip's points; more is no clean edge. */
#define MOST_LEFT_OUT 0.06

void
wsi_roll_hold_unclean (const WsRollLips *lips, WsResult *result)
{
  for (guint k = 0; k < 2; k++)
    if (lips->left_out[k] > MOST_LEFT_OUT)
      wsi_result_hold (
        result, WS_HOLD_ACCEPT, "not-seen",
        "%.0f %% of lip %s stands off its line: a chip, a wire edge or dirt. Look at it from "
        "the side (drill-side).",
        100 * lips->left_out[k], k == 0 ? "a" : "b");
}

/* A lobe is told from here on, in its u, and mm. */
#define LOBE_SIGMAS 4.0

void
wsi_roll_tell_block (const WsRollFill *fill, const WsRollStation *far, WsResult *result)
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

void
wsi_roll_tell_hand (const WsToolCard *card, WsResult *result)
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
void
wsi_roll_keep_turns (const WsRollFill *fill, const WsRollStation *point, double z, WsResult *result)
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

const WsRollFrame *
wsi_roll_shown_frame (const WsRoll *roll, guint picture)
{
  for (guint i = 0; i < roll->frames->len; i++)
    if (wsi_roll_frame (roll, i)->picture == picture)
      return wsi_roll_frame (roll, i);
  return wsi_roll_frame (roll, 0);
}

void
wsi_roll_mark_body (const WsRoll *roll, const WsRollFrame *frame, double corners, WsResult *result)
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

void
wsi_roll_mark_lips (const WsRoll *roll, const WsRollFrame *frame, const WsRollLips *lips,
                    WsResult *result)
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
