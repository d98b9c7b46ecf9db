/*
 * View `blade-side`: a cutoff blade in silhouette from the side, its top, front and base.
 * Definitions of all quantities: docs/methods/blade.md.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/blade/advice.h"
#include "tool/blade/blade.h"
#include "tool/blade/blade_side.h"
#include "tool/blade/corner.h"
#include "tool/blade/edge_form.h"
#include "tool/blade/lines.h"
#include "tool/blade/mark.h"
#include "tool/blade/plan_corner.h"
#include "tool/blade/side_bow.h"
#include "tool/blade/side_burr.h"
#include "tool/blade/side_gates.h"
#include "tool/blade/side_layout.h"
#include "tool/edge_marks.h"
#include "tool/silhouette.h"

enum
{
  FRONT_RELIEF = WS_BLADE_SIDE_FRONT_RELIEF,
  TOP_RAKE,
  TIP_HEIGHT,
  EDGE_ROUNDING,
  BURR_HEIGHT,
  FRONT_RELIEF_WHOLE,
  SECOND_RELIEF,
  FRONT_RELIEF_SECTION,
  N_QUANTITIES = WS_BLADE_SIDE_N_QUANTITIES
};

#define N_FROM_LINES (TIP_HEIGHT + 1)

const WsQuantityInfo wsi_blade_side_quantities[N_QUANTITIES] = {
  { "front_relief", WS_UNIT_DEGREE, NULL, "Front relief",
    "Between front and the square to the base, as the silhouette shows it." },
  { "top_rake", WS_UNIT_DEGREE, NULL, "Top rake",
    "Between top and base, positive where the top falls away from the edge." },
  { "tip_height", WS_UNIT_LENGTH, NULL, "Tip height",
    "From the base to where top and front meet, square to the base." },
  { "edge_rounding", WS_UNIT_LENGTH, NULL, "Edge rounding",
    "Radius of the arc between top and front; 0 where a sharp edge would look the same." },
  { "burr_height", WS_UNIT_LENGTH, NULL, "Wire edge's height",
    "How far what hangs at the edge reaches outside of top and front; 0 where nothing does." },
  { "front_relief_whole", WS_UNIT_DEGREE, NULL, "Relief, edge to foot",
    "Front relief over all of the front, where that isn't plane." },
  { "second_relief", WS_UNIT_DEGREE, NULL, "Second relief",
    "Relief of the front below the first, where it is ground with two." },
  { "front_relief_section", WS_UNIT_DEGREE, NULL, "Relief in section",
    "Front relief square to the edge, by the side rake on the tool card." },
};

/* All that the numbers rest on. */
typedef struct
{
  const WsImage *image;
  const WsToolCard *card;
  const WsOptics *optics;
  const WsBlade *blade;
  const WsBlade *behind; /* the same with the lines of top and front right behind the edge */
  WsBladeLines lines;    /* of `behind` */
  WsSideLayout layout;
  WsSideBow top, front;
} Seen;

/* ---- Quantities from lines, and their budgets --------------------------------------- */

/* -pi .. pi */
static double
wrapped (double angle)
{
  return atan2 (sin (angle), cos (angle));
}

/* Of the base, walked away from the front if that is walked from the top, else toward it.  Where
 * it isn't seen, the blade's own top runs along it the other way. */
static double
base_angle (const WsBladeLines *lines, const WsSideLayout *layout)
{
  return wsi_side_layout_has_base (layout) ? lines->angle[layout->base]
                                           : lines->angle[layout->rear] + G_PI;
}

/*
 * The walk turns by 90 degrees less the relief from front to base, and over both corners by 180
 * degrees and the top rake.  `how`: WsSideLayout.
 */
