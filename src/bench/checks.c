#include "bench/checks.h"

#include <math.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>

#include "archive/event.h"
#include "base/language.h"
#include "base/number.h"
#include "bench/intake.h"

/* ---- What is shown ------------------------------------------------------------------------------
 */

#define LARGEST_MM 1000.0

/* A field's number above `least`; NAN where the field is empty; FALSE for anything else. */
static gboolean
read_size (const WsServeRequest *request, const char *name, double least, double *size)
{
  g_autofree char *text = wsi_request_field (request, name);
  *size = NAN;
  return text == NULL || (wsi_number_parse (text, size) && *size >= least && *size <= LARGEST_MM);
}

static gboolean
read_shown (const WsServeRequest *request, WsCrewTask *task, GError **error)
{
  g_autofree char *kind = wsi_request_field (request, "kind");
  const gboolean is_pin = g_strcmp0 (kind, "pin") == 0;
  task->shown = is_pin ? "pin" : "disc";
  if ((is_pin || g_strcmp0 (kind, "disc") == 0) && read_size (request, "size", 1e-3, &task->size) &&
      read_size (request, "hole", 1e-3, &task->hole) &&
      read_size (request, "u", 0, &task->size_u) && isfinite (task->size) &&
      !(task->hole >= task->size))
    return TRUE;
  g_set_error_literal (
    error, WS_ERROR, WS_ERROR_USAGE,
    _ ("Say what is shown, a pin or a disc, and its diameter in millimetres with "
       "a decimal point; a hole is smaller than the disc."));
  return FALSE;
}

/* ---- What came of it ----------------------------------------------------------------------------
 */

static const char *
text_at (const json_t *object, const char *key)
{
  const char *text = json_string_value (json_object_get (object, key));
  return text != NULL ? text : "";
}

static double
number_at (const json_t *object, const char *key)
{
  return json_number_value (json_object_get (object, key));
}

static WsCheck *
check_of (const json_t *said, const char *calibration)
{
  WsCheck *check = ws_check_new (text_at (said, "run"), text_at (said, "quantity"),
                                 number_at (said, "value"), number_at (said, "U"),
                                 number_at (said, "reference"), number_at (said, "U_reference"));
  g_strlcpy (check->time, text_at (said, "time"), sizeof check->time);
  g_free (check->calibration);
  g_free (check->file);
  g_free (check->sha256);
  check->calibration = g_strdup (calibration);
  check->file = g_strdup (text_at (said, "file"));
  check->sha256 = g_strdup (text_at (said, "sha256"));
  return check;
}

static GPtrArray *
checks_of (const json_t *said, const char *id)
{
  const json_t *list = json_object_get (said, "checks");
  GPtrArray *checks = ws_checks_new ();
  for (gsize i = 0; i < json_array_size (list); i++)
    g_ptr_array_add (checks, check_of (json_array_get (list, i), id));
  return checks;
}

static json_t *
after_json (const GPtrArray *checks)
{
  json_t *list = json_array ();
  for (guint i = 0; i < checks->len; i++)
  {
    const WsCheck *check = g_ptr_array_index (checks, i);
    json_array_append_new (list, json_pack ("{s:s, s:f, s:f, s:b}", "quantity", check->quantity,
                                            "reference", check->reference, "deviation",
                                            check->deviation, "pass", check->pass));
  }
  return list;
}

static gboolean
enter (WsServe *serve, const WsServeRequest *request, const WsServeCalibration *calibration,
       const GPtrArray *checks, GError **error)
{
  g_autofree char *by = wsi_intake_by (request);
  json_t *after = after_json (checks);
  const WsEventWords words = { .kind = WS_EVENT_CHECK,
                               .subject = calibration->name,
                               .by = by,
                               .account = request->actor.account,
                               .text = "checked by something of known size",
                               .after = after };
  WsArchive *archive = wsi_serve_take (serve, error);
  const gboolean done = archive != NULL && wsi_event_add (archive, &words, error);
  wsi_serve_give (serve, archive);
  json_decref (after);
  return done;
}

/* Kept beside the calibration, then in the chain. */
static gboolean
keep (WsServe *serve, const WsServeRequest *request, const WsServeCalibration *calibration,
      const json_t *said, GError **error)
{
  g_autoptr (WsCalibration) loaded = ws_calibration_load (calibration->path, error);
  if (loaded == NULL)
    return FALSE;
  g_autoptr (GPtrArray) checks = checks_of (said, ws_calibration_id (loaded));
  g_autoptr (GPtrArray) all = ws_checks_append (calibration->path, checks, error);
  return all != NULL && enter (serve, request, calibration, checks, error);
}

gboolean
wsi_checks_make (WsServe *serve, const WsServeRequest *request,
                 const WsServeCalibration *calibration, GBytes *picture, char **why, GError **error)
{
  WsCrewTask task = { .card = "",
                      .view = "",
                      .calibration = calibration->path,
                      .scale = NAN,
                      .scale_u = NAN,
                      .language = wsi_language_code () };
  if (!read_shown (request, &task, error))
    return FALSE;
  g_autofree char *told = wsi_intake_ask (serve, &task, picture, error);
  if (told == NULL)
    return FALSE;
  json_t *said = json_loads (told, 0, NULL);
  const char *reason = json_string_value (json_object_get (said, "why"));
  *why = g_strdup (reason);
  const gboolean done = reason != NULL || keep (serve, request, calibration, said, error);
  json_decref (said);
  return done;
}

/* ---- What was found before ----------------------------------------------------------------------
 */

GPtrArray *
wsi_checks_all (const WsServeCalibration *calibration, GError **error)
{
  g_autofree char *path = ws_checks_path (calibration->path);
  return ws_checks_load (path, error);
}

guint
wsi_checks_newest (const GPtrArray *all, const char *id)
{
  guint first = all->len;
  const char *run = NULL;
  for (guint i = all->len; i-- > 0;)
  {
    const WsCheck *check = g_ptr_array_index (all, i);
    if (!g_str_equal (check->calibration, id))
      break;
    if (run != NULL && !g_str_equal (check->run, run))
      break;
    run = check->run;
    first = i;
  }
  return first;
}
