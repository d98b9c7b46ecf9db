/* Runs the program and checks what a record must hold, whatever the truth. */
#include "trial.h"

#include <math.h>
#include <string.h>
#include <sys/wait.h>

const char *
trial_program (void)
{
  return g_getenv ("WHETSIGHT");
}

static TrialRun *
run_command (char **command)
{
  TrialRun *run = g_new0 (TrialRun, 1);
  g_autofree char *output = NULL;
  int wait_status = 0;
  run->status = -1;
  /* A copy of this process, to close descriptors in, takes long with sanitizers. */
  if (!g_spawn_sync (NULL, command, NULL, G_SPAWN_LEAVE_DESCRIPTORS_OPEN, NULL, NULL, &output,
                     &run->errors, &wait_status, NULL))
    return run;
  if (WIFEXITED (wait_status))
    run->status = WEXITSTATUS (wait_status);
  run->record = json_loads (output, 0, NULL);
  return run;
}

TrialRun *
trial_measure_with (const char *program, const char *view, const char *picture,
                    const char *const *options)
{
  g_autoptr (GPtrArray) command = g_ptr_array_new ();
  const char *const fixed[] = { program, "measure", "--view", view, "--json", picture };
  for (gsize i = 0; i < G_N_ELEMENTS (fixed); i++)
    g_ptr_array_add (command, (gpointer)fixed[i]);
  for (; *options != NULL; options++)
    g_ptr_array_add (command, (gpointer)*options);
  g_ptr_array_add (command, NULL);
  return run_command ((char **)command->pdata);
}

TrialRun *
trial_measure (const char *program, const char *picture, double mm_per_px)
{
  return trial_measure_view (program, "drill-side", picture, mm_per_px);
}

TrialRun *
trial_measure_view (const char *program, const char *view, const char *picture, double mm_per_px)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  const char *options[3] = { NULL };
  if (!isnan (mm_per_px))
  {
    options[0] = "--scale";
    options[1] = g_ascii_dtostr (scale, sizeof scale, mm_per_px);
  }
  return trial_measure_with (program, view, picture, options);
}

char *
trial_references (const char *source, const char *name)
{
  const char *root = g_getenv ("WHETSIGHT_REFERENCES");
  char *folder = root != NULL ? g_build_filename (root, name, NULL)
                              : g_build_filename (source, "..", "shared", name, NULL);
  if (g_file_test (folder, G_FILE_TEST_IS_DIR))
    return folder;
  g_print ("skipped: no reference pictures in %s\n", folder);
  g_free (folder);
  return NULL;
}

void
trial_run_free (TrialRun *run)
{
  if (run == NULL)
    return;
  json_decref (run->record);
  g_free (run->errors);
  g_free (run);
}

const char *
trial_text (const json_t *record, const char *key)
{
  return json_string_value (json_object_get (record, key));
}

gboolean
trial_is_retake (const TrialRun *run)
{
  return run->record == NULL || g_strcmp0 (trial_text (run->record, "verdict"), "retake") == 0;
}

static double
number_of (const json_t *object, const char *key, double missing)
{
  const json_t *number = json_object_get (object, key);
  return json_is_number (number) ? json_number_value (number) : missing;
}

double
trial_value (const json_t *record, const char *quantity)
{
  const json_t *entry = json_object_get (json_object_get (record, "quantities"), quantity);
  return number_of (entry, "value", NAN);
}

/* Worst last, which is also the order of exit statuses but for reject and undecided. */
static const char *const verdicts[] = { "accept", "undecided", "reject", "retake" };
static const int statuses[] = { 0, 2, 1, 3 };

static int
rank_of (const char *verdict)
{
  for (int i = 0; i < (int)G_N_ELEMENTS (verdicts); i++)
    if (g_strcmp0 (verdict, verdicts[i]) == 0)
      return i;
  return -1;
}

/* ISO 14253-1:2017: conformity is proven inside the limits by at least U, nonconformity
 * outside by at least U. */
static const char *
expected_verdict (const json_t *quantity)
{
  const double value = number_of (quantity, "value", NAN), U = number_of (quantity, "U", NAN);
  const double lower = number_of (quantity, "lower", -HUGE_VAL);
  const double upper = number_of (quantity, "upper", HUGE_VAL);
  if (isnan (value) || (isinf (lower) && isinf (upper)))
    return NULL;
  if (value - U >= lower && value + U <= upper)
    return "accept";
  return value + U <= lower || value - U >= upper ? "reject" : "undecided";
}