static void
evaluate (const WsBladeLines *lines, const void *how, double *out)
{
  const WsSideLayout *layout = how;
  const double sense = layout->top < layout->front ? 1 : -1;
  const double front = lines->angle[layout->front];
  const double at_foot = wrapped (sense * (base_angle (lines, layout) - front));
  const double at_tip = wrapped (sense * (front - lines->angle[layout->top]));
  out[FRONT_RELIEF] = 0.5 * G_PI - at_foot;
  out[TOP_RAKE] = at_tip + at_foot - G_PI;
  out[TIP_HEIGHT] = NAN;
  if (!wsi_side_layout_has_base (layout))
    return;
  const guint edge = (guint)layout->base;
  const WsPoint base = wsi_blade_lines_direction (lines, edge);
  const WsPoint tip = wsi_blade_lines_corner (lines, layout->tip);
  out[TIP_HEIGHT] = fabs (wsi_point_cross (base, wsi_point_sub (tip, lines->centre[edge])));
}

#define EDGE_NAMES(edge)                                                                           \
  {                                                                                                \
    "edge noise and form, " edge " place", "edge noise and form, " edge " direction"               \
  }

/* Of each input, in the order of the walk. */
static void
name_inputs (const WsSideLayout *layout, const char *names[2 * WS_BLADE_MAX_EDGES])
{
  static const char *const texts[][2] = { EDGE_NAMES ("top"), EDGE_NAMES ("front"),
                                          EDGE_NAMES ("base"), EDGE_NAMES ("unground top"),
                                          EDGE_NAMES ("front below") };
  const gint edges[] = { layout->top, layout->front, layout->base, layout->rear, layout->heel };
  for (guint e = 0; e < G_N_ELEMENTS (edges); e++)
    for (gint k = 0; k < 2 && edges[e] != WS_SIDE_NONE; k++)
      names[2 * edges[e] + k] = texts[e][k];
}

/* Top and base of a ground blade are parallel to a few hundredths of a millimetre over some 50 mm:
 * common practice, no source. */
#define PARALLEL_DEG 0.05

static void
add_parallel_line (const Seen *seen, WsQuantity *angle)
{
  if (!wsi_side_layout_has_base (&seen->layout))
    wsi_quantity_add_seen_line (angle, "alignment: unground top against the base",
                                WS_DISTRIBUTION_NORMAL, wsi_radians (PARALLEL_DEG), seen->optics);
}

/* A blade laid on a table by eye lies in the picture's plane to a degree: common practice, no
 * source.  A tilt about the base makes the blade look lower and its angles greater, one about
 * the square to it the other way. */
#define TILT_DEG 1.0

static void
add_tilt_line (WsQuantity *q, double acts, const WsOptics *optics)
{
  const double shortening = 0.5 * wsi_radians (TILT_DEG) * wsi_radians (TILT_DEG);
  wsi_quantity_add_seen_line (q, "alignment: blade tilted", WS_DISTRIBUTION_ONE_SIDED,
                              acts * shortening, optics);
}

static void
add_tilt_lines (const double at[N_FROM_LINES], const WsOptics *optics, WsQuantity *q[N_QUANTITIES])
{
  const double acts[N_FROM_LINES] = {
    [FRONT_RELIEF] = 0.5 * fabs (sin (2 * at[FRONT_RELIEF])),
    [TOP_RAKE] = 0.5 * fabs (sin (2 * at[TOP_RAKE])),
    [TIP_HEIGHT] = at[TIP_HEIGHT],
  };
  for (guint i = 0; i < N_FROM_LINES && q[i]->known; i++)
    add_tilt_line (q[i], acts[i], optics);
}

/* ---- Faces that aren't plane ------------------------------------------------------------- */

/* A copy that borrows all from the blade. */
static WsBlade
right_behind (const WsBlade *blade, const WsSideLayout *layout, const WsSideBow *top,
              const WsSideBow *front)
{
  WsBlade behind = *blade;
  if (top->is_sure)
    wsi_side_bow_take (&behind, (guint)layout->top, layout->tip, top);
  if (front->is_sure)
    wsi_side_bow_take (&behind, (guint)layout->front, layout->tip, front);
  if ((top->is_sure || front->is_sure) && wsi_blade_corner_place (&behind, layout->tip))
  {
    WsBladeCorner *corner = &behind.corners[layout->tip];
    corner->radius =
      wsi_blade_corner_radius (corner->interior, corner->gap, blade->outline->blur_px);
  }
  return behind;
}

