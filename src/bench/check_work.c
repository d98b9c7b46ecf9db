#include "bench/check_work.h"

#include <math.h>
#include <stdlib.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/verify.h>

#include "base/language.h"

static json_t *
check_json (const WsCheck *check)
{
  return json_pack ("{s:s, s:s, s:s, s:s, s:s, s:f, s:f, s:f, s:f, s:f, s:f, s:b}", "run",
                    check->run, "time", check->time, "file", check->file, "sha256", check->sha256,
                    "quantity", check->quantity, "value", check->value, "U", check->U, "reference",
                    check->reference, "U_reference", check->U_reference, "deviation",
                    check->deviation, "E_n", check->E_n, "pass", check->pass);
}

static json_t *
checks_json (const WsVerify *verify)
{
  json_t *list = json_array ();
  const GPtrArray *checks = ws_verify_checks (verify);
  for (guint i = 0; i < checks->len; i++)
    json_array_append_new (list, check_json (g_ptr_array_index (checks, i)));
  return json_pack ("{s:o}", "checks", list);
}

static json_t *
why_json (const WsVerifySeen *seen)
{
  const char *sentence = _ (ws_retake_sentence (seen->reason));
  const gboolean by_detail = seen->reason == WS_RETAKE_WRONG_VIEW && seen->detail != NULL;
  return json_pack ("{s:s}", "why", by_detail ? seen->detail : sentence);
}

char *
wsi_check_work (const WsCrewTask *task, GError **error)
{
  GError *cause = NULL;
  g_auto (WsVerifySeen) seen = { 0 };
  const WsShot shot = { .path = (char *)task->picture,
                        .kind = g_str_equal (task->shown, "pin") ? WS_SHOT_PIN : WS_SHOT_DISC,
                        .size_mm = task->size,
                        .hole_mm = task->hole,
                        .u_mm = isfinite (task->size_u) ? task->size_u : 0 };
  g_autoptr (WsCalibration) calibration = ws_calibration_load (task->calibration, error);
  if (calibration == NULL)
    return NULL;
  g_autoptr (WsVerify) verify = ws_verify_new (calibration);
  ws_verify_confine (verify);
  const gboolean measured = ws_verify_shot (verify, &shot, &seen, &cause);
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return NULL;
  }
  json_t *said = !measured ? why_json (&seen)
                 : seen.made_it
                   ? json_pack ("{s:s}", "why",
                                _ ("the calibration was made from this very picture, so "
                                   "that it agrees by construction; take another"))
                   : checks_json (verify);
  char *dumped = json_dumps (said, JSON_COMPACT | JSON_REAL_PRECISION (15));
  char *text = g_strdup (dumped != NULL ? dumped : "{}");
  free (dumped);
  json_decref (said);
  return text;
}
