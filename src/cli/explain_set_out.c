/*
 * `explain set-out`: how far a reground tool has to be set out, from the archive's pictures of it
 * before and after.
 */
#include <math.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "base/language.h"
#include "base/number.h"
#include "base/told_text.h"
#include "cli/config.h"
#include "cli/explain.h"
#include "cli/fail.h"
#include "cli/regrind.h"
#include "cli/say.h"
#include "report/text_table.h"
#include "report/units.h"
#include "report/words.h"

/* Past the point of cut-off: 1/16 to 1/8 inch, common practice. */
#define OVERTRAVEL_LEAST_MM 1.5875
#define OVERTRAVEL_MOST_MM 3.175

/* Feeler stock and shims come in steps of so much. */
#define SPACER_STEP_MM 0.05

typedef struct
{
  char *archive, *tool, *view, *before, *after, *reference, *calib, *units_word;
  gboolean json;
} Options;

/* What was found. */
typedef struct
{
  const Options *options;
  const WsRegrindShot *shots; /* before, after */
  const WsResult *result;
} Found;

/* ---- Words --------------------------------------------------------------------------------------
 */

static const WsQuantity *
known (const Found *found, const char *stem)
{
  const WsQuantity *q = ws_result_quantity (found->result, stem);
  return q != NULL && q->known ? q : NULL;
}

/* "0.412 ± 0.011 mm"; free with g_free(). */
static char *
length (const WsQuantity *q)
{
  g_autofree char *value = wsi_words_value (q), *U = wsi_words_uncertainty (q);
  return g_strdup_printf ("%s ± %s %s", value, U, wsi_words_unit (q));
}

/* So much of it, without U. */
static char *
share (const WsQuantity *q, double factor)
{
  g_autofree char *value = wsi_number_format (factor * q->value, wsi_number_places (q->U));
  return g_strdup_printf ("%s %s", value, wsi_words_unit (q));
}

static gboolean
is_seen (const WsQuantity *q)
{
  return fabs (q->value) > q->U;
}

static void
add_shot (GString *text, const char *which, const WsRegrindShot *shot)
{
  g_autofree char *time = wsi_words_local_time (shot->time);
  g_string_append_printf (text, "  %-8s%s  %s  (%s)\n", which, time, shot->name, shot->id);
}

/* ---- What to do
 * ------------------------------------------------------------------------------------ */

static void
add_spacer (GString *text, const WsQuantity *q)
{
  const double mm = SPACER_STEP_MM * floor (q->value / SPACER_STEP_MM + 0.5);
  if (!g_str_has_suffix (q->name, "_mm") || !(mm > 0) || is_seen (q) == FALSE)
    return;
  g_autofree char *off = wsi_number_format (fabs (q->value - mm), wsi_number_places (q->U));
  wsi_explain_add (
    text,
    "Or put a spacer of %.2f mm behind it, the nearest in steps of %.2f mm: it then stands %s mm "
    "%s than before.",
    mm, SPACER_STEP_MM, off, mm < q->value ? _ ("shorter") : _ ("farther out"));
}

static void
add_setting (GString *text, const Found *found, const WsQuantity *q)
{
  g_autofree char *by = length (q), *plain = share (q, 1);
  if (!is_seen (q))
    wsi_explain_add (text, "Leave it as it was set: it isn't shorter by more than U, %s.", by);
  else if (q->value < 0)
    wsi_explain_add (
      text,
      "The edge stands farther out than before, by %s: no regrind does that. Look whether both "
      "pictures are of this tool, and whether what they are compared by stayed.",
      by);
  else
    wsi_explain_add (text, "Set it out by %s: then the edge stands where it stood.", plain);
  if (q->value > 0)
    add_spacer (text, q);
  const WsQuantity *lower = known (found, "lower");
  if (lower == NULL || !is_seen (lower) || lower->value < 0)
    return;
  g_autofree char *down = share (lower, 1), *pip = share (lower, 2);
  wsi_explain_add (
    text,
    "Raise it by %s, with a shim under the tool: its edge is so much lower. Left low, a cutoff "
    "blade leaves a pip of twice that, %s, in diameter; whetsight explain centre-height tells "
    "what it does to rake and relief.",
    down, pip);
}

