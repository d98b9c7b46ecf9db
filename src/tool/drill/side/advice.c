/*
 * The geometry of regrinding.
 *
 * Seen square on, lip l (a or b) is a line at the axial height
 *
 *   z_l(r) = H_l + (R - r) cot k_l,   0 <= r <= R,
 *
 * r from the axis, R the envelope radius, k_l the half angle, H_l the height of its
 * outer corner; H_a - H_b is the lip height difference.  Grinding only takes metal
 * away, so a lip can become the line through a corner at height h under the half angle
 * t_l when, at both ends r = 0 and r = R,
 *
 *   h + (R - r) cot t_l <= z_l(r) - c_l,
 *
 * c_l being what must come off anyway to clean up a chip or a worn corner.  Lips with
 * the same h and the same t are equal in length and meet on the axis.  The highest h
 * that serves both lips costs the least metal.
 *
 * It follows that of two lips at equal angles the shorter is ground: its corner stands
 * too high, and the point moves back to the axis as it comes down.
 */
#include "tool/drill/side/advice.h"

#include <math.h>

#include "base/geometry.h"
#include "base/number.h"
#include "judge/limits.h"
#include "result/build.h"
#include "tool/cautions.h"

/* Without limits (no scale), what is worth grinding, as parts of the diameter; common
 * practice, no source. */
#define WORTH_GRINDING 0.005
#define WORTH_CLEANING 0.01

/* Nobody sets a grinder finer than this. */
#define MAX_PLACES_MM 3
#define MAX_PLACES_ANGLE 1

enum
{
  A,
  B,
  N_LIPS
};

static const char *const lip_names[N_LIPS] = { "a", "b" };

typedef struct
{
  const WsToolCard *card;
  WsResult *result;
  gboolean in_mm;
  double D; /* in the lengths' unit, NAN when unknown */

  /* NULL when unknown. */
  const WsQuantity *point_angle, *half_angle[N_LIPS], *half_angle_difference;
  const WsQuantity *lip_height, *lip_length, *offset, *diameter;
  const WsQuantity *corner[N_LIPS], *chip[N_LIPS], *straightness[N_LIPS];
} Drill;

/* What to grind. */
typedef struct
{
  double half_angle[N_LIPS]; /* to be ground, degrees */
  double turn[N_LIPS];       /* change of half angle, degrees */
  double at_corner[N_LIPS];  /* to take off along the axis, in the lengths' unit */
  double at_centre[N_LIPS];
} Plan;

static Drill
drill_of (const WsToolCard *card, WsResult *result)
{
  Drill drill = {
    .card = card,
    .result = result,
    .point_angle = ws_result_quantity (result, "point_angle"),
    .half_angle = { ws_result_quantity (result, "half_angle_a"),
                    ws_result_quantity (result, "half_angle_b") },
    .half_angle_difference = ws_result_quantity (result, "half_angle_difference"),
    .lip_height = ws_result_quantity (result, "lip_height_difference"),
    .lip_length = ws_result_quantity (result, "lip_length_difference"),
    .offset = ws_result_quantity (result, "point_offset"),
    .diameter = ws_result_quantity (result, "diameter"),
    .corner = { ws_result_quantity (result, "corner_wear_a"),
                ws_result_quantity (result, "corner_wear_b") },
    .chip = { ws_result_quantity (result, "chip_depth_a"),
              ws_result_quantity (result, "chip_depth_b") },
    .straightness = { ws_result_quantity (result, "lip_straightness_a"),
                      ws_result_quantity (result, "lip_straightness_b") },
  };
  drill.D = drill.diameter != NULL ? drill.diameter->value : NAN;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    drill.in_mm |= g_str_has_suffix (quantity->name, "_mm");
  }
  return drill;
}

/* Words. */

