/*
 * View `drill-side`: a two-flute drill's point in silhouette, both lips lying in the
 * picture's plane.  Definitions of all quantities: docs/methods.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "base/stats.h"
#include "edge/segment.h"
#include "optics/correct.h"
#include "optics/deviate.h"
#include "tool/drill_advice.h"
#include "tool/drill_lens.h"
#include "tool/drill_lines.h"
#include "tool/drill_point.h"
#include "tool/perspective.h"
#include "tool/view_turn.h"

#include <string.h>

enum
{
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
  POINT_LENGTH,
  CORNER_WEAR_A,
  CORNER_WEAR_B,
  LIP_STRAIGHTNESS_A,
  LIP_STRAIGHTNESS_B,
  CHIP_DEPTH_A,
  CHIP_DEPTH_B,
  CHISEL_FLAT,
  VIEW_TURN,
  N_QUANTITIES
};

/* The first so many follow from the two lip lines, the axis and the envelope alone. */
#define N_FROM_LINES (DIAMETER + 1)

static const WsQuantityInfo quantities[N_QUANTITIES] = {
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "Sum of the two half angles." },
  { "half_angle_a", WS_UNIT_DEGREE, NULL, "Half angle a",
    "Angle between lip a, the left one with the point up, and the axis." },
  { "half_angle_b", WS_UNIT_DEGREE, NULL, "Half angle b",
    "Angle between lip b, the right one with the point up, and the axis." },
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
};

/* ---- Gates: pictures that can't be measured honestly ------------------------------ */

/* An edge blurred over more than this share of the diameter hides corners and chips. */
#define MAX_BLUR_SHARE 0.012
#define MIN_BLUR_LIMIT_PX 4.0

/* Blur that differs this much between directions comes from motion. */
#define MOTION_RATIO 1.7
#define MOTION_MIN_PX 3.0

/* RMS residual over step of a good scan line stays below this. */
#define MAX_NOISE 0.12

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
gate_outline (const WsSegment *segment, const WsOutline *outline, WsResult *result)
{
  if (outline == NULL)
  {
    ws_result_retake (result, WS_RETAKE_OUT_OF_FOCUS, "no sharp outline could be followed");
    return FALSE;
  }
  if (outline->blur_max_px > MOTION_MIN_PX &&
      outline->blur_max_px > MOTION_RATIO * outline->blur_min_px)
  {
    ws_result_retake (result, WS_RETAKE_MOTION_BLUR,
                      "the edge is blurred over %.1f px one way and %.1f px the other",
                      outline->blur_max_px, outline->blur_min_px);
    return FALSE;
  }
  /* The side of a square of the tool's area stands for its width until that is known. */
  if (outline->blur_px > MAX (MIN_BLUR_LIMIT_PX, MAX_BLUR_SHARE * sqrt (segment->area_px)))
  {
    ws_result_retake (result, WS_RETAKE_OUT_OF_FOCUS, "the edge is blurred over %.1f px",
                      outline->blur_px);
    return FALSE;
  }
  if (outline->noise > MAX_NOISE)
  {
    ws_result_retake (result, WS_RETAKE_DIRTY_EDGE,
                      "the outline is no clean step from ground to tool");
    return FALSE;
  }
  return TRUE;
}

static gboolean
gate_point (const WsDrillPoint *point, const WsViewTurn *turn, WsResult *result)
{
  for (guint k = 0; k < 2; k++)
  {
    const WsLineFit *line = &point->lips[k].line;
    if (line->n_used < MIN_SOUND * line->n)
    {
      ws_result_retake (result, WS_RETAKE_DIRTY_EDGE, "only %.0f %% of lip %s is a clean edge",
                        100.0 * line->n_used / line->n, k == 0 ? "a" : "b");
      return FALSE;
    }
  }
  if (point->mirror.kept < 0.6 || point->mirror.rms_px > 0.5 + 0.003 * point->radius)
  {
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW,
                      "the body's outline is not symmetric about an axis");
    return FALSE;
  }
  const double gap = fabs (point->lips[0].half_angle - point->lips[1].half_angle);
  if (ws_degrees (gap) > MAX_HALF_ANGLE_GAP_DEG)
  {
    ws_result_retake (result, WS_RETAKE_LIPS_TURNED,
                      "the half angles differ by %.0f degrees, as lip and heel do",
                      ws_degrees (gap));
    return FALSE;
  }
  const double drop = (point->apex.y - point->tip.y) / point->radius;
  if (drop < MIN_DROP || drop > MAX_DROP || fabs (point->apex.x) > 0.35 * point->radius)
  {
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW, "there is no chisel edge between two lips");
    return FALSE;
  }
  if (ws_degrees (turn->effective) > MAX_TURN_DEG)
  {
    ws_result_retake (result, WS_RETAKE_LIPS_TURNED, "turned by about %.0f degrees; %s",
                      fabs (ws_degrees (turn->effective)),
                      turn->mean > 0 ? WS_TURN_CLOCKWISE : WS_TURN_COUNTERCLOCKWISE);
    return FALSE;
  }
  return TRUE;
}

