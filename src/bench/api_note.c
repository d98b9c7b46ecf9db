/*
 * What people add: to an inspection, and that a tool was ground.
 */
#include <jansson.h>
#include <whetsight/error.h>

#include "archive/event.h"
#include "bench/api.h"
#include "bench/cards.h"
#include "bench/intake.h"

/* Done: JSON for programs, for a page the one that it came from. */
static WsServeReply *
done (const WsServeRequest *request, const char *page, const char *id)
{
  if (!request->is_api)
    return wsi_reply_take_location (g_strdup_printf ("/%s/%s", page, request->ids[0]));
  return wsi_reply_take_json (201, json_pack ("{s:s}", "id", id));
}

/* ---- To an inspection ----------------------------------------------------------------------- */

static WsServeReply *
add_note (WsServe *serve, WsServeRequest *request, WsNoteKind kind)
{
  GError *error = NULL;
  g_autofree char *id = NULL;
  g_autofree char *by = wsi_intake_by (request);
  g_autofree char *text = wsi_request_field (request, "text");
  const WsNoteWords words = { kind, by, text, request->actor.account };
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean added =
    archive != NULL && ws_archive_add_note (archive, request->ids[0], &words, &id, &error);
  wsi_serve_give (serve, archive);
  return added ? done (request, "inspections", id) : wsi_serve_take_error (serve, request, error);
}

WsServeReply *
wsi_api_comment (WsServe *serve, WsServeRequest *request)
{
  return add_note (serve, request, WS_NOTE_COMMENT);
}

WsServeReply *
wsi_api_sign_off (WsServe *serve, WsServeRequest *request)
{
  return add_note (serve, request, WS_NOTE_SIGN_OFF);
}

WsServeReply *
wsi_api_release (WsServe *serve, WsServeRequest *request)
{
  return add_note (serve, request, WS_NOTE_RELEASE);
}

/* ---- To a tool ------------------------------------------------------------------------------ */

static WsServeReply *
add_event (WsServe *serve, WsServeRequest *request, WsEventKind kind, const char *otherwise)
{
  GError *error = NULL;
  g_autofree char *by = wsi_intake_by (request);
  g_autofree char *text = wsi_request_field (request, "text");
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, request->ids[0], &error);
  const WsEventWords words = { .kind = kind,
                               .subject = request->ids[0],
                               .by = by,
                               .account = request->actor.account,
                               .text = text != NULL ? text : otherwise };
  WsArchive *archive = card != NULL ? wsi_serve_take (serve, &error) : NULL;
  const gboolean added = archive != NULL && wsi_event_add (archive, &words, &error);
  wsi_serve_give (serve, archive);
  return added ? done (request, "tools", request->ids[0])
               : wsi_serve_take_error (serve, request, error);
}

WsServeReply *
wsi_api_regrind (WsServe *serve, WsServeRequest *request)
{
  return add_event (serve, request, WS_EVENT_REGRIND, NULL);
}

/* The inspection says why; who hands the tool over may add a word. */
WsServeReply *
wsi_api_handover (WsServe *serve, WsServeRequest *request)
{
  return add_event (serve, request, WS_EVENT_HANDOVER, "handed over");
}
