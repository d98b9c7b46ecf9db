#include <whetsight/job.h>

#include <stdlib.h>
#include <string.h>

#include <whetsight/checks.h>
#include <whetsight/error.h>

#include "base/language.h"
#include "base/number.h"
#include "base/sha256.h"
#include "image/light.h"
#include "image/room.h"
#include "image/taken.h"
#include "optics/calibration.h"
#include "result/build.h"

#define ID_DIGITS 8

/* A file that can't be decoded still has an identity.  NULL for what isn't a file. */
static char *
file_sha256 (const char *path)
{
  char hex[WS_SHA256_HEX_SIZE];
  char *real = g_file_test (path, G_FILE_TEST_IS_REGULAR) ? realpath (path, NULL) : NULL;
  const gboolean read = real != NULL && wsi_sha256_file (real, NULL, hex);
  free (real);
  return read ? g_strdup (hex) : NULL;
}

static void
append_number (GString *text, double value)
{
  g_autofree char *number = wsi_number_exact (value);
  g_string_append_printf (text, " %s", number);
}

char *
ws_job_settings (const WsJob *job, const char *card_path)
{
  g_autofree char *card = card_path != NULL ? file_sha256 (card_path) : NULL;
  return ws_job_settings_by (job, WS_VERSION, card);
}

char *
ws_job_settings_by (const WsJob *job, const char *version, const char *card_sha256)
{
  char hex[WS_SHA256_HEX_SIZE];
  GString *text = g_string_new (version);
  g_string_append_printf (text, "\n%s\n%s\n%s\n", job->view->name,
                          ws_tool_kind_name (job->card->kind),
                          card_sha256 != NULL ? card_sha256 : "");
  g_string_append_printf (text, "%d", job->optics.has_scale);
  append_number (text, job->optics.mm_per_px);
  append_number (text, job->optics.u_mm_per_px);
  if (job->optics.known_mm > 0)
  {
    append_number (text, job->optics.known_mm);
    append_number (text, job->optics.u_known_mm);
  }
  append_number (text, job->optics.lens_distortion);
  append_number (text, job->optics.lean_max);
  g_string_append_printf (text, " %d", job->optics.has_fixture);
  append_number (text, job->optics.fixture);
  append_number (text, job->optics.u_fixture);
  if (job->told != 0)
    g_string_append_printf (text, "\ntone %d", (int)job->told);
  if (job->use.calibration != NULL)
    g_string_append_printf (text, "\n%s", job->use.calibration->sha256);
  wsi_sha256_hex (text->str, text->len, hex);
  g_string_free (text, TRUE);
  return g_strdup (hex);
}

gboolean
ws_job_use_calibration (WsJob *job, WsCalibration *calibration, const char *path, GError **error)
{
  static const char *const names[] = {
    [WS_CHECKED_NEVER] = N_ ("never"),
    [WS_CHECKED_PASSED] = N_ ("passed"),
    [WS_CHECKED_FAILED] = N_ ("failed"),
  };
  WsCheckState state;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  if (!ws_checks_load_state (path, calibration->id, &state, error))
    return FALSE;
  job->use = (WsCalibrationUse){ .calibration = calibration,
                                 .expired = ws_calibration_expired (calibration, now),
                                 .check = names[state.state] };
  g_strlcpy (job->use.check_time, state.time, sizeof job->use.check_time);
  job->optics = ws_optics_of_lens (&calibration->lens);
  return TRUE;
}

#define CHECK_DUE N_ ("due")

void
ws_job_hold_until_checked (WsJob *job)
{
  if (!g_str_equal (job->use.check, "failed"))
    job->use.check = CHECK_DUE;
}

/* ---- Measuring -------------------------------------------------------------------- */

void
ws_outcome_free (WsOutcome *outcome)
{
  if (outcome == NULL)
    return;
  g_clear_error (&outcome->error);
  g_free (outcome->text);
  g_free (outcome->record);
  g_free (outcome->skipped);
  g_clear_pointer (&outcome->annotated, g_bytes_unref);
  g_clear_pointer (&outcome->original, g_bytes_unref);
  g_clear_pointer (&outcome->others, g_ptr_array_unref);
  g_free (outcome);
}

static void
fail (WsOutcome *outcome, GError *error)
{
  outcome->verdict = WS_VERDICT_NONE;
  outcome->error = error;
}

