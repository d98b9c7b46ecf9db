#include "tool/blade/side_gates.h"

#include "base/geometry.h"
#include "maths/stats.h"
#include "result/build.h"

/* Angles beyond these are never ground on a cutoff blade; common practice, no source. */
#define MAX_RELIEF_DEG 25.0
#define MIN_RELIEF_DEG (-10.0)
#define MIN_TOP_RAKE_DEG (-10.0)
#define MAX_TOP_RAKE_DEG 25.0

/* Corners less different than this, from each other or from a right angle, don't tell the tip from
 * the foot. */
#define MIN_DIFFERENCE_DEG 2.0

/* A blade is several times as high as it is wide; less, and it is seen from above. */
#define MIN_HEIGHT_WIDTHS 1.5

/* A top rake is ground one or two widths back from the edge, for the chip to curl, never over so
 * many; the blades that shops use are mostly 4 mm wide, and narrow ones may be ground as far back
 * as those: common practice, no source. */
#define MAX_GROUND_WIDTHS 4.0
#define MAX_GROUND_MM 18.0

/* Of a lone corner's edges the one that lies nearer to level is the top; farther from level than
 * this nobody laid it so. */
#define MAX_OFF_LEVEL_DEG 20.0

/* Shorter edges have too few points for their direction; fronts as in blade.c. */
#define MIN_FRONT_PX 60.0
#define MIN_TOP_PX 30.0
#define MIN_RELIEF_PX 20.0 /* the first of two */

static gboolean
gate_tip (const WsSideFound *found, WsResult *result)
{
  const WsBladeCorner *corners = found->blade->corners;
  const double other =
    wsi_side_layout_has_base (found->layout) ? corners[found->layout->foot].interior : 0.5 * G_PI;
  const double less = wsi_degrees (other - corners[found->layout->tip].interior);
  const double relief = wsi_degrees (found->relief), rake = wsi_degrees (found->top_rake);
  if (found->layout->is_one_top && less < -MIN_DIFFERENCE_DEG)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              "a corner of %.0f degrees is no cutting edge, and no other is seen",
                              wsi_degrees (corners[found->layout->tip].interior));
  if ((found->layout->rear == WS_SIDE_NONE || found->layout->is_one_top) &&
      less < MIN_DIFFERENCE_DEG)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "the corners are too alike to tell the tip from the foot");
  if (relief > MAX_RELIEF_DEG || relief < MIN_RELIEF_DEG || rake < MIN_TOP_RAKE_DEG ||
      rake > MAX_TOP_RAKE_DEG)
    return wsi_result_retake (
      result, WS_RETAKE_WRONG_VIEW,
      "relief of %.0f and top rake of %.0f degrees are not those of a blade", relief, rake);
  return TRUE;
}

static gboolean
gate_height (const WsSideFound *found, WsResult *result)
{
  const double height = found->tip_height * found->optics->mm_per_px;
  if (found->card->kind == WS_KIND_CUTOFF_BLADE && found->optics->has_scale &&
      height < MIN_HEIGHT_WIDTHS * found->card->width_mm)
    return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                              "%.2f mm high on a blade %.2f mm wide by the tool card", height,
                              found->card->width_mm);
  return TRUE;
}

static double
length_of (const WsSideFound *found, gint edge)
{
  const WsLineFit *line = &found->blade->edges[edge].line;
  return line->t_high - line->t_low;
}

/* Of the whole top, from the tip to where it leaves the picture. */
static double
top_length (const WsSideFound *found)
{
  const WsSideLayout *layout = found->layout;
  const GArray *rear = found->blade->edges[layout->rear].points;
  const guint far_end = layout->rear < layout->top ? 0 : rear->len - 1;
  return wsi_point_distance (g_array_index (rear, WsPoint, far_end),
                             found->blade->corners[layout->tip].place);
}

static double
off_level (const WsLineFit *line)
{
  return wsi_degrees (atan2 (fabs (line->direction.y), fabs (line->direction.x)));
}

/* Without a base the top must be seen behind what is ground: without a step it must go back farther
 * than anyone grinds. */