/* ---- Quantities from lines, and their budgets ------------------------------------- */

/* Angles in rad, lengths in px; the height of the corner plane comes last. */
static void
evaluate (const WsDrillLines *lines, double out[N_FROM_LINES + 1])
{
  const WsPoint apex = ws_drill_lines_apex (lines), a = ws_drill_lines_corner (lines, 0),
                b = ws_drill_lines_corner (lines, 1);
  out[POINT_ANGLE] = lines->angle[0] + lines->angle[1];
  out[HALF_ANGLE_A] = lines->angle[0];
  out[HALF_ANGLE_B] = lines->angle[1];
  out[HALF_ANGLE_DIFFERENCE] = lines->angle[0] - lines->angle[1];
  out[LIP_LENGTH_A] = ws_point_distance (a, apex);
  out[LIP_LENGTH_B] = ws_point_distance (b, apex);
  out[LIP_LENGTH_DIFFERENCE] = out[LIP_LENGTH_A] - out[LIP_LENGTH_B];
  out[LIP_HEIGHT_DIFFERENCE] = a.y - b.y;
  out[POINT_OFFSET] = apex.x;
  out[DIAMETER] = 2 * lines->radius;
  out[N_FROM_LINES] = 0.5 * (a.y + b.y);
}

/* The inputs whose uncertainty makes that of the quantities. */
typedef enum
{
  IN_LIP_A_PLACE,
  IN_LIP_A_ANGLE,
  IN_LIP_B_PLACE,
  IN_LIP_B_ANGLE,
  IN_AXIS_PLACE,
  IN_AXIS_ANGLE,
  IN_ENVELOPE,
  IN_EDGE_LEVEL,
  N_INPUTS
} Input;

static const char *const input_names[N_INPUTS] = {
  "edge noise and form, lip a place",
  "edge noise and form, lip a direction",
  "edge noise and form, lip b place",
  "edge noise and form, lip b direction",
  "axis place",
  "axis direction",
  "envelope",
  "tonal encoding and threshold",
};

static WsDrillLines
disturbed (const WsDrillLines *lines, const WsDrillPoint *point, Input input, double by)
{
  WsDrillLines moved = *lines;
  const guint k = input == IN_LIP_B_PLACE || input == IN_LIP_B_ANGLE ? 1 : 0;
  switch (input)
  {
  case IN_LIP_A_PLACE:
  case IN_LIP_B_PLACE:
    moved.centre[k] = ws_point_along (moved.centre[k], by, ws_drill_lines_outward (lines, k));
    break;
  case IN_LIP_A_ANGLE:
  case IN_LIP_B_ANGLE:
    moved.angle[k] += by;
    break;
  case IN_AXIS_PLACE:
    moved.centre[0].x += by;
    moved.centre[1].x += by;
    break;
  case IN_AXIS_ANGLE:
    ws_drill_lines_turn (&moved, point->mirror.pivot_z, by);
    break;
  case IN_ENVELOPE:
    moved.radius += by;
    break;
  case IN_EDGE_LEVEL:
    moved.radius += by;
    for (guint i = 0; i < 2; i++)
      moved.centre[i] = ws_point_along (moved.centre[i], by, ws_drill_lines_outward (lines, i));
    break;
  case N_INPUTS:
    break;
  }
  return moved;
}

/*
 * An edge's threshold is off by a part of the blur when the transfer curve is not quite the
 * assumed one: 0.79 blurs for a picture not linearised at all, and a part assumed here, no source,
 * of a hundredth and less for the curves that cameras call sRGB.
 */
static double
edge_level_u (const WsImage *image, const WsOutline *outline)
{
  return (image->tone == WS_TONE_SRGB_ASSUMED ? 0.006 : 0.003) * outline->blur_px;
}

/* What undoing the perspective leaves of its effect on the axis, which the body's depth over
 * the camera's distance rules: rendered drills at 130 and 230 mm. */
#define PERSPECTIVE_LEFT 0.02

