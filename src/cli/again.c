#include "cli/again.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/whetsight.h>

#include "archive/pictures.h"
#include "base/language.h"
#include "base/number.h"
#include "cli/fail.h"

#define RECORD_DIGITS 10

void
wsi_again_free (WsAgain *again)
{
  if (again == NULL)
    return;
  char *const texts[] = { again->id,       again->tool,        again->was,
                          again->settings, again->measured_by, again->machine };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_strfreev (again->paths);
  g_strfreev (again->names);
  g_free (again);
}

/* ---- What the record tells ---------------------------------------------------------------- */

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

/* NAN where it doesn't say. */
static double
number_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : (double)NAN;
}

/* A share is recorded, per cent were typed: those that give it again. */
static double
per_cent (double share)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *format = g_strdup_printf ("%%.%dg", RECORD_DIGITS);
  return isnan (share)
           ? share
           : g_ascii_strtod (g_ascii_formatd (text, sizeof text, format, 100 * share), NULL);
}

/* A known size is that of which the view has its own. */
static void
read_scale (const json_t *record, const WsView *view, WsTaskSpec *spec)
{
  const json_t *scale = json_object_get (record, "scale");
  const double known = number_at (scale, "known_size_mm");
  if (isnan (known))
  {
    spec->scale = number_at (scale, "mm_per_px");
    spec->scale_u = number_at (scale, "u_mm_per_px");
    return;
  }
  const gboolean is_width = g_strcmp0 (view->own_size, "edge_width") == 0;
  *(is_width ? &spec->known_width : &spec->known_diameter) = known;
  *(is_width ? &spec->known_width_u : &spec->known_diameter_u) =
    number_at (scale, "u_known_size_mm");
}

static void
read_spec (const json_t *record, const WsView *view, WsTaskSpec *spec)
{
  const json_t *fixture = json_object_get (record, "fixture");
  *spec = (WsTaskSpec){ .view = (char *)view->name,
                        .scale = NAN,
                        .scale_u = NAN,
                        .known_diameter = NAN,
                        .known_diameter_u = NAN,
                        .known_width = NAN,
                        .known_width_u = NAN,
                        .lens_distortion = NAN,
                        .lean_max = number_at (record, "lean_max_deg"),
                        .fixture = number_at (fixture, "direction_deg"),
                        .fixture_u = number_at (fixture, "u_direction_deg"),
                        .allow_expired = FALSE };
  if (json_is_object (json_object_get (record, "calibration")))
    return;
  spec->lens_distortion = per_cent (number_at (record, "lens_distortion"));
  read_scale (record, view, spec);
}

/* As old as the picture: what was valid then doesn't become invalid for it by time passing.  A
 * check that failed since is another matter, since nobody knows from when on it would have. */
static void
set_standing (const json_t *record, WsJob *job)
{
  static const char *const checks[] = { "never", "passed", "failed", "due" };
  const json_t *used = json_object_get (record, "calibration");
  const char *check = text_at (used, "check"), *time = text_at (used, "check_time");
  WsCalibrationUse *use = &job->use;
  if (use->calibration == NULL)
    return;
  use->expired = json_is_true (json_object_get (used, "expired"));
  use->check_ignored = json_is_true (json_object_get (used, "check_ignored"));
  if (g_strcmp0 (use->check, "failed") == 0 && g_strcmp0 (check, "failed") != 0)
    return;
  for (gsize i = 0; i < G_N_ELEMENTS (checks); i++)
    if (g_strcmp0 (check, checks[i]) == 0)
      use->check = checks[i];
  g_strlcpy (use->check_time, time != NULL ? time : "", sizeof use->check_time);
}

/* What was said beside the picture. */
static void
set_words (const json_t *record, WsAgain *again)
{
  const json_t *length = json_object_get (record, "tool_length");
  again->measured_by = g_strdup (text_at (record, "measured_by"));
  again->machine = g_strdup (text_at (record, "machine"));
  again->job.measured_by = again->measured_by;
  again->job.machine = again->machine;
  again->job.length_mm = length != NULL ? number_at (length, "value_mm") : 0;
  again->job.u_length_mm = length != NULL ? number_at (length, "u_mm") : 0;
}

/* ---- Its settings --------------------------------------------------------------------------- */

static WsImageFlags
tone_told (const json_t *record)
{
  const char *tone = text_at (record, "tone_told");
  return tone == NULL                   ? 0
         : g_str_equal (tone, "linear") ? WS_IMAGE_TOLD_LINEAR
                                        : WS_IMAGE_TOLD_SRGB;
}

/* The hash of the settings was made of all that numbers follow from: is the job of the same?  Older
 * records don't say which tones were told, and of a scale they have ten digits. */
static gboolean
is_same (const json_t *record, const WsInspection *inspection, WsJob *job)
{
  const WsImageFlags tones[] = { tone_told (record), WS_IMAGE_TOLD_SRGB, WS_IMAGE_TOLD_LINEAR };
  const char *program = text_at (record, "program");
  const char *space = program != NULL ? strrchr (program, ' ') : NULL;
  const char *card = text_at (json_object_get (record, "tool"), "card_sha256");
  for (gsize i = 0; space != NULL && i < G_N_ELEMENTS (tones); i++)
  {
    job->told = tones[i];
    g_autofree char *settings = ws_job_settings_by (job, space + 1, card);
    if (g_strcmp0 (settings, inspection->settings) == 0)
      return TRUE;
  }
  job->told = tones[0];
  return FALSE;
}