/* "0.085 mm"; without a scale "1.3 % of the diameter", or "8.4 px". */
static char *
say_length (const Drill *drill, double length, double U)
{
  if (drill->in_mm)
  {
    g_autofree char *mm = ws_number_format (length, MIN (ws_number_places (U), MAX_PLACES_MM));
    return g_strconcat (mm, " mm", NULL);
  }
  double scale = isfinite (drill->D) ? 100.0 / drill->D : 1.0;
  g_autofree char *part = ws_number_format (length * scale, MIN (ws_number_places (U * scale), 2));
  return g_strconcat (part, isfinite (drill->D) ? " % of the diameter" : " px", NULL);
}

/* "0.085 ± 0.004 mm", and so on. */
static char *
say_measured_length (const Drill *drill, double length, double U)
{
  double scale = drill->in_mm || !isfinite (drill->D) ? 1.0 : 100.0 / drill->D;
  const char *unit = drill->in_mm ? "mm" : isfinite (drill->D) ? "% of the diameter" : "px";
  guint places = ws_number_places (U * scale);
  g_autofree char *number = ws_number_format (length * scale, places);
  g_autofree char *uncertainty = ws_number_format (U * scale, places);
  return g_strdup_printf ("%s ± %s %s", number, uncertainty, unit);
}

static char *
say_measured_angle (double angle, double U)
{
  guint places = ws_number_places (U);
  g_autofree char *number = ws_number_format (angle, places);
  g_autofree char *uncertainty = ws_number_format (U, places);
  return g_strdup_printf ("%s ± %s°", number, uncertainty);
}

static char *
say_angle (double angle)
{
  g_autofree char *number = ws_number_format (angle, MAX_PLACES_ANGLE);
  return g_strconcat (number, "°", NULL);
}

static char *
say_measured (const Drill *drill, const WsQuantity *quantity)
{
  return quantity->info->unit == WS_UNIT_DEGREE
           ? say_measured_angle (fabs (quantity->value), quantity->U)
           : say_measured_length (drill, fabs (quantity->value), quantity->U);
}

/* What a fault leads to, unless it is small enough. */
static const char *
effect_of (const Drill *drill, const WsQuantity *quantity, const char *effect)
{
  if (quantity->verdict == WS_VERDICT_ACCEPT)
    return " That is inside the limits.";
  gboolean small =
    quantity->verdict == WS_VERDICT_NONE && fabs (quantity->value) <= WORTH_GRINDING * drill->D;
  return small ? "" : effect;
}

static void
find (const Drill *drill, const char *code, char *text)
{
  ws_result_add_finding (drill->result, code, text, NULL);
}

static void
advise (const Drill *drill, char *text)
{
  g_ptr_array_add (drill->result->advice, text);
}

/* Known, and different from zero beyond its uncertainty. */
static gboolean
is_real (const WsQuantity *quantity)
{
  return quantity != NULL && fabs (quantity->value) > quantity->U;
}

/* Findings. */

static void
find_no_scale (const Drill *drill)
{
  if (!drill->in_mm)
    find (drill, "no-scale",
          g_strdup ("No scale was given. Angles are judged; lengths are told in parts of the "
                    "diameter and not judged."));
}

static void
find_point_angle (const Drill *drill)
{
  const WsQuantity *angle = drill->point_angle;
  if (angle == NULL || angle->verdict != WS_VERDICT_REJECT)
    return;
  gboolean flat = angle->value > angle->upper;
  g_autofree char *limit = say_angle (flat ? angle->upper : angle->lower);
  g_autofree char *value = say_measured (drill, angle);
  if (flat)
    find (
      drill, "point-flat",
      g_strdup_printf ("The point is too flat: %s, at most %s is allowed. It starts less surely "
                       "and can wander.",
                       value, limit));
  else
    find (
      drill, "point-sharp",
      g_strdup_printf ("The point is too sharp: %s, at least %s is needed. Its outer corners are "
                       "thin and wear sooner.",
                       value, limit));
}