static void
input_uncertainties (const WsImage *image, const WsDrillPoint *point,
                     const WsPerspective *perspective, double u[N_INPUTS])
{
  for (guint k = 0; k < 2; k++)
  {
    const WsLineFit *line = &point->lips[k].line;
    const double length = line->t_high - line->t_low, n = MAX (line->n_used, 1);
    /* The jackknife of ten blocks is itself uncertain by a quarter: white noise is its floor.
     * The range's ends are uncertain by about a part in 200: what a bow makes of that. */
    const double bow = 0.03 * fabs (line->bow) / (0.5 * length);
    u[k == 0 ? IN_LIP_A_PLACE : IN_LIP_B_PLACE] =
      hypot (MAX (line->u_offset, line->scatter / sqrt (n)), 0.003);
    u[k == 0 ? IN_LIP_A_ANGLE : IN_LIP_B_ANGLE] =
      hypot (MAX (line->u_angle, line->scatter * sqrt (12 / n) / length), bow);
  }
  u[IN_AXIS_PLACE] = hypot (point->mirror.u_offset, 0.003);
  u[IN_AXIS_ANGLE] = hypot (point->mirror.u_angle, 1.0e-5);
  if (perspective != NULL)
  {
    const double left = PERSPECTIVE_LEFT * point->radius / perspective->distance;
    u[IN_AXIS_PLACE] = hypot (u[IN_AXIS_PLACE], left * point->radius);
    u[IN_AXIS_ANGLE] = hypot (u[IN_AXIS_ANGLE], left);
  }
  u[IN_ENVELOPE] = point->u_radius;
  u[IN_EDGE_LEVEL] = edge_level_u (image, point->outline);
}

/* Unit of a quantity in record units per px or rad. */
static double
unit_of (const WsQuantityInfo *info, const WsOptics *optics)
{
  if (info->unit == WS_UNIT_DEGREE)
    return ws_degrees (1);
  return optics->has_scale ? optics->mm_per_px : 1;
}

/* Central differences over the input's own uncertainty. */
static void
add_input_lines (const WsDrillLines *lines, const WsDrillPoint *point, const double u[N_INPUTS],
                 const WsOptics *optics, WsQuantity *q[N_QUANTITIES])
{
  for (Input input = 0; input < N_INPUTS; input++)
  {
    double more[N_FROM_LINES + 1], less[N_FROM_LINES + 1];
    const double step = MAX (u[input], 1e-9);
    const WsDrillLines up = disturbed (lines, point, input, step);
    const WsDrillLines down = disturbed (lines, point, input, -step);
    evaluate (&up, more);
    evaluate (&down, less);
    for (guint i = 0; i < N_FROM_LINES; i++)
    {
      const double slope = (more[i] - less[i]) / (2 * step) * unit_of (q[i]->info, optics);
      if (fabs (slope) > 1e-12)
        ws_quantity_add_line (q[i], input_names[input], WS_DISTRIBUTION_NORMAL, u[input], slope);
    }
    const double slope = (more[N_FROM_LINES] - less[N_FROM_LINES]) / (2 * step) *
                         unit_of (q[POINT_LENGTH]->info, optics);
    if (fabs (slope) > 1e-12)
      ws_quantity_add_line (q[POINT_LENGTH], input_names[input], WS_DISTRIBUTION_NORMAL, u[input],
                            slope);
  }
}

/*
 * The axis may lean toward the camera: tan k' = tan k / cos lean, and the lips, which lie half
 * the web before and behind the axis, look shifted along it, one up and one down.  A V-block set
 * square to the camera is taken to keep the lean to a fifth of a degree: an assumption, no source,
 * set no wider so that U of the lip lengths stays useful.
 */
#define LEAN_DEG 0.2

/* Half the web over the envelope radius when the card doesn't tell it. */
#define WEB_RATIO 0.165

/* Half the web over the envelope radius of a thick-webbed drill (common practice, no source). */
#define THICK_WEB_RATIO 0.22

/* Of a turned drill less of the margin lies on the silhouette, and part of what is taken for
 * it falls short by a few per cent of the turn's square. */
#define MARGIN_SHORT 0.06

/* A turn acts one way only, with its square; `effective` makes that the RMS. */
static void
add_alignment_lines (const WsDrillLines *lines, const WsDrillPoint *point, const WsViewTurn *turn,
                     const WsOptics *optics, WsQuantity *q[N_QUANTITIES])
{
  const double thick = THICK_WEB_RATIO * point->radius, web = WEB_RATIO * point->radius;
  const WsDrillLines views[4] = { ws_drill_lines_turned (lines, thick, turn->effective),
                                  ws_drill_lines_turned (lines, thick, -turn->effective),
                                  ws_drill_lines_leaning (lines, web, ws_radians (LEAN_DEG)),
                                  ws_drill_lines_leaning (lines, web, -ws_radians (LEAN_DEG)) };
  double off[4][N_FROM_LINES + 1], at[N_FROM_LINES + 1];
  evaluate (lines, at);
  for (guint k = 0; k < 4; k++)
  {
    evaluate (&views[k], off[k]);
    for (guint i = 0; i < N_FROM_LINES; i++)
      off[k][i] = fabs (off[k][i] - at[i]);
  }
  /* Turned and leaning at once, one lip looks steeper and the other flatter. */
  for (guint k = 0; k < 2; k++)
    off[2][HALF_ANGLE_A + k] += sin (turn->effective) * sin (ws_radians (LEAN_DEG)) *
                                sin (lines->angle[k]) * sin (lines->angle[k]);
  off[2][HALF_ANGLE_DIFFERENCE] += 2 * sin (turn->effective) * sin (ws_radians (LEAN_DEG)) *
                                   sin (lines->angle[0]) * sin (lines->angle[1]);
  off[0][DIAMETER] = MARGIN_SHORT * turn->effective * turn->effective * at[DIAMETER];
  for (guint i = 0; i < N_FROM_LINES; i++)
  {
    const double unit = unit_of (q[i]->info, optics);
    ws_quantity_add_line (q[i], "alignment: lips turned", WS_DISTRIBUTION_ONE_SIDED,
                          MAX (off[0][i], off[1][i]) * unit, 1);
    ws_quantity_add_line (q[i], "alignment: axis leaning", WS_DISTRIBUTION_NORMAL,
                          MAX (off[2][i], off[3][i]) * unit, 1);
  }
}

