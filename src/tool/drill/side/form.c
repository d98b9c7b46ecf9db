#include "tool/drill/side/form.h"

#include "base/geometry.h"
#include "edge/notch.h"
#include "maths/stats.h"
#include "optics/unknown_lens.h"
#include "result/build.h"
#include "tool/blade/corner.h"
#include "tool/drill/side/alignment.h"
#include "tool/drill/side/budget.h"
#include "tool/silhouette.h"

#include <string.h>

/* A notch must be this deep, in radii, to be told from roughness. */
#define CHIP_MIN_RADII 0.010
#define CHIP_FROM 0.14
#define CHIP_TO 0.95

/* A chip is at least twice as wide as deep (common practice, no source), and a notch so wide loses
 * to a greater blur s all but its width over s sqrt (2 pi) of its depth. */
#define NOTCH_WIDTHS 2.0

typedef struct
{
  double depth;      /* px; 0 without a chip */
  WsPoint bottom;    /* tool frame */
  gboolean in_doubt; /* front-lit: what lies that deep is no clean edge */
} Chip;

/* RMS residual over step of a scan line across no edge: noise within a front-lit tool. */
#define NO_EDGE 0.15

/* Depth of the outline below the lip line at one of its points; negative beyond the tool's side
 * of the lip. */
static double
depth_below (const WsDrillLip *lip, WsPoint p)
{
  const double inward = wsi_line_distance (&lip->line, wsi_point (0, -1e6)) < 0 ? -1 : 1;
  return inward * wsi_line_distance (&lip->line, p);
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
  Chip chip = { 0, { 0, 0 }, FALSE };
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const double u = point->uz[i].x * lip->side;
    if (points[i].on_frame || u < from || u > CHIP_TO * point->radius ||
        point->uz[i].y < lip->corner.y - 0.2 * point->radius)
      continue;
    const double depth = depth_below (lip, point->uz[i]);
    if (depth > least && depth > chip.depth)
    {
      const gboolean in_doubt = point->outline->front_lit && (double)points[i].noise > NO_EDGE;
      chip = (Chip){ depth, point->uz[i], in_doubt };
    }
  }
  return chip.depth > 0 && comes_back (point, k, &chip) ? chip : (Chip){ 0, { 0, 0 }, FALSE };
}

static double
lift_of (const WsDrillPoint *point, guint k, const Chip *chip)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const WsDrillLip *lip = &point->lips[k];
  WsNotch notch;
  wsi_notch_begin (&notch, chip->depth, point->outline->blur_px);
  for (guint i = 0; i < point->outline->points->len; i++)
    if (!points[i].on_frame && point->uz[i].y >= lip->corner.y - 0.2 * point->radius)
      wsi_notch_add (
        &notch, wsi_point_dot (wsi_point_sub (point->uz[i], chip->bottom), lip->line.direction),
        depth_below (lip, point->uz[i]));
  return wsi_notch_lift (&notch);
}

#define MAX_WINDOWS 64

/* Peak to valley, and what of it may be the picture's: medians of a smooth form bend little from
 * window to window, those of blocks and steps at each. */
typedef struct
{
  double height;
  double jitter; /* standard deviation of a window's median */
  guint window;  /* points in one */
} LipForm;

/* By second differences of windows that share no point: their variance is six medians'. */
static double
jitter_of (const double *middle, guint n)
{
  double bend[MAX_WINDOWS];
  guint m = 0;
  for (guint i = 0; i + 4 < n; i++)
    bend[m++] = fabs (middle[i] - 2 * middle[i + 2] + middle[i + 4]);
  return m > 0 ? wsi_absolute_sigma (bend, m) / sqrt (6) : 0;
}

/* Running medians take the noise out of single points but not the form. */
static LipForm
lip_form (const WsDrillLip *lip)
{
  const WsPoint *p = (const WsPoint *)(void *)lip->points->data;
  const guint n = lip->points->len, window = MAX (n / 12, 5);
  g_autofree double *kept = g_new (double, n);
  g_autofree double *scratch = g_new (double, window);
  guint m = 0;
  for (guint i = 0; i < n; i++)
    if (lip->used[i])
      kept[m++] = wsi_line_distance (&lip->line, p[i]);
  double low = HUGE_VAL, high = -HUGE_VAL, middle[MAX_WINDOWS];
  guint n_windows = 0;
  for (guint i = 0; i + window <= m && n_windows < MAX_WINDOWS; i += window / 2)
  {
    memcpy (scratch, kept + i, sizeof (double) * window);
    middle[n_windows] = wsi_median (scratch, window);
    low = MIN (low, middle[n_windows]);
    high = MAX (high, middle[n_windows]);
    n_windows++;
  }
  return (LipForm){ high > low ? high - low : 0, jitter_of (middle, n_windows), window };
}