static void
find_unequal_angles (const Drill *drill)
{
  const WsQuantity *difference = drill->half_angle_difference;
  if (!is_real (difference))
    return;
  gboolean a_flatter = difference->value > 0.0;
  g_autofree char *value = say_measured (drill, difference);
  find (drill, "angles-unequal",
        g_strdup_printf ("Lip %s is flatter than lip %s by %s.%s", lip_names[a_flatter ? A : B],
                         lip_names[a_flatter ? B : A], value,
                         effect_of (drill, difference, " The lips don't share the load equally.")));
}

static void
find_unequal_lengths (const Drill *drill)
{
  const WsQuantity *difference = drill->lip_length;
  if (!is_real (difference))
    return;
  gboolean a_longer = difference->value > 0.0;
  g_autofree char *value = say_measured (drill, difference);
  find (drill, "lip-longer",
        g_strdup_printf ("Lip %s is longer than lip %s by %s.%s", lip_names[a_longer ? A : B],
                         lip_names[a_longer ? B : A], value, effect_of (drill, difference, "")));
}

static void
find_unequal_heights (const Drill *drill)
{
  const WsQuantity *difference = drill->lip_height;
  if (!is_real (difference))
    return;
  g_autofree char *value = say_measured (drill, difference);
  const char *load = effect_of (drill, difference, " It carries most of the load and dulls early.");
  find (drill, "lip-higher",
        g_strdup_printf ("Lip %s stands ahead of the other at the outer corner by %s.%s",
                         lip_names[difference->value > 0.0 ? A : B], value, load));
}

/* The hole that a drill turning about its own point would cut, D + 2 |offset|: nothing
 * in the silhouette can make it wider. */
static char *
say_widest_hole (const Drill *drill)
{
  const WsQuantity *offset = drill->offset;
  if (drill->card->kind == WS_KIND_SPOT_DRILL)
    return g_strdup ("It can start the hole off its place.");
  if (drill->diameter == NULL)
    return g_strdup ("It can drill oversize.");
  double oversize = 2.0 * fabs (offset->value);
  double U = hypot (drill->diameter->U, 2.0 * offset->U);
  if (!drill->in_mm)
  {
    g_autofree char *part = say_length (drill, oversize, 2.0 * offset->U);
    return g_strdup_printf ("It can drill oversize by at most %s (geometric upper bound, twice the "
                            "offset; a stiff or guided drill cuts less).",
                            part);
  }
  g_autofree char *hole = say_length (drill, drill->diameter->value + oversize, U);
  return g_strdup_printf ("It can drill oversize: a hole of at most %s (geometric upper bound, "
                          "diameter plus twice the offset; a stiff or guided drill cuts less).",
                          hole);
}

static void
find_offset (const Drill *drill)
{
  const WsQuantity *offset = drill->offset;
  if (!is_real (offset))
    return;
  g_autofree char *value = say_measured (drill, offset);
  g_autofree char *hole = say_widest_hole (drill);
  find (drill, "point-off-centre",
        g_strdup_printf ("The point is off the axis by %s, toward lip %s. %s%s", value,
                         lip_names[offset->value > 0.0 ? B : A], hole,
                         effect_of (drill, offset, "")));
}

static const WsPoint *
chip_place (const WsResult *result, const char *lip)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    if (mark->role == WS_MARK_CHIP && g_strcmp0 (mark->label, lip) == 0 && mark->points->len > 1)
      return &g_array_index (mark->points, WsPoint, 1);
  }
  return NULL;
}

static void
find_chip (const Drill *drill, int lip)
{
  const WsQuantity *chip = drill->chip[lip];
  if (!is_real (chip))
    return;
  g_autofree char *value = say_measured (drill, chip);
  char *text = g_strdup_printf ("Lip %s has a chip, %s deep. The notch doesn't cut, so the other "
                                "lip has to do its work there.",
                                lip_names[lip], value);
  ws_result_add_finding (drill->result, "chip", text, chip_place (drill->result, lip_names[lip]));
}

