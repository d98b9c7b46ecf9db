/*
 * One tool: what is known of it, its values in time, its card.
 */
#include <math.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/trend.h>
#include <whetsight/view.h>

#include "archive/event.h"
#include "archive/state.h"
#include "base/file.h"
#include "base/language.h"
#include "bench/api.h"
#include "bench/cards.h"
#include "bench/intake.h"
#include "report/told.h"
#include "report/words.h"

/* ---- What is known of it -------------------------------------------------------------------- */

static json_t *
state_json (const WsToolState *state)
{
  json_t *views = json_array ();
  g_autofree char *words = wsi_words_state (state);
  for (guint i = 0; i < state->views->len; i++)
  {
    const WsViewState *view = &g_array_index (state->views, WsViewState, i);
    json_array_append_new (views, json_pack ("{s:s, s:s?}", "view", view->view, "verdict",
                                             ws_verdict_name (view->verdict)));
  }
  return json_pack ("{s:s, s:s, s:o}", "standing", wsi_tool_standing_name (state->standing),
                    "words", words, "views", views);
}

static json_t *
events_json (const GPtrArray *events)
{
  json_t *array = json_array ();
  for (guint i = 0; i < events->len; i++)
  {
    const WsEvent *event = g_ptr_array_index (events, i);
    json_array_append_new (array, json_pack ("{s:s, s:s, s:s, s:s, s:s?, s:O?, s:O?}", "id",
                                             event->id, "time", event->time, "by", event->by,
                                             "text", event->text, "account", event->account,
                                             "before", event->before, "after", event->after));
  }
  return array;
}

static json_t *
tool_json (WsArchive *archive, const char *tool, GError **error)
{
  g_autoptr (WsToolState) state = wsi_archive_tool_state (archive, tool, error);
  g_autoptr (GPtrArray) regrinds =
    state != NULL ? wsi_events_of (archive, WS_EVENT_REGRIND, tool, error) : NULL;
  g_autoptr (GPtrArray) cards =
    regrinds != NULL ? wsi_events_of (archive, WS_EVENT_CARD, tool, error) : NULL;
  if (cards == NULL)
    return NULL;
  return json_pack ("{s:s, s:o, s:o, s:o}", "tool", tool, "state", state_json (state), "regrinds",
                    events_json (regrinds), "card_changes", events_json (cards));
}

WsServeReply *
wsi_api_tool (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, request->ids[0], NULL);
  WsArchive *archive = wsi_serve_take (serve, &error);
  json_t *object = archive != NULL ? tool_json (archive, request->ids[0], &error) : NULL;
  wsi_serve_give (serve, archive);
  if (object == NULL)
    return wsi_serve_take_error (serve, request, error);
  json_object_set_new (object, "card", card != NULL ? wsi_cards_json (card) : json_null ());
  return wsi_reply_take_json (200, object);
}

/* ---- Values in time ------------------------------------------------------------------------- */

/* NULL with an error.  Free with g_ptr_array_unref(). */
static GPtrArray *
values_of (WsServe *serve, const WsServeRequest *request, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = request->ids[0];
  filter.quantity = wsi_request_query (request, "quantity");
  if (filter.quantity == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE, "name the quantity");
    return NULL;
  }
  WsArchive *archive = wsi_serve_take (serve, error);
  GPtrArray *values = archive != NULL ? ws_archive_values (archive, &filter, error) : NULL;
  wsi_serve_give (serve, archive);
  return values;
}

/* null for what isn't finite. */
static json_t *
number (double value)
{
  return isfinite (value) ? json_real (value) : json_null ();
}

WsServeReply *
wsi_api_values (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) values = values_of (serve, request, &error);
  if (values == NULL)
    return wsi_serve_take_error (serve, request, error);
  json_t *array = json_array ();
  for (guint i = 0; i < values->len; i++)
  {
    const WsArchiveValue *value = g_ptr_array_index (values, i);
    json_array_append_new (
      array, json_pack ("{s:s, s:s, s:b, s:s?, s:o, s:o, s:o, s:o}", "id", value->id, "time",
                        value->time, "reground", value->reground, "wrong", value->wrong, "value",
                        number (value->value), "U", number (value->U), "lower",
                        number (value->lower), "upper", number (value->upper)));
  }
  return wsi_reply_take_json (200, json_pack ("{s:o}", "values", array));
}

static GArray *
points_of (const GPtrArray *values)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsTrendPoint));
  for (guint i = 0; i < values->len; i++)
  {
    const WsArchiveValue *value = g_ptr_array_index (values, i);
    const WsTrendPoint point = { value->time,  value->value, value->U,
                                 value->lower, value->upper, value->reground };
    if (value->wrong == NULL && isfinite (value->value))
      g_array_append_val (points, point);
  }
  return points;
}

WsServeReply *
wsi_api_trend (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  const char *quantity = wsi_request_query (request, "quantity");
  g_autoptr (GPtrArray) values = values_of (serve, request, &error);
  if (values == NULL)
    return wsi_serve_take_error (serve, request, error);
  g_autoptr (GArray) points = points_of (values);
  if (points->len == 0)
    return wsi_serve_trouble (request, 404, "There are no values of this quantity.");
  g_autofree char *label = wsi_told_label (ws_view_lookup, "", quantity, NULL);
  g_autofree char *title = g_strdup_printf (_ ("%s of %s"), label, request->ids[0]);
  const char *unit = strrchr (quantity, '_');
  WsTrend trend = { .title = title,
                    .unit = unit != NULL ? unit + 1 : "",
                    .points = (const WsTrendPoint *)(void *)points->data,
                    .n = points->len };
  ws_trend_find_limits (&trend);
  g_autoptr (GBytes) chart = ws_trend_chart (&trend, WS_CHART_SVG, &error);
  if (chart == NULL)
    return wsi_serve_take_error (serve, request, error);
  return wsi_reply_chart (chart);
}

/* ---- The card ------------------------------------------------------------------------------- */

WsServeReply *
wsi_api_card (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  char *text = NULL;
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, request->ids[0], &error);
  if (card == NULL)
    return wsi_serve_take_error (serve, request, error);
  if (!g_file_get_contents (card->path, &text, NULL, NULL))
    return wsi_serve_trouble (request, 404, "The card is gone.");
  return wsi_reply_take_text (200, "text/plain; charset=utf-8", text);
}

WsServeReply *
wsi_api_set_card (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autofree char *by = wsi_intake_by (request);
  g_autofree char *text = wsi_request_field (request, "card");
  g_autofree char *reason = wsi_request_field (request, "text");
  const WsCardChange change = {
    .id = request->ids[0],
    .text = text,
    .by = by,
    .login = request->actor.account,
    .reason = reason,
    .may_limit = request->actor.role >= WS_ROLE_QUALITY,
  };
  if (text == NULL)
    return wsi_serve_trouble (request, 422, "Send the card's text as the field card.");
  WsArchive *archive = wsi_serve_take (serve, &error);
  gboolean denied = FALSE;
  const gboolean set =
    archive != NULL && wsi_cards_set (serve->settings.cards, archive, &change, &denied, &error);
  wsi_serve_give (serve, archive);
  if (denied)
    return wsi_serve_trouble (request, 403, "Limits are changed by the role quality.");
  if (!set)
    return wsi_serve_take_error (serve, request, error);
  if (request->is_api)
    return wsi_reply_take_json (200, json_pack ("{s:s}", "tool", request->ids[0]));
  g_autofree char *piece = g_uri_escape_string (request->ids[0], NULL, FALSE);
  return wsi_reply_take_location (g_strconcat ("/tools/", piece, NULL));
}