/* From the bowed line's highest to its lowest place. */
static double
whole_bow (const WsDrillLip *lip)
{
  return 1.5 * fabs (lip->line.bow);
}

/* What a stretch left out may hide of the form, in parts of that of the whole, px; and what is too
 * small to be told from it (own trials). */
#define HIDDEN_FORM 1.0
#define HIDDEN_LEAST_PX 0.06
#define HIDDEN_PER_OFFSET 1.5

/* Standard uncertainty of the form for what stands proud, px; 0: nothing does. */
static double
hidden_form (const WsDrillLip *lip)
{
  const double unsure = HIDDEN_PER_OFFSET * lip->proud.u_offset;
  if (!(lip->proud.height > 0))
    return unsure > 0.2 * HIDDEN_LEAST_PX ? unsure : 0;
  return hypot (HIDDEN_LEAST_PX + HIDDEN_FORM * lip->proud.share * whole_bow (lip), unsure);
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
    /* What stands proud is a wire edge. */
    const double inward = depth_below (lip, point->uz[i]) < 0 ? 0 : 1;
    if (inward * fabs (wsi_line_bowed_distance (&lip->line, point->uz[i])) > least)
      end = MAX (end, u);
  }
  return end;
}

/* A lip that is lit from the front, or coded with loss, stands off its line by so many times its
 * scatter for no other reason than light or blocks; own trials. */
#define LIGHT_SCATTERS 5.0

/* Where the lip ends at the chisel edge: the stand-off grows from nothing there, so it is
 * traced back to nothing from the places where it is once and twice a small amount. */
static double
chisel_end (const WsDrillPoint *point, guint k, gboolean lossy, double *traced)
{
  const gboolean is_rough = point->outline->front_lit || lossy;
  const double light = is_rough ? LIGHT_SCATTERS * point->lips[k].line.scatter : 0;
  const double least = MAX (MAX (0.75, 4 * wsi_silhouette_point_u (point->outline)), light);
  const double once = stands_off_to (point, k, least);
  *traced = MAX (once - stands_off_to (point, k, 2 * least), 0);
  return once + *traced;
}

/* No corner is round: what was taken off for blur is known to this part (own trials). */
#define BLUR_SHARE 0.35

/* What the corner itself falls short by.  Blur rounds it further: it is taken for the round corner
 * that is seen as it is. */
static double
gap_without_blur (const WsDrillPoint *point, guint k)
{
  const WsDrillLip *lip = &point->lips[k];
  const double interior = G_PI - lip->half_angle;
  const double radius =
    wsi_blade_corner_radius (interior, lip->corner_gap, point->outline->blur_px);
  return radius * (1 / sin (0.5 * interior) - 1);
}

/* The thinnest web, 0.11 of the diameter, turned by as much as passes, leaves a lip's end this far
 * inside the corner, radii: what fills the corner is no steel. */
#define LEAST_GAP 0.0013

/* The gap to an unworn corner grows with the angle of the lip's end from the silhouette, by about
 * 0.36 of the end's depth per radian of turn (rendered drills; view_turn.c, gap_for()). */
static void
add_corner_wear (const WsDrillEvidence *seen, guint k, WsQuantity *quantity)
{
  const WsDrillPoint *point = seen->point;
  const WsOptics *optics = seen->optics;
  const double gap = gap_without_blur (point, k);
  const double blur = point->lips[k].corner_gap - gap;
  if (gap < LEAST_GAP * point->radius)
    return;
  wsi_quantity_set_seen (quantity, gap, optics);
  wsi_quantity_set_place (quantity,
                          wsi_axis_to_picture (&point->mirror.axis, point->lips[k].corner));
  wsi_quantity_add_seen_line (quantity, "corner rounded by blur", WS_DISTRIBUTION_NORMAL,
                              BLUR_SHARE * blur, optics);
  wsi_quantity_add_seen_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL,
                              wsi_silhouette_point_u (point->outline), optics);
  wsi_drill_add_turn_line (seen, 0.36, quantity);
}

/* The shallowest notch that blur leaves `least` deep. */
static double
shallowest_seen (const WsOutline *outline, double least)
{
  const double lost = sqrt (2 * G_PI) / NOTCH_WIDTHS * outline->blur_max_px;
  return MAX (least, sqrt (lost * least));
}