/* Without a stated scale nothing is known of the lens: a radial distortion of 0.3 % at the
 * picture's border bends a lip's direction by about a part in a thousand. */
static void
add_lens_line (const WsOptics *optics, WsQuantity *quantity)
{
  if (optics->has_scale || quantity->info->unit != WS_UNIT_DEGREE)
    return;
  ws_quantity_add_line (quantity, "unknown lens", WS_DISTRIBUTION_NORMAL, 0.05, 1);
}

static void
add_scale_line (const WsOptics *optics, WsQuantity *quantity)
{
  if (!optics->has_scale || quantity->info->unit != WS_UNIT_LENGTH || !quantity->known)
    return;
  ws_quantity_add_line (quantity, "scale", WS_DISTRIBUTION_NORMAL, optics->u_mm_per_px,
                        quantity->value / optics->mm_per_px);
}

static void
set_value (WsQuantity *quantity, double px_or_rad, const WsOptics *optics)
{
  quantity->value = px_or_rad * unit_of (quantity->info, optics);
  quantity->known = TRUE;
}

/* A simple own budget line in px for the quantities read off the outline. */
static void
add_outline_line (WsQuantity *quantity, const char *name, double u_px, const WsOptics *optics)
{
  ws_quantity_add_line (quantity, name, WS_DISTRIBUTION_NORMAL, u_px,
                        unit_of (quantity->info, optics));
}

/* ---- Quantities from the outline beside the lines --------------------------------- */

/* Standard deviation of one outline point, px: the Cramer-Rao bound of its scan line. */
static double
point_sigma (const WsOutline *outline)
{
  return outline->noise * sqrt (2 * sqrt (G_PI) * MAX (outline->blur_px, 0.3));
}

/* A notch must be this deep, in radii, to be told from roughness. */
#define CHIP_MIN_RADII 0.010
#define CHIP_FROM 0.14
#define CHIP_TO 0.95

typedef struct
{
  double depth;   /* px; 0 without a chip */
  WsPoint bottom; /* tool frame */
} Chip;

/* Depth of the outline below the lip line at one of its points; negative beyond the tool's side
 * of the lip. */
static double
depth_below (const WsDrillLip *lip, WsPoint p)
{
  const double inward = ws_line_distance (&lip->line, ws_point (0, -1e6)) < 0 ? -1 : 1;
  return inward * ws_line_distance (&lip->line, p);
}

/* A notch comes back up to the lip on its outer side; a worn corner doesn't. */
static gboolean
comes_back (const WsDrillPoint *point, guint k, const Chip *chip)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const WsDrillLip *lip = &point->lips[k];
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const double u = point->uz[i].x * lip->side;
    if (!points[i].on_frame && u > chip->bottom.x * lip->side && u < point->radius &&
        point->uz[i].y > lip->corner.y && depth_below (lip, point->uz[i]) < 0.5 * chip->depth)
      return TRUE;
  }
  return FALSE;
}

/* Deepest notch below the lip line between chisel edge and corner. */
static Chip
find_chip (const WsDrillPoint *point, guint k, double least)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const WsDrillLip *lip = &point->lips[k];
  const double flat = fabs (point->apex.y - point->tip.y) * tan (lip->half_angle);
  const double from = MAX (CHIP_FROM * point->radius, 1.6 * flat + fabs (point->apex.x));
  Chip chip = { 0, { 0, 0 } };
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const double u = point->uz[i].x * lip->side;
    if (points[i].on_frame || u < from || u > CHIP_TO * point->radius ||
        point->uz[i].y < lip->corner.y - 0.2 * point->radius)
      continue;
    const double depth = depth_below (lip, point->uz[i]);
    if (depth > least && depth > chip.depth)
      chip = (Chip){ depth, point->uz[i] };
  }
  return chip.depth > 0 && comes_back (point, k, &chip) ? chip : (Chip){ 0, { 0, 0 } };
}

