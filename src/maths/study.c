#include <math.h>

#include <whetsight/error.h>
#include <whetsight/study.h>

#include "maths/f_distribution.h"

/* Distinct categories: the ratio of standard deviations times root 2, which the manual rounds to
 * 1.41 (AIAG MSA, 4th ed.). */
#define CATEGORIES_FACTOR 1.41

typedef struct
{
  const double *values;
  guint parts, operators, trials;
  double mean;
} Design;

static double
mean_of (const double *values, gsize n)
{
  double sum = 0.0;
  for (gsize i = 0; i < n; i++)
    sum += values[i];
  return sum / (double)n;
}

static double
square (double value)
{
  return value * value;
}

static const double *
cell (const Design *design, guint part, guint operator)
{
  return design->values + ((gsize)part * design->operators + operator) * design->trials;
}

static double
ss_parts (const Design *design)
{
  const gsize n = (gsize)design->operators * design->trials;
  double ss = 0.0;
  for (guint part = 0; part < design->parts; part++)
    ss += (double)n * square (mean_of (cell (design, part, 0), n) - design->mean);
  return ss;
}

static double
operator_mean (const Design *design, guint operator)
{
  double sum = 0.0;
  for (guint part = 0; part < design->parts; part++)
    sum += mean_of (cell (design, part, operator), design->trials);
  return sum / design->parts;
}

static double
ss_operators (const Design *design)
{
  double ss = 0.0;
  for (guint operator= 0; operator<design->operators; operator++)
    ss += (double)design->parts * design->trials *
          square (operator_mean (design, operator) - design->mean);
  return ss;
}

/* Of the cells about the sum of their part's and operator's effects: as a sum of squares of its
 * own, since a difference of large sums loses digits. */
static double
ss_interaction (const Design *design)
{
  double ss = 0.0;
  const gsize n = (gsize)design->operators * design->trials;
  for (guint part = 0; part < design->parts; part++)
    for (guint operator= 0; operator<design->operators; operator++)
    {
      const double effects =
        mean_of (cell (design, part, 0), n) + operator_mean (design, operator) - design->mean;
      ss +=
        design->trials * square (mean_of (cell (design, part, operator), design->trials) - effects);
    }
  return ss;
}

static double
ss_repeatability (const Design *design)
{
  double ss = 0.0;
  for (guint part = 0; part < design->parts; part++)
    for (guint operator= 0; operator<design->operators; operator++)
    {
      const double *values = cell (design, part, operator);
      const double mean = mean_of (values, design->trials);
      for (guint trial = 0; trial < design->trials; trial++)
        ss += square (values[trial] - mean);
    }
  return ss;
}

static void
test_line (WsStudyLine *line, double ms, guint df)
{
  line->f = line->ms / ms;
  line->p = wsi_f_tail (line->f, line->df, df);
}

static void
analyse (const Design *design, WsStudy *study)
{
  WsStudyLine *a = study->anova;
  const guint p = design->parts, o = design->operators, r = design->trials;
  a[WS_STUDY_PART] = (WsStudyLine){ .ss = ss_parts (design), .df = p - 1 };
  a[WS_STUDY_OPERATOR] = (WsStudyLine){ .ss = ss_operators (design), .df = o - 1 };
  a[WS_STUDY_INTERACTION] = (WsStudyLine){ .ss = ss_interaction (design), .df = (p - 1) * (o - 1) };
  a[WS_STUDY_REPEATABILITY] =
    (WsStudyLine){ .ss = ss_repeatability (design), .df = p * o * (r - 1) };
  a[WS_STUDY_TOTAL] = (WsStudyLine){ .df = p * o * r - 1 };
  for (int i = 0; i < WS_STUDY_TOTAL; i++)
  {
    a[i].ms = a[i].ss / a[i].df;
    a[WS_STUDY_TOTAL].ss += a[i].ss;
  }
  a[WS_STUDY_TOTAL].ms = a[WS_STUDY_TOTAL].f = a[WS_STUDY_TOTAL].p = NAN;
  a[WS_STUDY_REPEATABILITY].f = a[WS_STUDY_REPEATABILITY].p = NAN;
  test_line (&a[WS_STUDY_INTERACTION], a[WS_STUDY_REPEATABILITY].ms, a[WS_STUDY_REPEATABILITY].df);
  test_line (&a[WS_STUDY_PART], a[WS_STUDY_INTERACTION].ms, a[WS_STUDY_INTERACTION].df);
  test_line (&a[WS_STUDY_OPERATOR], a[WS_STUDY_INTERACTION].ms, a[WS_STUDY_INTERACTION].df);
}