/* What may be a bow, but isn't surely one. */
static void
add_bow_line (const WsSideBow *bow, const char *name, const WsOptics *optics, WsQuantity *q)
{
  const double more = sqrt (MAX (bow->turn * bow->turn - bow->u_turn * bow->u_turn, 0));
  if (!bow->is_sure && more > 0 && q->known)
    wsi_quantity_add_seen_line (q, name, WS_DISTRIBUTION_RECTANGULAR, more / sqrt (3), optics);
}

static char *
say_front (gboolean hollow, const char *depth, const char *unit)
{
  return hollow ? g_strdup_printf ("The front is hollow by %s %s, as a wheel's rim leaves it. Its "
                                   "relief is that right behind the edge.",
                                   depth, unit)
                : g_strdup_printf ("The front is round, by %s %s. Its relief is that right behind "
                                   "the edge.",
                                   depth, unit);
}

static char *
say_top (gboolean hollow, const char *depth, const char *unit)
{
  return hollow ? g_strdup_printf ("The top is hollow by %s %s, as a wheel's rim leaves it. Its "
                                   "rake is that right behind the edge.",
                                   depth, unit)
                : g_strdup_printf ("The top is round, by %s %s. Its rake is that right behind the "
                                   "edge.",
                                   depth, unit);
}

static void
tell_bow (const WsSideBow *bow, char *(*say) (gboolean hollow, const char *depth, const char *unit),
          const WsOptics *optics, WsResult *result)
{
  if (!bow->is_sure)
    return;
  const double per = optics->has_scale ? optics->mm_per_px : 1;
  g_autofree char *depth = wsi_number_format (fabs (bow->depth) * per, optics->has_scale ? 3 : 1);
  wsi_result_add_finding (result, "not-plane",
                          say (bow->depth > 0, depth, optics->has_scale ? "mm" : "px"), NULL);
}

static void
evaluate_relief (const WsBladeLines *lines, const void *how, double *out)
{
  double all[N_FROM_LINES];
  evaluate (lines, how, all);
  *out = all[FRONT_RELIEF];
}

/* What the corners hide of a hollow's ends, as a part of its turn there: rendered hollow fronts. */
#define ENDS_SHARE 0.01

/* By the lines of whole edges. */
static void
add_relief (const Seen *seen, guint which, const WsSideLayout *layout, WsResult *result)
{
  double relief;
  const char *names[2 * WS_BLADE_MAX_EDGES];
  const WsBladeLines lines = wsi_blade_lines_of (seen->blade);
  WsQuantity *q = wsi_result_add_quantity (result, &wsi_blade_side_quantities[which], FALSE);
  name_inputs (&seen->layout, names);
  const WsBladeModel model = { evaluate_relief, layout, 1, names };
  evaluate_relief (&lines, layout, &relief);
  wsi_quantity_set_seen (q, relief, seen->optics);
  wsi_blade_lines_budget (&model, seen->blade, seen->image, seen->optics, &q);
  if (which == FRONT_RELIEF_WHOLE)
    wsi_quantity_add_seen_line (q, "ends of the hollow", WS_DISTRIBUTION_NORMAL,
                                ENDS_SHARE * fabs (seen->front.turn), seen->optics);
  add_tilt_line (q, 0.5 * fabs (sin (2 * relief)), seen->optics);
  add_parallel_line (seen, q);
  wsi_blade_lines_finish (q, TRUE, seen->optics);
}

static void
add_other_reliefs (const Seen *seen, WsResult *result)
{
  if (seen->front.is_sure)
    add_relief (seen, FRONT_RELIEF_WHOLE, &seen->layout, result);
  WsSideLayout below = seen->layout;
  below.front = below.heel;
  if (below.heel != WS_SIDE_NONE)
    add_relief (seen, SECOND_RELIEF, &below, result);
}

/* ---- Relief in section ----------------------------------------------------------------- */

