#include "report/words.h"

#include <math.h>
#include <string.h>

#include <whetsight/judge.h>

#include "base/number.h"

const char *
wsi_words_verdict (WsVerdict verdict)
{
  static const char *const words[] = {
    [WS_VERDICT_NONE] = "NO LIMITS",      [WS_VERDICT_ACCEPT] = "ACCEPT",
    [WS_VERDICT_UNDECIDED] = "UNDECIDED", [WS_VERDICT_REJECT] = "REJECT",
    [WS_VERDICT_RETAKE] = "RETAKE",
  };
  return words[verdict];
}

static gboolean
lengths_unjudged (const WsReport *report)
{
  return report->optics == NULL || !report->optics->has_scale;
}

const char *
wsi_words_scope (const WsReport *report)
{
  gboolean partial = report->result->verdict == WS_VERDICT_ACCEPT && lengths_unjudged (report);
  return partial ? "angles only" : NULL;
}

const char *
wsi_words_meaning (const WsReport *report)
{
  gboolean angles_only = lengths_unjudged (report);
  switch (report->result->verdict)
  {
  case WS_VERDICT_NONE:
    return "Measured, but there are no limits to judge by.";
  case WS_VERDICT_ACCEPT:
    return angles_only ? "Angles are inside their limits. Lengths were not judged: no scale."
                       : "Inside the limits, with the uncertainty allowed for.";
  case WS_VERDICT_UNDECIDED:
    return "Can't be told in or out of limits with this picture.";
  case WS_VERDICT_REJECT:
    return "Outside the limits, beyond the uncertainty.";
  case WS_VERDICT_RETAKE:
    return ws_retake_sentence (report->result->reason);
  }
  return "";
}

static void
append_size (GString *words, double size)
{
  if (!isfinite (size))
    return;
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (words, " %s mm", g_ascii_formatd (buffer, sizeof buffer, "%.6g", size));
}

char *
wsi_words_tool (const WsReport *report)
{
  const WsToolCard *card = report->card;
  GString *words = g_string_new (NULL);
  if (card->id != NULL)
    g_string_append_printf (words, "%s · ", card->id);
  g_string_append (words, ws_tool_kind_name (card->kind));
  append_size (words, card->diameter_mm);
  append_size (words, card->width_mm);
  return g_string_free (words, FALSE);
}

char *
wsi_words_time (const WsReport *report)
{
  char *words = g_strdup (report->time);
  g_strdelimit (words, "T", ' ');
  char *zone = strrchr (words, 'Z');
  if (zone == NULL || zone[1] != '\0')
    return words;
  *zone = '\0';
  char *in_full = g_strconcat (words, " UTC", NULL);
  g_free (words);
  return in_full;
}

const char *
wsi_words_unit (const WsQuantity *quantity)
{
  return strrchr (quantity->name, '_') + 1;
}

char *
wsi_words_value (const WsQuantity *quantity)
{
  return quantity->known ? wsi_number_format (quantity->value, wsi_number_places (quantity->U))
                         : NULL;
}

char *
wsi_words_uncertainty (const WsQuantity *quantity)
{
  gboolean known = quantity->known && isfinite (quantity->U);
  return known ? wsi_number_format (quantity->U, wsi_number_places (quantity->U)) : NULL;
}

/* Four digits: built-in limits follow from factors and would go on for ever. */
static char *
limit_end (double end)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  if (!isfinite (end))
    return g_strdup ("");
  return g_strdup (
    g_ascii_formatd (buffer, sizeof buffer, fabs (end) < 1.0 ? "%.3g" : "%.6g", end));
}

char *
wsi_words_limits (const WsQuantity *quantity)
{
  g_autofree char *lower = limit_end (quantity->lower);
  g_autofree char *upper = limit_end (quantity->upper);
  if (*lower == '\0' && *upper == '\0')
    return g_strdup ("");
  return g_strdup_printf ("%s%s..%s%s", lower, *lower != '\0' ? " " : "", *upper != '\0' ? " " : "",
                          upper);
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