/* For the archive; what is too large to be read is too large to be kept. */
static void
keep_original (const WsJob *job, const char *image_path, WsOutcome *outcome)
{
  gsize n_bytes;
  char *bytes;
  GError *error = NULL;
  if (!(job->wants & WS_JOB_ORIGINAL) ||
      (outcome->error != NULL && outcome->error->code != WS_ERROR_DATA))
    return;
  if (g_file_get_contents (image_path, &bytes, &n_bytes, &error))
    outcome->original = g_bytes_new_take (bytes, n_bytes);
  else if (outcome->error == NULL)
    fail (outcome, g_error_new (WS_ERROR, WS_ERROR_NO_INPUT, "%s", error->message));
  g_clear_error (&error);
}

#define WANTS_WORDS (WS_JOB_TEXT | WS_JOB_LINE | WS_JOB_DETAILS | WS_JOB_PICTURE)

/* NULL when none was asked for. */
static char *
text_of (const WsJob *job, const WsReport *report)
{
  if (job->wants & WS_JOB_LINE)
    return ws_report_line (report);
  if (job->wants & WS_JOB_DETAILS)
    return ws_report_text (report, WS_TEXT_DETAILS);
  return job->wants & WS_JOB_TEXT ? ws_report_text (report, WS_TEXT_SCREEN) : NULL;
}

/* What people read: written in their units and language, which the record knows nothing of. `image`
 * is NULL when there was none to draw on. */
static void
write_outputs (const WsJob *job, const WsReport *report, const WsImage *image, WsResult *result,
               WsOutcome *outcome)
{
  GError *error = NULL;
  if (image == NULL || !(job->wants & WANTS_WORDS))
    return;
  ws_report_show_in (result, job->units);
  outcome->text = text_of (job, report);
  if (job->wants & WS_JOB_PICTURE)
    outcome->annotated = ws_report_picture (report, image, &error);
  if (error != NULL)
    fail (outcome, error);
}

/* What came of a picture, and the scale that it was measured by. */
typedef struct
{
  WsResult *result;
  const WsOptics *optics;
  const WsImage *image;        /* to draw on; NULL when there is none */
  const WsReportImage *images; /* of a series, else NULL */
  guint n_images;
  guint place; /* of the picture in it */
} Measured;

/* What the record calls a picture.  Free with g_free(). */
static char *
name_of (const WsJob *job, guint place, const char *path)
{
  return job->names != NULL ? g_strdup (job->names[place]) : g_path_get_basename (path);
}

/* NULL where nobody told it. */
static const char *
tone_word (WsImageFlags told)
{
  if (told & WS_IMAGE_TOLD_LINEAR)
    return "linear";
  return told & WS_IMAGE_TOLD_SRGB ? "srgb" : NULL;
}

/* Completes the report with a name and a time of its own. */
static void
report_on (const WsJob *job, const Measured *measured, const char *image_path, const char *sha256,
           WsOutcome *outcome)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *stamp = g_date_time_format (now, "%Y%m%dT%H%M%SZ");
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  /* The last part tells apart what many take of one picture within a second. */
  g_autofree char *id =
    g_strdup_printf ("%s-%.*s-%06x", stamp, ID_DIGITS, sha256 != NULL ? sha256 : "00000000",
                     g_random_int () & 0xFFFFFFU);
  g_autofree char *name = name_of (job, measured->place, image_path);
  WsReport report = {
    .id = id,
    .time = time,
    .measured_by = job->measured_by,
    .machine = job->machine,
    .tone_told = tone_word (job->told),
    .length_mm = job->length_mm,
    .u_length_mm = job->u_length_mm,
    .image_name = name,
    .image_sha256 = sha256,
    .image_width = measured->image != NULL ? measured->image->width : 0,
    .image_height = measured->image != NULL ? measured->image->height : 0,
    .images = measured->images,
    .n_images = measured->n_images,
    .card = job->card,
    .optics = measured->optics,
    .calibration = job->use.calibration != NULL ? &job->use : NULL,
    .result = measured->result,
    .units = job->units,
  };
  report.record = outcome->record = ws_report_record (&report);
  write_outputs (job, &report, measured->image, measured->result, outcome);
}

/* What is wrong with a file, by the name that the record has. */
static void
call_by_name (const WsJob *job, const char *path, GError *error)
{
  g_autofree char *prefix = g_strconcat (path, ":", NULL);
  if (job->names == NULL || !g_str_has_prefix (error->message, prefix))
    return;
  char *message = g_strconcat (job->names[0], error->message + strlen (path), NULL);
  g_free (error->message);
  error->message = message;
}