/* How well a ground side rake agrees with the card; common practice, no source. */
#define CARD_RAKE_DEG 0.5

/* Seen square to the side, the front falls back by tan(section) / cos(side rake) per unit of
 * depth (docs/methods/blade.md, B9). */
static void
add_section (const WsQuantity *relief, const Seen *seen, WsResult *result)
{
  const double rake = wsi_radians (seen->card->side_rake_deg), shown = wsi_radians (relief->value);
  const double section = atan (tan (shown) * cos (rake)), c = cos (section);
  WsQuantity *q =
    wsi_result_add_quantity (result, &wsi_blade_side_quantities[FRONT_RELIEF_SECTION], FALSE);
  wsi_quantity_set_seen (q, section, seen->optics);
  wsi_quantity_add_line (q, "front relief as shown", WS_DISTRIBUTION_NORMAL, relief->U / relief->k,
                         cos (rake) * c * c / (cos (shown) * cos (shown)));
  wsi_quantity_add_line (q, "side rake by the tool card", WS_DISTRIBUTION_NORMAL, CARD_RAKE_DEG,
                         tan (shown) * sin (rake) * c * c);
  wsi_quantity_combine (q);
}

/* ---- The edge's rounding, and what hangs at it ---------------------------------------------- */

/* Where it looks sharp, what would have been told from that. */
static void
add_rounding (const Seen *seen, WsResult *result)
{
  WsQuantity *q = wsi_result_add_quantity (result, &wsi_blade_side_quantities[EDGE_ROUNDING],
                                           seen->optics->has_scale);
  WsQuantity *burr = wsi_result_add_quantity (result, &wsi_blade_side_quantities[BURR_HEIGHT],
                                              seen->optics->has_scale);
  const gboolean hidden = wsi_blade_side_add_burr (seen->behind, seen->image, seen->layout.tip,
                                                   seen->optics, burr, result);
  if (burr->known)
    wsi_blade_lines_finish (burr, FALSE, seen->optics);
  /* What the wheel left hanging there fills it. */
  if (hidden)
    return;
  wsi_blade_plan_add_corner (seen->behind, seen->image, seen->optics, seen->layout.tip, q);
  wsi_quantity_add_lens_line (q, 0, seen->optics);
  wsi_blade_lines_finish (q, FALSE, seen->optics);
  if (!(q->value > q->U))
    wsi_quantity_set_smallest_seen (q, (q->value + q->U) / wsi_quantity_per_seen (q, seen->optics),
                                    seen->optics);
}

/* ---- Marks -------------------------------------------------------------------------------- */

/* From front to back along the base, or along what stands for it. */
static WsPoint
backward (const Seen *seen)
{
  const WsSideLayout *layout = &seen->layout;
  const guint edge = (guint)(wsi_side_layout_has_base (layout) ? layout->base : layout->rear);
  const WsPoint along = wsi_blade_lines_direction (&seen->lines, edge);
  const gboolean toward_front = edge < (guint)layout->front;
  return toward_front ? wsi_point (-along.x, -along.y) : along;
}

/* The front's lower end: the foot, or where it leaves the picture or its second relief begins. */
static WsPoint
front_end (const Seen *seen)
{
  if (wsi_side_layout_has_base (&seen->layout) && seen->layout.heel == WS_SIDE_NONE)
    return seen->blade->corners[seen->layout.foot].place;
  const WsBladeEdge *front = &seen->blade->edges[seen->layout.front];
  const guint last = front->points->len - 1;
  return g_array_index (front->points, WsPoint, seen->layout.front > seen->layout.top ? last : 0);
}

/* As the front runs right behind the edge, as far as it is long. */
static WsPoint
front_end_as_measured (const Seen *seen, WsPoint tip)
{
  const WsPoint end = front_end (seen);
  if (!seen->front.is_sure)
    return end;
  const WsPoint along = wsi_blade_lines_direction (&seen->lines, (guint)seen->layout.front);
  const WsPoint run = wsi_point_sub (end, tip);
  return wsi_point_along (tip, wsi_point_dot (run, along), along);
}