static gboolean
gate_reference (const WsSideFound *found, WsResult *result)
{
  const WsSideLayout *layout = found->layout;
  const double top = top_length (found);
  const double ground = fmax (MAX_GROUND_WIDTHS * found->card->width_mm, MAX_GROUND_MM);
  if (found->card->kind == WS_KIND_FORM_TOOL)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              "the base, from which a form tool's angles count, is not seen");
  if (layout->is_one_top && !found->optics->has_scale)
    return wsi_result_retake (
      result, WS_RETAKE_CUT_BY_FRAME,
      "no base is seen, and without a scale no telling if rake is ground on all "
      "of the top");
  if (layout->is_one_top && top * found->optics->mm_per_px < ground)
    return wsi_result_retake (
      result, WS_RETAKE_CUT_BY_FRAME,
      "no base is seen, and too little of the top (%.1f mm) to tell if rake is "
      "ground on it",
      top * found->optics->mm_per_px);
  if (layout->has_knee && off_level (&found->blade->edges[layout->rear].line) > MAX_OFF_LEVEL_DEG)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              "no base is seen, and a bend may be the top's or the front's; show "
                              "the base, or lay the blade level");
  if (layout->is_one_top && off_level (&found->blade->edges[layout->rear].line) > MAX_OFF_LEVEL_DEG)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              "no base is seen, and neither edge lies level, as a top would; show "
                              "the base, or lay the blade level");
  return TRUE;
}

static gboolean
gate_lengths (const WsSideFound *found, WsResult *result)
{
  const WsSideLayout *layout = found->layout;
  const double least = layout->heel == WS_SIDE_NONE ? MIN_FRONT_PX : MIN_RELIEF_PX;
  if (length_of (found, layout->front) < least)
    return wsi_result_retake (result, WS_RETAKE_TOO_SMALL, "the front is shorter than %.0f px",
                              least);
  if (length_of (found, layout->top) < MIN_TOP_PX)
    return wsi_result_retake (result, WS_RETAKE_TOO_SMALL,
                              "the ground part of the top is shorter than %.0f px", MIN_TOP_PX);
  if (!wsi_side_layout_has_base (layout) && length_of (found, layout->rear) < MIN_FRONT_PX)
    return wsi_result_retake (result, WS_RETAKE_CUT_BY_FRAME,
                              "the top behind its ground part is shorter than %.0f px",
                              MIN_FRONT_PX);
  return TRUE;
}

/* A cone's or a punch's end is alike above and below its middle, a tool's only where it has no
 * relief: by so many parts of the height nine of ten points differ less, and from so much relief on
 * a tool's differ more.  Own choice. */
#define ALIKE_SHARE 0.01
#define ALIKE_PX 1.0
#define ALIKE_POINTS 0.9
#define UNLIKE_RELIEF_DEG 3.0

/* The end reaches back so many heights from the foremost point. */
#define END_HEIGHTS 0.6

static double
distance_to_path (const WsBlade *blade, WsPoint p)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  double least = HUGE_VAL;
  for (guint i = 0; i < blade->path->len; i++)
    least = MIN (least, wsi_point_distance (wsi_blade_place (&points[i]), p));
  return least;
}

/* The line in the middle between the base and the top. */
static void
find_middle (const WsSideFound *found, WsPoint *centre, WsPoint *direction)
{
  const WsSideLayout *layout = found->layout;
  const gint above = layout->rear != WS_SIDE_NONE ? layout->rear : layout->top;
  const WsLineFit *base = &found->blade->edges[layout->base].line;
  const WsLineFit *top = &found->blade->edges[above].line;
  const double sense = wsi_point_dot (base->direction, top->direction) < 0 ? -1 : 1;
  const WsPoint sum = wsi_point_along (base->direction, sense, top->direction);
  const double length = wsi_point_length (sum);
  *direction = wsi_point (sum.x / length, sum.y / length);
  const WsPoint tip = found->blade->corners[layout->tip].place;
  const double along = wsi_point_dot (wsi_point_sub (tip, base->centre), base->direction);
  const WsPoint below = wsi_point_along (base->centre, along, base->direction);
  *centre = wsi_point (0.5 * (tip.x + below.x), 0.5 * (tip.y + below.y));
}

