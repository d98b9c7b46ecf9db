/*
 * View `blade-side`: a cutoff blade in silhouette from the side, its top, front and base.
 * Definitions of all quantities: docs/methods.md, section 14.
 */
#include <whetsight/view.h>

#include "base/geometry.h"
#include "tool/blade.h"
#include "tool/blade_advice.h"
#include "tool/blade_lines.h"
#include "tool/blade_mark.h"
#include "tool/blade_side.h"
#include "tool/silhouette.h"

enum
{
  FRONT_RELIEF = WS_BLADE_SIDE_FRONT_RELIEF,
  TOP_RAKE,
  TIP_HEIGHT,
  FRONT_RELIEF_SECTION,
  N_QUANTITIES = WS_BLADE_SIDE_N_QUANTITIES
};

#define N_FROM_LINES (TIP_HEIGHT + 1)

const WsQuantityInfo ws_blade_side_quantities[N_QUANTITIES] = {
  { "front_relief", WS_UNIT_DEGREE, NULL, "Front relief",
    "Between front and the square to the base, as the silhouette shows it." },
  { "top_rake", WS_UNIT_DEGREE, NULL, "Top rake",
    "Between top and base, positive where the top falls away from the edge." },
  { "tip_height", WS_UNIT_LENGTH, NULL, "Tip height",
    "From the base to where top and front meet, square to the base." },
  { "front_relief_section", WS_UNIT_DEGREE, NULL, "Relief in section",
    "Front relief square to the edge, by the side rake on the tool card." },
};

/* Which edge is what: the tip is the sharper corner. */
typedef struct
{
  guint tip;       /* corner at the cutting edge */
  guint top, base; /* edges */
} Roles;

static Roles
roles_of (const WsBlade *blade)
{
  const gboolean first = blade->corners[0].interior < blade->corners[1].interior;
  return first ? (Roles){ 0, WS_BLADE_LEFT, WS_BLADE_RIGHT }
               : (Roles){ 1, WS_BLADE_RIGHT, WS_BLADE_LEFT };
}

/* All that the numbers rest on. */
typedef struct
{
  const WsImage *image;
  const WsToolCard *card;
  const WsOptics *optics;
  const WsBlade *blade;
  WsBladeLines lines;
  Roles roles;
} Seen;

/* ---- Quantities from lines, and their budgets --------------------------------------- */

/* -pi .. pi */
static double
wrapped (double angle)
{
  return atan2 (sin (angle), cos (angle));
}

/*
 * The walk turns by 90 degrees less the relief from front to base, and over both corners by 180
 * degrees and the top rake.  `how`: Roles.
 */
static void
evaluate (const WsBladeLines *lines, const void *how, double *out)
{
  const Roles *roles = how;
  const double first = wrapped (lines->angle[1] - lines->angle[0]);
  const double second = wrapped (lines->angle[2] - lines->angle[1]);
  const double at_foot = roles->tip == 0 ? second : first;
  const WsPoint base = ws_blade_lines_direction (lines, roles->base);
  const WsPoint tip = ws_blade_lines_corner (lines, roles->tip);
  out[FRONT_RELIEF] = 0.5 * G_PI - at_foot;
  out[TOP_RAKE] = first + second - G_PI;
  out[TIP_HEIGHT] = fabs (ws_point_cross (base, ws_point_sub (tip, lines->centre[roles->base])));
}

#define EDGE_NAMES(first, last)                                                                    \
  {                                                                                                \
    "edge noise and form, " first " place", "edge noise and form, " first " direction",            \
      "edge noise and form, front place", "edge noise and form, front direction",                  \
      "edge noise and form, " last " place", "edge noise and form, " last " direction"             \
  }

/* By the tip's corner. */
static const char *const edge_names[2][2 * WS_BLADE_N_EDGES] = {
  EDGE_NAMES ("top", "base"),
  EDGE_NAMES ("base", "top"),
};

/* A blade laid on a table by eye lies in the picture's plane to a degree: common practice, no
 * source.  A tilt about the base makes the blade look lower and its angles greater, one about
 * the square to it the other way. */
#define TILT_DEG 1.0