static double
corner_shortfall (const Drill *drill)
{
  if (!isfinite (drill->D))
    return 0.0;
  return ws_unworn_corner_shortfall (drill->D, drill->in_mm ? drill->card->web_mm : NAN);
}

/* Wear beyond what an unworn corner falls short, 0 when it isn't beyond doubt. */
static double
corner_loss (const Drill *drill, int lip)
{
  const WsQuantity *corner = drill->corner[lip];
  double loss = corner == NULL ? 0.0 : corner->value - corner_shortfall (drill);
  return corner != NULL && loss > corner->U ? loss : 0.0;
}

static void
find_worn_corner (const Drill *drill, int lip)
{
  double loss = corner_loss (drill, lip);
  if (loss <= 0.0)
    return;
  const WsQuantity *corner = drill->corner[lip];
  g_autofree char *value = say_measured (drill, corner);
  const char *effect =
    effect_of (drill, corner, " A worn corner rubs, heats and binds in the hole.");
  find (drill, "corner-worn",
        g_strdup_printf ("The outer corner of lip %s is worn: it falls short by %s.%s",
                         lip_names[lip], value, effect));
}

static void
find_bow (const Drill *drill, int lip)
{
  const WsQuantity *straightness = drill->straightness[lip];
  if (straightness == NULL || straightness->verdict != WS_VERDICT_REJECT)
    return;
  g_autofree char *value = say_measured (drill, straightness);
  find (drill, "lip-not-straight",
        g_strdup_printf ("Lip %s is not straight: %s from its highest to its lowest place.",
                         lip_names[lip], value));
}

static void
find_diameter (const Drill *drill)
{
  const WsQuantity *diameter = drill->diameter;
  if (diameter == NULL || diameter->verdict != WS_VERDICT_REJECT)
    return;
  gboolean over = diameter->value > diameter->upper;
  g_autofree char *value = say_measured (drill, diameter);
  find (
    drill, over ? "diameter-over" : "diameter-under",
    g_strdup_printf ("The diameter is too %s: %s. Grinding the point can't cure that; check the "
                     "scale and the tool card first.",
                     over ? "large" : "small", value));
}

static void
find_equal_lips (const Drill *drill)
{
  if (drill->lip_length == NULL || drill->half_angle_difference == NULL)
    return;
  if (is_real (drill->lip_length) || is_real (drill->half_angle_difference) ||
      is_real (drill->lip_height) || is_real (drill->offset))
    return;
  g_autofree char *length = say_length (drill, drill->lip_length->U, drill->lip_length->U);
  g_autofree char *angle = ws_number_format (drill->half_angle_difference->U,
                                             ws_number_places (drill->half_angle_difference->U));
  find (drill, "lips-equal",
        g_strdup_printf ("The lips can't be told from equal with this picture: lengths to %s, "
                         "angles to %s°.",
                         length, angle));
}

static void
add_findings (const Drill *drill)
{
  find_point_angle (drill);
  find_unequal_angles (drill);
  find_unequal_lengths (drill);
  find_unequal_heights (drill);
  find_offset (drill);
  for (int lip = 0; lip < N_LIPS; lip++)
  {
    find_chip (drill, lip);
    find_worn_corner (drill, lip);
    find_bow (drill, lip);
  }
  find_diameter (drill);
  find_equal_lips (drill);
  find_no_scale (drill);
}

/* What needs grinding. */

/* A difference that should be zero, is beyond doubt not, and isn't accepted. */
static gboolean
needs_equalising (const Drill *drill, const WsQuantity *difference)
{
  if (!is_real (difference) || difference->verdict == WS_VERDICT_ACCEPT)
    return FALSE;
  if (difference->verdict != WS_VERDICT_NONE)
    return TRUE;
  return fabs (difference->value) - difference->U > WORTH_GRINDING * drill->D;
}

