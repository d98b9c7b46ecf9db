#include "report/words.h"

#include <math.h>
#include <string.h>

#include <whetsight/judge.h>

#include "base/language.h"
#include "base/number.h"
#include "base/size.h"

const char *
wsi_words_verdict (WsVerdict verdict)
{
  static const char *const words[] = {
    [WS_VERDICT_NONE] = N_ ("NO LIMITS"),      [WS_VERDICT_ACCEPT] = N_ ("ACCEPT"),
    [WS_VERDICT_UNDECIDED] = N_ ("UNDECIDED"), [WS_VERDICT_REJECT] = N_ ("REJECT"),
    [WS_VERDICT_RETAKE] = N_ ("RETAKE"),
  };
  return words[verdict];
}

const char *
wsi_words_meaning (WsVerdict verdict)
{
  switch (verdict)
  {
  case WS_VERDICT_NONE:
    return N_ ("Measured, but there are no limits to judge by.");
  case WS_VERDICT_ACCEPT:
    return N_ ("Inside the limits, with the uncertainty allowed for.");
  case WS_VERDICT_UNDECIDED:
    return N_ ("Can't be told in or out of limits with this picture.");
  case WS_VERDICT_REJECT:
    return N_ ("Outside the limits, beyond the uncertainty.");
  case WS_VERDICT_RETAKE:
    return "";
  }
  return "";
}

static const char *
meaning_of (const WsResult *result)
{
  return result->verdict == WS_VERDICT_RETAKE ? ws_retake_sentence (result->reason)
                                              : wsi_words_meaning (result->verdict);
}

char *
wsi_words_label (const WsQuantity *quantity)
{
  const WsQuantityInfo *info = quantity->family != NULL ? quantity->family : quantity->info;
  GString *label = g_string_new (_ (info->label));
  g_autofree char *number = g_strdup_printf (" %u", quantity->number);
  if (quantity->family != NULL)
    g_string_replace (label, " N", number, 1);
  return g_string_free (label, FALSE);
}

/* ---- The reason ----------------------------------------------------------------------- */

/* More names than this are told by their number: form tools have dozens. */
#define MOST_NAMES 4

/* "Point angle" within a sentence; "PL" stays as it is. */
static char *
in_sentence (const char *label)
{
  const gunichar first = g_utf8_get_char (label);
  const char *rest = g_utf8_next_char (label);
  /* German writes nouns large anywhere. */
  if (*label == '\0' || g_unichar_isupper (g_utf8_get_char (rest)) ||
      !g_str_equal (wsi_language_code (), "en"))
    return g_strdup (label);
  char letter[7] = "";
  g_unichar_to_utf8 (g_unichar_tolower (first), letter);
  return g_strconcat (letter, rest, NULL);
}

/* Why a quantity stands in the reason. */
typedef enum
{
  WHY_OUTSIDE, /* of its limits */
  WHY_NEAR,    /* one of them */
  WHY_UNKNOWN, /* has a limit, but couldn't be measured */
  WHY_NO_SCALE /* a limit of the card, in mm, of a picture in px */
} Why;

static gboolean
applies (Why why, const WsQuantity *quantity)
{
  if (why == WHY_OUTSIDE)
    return quantity->verdict == WS_VERDICT_REJECT;
  if (quantity->verdict != WS_VERDICT_UNDECIDED)
    return FALSE;
  const gboolean limited = isfinite (quantity->lower) || isfinite (quantity->upper);
  return why == (!limited ? WHY_NO_SCALE : quantity->known ? WHY_NEAR : WHY_UNKNOWN);
}

/* "Outside the limits: point angle, chip depth a." of what it applies to, if anything. */
static void
append_names (GString *words, Why why, const GPtrArray *quantities)
{
  static const char *const says[] = {
    [WHY_OUTSIDE] = N_ ("Outside the limits"),
    [WHY_NEAR] = N_ ("Too near a limit to tell"),
    [WHY_UNKNOWN] = N_ ("Not to be had from this picture"),
    [WHY_NO_SCALE] = N_ ("Not judged without a scale"),
  };
  guint n = 0;
  for (guint i = 0; i < quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (quantities, i);
    if (!applies (why, quantity) || n++ >= MOST_NAMES)
      continue;
    g_autofree char *label = wsi_words_label (quantity);
    g_autofree char *name = in_sentence (label);
    if (n == 1)
      g_string_append_printf (words, "%s%s: ", words->len > 0 ? " " : "", _ (says[why]));
    g_string_append_printf (words, "%s%s", n > 1 ? ", " : "", name);
  }
  if (n > MOST_NAMES)
    g_string_append_printf (words, _ (" and %u more"), n - MOST_NAMES);
  if (n > 0)
    g_string_append_c (words, '.');
}