/* ---- What depends on it
 * ------------------------------------------------------------------------------ */

static void
add_row (GString *text, const char *what, const char *words)
{
  const int gap = 15 - (int)g_utf8_strlen (what, -1);
  g_autofree char *first = g_strdup_printf ("  %s%*s ", what, MAX (gap, 0), "");
  wsi_text_wrap (text, first, words, 18);
}

static void
add_overtravel (GString *text, const WsQuantity *q)
{
  if (!g_str_has_suffix (q->name, "_mm"))
  {
    add_row (
      text, _ ("Overtravel"),
      _ ("1/16 to 1/8 inch past the point of cut-off (common practice); without a scale nobody "
         "knows what is left of it"));
    return;
  }
  const double left = OVERTRAVEL_LEAST_MM - q->value;
  g_autofree char *words = g_strdup_printf (_ ("%.2f to %.2f mm past the point of cut-off (1/16 to "
                                               "1/8 inch, common practice); of the least, "
                                               "not set out, %.2f mm are left%s"),
                                            OVERTRAVEL_LEAST_MM, OVERTRAVEL_MOST_MM, MAX (left, 0),
                                            left < 0 ? _ (": a tip stays on the part") : "");
  add_row (text, _ ("Overtravel"), words);
}

static void
add_depth (GString *text, const Found *found, const WsQuantity *q)
{
  const WsQuantity *point = known (found, "shorter_at_point");
  g_autofree char *corners = share (q, 1);
  g_autofree char *tip = point != NULL ? share (point, 1) : g_strdup (corners);
  g_autofree char *words =
    g_strdup_printf (_ ("not set out, %s less deep at the full diameter, %s less "
                        "at the point"),
                     corners, tip);
  add_row (text, _ ("Hole depth"), words);
}

static void
add_diameters (GString *text, const WsQuantity *q)
{
  g_autofree char *twice = share (q, 2);
  g_autofree char *words =
    g_strdup_printf (_ ("not set in, all diameters of the part are %s greater: twice that"), twice);
  add_row (text, _ ("Diameters"), words);
}

static void
add_table (GString *text, const Found *found, const WsQuantity *q)
{
  const char *view = found->shots[0].view->name;
  const gboolean from_side = g_str_has_suffix (view, "-side") && !g_str_has_prefix (view, "drill");
  g_string_append (text, _ ("\nWhat hangs on it\n"));
  if (g_str_has_prefix (view, "drill"))
    add_depth (text, found, q);
  if (g_str_has_prefix (view, "blade"))
    add_overtravel (text, q);
  if (g_str_has_prefix (view, "form"))
    add_diameters (text, q);
  const WsQuantity *lower = known (found, "lower");
  g_autofree char *height = lower != NULL ? length (lower) : NULL;
  g_autofree char *low =
    height != NULL ? g_strdup_printf (_ ("the edge is %s lower"), height) : NULL;
  if (!g_str_has_prefix (view, "drill"))
    add_row (text, _ ("Centre height"),
             low != NULL ? low
             : from_side ? _ ("the base isn't seen: measure the edge's height at the machine")
                         : _ ("a picture from the side tells whether the edge is lower"));
}

static void
add_cautions (GString *text)
{
  g_string_append (text, _ ("\nTake care\n"));
  wsi_explain_add (text, "Local safety rules and trained people come first.");
  wsi_explain_add (
    text, "Lock the machine out and let everything come to rest before you reach in; guards back "
          "on before it runs.");
  wsi_explain_add (
    text, "Edges cut: wear what your shop's rules ask for when you set a tool. Run the first part "
          "slowly and measure it.");
}