/* Blur lifts the bottom of a sharp notch: a Gaussian of deviation s centred t s deep in a wedge of
 * half opening q holds half the wedge where t = 0.8 cot q, within 0.03 from 45 to 90 degrees
 * (first order exact).  The opening is taken from the notch's width halfway down. */
#define NOTCH_LIFT 0.8

static double
notch_lift (const WsDrillPoint *point, guint k, const Chip *chip)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const WsDrillLip *lip = &point->lips[k];
  double inner = HUGE_VAL, outer = HUGE_VAL;
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    if (points[i].on_frame || point->uz[i].y < lip->corner.y - 0.2 * point->radius ||
        depth_below (lip, point->uz[i]) > 0.5 * chip->depth)
      continue;
    const WsPoint run = ws_point_sub (point->uz[i], chip->bottom);
    const double along =
      lip->side * ws_point_dot (run, lip->line.direction) * (lip->line.direction.x < 0 ? -1 : 1);
    if (along > 0)
      outer = MIN (outer, along);
    else
      inner = MIN (inner, -along);
  }
  const double half = inner + outer;
  return isfinite (half) ? NOTCH_LIFT * point->outline->blur_px * MIN (chip->depth / half, 1.5) : 0;
}

/* Running medians take the noise out of single points but not the form. */
static double
straightness (const WsDrillLip *lip)
{
  const WsPoint *p = (const WsPoint *)(void *)lip->points->data;
  const guint n = lip->points->len, window = MAX (n / 12, 5);
  g_autofree double *kept = g_new (double, n);
  g_autofree double *scratch = g_new (double, window);
  guint m = 0;
  for (guint i = 0; i < n; i++)
    if (lip->used[i])
      kept[m++] = ws_line_distance (&lip->line, p[i]);
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i + window <= m; i += window / 2)
  {
    memcpy (scratch, kept + i, sizeof (double) * window);
    const double middle = ws_median (scratch, window);
    low = MIN (low, middle);
    high = MAX (high, middle);
  }
  return high > low ? high - low : 0;
}

/* Outermost place near the tip where the outline stands off the lip line by more than `least`. */
static double
stands_off_to (const WsDrillPoint *point, guint k, double least)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const WsDrillLip *lip = &point->lips[k];
  double end = 0;
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const double u = point->uz[i].x * lip->side;
    if (points[i].on_frame || u < -0.2 * point->radius || u > WS_LIP_FROM * point->radius ||
        point->uz[i].y < lip->corner.y)
      continue;
    if (fabs (ws_line_bowed_distance (&lip->line, point->uz[i])) > least)
      end = MAX (end, u);
  }
  return end;
}

/* Where the lip ends at the chisel edge: the stand-off grows from nothing there, so it is
 * traced back to nothing from the places where it is once and twice a small amount. */
static double
chisel_end (const WsDrillPoint *point, guint k)
{
  const double least = MAX (0.75, 4 * point_sigma (point->outline));
  const double once = stands_off_to (point, k, least);
  return once + MAX (once - stands_off_to (point, k, 2 * least), 0);
}

/* Height of the foremost point, the mean of its near neighbours against noise. */
static double
tip_height (const WsDrillPoint *point)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  double sum = 0;
  guint n = 0;
  for (guint i = 0; i < point->outline->points->len; i++)
    if (!points[i].on_frame && fabs (point->uz[i].x - point->tip.x) < 3 &&
        point->uz[i].y > point->tip.y - 3)
    {
      sum += point->uz[i].y;
      n++;
    }
  return n > 0 ? sum / n : point->tip.y;
}

/* What half the web, seen turned, moves: it lies across the picture's plane. */
static void
add_turn_line (WsQuantity *quantity, const WsDrillPoint *point, const WsViewTurn *turn,
               double sensitivity, const WsOptics *optics)
{
  ws_quantity_add_line (quantity, "alignment: lips turned", WS_DISTRIBUTION_NORMAL,
                        WEB_RATIO * point->radius * sin (turn->effective),
                        sensitivity * unit_of (quantity->info, optics));
}

/* A turn moves the lip lines out or in, and with them the corners' plane; not the tip. */
static void
add_point_length (const WsDrillPoint *point, double corner_z, const WsViewTurn *turn,
                  const WsOptics *optics, WsQuantity *quantity)
{
  const double half = 0.5 * (point->lips[0].half_angle + point->lips[1].half_angle);
  set_value (quantity, tip_height (point) - corner_z, optics);
  add_outline_line (quantity, "foremost point", point_sigma (point->outline) + 0.045, optics);
  add_turn_line (quantity, point, turn, 1 / tan (half), optics);
}

/* The gap to an unworn corner grows with the angle of the lip's end from the silhouette, by about
 * 0.3 of the end's depth per radian of turn (rendered drills; view_turn.c, gap_for()). */
