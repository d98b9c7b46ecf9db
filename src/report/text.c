#include <string.h>

#include <whetsight/report.h>

#include "base/language.h"
#include "base/number.h"
#include "base/shown.h"
#include "optics/calibration.h"
#include "report/text_table.h"
#include "report/words.h"

/* What is seen at once on the smallest of terminals: 24 lines of 80, less the prompt. */
#define SCREEN_LINES 23
#define RULE 79

/* ---- What comes first ----------------------------------------------------------------- */

/* Letters apart and ruled off, so that the verdict is what the eye meets first, and beside it the
 * tool that it is about. */
static void
append_verdict (GString *text, const WsReport *report)
{
  g_autofree char *tool = wsi_words_tool (report);
  GString *line = g_string_new ("==== ");
  for (const char *c = _ (wsi_words_verdict (report->result->verdict)); *c != '\0';
       c = g_utf8_next_char (c))
    g_string_append_printf (line, "%.*s ", (int)(g_utf8_next_char (c) - c), c);
  g_string_append_printf (line, "==== %s ====", tool);
  for (glong n = g_utf8_strlen (line->str, -1); n < RULE; n++)
    g_string_append_c (line, '=');
  g_string_append_printf (text, "%s\n", line->str);
  g_string_free (line, TRUE);
}

static void
append_reason (GString *text, const WsReport *report)
{
  g_autofree char *action = wsi_words_action (report);
  wsi_text_wrap (text, "", action, 0);
  if (report->result->detail != NULL)
    wsi_text_wrap (text, _ ("Seen: "), report->result->detail, 2);
}

/* Which picture, when, and what a reader must know of the camera. */
static void
append_picture (GString *text, const WsReport *report)
{
  g_autofree char *time = wsi_words_time (report);
  g_autofree char *name = wsi_shown (report->image_name);
  const WsCalibrationUse *use = report->calibration;
  const gboolean no_scale =
    report->image_width > 0 && (report->optics == NULL || !report->optics->has_scale);
  g_autofree char *words = g_strdup_printf (
    "%s, %s, %s%s%s%s", name, report->result->view, time, no_scale ? _ (", no scale") : "",
    use != NULL && use->expired ? _ (", calibration EXPIRED") : "",
    use != NULL && use->check_ignored ? _ (", failed check not counted") : "");
  wsi_text_wrap (text, _ ("Picture: "), words, 2);
}

static void
append_list (GString *text, const char *title, const GPtrArray *lines)
{
  if (lines->len > 0)
    g_string_append_printf (text, "%s\n", title);
  for (guint i = 0; i < lines->len; i++)
    wsi_text_wrap (text, "- ", g_ptr_array_index (lines, i), 2);
}

/* In one paragraph. */
static void
append_cautions (GString *text, const GPtrArray *cautions)
{
  GString *words = g_string_new (NULL);
  for (guint i = 0; i < cautions->len; i++)
    g_string_append_printf (words, "%s%s", i > 0 ? " " : "",
                            (const char *)g_ptr_array_index (cautions, i));
  if (words->len > 0)
    wsi_text_wrap (text, _ ("Take care: "), words->str, 2);
  g_string_free (words, TRUE);
}

static guint
count_lines (const GString *text)
{
  guint n = 0;
  for (const char *at = text->str; (at = strchr (at, '\n')) != NULL; at++)
    n++;
  return n;
}

/* In one line, without the rest, where what is wrong with the tool would find no room else. */
static void
append_cautions_fitting (GString *text, const WsResult *result)
{
  const char *care = _ (wsi_words_care (result));
  const gsize before = text->len;
  append_cautions (text, result->cautions);
  if (care == NULL || count_lines (text) + wsi_text_table_least (result) <= SCREEN_LINES)
    return;
  g_string_truncate (text, before);
  wsi_text_wrap (text, "", care, 2);
}

/* ---- How it was measured -------------------------------------------------------------- */

static void
append_known_size (GString *text, const WsOptics *optics, const char *scale, const char *u)
{
  g_autofree char *size =
    wsi_number_format (optics->known_mm, wsi_number_places (optics->u_known_mm));
  g_string_append_printf (
    text,
    _ ("Scale     %s mm a pixel, standard uncertainty %s, from the tool's own "
       "size, %s mm\n"),
    scale, u, size);
}

static void
append_scale (GString *text, const WsOptics *optics)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  char u[G_ASCII_DTOSTR_BUF_SIZE];
  if (optics == NULL || !optics->has_scale)
  {
    const gboolean unseen = optics != NULL && optics->known_mm > 0;
    g_string_append_printf (text, _ ("Scale     %s; lengths in px\n"),
                            unseen ? _ ("none: the size that was given wasn't seen")
                                   : _ ("none given"));
    return;
  }
  g_ascii_formatd (scale, sizeof scale, "%.7g", optics->mm_per_px);
  g_ascii_formatd (u, sizeof u, "%.2g", optics->u_mm_per_px);
  if (optics->known_mm > 0)
    append_known_size (text, optics, scale, u);
  else if (optics->u_mm_per_px > 0.0)
    g_string_append_printf (text, _ ("Scale     %s mm a pixel, standard uncertainty %s\n"), scale,
                            u);
  else
    g_string_append_printf (text, _ ("Scale     %s mm a pixel, taken as exact\n"), scale);
}

