#include "tool/drill/side/budget.h"

#include "base/geometry.h"
#include "optics/deviate.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/drill/side/alignment.h"
#include "tool/drill/side/lens.h"
#include "tool/drill/side/values.h"
#include "tool/silhouette.h"
#include "tool/silhouette_tone.h"

/* The inputs whose uncertainty makes that of the quantities. */
typedef enum
{
  IN_LIP_A_PLACE,
  IN_LIP_A_ANGLE,
  IN_LIP_B_PLACE,
  IN_LIP_B_ANGLE,
  IN_HIDDEN_A_PLACE,
  IN_HIDDEN_A_ANGLE,
  IN_HIDDEN_B_PLACE,
  IN_HIDDEN_B_ANGLE,
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
  "hidden by what stands proud, lip a place",
  "hidden by what stands proud, lip a direction",
  "hidden by what stands proud, lip b place",
  "hidden by what stands proud, lip b direction",
  "axis place",
  "axis direction",
  "envelope",
  "tonal encoding and threshold",
};

static WsDrillLines
disturbed (const WsDrillLines *lines, const WsDrillPoint *point, Input input, double by)
{
  WsDrillLines moved = *lines;
  const guint k = input == IN_LIP_B_PLACE || input == IN_LIP_B_ANGLE ||
                      input == IN_HIDDEN_B_PLACE || input == IN_HIDDEN_B_ANGLE
                    ? 1
                    : 0;
  switch (input)
  {
  case IN_LIP_A_PLACE:
  case IN_LIP_B_PLACE:
  case IN_HIDDEN_A_PLACE:
  case IN_HIDDEN_B_PLACE:
    moved.centre[k] = wsi_point_along (moved.centre[k], by, wsi_drill_lines_outward (lines, k));
    break;
  case IN_LIP_A_ANGLE:
  case IN_LIP_B_ANGLE:
  case IN_HIDDEN_A_ANGLE:
  case IN_HIDDEN_B_ANGLE:
    moved.angle[k] += by;
    break;
  case IN_AXIS_PLACE:
    moved.centre[0].x += by;
    moved.centre[1].x += by;
    break;
  case IN_AXIS_ANGLE:
    wsi_drill_lines_turn (&moved, point->mirror.pivot_z, by);
    break;
  case IN_ENVELOPE:
    moved.radius += by;
    break;
  case IN_EDGE_LEVEL:
    moved.radius += by;
    for (guint i = 0; i < 2; i++)
      moved.centre[i] = wsi_point_along (moved.centre[i], by, wsi_drill_lines_outward (lines, i));
    break;
  case N_INPUTS:
    break;
  }
  return moved;
}

/* What undoing the perspective leaves of its effect on the axis, which the body's depth over the
 * camera's distance rules: 0.0004 on rendered drills 100 to 300 mm away (own trials); more is
 * allowed for the flutes of real ones, whose lead may vary by half a per cent (assumed, no
 * source). */
#define PERSPECTIVE_LEFT 0.003

/* A wire edge too low to be told lifts one end of a line, which hides most of it: what is left
 * beside the line is a sixth of what its ends move by (a step over the last third, under a line and
 * a bow; own trials on rendered lips). */
#define FORM_WINDOWS 12
#define FORM_TURNS 7.0
#define FORM_NOISE 1.8

double
wsi_drill_form_beside (const WsDrillLip *lip)
{
  const WsPoint *p = (const WsPoint *)(void *)lip->points->data;
  const guint n = lip->points->len, window = MAX (n / FORM_WINDOWS, 5);
  double squares = 0, noise = 0;
  guint n_windows = 0;
  for (guint from = 0; from + window <= n; from += window)
  {
    double sum = 0, own = 0;
    guint m = 0;
    for (guint i = from; i < from + window; i++)
      if (lip->used[i])
      {
        const double d = wsi_line_bowed_distance (&lip->line, p[i]);
        sum += d;
        own += d * d;
        m++;
      }
    if (m < window / 2 || m < 3)
      continue;
    squares += sum * sum / m / m;
    noise += (own - sum * sum / m) / (m - 1) / m;
    n_windows++;
  }
  return n_windows > 3 ? sqrt (MAX (squares - FORM_NOISE * noise, 0) / n_windows) : 0;
}

