#include <jansson.h>
#include <math.h>

#include <whetsight/study.h>

/* "Study variation" spans so many standard deviations: 99.73 % of normal values (common practice;
 * older studies take 5.15). */
#define STUDY_SPAN 6.0

static const char *const sources[WS_STUDY_N_SOURCES] = {
  [WS_STUDY_PART] = "part",
  [WS_STUDY_OPERATOR] = "operator",
  [WS_STUDY_INTERACTION] = "part x operator",
  [WS_STUDY_REPEATABILITY] = "repeatability",
  [WS_STUDY_TOTAL] = "total",
};

static const char *const components[WS_STUDY_N_COMPONENTS] = {
  [WS_STUDY_GAUGE] = "gauge (R&R)",
  [WS_STUDY_V_REPEATABILITY] = "  repeatability",
  [WS_STUDY_REPRODUCIBILITY] = "  reproducibility",
  [WS_STUDY_V_OPERATOR] = "    operator",
  [WS_STUDY_V_INTERACTION] = "    part x operator",
  [WS_STUDY_V_PART] = "part to part",
  [WS_STUDY_V_TOTAL] = "total",
};

static const char *const keys[WS_STUDY_N_COMPONENTS] = {
  [WS_STUDY_GAUGE] = "gauge",
  [WS_STUDY_V_REPEATABILITY] = "repeatability",
  [WS_STUDY_REPRODUCIBILITY] = "reproducibility",
  [WS_STUDY_V_OPERATOR] = "operator",
  [WS_STUDY_V_INTERACTION] = "interaction",
  [WS_STUDY_V_PART] = "part",
  [WS_STUDY_V_TOTAL] = "total",
};

static void
append_number (GString *text, const char *format, int width, double value)
{
  char buffer[64] = "";
  if (isfinite (value))
    g_ascii_formatd (buffer, sizeof buffer, format, value);
  g_string_append_printf (text, " %*s", width, buffer);
}

static void
append_line (GString *text, const char *name, const WsStudyLine *line)
{
  g_string_append_printf (text, "%-20s", name);
  append_number (text, "%.6g", 12, line->ss);
  g_string_append_printf (text, " %5u", line->df);
  append_number (text, "%.6g", 12, line->ms);
  append_number (text, "%.4g", 9, line->f);
  append_number (text, "%.3g", 10, line->p);
  g_string_append_c (text, '\n');
}

static void
append_anova (GString *text, const WsStudy *study)
{
  g_string_append_printf (text, "%-20s %12s %5s %12s %9s %10s\n", "Source", "SS", "df", "MS", "F",
                          "p");
  for (int i = 0; i < WS_STUDY_N_SOURCES; i++)
    append_line (text, sources[i], &study->anova[i]);
}

static void
append_pooling (GString *text, const WsStudy *study, double pool)
{
  char threshold[32];
  g_ascii_formatd (threshold, sizeof threshold, "%g", pool);
  if (!study->pooled)
  {
    g_string_append_printf (text,
                            "\nPooling rule: part x operator joins repeatability when its p is "
                            "above %s. It is not;\nthe interaction is kept.\n",
                            threshold);
    return;
  }
  g_string_append_printf (text,
                          "\nPooling rule: part x operator joins repeatability when its p is above "
                          "%s. It is:\n\n",
                          threshold);
  g_string_append_printf (text, "%-20s %12s %5s %12s %9s %10s\n", "Source", "SS", "df", "MS", "F",
                          "p");
  for (int i = WS_STUDY_PART; i <= WS_STUDY_OPERATOR; i++)
  {
    WsStudyLine line = study->anova[i];
    line.f = study->pooled_f[i];
    line.p = study->pooled_p[i];
    append_line (text, sources[i], &line);
  }
  const WsStudyLine rest = { study->pooled_ms * study->pooled_df, study->pooled_df,
                             study->pooled_ms, NAN, NAN };
  append_line (text, "repeatability", &rest);
}

static void
append_components (GString *text, const WsStudy *study, double tolerance)
{
  g_string_append_printf (text, "\n%-20s %12s %12s %12s %9s %9s%s\n", "Component", "variance", "sd",
                          "study (6 sd)", "% contr.", "% study",
                          tolerance > 0.0 ? "  % toler." : "");
  for (int i = 0; i < WS_STUDY_N_COMPONENTS; i++)
  {
    const double sd = sqrt (study->variance[i]);
    g_string_append_printf (text, "%-20s", components[i]);
    append_number (text, "%.6g", 12, study->variance[i]);
    append_number (text, "%.6f", 12, sd);
    append_number (text, "%.6g", 12, STUDY_SPAN * sd);
    append_number (text, "%.2f", 9, study->percent_contribution[i]);
    append_number (text, "%.2f", 9, study->percent_study[i]);
    if (tolerance > 0.0)
      append_number (text, "%.2f", 9, 100.0 * STUDY_SPAN * sd / tolerance);
    g_string_append_c (text, '\n');
  }
}

char *
ws_study_text (const WsStudy *study, double pool, double tolerance)
{
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, "Gauge study, crossed: %u parts x %u operators x %u trials\n\n",
                          study->parts, study->operators, study->trials);
  append_anova (text, study);
  append_pooling (text, study, pool);
  append_components (text, study, tolerance);
  g_string_append_printf (text, "\nDistinct categories: %u (1.41 x part / gauge, cut off)\n",
                          study->categories);
  g_string_append (text, "Variances that come out negative are set to 0.\n");
  return g_string_free (text, FALSE);
}

static json_t *
number (double value)
{
  return isfinite (value) ? json_real (value) : json_null ();
}

static json_t *
line_of (const WsStudyLine *line)
{
  return json_pack ("{s:o, s:i, s:o, s:o, s:o}", "ss", number (line->ss), "df", (int)line->df, "ms",
                    number (line->ms), "f", number (line->f), "p", number (line->p));
}

static json_t *
component_of (const WsStudy *study, int i, double tolerance)
{
  const double sd = sqrt (study->variance[i]);
  return json_pack ("{s:o, s:o, s:o, s:o, s:o}", "variance", number (study->variance[i]), "sd",
                    number (sd), "percent_contribution", number (study->percent_contribution[i]),
                    "percent_study", number (study->percent_study[i]), "percent_tolerance",
                    number (tolerance > 0.0 ? 100.0 * STUDY_SPAN * sd / tolerance : NAN));
}

char *
ws_study_json (const WsStudy *study, double pool, double tolerance)
{
  json_t *anova = json_object ();
  json_t *parts = json_object ();
  static const char *const names[WS_STUDY_N_SOURCES] = { "part", "operator", "interaction",
                                                         "repeatability", "total" };
  for (int i = 0; i < WS_STUDY_N_SOURCES; i++)
    json_object_set_new (anova, names[i], line_of (&study->anova[i]));
  for (int i = 0; i < WS_STUDY_N_COMPONENTS; i++)
    json_object_set_new (parts, keys[i], component_of (study, i, tolerance));
  json_t *root = json_pack (
    "{s:s, s:i, s:i, s:i, s:o, s:o, s:f, s:b, s:o, s:o, s:i}", "study", "crossed", "parts",
    (int)study->parts, "operators", (int)study->operators, "trials", (int)study->trials, "mean",
    number (study->mean), "anova", anova, "pool", pool, "pooled", (int)study->pooled, "pooled_ms",
    number (study->pooled ? study->pooled_ms : NAN), "components", parts, "categories",
    (int)MIN (study->categories, G_MAXINT));
  char *text = json_dumps (root, JSON_REAL_PRECISION (12));
  json_decref (root);
  return text;
}
