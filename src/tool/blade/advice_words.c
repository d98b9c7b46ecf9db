#include "tool/blade/advice_words.h"

#include <math.h>

#include "base/number.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/measure_again.h"

/* Nobody grinds a blade finer than this. */
#define PLACES_MM 2
#define PLACES_PX 1
#define PLACES_ANGLE 1

WsBladeAdvice
wsi_blade_advice_of (const WsToolCard *card, WsResult *result)
{
  WsBladeAdvice blade = { card, result, FALSE, NAN };
  const WsQuantity *width = ws_result_quantity (result, "edge_width");
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    blade.in_mm |= g_str_has_suffix (quantity->name, "_mm");
  }
  if (blade.in_mm)
    blade.mm = 1.0;
  else if (width != NULL && width->value > 0.0)
    blade.mm = card->width_mm / width->value;
  return blade;
}

const WsQuantity *
wsi_blade_get (const WsBladeAdvice *blade, const char *stem)
{
  return ws_result_quantity (blade->result, stem);
}

/* ---- Words ----------------------------------------------------------------------------- */

static const char *
unit_of (const WsBladeAdvice *blade)
{
  return isfinite (blade->mm) ? "mm" : "px";
}

static double
per_length (const WsBladeAdvice *blade)
{
  return isfinite (blade->mm) ? blade->mm : 1.0;
}

static guint
places_of (const WsBladeAdvice *blade)
{
  return isfinite (blade->mm) ? PLACES_MM : PLACES_PX;
}

char *
wsi_blade_say_length (const WsBladeAdvice *blade, double length)
{
  g_autofree char *number = wsi_number_format (length * per_length (blade), places_of (blade));
  return g_strdup_printf ("%s %s", number, unit_of (blade));
}

double
wsi_blade_told_length (const WsBladeAdvice *blade, double length)
{
  const double per = per_length (blade);
  return length * per < WS_BLADE_NOTHING
           ? 0.0
           : wsi_number_round_up (length * per, places_of (blade)) / per;
}

double
wsi_blade_told_angle (double angle)
{
  const double tenths = pow (10.0, PLACES_ANGLE);
  return round (angle * tenths) / tenths;
}

void
wsi_blade_record (const WsBladeAdvice *blade, const char *name, double length)
{
  wsi_result_add_grinding (blade->result, wsi_blade_told_length (blade, length), "%s_%s", name,
                           blade->in_mm ? "mm" : "px");
}

char *
wsi_blade_say_angle (double angle)
{
  g_autofree char *number = wsi_number_format (angle, PLACES_ANGLE);
  return g_strconcat (number, "°", NULL);
}

char *
wsi_blade_say_measured (const WsBladeAdvice *blade, const WsQuantity *quantity)
{
  const gboolean is_angle = g_str_has_suffix (quantity->name, "_deg");
  const double per = is_angle ? 1.0 : per_length (blade);
  const guint places = wsi_number_places (quantity->U * per);
  g_autofree char *number = wsi_number_format (quantity->value * per, places);
  g_autofree char *U = wsi_number_format (quantity->U * per, places);
  return g_strdup_printf ("%s ± %s%s%s", number, U, is_angle ? "" : " ",
                          is_angle ? "°" : unit_of (blade));
}

void
wsi_blade_find (const WsBladeAdvice *blade, const char *code, char *text, const WsPoint *where)
{
  wsi_result_add_finding (blade->result, code, text, where);
}

void
wsi_blade_advise (const WsBladeAdvice *blade, guint work, char *text)
{
  wsi_advise (blade->result, work, text);
}

gboolean
wsi_blade_is_rejected (const WsQuantity *quantity)
{
  return quantity != NULL && quantity->verdict == WS_VERDICT_REJECT;
}

gboolean
wsi_blade_is_low (const WsQuantity *quantity)
{
  return quantity->value < quantity->lower;
}

double
wsi_blade_target (const WsQuantity *angle)
{
  if (!wsi_blade_is_rejected (angle))
    return angle->value;
  if (isfinite (angle->lower) && isfinite (angle->upper))
    return 0.5 * (angle->lower + angle->upper);
  return wsi_blade_is_low (angle) ? angle->lower + 2.0 * angle->U : angle->upper - 2.0 * angle->U;
}

void
wsi_blade_advise_reset (const WsBladeAdvice *blade, double setback)
{
  if (setback < WS_BLADE_NOTHING)
  {
    wsi_blade_advise (blade, WS_WORK_NONE,
                      g_strdup ("The tip stays where it is: the setting length needn't change."));
    return;
  }
  g_autofree char *by = wsi_blade_say_length (blade, wsi_blade_told_length (blade, setback));
  wsi_blade_find (blade, "setback",
                  g_strdup_printf ("Ground so, the tip lies %s farther back along the blade.", by),
                  NULL);
  wsi_blade_advise (blade, WS_WORK_MOUNT,
                    g_strdup_printf ("Then set the blade out by %s again. It should run past the "
                                     "point of cutoff as before, usually by 1.6 to 3.2 mm.",
                                     by));
}

/* ---- At the end ----------------------------------------------------------------------- */

static void
find_no_scale (const WsBladeAdvice *blade)
{
  if (!blade->in_mm)
    wsi_blade_find (
      blade, "no-scale",
      g_strdup_printf ("No scale was given. Angles are judged, and damage in parts of the width; "
                       "other lengths are told in %s and not judged.",
                       isfinite (blade->mm) ? "mm by the card's width" : "px"),
      NULL);
}

/* Of the unknown: the tip's height, and the reference side's own clearance. */
static char *
say_unseen (const WsQuantity *quantity)
{
  if (g_str_equal (quantity->info->stem, "tip_height"))
    return g_strdup ("The tip height can't be checked without the base in the picture. Measure "
                     "again with the whole front and some of the base in view.");
  return g_strdup_printf ("%s: angles are counted from that side, so it has none of its own. Take "
                          "its limit off the tool card.",
                          quantity->info->label);
}

static void
advise_nothing (const WsBladeAdvice *blade)
{
  if (blade->result->advice->len > 0)
    return;
  if (blade->result->verdict == WS_VERDICT_ACCEPT)
    wsi_blade_advise (blade, WS_WORK_NONE, g_strdup ("Nothing to grind: the limits are met."));
}

void
wsi_blade_advise_finish (const WsBladeAdvice *blade)
{
  find_no_scale (blade);
  wsi_advise_measuring_again (blade->card, blade->result, say_unseen);
  advise_nothing (blade);
}
