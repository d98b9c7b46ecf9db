/* Errors against truth, summed up. */
#include "trial.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const names[TRIAL_N_QUANTITIES] = {
  "point_angle_deg",
  "half_angle_a_deg",
  "half_angle_b_deg",
  "half_angle_difference_deg",
  "lip_length_a_mm",
  "lip_length_b_mm",
  "lip_length_difference_mm",
  "lip_height_difference_mm",
  "point_offset_mm",
  "diameter_mm",
  "point_length_mm",
  "corner_wear_a_mm",
  "corner_wear_b_mm",
  "lip_straightness_a_mm",
  "lip_straightness_b_mm",
  "chisel_flat_mm",
  "chip_depth_a_mm",
  "chip_depth_b_mm",
  "view_turn_deg",
  "side_rake_deg",
  "side_clearance_mean_deg",
  "side_clearance_left_deg",
  "side_clearance_right_deg",
  "edge_width_mm",
  "leading_corner_advance_mm",
  "corner_radius_left_mm",
  "corner_radius_right_mm",
  "edge_straightness_mm",
  "chip_depth_mm",
  "front_relief_deg",
  "top_rake_deg",
  "tip_height_mm",
  "lip_relief_deg",
  "chisel_edge_angle_deg",
  "chisel_edge_length_mm",
  "web_thickness_mm",
  "margin_width_mm",
  "wear_land_mean_mm",
  "burn_depth_max_mm",
  "segment_N_angle_deg",
  "segment_N_radius_mm",
  "segment_N_deviation_mm",
  "profile_turn_deg",
};

const char *
trial_quantity_name (TrialQuantity quantity)
{
  return names[quantity];
}

/* Lines that say what may be wrong where the rendered world is right: how the tool lies, and the
 * lens. */
static gboolean
is_of_the_setting (const char *name)
{
  return strstr (name, "alignment") != NULL || strcmp (name, "unknown lens") == 0;
}

double
trial_U_without_setting (const json_t *quantity)
{
  double squares = 0.0;
  gsize i;
  json_t *line;
  json_array_foreach (json_object_get (quantity, "budget"), i, line)
  {
    const char *name = json_string_value (json_object_get (line, "name"));
    const double contribution = json_number_value (json_object_get (line, "contribution"));
    if (name != NULL && !is_of_the_setting (name))
      squares += contribution * contribution;
  }
  return json_number_value (json_object_get (quantity, "k")) * sqrt (squares);
}

/* What lengths are told in parts of. */
static double
size_of (const json_t *truth)
{
  static const char *const sizes[] = { "diameter_mm", "edge_width_mm", "tip_height_mm" };
  for (gsize i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    const json_t *size = json_object_get (truth, sizes[i]);
    if (json_is_number (size))
      return json_number_value (size);
  }
  return 1.0;
}

static gboolean
error_in (const json_t *record, TrialQuantity quantity, double truth, double unit,
          TrialError *error)
{
  const json_t *found = json_object_get (json_object_get (record, "quantities"), names[quantity]);
  const json_t *value = json_object_get (found, "value");
  if (!json_is_number (value))
    return FALSE;
  error->error = (json_number_value (value) - truth) / unit;
  error->U = json_number_value (json_object_get (found, "U")) / unit;
  error->U_rest = trial_U_without_setting (found) / unit;
  return TRUE;
}

/* NAN when truth doesn't say.  Generators that count both clearances from the centreline tell their
 * mean twice. */
static double
expected_of (const json_t *truth, TrialQuantity quantity)
{
  const json_t *expected = json_object_get (truth, names[quantity]);
  if (json_is_number (expected))
    return json_number_value (expected);
  const json_t *left = json_object_get (truth, names[TRIAL_SIDE_CLEARANCE_LEFT]);
  const json_t *right = json_object_get (truth, names[TRIAL_SIDE_CLEARANCE_RIGHT]);
  if (quantity == TRIAL_SIDE_CLEARANCE_MEAN && json_is_number (left) && json_is_number (right))
    return 0.5 * (json_number_value (left) + json_number_value (right));
  return NAN;
}

