/*
 * Verb `trace`: from what is wrong with the part to what may be behind it, the cheap checks first.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "base/file.h"
#include "base/language.h"
#include "cli/config.h"
#include "cli/say.h"
#include "cli/suggest.h"
#include "cli/trace_evidence.h"
#include "cli/verbs.h"
#include "judge/causes.h"
#include "report/text_table.h"
#include "report/units.h"
#include "report/words.h"

#define MAX_TABLE_BYTES 262144

typedef struct
{
  char *archive, *tool, *kind, *table, *write_table, *units_word;
  double by;
  gboolean json;
  char **symptoms;
} Options;

/* A cause and what is known of it, in the order in which they are looked at. */
typedef struct
{
  const WsCause *cause;
  guint place; /* in the table */
  WsEvidence evidence;
} Suspect;

static void
suspect_clear (gpointer data)
{
  g_free (((Suspect *)data)->evidence.words);
}

static int
compare (gconstpointer a, gconstpointer b)
{
  const Suspect *p = a, *q = b;
  if (p->cause->stage != q->cause->stage)
    return p->cause->stage < q->cause->stage ? -1 : 1;
  if (p->evidence.side != q->evidence.side)
    return p->evidence.side < q->evidence.side ? -1 : 1;
  return p->place < q->place ? -1 : p->place > q->place;
}

/* ---- What is asked --------------------------------------------------------------------- */

static WsCauses *
load_table (const Options *options, GError **error)
{
  if (options->table == NULL)
    return wsi_causes_parse ("built-in table of causes", wsi_causes_text, error);
  g_autofree char *text =
    wsi_file_read_text (options->table, "table of causes", MAX_TABLE_BYTES, error);
  return text != NULL ? wsi_causes_parse (options->table, text, error) : NULL;
}

/* "oversize-hole, rough-hole, …"; free with g_free(). */
static char *
list_symptoms (const WsCauses *causes)
{
  GString *list = g_string_new (NULL);
  for (guint i = 0; i < causes->symptoms->len; i++)
    g_string_append_printf (list, "%s%s", i > 0 ? ", " : "",
                            ((const WsSymptom *)g_ptr_array_index (causes->symptoms, i))->name);
  return g_string_free (list, FALSE);
}

static const WsSymptom *
find_symptom (const WsCauses *causes, char **words, GError **error)
{
  g_autofree char *all = list_symptoms (causes);
  if (words == NULL || words[1] != NULL)
  {
    wsi_refuse_usage (error, "name one symptom: %s", all);
    return NULL;
  }
  const WsSymptom *symptom = wsi_causes_symptom (causes, words[0]);
  if (symptom != NULL)
    return symptom;
  g_autofree const char **names = g_new0 (const char *, causes->symptoms->len + 1);
  for (guint i = 0; i < causes->symptoms->len; i++)
    names[i] = ((const WsSymptom *)g_ptr_array_index (causes->symptoms, i))->name;
  g_autofree char *otherwise = g_strdup_printf (_ ("there are %s"), all);
  g_autofree char *hint = wsi_suggest_or (words[0], names, otherwise);
  wsi_refuse_usage (error, "no symptom \"%s\"; %s", words[0], hint);
  return NULL;
}

static gboolean
check (const Options *options, const WsSymptom *symptom, GError **error)
{
  if ((options->archive == NULL) != (options->tool == NULL))
    return wsi_refuse_usage (error, "--archive and --tool go together: whose records to look at");
  if (options->kind != NULL && options->tool != NULL)
    return wsi_refuse_usage (error, "--kind: the archive knows what --tool is");
  return isnan (options->by) || symptom->amount != NULL ||
         wsi_refuse_usage (error, "--by: %s has no amount", symptom->name);
}

static guint
kind_of (const char *name)
{
  guint kind = 0;
  while (kind < WS_N_KINDS && g_strcmp0 (name, ws_tool_kind_name ((WsToolKind)kind)) != 0)
    kind++;
  return kind;
}