static void
pool_interaction (WsStudy *study)
{
  const WsStudyLine *a = study->anova;
  study->pooled = TRUE;
  study->pooled_df = a[WS_STUDY_INTERACTION].df + a[WS_STUDY_REPEATABILITY].df;
  study->pooled_ms = (a[WS_STUDY_INTERACTION].ss + a[WS_STUDY_REPEATABILITY].ss) / study->pooled_df;
  for (int i = WS_STUDY_PART; i <= WS_STUDY_OPERATOR; i++)
  {
    study->pooled_f[i] = a[i].ms / study->pooled_ms;
    study->pooled_p[i] = wsi_f_tail (study->pooled_f[i], a[i].df, study->pooled_df);
  }
}

/* From the expected mean squares. */
static void
find_variances (WsStudy *study)
{
  const WsStudyLine *a = study->anova;
  double *v = study->variance;
  const double p = study->parts, o = study->operators, r = study->trials;
  const double error = study->pooled ? study->pooled_ms : a[WS_STUDY_REPEATABILITY].ms;
  const double below = study->pooled ? study->pooled_ms : a[WS_STUDY_INTERACTION].ms;
  v[WS_STUDY_V_REPEATABILITY] = error;
  v[WS_STUDY_V_INTERACTION] = fmax (0.0, (below - error) / r);
  v[WS_STUDY_V_OPERATOR] = fmax (0.0, (a[WS_STUDY_OPERATOR].ms - below) / (p * r));
  v[WS_STUDY_V_PART] = fmax (0.0, (a[WS_STUDY_PART].ms - below) / (o * r));
  v[WS_STUDY_REPRODUCIBILITY] = v[WS_STUDY_V_OPERATOR] + v[WS_STUDY_V_INTERACTION];
  v[WS_STUDY_GAUGE] = v[WS_STUDY_V_REPEATABILITY] + v[WS_STUDY_REPRODUCIBILITY];
  v[WS_STUDY_V_TOTAL] = v[WS_STUDY_GAUGE] + v[WS_STUDY_V_PART];
}

static void
compare (WsStudy *study)
{
  const double *v = study->variance;
  const double total = v[WS_STUDY_V_TOTAL];
  for (int i = 0; i < WS_STUDY_N_COMPONENTS; i++)
  {
    study->percent_contribution[i] = total > 0.0 ? 100.0 * v[i] / total : 0.0;
    study->percent_study[i] = total > 0.0 ? 100.0 * sqrt (v[i] / total) : 0.0;
  }
  const double categories = v[WS_STUDY_GAUGE] > 0.0
                              ? CATEGORIES_FACTOR * sqrt (v[WS_STUDY_V_PART] / v[WS_STUDY_GAUGE])
                              : G_MAXUINT;
  study->categories = (guint)fmax (1.0, fmin (floor (categories), G_MAXUINT));
}

gboolean
ws_study_crossed (const double *values, guint parts, guint operators, guint trials, double pool,
                  WsStudy *study, GError **error)
{
  Design design = { values, parts, operators, trials, 0.0 };
  const gsize n = (gsize)parts * operators * trials;
  gboolean finite = TRUE;
  *study = (WsStudy){ .parts = parts, .operators = operators, .trials = trials };
  if (parts < 2 || operators < 2 || trials < 2)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "a study needs two parts, two operators and two trials or more; found %u, %u, %u",
                 parts, operators, trials);
    return FALSE;
  }
  for (gsize i = 0; i < n; i++)
    finite = finite && isfinite (values[i]);
  if (!finite)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "a study needs every value to be a number");
    return FALSE;
  }
  design.mean = study->mean = mean_of (values, n);
  analyse (&design, study);
  if (study->anova[WS_STUDY_INTERACTION].p > pool)
    pool_interaction (study);
  find_variances (study);
  compare (study);
  return TRUE;
}
