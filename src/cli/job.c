#include "cli/job.h"

#include <stdio.h>
#include <string.h>

#include "cli/verbs.h"

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

static int
print (const WsJob *job, const WsReport *report)
{
  g_autofree char *words = job->json ? ws_report_record (report) : ws_report_text (report);
  if (printf ("%s\n", words) >= 0 && fflush (stdout) == 0)
    return WS_EXIT_ACCEPT;
  return ws_fail (
    g_error_new_literal (WS_ERROR, WS_ERROR_CANT_WRITE, "can't write to standard output"));
}

static gboolean
save_record (const WsJob *job, const WsReport *report, const char *image_path, GError **error)
{
  g_autofree char *path = ws_job_record_path (job, image_path);
  g_autofree char *record = ws_report_record (report);
  g_autofree char *line = g_strconcat (record, "\n", NULL);
  return ws_report_save (path, line, strlen (line), error);
}

static gboolean
save_picture (const WsJob *job, const WsReport *report, const WsImage *image,
              const char *image_path, GError **error)
{
  g_autofree char *path = ws_job_picture_path (job, image_path);
  g_autoptr (GBytes) png = ws_report_picture (report, image, error);
  return png != NULL &&
         ws_report_save (path, g_bytes_get_data (png, NULL), g_bytes_get_size (png), error);
}

/* `image` is NULL when there was none to draw on. */
static int
save (const WsJob *job, const WsReport *report, const WsImage *image, const char *image_path)
{
  GError *error = NULL;
  if (job->out == NULL)
    return WS_EXIT_ACCEPT;
  if (!save_record (job, report, image_path, &error) ||
      (image != NULL && !save_picture (job, report, image, image_path, &error)))
    return ws_fail (error);
  return WS_EXIT_ACCEPT;
}

/* Errors outrank verdicts, and both statuses are ordered within. */
static int
deliver (const WsJob *job, const WsReport *report, const WsImage *image, const char *image_path)
{
  gboolean unreadable_as_text = image == NULL && !job->json;
  const int printed = unreadable_as_text ? WS_EXIT_ACCEPT : print (job, report);
  const int saved = save (job, report, image, image_path);
  return MAX (printed, saved);
}

/* Completes the report with a name and a time of its own. */
static int
report_on (const WsJob *job, const WsResult *result, const WsImage *image, const char *image_path,
           const char *sha256)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *stamp = g_date_time_format (now, "%Y%m%dT%H%M%SZ");
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autofree char *id =
    g_strdup_printf ("%s-%.*s", stamp, ID_DIGITS, sha256 != NULL ? sha256 : "00000000");
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
  return deliver (job, &report, image, image_path);
}

/* The file is there but is no picture we can use: told on standard error, and recorded. */
static int
run_unusable (const WsJob *job, const char *image_path, GError *error)
{
  gboolean too_large = g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE);
  g_autoptr (WsResult) result = ws_result_new (job->view->name);
  ws_result_retake (result, too_large ? WS_RETAKE_TOO_LARGE : WS_RETAKE_NOT_AN_IMAGE, "%s",
                    error->message);
  int status = ws_fail (error);
  if (status != WS_ERROR_DATA)
    return status;
  g_autofree char *sha256 = file_sha256 (image_path);
  const int reported = report_on (job, result, NULL, image_path, sha256);
  return MAX (status, reported);
}

static gboolean
check_counts (const WsJob *job)
{
  return job->use.calibration != NULL && g_str_equal (job->use.check, "failed") &&
         !job->use.check_ignored;
}

int
ws_job_run (const WsJob *job, const char *image_path)
{
  GError *error = NULL;
  g_autoptr (WsImage) image = ws_image_load (image_path, &job->limits, job->view->needs, &error);
  if (image == NULL)
    return run_unusable (job, image_path, error);
  if (job->use.calibration != NULL &&
      !ws_calibration_fits (job->use.calibration, image->width, image->height, &error))
  {
    g_prefix_error (&error, "%s: ", image_path);
    return ws_fail (error);
  }

  g_autoptr (WsResult) result = ws_measure (job->view, image, job->card, &job->optics);
  if (check_counts (job))
    ws_verdicts_withhold (result, "calibration-check-failed",
                          "The calibration failed its last check, so nothing can be accepted with "
                          "it until a check passes: see whetsight verify.");
  int delivered = report_on (job, result, image, image_path, image->sha256);
  return delivered != WS_EXIT_ACCEPT ? delivered : exit_status (result->verdict);
}