/* The file is there but is no picture we can use: told on standard error, and recorded. */
static void
record_unusable (const WsJob *job, const char *image_path, GError *error, WsOutcome *outcome)
{
  call_by_name (job, image_path, error);
  gboolean too_large = g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE);
  g_autoptr (WsResult) result = wsi_result_new (job->view->name);
  wsi_result_retake (result, too_large ? WS_RETAKE_TOO_LARGE : WS_RETAKE_NOT_AN_IMAGE, "%s",
                     error->message);
  fail (outcome, error);
  if (ws_error_exit_status (error) != WS_ERROR_DATA)
    return;
  g_autofree char *sha256 = file_sha256 (image_path);
  const Measured measured = { .result = result, .optics = &job->optics };
  report_on (job, &measured, image_path, sha256, outcome);
  keep_original (job, image_path, outcome);
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

/* NULL when it is no picture we can use. */
static WsImage *
load (const WsJob *job, const char *path, WsImageFlags more, GError **error)
{
  const WsImageFlags confined = job->confined ? WS_IMAGE_CONFINED : WS_IMAGE_GREY;
  g_autoptr (WsImage) image =
    ws_image_load (path, &job->limits, job->view->needs | job->told | confined | more, error);
  return image != NULL && wsi_image_check_room (image, path, error) ? g_steal_pointer (&image)
                                                                    : NULL;
}

/* Of the calibration's camera, and taken as the bench has it. */
static gboolean
fits_camera (const WsJob *job, const WsImage *image, const char *path, GError **error)
{
  if ((job->use.calibration == NULL ||
       ws_calibration_fits_picture (job->use.calibration, image, error)) &&
      (job->taken == NULL || wsi_taken_check (job->taken, image->taken, "the bench", error)))
    return TRUE;
  g_prefix_error (error, "%s: ", path);
  return FALSE;
}

static WsOptics
optics_of (const WsJob *job)
{
  WsOptics optics = job->optics;
  optics.is_doubted = job->use.calibration != NULL && g_str_equal (job->use.check, "failed") &&
                      !job->use.check_ignored;
  optics.is_unchecked = job->use.calibration != NULL && g_str_equal (job->use.check, CHECK_DUE);
  return optics;
}

/* A picture before that can't be read any more keeps nobody from measuring this one. */
static void
tell_set_out (const WsJob *job, const WsImage *image, const WsOptics *optics, WsResult *result)
{
  if (job->before == NULL || !ws_set_out_sees (job->view))
    return;
  g_autoptr (WsImage) before =
    ws_image_load (job->before->path, &job->limits,
                   WS_IMAGE_GREY | job->told | (job->confined ? WS_IMAGE_CONFINED : 0), NULL);
  if (before == NULL)
    return;
  const WsSetOutPicture pictures[2] = { { before, &job->before->optics }, { image, optics } };
  g_autoptr (WsResult) set_out =
    ws_set_out_measure (job->view, &pictures[0], &pictures[1], job->before->reference);
  ws_set_out_tell (set_out, job->before->since, result);
}

static void
measure (const WsJob *job, const char *image_path, WsOutcome *outcome)
{
  GError *error = NULL;
  /* All of it is drawn. */
  const WsImageFlags sparse = job->wants & WS_JOB_PICTURE ? WS_IMAGE_GREY : WSI_IMAGE_SPARSE;
  g_autoptr (WsImage) image = load (job, image_path, sparse, &error);
  if (image == NULL)
  {
    record_unusable (job, image_path, error, outcome);
    return;
  }
  if (!fits_camera (job, image, image_path, &error))
  {
    fail (outcome, error);
    return;
  }

  WsOptics optics = optics_of (job);
  g_autoptr (WsResult) result = optics.known_mm > 0
                                  ? ws_measure_by_size (job->view, image, job->card, &optics)
                                  : ws_measure (job->view, image, job->card, &optics);
  tell_set_out (job, image, &optics, result);
  if (wsi_image_is_lost (image))
  {
    wsi_image_set_lost (image, image_path, &error);
    fail (outcome, error);
    return;
  }
  outcome->verdict = result->verdict;
  outcome->reason = ws_result_reason (result);
  g_autoptr (WsImage) coloured = in_colour (result, image);
  const Measured measured = { .result = result,
                              .optics = &optics,
                              .image = coloured != NULL ? coloured : image };
  report_on (job, &measured, image_path, image->sha256, outcome);
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

/* ---- Series -------------------------------------------------------------------------- */

typedef struct
{
  const WsJob *job;
  char *const *paths;
  guint n;
  WsReportImage *images;
  char **names, **sums; /* own what `images` borrows */
} Series;

static void
series_init (const WsJob *job, char *const *paths, Series *series)
{
  const guint n = g_strv_length ((char **)paths);
  *series = (Series){
    job, paths, n, g_new0 (WsReportImage, n), g_new0 (char *, n + 1), g_new0 (char *, n + 1)
  };
  for (guint i = 0; i < n; i++)
  {
    series->names[i] = name_of (job, i, paths[i]);
    series->images[i].name = series->names[i];
  }
}

static void
series_clear (Series *series)
{
  g_free (series->images);
  for (guint i = 0; i < series->n; i++)
  {
    g_free (series->names[i]);
    g_free (series->sums[i]);
  }
  g_free (series->names);
  g_free (series->sums);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Series, series_clear)

static WsImage *
load_one (const WsJob *job, const char *path, GError **error)
{
  g_autoptr (WsImage) image = load (job, path, WS_IMAGE_GREY, error);
  return image != NULL && fits_camera (job, image, path, error) ? g_steal_pointer (&image) : NULL;
}

/* Checked as single pictures are; all are as large, or they aren't of one camera. */
static WsImage *
next_of_series (guint i, gpointer data, GError **error)
{
  Series *series = data;
  WsImage *image = load_one (series->job, series->paths[i], error);
  if (image == NULL)
    return NULL;
  WsReportImage *of = &series->images[i];
  g_free (series->sums[i]);
  series->sums[i] = g_strdup (image->sha256);
  of->sha256 = series->sums[i];
  of->width = image->width;
  of->height = image->height;
  if (of->width == series->images[0].width && of->height == series->images[0].height)
    return image;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: %u x %u px, the first picture of the series has %u x %u; name pictures of one "
               "camera",
               series->paths[i], of->width, of->height, series->images[0].width,
               series->images[0].height);
  ws_image_free (image);
  return NULL;
}