/* As much as was allowed when it was measured. */
static void
set_limits (const json_t *record, WsJob *job)
{
  const json_t *image = json_object_get (record, "image");
  const double pixels = number_at (image, "width") * number_at (image, "height");
  job->limits = (WsImageLimits)WS_IMAGE_LIMITS_DEFAULT;
  if (isfinite (pixels))
    job->limits.max_megapixels = MAX (job->limits.max_megapixels, pixels / 1e6);
}

static gboolean
set_job (WsAgainShelf *shelf, const json_t *record, const WsInspection *inspection, WsAgain *again,
         GError **error)
{
  const WsView *view = ws_view_find (inspection->view);
  const json_t *calibration = json_object_get (record, "calibration");
  WsTaskSpec spec;
  if (view == NULL)
    return wsi_refuse (error, WS_ERROR_USAGE, "no view %s in this program", inspection->view);
  read_spec (record, view, &spec);
  const WsAgainNeeds needs = { .tool = inspection->tool,
                               .calibration = text_at (calibration, "id"),
                               .calibration_sha256 = text_at (calibration, "sha256"),
                               .spec = &spec };
  const WsTask *task = wsi_again_task (shelf, &needs, error);
  if (task == NULL)
    return FALSE;
  again->job = task->job;
  again->job.confined = TRUE;
  set_limits (record, &again->job);
  set_standing (record, &again->job);
  set_words (record, again);
  again->is_exact = is_same (record, inspection, &again->job);
  again->settings = ws_job_settings (&again->job, task->card_path);
  return TRUE;
}

/* ---- Its pictures --------------------------------------------------------------------------- */

/* SHA-256 and name of each, those of a series in their order. */
typedef void (*PictureVisit) (const char *sha256, const char *name, gpointer data);

static gboolean
each_picture (const WsInspection *inspection, PictureVisit visit, gpointer data)
{
  json_t *record = json_loads (inspection->record, 0, NULL);
  const json_t *series = json_object_get (record, "images");
  const gsize n = series != NULL ? json_array_size (series) : 1;
  for (gsize i = 0; i < n; i++)
  {
    const json_t *image =
      series != NULL ? json_array_get (series, i) : json_object_get (record, "image");
    visit (text_at (image, "sha256"), text_at (image, "name"), data);
  }
  const gboolean is_series = series != NULL;
  json_decref (record);
  return is_series;
}

typedef struct
{
  const WsArchive *archive;
  const WsInspection *inspection;
  gboolean complete;
  GPtrArray *paths, *names;
} Pictures;

static void
expect_picture (const char *sha256, const char *name, gpointer data)
{
  Pictures *pictures = data;
  (void)name;
  pictures->complete =
    pictures->complete && ws_archive_has_picture (pictures->archive, pictures->inspection, sha256);
}

gboolean
wsi_again_expect_pictures (WsAgainShelf *shelf, const WsInspection *inspection, GError **error)
{
  Pictures pictures = { wsi_again_archive (shelf), inspection, TRUE, NULL, NULL };
  each_picture (inspection, expect_picture, &pictures);
  return pictures.complete ||
         wsi_refuse (error, WS_ERROR_NO_INPUT, "its picture isn't in this archive");
}

static void
add_picture (const char *sha256, const char *name, gpointer data)
{
  const Pictures *pictures = data;
  g_ptr_array_add (pictures->paths, ws_archive_picture_path (pictures->archive, sha256));
  g_ptr_array_add (pictures->names, g_strdup (name != NULL ? name : sha256));
}

void
wsi_again_take_pictures (WsAgain *again, WsAgainShelf *shelf, const WsInspection *inspection)
{
  g_autoptr (GPtrArray) paths = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  Pictures pictures = { wsi_again_archive (shelf), inspection, TRUE, paths, names };
  again->is_series = each_picture (inspection, add_picture, &pictures);
  g_ptr_array_add (paths, NULL);
  g_ptr_array_add (names, NULL);
  again->paths = (char **)g_ptr_array_steal (paths, NULL);
  again->names = (char **)g_ptr_array_steal (names, NULL);
  again->job.names = (const char *const *)again->names;
}

/* The store keeps them; whoever wants one here takes it from there again. */
void
wsi_again_drop_pictures (const WsAgain *again, WsAgainShelf *shelf)
{
  if (wsi_pictures_store (wsi_again_archive (shelf)) == NULL)
    return;
  for (char **path = again->paths; *path != NULL; path++)
    g_remove (*path);
}

static gboolean
is_no_picture (const char *reason)
{
  return g_strcmp0 (reason, ws_retake_code (WS_RETAKE_NOT_AN_IMAGE)) == 0 ||
         g_strcmp0 (reason, ws_retake_code (WS_RETAKE_TOO_LARGE)) == 0;
}

WsAgain *
wsi_again_new (WsAgainShelf *shelf, const WsInspection *inspection, GError **error)
{
  g_autoptr (WsAgain) again = g_new0 (WsAgain, 1);
  json_t *record = json_loads (inspection->record, 0, NULL);
  again->id = g_strdup (inspection->id);
  again->tool = g_strdup (inspection->tool);
  again->was = g_strdup (inspection->verdict);
  again->was_no_picture = is_no_picture (inspection->reason);
  const gboolean ok = set_job (shelf, record, inspection, again, error);
  json_decref (record);
  return ok ? g_steal_pointer (&again) : NULL;
}
