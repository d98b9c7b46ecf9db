#include "bench/intake.h"

#include <math.h>
#include <string.h>

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "archive/event.h"
#include "base/language.h"
#include "base/size.h"
#include "bench/cards.h"
#include "bench/label_scan.h"
#include "bench/own_bench.h"

#define MOST_LENGTH 10000.0 /* mm, of a tool */

void
wsi_intake_clear (WsIntake *intake)
{
  g_clear_pointer (&intake->id, g_free);
  g_clear_pointer (&intake->record, g_free);
}

char *
wsi_intake_by (const WsServeRequest *request)
{
  char *named = request->actor.is_local ? wsi_request_field (request, "by") : NULL;
  return named != NULL ? named : g_strdup (request->actor.account);
}

/* ---- The file that is measured ------------------------------------------------------------------
 */

/* A folder of its own, so that the file has the name it was sent under.  Free with g_free(). */
static char *
spool (const WsServe *serve, const char *name, const char *bytes, gsize n_bytes, GError **error)
{
  GError *cause = NULL;
  g_autofree char *folder = g_build_filename (serve->settings.spool, "picture-XXXXXX", NULL);
  if (g_mkdtemp (folder) == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "no room for the picture; try again later");
    return NULL;
  }
  g_autofree char *path = g_build_filename (folder, name, NULL);
  if (g_file_set_contents_full (path, bytes, (gssize)n_bytes, G_FILE_SET_CONTENTS_NONE, 0600,
                                &cause))
    return g_steal_pointer (&path);
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "no room for the picture; try again later");
  g_error_free (cause);
  g_unlink (path);
  g_rmdir (folder);
  return NULL;
}

static void
unspool (const char *path)
{
  g_autofree char *folder = g_path_get_dirname (path);
  g_unlink (path);
  g_rmdir (folder);
}

/* ---- Measuring --------------------------------------------------------------------------------
 */

static const WsView *
choose_view (const WsServeRequest *request, const WsToolCard *card, GError **error)
{
  g_autofree char *name = wsi_request_field (request, "view");
  const WsView *view = name != NULL ? ws_view_find (name) : ws_view_for_kind (card->kind);
  if (view != NULL && view->kinds & 1U << card->kind)
    return view;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "the view %s doesn't show a %s",
               name != NULL ? name : "(none)", ws_tool_kind_name (card->kind));
  return NULL;
}

/* As a caliper shows it, with a comma or a point; `length` in millimetres where it says no unit,
 * `length_in` in inches.  0 where it isn't told. */
static gboolean
read_length (const WsServeRequest *request, double *mm, GError **error)
{
  g_autofree char *text = wsi_request_field (request, "length");
  g_autofree char *inches = wsi_request_field (request, "length_in");
  const char *told = text != NULL && *text != '\0' ? text : inches;
  *mm = 0;
  if (told == NULL || *told == '\0')
    return TRUE;
  g_autofree char *plain = g_strdelimit (g_strdup (told), ",", '.');
  const gboolean is_bare = told == inches && !wsi_size_says_unit (plain);
  g_autofree char *whole = g_strconcat (plain, is_bare ? " in" : "", NULL);
  if (wsi_length_parse (whole, mm) && *mm > 0 && *mm < MOST_LENGTH)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s",
               _ ("The tool's length is no number above 0, such as 61.2; leave it out if it isn't "
                  "known."));
  return FALSE;
}

static WsOutcome *
measure (WsServe *serve, const WsServeRequest *request, const char *path, char **settings,
         GError **error)
{
  g_auto (WsSetup) setup = { 0 };
  g_autofree char *by = wsi_intake_by (request);
  g_autofree char *name = g_path_get_basename (path);
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, request->ids[0], error);
  const WsView *view = card != NULL ? choose_view (request, card->card, error) : NULL;
  gboolean due = FALSE;
  double length_mm;
  if (view == NULL || !read_length (request, &length_mm, error) ||
      !wsi_setup_find (serve->settings.cards, card->card->id, view->name, name, &setup, error) ||
      !wsi_own_bench_complete (serve, name, &setup, &due, error))
    return NULL;
  const WsCrewTask task = {
    .card = card->path,
    .view = view->name,
    .picture = path,
    .calibration = setup.calibration,
    .scale = setup.scale,
    .scale_u = setup.scale_u,
    .measured_by = by,
    .check_due = due,
    .length_mm = length_mm,
    .language = wsi_language_code (),
  };
  return wsi_crew_measure (serve->crew, &task, settings, error);
}

static gboolean
keep_number (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  *(guint64 *)data = inspection->number;
  return TRUE;
}

static char *
id_of (const char *record)
{
  json_t *root = json_loads (record, 0, NULL);
  char *id = g_strdup (json_string_value (json_object_get (root, "id")));
  json_decref (root);
  return id;
}

/* Somebody marked the tool as ground since it was last measured: then this is the first since.
 * Returns who, or NULL; free with g_free(). */
static char *
ground_since (WsArchive *archive, const char *tool)
{
  guint64 last = 0;
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = tool;
  filter.last = 1;
  g_autoptr (WsEvent) event = wsi_event_last (archive, WS_EVENT_REGRIND, tool, NULL);
  if (event == NULL || !ws_archive_each (archive, &filter, FALSE, keep_number, &last, NULL) ||
      event->number < last)
    return NULL;
  return g_strdup (event->by);
}