static void
add_corner_wear (const WsDrillPoint *point, guint k, const WsViewTurn *turn, const WsOptics *optics,
                 WsQuantity *quantity)
{
  set_value (quantity, point->lips[k].corner_gap, optics);
  add_outline_line (quantity, "corner rounded by blur", 0.09 * point->outline->blur_px, optics);
  add_outline_line (quantity, "edge noise", point_sigma (point->outline), optics);
  add_turn_line (quantity, point, turn, 0.3, optics);
}

static void
mark_chip (const WsDrillPoint *point, guint k, const Chip *chip, WsResult *result)
{
  const WsLineFit *line = &point->lips[k].line;
  const WsPoint on_line = ws_point_along (chip->bottom, -ws_line_distance (line, chip->bottom),
                                          ws_point (-line->direction.y, line->direction.x));
  const WsPoint marks[2] = { ws_axis_to_picture (&point->mirror.axis, on_line),
                             ws_axis_to_picture (&point->mirror.axis, chip->bottom) };
  ws_result_add_mark (result, WS_MARK_CHIP, k == 0 ? "a" : "b", marks, 2);
}

static void
add_lip_form (const WsDrillPoint *point, guint k, const WsOptics *optics,
              WsQuantity *q[N_QUANTITIES], WsResult *result)
{
  const double sigma = point_sigma (point->outline);
  WsQuantity *form = q[k == 0 ? LIP_STRAIGHTNESS_A : LIP_STRAIGHTNESS_B];
  set_value (form, straightness (&point->lips[k]), optics);
  add_outline_line (form, "edge noise", MAX (sigma / 2, 0.03), optics);

  /* Below this a notch can't be told from roughness and noise. */
  const double unseen = MAX (MAX (CHIP_MIN_RADII * point->radius, 1.0), 6 * sigma);
  const Chip chip = find_chip (point, k, unseen);
  WsQuantity *depth = q[k == 0 ? CHIP_DEPTH_A : CHIP_DEPTH_B];
  const double lift = chip.depth > 0 ? notch_lift (point, k, &chip) : 0;
  set_value (depth, chip.depth + lift, optics);
  if (chip.depth > 0)
  {
    /* A jagged bottom is sharper or blunter than the opening halfway down (rendered chips). */
    add_outline_line (depth, "notch rounded by blur",
                      hypot (0.3 + 0.25 * point->outline->blur_px, 0.4 * lift), optics);
    add_outline_line (depth, "edge noise", sigma, optics);
    mark_chip (point, k, &chip, result);
  }
  else
    ws_quantity_add_line (depth, "smallest notch seen", WS_DISTRIBUTION_RECTANGULAR,
                          unseen / sqrt (3.0), unit_of (depth->info, optics));
}

static void
add_chisel_and_turn (const WsDrillPoint *point, const WsViewTurn *turn, const WsOptics *optics,
                     WsQuantity *q[N_QUANTITIES])
{
  set_value (q[CHISEL_FLAT], chisel_end (point, 0) + chisel_end (point, 1), optics);
  add_outline_line (q[CHISEL_FLAT], "where the flat ends", 1.3 + point->outline->blur_px, optics);
  /* Both ends lie half the web off the axis plane and shift with a turn. */
  add_turn_line (q[CHISEL_FLAT], point, turn, 2, optics);
  set_value (q[VIEW_TURN], turn->mean, optics);
  ws_quantity_add_line (q[VIEW_TURN], "web and flank unknown", WS_DISTRIBUTION_NORMAL,
                        ws_degrees (turn->deviation), 1);
  ws_quantity_add_line (q[VIEW_TURN], "model of flank and margin", WS_DISTRIBUTION_NORMAL, 0.7, 1);
}

/* ---- Marks ------------------------------------------------------------------------ */

static void
mark_outline (const WsOutline *outline, WsResult *result)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i <= outline->points->len; i++)
  {
    if (i < outline->points->len && !points[i].on_frame)
    {
      const WsPoint p = { points[i].x, points[i].y };
      g_array_append_val (run, p);
      continue;
    }
    if (run->len > 1)
      ws_result_add_mark (result, WS_MARK_OUTLINE, NULL, (WsPoint *)(void *)run->data, run->len);
    g_array_set_size (run, 0);
  }
}

static void
mark_line (const WsDrillPoint *point, WsResult *result, WsMarkRole role, const char *label,
           WsPoint from, WsPoint to)
{
  const WsPoint ends[2] = { ws_axis_to_picture (&point->mirror.axis, from),
                            ws_axis_to_picture (&point->mirror.axis, to) };
  ws_result_add_mark (result, role, label, ends, 2);
}

/* Each sound stretch of a lip apart, so that a chip shows as a gap. */
static void
mark_used (const WsDrillPoint *point, const WsDrillLip *lip, WsResult *result)
{
  const WsPoint *uz = (const WsPoint *)(void *)lip->points->data;
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i <= lip->points->len; i++)
  {
    if (i < lip->points->len && lip->used[i])
    {
      const WsPoint p = ws_axis_to_picture (&point->mirror.axis, uz[i]);
      g_array_append_val (run, p);
      continue;
    }
    if (run->len > 5)
      ws_result_add_mark (result, WS_MARK_EDGE_USED, lip->side < 0 ? "a" : "b",
                          (WsPoint *)(void *)run->data, run->len);
    g_array_set_size (run, 0);
  }
}

