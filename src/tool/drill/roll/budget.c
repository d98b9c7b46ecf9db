#include "base/geometry.h"
#include "result/build.h"
#include "tool/drill/roll/quantities.h"

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
add_seen (const WsRollFill *fill, guint which, const char *name, double u)
{
  wsi_quantity_add_seen_line (fill->q[which], name, WS_DISTRIBUTION_NORMAL, u, fill->optics);
}

/* What goes round with the drill beside its axis, px, full indicator: what the lean leaves of the
 * body's middles (rendered drills). */
#define AXIS_LEFT_PX 0.04

static void
fill_station (const WsRollFill *fill, guint which, const WsRollStation *station)
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
fill_bend (const WsRollFill *fill, const WsRollStation *point, const WsRollStation *far,
           double between, const WsRollLips *lips)
{
  const WsRoll *roll = fill->roll;
  const double freedom = roll->frames->len - 3.0, u = hypot (point->u, far->u) / between;
  const double square = roll->slope_x * roll->slope_x + roll->slope_y * roll->slope_y;
  wsi_quantity_set_seen (fill->q[WS_ROLLED_BEND_TILT], atan (sqrt (MAX (square - 2 * u * u, 0))),
                         fill->optics);
  add_seen (fill, WS_ROLLED_BEND_TILT, "play of the block, from picture to picture",
            u * student (freedom));
  if (lips == NULL || point->radius < DIRECTION_SIGMAS * point->u)
    return;
  double direction = atan2 (point->y, point->x) + lips->lip_turn;
  direction -= 2 * G_PI * floor (direction / (2 * G_PI));
  wsi_quantity_set_seen (fill->q[WS_ROLLED_BEND_DIRECTION], direction, fill->optics);
  add_seen (fill, WS_ROLLED_BEND_DIRECTION, "play of the block and lobes, from picture to picture",
            point->u / point->radius * student (freedom));
  add_seen (fill, WS_ROLLED_BEND_DIRECTION, "axis", 0.5 * AXIS_LEFT_PX / point->radius);
}

void
wsi_roll_fill_run_out (const WsRollFill *fill, const WsRollStation *point, const WsRollStation *far,
                       double between, const WsRollLips *lips)
{
  fill_station (fill, WS_ROLLED_RUN_OUT_POINT, point);
  fill_station (fill, WS_ROLLED_RUN_OUT_FAR, far);
  fill_bend (fill, point, far, between, lips);
}

/* How much of a lip's shape the model leaves, of the radius (rendered drills): a lip ground off its
 * flute's design angle is no parabola. */
#define LIP_MODEL 0.00003
#define HEIGHT_MODEL 0.00005
#define WEB_MODEL 0.004

static void
fill_lip (const WsRollFill *fill, guint which, const WsRollLips *lips, guint value)
{
  const double R = fill->roll->radius;
  const gboolean is_angle = value <= WS_ROLL_HALF_ANGLE_DIFFERENCE;
  const double freedom = lips->n_frames - 2.0;
  WsQuantity *quantity = fill->q[which];
  wsi_quantity_set_seen (quantity, lips->value[value], fill->optics);
  add_seen (fill, which, "edge noise, form and turn, from picture to picture",
            lips->u[value] * student (freedom));
  add_seen (fill, which, "model of the lip",
            is_angle ? LIP_MODEL : (which == WS_ROLLED_WEB ? WEB_MODEL : HEIGHT_MODEL) * R);
  if (is_angle)
    add_seen (fill, which, "pixel aspect",
              PIXEL_ASPECT * (value == WS_ROLL_HALF_ANGLE_DIFFERENCE ? 0.1 : 0.5));
}

void
wsi_roll_fill_lips (const WsRollFill *fill, const WsRollLips *lips)
{
  for (guint i = WS_ROLLED_POINT_ANGLE; i <= WS_ROLLED_POINT_OFFSET; i++)
    fill_lip (fill, i, lips, WS_ROLL_POINT_ANGLE + i - WS_ROLLED_POINT_ANGLE);
  fill_lip (fill, WS_ROLLED_WEB, lips, WS_ROLL_WEB);
  /* The envelope makes the lips' ends; where the outline lies as a whole moves both. */
  for (guint i = WS_ROLLED_LIP_LENGTH_A; i <= WS_ROLLED_LIP_LENGTH_B; i++)
    add_seen (fill, i, "tonal encoding and threshold", 1.2 * fill->level_u);
}

/* What bins and kinks of the profile leave of its highest stretch, px. */
#define ENVELOPE_U_PX 0.02

/* What the profile's straight pieces make of the lead, as a part of it (rendered drills). */
#define LEAD_MODEL 0.00006