/* Of the end's points, how far their mirror images lie from the outline; px. */
static double
unlikeness (const WsSideFound *found)
{
  const WsBlade *blade = found->blade;
  const WsEdgePoint *points = wsi_blade_points (blade);
  WsPoint centre, direction;
  find_middle (found, &centre, &direction);
  const WsPoint front = blade->edges[found->layout->front].line.centre;
  const WsPoint base = blade->edges[found->layout->base].line.centre;
  const double ahead = wsi_point_dot (wsi_point_sub (front, base), direction) > 0 ? 1 : -1;
  double foremost = -HUGE_VAL;
  for (guint i = 0; i < blade->path->len; i++)
    foremost = MAX (foremost, ahead * wsi_point_dot (wsi_blade_place (&points[i]), direction));
  g_autofree double *off = g_new (double, blade->path->len + 1);
  guint n = 0;
  for (guint i = 0; i < blade->path->len; i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    if (ahead * wsi_point_dot (p, direction) < foremost - END_HEIGHTS * found->tip_height)
      continue;
    const WsPoint away = wsi_point_sub (p, centre);
    const WsPoint along = wsi_point_along (centre, 2 * wsi_point_dot (away, direction), direction);
    off[n++] = distance_to_path (blade, wsi_point_sub (along, away));
  }
  return n > 0 ? wsi_quantile (off, n, ALIKE_POINTS) : HUGE_VAL;
}

static gboolean
gate_asymmetry (const WsSideFound *found, WsResult *result)
{
  if (fabs (wsi_degrees (found->relief)) < UNLIKE_RELIEF_DEG ||
      unlikeness (found) > ALIKE_PX + ALIKE_SHARE * found->tip_height)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "the end is alike above and below its middle, as of a cone");
}

/* Top and base of a blade are straight; a bent wire's sides bow alike, by more than this part of
 * their length, neither much less than the other, and for the most part as a parabola.  Most lenses
 * bow them by half of it at most, and sides on either side of the middle to either side.  Own
 * choice. */
#define BENT_SHARE 0.003
#define BENT_ALIKE 0.3
#define BENT_REST 0.5

/* How far the middle of a side as a whole, from corner to frame, lies off the line between its
 * ends, as a part of its length, to the left of the walk; 0 where it isn't one bow. */
static double
bow_of (const WsBlade *blade, guint e)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const guint from = wsi_blade_begin (blade, e), to = wsi_blade_end (blade, e);
  if (to - from < 3)
    return 0;
  const WsPoint a = wsi_blade_place (&points[from]), b = wsi_blade_place (&points[to - 1]);
  const WsPoint run = wsi_point_sub (b, a);
  const double squares = wsi_point_dot (run, run);
  double arches = 0, together = 0, heights = 0;
  for (guint i = from; i < to; i++)
  {
    const WsPoint off = wsi_point_sub (wsi_blade_place (&points[i]), a);
    const double t = wsi_point_dot (off, run) / squares, arch = 4 * t * (1 - t);
    const double height = wsi_point_cross (run, off) / squares;
    arches += arch * arch;
    together += arch * height;
    heights += height * height;
  }
  const double bow = arches > 0 ? together / arches : 0, rest = heights - bow * together;
  return rest < BENT_REST * BENT_REST * heights ? bow : 0;
}

static gboolean
gate_bent (const WsSideFound *found, WsResult *result)
{
  const double first = bow_of (found->blade, 0);
  const double last = bow_of (found->blade, found->blade->n_edges - 1);
  const double less = MIN (fabs (first), fabs (last)), more = MAX (fabs (first), fabs (last));
  /* They are walked to and fro. */
  if (first * last >= 0 || 0.5 * (less + more) < BENT_SHARE || less < BENT_ALIKE * more)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW,
                            "the sides bow alike, as those of a bent wire");
}

/* Angles count from the base, or from the top as the blade came, neither of which a wheel made. */
static gboolean
gate_reference_straight (const WsSideFound *found, WsResult *result)
{
  const gint edges[] = { found->layout->base, found->layout->rear };
  for (gsize i = 0; i < G_N_ELEMENTS (edges); i++)
    if (edges[i] != WS_SIDE_NONE &&
        wsi_blade_is_bowed (&found->blade->edges[edges[i]], WS_BLADE_STRAIGHT))
      return wsi_result_retake (result, WS_RETAKE_WRONG_VIEW, "an edge is not straight");
  return TRUE;
}

gboolean
wsi_blade_side_gate (const WsSideFound *found, WsResult *result)
{
  return gate_reference_straight (found, result) && gate_lengths (found, result) &&
         gate_tip (found, result) && gate_bent (found, result) &&
         (wsi_side_layout_has_base (found->layout)
            ? gate_height (found, result) && gate_asymmetry (found, result)
            : gate_reference (found, result));
}
