#include "report/study.h"

#include <jansson.h>
#include <math.h>

#include "base/language.h"
#include "base/number.h"
#include "report/text_table.h"

/* "Study variation" spans so many standard deviations: 99.73 % of normal values (common practice;
 * older studies take 5.15). */
#define STUDY_SPAN 6.0

/* Parts of a tolerance, per cent, that a gauge may take for itself: up to the first it is fit,
 * beyond the second it isn't (AIAG, Measurement Systems Analysis, 4th ed. 2010, recalled from
 * memory). */
#define FIT 10.0
#define UNFIT 30.0

/* Classes that it takes to see a process move (likewise). */
#define ENOUGH_CATEGORIES 5

static const char *const sources[WS_STUDY_N_SOURCES] = {
  [WS_STUDY_PART] = N_ ("parts"),
  [WS_STUDY_OPERATOR] = N_ ("operators"),
  [WS_STUDY_INTERACTION] = N_ ("operators by part"),
  [WS_STUDY_REPEATABILITY] = N_ ("repeatability"),
  [WS_STUDY_TOTAL] = N_ ("everything"),
};

/* What is tested first comes first. */
static const WsStudySource tested[] = { WS_STUDY_INTERACTION, WS_STUDY_OPERATOR, WS_STUDY_PART,
                                        WS_STUDY_REPEATABILITY, WS_STUDY_TOTAL };