/* The first sentence of the finding that rejects the tool by itself. */
static void
append_rejection (GString *words, const WsResult *result)
{
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (!g_str_equal (finding->code, result->rejected))
      continue;
    const char *end = strstr (finding->text, ". ");
    g_string_append_len (words, finding->text, end != NULL ? end + 1 - finding->text : -1);
    return;
  }
}

char *
wsi_words_reason (const WsReport *report)
{
  const WsResult *result = report->result;
  GString *words = g_string_new (NULL);
  if (result->verdict == WS_VERDICT_REJECT && result->rejected != NULL)
    append_rejection (words, result);
  if (result->verdict == WS_VERDICT_REJECT)
    append_names (words, WHY_OUTSIDE, result->quantities);
  if (result->verdict == WS_VERDICT_UNDECIDED && result->hold != WS_HOLD_NONE)
    g_string_append (words, result->hold_why);
  else if (result->verdict == WS_VERDICT_UNDECIDED)
    for (Why why = WHY_NEAR; why <= WHY_NO_SCALE; why++)
      append_names (words, why, result->quantities);
  if (words->len == 0)
    g_string_append (words, _ (meaning_of (result)));
  return g_string_free (words, FALSE);
}

/* ---- What to do ----------------------------------------------------------------------- */

static const char *const action_words[] = {
  [WS_ACTION_NONE] = NULL,
  [WS_ACTION_USE] = N_ ("Ready to use."),
  [WS_ACTION_REGRIND] = N_ ("Regrind."),
  [WS_ACTION_SET_ASIDE] = N_ ("Set aside."),
  [WS_ACTION_MEASURE_AGAIN] = N_ ("Measure again."),
  [WS_ACTION_OTHER_VIEWS] = N_ ("Good in this view; the card asks for others as well."),
  [WS_ACTION_HONE] = N_ ("Hone the wire edge off before it is used."),
};

const char *
wsi_words_action_named (const char *name)
{
  for (gsize i = 0; name != NULL && i < G_N_ELEMENTS (action_words); i++)
    if (g_strcmp0 (name, ws_action_name ((WsAction)i)) == 0)
      return action_words[i];
  return NULL;
}

char *
wsi_words_action (const WsReport *report)
{
  const WsResult *result = report->result;
  const WsAction action = ws_result_action (result);
  g_autofree char *reason = wsi_words_reason (report);
  const char *why = reason;
  if (action == WS_ACTION_NONE)
    return g_steal_pointer (&reason);
  if (action == WS_ACTION_OTHER_VIEWS)
    return g_strdup_printf (_ ("Good in this view; the card asks for %s as well. %s"),
                            result->other_views, reason);
  if (action == WS_ACTION_SET_ASIDE)
    why = result->set_aside;
  return g_strdup_printf ("%s %s", _ (action_words[action]), why);
}

char *
wsi_words_state (const WsToolState *state)
{
  GString *words = g_string_new (_ (wsi_tool_standing_name (state->standing)));
  for (guint i = 0; i < state->views->len; i++)
  {
    const WsViewState *view = &g_array_index (state->views, WsViewState, i);
    const char *verdict = view->verdict == WS_VERDICT_RETAKE ? _ ("not measured")
                          : view->verdict == WS_VERDICT_NONE ? _ ("without limits")
                                                             : _ (ws_verdict_name (view->verdict));
    g_string_append_printf (words, "%s%s %s", i > 0 ? ", " : ": ", view->view, verdict);
  }
  if (state->n_altered > 0)
    g_string_append_printf (words, _ ("; %u inspections are NOT AS THEY WERE WRITTEN"),
                            state->n_altered);
  return g_string_free (words, FALSE);
}

const char *
wsi_words_care (const WsResult *result)
{
  static const char *const lines[] = {
    [WS_WORK_NONE] = NULL,
    [WS_WORK_GRIND] =
      N_ ("Take care: eye protection, guards, sharp edges; local rules come first."),
    [WS_WORK_MOUNT] = N_ ("Take care: lock the machine out, sharp edges; local rules come first."),
    [WS_WORK_GRIND | WS_WORK_MOUNT] =
      N_ ("Take care: eye protection, guards, lock-out, sharp edges; local rules first."),
  };
  const guint machine = result->work & (WS_WORK_GRIND | WS_WORK_MOUNT);
  if (machine == WS_WORK_NONE && result->work & WS_WORK_HONE)
    return N_ ("Take care: eye protection, sharp edges; local rules come first.");
  return lines[machine];
}

/* ---- The rest ------------------------------------------------------------------------- */