/* It bows its lip, too, and not the other one, though both are ground alike: by 0.37 of its height,
 * a step over the last third, and moves the line's ends by 1.33 of it, which one or the other lip's
 * may be by (own trials: by 2.2 to 2.9 times the bow).  Bows that differ by less than this many
 * standard uncertainties, by scatter and by how unlike the lips' angles are, tell nothing. */
#define BOW_TURNS 1.5
#define BOWS_ALIKE 2.0

/* A bow is uncertain by its term's root of 5 times as much as the place. */
static double
turned_by_bow (const WsDrillPoint *point, guint k)
{
  double unsure, places[2];
  if (point->lips[0].proud.height > 0 || point->lips[1].proud.height > 0)
    return 0;
  const double apart = wsi_drill_bows_apart (point, &unsure);
  for (guint i = 0; i < 2; i++)
  {
    const WsLineFit *line = &point->lips[i].line;
    places[i] = MAX (line->u_offset, line->scatter / sqrt (MAX (line->n_used, 1)));
  }
  const double noise = sqrt (5) * hypot (places[0], places[1]);
  const WsLineFit *line = &point->lips[k].line;
  return BOW_TURNS * MAX (apart - BOWS_ALIKE * hypot (noise, unsure), 0) /
         (line->t_high - line->t_low);
}

/* Blocks of a strong compression and the pixels that a lip crosses may beat: it is turned then by
 * as much as its scatter is more than noise is where blocks don't show, px, times BEATS over its
 * length (own trials on JPEG of quality 15: 1 in 60). */
#define BLOCKS_SHOW 0.08
#define BEATS 1.5

static double
turned_by_blocks (const WsImage *image, const WsLineFit *line)
{
  const double length = line->t_high - line->t_low;
  return image->lossy ? BEATS * MAX (line->scatter - BLOCKS_SHOW, 0) / length : 0;
}

/* Light that slopes beside an edge is made even by the slope some px off it; where the light itself
 * is bent, so much of the moves is left, and goes along a lip as slowly as the light does (own
 * trials with tubes behind the panel). */
#define UNEVEN_LEFT 0.4

/* Of one lip's line; what is seen to stand proud of it hides so much on top, which has lines of its
 * own since honing cures it. */
static void
line_uncertainties (const WsImage *image, const WsDrillPoint *point, guint k, double u[N_INPUTS])
{
  const double light = wsi_silhouette_light_factor (point->outline);
  const WsLineFit *line = &point->lips[k].line;
  const WsProud *proud = &point->lips[k].proud;
  const double length = line->t_high - line->t_low, n = MAX (line->n_used, 1);
  /* The jackknife of ten blocks is itself uncertain by a quarter: white noise is its floor.
   * The range's ends are uncertain by about a part in 200: what a bow makes of that. */
  const double bow = 0.03 * fabs (line->bow) / (0.5 * length);
  const double white_angle = point->lips[k].white_angle;
  const double white[2] = { line->scatter / sqrt (n), white_angle > 0
                                                        ? white_angle
                                                        : line->scatter * sqrt (12 / n) / length };
  const double whole[2] = { MAX (line->u_offset, white[0]), MAX (line->u_angle, white[1]) };
  /* On what is left beside it more than white noise is its work, too. */
  const gboolean is_seen = proud->height > 0;
  const double place = light * (is_seen ? white[0] : whole[0]);
  const double angle = light * (is_seen ? white[1] : whole[1]);
  const double more_place = light * sqrt (whole[0] * whole[0] - white[0] * white[0]);
  const double more_angle = light * sqrt (whole[1] * whole[1] - white[1] * white[1]);
  const double left = UNEVEN_LEFT * point->outline->uneven_px;
  u[k == 0 ? IN_LIP_A_PLACE : IN_LIP_B_PLACE] =
    hypot (hypot (hypot (place, 0.003), is_seen ? 0 : proud->u_offset), left);
  const double form = FORM_TURNS * wsi_drill_form_beside (&point->lips[k]) / length;
  u[k == 0 ? IN_LIP_A_ANGLE : IN_LIP_B_ANGLE] =
    hypot (hypot (hypot (angle, bow), is_seen ? 0 : proud->u_angle),
           hypot (hypot (form, left * sqrt (12) / length),
                  hypot (turned_by_blocks (image, line), turned_by_bow (point, k))));
  u[k == 0 ? IN_HIDDEN_A_PLACE : IN_HIDDEN_B_PLACE] =
    is_seen ? hypot (proud->u_offset, more_place) : 0;
  u[k == 0 ? IN_HIDDEN_A_ANGLE : IN_HIDDEN_B_ANGLE] =
    is_seen ? hypot (proud->u_angle, more_angle) : 0;
}