/* In the order in which they add up. */
static const struct
{
  WsStudyComponent component;
  const char *name;
} components[] = {
  { WS_STUDY_V_REPEATABILITY, N_ ("repeatability") },
  { WS_STUDY_V_OPERATOR, N_ ("operators") },
  { WS_STUDY_V_INTERACTION, N_ ("operators by part") },
  { WS_STUDY_REPRODUCIBILITY, N_ ("  both: reproducibility") },
  { WS_STUDY_GAUGE, N_ ("  all of these: gauge") },
  { WS_STUDY_V_PART, N_ ("parts") },
  { WS_STUDY_V_TOTAL, N_ ("  gauge and parts") },
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

/* ---- In plain words --------------------------------------------------------------------- */

static double
gauge_span (const WsStudy *study)
{
  return STUDY_SPAN * sqrt (study->variance[WS_STUDY_GAUGE]);
}

/* Repeated values that are all the same, but for the rounding of sums, were rounded more coarsely
 * than the gauge scatters: that is no proof that it doesn't. */
gboolean
wsi_study_repeats_exactly (const WsStudy *study)
{
  return sqrt (study->variance[WS_STUDY_V_REPEATABILITY]) <= 1e-12 * fabs (study->mean);
}

/* Is it fit for this tolerance? */
static void
append_answer (GString *text, const WsStudy *study, double tolerance)
{
  const double span = gauge_span (study), percent = 100.0 * span / tolerance;
  char width[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd (width, sizeof width, "%.12g", tolerance);
  g_autofree char *six = wsi_number_format (span, wsi_number_places (span));
  g_autofree char *share =
    wsi_number_format (tolerance > 0.0 ? percent : study->percent_study[WS_STUDY_GAUGE], 1);
  g_autofree char *answer =
    tolerance > 0.0
      ? g_strdup_printf (_ ("This gauge is %s for a tolerance of %s: its own scatter, six standard "
                            "deviations, is %s and takes %s %% of it. Up to %.0f %% is fit, beyond "
                            "%.0f %% isn't."),
                         percent <= FIT     ? _ ("fit")
                         : percent <= UNFIT ? _ ("fit with care only")
                                            : _ ("not fit"),
                         width, six, share, FIT, UNFIT)
      : g_strdup_printf (
          _ ("Whether this gauge is fit depends on the tolerance: give its width with "
             "--tolerance. Its own scatter, six standard deviations, is %s, and its "
             "standard deviation %s %% of that of all values."),
          six, share);
  wsi_text_wrap (
    text, "",
    wsi_study_repeats_exactly (study)
      ? _ ("Nothing can be said of this gauge: values that were repeated are all the "
           "same, so they were rounded more coarsely than it scatters, or copied. Measure "
           "again and write more digits.")
      : answer,
    0);
}

static void
append_classes (GString *text, const WsStudy *study)
{
  static const char *const wanted = N_ ("; to see a process move takes 5");
  if (study->categories <= 1)
    g_string_append_printf (text, _ ("It can't tell these parts from one another%s.\n"),
                            _ (wanted));
  else
    g_string_append_printf (text, _ ("It tells %u classes of these parts apart%s.\n"),
                            study->categories,
                            study->categories < ENOUGH_CATEGORIES ? _ (wanted) : "");
}

/* Where to begin, and what the gauge can tell apart. */
static void
append_remarks (GString *text, const WsStudy *study)
{
  const gboolean repeats =
    study->variance[WS_STUDY_V_REPEATABILITY] >= study->variance[WS_STUDY_REPRODUCIBILITY];
  if (!wsi_study_repeats_exactly (study))
    g_string_append (text, repeats
                             ? _ ("Most of it comes back when nothing is changed: see to fixture, "
                                  "light and focus first.\n")
                             : _ ("Most of it lies between operators: agree first on how a part is "
                                  "placed and lit.\n"));
  if (!wsi_study_repeats_exactly (study))
    append_classes (text, study);
  g_string_append_printf (text, _ ("\nStudied: %u parts, each by %u operators, %u times each.\n"),
                          study->parts, study->operators, study->trials);
}

/* ---- Where scatter comes from ------------------------------------------------------------- */

static void
append_components (GString *text, const WsStudy *study, double tolerance)
{
  g_string_append_printf (text, "\n%-24s %10s %10s%s %10s %10s\n", _ ("Scatter of"), "sd", "6 sd",
                          tolerance > 0.0 ? _ (" % of toler.") : "", "% of sd", "% of sd²");
  for (gsize i = 0; i < G_N_ELEMENTS (components); i++)
  {
    const WsStudyComponent which = components[i].component;
    const double sd = sqrt (study->variance[which]);
    g_string_append_printf (text, "%-24s", _ (components[i].name));
    append_number (text, "%.5g", 10, sd);
    append_number (text, "%.5g", 10, STUDY_SPAN * sd);
    if (tolerance > 0.0)
      append_number (text, "%.2f", 11, 100.0 * STUDY_SPAN * sd / tolerance);
    append_number (text, "%.2f", 10, study->percent_study[which]);
    append_number (text, "%.2f", 10, study->percent_contribution[which]);
    g_string_append_c (text, '\n');
  }
  g_string_append (text, _ ("What adds up is sd², not sd. What comes out below 0 is set to 0.\n"));
}

/* ---- What may be chance ------------------------------------------------------------------- */

static void
append_line (GString *text, const char *name, const WsStudyLine *line)
{
  g_string_append_printf (text, "%-24s", name);
  append_number (text, "%.3g", 10, line->p);
  append_number (text, "%.4g", 10, line->f);
  append_number (text, "%.6g", 12, line->ms);
  g_string_append_printf (text, " %8u", line->df);
  append_number (text, "%.6g", 12, line->ss);
  g_string_append_c (text, '\n');
}

static void
append_head (GString *text, const char *what)
{
  g_string_append_printf (text, "\n%-24s %10s %10s %12s %8s %12s\n", what, "p", "F",
                          _ ("mean square"), "df", _ ("sum of sq."));
}

static void
append_tests (GString *text, const WsStudy *study)
{
  append_head (text, _ ("By chance?"));
  for (gsize i = 0; i < G_N_ELEMENTS (tested); i++)
    append_line (text, _ (sources[tested[i]]), &study->anova[tested[i]]);
}

static void
append_pooling (GString *text, const WsStudy *study, double pool)
{
  char threshold[32];
  g_ascii_formatd (threshold, sizeof threshold, "%g", pool);
  g_string_append_printf (
    text,
    _ ("\nOperators by part count as repeatability where their p is above %s; it "
       "%s.\n"),
    threshold, study->pooled ? _ ("is") : _ ("isn't"));
  if (!study->pooled)
    return;
  append_head (text, _ ("By chance, then?"));
  for (int i = WS_STUDY_OPERATOR; i >= WS_STUDY_PART; i--)
  {
    WsStudyLine line = study->anova[i];
    line.f = study->pooled_f[i];
    line.p = study->pooled_p[i];
    append_line (text, _ (sources[i]), &line);
  }
  const WsStudyLine rest = { study->pooled_ms * study->pooled_df, study->pooled_df,
                             study->pooled_ms, NAN, NAN };
  append_line (text, _ ("repeatability"), &rest);
}

char *
ws_study_text (const WsStudy *study, double pool, double tolerance)
{
  GString *text = g_string_new (NULL);
  append_answer (text, study, tolerance);
  append_remarks (text, study);
  append_components (text, study, tolerance);
  append_tests (text, study);
  append_pooling (text, study, pool);
  return g_string_free (text, FALSE);
}

/* ---- JSON --------------------------------------------------------------------------------- */

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
