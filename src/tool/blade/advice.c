#include "tool/blade/advice.h"

#include <math.h>

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/blade/grind.h"
#include "tool/cautions.h"

/* Nobody grinds a blade finer than this. */
#define PLACES_MM 2
#define PLACES_PX 1
#define PLACES_ANGLE 1

/* Without limits (no scale), what is worth a word, as a part of the width; common practice, no
 * source. */
#define WORTH_WIDTHS 0.02

/* What is left of a length is nothing when it is written as 0. */
#define NOTHING 0.005

typedef struct
{
  const WsToolCard *card;
  WsResult *result;
  gboolean in_mm;
} Blade;

static Blade
blade_of (const WsToolCard *card, WsResult *result)
{
  Blade blade = { card, result, FALSE };
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    blade.in_mm |= g_str_has_suffix (quantity->name, "_mm");
  }
  return blade;
}

static const WsQuantity *
get (const Blade *blade, const char *stem)
{
  return ws_result_quantity (blade->result, stem);
}

/* ---- Words ----------------------------------------------------------------------------- */

static char *
say_length (const Blade *blade, double length)
{
  g_autofree char *number = ws_number_format (length, blade->in_mm ? PLACES_MM : PLACES_PX);
  return g_strdup_printf ("%s %s", number, blade->in_mm ? "mm" : "px");
}

static char *
say_angle (double angle)
{
  g_autofree char *number = ws_number_format (angle, PLACES_ANGLE);
  return g_strconcat (number, "°", NULL);
}

/* "6.81 ± 0.02°", "0.085 ± 0.004 mm" */
static char *
say_measured (const WsQuantity *quantity)
{
  const guint places = ws_number_places (quantity->U);
  g_autofree char *number = ws_number_format (quantity->value, places);
  g_autofree char *U = ws_number_format (quantity->U, places);
  const char *unit = g_str_has_suffix (quantity->name, "_deg")  ? "°"
                     : g_str_has_suffix (quantity->name, "_mm") ? " mm"
                                                                : " px";
  return g_strdup_printf ("%s ± %s%s", number, U, unit);
}

static void
find (const Blade *blade, const char *code, char *text, const WsPoint *where)
{
  ws_result_add_finding (blade->result, code, text, where);
}

static void
advise (const Blade *blade, char *text)
{
  g_ptr_array_add (blade->result->advice, text);
}

static gboolean
is_rejected (const WsQuantity *quantity)
{
  return quantity != NULL && quantity->verdict == WS_VERDICT_REJECT;
}

static gboolean
is_low (const WsQuantity *quantity)
{
  return quantity->value < quantity->lower;
}

/* A damage's size that must be ground away: beyond its limit, or, without one, beyond what is
 * worth a word. */
static double
to_clean (const Blade *blade, const char *stem)
{
  const WsQuantity *damage = get (blade, stem), *width = get (blade, "edge_width");
  if (damage == NULL || width == NULL || damage->value <= damage->U)
    return 0.0;
  const gboolean counts = damage->verdict == WS_VERDICT_NONE
                            ? damage->value > WORTH_WIDTHS * width->value
                            : damage->verdict != WS_VERDICT_ACCEPT;
  return counts ? damage->value : 0.0;
}

/* ---- From above: findings ------------------------------------------------------------------ */

static const char *
effect_of_rake (const Blade *blade, gboolean low)
{
  const gboolean hole = blade->card->part_has_centre_hole == WS_ANSWER_YES;
  if (low && hole)
    return "The leading corner breaks through hardly before the other, and a burr stays on the "
           "part at its hole.";
  if (low)
    return "The part is still held when the edge comes to the centre, and breaks off with a tip "
           "left on it.";
  if (hole)
    return "The part is pushed off early, and the thin leading corner is weak.";
  return "The part is pushed off early, with a long tip left in the bar, and the thin leading "
         "corner is weak.";
}