static void
append_size (GString *words, double size, WsUnits units)
{
  if (!isfinite (size))
    return;
  char mm[G_ASCII_DTOSTR_BUF_SIZE], inches[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd (mm, sizeof mm, "%.6g", size);
  g_ascii_formatd (inches, sizeof inches, "%.5g", size / WS_MM_PER_INCH);
  if (units == WS_UNITS_IN)
    g_string_append_printf (words, " %s in", inches);
  else if (units == WS_UNITS_MM)
    g_string_append_printf (words, " %s mm", mm);
  else
    g_string_append_printf (words, " %s mm (%s in)", mm, inches);
}

char *
wsi_words_tool (const WsReport *report)
{
  const WsToolCard *card = report->card;
  GString *words = g_string_new (NULL);
  if (card->id != NULL)
    g_string_append_printf (words, "%s · ", card->id);
  g_string_append (words, _ (ws_tool_kind_name (card->kind)));
  append_size (words, card->diameter_mm, report->units);
  append_size (words, card->width_mm, report->units);
  return g_string_free (words, FALSE);
}

char *
wsi_words_local (const char *time, const char *format)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) moment = time != NULL ? g_date_time_new_from_iso8601 (time, utc) : NULL;
  g_autoptr (GDateTime) local = moment != NULL ? g_date_time_to_local (moment) : NULL;
  char *words = local != NULL ? g_date_time_format (local, format) : NULL;
  return words != NULL ? words : g_strdup (time);
}

char *
wsi_words_local_time (const char *time)
{
  return wsi_words_local (time, "%Y-%m-%d %H:%M:%S %Z");
}

char *
wsi_words_time (const WsReport *report)
{
  return wsi_words_local_time (report->time);
}

/* Is it a length that has millimetres to be shown in something else? */
static gboolean
is_converted (const WsQuantity *quantity)
{
  return quantity->shown != WS_UNITS_MM && g_str_has_suffix (quantity->name, "_mm");
}

gboolean
wsi_words_in_inches (const WsQuantity *quantity)
{
  return is_converted (quantity) && quantity->shown == WS_UNITS_IN;
}

double
wsi_words_in_shown_unit (const WsQuantity *quantity, double value)
{
  return wsi_words_in_inches (quantity) ? value / WS_MM_PER_INCH : value;
}

WsQuantity
wsi_words_shown_in (const WsQuantity *quantity, WsUnits units)
{
  WsQuantity shown = *quantity;
  shown.shown = units;
  return shown;
}

gboolean
wsi_words_in_both (const WsQuantity *quantity)
{
  return is_converted (quantity) && quantity->shown == WS_UNITS_BOTH;
}

/* The words that `make` has for the quantity in mm, in inches, or "mm (in)"; takes nothing over. */
static char *
in_units (const WsQuantity *quantity, char *(*make) (const WsQuantity *quantity, double per))
{
  char *metric =
    is_converted (quantity) && quantity->shown == WS_UNITS_IN ? NULL : make (quantity, 1.0);
  g_autofree char *inches = is_converted (quantity) ? make (quantity, WS_MM_PER_INCH) : NULL;
  if (inches == NULL || *inches == '\0')
    return metric != NULL || inches == NULL ? metric : g_steal_pointer (&inches);
  if (metric == NULL)
    return g_steal_pointer (&inches);
  char *both = g_strdup_printf ("%s (%s)", metric, inches);
  g_free (metric);
  return both;
}

const char *
wsi_words_unit (const WsQuantity *quantity)
{
  if (is_converted (quantity))
    return quantity->shown == WS_UNITS_IN ? "in" : "mm (in)";
  return _ (strrchr (quantity->name, '_') + 1);
}

/* To the place of U's second figure (JCGM 100:2008, 7.2.6), be it tens or hundreds. */
static char *
rounded (double value, double U)
{
  const double tens = isfinite (U) && U >= 99.5 ? pow (10, floor (log10 (U / 0.995)) - 1) : 1.0;
  return wsi_number_format (tens * (tens > 1.0 ? round (value / tens) : value),
                            wsi_number_places (U));
}

static char *
value_words (const WsQuantity *quantity, double per)
{
  return quantity->known ? rounded (quantity->value / per, quantity->U / per) : NULL;
}

char *
wsi_words_value (const WsQuantity *quantity)
{
  return in_units (quantity, value_words);
}

static char *
uncertainty_words (const WsQuantity *quantity, double per)
{
  const gboolean known = quantity->known && isfinite (quantity->U);
  return known ? rounded (quantity->U / per, quantity->U / per) : NULL;
}

char *
wsi_words_uncertainty (const WsQuantity *quantity)
{
  return in_units (quantity, uncertainty_words);
}

