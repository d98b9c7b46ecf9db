#include "tool/blade/advice.h"

#include <math.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/blade/advice_words.h"
#include "tool/blade/grind.h"

/* Without limits (no scale), what is worth a word, as a part of the width; common practice, no
 * source. */
#define WORTH_WIDTHS 0.02

/* A damage's size that must be ground away, as great as it may be: beyond its limit, or, without
 * one, beyond what is worth a word. */
static double
to_clean (const WsBladeAdvice *blade, const char *stem)
{
  const WsQuantity *damage = wsi_blade_get (blade, stem),
                   *width = wsi_blade_get (blade, "edge_width");
  if (damage == NULL || width == NULL || damage->value <= damage->U)
    return 0.0;
  const gboolean counts = damage->verdict == WS_VERDICT_NONE
                            ? damage->value > WORTH_WIDTHS * width->value
                            : damage->verdict != WS_VERDICT_ACCEPT;
  return counts ? damage->value + damage->U : 0.0;
}

/* ---- Findings -------------------------------------------------------------------------- */

static const char *
effect_of_rake (const WsBladeAdvice *blade, gboolean low)
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
find_side_rake (const WsBladeAdvice *blade)
{
  const WsQuantity *rake = wsi_blade_get (blade, "side_rake");
  if (!wsi_blade_is_rejected (rake))
    return;
  const gboolean low = wsi_blade_is_low (rake);
  g_autofree char *value = wsi_blade_say_measured (blade, rake);
  g_autofree char *limit = wsi_blade_say_angle (low ? rake->lower : rake->upper);
  wsi_blade_find (blade, low ? "side-rake-small" : "side-rake-large",
                  g_strdup_printf ("The side rake is too %s: %s, at %s %s is %s. %s",
                                   low ? "small" : "large", value, low ? "least" : "most", limit,
                                   low ? "needed" : "allowed", effect_of_rake (blade, low)),
                  NULL);
}

static void
find_hand (const WsBladeAdvice *blade)
{
  if (blade->result->hand != NULL)
    wsi_blade_find (
      blade, "hand",
      g_strdup_printf ("The %s corner leads, as seen with the edge up.", blade->result->hand),
      NULL);
}