static void
mark_relief (const Seen *seen, WsResult *result)
{
  const WsPoint tip = seen->blade->corners[seen->layout.tip].place;
  const WsPoint foot = front_end_as_measured (seen, tip);
  const WsPoint back = backward (seen), run = wsi_point_sub (tip, foot);
  const WsPoint square = wsi_point_along (run, -wsi_point_dot (run, back), back);
  const WsPoint angle[3] = { tip, foot, wsi_point_add (foot, square) };
  wsi_mark_angle_to (result, "front_relief", angle);
}

/* Back from the tip, between the top and what runs along the base. */
static void
mark_top_rake (const Seen *seen, WsResult *result)
{
  const WsPoint tip = seen->blade->corners[seen->layout.tip].place;
  const WsPoint along = wsi_blade_lines_direction (&seen->lines, (guint)seen->layout.top);
  const WsPoint back = backward (seen);
  const double reach = 0.8 * wsi_point_distance (tip, front_end (seen));
  const WsPoint angle[3] = { wsi_point_along (tip, wsi_point_dot (along, back) > 0 ? reach : -reach,
                                              along),
                             tip, wsi_point_along (tip, reach, back) };
  wsi_mark_angle_to (result, "top_rake", angle);
}

static void
mark_all (const Seen *seen, WsResult *result)
{
  const WsSideLayout *layout = &seen->layout;
  const gint edges[] = { layout->base, layout->rear, layout->top, layout->front, layout->heel };
  for (gsize i = 0; i < G_N_ELEMENTS (edges); i++)
    if (edges[i] != WS_SIDE_NONE)
      wsi_blade_mark_edge (seen->blade, (guint)edges[i], NULL, result);
  mark_relief (seen, result);
  mark_top_rake (seen, result);
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, &seen->blade->corners[layout->tip].place, 1);
}

/* ---- The view ---------------------------------------------------------------------------------
 */

static void
fill (const Seen *seen, const double at[N_FROM_LINES], WsResult *result)
{
  WsQuantity *q[N_QUANTITIES];
  const char *names[2 * WS_BLADE_MAX_EDGES];
  name_inputs (&seen->layout, names);
  const WsBladeModel model = { evaluate, &seen->layout, N_FROM_LINES, names };
  for (guint i = 0; i < N_FROM_LINES; i++)
  {
    q[i] = wsi_result_add_quantity (result, &wsi_blade_side_quantities[i], seen->optics->has_scale);
    if (isfinite (at[i]))
      wsi_quantity_set_seen (q[i], at[i], seen->optics);
  }
  wsi_blade_lines_budget (&model, seen->behind, seen->image, seen->optics, q);
  add_bow_line (&seen->front, "front that may not be plane", seen->optics, q[FRONT_RELIEF]);
  add_bow_line (&seen->top, "top that may not be plane", seen->optics, q[TOP_RAKE]);
  add_tilt_lines (at, seen->optics, q);
  for (guint i = FRONT_RELIEF; i <= TOP_RAKE; i++)
    add_parallel_line (seen, q[i]);
  for (guint i = 0; i < N_FROM_LINES; i++)
    wsi_blade_lines_finish (q[i], TRUE, seen->optics);
  add_rounding (seen, result);
  add_other_reliefs (seen, result);
  if (isfinite (seen->card->side_rake_deg))
    add_section (q[FRONT_RELIEF], seen, result);
  wsi_quantity_set_place (q[FRONT_RELIEF], front_end (seen));
  mark_all (seen, result);
}

/* A face beside the front, lit from the front and so narrow that its other border lies within the
 * scan lines, pulls the outline toward that border by its own width and light.  It shows in what
 * the step leaves over, above this many times that of the other edges; by so many blurs times that
 * over the step the ends of the front may be off.  Own trials on rendered faces. */
#define FACE_RESIDUAL 1.5
#define FACE_PULL 4.0

