/*
 * The side that measures.
 */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include <whetsight/error.h>

#include "base/language.h"
#include "bench/check_work.h"
#include "bench/crew.h"
#include "bench/label_scan.h"
#include "bench/regrind_work.h"

/* Beside what the libraries map: a picture of 40 megapixels takes 0.9 GB at most. */
#define MOST_MEMORY (G_GUINT64_CONSTANT (3) << 30)

/* Sanitizers map terabytes. */
#if defined(__SANITIZE_ADDRESS__)
#define IS_BOUND 0
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define IS_BOUND 0
#endif
#endif
#ifndef IS_BOUND
#define IS_BOUND 1
#endif

static gboolean
bind_memory (void)
{
  const struct rlimit limit = { MOST_MEMORY, MOST_MEMORY };
  return !IS_BOUND || setrlimit (RLIMIT_AS, &limit) == 0;
}

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

static double
number_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

static gboolean
answer (json_t *said, GBytes *picture)
{
  gsize n_picture = 0;
  const char *bytes = picture != NULL ? g_bytes_get_data (picture, &n_picture) : NULL;
  char *json = json_dumps (said, JSON_COMPACT);
  const gsize n_json = json != NULL ? strlen (json) : 0;
  g_autofree char *lengths =
    g_strdup_printf ("%" G_GSIZE_FORMAT " %" G_GSIZE_FORMAT, n_json, n_picture);
  const gboolean done = printf ("%-*s", WSI_CREW_HEAD, lengths) == WSI_CREW_HEAD &&
                        (n_json == 0 || fwrite (json, n_json, 1, stdout) == 1) &&
                        (n_picture == 0 || fwrite (bytes, n_picture, 1, stdout) == 1) &&
                        fflush (stdout) == 0;
  free (json);
  return done;
}

static json_t *
error_said (const GError *error)
{
  g_autofree char *message = g_utf8_make_valid (error->message, -1);
  return json_pack ("{s:s, s:i}", "error", message, "code",
                    error->domain == WS_ERROR ? error->code : WS_ERROR_INTERNAL);
}

static gboolean
read_label (const WsCrewTask *task)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *text = wsi_label_scan (task->picture, &error);
  json_t *said =
    error != NULL ? error_said (error) : json_pack ("{s:s}", "record", text != NULL ? text : "");
  const gboolean done = answer (said, NULL);
  json_decref (said);
  return done;
}

static gboolean
measure (const WsCrewTools *tools, const WsCrewTask *task)
{
  WsJob job = { .limits = WS_IMAGE_LIMITS_DEFAULT };
  gpointer data = NULL;
  g_autoptr (GError) error = NULL;
  g_autofree char *settings = NULL;
  g_autoptr (WsOutcome) outcome = NULL;
  json_t *said = NULL;
  if (tools->prepare (task, &job, &settings, &data, &error))
  {
    outcome = ws_job_measure (&job, task->picture);
    said = outcome->error != NULL ? error_said (outcome->error) : json_object ();
    if (outcome->record != NULL)
      json_object_set_new (said, "record", json_string (outcome->record));
    json_object_set_new (said, "settings", json_string (settings));
  }
  else
    said = error_said (error);
  const gboolean done = answer (said, outcome != NULL ? outcome->annotated : NULL);
  json_decref (said);
  tools->done (data);
  return done;
}

/* Takes the text over; NULL stands for the error. */
static gboolean
answer_told (char *told, GBytes *drawing, GError *error)
{
  json_t *said =
    told != NULL ? json_pack ("{s:s, s:s}", "record", told, "settings", "") : error_said (error);
  const gboolean done = answer (said, drawing);
  json_decref (said);
  g_free (told);
  g_clear_error (&error);
  return done;
}

static gboolean
tell_regrind (const WsCrewTools *tools, const WsCrewTask *task)
{
  GError *error = NULL;
  g_autoptr (GBytes) drawing = NULL;
  char *told = wsi_regrind_work (tools, task, &drawing, &error);
  return answer_told (told, drawing, error);
}

static gboolean
tell_check (const WsCrewTask *task)
{
  GError *error = NULL;
  char *told = wsi_check_work (task, &error);
  return answer_told (told, NULL, error);
}

static gboolean
work_off (const WsCrewTools *tools, const WsCrewTask *task)
{
  /* Of who asked, not of the task before. */
  wsi_language_use (task->language);
  if (g_str_equal (task->view, WSI_LABEL_TASK))
    return read_label (task);
  if (task->shown != NULL)
    return tell_check (task);
  return task->before != NULL ? tell_regrind (tools, task) : measure (tools, task);
}

/* Borrows from what was read. */
static WsCrewTask
task_of (const json_t *read)
{
  return (WsCrewTask){
    .card = text_at (read, "card"),
    .view = text_at (read, "view"),
    .picture = text_at (read, "picture"),
    .calibration = text_at (read, "calibration"),
    .measured_by = text_at (read, "measured_by"),
    .check_due = json_is_true (json_object_get (read, "check_due")),
    .length_mm = number_at (read, "length_mm"),
    .scale = number_at (read, "scale"),
    .scale_u = number_at (read, "scale_u"),
    .before = text_at (read, "before"),
    .before_scale = number_at (read, "before_scale"),
    .before_scale_u = number_at (read, "before_scale_u"),
    .language = text_at (read, "language"),
    .shown = text_at (read, "shown"),
    .size = number_at (read, "size"),
    .hole = number_at (read, "hole"),
    .size_u = number_at (read, "size_u"),
  };
}

int
wsi_crew_work (const WsCrewTools *tools)
{
  size_t room = 0;
  char *buffer = NULL;
  int status = 0;
  if (!bind_memory ())
    return WS_ERROR_INTERNAL;
  while (status == 0 && getline (&buffer, &room, stdin) > 0)
  {
    json_t *read = json_loads (buffer, 0, NULL);
    const WsCrewTask task = task_of (read);
    if (task.card == NULL || task.view == NULL || task.picture == NULL || !work_off (tools, &task))
      status = WS_ERROR_DATA;
    json_decref (read);
  }
  free (buffer);
  return status;
}
