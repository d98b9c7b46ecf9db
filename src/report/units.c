#include "report/units.h"

#include <string.h>

#include <whetsight/report.h>

#include "base/number.h"
#include "base/size.h"
#include "base/told_text.h"

/* A number, maybe with another that shares its unit, and the unit as a word. */
#define LENGTHS                                                                                    \
  "(?<![\\w.])(-?\\d+(?:\\.\\d+)?)"                                                                \
  "(?:( ± | \\.\\. | to | bis | from | von | x )(-?\\d+(?:\\.\\d+)?))? mm\\b"

#define MOST_PLACES 6

/* Two places more than the number had in mm: a quarter of its last place. */
static guint
places_of (const char *written)
{
  const char *point = strchr (written, '.');
  return MIN (point != NULL ? (guint)strlen (point) + 1 : 2, MOST_PLACES);
}

static char *
in_inches (const char *first, const char *between, const char *second)
{
  const double a = g_ascii_strtod (first, NULL) / WS_MM_PER_INCH,
               b = g_ascii_strtod (second, NULL) / WS_MM_PER_INCH;
  const gboolean with_U = strstr (between, "±") != NULL && b > 0.0;
  const guint places = with_U ? wsi_number_places (b) : 0;
  g_autofree char *left = wsi_number_format (a, with_U ? places : places_of (first));
  if (*between == '\0')
    return g_strconcat (left, " in", NULL);
  g_autofree char *right = wsi_number_format (b, with_U ? places : places_of (second));
  return g_strconcat (left, between, right, " in", NULL);
}

static gboolean
replace (const GMatchInfo *match, GString *out, gpointer data)
{
  const WsUnits *units = data;
  g_autofree char *whole = g_match_info_fetch (match, 0);
  g_autofree char *first = g_match_info_fetch (match, 1);
  g_autofree char *between = g_match_info_fetch (match, 2);
  g_autofree char *second = g_match_info_fetch (match, 3);
  g_autofree char *inches =
    in_inches (first, between != NULL ? between : "", second != NULL ? second : "0");
  if (*units == WS_UNITS_BOTH)
    g_string_append_printf (out, "%s (%s)", whole, inches);
  else
    g_string_append (out, inches);
  return FALSE;
}

char *
wsi_units_sentence (const char *text, WsUnits units)
{
  if (text == NULL || units == WS_UNITS_MM || !g_utf8_validate (text, -1, NULL))
    return g_strdup (text);
  g_autoptr (GRegex) lengths = g_regex_new (LENGTHS, 0, 0, NULL);
  g_autofree char *told = g_regex_replace_eval (lengths, text, -1, 0, 0, replace, &units, NULL);
  return told != NULL ? g_steal_pointer (&told) : g_strdup (text);
}

/* In this thread's language first: its patterns have mm. */
static void
tell (char **text, WsUnits units)
{
  g_autofree char *told = wsi_told_text (*text);
  g_free (*text);
  *text = wsi_units_sentence (told, units);
}

static void
tell_all (GPtrArray *texts, WsUnits units)
{
  for (guint i = 0; i < texts->len; i++)
    tell ((char **)&g_ptr_array_index (texts, i), units);
}

void
ws_report_show_in (WsResult *result, WsUnits units)
{
  for (guint i = 0; i < result->quantities->len; i++)
    ((WsQuantity *)g_ptr_array_index (result->quantities, i))->shown = units;
  for (guint i = 0; i < result->findings->len; i++)
    tell (&((WsFinding *)g_ptr_array_index (result->findings, i))->text, units);
  tell_all (result->advice, units);
  tell_all (result->cautions, units);
  tell (&result->detail, units);
  tell (&result->set_aside, units);
  tell (&result->hold_why, units);
}