static void
add_tilt_lines (const double at[N_FROM_LINES], const WsOptics *optics, WsQuantity *q[N_QUANTITIES])
{
  const double shortening = 0.5 * ws_radians (TILT_DEG) * ws_radians (TILT_DEG);
  const double acts[N_FROM_LINES] = {
    [FRONT_RELIEF] = 0.5 * fabs (sin (2 * at[FRONT_RELIEF])),
    [TOP_RAKE] = 0.5 * fabs (sin (2 * at[TOP_RAKE])),
    [TIP_HEIGHT] = at[TIP_HEIGHT],
  };
  for (guint i = 0; i < N_FROM_LINES; i++)
    ws_silhouette_line (q[i], "alignment: blade tilted", WS_DISTRIBUTION_ONE_SIDED,
                        acts[i] * shortening, optics);
}

/* ---- Relief in section ----------------------------------------------------------------- */

/* How well a ground side rake agrees with the card; common practice, no source. */
#define CARD_RAKE_DEG 0.5

/* Seen square to the side, the front falls back by tan(section) / cos(side rake) per unit of
 * depth (docs/methods.md, B9). */
static void
add_section (const WsQuantity *relief, const Seen *seen, WsResult *result)
{
  const double rake = ws_radians (seen->card->side_rake_deg), shown = ws_radians (relief->value);
  const double section = atan (tan (shown) * cos (rake)), c = cos (section);
  WsQuantity *q =
    ws_result_add_quantity (result, &ws_blade_side_quantities[FRONT_RELIEF_SECTION], FALSE);
  ws_silhouette_set (q, section, seen->optics);
  ws_quantity_add_line (q, "front relief as shown", WS_DISTRIBUTION_NORMAL, relief->U / relief->k,
                        cos (rake) * c * c / (cos (shown) * cos (shown)));
  ws_quantity_add_line (q, "side rake by the tool card", WS_DISTRIBUTION_NORMAL, CARD_RAKE_DEG,
                        tan (shown) * sin (rake) * c * c);
  ws_quantity_combine (q);
}

/* ---- Marks -------------------------------------------------------------------------------- */

static void
mark_relief (const Seen *seen, WsResult *result)
{
  const WsPoint foot = seen->blade->corners[1 - seen->roles.tip].place;
  const WsPoint tip = seen->blade->corners[seen->roles.tip].place;
  const WsPoint base = ws_blade_lines_direction (&seen->lines, seen->roles.base);
  const WsPoint run = ws_point_sub (tip, foot);
  const WsPoint square = ws_point_along (run, -ws_point_dot (run, base), base);
  const WsPoint angle[3] = { tip, foot, ws_point_add (foot, square) };
  ws_result_add_mark (result, WS_MARK_ENVELOPE, NULL, angle + 1, 2);
  ws_result_add_mark (result, WS_MARK_ANGLE, "front_relief", angle, 3);
}

/* Back from the tip, between the top and what runs along the base. */
static void
mark_top_rake (const Seen *seen, WsResult *result)
{
  const WsPoint tip = seen->blade->corners[seen->roles.tip].place;
  const WsPoint base = ws_blade_lines_direction (&seen->lines, seen->roles.base);
  const WsPoint top = ws_blade_lines_direction (&seen->lines, seen->roles.top);
  const double reach =
    0.8 * ws_point_distance (seen->blade->corners[0].place, seen->blade->corners[1].place);
  /* The first edge is walked toward the front, the last one away from it. */
  const double back = seen->roles.tip == 0 ? reach : -reach;
  const WsPoint angle[3] = { ws_point_along (tip, -back, top), tip,
                             ws_point_along (tip, back, base) };
  ws_result_add_mark (result, WS_MARK_ENVELOPE, NULL, angle + 1, 2);
  ws_result_add_mark (result, WS_MARK_ANGLE, "top_rake", angle, 3);
}

static void
mark_all (const Seen *seen, WsResult *result)
{
  ws_blade_mark_edge (seen->blade, seen->roles.base, NULL, result);
  ws_blade_mark_edge (seen->blade, seen->roles.top, NULL, result);
  ws_blade_mark_edge (seen->blade, WS_BLADE_FRONT, NULL, result);
  mark_relief (seen, result);
  mark_top_rake (seen, result);
  ws_result_add_mark (result, WS_MARK_APEX, NULL, &seen->blade->corners[seen->roles.tip].place, 1);
}