static void
mark_point (const WsDrillPoint *point, WsResult *result)
{
  const WsAxis *axis = &point->mirror.axis;
  const double low = MIN (point->lips[0].corner.y, point->lips[1].corner.y) -
                     MAX (1.2 * point->radius, point->mirror.length_px);
  const double high = point->apex.y + 0.25 * point->radius;
  mark_line (point, result, WS_MARK_AXIS, NULL, ws_point (0, low), ws_point (0, high));
  const WsPoint apex = ws_axis_to_picture (axis, point->apex);
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *lip = &point->lips[k];
    const double side = lip->side * point->radius;
    mark_line (point, result, WS_MARK_ENVELOPE, NULL, ws_point (side, low),
               ws_point (side, lip->corner.y));
    mark_line (point, result, WS_MARK_EDGE_LINE, k == 0 ? "a" : "b", lip->corner, point->apex);
    mark_used (point, lip, result);
    const WsPoint corner = ws_axis_to_picture (axis, lip->corner);
    ws_result_add_mark (result, WS_MARK_CORNER, k == 0 ? "a" : "b", &corner, 1);
    const WsPoint angle[3] = {
      ws_axis_to_picture (
        axis, ws_point_along (point->apex, 0.6, ws_point_sub (lip->corner, point->apex))),
      apex,
      ws_axis_to_picture (axis, ws_point (point->apex.x, point->apex.y - 0.7 * point->radius)),
    };
    ws_result_add_mark (result, WS_MARK_ANGLE, k == 0 ? "half_angle_a" : "half_angle_b", angle, 3);
  }
  ws_result_add_mark (result, WS_MARK_APEX, NULL, &apex, 1);
}

/* ---- The view --------------------------------------------------------------------- */

/* All that a drill's numbers rest on. */
typedef struct
{
  const WsImage *image;
  const WsDrillPoint *point;
  const WsViewTurn *turn;
  const WsOptics *optics;
  const WsPerspective *perspective; /* NULL in parallel projection */
} Evidence;

/* Root sum of squares of the change that each of `seen` makes in the quantities. */
static void
add_changes (const WsDrillLines *lines, const WsDrillLines *seen, guint n_seen, const char *name,
             const WsOptics *optics, WsQuantity *q[N_QUANTITIES])
{
  double at[N_FROM_LINES + 1], squares[N_FROM_LINES + 1] = { 0 };
  evaluate (lines, at);
  for (guint k = 0; k < n_seen; k++)
  {
    double other[N_FROM_LINES + 1];
    evaluate (&seen[k], other);
    for (guint i = 0; i <= N_FROM_LINES; i++)
      squares[i] += (other[i] - at[i]) * (other[i] - at[i]);
  }
  for (guint i = 0; i <= N_FROM_LINES; i++)
  {
    WsQuantity *quantity = q[i < N_FROM_LINES ? i : POINT_LENGTH];
    ws_quantity_add_line (quantity, name, WS_DISTRIBUTION_NORMAL,
                          sqrt (squares[i]) * unit_of (quantity->info, optics), 1);
  }
}

static void
add_calibration_lines (const WsDrillLines *lines, const Evidence *seen, WsQuantity *q[N_QUANTITIES])
{
  const WsLens *lens = seen->optics->lens;
  if (lens == NULL)
    return;
  WsLens deviations[WS_LENS_MAX];
  WsDrillLines moved[WS_LENS_MAX];
  const guint n = ws_lens_deviations (lens, deviations);
  for (guint i = 0; i < n; i++)
    moved[i] = ws_drill_lens_seen (lens, &deviations[i], seen->point, lines);
  add_changes (lines, moved, n, "calibration", seen->optics, q);
}

/* The lips' outer ends lie in depth as the leading edges tell, to half a degree; how much of
 * that is the web and how much a turn of the lips is known as well as the turn is. */
#define LIP_END_U_DEG 0.5

static void
add_perspective_lines (const WsDrillLines *lines, const Evidence *seen, WsQuantity *q[N_QUANTITIES])
{
  if (seen->perspective == NULL)
    return;
  const double radius = seen->point->radius, turn = seen->turn->deviation;
  const WsDrillLines moved[2] = {
    ws_perspective_seen (seen->perspective, seen->point, lines, -radius * turn, turn),
    ws_perspective_seen (seen->perspective, seen->point, lines, radius * ws_radians (LIP_END_U_DEG),
                         0),
  };
  add_changes (lines, moved, 2, "perspective: depth of the lips", seen->optics, q);
}