static void
mark_chip (const WsDrillPoint *point, guint k, const Chip *chip, WsResult *result)
{
  const WsLineFit *line = &point->lips[k].line;
  const WsPoint on_line = wsi_point_along (chip->bottom, -wsi_line_distance (line, chip->bottom),
                                           wsi_point (-line->direction.y, line->direction.x));
  const WsPoint marks[2] = { wsi_axis_to_picture (&point->mirror.axis, on_line),
                             wsi_axis_to_picture (&point->mirror.axis, chip->bottom) };
  wsi_result_add_mark (result, WS_MARK_CHIP, k == 0 ? "a" : "b", marks, 2);
}

/* Where more of a lip is hidden, a chip may be. */
#define MAX_HIDDEN_CHIP 0.04

/* Of a lip's scatter, what bands and streaks of light make of its form: own trials on rendered
 * drills lit from the front. */
#define LIGHT_SHARE 1.3

/* Of some twelve medians that share no point the greatest and the least lie 3.3 deviations apart
 * (Tippett, Biometrika 17, 1925), all of which noise adds to a straight lip: that is its U.  Blocks
 * add more than chance does (own trials). */
#define JITTER_SPREAD 2.0

/* Few windows tell their deviation badly: white noise of the points is its floor, and where blocks
 * of a strong compression move points, too, all of their scatter, neighbours alike: one in so many
 * counts (own trials on JPEG). */
#define MEDIAN_OVER_MEAN 1.25
#define BLOCKS_ALIKE 2.0

/* A bow's highest and lowest place lie in the middle and at the ends, where a median is of what
 * lies up to a twelfth of the range farther in: it takes off 0.24 of the bow. */
#define BOW_LOST 0.12

/* A wire edge too low to be told is no form of the lip, but twice what is left beside the line
 * (own trials on lips that are rolled over). */
#define UNTOLD_FORM 2.0

/* A lens that bends bows lips, too. */
static void
add_bow_line (const WsDrillEvidence *seen, guint k, WsQuantity *form)
{
  const WsLineFit *line = &seen->point->lips[k].line;
  WsOptics optics = *seen->optics;
  if (!(seen->bend > 0) || optics.lens != NULL)
    return;
  optics.lens_distortion = seen->bend;
  const WsLens lens = wsi_unknown_lens (&optics, seen->image->width, seen->image->height);
  const WsAxis *axis = &seen->point->mirror.axis;
  const WsPoint from = wsi_point_along (line->centre, line->t_low, line->direction);
  const WsPoint to = wsi_point_along (line->centre, line->t_high, line->direction);
  wsi_quantity_add_seen_line (
    form, "unknown lens where the drill lies", WS_DISTRIBUTION_NORMAL,
    wsi_unknown_lens_bow (&lens, wsi_axis_to_picture (axis, from), wsi_axis_to_picture (axis, to)),
    seen->optics);
}

