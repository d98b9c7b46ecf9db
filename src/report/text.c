#include <math.h>
#include <string.h>

#include <whetsight/report.h>

#include "optics/calibration.h"
#include "report/words.h"

#define WRAP 78
#define MIN_RULE 20

enum
{
  COLUMN_LABEL,
  COLUMN_VALUE,
  COLUMN_UNCERTAINTY,
  COLUMN_UNIT,
  COLUMN_LIMITS,
  COLUMN_INSIDE,
  COLUMN_VERDICT,
  N_COLUMNS
};

typedef char *Row[N_COLUMNS];

static void
row_clear (gpointer data)
{
  char **row = data;
  for (int i = 0; i < N_COLUMNS; i++)
    g_free (row[i]);
}

static void
append_spaces (GString *text, glong n)
{
  for (glong i = 0; i < n; i++)
    g_string_append_c (text, ' ');
}

/* Letters apart and ruled off, so that the verdict is what the eye meets first. */
static void
append_verdict (GString *text, const WsReport *report)
{
  GString *spaced = g_string_new (NULL);
  for (const char *c = wsi_words_verdict (report->result->verdict); *c != '\0'; c++)
    g_string_append_printf (spaced, "%s%c", spaced->len > 0 ? " " : "", *c);

  if (wsi_words_scope (report) != NULL)
    g_string_append_printf (spaced, "  (%s)", wsi_words_scope (report));
  g_autofree char *rule = g_strnfill (MAX (spaced->len + 8, MIN_RULE), '=');
  g_string_append_printf (text, "%s\n    %s\n%s\n", rule, spaced->str, rule);
  g_string_free (spaced, TRUE);
}

/* Breaks `words` at spaces; lines after the first start with `indent` spaces. */
static void
append_wrapped (GString *text, const char *first, const char *words, glong indent)
{
  g_auto (GStrv) parts = g_strsplit (words, " ", -1);
  glong column = g_utf8_strlen (first, -1);
  g_string_append (text, first);
  for (gsize i = 0; parts[i] != NULL; i++)
  {
    glong length = g_utf8_strlen (parts[i], -1);
    if (i > 0 && column + 1 + length > WRAP)
    {
      g_string_append_c (text, '\n');
      append_spaces (text, indent);
      column = indent;
    }
    else if (i > 0)
    {
      g_string_append_c (text, ' ');
      column++;
    }
    g_string_append (text, parts[i]);
    column += length;
  }
  g_string_append_c (text, '\n');
}

static void
append_scale (GString *text, const WsOptics *optics)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  char u[G_ASCII_DTOSTR_BUF_SIZE];
  if (optics == NULL || !optics->has_scale)
  {
    g_string_append (text, "Scale     none given; lengths in px\n");
    return;
  }
  g_ascii_formatd (scale, sizeof scale, "%.7g", optics->mm_per_px);
  g_ascii_formatd (u, sizeof u, "%.2g", optics->u_mm_per_px);
  if (optics->u_mm_per_px > 0.0)
    g_string_append_printf (text, "Scale     %s mm a pixel, standard uncertainty %s\n", scale, u);
  else
    g_string_append_printf (text, "Scale     %s mm a pixel, taken as exact\n", scale);
}

static void
append_camera (GString *text, const WsReport *report)
{
  const WsCalibrationUse *use = report->calibration;
  if (use == NULL)
  {
    g_string_append_printf (text, "Camera    not calibrated: %s\n",
                            report->result->perspective_undone
                              ? "the lens is not corrected; perspective is, by the tool's outline"
                              : "lens and perspective are not corrected");
    return;
  }
  const WsCalibration *calibration = use->calibration;
  g_autofree char *expires =
    calibration->expires == NULL ? NULL : g_date_time_format (calibration->expires, "%Y-%m-%d");
  g_string_append_printf (text, "Camera    %s, calibration %s", calibration->camera,
                          calibration->id);
  if (use->expired)
    g_string_append_printf (text, ", EXPIRED %s", expires);
  else if (expires != NULL)
    g_string_append_printf (text, ", valid until %s", expires);
  g_string_append_c (text, '\n');
  if (use->check_time[0] != '\0')
    g_string_append_printf (text, "Check     %s %s%s\n", use->check, use->check_time,
                            use->check_ignored ? ", not counted" : "");
  else
    g_string_append (text, "Check     never; see whetsight verify\n");
}

static void
append_heading (GString *text, const WsReport *report)
{
  g_autofree char *tool = wsi_words_tool (report);
  g_autofree char *time = wsi_words_time (report);
  g_autofree char *name = g_utf8_make_valid (report->image_name, -1);

  g_string_append_printf (text, "\nTool      %s\nPicture   %s", tool, name);
  if (report->image_width > 0)
    g_string_append_printf (text, " (%u x %u px)", report->image_width, report->image_height);
  g_string_append_printf (text, "\nView      %s\n", report->result->view);
  if (report->image_width > 0)
  {
    append_scale (text, report->optics);
    append_camera (text, report);
  }
  g_string_append_printf (text, "Measured  %s\nRecord    %s\n", time, report->id);
}

/* The number of the footnote for a built-in limit's source. */
static guint
footnote (GPtrArray *sources, const char *source)
{
  guint index;
  if (!g_ptr_array_find_with_equal_func (sources, source, g_str_equal, &index))
  {
    index = sources->len;
    g_ptr_array_add (sources, (gpointer)source);
  }
  return index + 1;
}

