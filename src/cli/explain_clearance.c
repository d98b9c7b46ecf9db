/*
 * `explain clearance`: what of a cutoff blade rubs on a given part.
 */
#include <math.h>

#include <whetsight/whetsight.h>

#include "base/language.h"
#include "cli/config.h"
#include "cli/explain.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "report/text_table.h"
#include "report/units.h"

/* Front relief where none is given (common practice, no source). */
#define USUAL_RELIEF_DEG 10.0

/* Less on each side where the groove's mouth is soon rubs (common practice, no source). */
#define LITTLE_SIDE_MM 0.02

/* Less effective relief than this soon rubs when the edge wears, as for centre height (common
 * practice, no source). */
#define LITTLE_RELIEF_DEG 3.0

/* A blade that hangs out by more of its height bends and chatters (common practice, no source). */
#define SLENDER 1.0
#define VERY_SLENDER 2.0

typedef struct
{
  WsBladeWork work;
  char *units_word;
} Options;

static gboolean
check (const WsBladeWork *work, GError **error)
{
  if (isnan (work->part_diameter) || isnan (work->side_clearance))
    return wsi_refuse_usage (error,
                             "clearance needs --diameter of the part and --side-clearance of "
                             "the blade; its picture from above tells that");
  if (work->part_bore >= work->part_diameter)
    return wsi_refuse_usage (error, "--bore: a bore of %g mm leaves nothing of a part of %g mm",
                             work->part_bore, work->part_diameter);
  if (2 * fabs (work->centre_height) >= work->part_diameter)
    return wsi_refuse_usage (error,
                             "--centre-height: an edge %g mm off centre misses a part of "
                             "%g mm",
                             work->centre_height, work->part_diameter);
  return TRUE;
}

static void
add_sides (GString *text, const WsBladeWork *work, const WsBladeClearance *seen)
{
  if (seen->narrower <= 0)
    wsi_explain_add (
      text,
      "Its sides RUB: behind the edge it is no narrower than the edge. Grind side clearance.");
  else if (seen->narrower < LITTLE_SIDE_MM)
    wsi_explain_add (
      text,
      "At the groove's mouth each side stands off by %.3f mm only: it soon rubs (less than "
      "%.2f mm, common practice).",
      seen->narrower, LITTLE_SIDE_MM);
  else
    wsi_explain_add (text, "At the groove's mouth each side stands off by %.3f mm.",
                     seen->narrower);
  if (isfinite (work->width) && 2 * seen->narrower >= work->width)
    wsi_explain_add (
      text,
      "A blade of %g mm would end in a point before that depth: its clearance can't be the "
      "same all along.",
      work->width);
}

static void
add_heel (GString *text, const WsBladeWork *work, const WsBladeClearance *seen)
{
  if (seen->least_relief <= 0)
    wsi_explain_add (
      text,
      "The heel RUBS at the outside: no relief is left of %g deg, the edge standing %g mm "
      "above centre.",
      work->front_relief, work->centre_height);
  else
    wsi_explain_add (text, "Front relief as it cuts, at the outside: %.2f deg%s.",
                     seen->least_relief,
                     seen->least_relief < LITTLE_RELIEF_DEG ? _ (", hardly any") : "");
  if (seen->rubs_below > 0)
    wsi_explain_add (
      text, "Below %.3g mm the heel rubs on what is left of the part: set the edge to centre.",
      seen->rubs_below);
}

static void
add_overhang (GString *text, const WsBladeWork *work, const WsBladeClearance *seen)
{
  if (!isfinite (work->overhang))
    return;
  if (seen->spare_overhang < 0)
    wsi_explain_add (text,
                     "The holder MEETS the part: the overhang is %.3g mm less than the depth.",
                     -seen->spare_overhang);
  else
    wsi_explain_add (text, "Between holder and part %.3g mm are left.", seen->spare_overhang);
  if (!isfinite (seen->slenderness))
    return;
  wsi_explain_add (text, "Overhang %.2g times the blade's height%s.", seen->slenderness,
                   seen->slenderness > VERY_SLENDER ? _ (": far too much, it bends and chatters")
                   : seen->slenderness > SLENDER    ? _ (": clamp it shorter if the work allows")
                                                    : "");
  wsi_explain_add (
    text,
    "Caution: bending grows with the third power of the overhang (cantilever, "
    "F L\xc2\xb3 / 3 E I). As it is, it bends %.2g times as much as with an overhang of its "
    "height.",
    seen->bends);
}