static GArray *
find_suspects (const WsCauses *causes, const WsTraceCase *about, guint kind, GError **error)
{
  g_autoptr (GArray) suspects = g_array_new (FALSE, FALSE, sizeof (Suspect));
  g_array_set_clear_func (suspects, suspect_clear);
  for (guint i = 0; i < causes->causes->len; i++)
  {
    Suspect suspect = { .cause = g_ptr_array_index (causes->causes, i), .place = i };
    if (!wsi_cause_fits (suspect.cause, about->symptom->name, kind))
      continue;
    if (!wsi_trace_evidence (about, suspect.cause, &suspect.evidence, error))
      return NULL;
    g_array_append_val (suspects, suspect);
  }
  g_array_sort (suspects, compare);
  return g_steal_pointer (&suspects);
}

/* ---- Texts ------------------------------------------------------------------------------- */

static const char *
heading (WsCauseStage stage)
{
  static const char *const headings[] = {
    [WS_STAGE_SET_UP] = N_ ("Set-up, before anything is ground"),
    [WS_STAGE_TOOL] = N_ ("The tool"),
    [WS_STAGE_CENTRE_HEIGHT] = N_ ("Where the tool stands"),
    [WS_STAGE_MACHINE] = N_ ("The machine and the bar"),
  };
  return _ (headings[stage]);
}

#define INDENT 4
#define LABEL 9

static void
add_line (GString *text, const char *label, const char *words)
{
  g_autofree char *first = g_strdup_printf ("%*s%s%*s", INDENT, "", label,
                                            MAX (1, LABEL - (int)g_utf8_strlen (label, -1)), "");
  wsi_text_wrap (text, first, words, INDENT + LABEL);
}

static void
add_suspect (GString *text, guint number, const Suspect *suspect)
{
  static const char *const sides[] = { [WS_EVIDENCE_FOR] = N_ (" (the archive speaks for it)"),
                                       [WS_EVIDENCE_NONE] = "",
                                       [WS_EVIDENCE_AGAINST] =
                                         N_ (" (the archive speaks against it)") };
  const WsCause *cause = suspect->cause;
  g_autofree char *first = g_strdup_printf ("%2u. ", number);
  g_autofree char *what =
    g_strdup_printf ("%s%s", _ (cause->what), _ (sides[suspect->evidence.side]));
  wsi_text_wrap (text, first, what, INDENT);
  g_autofree char *look = g_strdup_printf (_ ("%s. %g min"), _ (cause->check), cause->minutes);
  add_line (text, _ ("Check"), look);
  if (suspect->evidence.words != NULL)
  {
    g_auto (GStrv) lines = g_strsplit (suspect->evidence.words, "\n", -1);
    for (char **line = lines; *line != NULL; line++)
      add_line (text, line == lines ? _ ("Archive") : "", *line);
  }
  add_line (text, _ ("If so"), _ (cause->cure));
  add_line (text, _ ("Source"), _ (cause->source));
}

/* What is left to look at, and what the archive took away. */
static void
add_rest (GString *text, const GArray *suspects, gboolean has_archive)
{
  double minutes = 0;
  guint open = 0;
  g_autoptr (GString) against = g_string_new (NULL);
  for (guint i = 0; i < suspects->len; i++)
  {
    const Suspect *suspect = &g_array_index (suspects, Suspect, i);
    if (suspect->evidence.side == WS_EVIDENCE_AGAINST)
    {
      g_string_append_printf (against, "%s%u", against->len > 0 ? ", " : "", i + 1);
      continue;
    }
    open++;
    minutes += suspect->cause->minutes;
  }
  g_string_append (text, _ ("\nWhat remains\n"));
  g_autofree char *left = g_strdup_printf (
    _ ("%u causes that nothing speaks against yet, %g minutes for all their checks. "
       "Change one thing at a time and run a part between."),
    open, minutes);
  wsi_text_wrap (text, "  - ", left, INDENT);
  g_autofree char *gone = g_strdup_printf (_ ("Number %s: measured, and not so unless the tool was "
                                              "damaged since."),
                                           against->str);
  if (against->len > 0)
    wsi_text_wrap (text, "  - ", gone, INDENT);
  if (!has_archive)
    wsi_text_wrap (text, "  - ",
                   _ ("With --archive DIR --tool ID the records of the tool speak for or against."),
                   INDENT);
}