static void
append_camera (GString *text, const WsReport *report)
{
  const WsCalibrationUse *use = report->calibration;
  if (use == NULL)
  {
    g_string_append_printf (
      text, _ ("Camera    not calibrated: %s\n"),
      report->result->perspective_undone
        ? _ ("the lens is not corrected; perspective is, by the tool's outline")
        : _ ("lens and perspective are not corrected"));
    return;
  }
  const WsCalibration *calibration = use->calibration;
  g_autofree char *expires =
    calibration->expires == NULL ? NULL : g_date_time_format (calibration->expires, "%Y-%m-%d");
  g_string_append_printf (text, _ ("Camera    %s, calibration %s"), calibration->camera,
                          calibration->id);
  if (use->expired)
    g_string_append_printf (text, _ (", EXPIRED %s"), expires);
  else if (expires != NULL)
    g_string_append_printf (text, _ (", valid until %s"), expires);
  g_string_append_c (text, '\n');
  g_autofree char *check_time = wsi_words_local_time (use->check_time);
  if (use->check_time[0] != '\0')
    g_string_append_printf (text, _ ("Check     %s %s%s\n"), use->check, check_time,
                            use->check_ignored ? _ (", not counted") : "");
  else
    g_string_append (text, _ ("Check     never; see whetsight verify\n"));
}

static void
append_fixture (GString *text, const WsOptics *optics)
{
  if (optics == NULL || !optics->has_fixture)
    return;
  g_autofree char *direction = wsi_number_format (optics->fixture * 180 / G_PI, 2);
  g_autofree char *u = wsi_number_format (optics->u_fixture * 180 / G_PI, 3);
  g_string_append_printf (text, _ ("Fixture   bodies point to %s°, standard uncertainty %s°\n"),
                          direction, u);
}

static void
append_measured (GString *text, const WsReport *report)
{
  g_autofree char *name = wsi_shown (report->image_name);
  g_autofree char *time = wsi_words_time (report);
  g_string_append_printf (text, _ ("\nPicture   %s"), name);
  if (report->image_width > 0)
    g_string_append_printf (text, " (%u x %u px)", report->image_width, report->image_height);
  g_string_append_printf (text, _ ("\nView      %s\n"), report->result->view);
  if (report->image_width > 0)
  {
    append_scale (text, report->optics);
    append_camera (text, report);
    append_fixture (text, report->optics);
  }
  g_string_append_printf (text, _ ("Measured  %s\nRecord    %s\n"), time, report->id);
}

static void
append_findings (GString *text, const WsResult *result)
{
  gboolean is_first = TRUE;
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (wsi_words_is_in_table (finding->code))
      continue;
    if (is_first)
      g_string_append (text, _ ("\nWhat was found:\n"));
    is_first = FALSE;
    wsi_text_wrap (text, "- ", finding->text, 2);
  }
}

/* ---- Outputs -------------------------------------------------------------------------- */

char *
ws_report_text (const WsReport *report, WsTextLength length)
{
  const WsResult *result = report->result;
  GString *text = g_string_new (NULL);

  append_verdict (text, report);
  append_reason (text, report);
  append_picture (text, report);
  append_list (text, _ ("What to do:"), result->advice);
  if (length == WS_TEXT_SCREEN)
    append_cautions_fitting (text, result);
  else
    append_cautions (text, result->cautions);
  if (length == WS_TEXT_DETAILS)
  {
    if (result->quantities->len > 0)
      wsi_text_table (text, report);
    append_findings (text, result);
    append_measured (text, report);
  }
  else if (result->quantities->len > 0)
    wsi_text_table_fitting (text, report, SCREEN_LINES - MIN (SCREEN_LINES, count_lines (text)));
  return g_string_free (text, FALSE);
}

/* "out-of-focus, edge blur 14 px" of a retake, whose sentence is too long for a line. */
static char *
short_reason (const WsReport *report)
{
  const WsResult *result = report->result;
  if (result->verdict != WS_VERDICT_RETAKE)
    return wsi_words_reason (report);
  return g_strdup_printf ("%s%s%s", ws_retake_code (result->reason),
                          result->detail != NULL ? ", " : "",
                          result->detail != NULL ? result->detail : "");
}

char *
ws_report_line (const WsReport *report)
{
  const char *verdict = ws_verdict_name (report->result->verdict);
  g_autofree char *name = wsi_shown (report->image_name);
  g_autofree char *reason = short_reason (report);
  return g_strdup_printf ("%-9s  %s: %s", verdict != NULL ? _ (verdict) : _ ("no limits"), name,
                          reason);
}
