#include <string.h>

#include <whetsight/error.h>

#include "image/taken.h"
#include "optics/calibration.h"

static void
source_free (gpointer data)
{
  WsCalibrationSource *source = data;
  g_free (source->name);
  g_free (source->sha256);
  g_free (source->rejected);
  g_free (source);
}

static void
artefact_free (gpointer data)
{
  WsArtefact *artefact = data;
  g_free (artefact->what);
  g_free (artefact->certificate);
  g_free (artefact);
}

/* A copy that fits on one line of a file: file names and what users type may hold anything. */
static char *
one_line (const char *text)
{
  char *line = g_utf8_make_valid (text, -1);
  for (char *c = line; *c != '\0'; c++)
    if (g_ascii_iscntrl (*c))
      *c = ' ';
  return g_strstrip (line);
}

static char *
one_line_or_null (const char *text)
{
  return text != NULL ? one_line (text) : NULL;
}

/* To the second, as the file keeps it. */
static GDateTime *
this_second (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  return g_date_time_new_from_unix_utc (g_date_time_to_unix (now));
}

WsCalibration *
wsi_calibration_new (const char *method, const char *camera)
{
  WsCalibration *calibration = g_new0 (WsCalibration, 1);
  calibration->made = this_second ();
  g_autofree char *stamp = g_date_time_format (calibration->made, "%Y%m%dT%H%M%SZ");
  calibration->id = g_strdup_printf ("%s-%08x", stamp, g_random_int ());
  calibration->method = g_strdup (method);
  calibration->camera = one_line (camera);
  calibration->program = g_strdup ("whetsight " WS_VERSION);
  calibration->artefacts = g_ptr_array_new_with_free_func (artefact_free);
  calibration->sources = g_ptr_array_new_with_free_func (source_free);
  calibration->remarks = g_ptr_array_new_with_free_func (g_free);
  return calibration;
}

void
ws_calibration_free (WsCalibration *calibration)
{
  if (calibration == NULL)
    return;
  g_free (calibration->id);
  g_free (calibration->camera);
  g_clear_pointer (&calibration->made, g_date_time_unref);
  g_clear_pointer (&calibration->expires, g_date_time_unref);
  g_free (calibration->program);
  g_free (calibration->method);
  g_ptr_array_unref (calibration->artefacts);
  g_ptr_array_unref (calibration->sources);
  g_ptr_array_unref (calibration->remarks);
  wsi_taken_free (calibration->taken);
  g_free (calibration->sha256);
  g_free (calibration);
}

void
wsi_calibration_add_artefact (WsCalibration *calibration, const char *what, const char *certificate,
                              double size_mm, double u_mm)
{
  WsArtefact *artefact = g_new0 (WsArtefact, 1);
  artefact->what = one_line (what);
  artefact->certificate = one_line_or_null (certificate);
  artefact->size_mm = size_mm;
  artefact->u_mm = u_mm;
  g_ptr_array_add (calibration->artefacts, artefact);
}

void
wsi_calibration_add_source (WsCalibration *calibration, const char *name, const char *sha256,
                            const char *rejected, double rms_px)
{
  WsCalibrationSource *source = g_new0 (WsCalibrationSource, 1);
  source->name = one_line (name);
  source->sha256 = g_strdup (sha256);
  source->rejected = one_line_or_null (rejected);
  source->rms_px = rms_px;
  g_ptr_array_add (calibration->sources, source);
}

void
wsi_calibration_add_remark (WsCalibration *calibration, char *text)
{
  g_ptr_array_add (calibration->remarks, one_line (text));
  g_free (text);
}

gboolean
ws_calibration_fits (const WsCalibration *calibration, guint width, guint height, GError **error)
{
  const WsLens *lens = &calibration->lens;
  if (width == lens->width && height == lens->height)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "the picture has %u x %u pixels, but the calibration %s holds for %u x %u; take it "
               "with the same camera and settings, neither turned nor scaled, or calibrate again",
               width, height, calibration->id, lens->width, lens->height);
  return FALSE;
}

/* A bench's picture names its calibration; who has a calibration that says how its pictures were
 * taken needs no name. */
gboolean
ws_calibration_fits_picture (const WsCalibration *calibration, const WsImage *image, GError **error)
{
  if (!ws_calibration_fits (calibration, image->width, image->height, error))
    return FALSE;
  if (calibration->taken != NULL)
    return wsi_taken_check (calibration->taken, image->taken, "the calibration", error);
  const char *own = image->taken != NULL ? image->taken->of[WS_TAKEN_CALIBRATION] : NULL;
  if (own == NULL || g_strcmp0 (own, calibration->sha256) == 0)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "it was taken at a bench whose calibration isn't %s; measure it with the bench's "
               "own (--bench)",
               calibration->id);
  return FALSE;
}

gboolean
ws_calibration_expired (const WsCalibration *calibration, GDateTime *now)
{
  return calibration->expires != NULL && g_date_time_compare (now, calibration->expires) >= 0;
}

/* ---- What it says ------------------------------------------------------------------- */

const char *
ws_calibration_id (const WsCalibration *calibration)
{
  return calibration->id;
}

const char *
ws_calibration_camera (const WsCalibration *calibration)
{
  return calibration->camera;
}

const char *
ws_calibration_method (const WsCalibration *calibration)
{
  return calibration->method;
}

const char *
ws_calibration_sha256 (const WsCalibration *calibration)
{
  return calibration->sha256;
}

const WsLens *
ws_calibration_lens (const WsCalibration *calibration)
{
  return &calibration->lens;
}

GDateTime *
ws_calibration_made (const WsCalibration *calibration)
{
  return calibration->made;
}

GDateTime *
ws_calibration_expires (const WsCalibration *calibration)
{
  return calibration->expires;
}

const GPtrArray *
ws_calibration_artefacts (const WsCalibration *calibration)
{
  return calibration->artefacts;
}

const GPtrArray *
ws_calibration_sources (const WsCalibration *calibration)
{
  return calibration->sources;
}

const GPtrArray *
ws_calibration_remarks (const WsCalibration *calibration)
{
  return calibration->remarks;
}