static void
input_uncertainties (const WsImage *image, const WsDrillPoint *point,
                     const WsPerspective *perspective, double u[N_INPUTS])
{
  const double light = wsi_silhouette_light_factor (point->outline);
  for (guint k = 0; k < 2; k++)
    line_uncertainties (image, point, k, u);
  u[IN_AXIS_PLACE] = hypot (light * point->mirror.u_offset, 0.003);
  u[IN_AXIS_ANGLE] = hypot (light * point->mirror.u_angle, 1.0e-5);
  if (perspective == NULL)
  {
    /* Heights that the axis leaves out may be dirt, or tell that it is the wrong one. */
    u[IN_AXIS_PLACE] = hypot (u[IN_AXIS_PLACE], point->mirror.pull_offset);
    u[IN_AXIS_ANGLE] = hypot (u[IN_AXIS_ANGLE], point->mirror.pull_angle);
  }
  else
  {
    const double left = PERSPECTIVE_LEFT * point->radius / perspective->distance;
    u[IN_AXIS_PLACE] = hypot (u[IN_AXIS_PLACE], left * point->radius);
    u[IN_AXIS_ANGLE] = hypot (u[IN_AXIS_ANGLE], left);
  }
  u[IN_ENVELOPE] = light * point->u_radius;
  u[IN_EDGE_LEVEL] = hypot (wsi_silhouette_level_u (image, point->outline),
                            wsi_silhouette_resized_u (image, point->outline));
}

/* Central differences over the input's own uncertainty. */
static void
add_input_lines (const WsDrillLines *lines, const WsDrillPoint *point, const double u[N_INPUTS],
                 const WsOptics *optics, WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  for (Input input = 0; input < N_INPUTS; input++)
  {
    double more[WS_DRILL_N_VALUES], less[WS_DRILL_N_VALUES];
    if (!(u[input] > 0))
      continue;
    const double step = MAX (u[input], 1e-9);
    const WsDrillLines up = disturbed (lines, point, input, step);
    const WsDrillLines down = disturbed (lines, point, input, -step);
    wsi_drill_values (&up, more);
    wsi_drill_values (&down, less);
    for (guint i = 0; i < WS_DRILL_N_FROM_LINES; i++)
    {
      const double slope = (more[i] - less[i]) / (2 * step) * wsi_quantity_per_seen (q[i], optics);
      if (fabs (slope) > 1e-12)
        wsi_quantity_add_line (q[i], input_names[input], WS_DISTRIBUTION_NORMAL, u[input], slope);
    }
    const double slope = (more[WS_DRILL_CORNER_HEIGHT] - less[WS_DRILL_CORNER_HEIGHT]) /
                         (2 * step) * wsi_quantity_per_seen (q[WS_DRILL_POINT_LENGTH], optics);
    if (fabs (slope) > 1e-12)
      wsi_quantity_add_line (q[WS_DRILL_POINT_LENGTH], input_names[input], WS_DISTRIBUTION_NORMAL,
                             u[input], slope);
  }
}

/* Root sum of squares of the change that each of `seen` makes in the quantities; the half-width of
 * what is rectangular. */
static void
add_changes (const WsDrillLines *lines, const WsDrillLines *seen, guint n_seen, const char *name,
             WsDistribution distribution, const WsOptics *optics,
             WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  double at[WS_DRILL_N_VALUES], squares[WS_DRILL_N_VALUES] = { 0 };
  const double per_u = distribution == WS_DISTRIBUTION_RECTANGULAR ? sqrt (3) : 1;
  wsi_drill_values (lines, at);
  for (guint k = 0; k < n_seen; k++)
  {
    double other[WS_DRILL_N_VALUES];
    wsi_drill_values (&seen[k], other);
    for (guint i = 0; i < WS_DRILL_N_VALUES; i++)
      squares[i] += (other[i] - at[i]) * (other[i] - at[i]);
  }
  for (guint i = 0; i < WS_DRILL_N_VALUES; i++)
  {
    WsQuantity *quantity = q[i < WS_DRILL_N_FROM_LINES ? i : WS_DRILL_POINT_LENGTH];
    wsi_quantity_add_line (quantity, name, distribution,
                           sqrt (squares[i]) / per_u * wsi_quantity_per_seen (quantity, optics), 1);
  }
}