static gboolean
needs_equal_angles (const Drill *drill)
{
  return needs_equalising (drill, drill->half_angle_difference);
}

static gboolean
needs_point_angle (const Drill *drill)
{
  return drill->point_angle != NULL && drill->point_angle->verdict == WS_VERDICT_REJECT;
}

static gboolean
needs_equal_lips (const Drill *drill)
{
  return needs_equalising (drill, drill->lip_height) || needs_equalising (drill, drill->offset) ||
         needs_equalising (drill, drill->lip_length);
}

/* A depth that has to be ground away; 0 when it may stay. */
static double
to_clean (const Drill *drill, const WsQuantity *depth, double beyond)
{
  if (depth == NULL || depth->value - beyond <= depth->U || depth->verdict == WS_VERDICT_ACCEPT)
    return 0.0;
  gboolean worth =
    depth->verdict != WS_VERDICT_NONE || depth->value - beyond > WORTH_CLEANING * drill->D;
  return worth ? depth->value - beyond : 0.0;
}

/*
 * Axial amount that cleans up lip `lip`.  A chip d deep square to the lip: d / sin k.  A
 * corner rounded evenly to an arc that touches lip and margin, c short of the sharp
 * corner (interior angle 180 deg - k): the arc reaches c cot (k / 4) down the margin.
 */
static double
clean_up (const Drill *drill, int lip)
{
  double k = ws_radians (drill->half_angle[lip]->value);
  double chip = to_clean (drill, drill->chip[lip], 0.0) / sin (k);
  double bow = to_clean (drill, drill->straightness[lip], 0.0) / sin (k);
  double corner = to_clean (drill, drill->corner[lip], corner_shortfall (drill)) / tan (0.25 * k);
  return fmax (fmax (chip, bow), corner);
}

/* The regrind that gives the lips the half angles `target`, in the file's opening terms. */
static Plan
plan_for (const Drill *drill, const double target[N_LIPS])
{
  double R = 0.5 * drill->D;
  double height[N_LIPS] = { drill->lip_height->value, 0.0 };
  double gain[N_LIPS]; /* R (cot k - cot t): how far the old line's end at the axis is above */
  double h = INFINITY;

  for (int lip = 0; lip < N_LIPS; lip++)
  {
    double k = ws_radians (drill->half_angle[lip]->value);
    double t = ws_radians (target[lip]);
    gain[lip] = R * (1.0 / tan (k) - 1.0 / tan (t));
    h = fmin (h, height[lip] + fmin (0.0, gain[lip]) - clean_up (drill, lip));
  }

  Plan plan;
  for (int lip = 0; lip < N_LIPS; lip++)
  {
    plan.half_angle[lip] = target[lip];
    plan.turn[lip] = target[lip] - drill->half_angle[lip]->value;
    plan.at_corner[lip] = height[lip] - h;
    plan.at_centre[lip] = height[lip] - h + gain[lip];
  }
  return plan;
}

static double
cost (const Plan *plan)
{
  return plan->at_corner[A] + plan->at_centre[A] + plan->at_corner[B] + plan->at_centre[B];
}

static gboolean
is_allowed (const Drill *drill, double half_angle)
{
  const WsQuantity *angle = drill->point_angle;
  return angle != NULL && 2.0 * half_angle >= angle->lower + angle->U &&
         2.0 * half_angle <= angle->upper - angle->U;
}

/* Half the angle the limits ask for; the lips' mean where they don't say. */
static double
nominal_half_angle (const Drill *drill)
{
  const WsQuantity *angle = drill->point_angle;
  if (angle != NULL && isfinite (angle->lower) && isfinite (angle->upper))
    return 0.25 * (angle->lower + angle->upper);
  return 0.5 * (drill->half_angle[A]->value + drill->half_angle[B]->value);
}

/* Both lips to one angle: that of either lip when the limits allow it and it costs less
 * metal, else the nominal one. */