/* Rounded up: nobody is promised more than was seen. */
static char *
smallest_seen_words (const WsQuantity *quantity, double per)
{
  const double least = quantity->smallest_seen / per;
  const guint places = wsi_number_places (least);
  return isfinite (least) ? wsi_number_format (wsi_number_round_up (least, places), places) : NULL;
}

char *
wsi_words_smallest_seen (const WsQuantity *quantity)
{
  g_autofree char *number = in_units (quantity, smallest_seen_words);
  return number != NULL ? g_strdup_printf ("%s %s", number, wsi_words_unit (quantity)) : NULL;
}

/* `end` to so many significant digits, never outward: what is shown is never wider than what is
 * judged by.  A computed 6.478 counts as 6.478, whatever its last bits. */
static double
round_inward (double end, gboolean is_upper, int digits)
{
  const double noise = 1e-6;
  if (end == 0.0)
    return end;
  const double unit = pow (10, floor (log10 (fabs (end))) + 1 - digits);
  const double nearest = round (end / unit);
  if (fabs (end / unit - nearest) < noise)
    return unit * nearest;
  return unit * (is_upper ? floor (end / unit) : ceil (end / unit));
}

char *
wsi_words_limit_rounded (double end, gboolean is_upper, guint digits)
{
  char format[8], buffer[G_ASCII_DTOSTR_BUF_SIZE];
  g_snprintf (format, sizeof format, "%%.%ug", digits);
  return g_strdup (isfinite (end) ? g_ascii_formatd (buffer, sizeof buffer, format,
                                                     round_inward (end, is_upper, (int)digits))
                                  : "");
}

/* Six are kept where they are all there is: 6.478, a nominal size less its tolerance. */
static guint
digits_of (double end)
{
  if (fabs (end) < 1.0)
    return 3;
  const double whole = round_inward (end, TRUE, 6);
  return fabs (whole - end) <= 1e-9 * fabs (end) ? 6 : 4;
}

char *
wsi_words_limit (double end, gboolean is_upper, gboolean is_built_in)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  if (is_built_in)
    return wsi_words_limit_rounded (end, is_upper, digits_of (end));
  return g_strdup (isfinite (end) ? g_ascii_formatd (buffer, sizeof buffer, "%.12g", end) : "");
}

char *
wsi_words_limit_inches (double mm, gboolean is_upper, guint places)
{
  const double inches = mm / WS_MM_PER_INCH;
  const double figures =
    inches != 0.0 && isfinite (mm) ? places + 1 + floor (log10 (fabs (inches))) : 1.0;
  return wsi_words_limit_rounded (inches, is_upper, (guint)CLAMP (figures, 1.0, 9.0));
}

/* A quarter of a micrometre. */
#define INCH_PLACES 5

static char *
limit_in (double end, gboolean is_upper, gboolean is_built_in, double per)
{
  return per > 1.0 ? wsi_words_limit_inches (end, is_upper, INCH_PLACES)
                   : wsi_words_limit (end, is_upper, is_built_in);
}

static char *
limits_words (const WsQuantity *quantity, double per)
{
  const gboolean is_built_in = wsi_words_is_built_in (quantity);
  g_autofree char *lower = limit_in (quantity->lower, FALSE, is_built_in, per);
  g_autofree char *upper = limit_in (quantity->upper, TRUE, is_built_in, per);
  if (*lower == '\0' && *upper == '\0')
    return g_strdup ("");
  return g_strdup_printf ("%s%s..%s%s", lower, *lower != '\0' ? " " : "", *upper != '\0' ? " " : "",
                          upper);
}

char *
wsi_words_limits (const WsQuantity *quantity)
{
  return in_units (quantity, limits_words);
}

char *
wsi_words_conformance (const WsQuantity *quantity)
{
  const double p = quantity->known
                     ? ws_conformance_probability (quantity->value, quantity->U / quantity->k,
                                                   quantity->lower, quantity->upper)
                     : (double)NAN;
  if (isnan (p))
    return g_strdup ("");
  if (p > 0.999)
    return g_strdup (">99.9 %");
  if (p < 0.001)
    return g_strdup ("<0.1 %");
  g_autofree char *percent = wsi_number_format (100 * p, 1);
  return g_strdup_printf ("%s %%", percent);
}

gboolean
wsi_words_is_built_in (const WsQuantity *quantity)
{
  return quantity->limit_source != NULL && !g_str_equal (quantity->limit_source, "tool card");
}

gboolean
wsi_words_is_in_table (const char *code)
{
  static const char *const codes[] = { "segment", "corner", "notch", NULL };
  return code != NULL && g_strv_contains (codes, code);
}