static void
keep_others (const Series *series, guint shown, WsOutcome *outcome)
{
  if (!(series->job->wants & WS_JOB_ORIGINAL))
    return;
  outcome->others = g_ptr_array_new_with_free_func ((GDestroyNotify)g_bytes_unref);
  for (guint i = 0; i < series->n; i++)
  {
    gsize n_bytes;
    char *bytes;
    GError *error = NULL;
    if (i == shown)
      continue;
    if (g_file_get_contents (series->paths[i], &bytes, &n_bytes, &error))
      g_ptr_array_add (outcome->others, g_bytes_new_take (bytes, n_bytes));
    else if (outcome->error == NULL)
      fail (outcome, g_error_new (WS_ERROR, WS_ERROR_NO_INPUT, "%s", error->message));
    g_clear_error (&error);
  }
}

WsOutcome *
ws_job_measure_series (const WsJob *job, char *const *paths)
{
  g_auto (Series) series;
  WsOutcome *outcome = g_new0 (WsOutcome, 1);
  GError *error = NULL;
  series_init (job, paths, &series);
  WsOptics optics = optics_of (job);
  g_autoptr (WsResult) result =
    ws_measure_series (job->view, series.n, next_of_series, &series, job->card, &optics, &error);
  const guint shown = result != NULL ? result->shown : 0;
  g_autoptr (WsImage) image = result != NULL ? load_one (job, paths[shown], &error) : NULL;
  if (image == NULL)
  {
    fail (outcome, error);
    return outcome;
  }
  outcome->verdict = result->verdict;
  outcome->reason = ws_result_reason (result);
  const Measured measured = { result, &optics, image, series.images, series.n, shown };
  report_on (job, &measured, paths[shown], image->sha256, outcome);
  keep_original (job, paths[shown], outcome);
  keep_others (&series, shown, outcome);
  return outcome;
}

/* ---- With an archive ---------------------------------------------------------------- */

gboolean
ws_job_store (WsArchive *archive, const WsOutcome *outcome, const WsJobNotes *notes,
              guint64 *number, GError **error)
{
  g_autoptr (WsInspection) inspection = g_new0 (WsInspection, 1);
  inspection->record = g_strdup (outcome->record);
  inspection->settings = g_strdup (notes->settings);
  inspection->station = g_strdup (notes->station);
  inspection->grinder = g_strdup (notes->grinder);
  inspection->reground = notes->reground;
  const WsPictures pictures = { outcome->original, outcome->annotated, outcome->others };
  if (!ws_archive_store (archive, inspection, &pictures, error))
    return FALSE;
  if (number != NULL)
    *number = inspection->number;
  return TRUE;
}

static gboolean
note_stored (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  if (inspection->image != NULL)
    g_hash_table_insert (data, g_strdup (inspection->image), g_strdup (inspection->id));
  return TRUE;
}

GHashTable *
ws_job_stored (WsArchive *archive, const char *settings, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.settings = settings;
  g_autoptr (GHashTable) stored = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  return ws_archive_each (archive, &filter, FALSE, note_stored, stored, error)
           ? g_steal_pointer (&stored)
           : NULL;
}
