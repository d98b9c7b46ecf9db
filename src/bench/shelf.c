#include "bench/shelf.h"

#include "archive/event.h"
#include "archive/store.h"

GPtrArray *
wsi_shelf_of (WsArchive *archive, const char *tool, guint most, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = tool;
  filter.last = most;
  return wsi_store_find_all (archive, &filter, error);
}

/* ---- Waiting to be ground ------------------------------------------------------------------- */

/* Of a tool's newest pictures so many are looked at: all its views more than once. */
#define LOOKED_AT 20

void
wsi_waiting_clear (WsWaiting *waiting)
{
  ws_inspection_free (waiting->inspection);
  json_decref (waiting->record);
  g_free (waiting->handed_by);
  g_free (waiting->handed);
  *waiting = (WsWaiting){ .waits = FALSE };
}

static gboolean
asks_for_grinding (const WsInspection *inspection, json_t **record)
{
  if (inspection->wrong != NULL || g_strcmp0 (inspection->verdict, "reject") != 0)
    return FALSE;
  *record = json_loads (inspection->record, 0, NULL);
  if (g_strcmp0 (json_string_value (json_object_get (*record, "action")), "regrind") == 0)
    return TRUE;
  g_clear_pointer (record, json_decref);
  return FALSE;
}

/* The newest picture of each view counts, and only what was taken since the last regrind. */
static void
look_at (GPtrArray *shelf, guint64 ground, WsWaiting *waiting)
{
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);
  for (guint i = shelf->len; i-- > 0 && !waiting->waits;)
  {
    WsInspection *inspection = g_ptr_array_index (shelf, i);
    if (inspection->number < ground)
      return;
    if (inspection->view == NULL || !g_hash_table_add (seen, inspection->view) ||
        !asks_for_grinding (inspection, &waiting->record))
      continue;
    waiting->waits = TRUE;
    waiting->since = inspection->number;
    waiting->inspection = g_ptr_array_steal_index (shelf, i);
  }
}

static gboolean
find_handover (WsArchive *archive, const char *tool, guint64 ground, WsWaiting *waiting,
               GError **error)
{
  GError *cause = NULL;
  g_autoptr (WsEvent) event = wsi_event_last (archive, WS_EVENT_HANDOVER, tool, &cause);
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  if (event == NULL || event->number < ground)
    return TRUE;
  waiting->handed_by = g_strdup (event->by);
  waiting->handed = g_strdup (event->time);
  waiting->since = waiting->waits ? MIN (waiting->since, event->number) : event->number;
  waiting->waits = TRUE;
  return TRUE;
}

gboolean
wsi_waiting_find (WsArchive *archive, const char *tool, WsWaiting *waiting, GError **error)
{
  GError *cause = NULL;
  g_autoptr (WsEvent) ground = wsi_event_last (archive, WS_EVENT_REGRIND, tool, &cause);
  g_autoptr (GPtrArray) shelf =
    cause == NULL ? wsi_shelf_of (archive, tool, LOOKED_AT, &cause) : NULL;
  if (shelf == NULL)
  {
    g_propagate_error (error, cause);
    return FALSE;
  }
  const guint64 since = ground != NULL ? ground->number : 0;
  look_at (shelf, since, waiting);
  return find_handover (archive, tool, since, waiting, error);
}