static void
add_calibration_lines (const WsDrillLines *lines, const WsDrillEvidence *seen,
                       WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsLens *lens = seen->optics->lens;
  if (lens == NULL)
    return;
  WsLens deviations[WS_LENS_MAX];
  WsDrillLines moved[WS_LENS_MAX];
  const WsLens left_over = wsi_lens_left_over (lens);
  const WsDrillLines bent = wsi_drill_lens_seen (lens, &left_over, seen->point, lines);
  const guint n = wsi_lens_deviations (lens, deviations);
  for (guint i = 0; i < n; i++)
    moved[i] = wsi_drill_lens_seen (lens, &deviations[i], seen->point, lines);
  add_changes (lines, moved, n, "calibration", WS_DISTRIBUTION_NORMAL, seen->optics, q);
  add_changes (lines, &bent, 1, "distortion left over", WS_DISTRIBUTION_NORMAL, seen->optics, q);
}

/* The lips' outer ends lie in depth as the leading edges tell, to 0.12 degrees (rendered drills);
 * how much of that is the web and how much a turn of the lips is known as well as the turn is. */
#define LIP_END_U_DEG 0.12

/* Each lip's own direction in depth besides: one ground 1.6 degrees off its flutes' design angle is
 * bowed in depth, its end 0.2 degrees off (own trials, (1)). */
#define LIP_SLOPE_U_DEG 0.1

static void
add_perspective_lines (const WsDrillLines *lines, const WsDrillEvidence *seen,
                       WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  if (seen->perspective == NULL)
    return;
  const double radius = seen->point->radius, turn = seen->turn->deviation;
  const WsDrillLines turned =
    wsi_perspective_seen (seen->perspective, seen->point, lines, -radius * turn, turn);
  const WsDrillLines nearer = wsi_perspective_seen (seen->perspective, seen->point, lines,
                                                    radius * wsi_radians (LIP_END_U_DEG), 0);
  const WsDrillLines sloping =
    wsi_perspective_seen (seen->perspective, seen->point, lines, 0, wsi_radians (LIP_SLOPE_U_DEG));
  WsDrillLines depths[3] = { nearer, *lines, *lines };
  for (guint k = 0; k < 2; k++)
  {
    depths[1 + k].centre[k] = sloping.centre[k];
    depths[1 + k].angle[k] = sloping.angle[k];
  }
  add_changes (lines, &turned, 1, "alignment: lips turned, in perspective", WS_DISTRIBUTION_NORMAL,
               seen->optics, q);
  add_changes (lines, depths, G_N_ELEMENTS (depths), "perspective: depth of the lips",
               WS_DISTRIBUTION_NORMAL, seen->optics, q);
}

/* An uncalibrated camera: by its distance's uncertainty, or by whether it is near at all. */
static void
add_distance_line (const WsDrillLines *lines, const WsDrillEvidence *seen,
                   WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  if (seen->otherwise != NULL)
    add_changes (lines, seen->otherwise, 1, "perspective: camera's distance",
                 seen->perspective != NULL ? WS_DISTRIBUTION_NORMAL : WS_DISTRIBUTION_RECTANGULAR,
                 seen->optics, q);
}

/* Sensors are printed in one piece, by masks that hold their places to some hundredths of a
 * micrometre over some millimetres: their pixels are square to this part, rectangular (common
 * practice, no source).  A plane not quite square to the camera is a lean or a turn of the tool,
 * which have lines of their own.  A pinhole's calibration knows better. */
#define PIXEL_ASPECT 0.00002

/* A skew that is seen, by so many of its u, may be made by pixels that aren't square, of a tool
 * that lies `sine` / 2 off the picture's rows or columns: by so much, and nobody squeezes more. */
#define SKEW_SEEN 3.0
#define MOST_ASPECT 0.1

static gboolean
is_skewed (const WsDrillEvidence *seen)
{
  return fabs (seen->attitude.skew) > SKEW_SEEN * seen->attitude.u_skew;
}

static double
aspect_u (const WsDrillEvidence *seen, double sine)
{
  const double usual = PIXEL_ASPECT / sqrt (3.0), skew = fabs (seen->attitude.skew);
  if (!is_skewed (seen))
    return usual;
  return hypot (usual, MIN (skew / MAX (fabs (sine), 1e-3), MOST_ASPECT));
}

