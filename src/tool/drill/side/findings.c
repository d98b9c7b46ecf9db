#include "tool/drill/side/findings.h"

#include "base/number.h"
#include "result/build.h"
#include "tool/drill/side/words.h"

#include <math.h>

/* What a fault leads to, unless it is small enough. */
static const char *
effect_of (const WsDrillFacts *drill, const WsQuantity *quantity, const char *effect)
{
  if (quantity->verdict == WS_VERDICT_ACCEPT)
    return " That is inside the limits.";
  gboolean small = quantity->verdict == WS_VERDICT_NONE &&
                   fabs (quantity->value) <= WS_DRILL_WORTH_GRINDING * drill->D;
  return small ? "" : effect;
}

/* What is inside its limits is told, but is no fault. */
static const char *
code_of (const WsQuantity *quantity, const char *fault)
{
  return quantity->verdict == WS_VERDICT_ACCEPT ? "inside-limits" : fault;
}

static void
find (const WsDrillFacts *drill, const char *code, char *text)
{
  wsi_result_add_finding (drill->result, code, text, NULL);
}

static void
find_no_scale (const WsDrillFacts *drill)
{
  if (!drill->in_mm)
    find (drill, "no-scale",
          g_strdup_printf ("No scale was given. Angles are judged, and damage in parts of the "
                           "diameter; other lengths are told %s and not judged.",
                           isfinite (drill->card->diameter_mm) ? "in mm by the card's diameter"
                                                               : "in such parts"));
}

static void
find_point_angle (const WsDrillFacts *drill)
{
  const WsQuantity *angle = drill->point_angle;
  if (angle == NULL || angle->verdict != WS_VERDICT_REJECT)
    return;
  gboolean flat = angle->value > angle->upper;
  g_autofree char *limit = wsi_drill_say_angle (flat ? angle->upper : angle->lower);
  g_autofree char *value = wsi_drill_say_measured (drill, angle);
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
find_unequal_angles (const WsDrillFacts *drill)
{
  const WsQuantity *difference = drill->half_angle_difference;
  if (!wsi_drill_is_real (difference))
    return;
  gboolean a_flatter = difference->value > 0.0;
  g_autofree char *value = wsi_drill_say_measured (drill, difference);
  find (drill, code_of (difference, "angles-unequal"),
        g_strdup_printf ("Lip %s is flatter than lip %s by %s.%s",
                         wsi_lip_names[a_flatter ? WS_LIP_A : WS_LIP_B],
                         wsi_lip_names[a_flatter ? WS_LIP_B : WS_LIP_A], value,
                         effect_of (drill, difference, " The lips don't share the load equally.")));
}

static void
find_unequal_lengths (const WsDrillFacts *drill)
{
  const WsQuantity *difference = drill->lip_length;
  if (!wsi_drill_is_real (difference))
    return;
  gboolean a_longer = difference->value > 0.0;
  g_autofree char *value = wsi_drill_say_measured (drill, difference);
  find (drill, code_of (difference, "lip-longer"),
        g_strdup_printf (
          "Lip %s is longer than lip %s by %s.%s", wsi_lip_names[a_longer ? WS_LIP_A : WS_LIP_B],
          wsi_lip_names[a_longer ? WS_LIP_B : WS_LIP_A], value, effect_of (drill, difference, "")));
}

static void
find_unequal_heights (const WsDrillFacts *drill)
{
  const WsQuantity *difference = drill->lip_height;
  if (!wsi_drill_is_real (difference))
    return;
  g_autofree char *value = wsi_drill_say_measured (drill, difference);
  const char *load = effect_of (drill, difference, " It carries most of the load and dulls early.");
  find (drill, code_of (difference, "lip-higher"),
        g_strdup_printf ("Lip %s stands ahead of the other at the outer corner by %s.%s",
                         wsi_lip_names[difference->value > 0.0 ? WS_LIP_A : WS_LIP_B], value,
                         load));
}

/* The hole that a drill turning about its own point would cut, D + 2 |offset|: nothing
 * in the silhouette can make it wider. */
static char *
say_widest_hole (const WsDrillFacts *drill)
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
    g_autofree char *part = wsi_drill_say_length (drill, oversize, 2.0 * offset->U);
    return g_strdup_printf ("It can drill oversize by at most %s (geometric upper bound, twice the "
                            "offset; a stiff or guided drill cuts less).",
                            part);
  }
  g_autofree char *hole = wsi_drill_say_length (drill, drill->diameter->value + oversize, U);
  return g_strdup_printf ("It can drill oversize: a hole of at most %s (geometric upper bound, "
                          "diameter plus twice the offset; a stiff or guided drill cuts less).",
                          hole);
}