static void
add_cautions (GString *text)
{
  g_string_append (text, _ ("\nTake care\n"));
  wsi_text_wrap (text, "  - ", _ ("Local safety rules and trained people come first."), INDENT);
  wsi_text_wrap (
    text, "  - ",
    _ ("Lock the machine out and let everything come to rest before you reach in; guards "
       "back on before it runs. Nothing here needs a hand near a running part."),
    INDENT);
  wsi_text_wrap (text, "  - ",
                 _ ("Edges cut. Where tools are ground: eye protection, guards, no gloves at the "
                    "wheel."),
                 INDENT);
}

static char *
text_of (const WsTraceCase *about, const char *kind, const GArray *suspects)
{
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, "%s (%s)", _ (about->symptom->title), about->symptom->name);
  if (about->tool != NULL)
    g_string_append_printf (text, ": %s %s", _ (kind), about->tool);
  else if (kind != NULL)
    g_string_append_printf (text, ": %s", _ (kind));
  g_string_append_c (text, '\n');
  if (isfinite (about->by))
    g_string_append_printf (text, _ ("By %g mm of %s.\n"), about->by, _ (about->symptom->amount));
  guint stage = WS_N_STAGES;
  for (guint i = 0; i < suspects->len; i++)
  {
    const Suspect *suspect = &g_array_index (suspects, Suspect, i);
    if (suspect->cause->stage != stage)
      g_string_append_printf (text, "\n%s\n", heading (suspect->cause->stage));
    stage = suspect->cause->stage;
    add_suspect (text, i + 1, suspect);
  }
  add_rest (text, suspects, about->archive != NULL);
  add_cautions (text);
  return g_string_free (text, FALSE);
}

/* ---- JSON -------------------------------------------------------------------------------- */

static json_t *
suspect_json (const Suspect *suspect)
{
  static const char *const sides[] = {
    [WS_EVIDENCE_FOR] = "for", [WS_EVIDENCE_NONE] = "none", [WS_EVIDENCE_AGAINST] = "against"
  };
  const WsCause *cause = suspect->cause;
  json_t *lines = json_array ();
  g_auto (GStrv) words =
    suspect->evidence.words != NULL ? g_strsplit (suspect->evidence.words, "\n", -1) : NULL;
  for (char **line = words; line != NULL && *line != NULL; line++)
    json_array_append_new (lines, json_string (*line));
  return json_pack ("{s:s, s:s, s:s, s:f, s:s, s:s, s:s, s:s, s:o}", "cause", cause->name, "stage",
                    wsi_cause_stage_name (cause->stage), "what", cause->what, "minutes",
                    cause->minutes, "check", cause->check, "cure", cause->cure, "source",
                    cause->source, "evidence", sides[suspect->evidence.side], "archive", lines);
}

static char *
json_of (const WsTraceCase *about, const char *kind, const GArray *suspects)
{
  json_t *causes = json_array ();
  for (guint i = 0; i < suspects->len; i++)
    json_array_append_new (causes, suspect_json (&g_array_index (suspects, Suspect, i)));
  json_t *all =
    json_pack ("{s:s, s:s, s:s?, s:s?, s:o}", "symptom", about->symptom->name, "title",
               about->symptom->title, "tool", about->tool, "kind", kind, "causes", causes);
  char *text = json_dumps (all, JSON_COMPACT | JSON_REAL_PRECISION (10));
  json_decref (all);
  return text;
}

