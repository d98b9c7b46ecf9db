#include "cli/job.h"

#include <stdio.h>
#include <string.h>

#include "base/number.h"
#include "base/sha256.h"
#include "cli/fail.h"
#include "result/build.h"

#define ID_DIGITS 8
#define BLOCK 65536

char *
ws_job_stem (const char *image_path)
{
  char *stem = g_path_get_basename (image_path);
  char *dot = strrchr (stem, '.');
  if (dot != NULL && dot != stem)
    *dot = '\0';
  return stem;
}

static char *
output_path (const WsJob *job, const char *image_path, const char *suffix)
{
  g_autofree char *stem = ws_job_stem (image_path);
  g_autofree char *name = g_strconcat (stem, suffix, NULL);
  return g_build_filename (job->out, name, NULL);
}

char *
ws_job_picture_path (const WsJob *job, const char *image_path)
{
  return output_path (job, image_path, ".annotated.png");
}

char *
ws_job_record_path (const WsJob *job, const char *image_path)
{
  return output_path (job, image_path, ".record.json");
}

/* A file that can't be decoded still has an identity.  NULL for what isn't a file. */
static char *
file_sha256 (const char *path)
{
  g_autoptr (GChecksum) checksum = g_checksum_new (G_CHECKSUM_SHA256);
  FILE *file = g_file_test (path, G_FILE_TEST_IS_REGULAR) ? fopen (path, "rb") : NULL;
  if (file == NULL)
    return NULL;
  g_autofree guchar *block = g_malloc (BLOCK);
  for (gsize n = fread (block, 1, BLOCK, file); n > 0; n = fread (block, 1, BLOCK, file))
    g_checksum_update (checksum, block, (gssize)n);
  gboolean failed = ferror (file);
  fclose (file);
  return failed ? NULL : g_strdup (g_checksum_get_string (checksum));
}

static int
exit_status (WsVerdict verdict)
{
  switch (verdict)
  {
  case WS_VERDICT_REJECT:
    return WS_EXIT_REJECT;
  case WS_VERDICT_UNDECIDED:
    return WS_EXIT_UNDECIDED;
  case WS_VERDICT_RETAKE:
    return WS_EXIT_RETAKE;
  default:
    return WS_EXIT_ACCEPT;
  }
}

static void
append_number (GString *text, double value)
{
  g_autofree char *number = ws_number_exact (value);
  g_string_append_printf (text, " %s", number);
}

char *
ws_job_settings (const WsJob *job, const char *card_path)
{
  char hex[WS_SHA256_HEX_SIZE];
  g_autofree char *card = card_path != NULL ? file_sha256 (card_path) : NULL;
  GString *text = g_string_new (WS_VERSION);
  g_string_append_printf (text, "\n%s\n%s\n%s\n", job->view->name,
                          ws_tool_kind_name (job->card->kind), card != NULL ? card : "");
  g_string_append_printf (text, "%d", job->optics.has_scale);
  append_number (text, job->optics.mm_per_px);
  append_number (text, job->optics.u_mm_per_px);
  if (job->use.calibration != NULL)
    g_string_append_printf (text, "\n%s", job->use.calibration->sha256);
  ws_sha256_hex (text->str, text->len, hex);
  g_string_free (text, TRUE);
  return g_strdup (hex);
}

/* ---- Measuring -------------------------------------------------------------------- */

void
ws_outcome_free (WsOutcome *outcome)
{
  if (outcome == NULL)
    return;
  g_clear_error (&outcome->error);
  g_free (outcome->words);
  g_free (outcome->record);
  g_free (outcome->skipped);
  g_clear_pointer (&outcome->annotated, g_bytes_unref);
  g_clear_pointer (&outcome->original, g_bytes_unref);
  g_free (outcome);
}

static void
fail (WsOutcome *outcome, GError *error)
{
  outcome->status = ws_error_exit_status (error);
  outcome->error = error;
}

/* For the archive; what is too large to be read is too large to be kept. */
static void
keep_original (const WsJob *job, const char *image_path, WsOutcome *outcome)
{
  gsize n_bytes;
  char *bytes;
  GError *error = NULL;
  if (job->archive == NULL || (outcome->error != NULL && outcome->error->code != WS_ERROR_DATA))
    return;
  if (g_file_get_contents (image_path, &bytes, &n_bytes, &error))
    outcome->original = g_bytes_new_take (bytes, n_bytes);
  else if (outcome->error == NULL)
    fail (outcome, g_error_new (WS_ERROR, WS_ERROR_NO_INPUT, "%s", error->message));
  g_clear_error (&error);
}