static void
find_side_rake (const Blade *blade)
{
  const WsQuantity *rake = get (blade, "side_rake");
  if (!is_rejected (rake))
    return;
  const gboolean low = is_low (rake);
  g_autofree char *value = say_measured (rake);
  g_autofree char *limit = say_angle (low ? rake->lower : rake->upper);
  find (blade, low ? "side-rake-small" : "side-rake-large",
        g_strdup_printf ("The side rake is too %s: %s, at %s %s is %s. %s", low ? "small" : "large",
                         value, low ? "least" : "most", limit, low ? "needed" : "allowed",
                         effect_of_rake (blade, low)),
        NULL);
}

static void
find_hand (const Blade *blade)
{
  if (blade->result->hand != NULL)
    find (blade, "hand",
          g_strdup_printf ("The %s corner leads, as seen with the edge up in the picture.",
                           blade->result->hand),
          NULL);
}

/* A side that doesn't fall away from the edge, beyond doubt. */
static void
find_no_clearance (const Blade *blade)
{
  static const char *const stems[] = { "side_clearance_left", "side_clearance_right" };
  for (gsize i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const WsQuantity *clearance = get (blade, stems[i]);
    if (clearance == NULL || clearance->value + clearance->U > 0.0)
      continue;
    g_autofree char *value = say_measured (clearance);
    find (blade, "side-rubs",
          g_strdup_printf ("The %s side has no clearance: %s. It rubs and binds in the groove.",
                           i == 0 ? "left" : "right", value),
          NULL);
  }
}

static void
find_worn_corner (const Blade *blade, gboolean left)
{
  const char *stem = left ? "corner_radius_left" : "corner_radius_right";
  if (to_clean (blade, stem) <= 0.0)
    return;
  const WsQuantity *radius = get (blade, stem);
  g_autofree char *value = say_measured (radius);
  find (blade, "corner-worn",
        g_strdup_printf ("The %s corner is worn to a radius of %s. It leaves a burr and heats the "
                         "wall of the groove.",
                         left ? "left" : "right", value),
        ws_quantity_place (radius));
}

static void
find_edge_damage (const Blade *blade)
{
  const WsQuantity *chip = get (blade, "chip_depth"), *form = get (blade, "edge_straightness");
  if (chip != NULL && chip->value > chip->U)
  {
    g_autofree char *value = say_measured (chip);
    find (blade, "chip",
          g_strdup_printf ("The edge has a chip, %s deep. It leaves a ridge on the part.", value),
          ws_quantity_place (chip));
  }
  if (!is_rejected (form))
    return;
  g_autofree char *value = say_measured (form);
  find (
    blade, "edge-not-straight",
    g_strdup_printf ("The edge is not straight: %s from its highest to its lowest place.", value),
    NULL);
}

static void
find_no_scale (const Blade *blade)
{
  if (!blade->in_mm)
    find (blade, "no-scale",
          g_strdup ("No scale was given. Angles are judged; lengths are told in px and not "
                    "judged."),
          NULL);
}

/* ---- From above: grinding ---------------------------------------------------------------------
 */

/* The middle of the limits; twice U inside the only one. */
static double
target_of (const WsQuantity *angle)
{
  if (!is_rejected (angle))
    return angle->value;
  if (isfinite (angle->lower) && isfinite (angle->upper))
    return 0.5 * (angle->lower + angle->upper);
  return is_low (angle) ? angle->lower + 2.0 * angle->U : angle->upper - 2.0 * angle->U;
}

static WsBladeFront
front_of (const Blade *blade, gboolean right_leads)
{
  const double left = to_clean (blade, "corner_radius_left");
  const double right = to_clean (blade, "corner_radius_right");
  return (WsBladeFront){
    .width = get (blade, "edge_width")->value,
    .rake_deg = get (blade, "side_rake")->value,
    .chip = fmax (to_clean (blade, "chip_depth"), to_clean (blade, "edge_straightness")),
    .radius = { right_leads ? right : left, right_leads ? left : right },
  };
}

static char *
say_take (const Blade *blade, double take)
{
  return take < NOTHING ? g_strdup ("nothing") : say_length (blade, take);
}