static char *
text_of (const WsBladeWork *work)
{
  const WsBladeClearance seen = ws_blade_clearance (work);
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, _ ("Cutting off a part of %g mm"), work->part_diameter);
  if (work->part_bore > 0)
    g_string_append_printf (text, _ (" with a bore of %g mm"), work->part_bore);
  g_string_append_printf (text, _ (": %g mm deep\n"), seen.depth);
  add_sides (text, work, &seen);
  add_heel (text, work, &seen);
  add_overhang (text, work, &seen);
  g_string_append (text, _ ("\nTake care\n"));
  wsi_explain_add (text, "Local safety rules and trained people come first.");
  wsi_explain_add (
    text, "Lock the machine out and let everything come to rest before you touch tool or work; "
          "follow your shop's rules.");
  return g_string_free (text, FALSE);
}

static int
run (gpointer data, char **words)
{
  Options *options = data;
  WsBladeWork *work = &options->work;
  GError *error = NULL;
  WsUnits units;
  (void)words;
  work->part_bore = wsi_option_number (work->part_bore, 0);
  work->centre_height = wsi_option_number (work->centre_height, 0);
  work->front_relief = wsi_option_number (work->front_relief, USUAL_RELIEF_DEG);
  if (!check (work, &error) || !wsi_config_units (options->units_word, WS_UNITS_MM, &units, &error))
    return wsi_fail (error);
  g_autofree char *text = text_of (work);
  g_autofree char *shown = wsi_units_sentence (text, units);
  wsi_say ("%s", shown);
  return WS_EXIT_ACCEPT;
}

static const WsOptionCheck is_size = {
  .phrase = "expected millimetres above 0, at most 10000, with a decimal point",
  .least = 0,
  .most = 1e4,
  .above = TRUE
};
static const WsOptionCheck is_height = { .phrase = "expected millimetres with a decimal point",
                                         .least = -1e4,
                                         .most = 1e4 };
static const WsOptionCheck is_clearance = { .phrase = "expected degrees, -5 to 20",
                                            .least = -5,
                                            .most = 20 };
static const WsOptionCheck is_relief = { .phrase = "expected degrees, 0.1 to 60",
                                         .least = 0.1,
                                         .most = 60 };

#define WORK(field) G_STRUCT_OFFSET (Options, work.field)

static const WsOption options[] = {
  { WS_OPTION_LENGTH, "diameter", 'd', WORK (part_diameter), "MM", "Of the part", &is_size },
  { WS_OPTION_LENGTH, "bore", 0, WORK (part_bore), "MM", "Of its hole, if it has one", &is_size },
  { WS_OPTION_NUMBER, "side-clearance", 0, WORK (side_clearance), "DEG",
    "Of each side, as blade-plan measures it", &is_clearance },
  { WS_OPTION_LENGTH, "width", 0, WORK (width), "MM", "Of the blade's edge", &is_size },
  { WS_OPTION_LENGTH, "overhang", 0, WORK (overhang), "MM", "From the holder to the edge",
    &is_size },
  { WS_OPTION_LENGTH, "height", 0, WORK (height), "MM", "Of the blade, below the edge", &is_size },
  { WS_OPTION_NUMBER, "relief", 0, WORK (front_relief), "DEG", "Front relief, 10 by default",
    &is_relief },
  { WS_OPTION_LENGTH, "centre-height", 0, WORK (centre_height), "MM",
    "Of the edge above centre, 0 by default; below centre negative", &is_height },
  { WS_OPTION_WORD, "units", 'u', G_STRUCT_OFFSET (Options, units_word), "UNITS",
    "mm, in or both; by default as whetsight.conf says, else mm", &wsi_check_units },
  WS_OPTIONS_END
};

const WsCommand wsi_explain_clearance = {
  .name = "clearance",
  .summary = "what of a cutoff blade rubs on a given part",
  .about =
    "Says whether a cutoff blade's sides, heel or holder rub on a part of that diameter, and "
    "how its\noverhang bends it.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = run,
};