/* What lets a verdict be undecided whatever the numbers say; what of them it overrules. */
static const struct
{
  const char *reason;
  gboolean accepts, rejects; /* of single quantities */
} holds[] = {
  { "not-judged", FALSE, FALSE },       { "not-seen", FALSE, FALSE },
  { "not-compared", FALSE, FALSE },     { "damage", FALSE, FALSE },
  { "axis-unsure", TRUE, FALSE },       { "card-mismatch", TRUE, TRUE },
  { "calibration-failed", TRUE, TRUE }, { "check-due", TRUE, TRUE },
  { "wire-edge", FALSE, FALSE },        { "dirt", FALSE, FALSE },
  { "lens-bends", TRUE, TRUE },
};

static const char *
held (const char *reason, const char *verdict)
{
  for (gsize i = 0; reason != NULL && i < G_N_ELEMENTS (holds); i++)
    if (g_str_equal (holds[i].reason, reason) &&
        ((holds[i].accepts && g_strcmp0 (verdict, "accept") == 0) ||
         (holds[i].rejects && g_strcmp0 (verdict, "reject") == 0)))
      return "undecided";
  return verdict;
}

static gboolean
is_hold (const char *reason)
{
  for (gsize i = 0; reason != NULL && i < G_N_ELEMENTS (holds); i++)
    if (g_str_equal (holds[i].reason, reason))
      return TRUE;
  return FALSE;
}

/* The worst of the quantities' verdicts as a rank, or -1 with what is `wrong`. */
static int
rank_by_numbers (const TrialRun *run, char **wrong)
{
  int worst = 0;
  const char *name, *reason = trial_text (run->record, "reason");
  json_t *quantity;
  json_object_foreach (json_object_get (run->record, "quantities"), name, quantity)
  {
    const char *verdict = trial_text (quantity, "verdict");
    const char *expected = held (reason, expected_verdict (quantity));
    /* A limit on the card that nobody could check. */
    if (expected == NULL && trial_text (quantity, "limit_source") != NULL)
      expected = "undecided";
    const json_t *least = json_object_get (quantity, "smallest_seen");
    if (least != NULL && !json_is_null (least) && !(number_of (quantity, "smallest_seen", -1) >= 0))
    {
      *wrong = g_strdup_printf ("%s: smallest_seen is neither null nor a number", name);
      return -1;
    }
    if (g_strcmp0 (verdict, expected) != 0)
    {
      *wrong = g_strdup_printf ("%s: %s, but its numbers say %s", name, verdict, expected);
      return -1;
    }
    worst = MAX (worst, rank_of (verdict));
  }
  return worst;
}

static gboolean
has_text (const json_t *list, const char *key, const char *const *texts)
{
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry)
  {
    const char *text = key != NULL ? trial_text (entry, key) : json_string_value (entry);
    for (gsize k = 0; text != NULL && texts[k] != NULL; k++)
      if (key != NULL ? g_str_equal (text, texts[k]) : strstr (text, texts[k]) != NULL)
        return TRUE;
  }
  return FALSE;
}

/* Banner, findings and advice speak with one voice: only a rejected tool is ground, and an accepted
 * one has a card, a scale and no damage. */
static char *
check_one_voice (const TrialRun *run, const char *verdict)
{
  static const char *const grinding[] = { "rind lip", "rind the", "egrind", "rind it", NULL };
  static const char *const damage[] = { "chip",      "corner-worn",      "burn",
                                        "wear-land", "point-off-centre", "side-rubs",
                                        NULL };
  const gboolean ground = has_text (json_object_get (run->record, "advice"), NULL, grinding);
  if (g_str_equal (verdict, "reject") || g_str_equal (verdict, "retake"))
    return NULL;
  if (ground)
    return g_strdup_printf ("%s, but to be ground", verdict);
  const char *reason = trial_text (run->record, "reason");
  if (g_str_equal (verdict, "undecided"))
    return reason == NULL ? g_strdup ("undecided without a reason") : NULL;
  if (reason != NULL)
    return g_strdup_printf ("accept for the reason %s", reason);
  if (has_text (json_object_get (run->record, "findings"), "code", damage))
    return g_strdup ("accept in spite of damage");
  if (trial_text (json_object_get (run->record, "tool"), "id") == NULL)
    return g_strdup ("accept without a card");
  if (json_object_get (run->record, "scale") == NULL ||
      json_is_null (json_object_get (run->record, "scale")))
    return g_strdup ("accept without a scale");
  return NULL;
}