static void
add_lip_form (const WsDrillEvidence *seen, guint k, WsQuantity *q[WS_DRILL_N_QUANTITIES],
              WsResult *result)
{
  const WsDrillPoint *point = seen->point;
  const WsOptics *optics = seen->optics;
  const double sigma = wsi_silhouette_point_u (point->outline);
  WsQuantity *form = q[k == 0 ? WS_DRILL_LIP_STRAIGHTNESS_A : WS_DRILL_LIP_STRAIGHTNESS_B];
  const LipForm seen_form = lip_form (&point->lips[k]);
  const double hidden = hidden_form (&point->lips[k]);
  wsi_quantity_set_seen (form, MAX (seen_form.height, hidden > 0 ? whole_bow (&point->lips[k]) : 0),
                         optics);
  if (hidden > 0)
    wsi_quantity_add_seen_line (form, "hidden by what stands proud", WS_DISTRIBUTION_NORMAL, hidden,
                                optics);
  const WsLineFit *line = &point->lips[k].line;
  const double of_points =
    seen->image->lossy ? MAX (sigma, sqrt (BLOCKS_ALIKE) * line->scatter) : sigma;
  const double white = MEDIAN_OVER_MEAN * of_points / sqrt (seen_form.window);
  const double noise = MAX (MAX (sigma / 2, 0.0265), JITTER_SPREAD * MAX (seen_form.jitter, white));
  wsi_quantity_add_seen_line (form, "edge noise", WS_DISTRIBUTION_NORMAL,
                              hypot (hypot (noise, BOW_LOST * line->bow),
                                     UNTOLD_FORM * wsi_drill_form_beside (&point->lips[k])),
                              optics);
  if (point->outline->front_lit)
    wsi_quantity_add_seen_line (form, "light along the edge", WS_DISTRIBUTION_NORMAL,
                                LIGHT_SHARE * point->lips[k].line.scatter, optics);

  add_bow_line (seen, k, form);

  if (point->lips[k].hidden > MAX_HIDDEN_CHIP)
    return;
  /* Below this a notch can't be told from roughness and noise. */
  const double unseen = MAX (MAX (CHIP_MIN_RADII * point->radius, 1.0), 6 * sigma);
  const Chip chip = find_chip (point, k, unseen);
  if (chip.in_doubt)
    return;
  WsQuantity *depth = q[k == 0 ? WS_DRILL_CHIP_DEPTH_A : WS_DRILL_CHIP_DEPTH_B];
  const double lift = chip.depth > 0 ? lift_of (point, k, &chip) : 0;
  wsi_quantity_set_seen (depth, chip.depth + lift, optics);
  const double shallowest = shallowest_seen (point->outline, unseen);
  wsi_quantity_set_smallest_seen (depth, shallowest, optics);
  if (chip.depth > 0)
  {
    /* A jagged bottom is sharper or blunter than the opening halfway down (rendered chips). */
    wsi_quantity_add_seen_line (depth, "notch rounded by blur", WS_DISTRIBUTION_NORMAL,
                                hypot (0.3 + 0.25 * point->outline->blur_px, 0.4 * lift), optics);
    wsi_quantity_add_seen_line (depth, "edge noise", WS_DISTRIBUTION_NORMAL, sigma, optics);
    /* A wire edge doesn't end at a notch: it may fill as much of it as it stands proud beside it.
     */
    const double burr = MAX (point->lips[k].proud.height, point->lips[k].wire.height);
    if (burr > 0)
      wsi_quantity_add_seen_line (depth, "hidden by what stands proud", WS_DISTRIBUTION_RECTANGULAR,
                                  burr / sqrt (3.0), optics);
    wsi_quantity_set_place (depth, wsi_axis_to_picture (&point->mirror.axis, chip.bottom));
    mark_chip (point, k, &chip, result);
  }
  else
    wsi_quantity_add_line (depth, "smallest notch seen", WS_DISTRIBUTION_RECTANGULAR,
                           shallowest / sqrt (3.0), wsi_quantity_per_seen (depth, optics));
}

static void
add_chisel_and_turn (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES])
{
  const WsDrillPoint *point = seen->point;
  const WsViewTurn *turn = seen->turn;
  const WsOptics *optics = seen->optics;
  double traced[2];
  const gboolean lossy = seen->image->lossy;
  const double flat =
    chisel_end (point, 0, lossy, &traced[0]) + chisel_end (point, 1, lossy, &traced[1]);
  wsi_quantity_set_seen (q[WS_DRILL_CHISEL_FLAT], flat, optics);
  wsi_quantity_add_seen_line (q[WS_DRILL_CHISEL_FLAT], "where the flat ends",
                              WS_DISTRIBUTION_NORMAL, 1.0 + 0.75 * point->outline->blur_px, optics);
  if (point->outline->front_lit)
    wsi_quantity_add_seen_line (q[WS_DRILL_CHISEL_FLAT], "light along the edge",
                                WS_DISTRIBUTION_NORMAL, traced[0] + traced[1], optics);
  /* Both ends lie half the web off the axis plane and shift with a turn. */
  wsi_drill_add_turn_line (seen, 2, q[WS_DRILL_CHISEL_FLAT]);
  wsi_quantity_set_seen (q[WS_DRILL_VIEW_TURN], turn->mean, optics);
  wsi_quantity_add_line (q[WS_DRILL_VIEW_TURN], "web and flank unknown", WS_DISTRIBUTION_NORMAL,
                         wsi_degrees (turn->deviation), 1);
  wsi_quantity_add_line (q[WS_DRILL_VIEW_TURN], "model of flank and margin", WS_DISTRIBUTION_NORMAL,
                         0.7, 1);
}

void
wsi_drill_fill_form (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES],
                     WsResult *result)
{
  for (guint k = 0; k < 2; k++)
  {
    add_corner_wear (seen, k, q[k == 0 ? WS_DRILL_CORNER_WEAR_A : WS_DRILL_CORNER_WEAR_B]);
    add_lip_form (seen, k, q, result);
  }
  add_chisel_and_turn (seen, q);
}
