/*
 * Through the bench's camera: its picture with the edge drawn and what is to be done next, and the
 * picture taken when it is good and still.
 */
#include <stdlib.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>

#include "base/language.h"
#include "base/told_text.h"
#include "bench/api.h"
#include "bench/cards.h"
#include "bench/eye.h"
#include "bench/html.h"
#include "bench/intake.h"
#include "bench/own_bench.h"
#include "bench/pages.h"

/* ---- What is asked for ---------------------------------------------------------------------- */

typedef struct
{
  WsServeCard *card;
  WsSetup setup;
  WsEyeTask task;
} Asked;

static void
asked_clear (Asked *asked)
{
  wsi_card_free (asked->card);
  wsi_setup_clear (&asked->setup);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Asked, asked_clear)

/* The card's view of that name that is a silhouette, else its first one. */
static const WsView *
view_of (const WsToolCard *card, const char *name)
{
  g_autofree const char **views = wsi_card_views (card);
  for (guint pass = 0; pass < 2; pass++)
    for (guint i = 0; views[i] != NULL; i++)
    {
      const WsView *view = ws_view_find (views[i]);
      if (!(view->needs & WS_IMAGE_COLOUR) && (pass == 1 || g_strcmp0 (views[i], name) == 0))
        return view;
    }
  return NULL;
}

static gboolean
read_asked (const WsServe *serve, const WsServeRequest *request, Asked *asked, GError **error)
{
  gboolean due;
  g_autofree char *name = wsi_request_field (request, "view");
  if (serve->eye == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                         _ ("There is no bench camera; whetsight serve --camera names one."));
    return FALSE;
  }
  asked->card = wsi_cards_find (serve->settings.cards, request->ids[0], error);
  if (asked->card == NULL)
    return FALSE;
  asked->task.view = view_of (asked->card->card, name);
  if (asked->task.view == NULL)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                         _ ("Silhouettes alone are looked at live; send a picture of this view."));
    return FALSE;
  }
  if (!wsi_setup_find (serve->settings.cards, asked->card->card->id, asked->task.view->name,
                       WSI_TAKEN_NAME, &asked->setup, error) ||
      !wsi_own_bench_complete (serve, WSI_TAKEN_NAME, &asked->setup, &due, error))
    return FALSE;
  asked->task.card = asked->card->path;
  asked->task.calibration = asked->setup.calibration;
  return TRUE;
}

/* ---- Frames --------------------------------------------------------------------------------- */

/* Its line of JSON with other words; NULL where that can't be. */
static GBytes *
in_this_language (GBytes *frame)
{
  gsize n;
  const char *bytes = g_bytes_get_data (frame, &n);
  const char *end = memchr (bytes, '\n', n);
  json_t *line = end != NULL ? json_loadb (bytes, (gsize)(end - bytes), 0, NULL) : NULL;
  if (line == NULL)
    return NULL;
  g_autofree char *told = wsi_told_text (json_string_value (json_object_get (line, "text")));
  json_object_set_new (line, "text", json_string (told));
  char *text = json_dumps (line, JSON_COMPACT | JSON_REAL_PRECISION (15));
  GByteArray *whole = g_byte_array_new ();
  g_byte_array_append (whole, (const guint8 *)text, (guint)strlen (text));
  g_byte_array_append (whole, (const guint8 *)end, (guint)(n - (gsize)(end - bytes)));
  free (text);
  json_decref (line);
  return g_byte_array_free_to_bytes (whole);
}

WsServeReply *
wsi_live_reply (GBytes *frame)
{
  g_autoptr (GBytes) told = wsi_language_count () > 0 ? in_this_language (frame) : NULL;
  return wsi_reply_bytes (200, "application/octet-stream", told != NULL ? told : frame);
}

WsServeReply *
wsi_api_live (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Asked) asked = { 0 };
  const guint64 after = wsi_request_count (request, "after", G_MAXINT64, 0);
  g_autoptr (GBytes) frame = read_asked (serve, request, &asked, &error)
                               ? wsi_eye_next (serve->eye, &asked.task, after, &error)
                               : NULL;
  return frame != NULL ? wsi_live_reply (frame) : wsi_serve_take_error (serve, request, error);
}

WsServeReply *
wsi_api_take (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Asked) asked = { 0 };
  g_auto (WsIntake) intake = { 0 };
  g_autofree char *number = wsi_request_field (request, "frame");
  const guint64 frame = number != NULL ? g_ascii_strtoull (number, NULL, 10) : 0;
  g_autoptr (GBytes) picture = read_asked (serve, request, &asked, &error)
                                 ? wsi_eye_take (serve->eye, &asked.task, frame, &error)
                                 : NULL;
  if (picture == NULL ||
      !wsi_intake_bytes (serve, request, WSI_TAKEN_NAME, picture, &intake, &error))
    return wsi_serve_take_error (serve, request, error);
  WsServeReply *reply =
    wsi_reply_take_text (201, "application/json", g_steal_pointer (&intake.record));
  reply->location = g_strconcat ("/api/inspections/", intake.id, NULL);
  return reply;
}

/* ---- The page ------------------------------------------------------------------------------- */

static void
add_script_words (GString *html)
{
  const struct
  {
    const char *name, *words;
  } texts[] = {
    { "taken", N_ ("Taken; measuring") },
    { "waiting", N_ ("Waiting for the camera") },
    { "speed", N_ ("# frames a second") },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    wsi_html_add (html, " data-%s=\"%s\"", texts[i].name, _ (texts[i].words));
}

WsServeReply *
wsi_page_live (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Asked) asked = { 0 };
  if (!read_asked (serve, request, &asked, &error))
    return wsi_serve_take_error (serve, request, error);
  const char *id = asked.card->card->id, *view = asked.task.view->name;
  g_autofree char *piece = wsi_html_piece (id);
  GString *html = wsi_html_page (request, id);
  wsi_html_add (html,
                "<h1>%s, %s</h1>\n<section class=\"live\" data-live=\"/api/tools/%s/live?view=%s\" "
                "data-take=\"/api/tools/%s/live/inspections\" data-view=\"%s\"",
                id, view, piece, view, piece, view);
  add_script_words (html);
  g_string_append (html, ">\n");
  wsi_html_token (html, request);
  wsi_html_add (
    html,
    "<p class=\"hint\" role=\"status\"><span class=\"arrow\" aria-hidden=\"true\"></span> "
    "<span class=\"words\">%s</span></p>\n<canvas class=\"eye\" role=\"img\" "
    "aria-label=\"%s\" width=\"1280\" height=\"960\"></canvas>\n<p class=\"facts\"></p>\n",
    _ ("Waiting for the camera"), _ ("The camera's picture with the edge drawn on it"));
  wsi_html_add (html,
                "<noscript><p class=\"trouble\">%s</p></noscript>\n<div class=\"next\"><button "
                "class=\"main\" type=\"button\">%s</button> <a class=\"way\" "
                "href=\"/measure/%s?view=%s\">%s</a></div></section>\n",
                _ ("The live picture needs scripts; send a picture instead."), _ ("Take it now"),
                piece, view, _ ("Send a picture instead"));
  return wsi_html_take_page (200, html);
}