static void
advise_reset (const Blade *blade, double setback)
{
  if (setback < NOTHING)
  {
    advise (blade, g_strdup ("The tip stays where it is: the setting length needn't change."));
    return;
  }
  g_autofree char *by = say_length (blade, setback);
  find (blade, "setback", g_strdup_printf ("Grinding it right moves the tip back by %s.", by),
        NULL);
  advise (blade, g_strdup_printf ("Then set the blade out by %s again. It should run past the "
                                  "point of cutoff as before, usually by 1.6 to 3.2 mm.",
                                  by));
}

static void
advise_front (const Blade *blade, const WsBladeGrind *grind, double target, gboolean right_leads)
{
  const WsQuantity *rake = get (blade, "side_rake");
  g_autofree char *angle = say_angle (target);
  g_autofree char *trailing = say_take (blade, grind->at_trailing);
  g_autofree char *leading = say_take (blade, grind->at_leading);
  g_autofree char *task = is_rejected (rake)
                            ? g_strdup_printf ("Grind the front edge to %s of side rake", angle)
                            : g_strdup ("Grind the front edge back at the angle it has");
  advise (blade,
          g_strdup_printf ("%s: along the blade take off %s at the lagging (%s) corner and %s at "
                           "the leading (%s) corner.",
                           task, trailing, right_leads ? "left" : "right", leading,
                           right_leads ? "right" : "left"));
  advise_reset (blade, grind->setback);
  advise (blade, g_strdup ("Left and right are as seen with the edge up in the picture."));
  advise (blade, g_strdup ("Hone the wire burr off lightly: it can chatter. Then measure again."));
}

static void
advise_edge (const Blade *blade)
{
  const WsQuantity *rake = get (blade, "side_rake");
  const gboolean right_leads = g_strcmp0 (blade->result->hand, "left") != 0;
  const WsBladeFront front = front_of (blade, right_leads);
  const gboolean damaged = front.chip > 0.0 || front.radius[0] > 0.0 || front.radius[1] > 0.0;
  if (!is_rejected (rake) && !damaged)
    return;
  const double target = target_of (rake);
  const WsBladeGrind grind = ws_blade_grind (&front, target);
  advise_front (blade, &grind, target, right_leads);
}

/* ---- From the side
 * -------------------------------------------------------------------------------- */

static void
find_angle (const Blade *blade, const WsQuantity *angle, const char *code, const char *effect)
{
  const gboolean low = is_low (angle);
  g_autofree char *value = say_measured (angle);
  g_autofree char *limit = say_angle (low ? angle->lower : angle->upper);
  find (blade, code,
        g_strdup_printf ("%s is too %s: %s, at %s %s is %s. %s", angle->info->label,
                         low ? "small" : "large", value, low ? "least" : "most", limit,
                         low ? "needed" : "allowed", effect),
        NULL);
}

static void
find_side_angles (const Blade *blade)
{
  const WsQuantity *relief = get (blade, "front_relief"), *rake = get (blade, "top_rake");
  if (is_rejected (relief) && is_low (relief))
    find_angle (blade, relief, "front-relief-small",
                "The heel under the edge rubs on the work, heats it and pushes the blade back.");
  else if (is_rejected (relief))
    find_angle (blade, relief, "front-relief-large", "The edge is weak; it chatters and chips.");
  if (is_rejected (rake) && is_low (rake))
    find_angle (blade, rake, "top-rake-small", "The edge pushes more than it cuts.");
  else if (is_rejected (rake))
    find_angle (blade, rake, "top-rake-large", "The edge is weak and digs in.");
}

/* Angles then count from the top: blade_side.c. */
static void
find_no_base (const Blade *blade)
{
  if (get (blade, "front_relief") != NULL && get (blade, "tip_height") == NULL)
    find (blade, "no-base",
          g_strdup ("The base isn't in the picture. Angles are counted from the top behind what is "
                    "ground at the edge, taken for parallel to the base."),
          NULL);
}

/* With neither tip height nor base in view, no amount follows. */
static void
advise_relief_only (const Blade *blade, const WsQuantity *relief)
{
  g_autofree char *angle = say_angle (target_of (relief));
  advise (blade, g_strdup_printf ("Grind the front to %s of relief. How much that takes off can't "
                                  "be told without the base in the picture.",
                                  angle));
  advise (blade, g_strdup ("Then measure again."));
}

