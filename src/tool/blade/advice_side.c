#include "tool/blade/advice.h"

#include <math.h>

#include "base/geometry.h"
#include "base/number.h"
#include "result/build.h"
#include "tool/blade/advice_words.h"

static void
find_angle (const WsBladeAdvice *blade, const WsQuantity *angle, const char *code,
            const char *effect)
{
  const gboolean low = wsi_blade_is_low (angle);
  g_autofree char *value = wsi_blade_say_measured (blade, angle);
  g_autofree char *limit = wsi_blade_say_angle (low ? angle->lower : angle->upper);
  wsi_blade_find (blade, code,
                  g_strdup_printf ("%s is too %s: %s, at %s %s is %s. %s", angle->info->label,
                                   low ? "small" : "large", value, low ? "least" : "most", limit,
                                   low ? "needed" : "allowed", effect),
                  NULL);
}

static void
find_side_angles (const WsBladeAdvice *blade)
{
  const WsQuantity *relief = wsi_blade_get (blade, "front_relief"),
                   *rake = wsi_blade_get (blade, "top_rake");
  if (wsi_blade_is_rejected (relief) && wsi_blade_is_low (relief))
    find_angle (blade, relief, "front-relief-small",
                "The heel under the edge rubs on the work, heats it and pushes the blade back.");
  else if (wsi_blade_is_rejected (relief))
    find_angle (blade, relief, "front-relief-large", "The edge is weak; it chatters and chips.");
  if (wsi_blade_is_rejected (rake) && wsi_blade_is_low (rake))
    find_angle (blade, rake, "top-rake-small", "The edge pushes more than it cuts.");
  else if (wsi_blade_is_rejected (rake))
    find_angle (blade, rake, "top-rake-large", "The edge is weak and digs in.");
}

/* Angles then count from the top: blade_side.c. */
static void
find_no_base (const WsBladeAdvice *blade)
{
  if (wsi_blade_get (blade, "front_relief") != NULL && wsi_blade_get (blade, "tip_height") == NULL)
    wsi_blade_find (
      blade, "no-base",
      g_strdup ("The base isn't in the picture. Angles are counted from the top behind what is "
                "ground at the edge, taken for parallel to the base."),
      NULL);
}

/* The new front begins where the arc ends on the top (B14). */
static void
advise_dull (const WsBladeAdvice *blade)
{
  const WsQuantity *rounding = wsi_blade_get (blade, "edge_rounding"),
                   *relief = wsi_blade_get (blade, "front_relief"),
                   *rake = wsi_blade_get (blade, "top_rake");
  if (!wsi_blade_is_rejected (rounding) || relief == NULL || rake == NULL)
    return;
  g_autofree char *value = wsi_blade_say_measured (blade, rounding);
  wsi_blade_find (blade, "edge-dull",
                  g_strdup_printf ("The edge is dull: rounded, or broken, to a radius of %s. It "
                                   "pushes more than it cuts.",
                                   value),
                  NULL);
  const double edge = wsi_radians (90 - relief->value - rake->value);
  const double back =
    wsi_blade_told_length (blade, (rounding->value + rounding->U) / tan (0.5 * edge));
  g_autofree char *by = wsi_blade_say_length (blade, back);
  wsi_blade_advise (
    blade, WS_WORK_GRIND,
    g_strdup_printf ("Grind the front back by %s, until the top is sharp up to it.", by));
  wsi_blade_record (blade, "front_back", back);
  wsi_blade_advise_reset (blade, back);
}

/* With neither tip height nor base in view, no amount follows. */
static void
advise_relief_only (const WsBladeAdvice *blade, const WsQuantity *relief)
{
  g_autofree char *angle = wsi_blade_say_angle (wsi_blade_target (relief));
  wsi_blade_advise (
    blade, WS_WORK_GRIND,
    g_strdup_printf ("Grind the front to %s of relief. How much that takes off can't "
                     "be told without the base in the picture.",
                     angle));
  wsi_blade_advise (blade, WS_WORK_NONE, g_strdup ("Then measure again."));
}