/* How well the axis is put where the calibration's plane was, mm: a V-block that stays in its
 * place (an assumption, no source).  A telecentric lens doesn't mind. */
#define PLANE_U_MM 0.02

static void
add_plane_line (const Evidence *seen, WsQuantity *quantity)
{
  if (seen->perspective == NULL || quantity->info->unit != WS_UNIT_LENGTH)
    return;
  const double distance = seen->perspective->distance * seen->optics->mm_per_px;
  ws_quantity_add_line (quantity, "alignment: axis off the calibrated plane",
                        WS_DISTRIBUTION_NORMAL, PLANE_U_MM, quantity->value / distance);
}

/* Where the lines' own calibration line doesn't say it already. */
static void
add_scale_lines (const Evidence *seen, WsQuantity *q[N_QUANTITIES])
{
  for (guint i = 0; i < N_QUANTITIES; i++)
    if (seen->optics->lens == NULL || (i >= N_FROM_LINES && i != POINT_LENGTH))
      add_scale_line (seen->optics, q[i]);
}

static void
fill_lines_quantities (const Evidence *seen, WsQuantity *q[N_QUANTITIES])
{
  const WsDrillLines lines = ws_drill_lines_of (seen->point);
  double values[N_FROM_LINES + 1], u[N_INPUTS];
  evaluate (&lines, values);
  for (guint i = 0; i < N_FROM_LINES; i++)
    set_value (q[i], values[i], seen->optics);
  input_uncertainties (seen->image, seen->point, seen->perspective, u);
  add_point_length (seen->point, values[N_FROM_LINES], seen->turn, seen->optics, q[POINT_LENGTH]);
  add_input_lines (&lines, seen->point, u, seen->optics, q);
  add_alignment_lines (&lines, seen->point, seen->turn, seen->optics, q);
  add_calibration_lines (&lines, seen, q);
  add_perspective_lines (&lines, seen, q);
}

static void
fill_quantities (const Evidence *seen, WsResult *result)
{
  const WsDrillPoint *point = seen->point;
  const WsOptics *optics = seen->optics;
  WsQuantity *q[N_QUANTITIES];
  for (guint i = 0; i < N_QUANTITIES; i++)
    q[i] = ws_result_add_quantity (result, &quantities[i], optics->has_scale);

  fill_lines_quantities (seen, q);
  for (guint k = 0; k < 2; k++)
  {
    add_corner_wear (point, k, seen->turn, optics, q[k == 0 ? CORNER_WEAR_A : CORNER_WEAR_B]);
    add_lip_form (point, k, optics, q, result);
  }
  add_chisel_and_turn (point, seen->turn, optics, q);
  add_scale_lines (seen, q);
  for (guint i = 0; i < N_QUANTITIES; i++)
  {
    if (i != VIEW_TURN)
      add_lens_line (optics, q[i]);
    add_plane_line (seen, q[i]);
    ws_quantity_combine (q[i]);
  }
}

static double
web_px (const WsToolCard *card, const WsOptics *optics)
{
  return optics->has_scale ? card->web_mm / optics->mm_per_px : NAN;
}

static void
measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  const WsSegment segment = ws_segment_find (image);
  if (segment.trouble != WS_RETAKE_NONE)
  {
    ws_result_retake (result, segment.trouble, "%s", segment.detail);
    return;
  }
  g_autoptr (WsOutline) outline = ws_outline_trace (image, &segment);
  if (outline != NULL)
  {
    ws_optics_correct (optics, outline);
    mark_outline (outline, result);
  }
  if (!gate_outline (&segment, outline, result))
    return;

  WsRetake reason = WS_RETAKE_NONE;
  char detail[96] = "";
  g_autoptr (WsDrillPoint) point = ws_drill_point_locate (outline, &reason, detail);
  if (point == NULL)
  {
    ws_result_retake (result, reason, "%s", detail);
    return;
  }
  WsPerspective perspective;
  const gboolean near = ws_perspective_of (optics, card, &perspective);
  if (near && !ws_perspective_undo (&perspective, &point, &reason, detail))
  {
    ws_result_retake (result, reason, "%s", detail);
    return;
  }
  const WsViewTurn turn = ws_view_turn_estimate (point, web_px (card, optics));
  if (!gate_point (point, &turn, result))
    return;
  mark_point (point, result);
  const Evidence seen = { image, point, &turn, optics, near ? &perspective : NULL };
  fill_quantities (&seen, result);
}

const WsView ws_view_drill_side = {
  .name = "drill-side",
  .summary = "drill point from the side in silhouette, both lips in the picture's plane",
  .kinds = 1u << WS_KIND_TWIST_DRILL | 1u << WS_KIND_SPOT_DRILL,
  .needs = WS_IMAGE_GREY,
  .quantities = quantities,
  .n_quantities = N_QUANTITIES,
  .measure = measure,
  .advise = ws_drill_side_advise,
};
