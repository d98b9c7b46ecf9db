/* Sorts what the program says of a shot. */
#include "hard_judge.h"

#include <math.h>
#include <string.h>

static double
number (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

/* Reasons for no verdict that leave the numbers alone: they are as good as any. */
static gboolean
is_of_limits (const char *reason)
{
  static const char *const plain[] = { "not-judged", "not-seen", "not-compared",
                                       "near-limit", "damage",   NULL };
  return reason == NULL || g_strv_contains (plain, reason);
}

/* A verdict that the truth contradicts. */
static gboolean
is_false (const json_t *quantity, double truth)
{
  const double lower = number (quantity, "lower"), upper = number (quantity, "upper");
  const char *verdict = trial_text (quantity, "verdict");
  const gboolean inside =
    !(isfinite (lower) && truth < lower) && !(isfinite (upper) && truth > upper);
  return (g_strcmp0 (verdict, "accept") == 0 && !inside) ||
         (g_strcmp0 (verdict, "reject") == 0 && inside);
}

static void
note (HardOutcome *outcome, const HardShot *shot, const char *name, const json_t *quantity,
      double error)
{
  const double unit = g_str_has_suffix (name, "_mm") ? shot->mm_per_px : 1.0;
  const double numbers[] = { error / unit, number (quantity, "U") / unit,
                             trial_U_without_setting (quantity) / unit };
  if (outcome->numbers == NULL)
    outcome->numbers = g_string_new (NULL);
  g_string_append (outcome->numbers, name);
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
  {
    char text[G_ASCII_DTOSTR_BUF_SIZE];
    g_string_append_printf (outcome->numbers, ",%s",
                            g_ascii_formatd (text, sizeof text, "%.6g", numbers[i]));
  }
  g_string_append_c (outcome->numbers, '\n');
}

/* Compares all numbers; what is wrong with the worst, or NULL. */
static char *
compare (const HardShot *shot, const TrialRun *run, HardOutcome *outcome)
{
  const char *name;
  json_t *truth, *quantities = json_object_get (run->record, "quantities");
  double worst = HARD_CHANCE;
  char *what = NULL;
  json_object_foreach (shot->truth, name, truth)
  {
    const json_t *quantity = json_object_get (quantities, name);
    const double expected = json_number_value (truth);
    const double value = number (quantity, "value"), U = number (quantity, "U");
    if (!isfinite (value) || !isfinite (U))
      continue;
    const double ratio = fabs (value - expected) / MAX (U, 1e-9);
    outcome->n++;
    note (outcome, shot, name, quantity, value - expected);
    outcome->n_covered += ratio <= 1.0;
    if (ratio > 1.0 && is_false (quantity, expected))
      worst = MIN (worst, 1.0);
    if (ratio <= worst)
      continue;
    worst = ratio;
    g_free (what);
    what = g_strdup_printf ("%s %.5f +- %.5f, in truth %.5f (%.1f U%s)", name, value, U, expected,
                            ratio, is_false (quantity, expected) ? ", verdict false" : "");
  }
  return what;
}

/* An accepted tool with something unknown that truth has outside its limits. */
static char *
missed (const HardShot *shot, const TrialRun *run)
{
  const char *name;
  json_t *truth;
  json_object_foreach (shot->truth, name, truth)
  {
    const json_t *quantity = json_object_get (json_object_get (run->record, "quantities"), name);
    if (quantity == NULL || isfinite (number (quantity, "value")))
      continue;
    const double upper = number (quantity, "upper"), lower = number (quantity, "lower");
    const double expected = json_number_value (truth);
    if ((isfinite (upper) && expected > upper) || (isfinite (lower) && expected < lower))
      return g_strdup_printf ("%s unknown and accepted, in truth %.5f", name, expected);
  }
  return NULL;
}

static char *
words (const TrialRun *run)
{
  const char *reason = trial_text (run->record, "reason");
  const char *detail = trial_text (run->record, "detail");
  return g_strdup_printf ("%s%s%s%s%s", trial_text (run->record, "verdict"),
                          reason != NULL ? ", " : "", reason != NULL ? reason : "",
                          detail != NULL ? ": " : "", detail != NULL ? detail : "");
}

static HardOutcome
judge_true (const HardShot *shot, const TrialRun *run, gboolean accepted, gboolean decided)
{
  HardOutcome outcome = { .sort = decided ? HARD_JUDGED : HARD_UNDECIDED };
  outcome.what = compare (shot, run, &outcome);
  const char *reason = trial_text (run->record, "reason");
  outcome.held = !decided && !is_of_limits (reason);
  if (outcome.what != NULL)
    outcome.sort = outcome.held ? HARD_DOUBTFUL : HARD_WRONG;
  else if (accepted && (outcome.what = missed (shot, run)) != NULL)
    outcome.sort = HARD_WRONG;
  if (outcome.what == NULL)
    outcome.what = words (run);
  return outcome;
}

HardOutcome
hard_judge (const HardShot *shot, const TrialRun *run)
{
  if (run->record == NULL)
    return (HardOutcome){ .sort = run->status >= 64 && run->status < 80 && *run->errors != '\0'
                                    ? HARD_REFUSED
                                    : HARD_FAILED,
                          .what = g_strdup_printf ("status %d, %s", run->status, run->errors) };
  if (trial_is_retake (run))
    return (HardOutcome){ .sort = HARD_REFUSED, .what = words (run) };
  const char *verdict = trial_text (run->record, "verdict");
  const gboolean accepted = g_strcmp0 (verdict, "accept") == 0;
  const gboolean decided = accepted || g_strcmp0 (verdict, "reject") == 0;
  if (shot->expected == HARD_TRUE)
    return judge_true (shot, run, accepted, decided);
  HardOutcome outcome = { .sort = decided ? HARD_JUDGED : HARD_UNDECIDED, .what = words (run) };
  if ((shot->expected == HARD_NOT_ACCEPTED && accepted) ||
      (shot->expected == HARD_NOT_JUDGED && decided))
    outcome.sort = HARD_WRONG;
  return outcome;
}