static gboolean
store (WsServe *serve, const WsServeRequest *request, const WsOutcome *outcome,
       const char *settings, WsIntake *intake, GError **error)
{
  g_autofree char *station = wsi_request_field (request, "station");
  g_autofree char *grinder = wsi_request_field (request, "grinder");
  g_autofree char *reground = wsi_request_field (request, "reground");
  WsArchive *archive = wsi_serve_take (serve, error);
  g_autofree char *ground = archive != NULL ? ground_since (archive, request->ids[0]) : NULL;
  const WsJobNotes notes = { settings, station, grinder != NULL ? grinder : ground,
                             reground != NULL || ground != NULL };
  const gboolean stored =
    archive != NULL && ws_job_store (archive, outcome, &notes, &intake->number, error);
  wsi_serve_give (serve, archive);
  if (!stored)
    return FALSE;
  intake->record = g_strdup (outcome->record);
  intake->id = id_of (outcome->record);
  return TRUE;
}

gboolean
wsi_intake_bytes (WsServe *serve, const WsServeRequest *request, const char *name, GBytes *bytes,
                  WsIntake *intake, GError **error)
{
  gsize n_bytes;
  g_autofree char *settings = NULL;
  g_autofree char *safe = wsi_request_safe_name (name);
  const char *content = g_bytes_get_data (bytes, &n_bytes);
  g_autofree char *path = spool (serve, safe, content, n_bytes, error);
  if (path == NULL)
    return FALSE;
  g_autoptr (WsOutcome) outcome = measure (serve, request, path, &settings, error);
  unspool (path);
  if (outcome == NULL)
    return FALSE;
  outcome->original = g_bytes_ref (bytes);
  return store (serve, request, outcome, settings, intake, error);
}

gboolean
wsi_intake_measure (WsServe *serve, const WsServeRequest *request, const WsServePart *picture,
                    WsIntake *intake, GError **error)
{
  g_autoptr (GBytes) bytes = g_bytes_new_with_free_func (
    picture->bytes, picture->n_bytes, (GDestroyNotify)g_bytes_unref, g_bytes_ref (request->body));
  return wsi_intake_bytes (serve, request, picture->file_name, bytes, intake, error);
}

gboolean
wsi_intake_sample (WsServe *serve, const WsServeRequest *request, const char *sample,
                   WsIntake *intake, GError **error)
{
  gsize n_bytes;
  char *content;
  g_autofree char *safe = wsi_request_safe_name (sample);
  g_autofree char *path =
    serve->settings.samples != NULL ? g_build_filename (serve->settings.samples, safe, NULL) : NULL;
  if (path == NULL || !g_file_get_contents (path, &content, &n_bytes, NULL))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "there is no sample picture %s", safe);
    return FALSE;
  }
  g_autoptr (GBytes) bytes = g_bytes_new_take (content, n_bytes);
  return wsi_intake_bytes (serve, request, safe, bytes, intake, error);
}

char *
wsi_intake_label (WsServe *serve, const WsServePart *picture, GError **error)
{
  g_autofree char *settings = NULL;
  g_autofree char *safe = wsi_request_safe_name (picture->file_name);
  g_autofree char *path = spool (serve, safe, picture->bytes, picture->n_bytes, error);
  const WsCrewTask task = {
    .card = "", .view = WSI_LABEL_TASK, .picture = path, .scale = NAN, .scale_u = NAN
  };
  if (path == NULL)
    return NULL;
  GError *cause = NULL;
  g_autoptr (WsOutcome) outcome = wsi_crew_measure (serve->crew, &task, &settings, &cause);
  unspool (path);
  /* Where the picture lay meanwhile is nobody's business. */
  if (cause != NULL && g_error_matches (cause, WS_ERROR, WS_ERROR_DATA))
  {
    g_clear_error (&cause);
    g_set_error_literal (&cause, WS_ERROR, WS_ERROR_DATA,
                         _ ("This isn't a picture that can be read."));
  }
  if (cause != NULL)
    g_propagate_error (error, cause);
  return outcome != NULL && *outcome->record != '\0' ? g_strdup (outcome->record) : NULL;
}

char *
wsi_intake_ask (WsServe *serve, const WsCrewTask *task, GBytes *picture, GError **error)
{
  gsize n;
  WsCrewTask whole = *task;
  g_autofree char *settings = NULL;
  const char *bytes = g_bytes_get_data (picture, &n);
  g_autofree char *path = spool (serve, "check.png", bytes, n, error);
  if (path == NULL)
    return NULL;
  whole.picture = path;
  GError *cause = NULL;
  g_autoptr (WsOutcome) outcome = wsi_crew_measure (serve->crew, &whole, &settings, &cause);
  unspool (path);
  if (cause != NULL)
  {
    /* Where the picture lay meanwhile is nobody's business. */
    const char *after =
      g_str_has_prefix (cause->message, path) ? cause->message + strlen (path) : NULL;
    if (after != NULL)
      g_set_error (error, cause->domain, cause->code, "%s",
                   g_str_has_prefix (after, ": ") ? after + 2 : after);
    else
      g_propagate_error (error, g_steal_pointer (&cause));
    g_clear_error (&cause);
  }
  return outcome != NULL ? g_strdup (outcome->record) : NULL;
}