/* `image` is NULL when there was none to draw on. */
static void
write_outputs (const WsJob *job, const WsReport *report, const WsImage *image, WsOutcome *outcome)
{
  GError *error = NULL;
  outcome->record = ws_report_record (report);
  if (job->json)
    outcome->words = g_strdup (outcome->record);
  else if (image != NULL)
    outcome->words = ws_report_text (report);
  if (image != NULL && (job->out != NULL || job->archive != NULL))
    outcome->annotated = ws_report_picture (report, image, &error);
  if (error != NULL)
    fail (outcome, error);
}

/* Completes the report with a name and a time of its own. */
static void
report_on (const WsJob *job, const WsResult *result, const WsImage *image, const char *image_path,
           const char *sha256, WsOutcome *outcome)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *stamp = g_date_time_format (now, "%Y%m%dT%H%M%SZ");
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  /* The last part tells apart what many take of one picture within a second. */
  g_autofree char *id =
    g_strdup_printf ("%s-%.*s-%06x", stamp, ID_DIGITS, sha256 != NULL ? sha256 : "00000000",
                     g_random_int () & 0xFFFFFFU);
  g_autofree char *name = g_path_get_basename (image_path);
  WsReport report = {
    .id = id,
    .time = time,
    .image_name = name,
    .image_sha256 = sha256,
    .image_width = image != NULL ? image->width : 0,
    .image_height = image != NULL ? image->height : 0,
    .card = job->card,
    .optics = &job->optics,
    .calibration = job->use.calibration != NULL ? &job->use : NULL,
    .result = result,
  };
  write_outputs (job, &report, image, outcome);
}

/* The file is there but is no picture we can use: told on standard error, and recorded. */
static void
record_unusable (const WsJob *job, const char *image_path, GError *error, WsOutcome *outcome)
{
  gboolean too_large = g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE);
  g_autoptr (WsResult) result = ws_result_new (job->view->name);
  ws_result_retake (result, too_large ? WS_RETAKE_TOO_LARGE : WS_RETAKE_NOT_AN_IMAGE, "%s",
                    error->message);
  fail (outcome, error);
  if (outcome->status != WS_ERROR_DATA)
    return;
  g_autofree char *sha256 = file_sha256 (image_path);
  report_on (job, result, NULL, image_path, sha256, outcome);
  keep_original (job, image_path, outcome);
}

static gboolean
check_counts (const WsJob *job)
{
  return job->use.calibration != NULL && g_str_equal (job->use.check, "failed") &&
         !job->use.check_ignored;
}

/* Whatever was judged by its colour is shown in colour. */
static WsImage *
in_colour (const WsResult *result, const WsImage *image)
{
  for (guint i = 0; i < result->marks->len; i++)
    if (((const WsMark *)g_ptr_array_index (result->marks, i))->role == WS_MARK_BURN)
      return ws_image_in_colour (image);
  return NULL;
}

static void
measure (const WsJob *job, const char *image_path, WsOutcome *outcome)
{
  GError *error = NULL;
  g_autoptr (WsImage) image = ws_image_load (image_path, &job->limits, job->view->needs, &error);
  if (image == NULL)
  {
    record_unusable (job, image_path, error, outcome);
    return;
  }
  if (job->use.calibration != NULL &&
      !ws_calibration_fits (job->use.calibration, image->width, image->height, &error))
  {
    g_prefix_error (&error, "%s: ", image_path);
    fail (outcome, error);
    return;
  }

  g_autoptr (WsResult) result = ws_measure (job->view, image, job->card, &job->optics);
  if (check_counts (job))
    ws_verdicts_withhold (result, "calibration-check-failed",
                          "The calibration failed its last check, so nothing can be accepted with "
                          "it until a check passes: see whetsight verify.");
  outcome->status = exit_status (result->verdict);
  g_autoptr (WsImage) coloured = in_colour (result, image);
  report_on (job, result, coloured != NULL ? coloured : image, image_path, image->sha256, outcome);
  keep_original (job, image_path, outcome);
}