gboolean
trial_error (const json_t *record, const json_t *truth, TrialQuantity quantity, TrialError *error)
{
  const double expected = expected_of (truth, quantity);
  const gboolean is_length = g_str_has_suffix (names[quantity], "_mm");
  return isfinite (expected) &&
         error_in (record, quantity, expected, is_length ? size_of (truth) : 1.0, error);
}

TrialTable *
trial_table_new (void)
{
  TrialTable *table = g_new (TrialTable, 1);
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
    table->errors[q] = g_array_new (FALSE, FALSE, sizeof (TrialError));
  return table;
}

void
trial_table_free (TrialTable *table)
{
  if (table == NULL)
    return;
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
    g_array_unref (table->errors[q]);
  g_free (table);
}

gboolean
trial_table_add_one (TrialTable *table, TrialQuantity quantity, const json_t *record, double truth,
                     double unit)
{
  TrialError error;
  if (!error_in (record, quantity, truth, unit, &error))
    return FALSE;
  g_array_append_val (table->errors[quantity], error);
  return TRUE;
}

void
trial_table_add_error (TrialTable *table, TrialQuantity quantity, double error, double U)
{
  const TrialError added = { error, U, U };
  g_array_append_val (table->errors[quantity], added);
}

static gboolean
is_no_chip (const json_t *record, const json_t *truth, const char *name)
{
  const json_t *found = json_object_get (json_object_get (record, "quantities"), name);
  return g_str_has_prefix (name, "chip_depth") &&
         !(json_number_value (json_object_get (found, "value")) > 0.0) &&
         !(json_number_value (json_object_get (truth, name)) > 0.0);
}

void
trial_table_add (TrialTable *table, const json_t *record, const json_t *truth)
{
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
  {
    TrialError error;
    if (!is_no_chip (record, truth, names[q]) &&
        trial_error (record, truth, (TrialQuantity)q, &error))
      g_array_append_val (table->errors[q], error);
  }
}

static int
compare (const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double
median (double *values, guint n)
{
  qsort (values, n, sizeof *values, compare);
  return 0.5 * (values[(n - 1) / 2] + values[n / 2]);
}

TrialSummary
trial_summary (const TrialTable *table, TrialQuantity quantity)
{
  const TrialError *errors = (const TrialError *)(void *)table->errors[quantity]->data;
  TrialSummary s = { .n = table->errors[quantity]->len };
  if (s.n == 0)
    return s;
  g_autofree double *size = g_new (double, s.n);
  g_autofree double *U = g_new (double, s.n);
  g_autofree double *U_rest = g_new (double, s.n);
  for (guint i = 0; i < s.n; i++)
  {
    size[i] = fabs (errors[i].error);
    U[i] = errors[i].U;
    U_rest[i] = errors[i].U_rest;
    s.rms += size[i] * size[i] / s.n;
    s.max = MAX (s.max, size[i]);
    s.coverage += (size[i] <= U[i] ? 1.0 : 0.0) / s.n;
  }
  s.rms = sqrt (s.rms);
  s.median = median (size, s.n);
  s.median_U = median (U, s.n);
  s.median_U_rest = median (U_rest, s.n);
  return s;
}

char *
trial_table_text (const TrialTable *table)
{
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, "%-26s %4s %9s %9s %9s %6s %9s %9s %6s\n", "deg, or parts of size",
                          "n", "RMS", "median", "max", "|e|<=U", "median U", "rest of U", "U/RMS");
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
  {
    const TrialSummary s = trial_summary (table, (TrialQuantity)q);
    if (s.n == 0)
      continue;
    g_string_append_printf (text, "%-26s %4u %9.6f %9.6f %9.6f %5.1f%% %9.6f %9.6f %6.2f\n",
                            names[q], s.n, s.rms, s.median, s.max, 100.0 * s.coverage, s.median_U,
                            s.median_U_rest, s.median_U_rest / MAX (s.rms, 1e-12));
  }
  return g_string_free (text, FALSE);
}
