/*
 * From a tool to its pictures: which tool, which view, which files.
 */
#include <string.h>

#include <whetsight/error.h>

#include "bench/cards.h"
#include "bench/html.h"
#include "bench/intake.h"
#include "bench/pages.h"
#include "bench/samples.h"

/* ---- Which tool ----------------------------------------------------------------------------- */

static gboolean
card_fits (const WsServeCard *card, const char *sought)
{
  g_autofree char *words = wsi_card_words (card->card);
  g_autofree char *text = g_strconcat (card->card->id, " ", words, NULL);
  g_autofree char *small = g_utf8_strdown (text, -1);
  g_autofree char *small_sought = g_utf8_strdown (sought, -1);
  return strstr (small, small_sought) != NULL;
}

static void
add_card (GString *html, const WsServeCard *card)
{
  g_autofree char *words = wsi_card_words (card->card);
  g_autofree char *piece = wsi_html_piece (card->card->id);
  wsi_html_add (html,
                "<li><a class=\"tool\" href=\"/measure/%s\"><strong>%s</strong> "
                "<span>%s</span></a></li>\n",
                piece, card->card->id, words);
}

WsServeReply *
wsi_page_tools (WsServe *serve, WsServeRequest *request)
{
  g_autofree char *sought = wsi_request_field (request, "q");
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  GString *html = wsi_html_page (request, "Measure");
  wsi_html_add (
    html,
    "<h1>Which tool?</h1>\n<form class=\"search\" role=\"search\"><label for=\"q\">Find a "
    "tool</label> <input id=\"q\" name=\"q\" type=\"search\" value=\"%s\" "
    "autocomplete=\"off\"> <button>Find</button></form>\n<ul class=\"tools\">\n",
    sought);
  guint n = 0;
  for (guint i = 0; i < cards->len; i++)
  {
    const WsServeCard *card = g_ptr_array_index (cards, i);
    if (card->card == NULL || card->card->id == NULL ||
        (sought != NULL && !card_fits (card, sought)))
      continue;
    add_card (html, card);
    n++;
  }
  g_string_append (html, "</ul>\n");
  if (n == 0)
    g_string_append (html, "<p>There is no such tool card.</p>\n");
  return wsi_html_take_page (200, html);
}

/* ---- Which picture ----------------------------------------------------------------------------
 */

static void
add_views (GString *html, const WsToolCard *card, const char *chosen)
{
  g_autofree const char **views = wsi_card_views (card);
  g_string_append (html, "<fieldset><legend>Seen from</legend>\n");
  for (guint i = 0; views[i] != NULL; i++)
  {
    const WsView *view = ws_view_find (views[i]);
    const gboolean is_it = chosen != NULL ? g_str_equal (chosen, views[i]) : i == 0;
    wsi_html_add (html,
                  "<label class=\"choice\"><input type=\"radio\" name=\"view\" value=\"%s\"%s> "
                  "<strong>%s</strong> <span>%s</span></label>\n",
                  views[i], is_it ? " checked" : "", views[i], view->summary);
  }
  g_string_append (html, "</fieldset>\n");
}

static void
add_form (GString *html, const WsServeRequest *request, const WsToolCard *card)
{
  g_autofree char *piece = wsi_html_piece (card->id);
  g_autofree char *chosen = wsi_request_field (request, "view");
  wsi_html_add (html,
                "<form class=\"measure\" method=\"post\" action=\"/measure/%s\" "
                "enctype=\"multipart/form-data\">\n",
                piece);
  wsi_html_token (html, request);
  add_views (html, card, chosen);
  g_string_append (
    html, "<p><label for=\"picture\">Picture</label> <input id=\"picture\" name=\"picture\" "
          "type=\"file\" accept=\"image/*\" multiple required></p>\n"
          "<p><label class=\"choice\"><input type=\"checkbox\" name=\"reground\" value=\"yes\"> "
          "Just reground</label></p>\n"
          "<p><button class=\"main\">Measure</button></p>\n</form>\n");
}

static void
add_samples (GString *html, WsServe *serve, const WsServeRequest *request, const WsToolCard *card)
{
  g_autofree char *piece = wsi_html_piece (card->id);
  g_autoptr (GPtrArray) samples = wsi_samples_of (serve->settings.samples, card->id);
  if (samples->len == 0)
    return;
  g_string_append (html, "<h2>Pictures of the demo</h2>\n<ul class=\"samples\">\n");
  for (guint i = 0; i < samples->len; i++)
  {
    const WsSample *sample = g_ptr_array_index (samples, i);
    wsi_html_add (html, "<li><form method=\"post\" action=\"/measure/%s\">", piece);
    wsi_html_token (html, request);
    wsi_html_add (html,
                  "<input type=\"hidden\" name=\"sample\" value=\"%s\"><input type=\"hidden\" "
                  "name=\"view\" value=\"%s\"><button>%s</button></form></li>\n",
                  sample->file, sample->view, sample->what);
  }
  g_string_append (html, "</ul>\n");
}

WsServeReply *
wsi_page_measure (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, request->ids[0], &error);
  if (card == NULL)
    return wsi_serve_take_error (serve, request, error);
  g_autofree char *words = wsi_card_words (card->card);
  GString *html = wsi_html_page (request, card->card->id);
  wsi_html_add (html, "<h1>%s</h1>\n<p>%s</p>\n", card->card->id, words);
  add_form (html, request, card->card);
  add_samples (html, serve, request, card->card);
  return wsi_html_take_page (200, html);
}

/* ---- What was sent ----------------------------------------------------------------------------
 */

/* Adds where each was archived; FALSE with the first that couldn't be. */
static gboolean
measure_all (WsServe *serve, const WsServeRequest *request, GPtrArray *ids, GError **error)
{
  for (guint i = 0; i < request->parts->len; i++)
  {
    g_auto (WsIntake) intake = { 0 };
    const WsServePart *part = g_ptr_array_index (request->parts, i);
    if (!g_str_equal (part->name, "picture") || part->n_bytes == 0)
      continue;
    if (!wsi_intake_measure (serve, request, part, &intake, error))
      return FALSE;
    g_ptr_array_add (ids, g_steal_pointer (&intake.id));
  }
  return TRUE;
}

/* One's page, or the list with all of this tool. */
static char *
location_of (const WsServeRequest *request, const GPtrArray *ids)
{
  g_autofree char *piece =
    wsi_html_piece (ids->len == 1 ? g_ptr_array_index (ids, 0) : request->ids[0]);
  return ids->len == 1 ? g_strconcat ("/inspections/", piece, NULL)
                       : g_strdup_printf ("/inspections?tool=%s", piece);
}

WsServeReply *
wsi_page_upload (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (WsIntake) intake = { 0 };
  g_autofree char *sample = wsi_request_field (request, "sample");
  g_autoptr (GPtrArray) ids = g_ptr_array_new_with_free_func (g_free);
  if (sample != NULL && wsi_intake_sample (serve, request, sample, &intake, &error))
    g_ptr_array_add (ids, g_steal_pointer (&intake.id));
  else if (sample == NULL)
    measure_all (serve, request, ids, &error);
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  if (ids->len == 0)
    return wsi_serve_trouble (request, 422, "No picture was sent. Go back and choose one.");
  return wsi_reply_take_location (location_of (request, ids));
}