void
wsi_roll_fill_body (const WsRollFill *fill)
{
  const WsRoll *roll = fill->roll;
  /* A round edge is seen a little inside its place. */
  double blur = 0;
  for (guint i = 0; i < roll->frames->len; i++)
    blur += wsi_roll_frame (roll, i)->blur / roll->frames->len;
  const double rounding = blur * blur / (2 * MAX (roll->radius, blur));
  wsi_quantity_set_seen (fill->q[WS_ROLLED_DIAMETER], 2 * (roll->radius + rounding), fill->optics);
  add_seen (fill, WS_ROLLED_DIAMETER, "tonal encoding and threshold", 2 * fill->level_u);
  add_seen (fill, WS_ROLLED_DIAMETER, "envelope", 2 * hypot (ENVELOPE_U_PX, 0.3 * rounding));
  wsi_quantity_set_seen (fill->q[WS_ROLLED_LEAD], roll->lead, fill->optics);
  const double u_lead = hypot (2 * roll->u_lead, LEAD_MODEL * roll->lead);
  add_seen (fill, WS_ROLLED_LEAD, "edge noise and form", 2 * roll->u_lead);
  add_seen (fill, WS_ROLLED_LEAD, "model of the profile", LEAD_MODEL * roll->lead);
  const double tangent = 2 * G_PI * roll->radius / roll->lead;
  wsi_quantity_set_seen (fill->q[WS_ROLLED_HELIX], atan (tangent), fill->optics);
  add_seen (fill, WS_ROLLED_HELIX, "lead and envelope",
            tangent / (1 + tangent * tangent) *
              hypot (u_lead / roll->lead, (fill->level_u + ENVELOPE_U_PX) / roll->radius));
}

/* ---- The point's body --------------------------------------------------------------------- */

/* What the terms leave of the relief at the corner and at half the radius, and of the chisel edge's
 * direction, rad (rendered drills). */
#define CORNER_MODEL 0.0015
#define HALF_RADIUS_MODEL 0.002
#define CHISEL_MODEL 0.005

/* The chisel edge's direction goes wrong with the square of how far from its ends the flanks are
 * seen: by so much times that, rad and radii (rendered drills); from there on it isn't told. */
#define CHISEL_UNSEEN 1.0
#define MOST_TO_CHISEL 0.2

static void
fill_chisel (const WsRollFill *fill, const WsRollFlanks *flanks)
{
  const double value = flanks->value[WS_ROLL_CHISEL_ANGLE], to = flanks->to_chisel;
  if (!isfinite (value) || to > MOST_TO_CHISEL)
    return;
  wsi_quantity_set_seen (fill->q[WS_ROLLED_CHISEL_ANGLE], value, fill->optics);
  add_seen (fill, WS_ROLLED_CHISEL_ANGLE, "edge noise, turn and form of the flank",
            flanks->u[WS_ROLL_CHISEL_ANGLE]);
  add_seen (fill, WS_ROLLED_CHISEL_ANGLE, "model of the flank", CHISEL_MODEL);
  add_seen (fill, WS_ROLLED_CHISEL_ANGLE, "flank not seen as far as the chisel edge",
            CHISEL_UNSEEN * to * to);
}

void
wsi_roll_fill_flanks (const WsRollFill *fill, const WsRollLips *lips, const WsRollFlanks *flanks)
{
  const double cot = 1 / tan (0.5 * lips->value[WS_ROLL_POINT_ANGLE]);
  const double u_behind = 0.5 * lips->u[WS_ROLL_WEB] / fill->roll->radius;
  for (guint i = 0; i < WS_ROLL_CHISEL_ANGLE; i++)
  {
    const guint which = WS_ROLLED_RELIEF_A + i;
    const gboolean at_corner = i == WS_ROLL_RELIEF_A || i == WS_ROLL_RELIEF_B;
    wsi_quantity_set_seen (fill->q[which], flanks->value[i], fill->optics);
    add_seen (fill, which, "edge noise, turn and form of the flank", flanks->u[i]);
    add_seen (fill, which, "model of the flank", at_corner ? CORNER_MODEL : HALF_RADIUS_MODEL);
    /* The lip's own slope falls along the circle by what it lies behind the axis. */
    add_seen (fill, which, "place of the lips", (at_corner ? 1 : 2) * cot * u_behind);
  }
  fill_chisel (fill, flanks);
}

/* What a blur and the profile's pieces leave of the envelope's place against the edges', px
 * (rendered drills). */
#define EDGE_U_PX 0.006

void
wsi_roll_fill_margin (const WsRollFill *fill, const WsRollMargin *margin)
{
  const WsRoll *roll = fill->roll;
  /* Square to the margin it is narrower than along the circle, as the helix goes. */
  const double square = cos (atan (2 * G_PI * roll->radius / roll->lead));
  const double width = roll->radius * margin->angle * square;
  wsi_quantity_set_seen (fill->q[WS_ROLLED_MARGIN_WIDTH], width, fill->optics);
  add_seen (fill, WS_ROLLED_MARGIN_WIDTH, "edge noise and form",
            roll->radius * margin->u_angle * square);
  add_seen (fill, WS_ROLLED_MARGIN_WIDTH, "envelope", 2 * EDGE_U_PX / tan (margin->turn));
}