static char *
text_of (const Found *found)
{
  static const char *const stems[] = { "shorter", "shorter_at_point", "lower" };
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, _ ("What the regrind took off %s (%s)\n"), found->options->tool,
                          found->shots[0].view->name);
  add_shot (text, _ ("before"), &found->shots[0]);
  add_shot (text, _ ("after"), &found->shots[1]);
  for (guint i = 0; i < found->result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (found->result->findings, i);
    g_autofree char *told = wsi_told_text (finding->text);
    wsi_text_wrap (text, "  ", told, 2);
  }
  g_string_append_c (text, '\n');
  for (gsize i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    const WsQuantity *q = known (found, stems[i]);
    g_autofree char *value = q != NULL ? length (q) : NULL;
    if (q != NULL)
      g_string_append_printf (text, "  %s%*s%s\n", _ (q->info->label),
                              MAX (1, 21 - (int)g_utf8_strlen (_ (q->info->label), -1)), "", value);
  }
  const WsQuantity *shorter = known (found, stems[0]);
  if (shorter != NULL)
  {
    g_string_append (text, _ ("\nWhat to do\n"));
    add_setting (text, found, shorter);
    add_table (text, found, shorter);
  }
  add_cautions (text);
  return g_string_free (text, FALSE);
}

/* ---- JSON
 * ------------------------------------------------------------------------------------------- */

static json_t *
budget_json (const WsQuantity *q)
{
  json_t *lines = json_array ();
  for (guint i = 0; i < q->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (q->budget, WsBudgetLine, i);
    json_array_append_new (lines,
                           json_pack ("{s:s, s:s, s:f, s:f}", "name", line->name, "distribution",
                                      ws_distribution_name (line->distribution), "u", line->u,
                                      "sensitivity", line->sensitivity));
  }
  return lines;
}

static char *
json_of (const Found *found)
{
  json_t *quantities = json_object (), *findings = json_array ();
  for (guint i = 0; i < found->result->quantities->len; i++)
  {
    const WsQuantity *q = g_ptr_array_index (found->result->quantities, i);
    json_object_set_new (quantities, q->name,
                         q->known ? json_pack ("{s:f, s:f, s:f, s:o}", "value", q->value, "U", q->U,
                                               "k", q->k, "budget", budget_json (q))
                                  : json_null ());
  }
  for (guint i = 0; i < found->result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (found->result->findings, i);
    json_array_append_new (findings,
                           json_pack ("{s:s, s:s}", "code", finding->code, "text", finding->text));
  }
  const char *reason = ws_result_reason (found->result);
  json_t *all = json_pack (
    "{s:s, s:s, s:s, s:s, s:s?, s:s?, s:o, s:o}", "tool", found->options->tool, "view",
    found->shots[0].view->name, "before", found->shots[0].id, "after", found->shots[1].id, "reason",
    reason, "detail", found->result->detail, "quantities", quantities, "findings", findings);
  char *text = json_dumps (all, JSON_COMPACT | JSON_REAL_PRECISION (10));
  json_decref (all);
  return text;
}

/* ---- The command
 * ---------------------------------------------------------------------------------------- */

/* What would let it be told. */
static const char *
cure_of (WsReference reference)
{
  return reference == WS_REFERENCE_TOOL
           ? _ ("Where tools are put against a stop before the camera, --reference stop compares "
                "by what is fixed to the stop beside the tool, --reference camera by the camera "
                "that stands still.")
           : _ ("Take both pictures with the same stop in view and the tool against it, or set "
                "the tool by a gauge.");
}

static int
show (const Found *found, WsReference reference, WsUnits units)
{
  const WsResult *result = found->result;
  if (found->options->json)
  {
    char *line = json_of (found);
    wsi_say_json (line);
    free (line);
  }
  else if (result->reason != WS_RETAKE_NONE)
  {
    g_autofree char *detail = wsi_told_text (result->detail);
    wsi_say ("No telling what the regrind took off %s: %s.\n%s\n", found->options->tool,
             detail != NULL ? detail : ws_retake_code (result->reason), cure_of (reference));
  }
  else
  {
    g_autofree char *text = text_of (found);
    g_autofree char *shown = wsi_units_sentence (text, units);
    wsi_say ("%s", shown);
  }
  return result->reason != WS_RETAKE_NONE ? WS_EXIT_RETAKE : WS_EXIT_ACCEPT;
}