char *
trial_check_verdicts (const TrialRun *run)
{
  if (run->record == NULL)
    return g_strdup_printf ("no record, exit status %d: %s", run->status, run->errors);
  char *wrong = NULL;
  int worst = rank_by_numbers (run, &wrong);
  if (worst < 0)
    return wrong;
  const char *verdict = trial_text (run->record, "verdict");
  if (g_strcmp0 (verdict, "retake") == 0)
    worst = rank_of (verdict);
  else if (worst == 0 && is_hold (trial_text (run->record, "reason")))
    worst = 1;
  else if (worst < 2 && has_text (json_object_get (run->record, "findings"), "code",
                                  (const char *const[]){ "wrong-hand", NULL }))
    worst = 2;
  if (verdict == NULL || rank_of (verdict) != worst)
    return g_strdup_printf ("the tool: %s, but its quantities say %s", verdict, verdicts[worst]);
  if (run->status != statuses[worst])
    return g_strdup_printf ("exit status %d for %s", run->status, verdict);
  return check_one_voice (run, verdict);
}

static gboolean
is_listed (const char *reason, const char *reasons)
{
  g_auto (GStrv) list = g_strsplit (reasons, ",", -1);
  return reason != NULL && g_strv_contains ((const char *const *)list, reason);
}

char *
trial_check_retake (const TrialRun *run, const char *reasons)
{
  const char *reason = trial_text (run->record, "reason");
  const char *verdict = trial_text (run->record, "verdict");
  if (g_strcmp0 (verdict, "retake") != 0)
    return g_strdup_printf ("%s instead of a retake (status %d, %s)", verdict, run->status,
                            run->errors);
  if (run->status != 3)
    return g_strdup_printf ("exit status %d for a retake", run->status);
  if (json_object_size (json_object_get (run->record, "quantities")) != 0)
    return g_strdup ("a retake with numbers");
  if (reason == NULL || (reasons != NULL && !is_listed (reason, reasons)))
    return g_strdup_printf ("%s (%s) instead of %s", reason, trial_text (run->record, "detail"),
                            reasons);
  return NULL;
}

static char *
check_chip (double depth, double truth, double diameter, double mm_per_px)
{
  if (truth <= 0.0)
    return depth > 0.0 ? g_strdup_printf ("invented a chip of %.2f px", depth / mm_per_px) : NULL;
  if (truth < 0.01 * diameter || fabs (depth - truth) <= 0.15 * truth + mm_per_px)
    return NULL;
  return g_strdup_printf ("a chip of %.2f px told as %.2f px", truth / mm_per_px,
                          depth / mm_per_px);
}

char *
trial_check_chips (const json_t *record, const json_t *truth, double mm_per_px)
{
  static const char *const names[] = { "chip_depth_a_mm", "chip_depth_b_mm" };
  const double diameter = number_of (truth, "diameter_mm", NAN);
  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
  {
    char *wrong = check_chip (trial_value (record, names[i]), number_of (truth, names[i], 0.0),
                              diameter, mm_per_px);
    if (wrong != NULL)
      return wrong;
  }
  return NULL;
}

static char *
check_radius (const json_t *record, const json_t *truth, const char *name, double mm_per_px)
{
  const double radius = trial_value (record, name), expected = number_of (truth, name, 0.0);
  if (expected < 8.0 * mm_per_px || fabs (radius - expected) <= 0.15 * expected + mm_per_px)
    return NULL;
  return g_strdup_printf ("%s: %.2f px told as %.2f px", name, expected / mm_per_px,
                          radius / mm_per_px);
}

char *
trial_check_blade (const json_t *record, const json_t *truth, double mm_per_px)
{
  static const char *const radii[] = { "corner_radius_left_mm", "corner_radius_right_mm" };
  const char *hand = trial_text (truth, "hand");
  if (hand == NULL)
    return NULL;
  if (g_strcmp0 (trial_text (record, "hand"), hand) != 0)
    return g_strdup_printf ("hand %s, in truth %s", trial_text (record, "hand"), hand);
  for (gsize i = 0; i < G_N_ELEMENTS (radii); i++)
  {
    char *wrong = check_radius (record, truth, radii[i], mm_per_px);
    if (wrong != NULL)
      return wrong;
  }
  return check_chip (trial_value (record, "chip_depth_mm"), number_of (truth, "chip_depth_mm", 0.0),
                     number_of (truth, "edge_width_mm", NAN), mm_per_px);
}
