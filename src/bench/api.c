#include "bench/api.h"

#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>

#include "bench/cards.h"
#include "bench/intake.h"
#include "bench/listing.h"
#include "bench/pictures.h"

/* ---- Tools ---------------------------------------------------------------------------------- */

WsServeReply *
wsi_api_tools (WsServe *serve, WsServeRequest *request)
{
  json_t *array = json_array ();
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  (void)request;
  for (guint i = 0; i < cards->len; i++)
    json_array_append_new (array, wsi_cards_json (g_ptr_array_index (cards, i)));
  return wsi_reply_take_json (200, json_pack ("{s:o}", "tools", array));
}

/* ---- Inspections ---------------------------------------------------------------------------- */

static const WsServePart *
the_picture (const WsServeRequest *request)
{
  const WsServePart *found = NULL;
  for (guint i = 0; i < request->parts->len; i++)
  {
    const WsServePart *part = g_ptr_array_index (request->parts, i);
    if (!g_str_equal (part->name, "picture") || part->n_bytes == 0)
      continue;
    if (found != NULL)
      return NULL;
    found = part;
  }
  return found;
}

WsServeReply *
wsi_api_upload (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (WsIntake) intake = { 0 };
  const WsServePart *picture = the_picture (request);
  if (picture == NULL)
    return wsi_serve_trouble (request, 422,
                              "Send one picture, as the field picture or as the body.");
  if (!wsi_intake_measure (serve, request, picture, &intake, &error))
    return wsi_serve_take_error (serve, request, error);
  WsServeReply *reply =
    wsi_reply_take_text (201, "application/json", g_steal_pointer (&intake.record));
  reply->location = g_strconcat ("/api/inspections/", intake.id, NULL);
  return reply;
}

static json_t *
inspection_json (const WsInspection *inspection)
{
  json_t *object = json_pack (
    "{s:s, s:I, s:s, s:s?, s:s?, s:s?, s:s?, s:s?, s:s?, s:s?, s:b, s:b}", "id", inspection->id,
    "number", (json_int_t)inspection->number, "time", inspection->time, "tool", inspection->tool,
    "kind", inspection->kind, "view", inspection->view, "verdict", inspection->verdict, "reason",
    inspection->reason, "station", inspection->station, "grinder", inspection->grinder, "reground",
    inspection->reground, "pictures", inspection->has_pictures);
  return object;
}

/* Nothing of what was changed is told as a result. */
static json_t *
wrong_json (const WsInspection *inspection)
{
  return json_pack ("{s:s, s:I, s:s}", "id", inspection->id, "number",
                    (json_int_t)inspection->number, "wrong", inspection->wrong);
}

WsServeReply *
wsi_api_inspections (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) found = wsi_listing_find (serve, request, &error);
  if (found == NULL)
    return wsi_serve_take_error (serve, request, error);
  json_t *array = json_array ();
  for (guint i = 0; i < found->len; i++)
  {
    const WsInspection *inspection = g_ptr_array_index (found, i);
    json_array_append_new (array, inspection->wrong != NULL ? wrong_json (inspection)
                                                            : inspection_json (inspection));
  }
  return wsi_reply_take_json (200, json_pack ("{s:o}", "inspections", array));
}

static json_t *
notes_json (const WsInspection *inspection)
{
  json_t *array = json_array ();
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    json_t *told = json_pack ("{s:s, s:s, s:s, s:s, s:s, s:s?}", "id", note->id, "time", note->time,
                              "kind", ws_note_kind_name (note->kind), "by", note->by, "text",
                              note->text, "account", note->account);
    if (note->kind == WS_NOTE_REMEASURED)
      json_object_update_new (told, json_pack ("{s:s?, s:s?}", "was", note->was, "now", note->now));
    json_array_append_new (array, told);
  }
  return array;
}

static WsInspection *
find (WsServe *serve, const WsServeRequest *request, GError **error)
{
  WsArchive *archive = wsi_serve_take (serve, error);
  WsInspection *inspection =
    archive != NULL ? ws_archive_find (archive, request->ids[0], error) : NULL;
  wsi_serve_give (serve, archive);
  return inspection;
}

WsServeReply *
wsi_api_inspection (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (WsInspection) inspection = find (serve, request, &error);
  if (inspection == NULL)
    return wsi_serve_take_error (serve, request, error);
  if (inspection->wrong != NULL)
    return wsi_reply_take_json (200, wrong_json (inspection));
  json_t *object = inspection_json (inspection);
  json_object_set_new (object, "record", json_loads (inspection->record, 0, NULL));
  json_object_set_new (object, "notes", notes_json (inspection));
  json_object_set_new (object, "hash", json_string (inspection->hash));
  return wsi_reply_take_json (200, object);
}

WsServeReply *
wsi_api_picture (WsServe *serve, WsServeRequest *request)
{
  return wsi_pictures_reply (serve, request, TRUE);
}

WsServeReply *
wsi_api_original (WsServe *serve, WsServeRequest *request)
{
  return wsi_pictures_reply (serve, request, FALSE);
}