/* ---- The view ---------------------------------------------------------------------------------
 */

/* Angles beyond these are never ground on a cutoff blade; common practice, no source. */
#define MAX_RELIEF_DEG 30.0
#define MIN_TOP_RAKE_DEG (-10.0)
#define MAX_TOP_RAKE_DEG 25.0

/* Corners less different than this don't tell the tip from the foot. */
#define MIN_DIFFERENCE_DEG 2.0

/* A blade is several times as high as it is wide; less, and it is seen from above. */
#define MIN_HEIGHT_WIDTHS 1.5

static gboolean
gate_side (const Seen *seen, const double at[N_FROM_LINES], WsResult *result)
{
  const WsBladeCorner *corners = seen->blade->corners;
  const double relief = ws_degrees (at[FRONT_RELIEF]), rake = ws_degrees (at[TOP_RAKE]);
  const double height = at[TIP_HEIGHT] * seen->optics->mm_per_px;
  const double difference = fabs (ws_degrees (corners[0].interior - corners[1].interior));
  if (difference < MIN_DIFFERENCE_DEG)
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW,
                      "the corners are too alike to tell the tip from the foot");
  else if (relief > MAX_RELIEF_DEG || rake < MIN_TOP_RAKE_DEG || rake > MAX_TOP_RAKE_DEG)
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW,
                      "relief of %.0f and top rake of %.0f degrees are not those of a blade",
                      relief, rake);
  else if (seen->card->kind == WS_KIND_CUTOFF_BLADE && seen->optics->has_scale &&
           height < MIN_HEIGHT_WIDTHS * seen->card->width_mm)
    ws_result_retake (result, WS_RETAKE_WRONG_VIEW,
                      "%.2f mm high on a blade %.2f mm wide by the tool card", height,
                      seen->card->width_mm);
  return result->reason == WS_RETAKE_NONE;
}

static void
fill (const Seen *seen, const double at[N_FROM_LINES], WsResult *result)
{
  WsQuantity *q[N_QUANTITIES];
  const WsBladeModel model = { evaluate, &seen->roles, N_FROM_LINES, edge_names[seen->roles.tip] };
  for (guint i = 0; i < N_FROM_LINES; i++)
  {
    q[i] = ws_result_add_quantity (result, &ws_blade_side_quantities[i], seen->optics->has_scale);
    ws_silhouette_set (q[i], at[i], seen->optics);
  }
  ws_blade_lines_budget (&model, seen->blade, seen->image, seen->optics, q);
  add_tilt_lines (at, seen->optics, q);
  for (guint i = 0; i < N_FROM_LINES; i++)
    ws_blade_lines_finish (q[i], TRUE, seen->optics);
  if (isfinite (seen->card->side_rake_deg))
    add_section (q[FRONT_RELIEF], seen, result);
  mark_all (seen, result);
}

void
ws_blade_side_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                       WsResult *result)
{
  g_autoptr (WsOutline) outline = ws_silhouette_trace (image, optics, result);
  if (outline == NULL)
    return;
  WsRetake reason = WS_RETAKE_NONE;
  char detail[96] = "";
  g_autoptr (WsBlade) blade = ws_blade_locate (outline, &reason, detail);
  if (blade == NULL)
  {
    ws_result_retake (result, reason, "%s", detail);
    return;
  }
  const Seen seen = { image, card, optics, blade, ws_blade_lines_of (blade), roles_of (blade) };
  double at[N_FROM_LINES];
  evaluate (&seen.lines, &seen.roles, at);
  if (gate_side (&seen, at, result))
    fill (&seen, at, result);
}

const WsView ws_view_blade_side = {
  .name = "blade-side",
  .summary = "cutoff blade from the side in silhouette, its top, front and base",
  .kinds = 1u << WS_KIND_CUTOFF_BLADE,
  .needs = WS_IMAGE_GREY,
  .quantities = ws_blade_side_quantities,
  .n_quantities = N_QUANTITIES,
  .measure = ws_blade_side_measure,
  .advise = ws_blade_side_advise,
};
