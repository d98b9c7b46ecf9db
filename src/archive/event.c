#include "archive/event.h"

#include <stdlib.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/statements.h"
#include "archive/store.h"

#define MOST_BYTES 4000 /* of a reason: a page of it */

/* What each kind is about, before its subject. */
static const char *const places[WS_N_EVENTS] = {
  [WS_EVENT_ACCOUNT] = "account", [WS_EVENT_CARD] = "card",         [WS_EVENT_REGRIND] = "tool",
  [WS_EVENT_HANDOVER] = "tool",   [WS_EVENT_CHECK] = "calibration",
};

static char *
about (WsEventKind kind, const char *subject)
{
  return g_strconcat (places[kind], " ", subject, NULL);
}

/* ---- Writing -------------------------------------------------------------------------------- */

static gboolean
check_words (const WsEventWords *words, GError **error)
{
  const char *const texts[] = { words->by, words->text };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    g_autofree char *stripped = g_strstrip (g_strdup (texts[i] != NULL ? texts[i] : ""));
    if (*stripped != '\0' && strlen (stripped) <= MOST_BYTES &&
        g_utf8_validate (stripped, -1, NULL))
      continue;
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s is missing, too long or not UTF-8",
                 i == 0 ? "the name of who changes it" : "the reason");
    return FALSE;
  }
  return TRUE;
}

static char *
record_of (const WsEventWords *words)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autofree char *stamp = g_date_time_format (now, "%Y%m%dT%H%M%SZ");
  g_autofree char *id =
    g_strdup_printf ("%s-event-%08x-%06x", stamp, g_random_int (), g_random_int () & 0xffffffU);
  g_autofree char *subject = about (words->kind, words->subject);
  json_t *record =
    json_pack ("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s?, s:s, s:O?, s:O?}", "note", WSI_EVENT_FORM,
               "id", id, "time", time, "program", "whetsight " WS_VERSION, "kind",
               wsi_event_kind_name (words->kind), "about", subject, "by", words->by, "account",
               words->account, "text", words->text, "before", words->before, "after", words->after);
  char *text = record != NULL ? json_dumps (record, 0) : NULL;
  json_decref (record);
  return text;
}

gboolean
wsi_event_add (WsArchive *archive, const WsEventWords *words, GError **error)
{
  g_autoptr (WsInspection) row = g_new0 (WsInspection, 1);
  if (!check_words (words, error))
    return FALSE;
  row->record = record_of (words);
  if (row->record != NULL)
    return ws_archive_store (archive, row, NULL, error);
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s: can't be written as JSON: not UTF-8",
               words->subject);
  return FALSE;
}

/* ---- Reading -------------------------------------------------------------------------------- */

void
wsi_event_free (WsEvent *event)
{
  if (event == NULL)
    return;
  char *const texts[] = { event->id, event->time, event->by, event->account, event->text };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  json_decref (event->before);
  json_decref (event->after);
  g_free (event);
}

static char *
text_at (const json_t *record, const char *key)
{
  return g_strdup (json_string_value (json_object_get (record, key)));
}

/* NULL for null, which stands for nothing. */
static json_t *
value_at (const json_t *record, const char *key)
{
  json_t *value = json_object_get (record, key);
  return value != NULL && !json_is_null (value) ? json_incref (value) : NULL;
}

static WsEvent *
event_of (const WsInspection *row)
{
  json_t *record = json_loads (row->record, JSON_REJECT_DUPLICATES, NULL);
  WsEvent *event = g_new (WsEvent, 1);
  *event = (WsEvent){
    .number = row->number,
    .id = g_strdup (row->id),
    .time = g_strdup (row->time),
    .by = text_at (record, "by"),
    .account = text_at (record, "account"),
    .text = text_at (record, "text"),
    .before = value_at (record, "before"),
    .after = value_at (record, "after"),
  };
  json_decref (record);
  return event;
}

typedef struct
{
  const char *kind;
  const char *bench; /* as in WsEngine */
  GPtrArray *events;
} Gathering;

/* What another archive, or another bench, says changed there. */
static gboolean
gather (const WsInspection *row, gpointer data, GError **error)
{
  const Gathering *gathering = data;
  if (!wsi_note_is_event (row) || row->imported != NULL ||
      g_strcmp0 (row->bench, gathering->bench) != 0 || g_strcmp0 (row->kind, gathering->kind) != 0)
    return TRUE;
  if (row->wrong != NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "the entry %s on %s is not as it was written: %s; whetsight archive verify tells "
                 "more",
                 row->id, row->about, row->wrong);
    return FALSE;
  }
  g_ptr_array_add (gathering->events, event_of (row));
  return TRUE;
}

GPtrArray *
wsi_events_of (WsArchive *archive, WsEventKind kind, const char *subject, GError **error)
{
  g_autofree char *name = about (kind, subject);
  g_autoptr (GPtrArray) events = g_ptr_array_new_with_free_func ((GDestroyNotify)wsi_event_free);
  Gathering gathering = { wsi_event_kind_name (kind), archive->engine->bench, events };
  return wsi_store_each_note (archive, name, gather, &gathering, error) ? g_steal_pointer (&events)
                                                                        : NULL;
}

WsEvent *
wsi_event_last (WsArchive *archive, WsEventKind kind, const char *subject, GError **error)
{
  g_autoptr (GPtrArray) events = wsi_events_of (archive, kind, subject, error);
  return events != NULL && events->len > 0 ? g_ptr_array_steal_index (events, events->len - 1)
                                           : NULL;
}