static gboolean
show (const Options *options, const WsTraceCase *about, const GArray *suspects, GError **error)
{
  const char *kind = about->kind != NULL ? about->kind : options->kind;
  WsUnits units;
  if (!wsi_config_units (options->units_word, WS_UNITS_MM, &units, error))
    return FALSE;
  if (options->json)
  {
    char *line = json_of (about, kind, suspects);
    wsi_say_json (line);
    free (line);
    return TRUE;
  }
  g_autofree char *text = text_of (about, kind, suspects);
  g_autofree char *shown = wsi_units_sentence (text, units);
  wsi_say ("%s", shown);
  return TRUE;
}

/* ---- The verb ------------------------------------------------------------------------------ */

static gboolean
trace_symptom (const Options *options, GError **error)
{
  g_autoptr (WsCauses) causes = load_table (options, error);
  const WsSymptom *symptom =
    causes != NULL ? find_symptom (causes, options->symptoms, error) : NULL;
  if (symptom == NULL || !check (options, symptom, error))
    return FALSE;
  WsTraceCase about = { .tool = options->tool, .symptom = symptom, .by = options->by };
  gboolean ok = TRUE;
  if (options->archive != NULL)
  {
    about.archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, error);
    ok = about.archive != NULL && wsi_trace_case_look (&about, error);
  }
  g_autoptr (GArray) suspects =
    ok ? find_suspects (causes, &about, kind_of (about.kind != NULL ? about.kind : options->kind),
                        error)
       : NULL;
  ok = suspects != NULL && show (options, &about, suspects, error);
  wsi_trace_case_clear (&about);
  return ok;
}

static int
trace (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  (void)words;
  /* What programs read is never translated. */
  if (options->json)
    wsi_language_use (NULL);
  const gboolean ok =
    options->write_table != NULL
      ? wsi_file_save (options->write_table, wsi_causes_text, strlen (wsi_causes_text), &error)
      : trace_symptom (options, &error);
  return ok ? WS_EXIT_ACCEPT : wsi_fail (error);
}

static const WsOptionCheck is_amount = {
  .phrase = "expected a length above 0, at most 10 mm, with a decimal point",
  .least = 0,
  .most = 10,
  .above = TRUE
};

static const WsOption options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "What its records say, with --tool", NULL },
  { WS_OPTION_TEXT, "tool", 't', G_STRUCT_OFFSET (Options, tool), "ID",
    "The tool that is suspected", NULL },
  { WS_OPTION_WORD, "kind", 'k', G_STRUCT_OFFSET (Options, kind), "KIND",
    "Causes for this kind of tool alone", &wsi_check_kind },
  { WS_OPTION_LENGTH, "by", 0, G_STRUCT_OFFSET (Options, by), "MM",
    "By how much: the hole's oversize", &is_amount },
  { WS_OPTION_FILE, "table", 0, G_STRUCT_OFFSET (Options, table), "FILE",
    "The shop's own table of causes", NULL },
  { WS_OPTION_FILE, "write-table", 0, G_STRUCT_OFFSET (Options, write_table), "FILE",
    "Write the built-in table there, to be changed", NULL },
  { WS_OPTION_WORD, "units", 'u', G_STRUCT_OFFSET (Options, units_word), "UNITS",
    "mm, in or both; by default as whetsight.conf says, else mm", &wsi_check_units },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL,
    "Print JSON instead of text", NULL },
  { WS_OPTION_WORDS, NULL, 0, G_STRUCT_OFFSET (Options, symptoms), "SYMPTOM", NULL, NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_trace = {
  .name = "trace",
  .summary = "from a fault of the part to what may be behind it",
  .about =
    "Lists what may be behind a fault of the part, the cheap checks first: what tells, what it "
    "takes,\nwhat the archive says already, and what remains.  Symptoms: oversize-hole, "
    "rough-hole, walks,\ncorners-break, lips-chip, tip-left, burr, chatter, dulls-early, "
    "size-drifts, and those of a table of\nyour own.",
  .exits = "Exit status: 0 listed; 64 wrong call, 65 the table or something in the archive isn't "
           "right, 66 no such\ntool or file, 73 can't write.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = trace,
};
