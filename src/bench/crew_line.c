#include "bench/crew_line.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <whetsight/error.h>

#define MOST_BYTES 268435456 /* of an answer */

static void
set_number (json_t *object, const char *key, double value)
{
  if (isfinite (value))
    json_object_set_new (object, key, json_real (value));
}

char *
wsi_crew_write_task (const WsCrewTask *task)
{
  json_t *object =
    json_pack ("{s:s, s:s, s:s, s:s?, s:s?, s:s?, s:s?, s:s?, s:b}", "card", task->card, "view",
               task->view, "picture", task->picture, "calibration", task->calibration,
               "measured_by", task->measured_by, "before", task->before, "language", task->language,
               "shown", task->shown, "check_due", task->check_due);
  set_number (object, "scale", task->scale);
  set_number (object, "scale_u", task->scale_u);
  set_number (object, "before_scale", task->before_scale);
  set_number (object, "before_scale_u", task->before_scale_u);
  set_number (object, "length_mm", task->length_mm);
  set_number (object, "size", task->size);
  set_number (object, "hole", task->hole);
  set_number (object, "size_u", task->size_u);
  char *text = json_dumps (object, JSON_COMPACT);
  char *line = g_strconcat (text != NULL ? text : "{}", "\n", NULL);
  free (text);
  json_decref (object);
  return line;
}

gboolean
wsi_crew_read_head (const char head[WSI_CREW_HEAD], gsize *n_json, gsize *n_picture)
{
  g_autofree char *text = g_strndup (head, WSI_CREW_HEAD);
  g_auto (GStrv) words = g_strsplit (g_strstrip (text), " ", 2);
  guint64 json, picture;
  if (words[0] == NULL || words[1] == NULL ||
      !g_ascii_string_to_unsigned (words[0], 10, 0, MOST_BYTES, &json, NULL) ||
      !g_ascii_string_to_unsigned (words[1], 10, 0, MOST_BYTES, &picture, NULL))
    return FALSE;
  *n_json = (gsize)json;
  *n_picture = (gsize)picture;
  return TRUE;
}

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

/* A code of ours, since the message is shown by it. */
static WsErrorCode
error_code (const json_t *answer)
{
  const json_int_t code = json_integer_value (json_object_get (answer, "code"));
  static const WsErrorCode known[] = { WS_ERROR_USAGE, WS_ERROR_DATA, WS_ERROR_TOO_LARGE,
                                       WS_ERROR_NO_INPUT };
  for (gsize i = 0; i < G_N_ELEMENTS (known); i++)
    if (code == (json_int_t)known[i])
      return known[i];
  return WS_ERROR_INTERNAL;
}

WsOutcome *
wsi_crew_read_answer (const char *json, gsize n_json, GBytes *picture, char **settings,
                      GError **error)
{
  json_t *answer = json_loadb (json, n_json, 0, NULL);
  const char *message = text_at (answer, "error"), *record = text_at (answer, "record");
  GError *told = NULL;
  if (message != NULL || record == NULL)
    told = g_error_new_literal (WS_ERROR, (gint)error_code (answer),
                                message != NULL ? message : "nothing came of measuring");
  WsOutcome *outcome = NULL;
  if (record == NULL)
    g_propagate_error (error, told);
  else
  {
    outcome = g_new0 (WsOutcome, 1);
    outcome->record = g_strdup (record);
    outcome->annotated = picture != NULL ? g_bytes_ref (picture) : NULL;
    outcome->error = told;
    *settings = g_strdup (text_at (answer, "settings"));
  }
  json_decref (answer);
  return outcome;
}