static Plan
plan_equal_angles (const Drill *drill)
{
  double nominal = nominal_half_angle (drill);
  Plan best = plan_for (drill, (const double[N_LIPS]){ nominal, nominal });
  for (int lip = 0; lip < N_LIPS; lip++)
  {
    double k = drill->half_angle[lip]->value;
    Plan plan = plan_for (drill, (const double[N_LIPS]){ k, k });
    if (is_allowed (drill, k) && cost (&plan) < cost (&best))
      best = plan;
  }
  return best;
}

static Plan
plan_regrind (const Drill *drill)
{
  double nominal = nominal_half_angle (drill);
  if (needs_point_angle (drill))
    return plan_for (drill, (const double[N_LIPS]){ nominal, nominal });
  if (needs_equal_angles (drill))
    return plan_equal_angles (drill);
  return plan_for (
    drill, (const double[N_LIPS]){ drill->half_angle[A]->value, drill->half_angle[B]->value });
}

/* Advice. */

static gboolean
is_turned (const Plan *plan, int lip)
{
  return fabs (plan->turn[lip]) >= 0.05;
}

static gboolean
is_ground (const Drill *drill, const Plan *plan, int lip)
{
  return fmax (plan->at_corner[lip], plan->at_centre[lip]) > drill->lip_height->U;
}

static char *
say_take (const Drill *drill, double take)
{
  double U = drill->lip_height->U;
  return take <= U ? g_strdup ("nothing") : say_length (drill, take, U);
}

static char *
say_turned_lip (const Drill *drill, const Plan *plan, int lip)
{
  g_autofree char *turn = say_angle (fabs (plan->turn[lip]));
  g_autofree char *angle = say_angle (plan->half_angle[lip]);
  g_autofree char *corner = say_take (drill, plan->at_corner[lip]);
  g_autofree char *centre = say_take (drill, plan->at_centre[lip]);
  return g_strdup_printf ("Grind lip %s %s %s, to %s from the axis. Along the axis that takes off "
                          "%s at the outer corner and %s at the centre.",
                          lip_names[lip], turn, plan->turn[lip] > 0.0 ? "flatter" : "sharper",
                          angle, corner, centre);
}

static char *
say_straight_lip (const Drill *drill, const Plan *plan, int lip)
{
  double U = drill->lip_height->U;
  double take = plan->at_corner[lip];
  double square = take * sin (ws_radians (plan->half_angle[lip]));
  g_autofree char *along = say_length (drill, take, U);
  g_autofree char *across = say_length (drill, square, U);
  return g_strdup_printf ("Grind lip %s back by %s along the drill's axis (%s square to the lip). "
                          "Keep its angle.",
                          lip_names[lip], along, across);
}

static void
advise_lip (const Drill *drill, const Plan *plan, int lip)
{
  if (!is_ground (drill, plan, lip))
    advise (drill, g_strdup_printf ("Leave lip %s as it is.", lip_names[lip]));
  else if (is_turned (plan, lip))
    advise (drill, say_turned_lip (drill, plan, lip));
  else
    advise (drill, say_straight_lip (drill, plan, lip));
}

/* Operators tend to go for the long lip; only the short one can be brought down to it. */
static void
advise_why_short_lip (const Drill *drill, const Plan *plan)
{
  for (int lip = 0; lip < N_LIPS; lip++)
  {
    gboolean shorter = is_real (drill->lip_length) &&
                       (lip == A ? drill->lip_length->value < 0.0 : drill->lip_length->value > 0.0);
    if (shorter && is_ground (drill, plan, lip) && !is_ground (drill, plan, 1 - lip))
      advise (drill, g_strdup_printf ("Lip %s is the shorter one because it stands too high: as it "
                                      "comes down it gets longer and the point moves to the axis.",
                                      lip_names[lip]));
  }
}