/* How far down the first of two goes is the grinder's choice. */
static void
advise_first_relief (const WsBladeAdvice *blade, const WsQuantity *relief)
{
  g_autofree char *angle = wsi_blade_say_angle (wsi_blade_target (relief));
  wsi_blade_advise (
    blade, WS_WORK_GRIND,
    g_strdup_printf ("Grind the first relief, behind the edge, to %s. How much that takes off "
                     "depends on how far down it is ground.",
                     angle));
  wsi_blade_advise (blade, WS_WORK_NONE, g_strdup ("Then measure again."));
}

/* The front pivots about the tip when it needs more relief, about its foot when it needs less. */
static void
advise_relief (const WsBladeAdvice *blade)
{
  const WsQuantity *relief = wsi_blade_get (blade, "front_relief"),
                   *height = wsi_blade_get (blade, "tip_height");
  const WsQuantity *rake = wsi_blade_get (blade, "top_rake");
  /* From edge to foot, as the new front is plane. */
  const WsQuantity *whole = wsi_blade_get (blade, "front_relief_whole");
  const double is = whole != NULL ? whole->value : relief != NULL ? relief->value : NAN;
  const gboolean has_two = wsi_blade_get (blade, "second_relief") != NULL;
  if (wsi_blade_is_rejected (relief) && has_two)
    advise_first_relief (blade, relief);
  else if (wsi_blade_is_rejected (relief) && height == NULL)
    advise_relief_only (blade, relief);
  if (!wsi_blade_is_rejected (relief) || height == NULL || rake == NULL || has_two)
    return;
  const double target = wsi_blade_target (relief);
  const double change = height->value * (tan (wsi_radians (target)) - tan (wsi_radians (is)));
  g_autofree char *angle = wsi_blade_say_angle (target);
  g_autofree char *by = wsi_blade_say_length (blade, wsi_blade_told_length (blade, fabs (change)));
  wsi_blade_advise (
    blade, WS_WORK_GRIND,
    g_strdup_printf ("Grind the front to %s of relief: take off %s at %s, along the "
                     "base, and nothing at %s.",
                     angle, by, change > 0.0 ? "its foot" : "the edge",
                     change > 0.0 ? "the edge" : "its foot"));
  wsi_result_add_grinding (blade->result, wsi_blade_told_angle (target), "front_relief_deg");
  wsi_blade_record (blade, "front_at_foot", fmax (change, 0.0));
  wsi_blade_record (blade, "front_at_edge", fmax (-change, 0.0));
  wsi_blade_advise_reset (blade, fmax (-change, 0.0));
  const double lower = fmax (-change, 0.0) * tan (wsi_radians (rake->value));
  g_autofree char *down = wsi_blade_say_length (blade, lower);
  g_autofree char *pip = wsi_blade_say_length (blade, 2.0 * lower);
  if (lower >= WS_BLADE_NOTHING)
    wsi_blade_advise (
      blade, WS_WORK_MOUNT,
      g_strdup_printf ("With this top rake the new tip is %s lower: set it to centre height again. "
                       "Off centre by that, it would leave a pip of %s.",
                       down, pip));
  wsi_blade_advise (blade, WS_WORK_NONE, g_strdup ("Then measure again."));
}

/* How much comes off depends on how far back the top is ground. */
static void
advise_top (const WsBladeAdvice *blade)
{
  const WsQuantity *rake = wsi_blade_get (blade, "top_rake");
  if (!wsi_blade_is_rejected (rake) || blade->result->verdict != WS_VERDICT_REJECT)
    return;
  const double target = wsi_blade_target (rake);
  g_autofree char *angle = wsi_blade_say_angle (target);
  wsi_blade_advise (blade, WS_WORK_GRIND,
                    g_strdup_printf ("Grind the top to %s of rake, no farther down at the tip than "
                                     "that takes.",
                                     angle));
  wsi_result_add_grinding (blade->result, wsi_blade_told_angle (target), "top_rake_deg");
  wsi_blade_advise (blade, WS_WORK_MOUNT,
                    g_strdup ("The tip gets lower: set it to centre height again."));
}

void
wsi_blade_side_advise (const WsToolCard *card, WsResult *result)
{
  const WsBladeAdvice blade = wsi_blade_advice_of (card, result);
  find_side_angles (&blade);
  find_no_base (&blade);
  advise_dull (&blade);
  advise_relief (&blade);
  advise_top (&blade);
  wsi_blade_advise_finish (&blade);
}