static char *
limits_cell (const WsQuantity *quantity, GPtrArray *sources)
{
  char *limits = wsi_words_limits (quantity);
  if (*limits == '\0' && quantity->limit_source != NULL)
  {
    g_free (limits);
    return g_strdup ("on the card");
  }
  if (!wsi_words_is_built_in (quantity))
    return limits;
  char *noted = g_strdup_printf ("%s [%u]", limits, footnote (sources, quantity->limit_source));
  g_free (limits);
  return noted;
}

static void
append_row (GArray *rows, const WsQuantity *quantity, GPtrArray *sources)
{
  const char *verdict = ws_verdict_name (quantity->verdict);
  char *value = wsi_words_value (quantity);
  char *uncertainty = wsi_words_uncertainty (quantity);
  Row row = {
    [COLUMN_LABEL] = g_strdup (quantity->info->label),
    [COLUMN_VALUE] = value != NULL ? value : g_strdup ("unknown"),
    [COLUMN_UNCERTAINTY] = uncertainty != NULL ? uncertainty : g_strdup (""),
    [COLUMN_UNIT] = g_strdup (wsi_words_unit (quantity)),
    [COLUMN_LIMITS] = limits_cell (quantity, sources),
    [COLUMN_INSIDE] = wsi_words_conformance (quantity),
    [COLUMN_VERDICT] = g_strdup (verdict != NULL ? verdict : "-"),
  };
  g_array_append_val (rows, row);
}

static GArray *
table_of (const WsResult *result, GPtrArray *sources)
{
  GArray *rows = g_array_new (FALSE, FALSE, sizeof (Row));
  g_array_set_clear_func (rows, row_clear);
  Row head = { g_strdup ("Quantity"), g_strdup ("Value"),  g_strdup ("± U"),    g_strdup ("Unit"),
               g_strdup ("Limits"),   g_strdup ("Inside"), g_strdup ("Verdict") };
  g_array_append_val (rows, head);
  for (guint i = 0; i < result->quantities->len; i++)
    append_row (rows, g_ptr_array_index (result->quantities, i), sources);
  return rows;
}

static void
measure_columns (const GArray *rows, glong widths[N_COLUMNS])
{
  for (guint i = 0; i < rows->len; i++)
    for (int column = 0; column < N_COLUMNS; column++)
    {
      glong width = g_utf8_strlen (g_array_index (rows, Row, i)[column], -1);
      widths[column] = MAX (widths[column], width);
    }
}

static void
append_cells (GString *text, const Row row, const glong widths[N_COLUMNS])
{
  for (int column = 0; column < N_COLUMNS; column++)
  {
    gboolean right =
      column == COLUMN_VALUE || column == COLUMN_UNCERTAINTY || column == COLUMN_INSIDE;
    glong pad = widths[column] - g_utf8_strlen (row[column], -1);
    append_spaces (text, (column > 0 ? 2 : 0) + (right ? pad : 0));
    g_string_append (text, row[column]);
    if (!right && column + 1 < N_COLUMNS)
      append_spaces (text, pad);
  }
  g_string_append_c (text, '\n');
}

static void
append_sources (GString *text, const GPtrArray *sources, const WsReport *report)
{
  g_string_append (text,
                   "U is the expanded uncertainty, k = 2. Inside is the probability that the true\n"
                   "value lies inside the limits (JCGM 106).\n");
  if (sources->len == 0)
    return;
  g_autofree char *origin =
    g_strdup_printf ("Limits with a number are not %s. They are built in for a %s:",
                     report->card->id != NULL ? "on the tool card" : "from a tool card",
                     ws_tool_kind_name (report->card->kind));
  append_wrapped (text, "", origin, 0);
  for (guint i = 0; i < sources->len; i++)
    g_string_append_printf (text, "  [%u] %s\n", i + 1,
                            (const char *)g_ptr_array_index (sources, i));
}

static void
append_table (GString *text, const WsReport *report)
{
  glong widths[N_COLUMNS] = { 0 };
  g_autoptr (GPtrArray) sources = g_ptr_array_new ();
  g_autoptr (GArray) rows = table_of (report->result, sources);

  measure_columns (rows, widths);
  g_string_append_c (text, '\n');
  for (guint i = 0; i < rows->len; i++)
    append_cells (text, g_array_index (rows, Row, i), widths);
  append_sources (text, sources, report);
}

static void
append_findings (GString *text, const WsResult *result)
{
  if (result->findings->len > 0)
    g_string_append (text, "\nWhat was found\n");
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    append_wrapped (text, "  - ", finding->text, 4);
  }
}

static void
append_list (GString *text, const char *title, const GPtrArray *lines)
{
  if (lines->len > 0)
    g_string_append_printf (text, "\n%s\n", title);
  for (guint i = 0; i < lines->len; i++)
    append_wrapped (text, "  - ", g_ptr_array_index (lines, i), 4);
}

char *
ws_report_text (const WsReport *report)
{
  const WsResult *result = report->result;
  GString *text = g_string_new (NULL);

  append_verdict (text, report);
  append_wrapped (text, "", wsi_words_meaning (report), 0);
  if (result->detail != NULL)
    append_wrapped (text, "Seen: ", result->detail, 6);
  append_heading (text, report);
  if (result->quantities->len > 0)
    append_table (text, report);
  append_findings (text, result);
  append_list (text, "What to do", result->advice);
  append_list (text, "Take care", result->cautions);
  return g_string_free (text, FALSE);
}