static void
find_offset (const WsDrillFacts *drill)
{
  const WsQuantity *offset = drill->offset;
  if (!wsi_drill_is_real (offset))
    return;
  g_autofree char *value = wsi_drill_say_measured (drill, offset);
  g_autofree char *hole = say_widest_hole (drill);
  find (drill, code_of (offset, "point-off-centre"),
        g_strdup_printf ("The point is off the axis by %s, toward lip %s. %s%s", value,
                         wsi_lip_names[offset->value > 0.0 ? WS_LIP_B : WS_LIP_A], hole,
                         effect_of (drill, offset, "")));
}

static void
find_chip (const WsDrillFacts *drill, int lip)
{
  const WsQuantity *chip = drill->chip[lip];
  if (!wsi_drill_is_real (chip))
    return;
  g_autofree char *value = wsi_drill_say_measured (drill, chip);
  const char *effect =
    effect_of (drill, chip, " The notch doesn't cut, so the other lip has to do its work there.");
  char *text = g_strdup_printf ("Lip %s has a chip, %s deep.%s", wsi_lip_names[lip], value, effect);
  wsi_result_add_finding (drill->result, code_of (chip, "chip"), text, ws_quantity_place (chip));
}

/* Wear beyond what an unworn corner falls short, 0 when it isn't beyond doubt. */
static double
corner_loss (const WsDrillFacts *drill, int lip)
{
  const WsQuantity *corner = drill->corner[lip];
  double loss = corner == NULL ? 0.0 : corner->value - wsi_drill_corner_shortfall (drill);
  return corner != NULL && loss > corner->U ? loss : 0.0;
}

static void
find_worn_corner (const WsDrillFacts *drill, int lip)
{
  double loss = corner_loss (drill, lip);
  if (loss <= 0.0)
    return;
  const WsQuantity *corner = drill->corner[lip];
  g_autofree char *value = wsi_drill_say_measured (drill, corner);
  const char *effect =
    effect_of (drill, corner, " A worn corner rubs, heats and binds in the hole.");
  find (drill, code_of (corner, "corner-worn"),
        g_strdup_printf ("The outer corner of lip %s is worn: it falls short by %s.%s",
                         wsi_lip_names[lip], value, effect));
}

static void
find_bow (const WsDrillFacts *drill, int lip)
{
  const WsQuantity *straightness = drill->straightness[lip];
  if (straightness == NULL || straightness->verdict != WS_VERDICT_REJECT)
    return;
  g_autofree char *value = wsi_drill_say_measured (drill, straightness);
  find (drill, "lip-not-straight",
        g_strdup_printf ("Lip %s is not straight: %s from its highest to its lowest place.",
                         wsi_lip_names[lip], value));
}

static void
find_diameter (const WsDrillFacts *drill)
{
  const WsQuantity *diameter = drill->diameter;
  if (diameter == NULL || diameter->verdict != WS_VERDICT_REJECT)
    return;
  gboolean over = diameter->value > diameter->upper;
  g_autofree char *value = wsi_drill_say_measured (drill, diameter);
  find (
    drill, over ? "diameter-over" : "diameter-under",
    g_strdup_printf ("The diameter is too %s: %s. Grinding the point can't cure that; check the "
                     "scale and the tool card first.",
                     over ? "large" : "small", value));
}

static void
find_equal_lips (const WsDrillFacts *drill)
{
  if (drill->lip_length == NULL || drill->half_angle_difference == NULL)
    return;
  if (wsi_drill_is_real (drill->lip_length) || wsi_drill_is_real (drill->half_angle_difference) ||
      wsi_drill_is_real (drill->lip_height) || wsi_drill_is_real (drill->offset))
    return;
  g_autofree char *length =
    wsi_drill_say_length (drill, drill->lip_length->U, drill->lip_length->U);
  g_autofree char *angle = wsi_number_format (drill->half_angle_difference->U,
                                              wsi_number_places (drill->half_angle_difference->U));
  find (drill, "lips-equal",
        g_strdup_printf ("The lips can't be told from equal with this picture: lengths to %s, "
                         "angles to %s°.",
                         length, angle));
}

void
wsi_drill_add_findings (const WsDrillFacts *drill)
{
  find_point_angle (drill);
  find_unequal_angles (drill);
  find_unequal_lengths (drill);
  find_unequal_heights (drill);
  find_offset (drill);
  for (int lip = 0; lip < WS_N_LIPS; lip++)
  {
    find_chip (drill, lip);
    find_worn_corner (drill, lip);
    find_bow (drill, lip);
  }
  find_diameter (drill);
  find_equal_lips (drill);
  find_no_scale (drill);
}