WsOutcome *
ws_job_measure (const WsJob *job, const char *image_path)
{
  WsOutcome *outcome = g_new0 (WsOutcome, 1);
  g_autofree char *sha256 = job->stored != NULL ? file_sha256 (image_path) : NULL;
  if (sha256 != NULL)
    outcome->skipped = g_strdup (g_hash_table_lookup (job->stored, sha256));
  if (outcome->skipped == NULL)
    measure (job, image_path, outcome);
  return outcome;
}

/* ---- Delivering ------------------------------------------------------------------- */

static int
print (const char *words)
{
  if (printf ("%s\n", words) >= 0 && fflush (stdout) == 0)
    return WS_EXIT_ACCEPT;
  return ws_fail (
    g_error_new_literal (WS_ERROR, WS_ERROR_CANT_WRITE, "can't write to standard output"));
}

static int
save (const WsJob *job, const WsOutcome *outcome, const char *image_path)
{
  GError *error = NULL;
  if (job->out == NULL)
    return WS_EXIT_ACCEPT;
  g_autofree char *record_path = ws_job_record_path (job, image_path);
  g_autofree char *picture_path = ws_job_picture_path (job, image_path);
  g_autofree char *line = g_strconcat (outcome->record, "\n", NULL);
  if (!ws_report_save (record_path, line, strlen (line), &error) ||
      (outcome->annotated != NULL &&
       !ws_report_save (picture_path, g_bytes_get_data (outcome->annotated, NULL),
                        g_bytes_get_size (outcome->annotated), &error)))
    return ws_fail (error);
  return WS_EXIT_ACCEPT;
}

/* Before anything is printed, so that what was printed as archived is. */
static int
archive (const WsJob *job, WsOutcome *outcome)
{
  GError *error = NULL;
  if (job->archive == NULL)
    return WS_EXIT_ACCEPT;
  g_autoptr (WsInspection) inspection = g_new0 (WsInspection, 1);
  inspection->record = g_strdup (outcome->record);
  inspection->settings = g_strdup (job->settings);
  inspection->station = g_strdup (job->station);
  inspection->grinder = g_strdup (job->grinder);
  inspection->reground = job->reground;
  const WsPictures pictures = { outcome->original, outcome->annotated };
  if (!ws_archive_store (job->archive, inspection, &pictures, &error))
  {
    g_prefix_error (&error, "not archived: ");
    return ws_fail (error);
  }
  if (outcome->words == NULL || job->json)
    return WS_EXIT_ACCEPT;
  g_autofree char *words = g_steal_pointer (&outcome->words);
  outcome->words = g_strdup_printf ("%s\nArchived  number %" G_GUINT64_FORMAT " in %s\n", words,
                                    inspection->number, ws_archive_folder (job->archive));
  return WS_EXIT_ACCEPT;
}

static int
status_of (const char *verdict)
{
  for (int i = WS_VERDICT_NONE; i <= WS_VERDICT_RETAKE; i++)
    if (g_strcmp0 (verdict, ws_verdict_name ((WsVerdict)i)) == 0)
      return exit_status ((WsVerdict)i);
  return WS_EXIT_ACCEPT;
}

static int
deliver_skipped (const WsJob *job, const char *image_path, const WsOutcome *outcome)
{
  GError *error = NULL;
  g_autoptr (WsInspection) inspection = ws_archive_find (job->archive, outcome->skipped, &error);
  if (inspection == NULL)
    return ws_fail (error);
  g_autofree char *words =
    job->json ? g_strdup (inspection->record)
              : g_strdup_printf ("%s: measured already, %s (%s)", image_path,
                                 inspection->verdict != NULL ? inspection->verdict : "no limits",
                                 inspection->id);
  const int printed = print (words);
  return printed != WS_EXIT_ACCEPT ? printed : status_of (inspection->verdict);
}

int
ws_job_deliver (const WsJob *job, const char *image_path, WsOutcome *outcome)
{
  if (outcome->skipped != NULL)
    return deliver_skipped (job, image_path, outcome);
  if (outcome->error != NULL)
    ws_fail (g_steal_pointer (&outcome->error));
  if (outcome->record == NULL)
    return outcome->status;
  const int archived = archive (job, outcome);
  const int printed = outcome->words != NULL ? print (outcome->words) : WS_EXIT_ACCEPT;
  const int saved = save (job, outcome, image_path);
  /* Errors outrank verdicts, and both statuses are ordered within. */
  const int delivered = MAX (MAX (archived, printed), saved);
  return delivered != WS_EXIT_ACCEPT ? MAX (delivered, outcome->status) : outcome->status;
}