static void
add_square_lines (const WsDrillLines *lines, const WsDrillEvidence *seen,
                  WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const double skew = hypot (seen->attitude.skew, seen->attitude.u_skew);
  const double sheared[4] = { 1, 0, skew, 1 };
  const WsDrillLines by_skew = wsi_drill_lines_strained (lines, sheared);
  add_changes (lines, &by_skew, 1, "skew of the picture", WS_DISTRIBUTION_NORMAL, seen->optics, q);
  if (seen->optics->lens != NULL && seen->optics->lens->model == WS_LENS_PINHOLE)
    return;
  /* Of the picture's x, in the tool frame.  The scale's own uncertainty has what is usual of
   * pixels; of others it may have been told along x or along y. */
  const WsPoint d = seen->point->mirror.axis.direction;
  const double cos2 = d.y * d.y - d.x * d.x, sin2 = -2 * d.x * d.y;
  const double e = 0.5 * M_SQRT1_2 * aspect_u (seen, sin2);
  const double size = is_skewed (seen) ? e : 0;
  WsDrillLines by_aspect[2];
  for (guint k = 0; k < 2; k++)
  {
    const double s = k == 0 ? e : -e;
    const double squeezed[4] = { 1 + size + s * cos2, s * sin2, s * sin2, 1 + size - s * cos2 };
    by_aspect[k] = wsi_drill_lines_strained (lines, squeezed);
  }
  add_changes (lines, by_aspect, 2, "pixel aspect", WS_DISTRIBUTION_NORMAL, seen->optics, q);
}

/* Lenses that see a drill from near are wide or small: anything up to this in the corner is as
 * likely, unless it is told (common practice, no source). */
#define NEAR_DISTORTION 0.02

static void
add_lens_lines (const WsDrillLines *lines, const WsDrillEvidence *seen,
                WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  if ((seen->perspective == NULL && !(seen->bend > 0)) || seen->optics->lens != NULL)
    return;
  WsOptics optics = *seen->optics;
  if (seen->perspective == NULL)
    optics.lens_distortion = seen->bend;
  else if (!(optics.lens_distortion > 0))
    optics.lens_distortion = NEAR_DISTORTION;
  const WsLens lens = wsi_unknown_lens (&optics, seen->image->width, seen->image->height);
  WsLens bent[WS_LENS_MAX];
  if (wsi_lens_deviations (&lens, bent) == 0)
    return;
  const WsDrillLines moved = wsi_drill_lens_seen (&lens, &bent[0], seen->point, lines);
  add_changes (lines, &moved, 1, "unknown lens where the drill lies", WS_DISTRIBUTION_NORMAL,
               seen->optics, q);
}

/* A turn moves the lip lines out or in, and with them the corners' plane; not the tip. */
static void
add_point_length (const WsDrillEvidence *seen, double corner_z, WsQuantity *quantity)
{
  const WsDrillPoint *point = seen->point;
  const double half = 0.5 * (point->lips[0].half_angle + point->lips[1].half_angle);
  const double tip_z = wsi_drill_point_tip_height (point) / cos (seen->attitude.upright);
  wsi_quantity_set_seen (quantity, tip_z - corner_z, seen->optics);
  wsi_quantity_add_seen_line (quantity, "foremost point", WS_DISTRIBUTION_NORMAL,
                              wsi_silhouette_point_u (point->outline) + 0.045, seen->optics);
  wsi_drill_add_turn_line (seen, 1 / tan (half), quantity);
}

void
wsi_drill_fill_lines (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsDrillLines leaning = wsi_drill_lines_of (seen->point);
  const WsDrillLines lines = wsi_drill_lines_upright (
    &leaning, seen->web.half * seen->point->radius, seen->attitude.upright);
  double values[WS_DRILL_N_VALUES], u[N_INPUTS];
  wsi_drill_values (&lines, values);
  for (guint i = 0; i < WS_DRILL_N_FROM_LINES; i++)
    wsi_quantity_set_seen (q[i], values[i], seen->optics);
  input_uncertainties (seen->image, seen->point, seen->perspective, u);
  add_point_length (seen, values[WS_DRILL_CORNER_HEIGHT], q[WS_DRILL_POINT_LENGTH]);
  add_input_lines (&lines, seen->point, u, seen->optics, q);
  wsi_drill_add_alignment_lines (seen, &lines, q);
  add_calibration_lines (&lines, seen, q);
  add_perspective_lines (&lines, seen, q);
  add_distance_line (&lines, seen, q);
  add_square_lines (&lines, seen, q);
  add_lens_lines (&lines, seen, q);
}
