#include "gates.h"

#include <math.h>

#define COVERAGE 0.95
#define PADDING 3.0

/* An error so many times the RMS gate, and beyond U, is no chance. */
#define GREATEST 5.0

gboolean
trial_few_scenes (void)
{
  return g_getenv ("WHETSIGHT_FEW_SCENES") != NULL;
}

guint
trial_scenes (guint full, guint few)
{
  return trial_few_scenes () ? few : full;
}

guint
trial_sample (guint large, guint usual, guint few)
{
  return g_getenv ("WHETSIGHT_MANY_SCENES") != NULL ? large : trial_scenes (usual, few);
}

/* Fewer errors than these tell no ratio. */
#define ENOUGH 20

/* An RMS of n errors is itself known to a part in the root of 2 n. */
static double
most_padding (const TrialGate *gate, guint n)
{
  return (gate->padding > 0.0 ? gate->padding : PADDING) * (1.0 + 1.0 / sqrt (2.0 * n));
}

static double
padding_of (const TrialSummary *s)
{
  return s->rms > 0.0 ? s->median_U_rest / s->rms : HUGE_VAL;
}

/* What the quantity misses, or "". */
static const char *
missed (const TrialGate *gate, const TrialSummary *s, const TrialTable *table)
{
  if (s->n == 0)
    return trial_few_scenes () ? "" : "never told";
  for (guint i = 0; i < s->n; i++)
  {
    const TrialError *e = &g_array_index (table->errors[gate->quantity], TrialError, i);
    if (fabs (e->error) > MAX (GREATEST * gate->rms, e->U))
      return "greatest error";
  }
  if (trial_few_scenes ())
    return "";
  if (s->rms > gate->rms)
    return "RMS";
  const double least = gate->coverage > 0.0 ? gate->coverage : COVERAGE;
  if ((1.0 - s->coverage) * s->n > MAX (1.0, (1.0 - least) * s->n) + 1e-6)
    return "coverage";
  if (gate->U > 0.0 && s->median_U > gate->U)
    return "median U";
  return s->n >= ENOUGH && padding_of (s) > most_padding (gate, s->n) ? "U is padded" : "";
}

static const TrialGate *
gate_for (TrialQuantity quantity, const TrialGate *gates, gsize n_gates)
{
  for (gsize i = 0; i < n_gates; i++)
    if (gates[i].quantity == quantity)
      return &gates[i];
  return NULL;
}

gboolean
trial_gates_hold (const char *what, const TrialTable *table, const TrialGate *gates, gsize n_gates)
{
  gboolean hold = TRUE;
  g_autoptr (GString) text = g_string_new (NULL);
  g_string_append_printf (text, "%s\n%-27s %3s  %9s / %-9s %6s  %6s / %-4s %9s\n", what,
                          "deg, or parts of size", "n", "RMS", "gate", "|e|<=U", "U/RMS", "gate",
                          "median U");
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
  {
    const TrialSummary s = trial_summary (table, (TrialQuantity)q);
    const TrialGate *gate = gate_for ((TrialQuantity)q, gates, n_gates);
    if (gate == NULL && s.n == 0)
      continue;
    const char *miss = gate != NULL ? missed (gate, &s, table) : "no gate";
    hold = hold && *miss == '\0';
    g_string_append_printf (text, "%-27s %3u  %9.6f / %-9.6f %5.1f%%  %6.2f / %-4.1f %9.6f %s\n",
                            trial_quantity_name ((TrialQuantity)q), s.n, s.rms,
                            gate != NULL ? gate->rms : NAN, 100.0 * s.coverage, padding_of (&s),
                            gate != NULL && s.n >= ENOUGH ? most_padding (gate, s.n) : NAN,
                            s.median_U, miss);
  }
  if (!hold || g_getenv ("WHETSIGHT_GATES") != NULL)
    g_print ("%s", text->str);
  return hold;
}

char *
trial_gates_short (const TrialTable *table)
{
  GString *text = g_string_new (NULL);
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
  {
    const TrialSummary s = trial_summary (table, (TrialQuantity)q);
    if (s.n == 0)
      continue;
    if (s.coverage < COVERAGE)
      g_string_append_printf (text, "%s: U covers %.1f %% of %u\n",
                              trial_quantity_name ((TrialQuantity)q), 100.0 * s.coverage, s.n);
    if (s.n >= ENOUGH && padding_of (&s) > PADDING)
      g_string_append_printf (text, "%s: U is %.1f times the RMS\n",
                              trial_quantity_name ((TrialQuantity)q), padding_of (&s));
  }
  return g_string_free (text, FALSE);
}