/* The front pivots about the tip when it needs more relief, about its foot when it needs less. */
static void
advise_relief (const Blade *blade)
{
  const WsQuantity *relief = get (blade, "front_relief"), *height = get (blade, "tip_height");
  const WsQuantity *rake = get (blade, "top_rake");
  if (is_rejected (relief) && height == NULL)
    advise_relief_only (blade, relief);
  if (!is_rejected (relief) || height == NULL || rake == NULL)
    return;
  const double target = target_of (relief);
  const double change =
    height->value * (tan (ws_radians (target)) - tan (ws_radians (relief->value)));
  g_autofree char *angle = say_angle (target);
  g_autofree char *by = say_length (blade, fabs (change));
  advise (blade, g_strdup_printf ("Grind the front to %s of relief: take off %s at %s, along the "
                                  "base, and nothing at %s.",
                                  angle, by, change > 0.0 ? "its foot" : "the edge",
                                  change > 0.0 ? "the edge" : "its foot"));
  advise_reset (blade, fmax (-change, 0.0));
  const double lower = fmax (-change, 0.0) * tan (ws_radians (rake->value));
  g_autofree char *down = say_length (blade, lower);
  if (lower >= NOTHING)
    advise (blade, g_strdup_printf ("With this top rake the new tip is %s lower: set it to centre "
                                    "height again.",
                                    down));
  advise (blade, g_strdup ("Then measure again."));
}

/* ---- Both
 * -------------------------------------------------------------------------------------------- */

static void
advise_measuring_again (const Blade *blade)
{
  for (guint i = 0; i < blade->result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (blade->result->quantities, i);
    if (quantity->verdict != WS_VERDICT_UNDECIDED)
      continue;
    if (!quantity->known && g_str_equal (quantity->info->stem, "tip_height"))
    {
      advise (blade, g_strdup ("The tip height can't be checked without the base in the picture. "
                               "Measure again with the whole front and some of the base in view."));
      continue;
    }
    /* Only the reference side's own clearance is ever unknown else. */
    if (!quantity->known)
    {
      advise (blade,
              g_strdup_printf ("%s: angles are counted from that side, so it has none of its "
                               "own. Take its limit off the tool card.",
                               quantity->info->label));
      continue;
    }
    if (g_str_has_suffix (quantity->name, "_px"))
    {
      advise (blade, g_strdup_printf ("%s: the tool card sets a limit that this picture can't "
                                      "check. Measure again with a known scale.",
                                      quantity->info->label));
      continue;
    }
    g_autofree char *value = say_measured (quantity);
    advise (blade, g_strdup_printf ("%s: %s is too near a limit to tell with this picture. Measure "
                                    "again with the blade larger and sharper in the picture.",
                                    quantity->info->label, value));
  }
}

static void
advise_nothing (const Blade *blade)
{
  if (blade->result->advice->len > 0)
    return;
  if (blade->result->verdict == WS_VERDICT_ACCEPT)
    advise (blade, g_strdup ("Nothing to grind: the limits are met."));
  else if (blade->result->verdict == WS_VERDICT_NONE)
    advise (blade, g_strdup ("Nothing to grind, as far as this picture tells."));
  else
    advise (blade, g_strdup ("Don't use this blade as it is."));
}

static void
finish (const Blade *blade)
{
  find_no_scale (blade);
  advise_measuring_again (blade);
  advise_nothing (blade);
  ws_cautions_add (blade->result);
}

void
ws_blade_plan_advise (const WsToolCard *card, WsResult *result)
{
  const Blade blade = blade_of (card, result);
  find_side_rake (&blade);
  find_hand (&blade);
  find_no_clearance (&blade);
  find_worn_corner (&blade, TRUE);
  find_worn_corner (&blade, FALSE);
  find_edge_damage (&blade);
  advise_edge (&blade);
  finish (&blade);
}

void
ws_blade_side_advise (const WsToolCard *card, WsResult *result)
{
  const Blade blade = blade_of (card, result);
  find_side_angles (&blade);
  find_no_base (&blade);
  advise_relief (&blade);
  finish (&blade);
}