static int
look (const Options *options, WsArchive *archive, const WsCalibration *calibration, GError **error)
{
  WsRegrindShot shots[2] = { { 0 } };
  WsUnits units;
  const WsRegrindAsked asked = { .tool = options->tool,
                                 .view = options->view,
                                 .before = options->before,
                                 .after = options->after,
                                 .calibration = calibration };
  const WsReference reference =
    (WsReference)wsi_option_word_index (&wsi_check_reference, options->reference, 0);
  const gboolean ok = wsi_config_units (options->units_word, WS_UNITS_MM, &units, error) &&
                      wsi_regrind_find (archive, &asked, shots, error);
  g_autoptr (WsResult) result = ok ? wsi_regrind_measure (shots, reference, error) : NULL;
  const Found found = { options, shots, result };
  const int status = result != NULL ? show (&found, reference, units) : -1;
  for (gsize i = 0; i < G_N_ELEMENTS (shots); i++)
    wsi_regrind_shot_clear (&shots[i]);
  return status;
}

static int
run (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  (void)words;
  if (options->archive == NULL || options->tool == NULL)
  {
    wsi_refuse_usage (&error,
                      "set-out needs --archive DIR and --tool ID: whose pictures to compare");
    return wsi_fail (error);
  }
  g_autoptr (WsArchive) archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, &error);
  WsCalibration *calibration =
    archive != NULL && options->calib != NULL ? ws_calibration_load (options->calib, &error) : NULL;
  const int status = error == NULL ? look (options, archive, calibration, &error) : -1;
  ws_calibration_free (calibration);
  return error == NULL ? status : wsi_fail (error);
}

static const WsOption options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "The archive that has its pictures", NULL },
  { WS_OPTION_TEXT, "tool", 't', G_STRUCT_OFFSET (Options, tool), "ID",
    "The tool that was reground", NULL },
  { WS_OPTION_WORD, "view", 'v', G_STRUCT_OFFSET (Options, view), "VIEW",
    "By this view; by default that of the newest picture", &wsi_check_view },
  { WS_OPTION_WORD, "reference", 'r', G_STRUCT_OFFSET (Options, reference), "BY",
    "What stayed: tool (the part that wasn't ground, by default), stop (what lies beside the tool "
    "and is fixed to the stop it was put against), camera (it and the stop weren't moved)",
    &wsi_check_reference },
  { WS_OPTION_TEXT, "before", 0, G_STRUCT_OFFSET (Options, before), "INSPECTION",
    "The inspection before; by default the newest before the last regrind", NULL },
  { WS_OPTION_TEXT, "after", 0, G_STRUCT_OFFSET (Options, after), "INSPECTION",
    "The inspection after; by default the newest since", NULL },
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (Options, calib), "FILE",
    "The calibration that the pictures were measured by", NULL },
  { WS_OPTION_WORD, "units", 'u', G_STRUCT_OFFSET (Options, units_word), "UNITS",
    "mm, in or both; by default as whetsight.conf says, else mm", &wsi_check_units },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL,
    "Print JSON instead of text", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_explain_set_out = {
  .name = "set-out",
  .summary = "how far a reground tool has to be set out",
  .about =
    "Says how much shorter a tool is after its regrind, by the archive's pictures before and "
    "after, how\nfar to set it out or which spacer to use, and what hangs on it.",
  .exits = "Exit status: 0 told; 3 the pictures don't tell; 64 wrong call, 65 something in the "
           "archive isn't\nright, 66 no such archive, tool or picture.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = run,
};