static void
advise_clean_up (const Drill *drill)
{
  double clean = fmax (clean_up (drill, A), clean_up (drill, B));
  if (clean <= 0.0)
    return;
  g_autofree char *depth = say_length (drill, clean, 0.05 * clean);
  advise (drill, g_strdup_printf ("About %s along the axis has to come off to clean up the damage; "
                                  "the amounts above allow for it. Look at the edge again before "
                                  "you stop.",
                                  depth));
}

static gboolean
knows_geometry (const Drill *drill)
{
  return isfinite (drill->D) && drill->half_angle[A] != NULL && drill->half_angle[B] != NULL &&
         drill->lip_height != NULL;
}

static gboolean
needs_grinding (const Drill *drill)
{
  return needs_point_angle (drill) || needs_equal_angles (drill) || needs_equal_lips (drill) ||
         clean_up (drill, A) > 0.0 || clean_up (drill, B) > 0.0;
}

static void
advise_grinding (const Drill *drill)
{
  Plan plan = plan_regrind (drill);
  if (!is_ground (drill, &plan, A) && !is_ground (drill, &plan, B))
    return;
  advise_lip (drill, &plan, A);
  advise_lip (drill, &plan, B);
  advise_why_short_lip (drill, &plan);
  advise_clean_up (drill);
  advise (drill,
          g_strdup ("With the point up in the picture, lip a is on the left and lip b on the "
                    "right. Mark them before you take the drill away."));
  advise (drill, g_strdup ("Then measure again."));
}

static const WsBudgetLine *
largest_line (const WsQuantity *quantity)
{
  const WsBudgetLine *largest = NULL;
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    if (largest == NULL ||
        ws_budget_line_contribution (line) > ws_budget_line_contribution (largest))
      largest = line;
  }
  return largest;
}

/* What makes the picture better where it is weakest. */
static const char *
remedy (const WsQuantity *quantity)
{
  const WsBudgetLine *line = largest_line (quantity);
  if (line != NULL && g_str_equal (line->name, "scale"))
    return "with a better known scale";
  if (line != NULL && g_str_equal (line->name, "alignment"))
    return "with the lips turned more exactly square to the camera";
  return "with the point larger and sharper in the picture";
}

static void
advise_measuring_again (const Drill *drill)
{
  for (guint i = 0; i < drill->result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (drill->result->quantities, i);
    if (quantity->verdict != WS_VERDICT_UNDECIDED)
      continue;
    if (!quantity->known || g_str_has_suffix (quantity->name, "_px"))
      advise (drill, g_strdup_printf ("%s: the tool card sets a limit that this picture can't "
                                      "check. Measure again %s.",
                                      quantity->info->label,
                                      drill->in_mm ? "so that it shows" : "with a known scale"));
    else
    {
      g_autofree char *value = say_measured (drill, quantity);
      advise (drill, g_strdup_printf ("%s: %s is too near a limit to tell with this picture. "
                                      "Measure again %s.",
                                      quantity->info->label, value, remedy (quantity)));
    }
  }
}

static void
advise_nothing (const Drill *drill)
{
  if (drill->result->verdict == WS_VERDICT_ACCEPT && drill->in_mm)
    advise (drill, g_strdup ("Nothing to grind: the limits are met."));
  else if (drill->result->verdict == WS_VERDICT_ACCEPT)
    advise (drill, g_strdup ("Nothing to grind as far as the angles tell. Give a scale to have the "
                             "lengths judged too."));
  else if (drill->result->verdict == WS_VERDICT_NONE)
    advise (drill, g_strdup ("Nothing to grind, as far as this picture tells."));
  else
    advise (drill, g_strdup ("Don't use this drill as it is."));
}

void
ws_drill_side_advise (const WsToolCard *card, WsResult *result)
{
  Drill drill = drill_of (card, result);
  add_findings (&drill);
  if (knows_geometry (&drill) && needs_grinding (&drill))
    advise_grinding (&drill);
  advise_measuring_again (&drill);
  if (result->advice->len == 0)
    advise_nothing (&drill);
  ws_cautions_add (result);
}