static void
allow_for_face (WsBlade *blade, const WsSideLayout *layout)
{
  WsBladeEdge *front = &blade->edges[layout->front];
  const WsBladeScan scan = wsi_blade_scan (blade, (guint)layout->front);
  const WsBladeScan top = wsi_blade_scan (blade, (guint)layout->top);
  if (scan.residual <= FACE_RESIDUAL * top.residual)
    return;
  const double excess =
    sqrt (scan.residual * scan.residual - top.residual * top.residual) / MAX (scan.step, 1e-6);
  const double length = front->line.t_high - front->line.t_low;
  const double pull = FACE_PULL * excess * blade->outline->blur_px;
  front->u_angle = hypot (front->u_angle, pull / length);
  front->u_place = hypot (front->u_place, pull);
}

void
wsi_blade_side_measure (const WsImage *image, const WsToolCard *card, const WsOptics *told,
                        WsResult *result)
{
  g_autoptr (WsOutline) outline = wsi_silhouette_trace_faces (image, told, result);
  if (outline == NULL)
    return;
  const WsOptics seen_by = wsi_silhouette_optics (image, outline, told, result), *const optics =
                                                                                   &seen_by;
  WsRefusal refusal = { 0 };
  WsSideLayout layout;
  g_autoptr (WsBlade) blade = wsi_blade_side_find (outline, &layout, &refusal);
  if (blade == NULL)
  {
    wsi_result_refuse (result, &refusal);
    return;
  }
  allow_for_face (blade, &layout);
  const WsSideBow top = wsi_side_bow (blade, (guint)layout.top, layout.tip, image, optics),
                  front = wsi_side_bow (blade, (guint)layout.front, layout.tip, image, optics);
  const WsBlade behind = right_behind (blade, &layout, &top, &front);
  const Seen seen = { .image = image,
                      .card = card,
                      .optics = optics,
                      .blade = blade,
                      .behind = &behind,
                      .lines = wsi_blade_lines_of (&behind),
                      .layout = layout,
                      .top = top,
                      .front = front };
  double at[N_FROM_LINES], whole[N_FROM_LINES];
  evaluate (&seen.lines, &seen.layout, at);
  const WsBladeLines of_all = wsi_blade_lines_of (blade);
  evaluate (&of_all, &layout, whole);
  const WsSideFound found = { .card = card,
                              .optics = optics,
                              .blade = blade,
                              .layout = &layout,
                              .relief = whole[FRONT_RELIEF],
                              .top_rake = whole[TOP_RAKE],
                              .tip_height = whole[TIP_HEIGHT] };
  if (!wsi_blade_side_gate (&found, result))
    return;
  fill (&seen, at, result);
  tell_bow (&seen.front, say_front, optics, result);
  tell_bow (&seen.top, say_top, optics, result);
}

static const WsRequired required[] = {
  { .kinds = 1u << WS_KIND_CUTOFF_BLADE, .stem = "front_relief" },
};

/* Only a tip's limits tell how high a tool should be; grinding on its top may take a part of it,
 * and a base that stands on something adds one (own choice). */
#define HEIGHT_BELOW 0.30
#define HEIGHT_ABOVE 0.15

const WsFitBand wsi_blade_side_fits[WS_BLADE_SIDE_N_FITS] = {
  { WS_TRAIT_HEIGHT, "tip_height", HEIGHT_BELOW, HEIGHT_ABOVE, 0, FALSE },
};

const WsView wsi_view_blade_side = {
  .name = "blade-side",
  .summary = "cutoff blade from the side in silhouette, its top, front and base",
  .kinds = 1u << WS_KIND_CUTOFF_BLADE,
  .needs = WS_IMAGE_CODED,
  .quantities = wsi_blade_side_quantities,
  .n_quantities = N_QUANTITIES,
  .required = required,
  .n_required = G_N_ELEMENTS (required),
  .fits = wsi_blade_side_fits,
  .n_fits = WS_BLADE_SIDE_N_FITS,
  .measure = wsi_blade_side_measure,
  .advise = wsi_blade_side_advise,
};
