#include "cli/trace_evidence.h"

#include <math.h>
#include <string.h>

#include "base/language.h"
#include "base/number.h"
#include "cli/archive.h"
#include "report/words.h"

/* What explains so much of the amount isn't spoken against by lying inside its limits. */
#define MUCH_OF_IT 0.5

static gboolean
note_inspection (const WsInspection *inspection, gpointer data, GError **error)
{
  WsTraceCase *about = data;
  (void)error;
  if (inspection->kind != NULL)
  {
    g_free (about->kind);
    about->kind = g_strdup (inspection->kind);
  }
  if (inspection->reground && g_strcmp0 (inspection->time, about->reground) > 0)
  {
    g_free (about->reground);
    about->reground = g_strdup (inspection->time);
  }
  return TRUE;
}

gboolean
wsi_trace_case_look (WsTraceCase *about, GError **error)
{
  const WsArchiveFilter filter = { .tool = about->tool, .above = NAN, .below = NAN };
  if (!ws_archive_each (about->archive, &filter, FALSE, note_inspection, about, error))
    return FALSE;
  if (about->kind != NULL)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               "archive %s: nothing of a tool %s; whetsight archive tools shows which are there",
               ws_archive_folder (about->archive), about->tool);
  return FALSE;
}

void
wsi_trace_case_clear (WsTraceCase *about)
{
  g_clear_pointer (&about->archive, ws_archive_free);
  g_free (about->kind);
  g_free (about->reground);
}

/* The newest that is as it was written, or NULL. */
static const WsArchiveValue *
newest (const WsTraceCase *about, const GPtrArray *values)
{
  for (guint i = values->len; i-- > 0;)
  {
    const WsArchiveValue *value = g_ptr_array_index (values, i);
    if (value->wrong == NULL)
      return value;
    wsi_archive_tell_wrong (about->archive, value->id, value->wrong);
  }
  return NULL;
}

/* What the value explains of the amount, as a sentence's end; "" where nobody knows. */
static char *
explained (const WsTraceCase *about, const WsCause *cause, const WsArchiveValue *value)
{
  if (!isfinite (cause->explains) || about->symptom->amount == NULL)
    return g_strdup ("");
  const double most = cause->explains * fabs (value->value), U = cause->explains * value->U;
  const guint places = wsi_number_places (U);
  g_autofree char *most_text = wsi_number_format (most, places);
  g_autofree char *U_text = wsi_number_format (U, places);
  const char *enough = "";
  if (isfinite (about->by))
    enough = most + U < about->by ? _ (", which is not all of it") : _ (", which may be all of it");
  return g_strdup_printf (_ (": explains at most %s ± %s mm of %s%s"), most_text, U_text,
                          _ (about->symptom->amount), enough);
}

static gboolean
explains_much (const WsTraceCase *about, const WsCause *cause, const WsArchiveValue *value)
{
  return isfinite (cause->explains) && isfinite (about->by) &&
         cause->explains * (fabs (value->value) + value->U) > MUCH_OF_IT * about->by;
}

/* Which end of its limits the value lies beyond, for sure: -1, 1, else 0. */
static int
beyond (const WsArchiveValue *value)
{
  if (value->value + value->U < value->lower)
    return -1;
  return value->value - value->U > value->upper ? 1 : 0;
}

static gboolean
has_limits (const WsArchiveValue *value)
{
  return isfinite (value->lower) || isfinite (value->upper);
}

static gboolean
is_inside (const WsArchiveValue *value)
{
  return value->value + value->U <= value->upper && value->value - value->U >= value->lower;
}

static WsEvidenceSide
side_of (const WsTraceCase *about, const WsCause *cause, const WsArchiveValue *value)
{
  const int end = beyond (value);
  if (end != 0)
    return cause->outside == 0 || cause->outside == end ? WS_EVIDENCE_FOR : WS_EVIDENCE_AGAINST;
  return has_limits (value) && is_inside (value) && !explains_much (about, cause, value)
           ? WS_EVIDENCE_AGAINST
           : WS_EVIDENCE_NONE;
}

static const char *
place_of (const WsArchiveValue *value)
{
  static const char *const beyond_words[] = { N_ ("below its limits"), "",
                                              N_ ("above its limits") };
  if (beyond (value) != 0)
    return _ (beyond_words[beyond (value) + 1]);
  if (!has_limits (value))
    return _ ("without limits");
  return is_inside (value) ? _ ("inside its limits") : _ ("too near its limits to tell");
}

/* "Point offset 0.120 ± 0.010 mm on 2026-11-20, outside its limits". */
static char *
say (const char *quantity, const WsArchiveValue *value, const char *rest)
{
  const guint places = wsi_number_places (value->U);
  g_autofree char *text = wsi_number_format (value->value, places);
  g_autofree char *U_text = wsi_number_format (value->U, places);
  g_autofree char *day = wsi_words_local (value->time, "%Y-%m-%d");
  const char *unit = strrchr (quantity, '_');
  return g_strdup_printf (_ ("%s %s ± %s %s on %s, %s"), wsi_archive_quantity_label (quantity),
                          text, U_text, unit != NULL ? unit + 1 : "", day, rest);
}

static void
add (const WsTraceCase *about, const WsCause *cause, const char *quantity,
     const WsArchiveValue *value, WsEvidence *evidence)
{
  const gboolean is_old = g_strcmp0 (value->time, about->reground) < 0;
  g_autofree char *explains = explained (about, cause, value);
  g_autofree char *rest = is_old ? g_strdup (_ ("before the last regrind: measure again"))
                                 : g_strdup_printf ("%s%s", place_of (value), explains);
  g_autofree char *words = say (quantity, value, rest);
  const WsEvidenceSide side = is_old ? WS_EVIDENCE_NONE : side_of (about, cause, value);
  /* One that is outside speaks for the cause; all must be inside to speak against it. */
  evidence->side = evidence->words == NULL ? side : MIN (evidence->side, side);
  char *before = evidence->words;
  evidence->words = before == NULL ? g_strdup (words) : g_strdup_printf ("%s\n%s", before, words);
  g_free (before);
}

gboolean
wsi_trace_evidence (const WsTraceCase *about, const WsCause *cause, WsEvidence *evidence,
                    GError **error)
{
  *evidence = (WsEvidence){ .side = WS_EVIDENCE_NONE };
  for (char **quantity = cause->quantities;
       about->archive != NULL && quantity != NULL && *quantity != NULL; quantity++)
  {
    const WsArchiveFilter filter = {
      .tool = about->tool, .quantity = *quantity, .above = NAN, .below = NAN
    };
    g_autoptr (GPtrArray) values = ws_archive_values (about->archive, &filter, error);
    if (values == NULL)
    {
      g_clear_pointer (&evidence->words, g_free);
      return FALSE;
    }
    const WsArchiveValue *value = newest (about, values);
    if (value != NULL)
      add (about, cause, *quantity, value, evidence);
  }
  return TRUE;
}