/* Sides that don't fall away from the edge, beyond doubt. */
static void
find_no_clearance (const WsBladeAdvice *blade)
{
  static const char *const sides[][3] = {
    { "side_clearance_mean", "sides, taken together, have", "They rub and bind" },
    { "side_clearance_left", "left side has", "It rubs and binds" },
    { "side_clearance_right", "right side has", "It rubs and binds" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (sides); i++)
  {
    const WsQuantity *clearance = wsi_blade_get (blade, sides[i][0]);
    if (clearance == NULL || clearance->value + clearance->U > 0.0)
      continue;
    g_autofree char *value = wsi_blade_say_measured (blade, clearance);
    wsi_blade_find (blade, "side-rubs",
                    g_strdup_printf ("The %s no clearance: %s. %s in the groove.", sides[i][1],
                                     value, sides[i][2]),
                    NULL);
  }
}

/* A card that limits a side's own clearance is told what the picture lacks. */
static void
find_sides_not_told (const WsBladeAdvice *blade)
{
  for (guint i = 0; i < blade->result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (blade->result->quantities, i);
    if (quantity->known || quantity->limit_source == NULL ||
        !g_str_has_prefix (quantity->info->stem, "side_clearance_"))
      continue;
    wsi_blade_find (
      blade, "sides-not-told",
      g_strdup ("The picture tells half the angle between the sides, not how it is shared between "
                "them: say on the card which side is the reference (reference_side), give the "
                "body's direction in the fixture (--fixture-direction), or limit "
                "side_clearance_mean_deg."),
      NULL);
    return;
  }
}

static void
find_worn_corner (const WsBladeAdvice *blade, gboolean left)
{
  const char *stem = left ? "corner_radius_left" : "corner_radius_right";
  if (to_clean (blade, stem) <= 0.0)
    return;
  const WsQuantity *radius = wsi_blade_get (blade, stem);
  g_autofree char *value = wsi_blade_say_measured (blade, radius);
  wsi_blade_find (
    blade, "corner-worn",
    g_strdup_printf ("The %s corner is worn to a radius of %s. It leaves a burr and heats the "
                     "wall of the groove.",
                     left ? "left" : "right", value),
    ws_quantity_place (radius));
}

static void
find_edge_damage (const WsBladeAdvice *blade)
{
  const WsQuantity *chip = wsi_blade_get (blade, "chip_depth"),
                   *form = wsi_blade_get (blade, "edge_straightness");
  if (chip != NULL && chip->value > chip->U)
  {
    g_autofree char *value = wsi_blade_say_measured (blade, chip);
    const gboolean allowed = chip->verdict == WS_VERDICT_ACCEPT;
    wsi_blade_find (
      blade, allowed ? "inside-limits" : "chip",
      g_strdup_printf ("The edge has a chip, %s deep. %s", value,
                       allowed ? "That is inside the limits." : "It leaves a ridge on the part."),
      ws_quantity_place (chip));
  }
  if (!wsi_blade_is_rejected (form))
    return;
  g_autofree char *value = wsi_blade_say_measured (blade, form);
  wsi_blade_find (
    blade, "edge-not-straight",
    g_strdup_printf ("The edge is not straight: %s from its highest to its lowest place.", value),
    NULL);
}

/* ---- Grinding -------------------------------------------------------------------------- */

/* A side's own where it is told; else 0 for the side that angles are counted from, and the mean of
 * both where the picture can't tell them apart. */
static double
clearance_of (const WsBladeAdvice *blade, gboolean right)
{
  static const char *const stems[] = { "side_clearance_left", "side_clearance_right" };
  const WsQuantity *own = wsi_blade_get (blade, stems[right ? 1 : 0]);
  const WsQuantity *other = wsi_blade_get (blade, stems[right ? 0 : 1]);
  const WsQuantity *mean = wsi_blade_get (blade, "side_clearance_mean");
  if (own != NULL)
    return own->value;
  return other == NULL && mean != NULL ? mean->value : 0.0;
}

static WsBladeFront
front_of (const WsBladeAdvice *blade, gboolean right_leads)
{
  const double left = to_clean (blade, "corner_radius_left");
  const double right = to_clean (blade, "corner_radius_right");
  return (WsBladeFront){
    .width = wsi_blade_get (blade, "edge_width")->value,
    .rake_deg = wsi_blade_get (blade, "side_rake")->value,
    .chip = fmax (to_clean (blade, "chip_depth"), to_clean (blade, "edge_straightness")),
    .clearance_deg = { clearance_of (blade, right_leads), clearance_of (blade, !right_leads) },
    .radius = { right_leads ? right : left, right_leads ? left : right },
  };
}

static char *
say_take (const WsBladeAdvice *blade, double take)
{
  return take < WS_BLADE_NOTHING
           ? g_strdup ("nothing")
           : wsi_blade_say_length (blade, wsi_blade_told_length (blade, take));
}

/* "Left" and "right" are those of a blade that points up; the picture may show it otherwise. */
static void
advise_sides (const WsBladeAdvice *blade)
{
  const WsQuantity *left = wsi_blade_get (blade, "corner_radius_left"),
                   *right = wsi_blade_get (blade, "corner_radius_right");
  const WsPoint *from = left != NULL ? ws_quantity_place (left) : NULL;
  const WsPoint *to = right != NULL ? ws_quantity_place (right) : NULL;
  if (from == NULL || to == NULL)
    wsi_blade_advise (blade, WS_WORK_NONE,
                      g_strdup ("Left and right are as seen with the edge up."));
  else
    wsi_blade_advise (blade, WS_WORK_NONE,
                      g_strdup_printf ("Left and right are as seen with the edge up: the left "
                                       "corner is %s in the picture, the right one %s.",
                                       wsi_picture_side (*from, *to),
                                       wsi_picture_side (*to, *from)));
}

/* What to grind the front to. */
typedef struct
{
  const char *words;      /* for people, without the amounts */
  double rake_deg;        /* side rake, as told */
  const char *corners[2]; /* how to call the one that will lag, and the one that will lead */
} Task;

static void
advise_front (const WsBladeAdvice *blade, const WsBladeGrind *grind, const Task *task)
{
  g_autofree char *trailing = say_take (blade, grind->at_trailing);
  g_autofree char *leading = say_take (blade, grind->at_leading);
  wsi_blade_advise (
    blade, WS_WORK_GRIND,
    g_strdup_printf ("%s: along the blade take off %s at the %s corner and %s at the %s corner.",
                     task->words, trailing, task->corners[0], leading, task->corners[1]));
  wsi_result_add_grinding (blade->result, task->rake_deg, "side_rake_deg");
  wsi_blade_record (blade, "front_at_lagging_corner", grind->at_trailing);
  wsi_blade_record (blade, "front_at_leading_corner", grind->at_leading);
  wsi_blade_advise_reset (blade, grind->setback);
  advise_sides (blade);
  wsi_blade_advise (blade, WS_WORK_NONE,
                    g_strdup ("Hone the wire burr off lightly, along the edge toward the leading "
                              "corner: it can chatter. Then measure again."));
}

/* The sides fall away from the edge, so that it gets narrower as it is ground back. */
static char *
say_too_narrow (const WsBladeAdvice *blade, double left)
{
  const double least = wsi_blade_get (blade, "edge_width")->lower;
  if (!isfinite (least) || left >= least)
    return NULL;
  g_autofree char *would = wsi_blade_say_length (blade, left);
  g_autofree char *limit = wsi_blade_say_length (blade, least);
  return g_strdup_printf ("Ground back until the fault is gone, its edge would be %s wide, and at "
                          "least %s is needed.",
                          would, limit);
}

/* What is wrong with its sides no grinding of the front can cure. */
static char *
say_lost (const WsBladeAdvice *blade)
{
  static const char *const stems[] = { "side_clearance_left", "side_clearance_right",
                                       "side_clearance_mean" };
  const WsQuantity *width = wsi_blade_get (blade, "edge_width");
  if (wsi_blade_is_rejected (width))
    return g_strdup_printf ("Its edge is too %s, which no grinding of the front can cure. Check "
                            "the scale and the tool card first.",
                            wsi_blade_is_low (width) ? "narrow" : "wide");
  for (gsize i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const WsQuantity *clearance = wsi_blade_get (blade, stems[i]);
    if (wsi_blade_is_rejected (clearance))
      return g_strdup_printf ("Its sides have too %s clearance, which no grinding of the front can "
                              "cure.",
                              wsi_blade_is_low (clearance) ? "little" : "much");
  }
  return NULL;
}

/* `lost`, which is taken over: why no grinding of the front helps; NULL when it does, unless it
 * leaves too little. */
static void
advise_unless_lost (const WsBladeAdvice *blade, const WsBladeGrind *grind, const Task *task,
                    char *lost)
{
  if (lost == NULL)
    lost = say_too_narrow (blade, grind->width);
  if (lost != NULL)
    wsi_advise_set_aside (blade->result, lost);
  else
    advise_front (blade, grind, task);
}

static void
advise_edge (const WsBladeAdvice *blade)
{
  const WsQuantity *rake = wsi_blade_get (blade, "side_rake");
  const gboolean right_leads = g_strcmp0 (blade->result->hand, "left") != 0;
  const WsBladeFront front = front_of (blade, right_leads);
  const gboolean damaged = front.chip > 0.0 || front.radius[0] > 0.0 || front.radius[1] > 0.0;
  if (blade->result->verdict != WS_VERDICT_REJECT)
    return;
  const double target = wsi_blade_target (rake);
  const WsBladeGrind grind = wsi_blade_grind (&front, target);
  char *lost = say_lost (blade);
  if (lost == NULL && !wsi_blade_is_rejected (rake) && !damaged)
    return;
  g_autofree char *angle = wsi_blade_say_angle (target);
  g_autofree char *words = wsi_blade_is_rejected (rake)
                             ? g_strdup_printf ("Grind the front edge to %s of side rake", angle)
                             : g_strdup ("Grind the front edge back at the angle it has");
  const Task task = {
    .words = words,
    .rake_deg = wsi_blade_is_rejected (rake) ? wsi_blade_told_angle (target) : rake->value,
    .corners = { right_leads ? "lagging (left)" : "lagging (right)",
                 right_leads ? "leading (right)" : "leading (left)" },
  };
  advise_unless_lost (blade, &grind, &task, lost);
}

/* The other corner is to lead: the front is turned by both side rakes, and the tip moves back by
 * what the corner was ahead, too. */
static void
advise_other_hand (const WsBladeAdvice *blade)
{
  const gboolean right_leads = g_str_equal (blade->result->hand, "left");
  const WsQuantity *rake = wsi_blade_get (blade, "side_rake");
  const double target = wsi_blade_target (rake);
  WsBladeFront front = front_of (blade, right_leads);
  front.rake_deg = -rake->value;
  WsBladeGrind grind = wsi_blade_grind (&front, target);
  grind.setback += front.width * tan (wsi_radians (rake->value));
  g_autofree char *angle = wsi_blade_say_angle (target);
  g_autofree char *words =
    g_strdup_printf ("Use this blade where its %s corner must lead; or grind the front edge to the "
                     "other hand, %s of side rake",
                     blade->result->hand, angle);
  const Task task = {
    .words = words,
    .rake_deg = wsi_blade_told_angle (target),
    .corners = { right_leads ? "left" : "right", right_leads ? "right" : "left" },
  };
  advise_unless_lost (blade, &grind, &task, say_lost (blade));
}

void
wsi_blade_plan_advise (const WsToolCard *card, WsResult *result)
{
  const WsBladeAdvice blade = wsi_blade_advice_of (card, result);
  find_side_rake (&blade);
  if (result->rejected == NULL)
    find_hand (&blade);
  find_no_clearance (&blade);
  find_sides_not_told (&blade);
  find_worn_corner (&blade, TRUE);
  find_worn_corner (&blade, FALSE);
  find_edge_damage (&blade);
  if (result->rejected == NULL)
    advise_edge (&blade);
  else
    advise_other_hand (&blade);
  wsi_blade_advise_finish (&blade);
}
