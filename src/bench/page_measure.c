/*
 * From a tool to its pictures: which tool, which view, which files.
 */
#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "archive/state.h"
#include "base/language.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/intake.h"
#include "bench/pages.h"
#include "bench/prefer.h"
#include "bench/samples.h"

/* ---- Which tool ----------------------------------------------------------------------------- */

/* More tools than that are found by search. */
#define MOST_SHOWN 100

/* Of so many inspections the tools are shown as used last, and so many of them. */
#define LAST_LOOKED_AT 60
#define LAST_SHOWN 5

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
add_card (GString *html, const WsServeCard *card, const char *verdict)
{
  g_autofree char *words = wsi_card_words (card->card);
  g_autofree char *piece = wsi_html_piece (card->card->id);
  g_autofree char *href = g_strconcat ("/measure/", piece, NULL);
  wsi_html_tool (html, href, card->card->id, words, verdict);
}

static const WsServeCard *
card_of (const GPtrArray *cards, const char *id)
{
  for (guint i = 0; i < cards->len; i++)
  {
    const WsServeCard *card = g_ptr_array_index (cards, i);
    if (card->card != NULL && g_strcmp0 (card->card->id, id) == 0)
      return card;
  }
  return NULL;
}

static gboolean
keep_inspection (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  if (inspection->tool != NULL)
    g_ptr_array_add (data, g_strdup (inspection->tool));
  return TRUE;
}

/* The tools that were measured last, the newest first. */
static void
add_last_used (GString *html, WsServe *serve, const GPtrArray *cards)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  g_autoptr (GPtrArray) tools = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);
  WsArchive *archive = wsi_serve_take (serve, NULL);
  filter.last = LAST_LOOKED_AT;
  if (archive != NULL)
    ws_archive_each (archive, &filter, FALSE, keep_inspection, tools, NULL);
  wsi_serve_give (serve, archive);
  for (guint i = tools->len; i-- > 0 && g_hash_table_size (seen) < LAST_SHOWN;)
  {
    char *tool = g_ptr_array_index (tools, i);
    const WsServeCard *card = card_of (cards, tool);
    if (card == NULL || !g_hash_table_add (seen, tool))
      continue;
    if (g_hash_table_size (seen) == 1)
      wsi_html_add (html, "<h2>%s</h2>\n<ul class=\"tools\">\n", _ ("Measured last"));
    add_card (html, card, NULL);
  }
  if (g_hash_table_size (seen) > 0)
    g_string_append (html, "</ul>\n");
}

static void
add_all (GString *html, const GPtrArray *cards, const char *sought)
{
  guint n = 0;
  wsi_html_add (html, "<h2>%s</h2>\n<ul class=\"tools\" data-filter>\n",
                sought != NULL ? _ ("Found") : _ ("All tools"));
  for (guint i = 0; i < cards->len; i++)
  {
    const WsServeCard *card = g_ptr_array_index (cards, i);
    if (card->card == NULL || card->card->id == NULL ||
        (sought != NULL && !card_fits (card, sought)) || n++ >= MOST_SHOWN)
      continue;
    add_card (html, card, NULL);
  }
  g_string_append (html, "</ul>\n");
  if (n == 0)
    wsi_html_add (html, "<p role=\"status\">%s</p>\n", _ ("There is no such tool card."));
  if (n > MOST_SHOWN)
    wsi_html_add (html, "<p role=\"status\">%s</p>\n",
                  _ ("There are more of them: find the tool by a part of its name."));
}

/* The script goes on by itself. */
static void
add_scan (GString *html, const WsServeRequest *request)
{
  g_string_append (html, "<form class=\"scan search\" method=\"post\" action=\"/scan\" "
                         "enctype=\"multipart/form-data\">");
  wsi_html_token (html, request);
  wsi_html_add (html,
                "<label for=\"label\">%s</label> <input id=\"label\" name=\"label\" "
                "type=\"file\" accept=\"image/*\" capture=\"environment\" required> "
                "<button>%s</button></form>\n",
                _ ("Or its label"), _ ("Read the label"));
}

WsServeReply *
wsi_page_tools (WsServe *serve, WsServeRequest *request)
{
  g_autofree char *sought = wsi_request_field (request, "q");
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  GString *html = wsi_html_page (request, _ ("Measure"));
  wsi_html_add (html,
                "<h1>%s</h1>\n<form class=\"search\" role=\"search\"><label "
                "for=\"q\">%s</label> <input id=\"q\" name=\"q\" type=\"search\" value=\"%s\" "
                "autocomplete=\"off\"> <button>%s</button></form>\n",
                _ ("Which tool?"), _ ("Name, kind or size"), sought, _ ("Find"));
  add_scan (html, request);
  if (sought == NULL)
    add_last_used (html, serve, cards);
  add_all (html, cards, sought);
  return wsi_html_take_page (200, html);
}

/* ---- Which picture ----------------------------------------------------------------------------
 */

/* What is known of this view of the tool; WS_VERDICT_NONE for nothing. */
static WsVerdict
known_of (const WsToolState *state, const char *view)
{
  for (guint i = 0; state != NULL && i < state->views->len; i++)
  {
    const WsViewState *known = &g_array_index (state->views, WsViewState, i);
    if (g_str_equal (known->view, view))
      return known->verdict;
  }
  return WS_VERDICT_NONE;
}

/* The view that was asked for, else the first that isn't good yet. */
static const char *
choose_view (const WsServeRequest *request, const char *const *views, const WsToolState *state)
{
  const char *asked = wsi_request_query (request, "view");
  for (guint i = 0; views[i] != NULL; i++)
    if (g_strcmp0 (asked, views[i]) == 0)
      return views[i];
  for (guint i = 0; views[i] != NULL; i++)
    if (known_of (state, views[i]) != WS_VERDICT_ACCEPT)
      return views[i];
  return views[0];
}

static void
add_views (GString *html, const WsServeRequest *request, const WsToolCard *card,
           const WsToolState *state)
{
  g_autofree const char **views = wsi_card_views (card);
  const char *chosen = choose_view (request, views, state);
  wsi_html_add (html, "<fieldset><legend>%s</legend>\n", _ ("Seen from"));
  for (guint i = 0; views[i] != NULL; i++)
  {
    const WsVerdict verdict = known_of (state, views[i]);
    wsi_html_add (html,
                  "<label class=\"choice\"><input type=\"radio\" name=\"view\" value=\"%s\"%s> "
                  "<strong>%s</strong> <span>%s</span>",
                  views[i], views[i] == chosen ? " checked" : "", views[i],
                  _ (ws_view_find (views[i])->summary));
    if (verdict != WS_VERDICT_NONE)
      wsi_html_badge (html, ws_verdict_name (verdict));
    g_string_append (html, "</label>\n");
  }
  g_string_append (html, "</fieldset>\n");
}

static void
add_file (GString *html, const char *id, const char *label, const char *more)
{
  wsi_html_add (html,
                "<p class=\"file\"><label for=\"%s\">%s</label> <input id=\"%s\" name=\"picture\" "
                "type=\"file\" accept=\"image/*\" %s></p>\n",
                id, label, id, more);
}

/* What the script says while pictures are on their way. */
static void
add_script_words (GString *html)
{
  const struct
  {
    const char *name, *words;
  } texts[] = {
    { "sending", _ ("Sending") },
    { "measuring", _ ("Measuring") },
    { "busy", _ ("Busy; trying again in # s") },
    { "failed", _ ("It didn't arrive. Is the computer on? Try again.") },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    wsi_html_add (html, " data-%s=\"%s\"", texts[i].name, texts[i].words);
  const char *const verdicts[] = { "accept", "undecided", "reject", "retake", "none" };
  for (gsize i = 0; i < G_N_ELEMENTS (verdicts); i++)
    wsi_html_add (html, " data-%s=\"%s\"", verdicts[i], wsi_html_verdict_word (verdicts[i]));
}

/* Of a study, which says who is to measure; NULL elsewhere. */
static const char *
who (const WsServeRequest *request)
{
  return request->actor.is_local ? wsi_request_query (request, "by") : NULL;
}

static void
add_who (GString *html, const WsServeRequest *request)
{
  if (who (request) != NULL)
    wsi_html_add (html, "<input type=\"hidden\" name=\"by\" value=\"%s\">", who (request));
}

/* Where the card says how long it is or must stay, its history counts the regrinds that are left.
 */
static void
add_length (GString *html, const WsServeRequest *request, const WsToolCard *card)
{
  if (!isfinite (card->length_mm) && !isfinite (card->min_length_mm))
    return;
  const gboolean inches = wsi_prefer_inches (request);
  wsi_html_add (html,
                "<p><label for=\"length\">%s, %s</label> <input id=\"length\" name=\"%s\" "
                "inputmode=\"decimal\" autocomplete=\"off\"></p>\n",
                _ ("The tool's length by hand, if you measured it"), inches ? "in" : "mm",
                inches ? "length_in" : "length");
}

static void
add_form (GString *html, const WsServeRequest *request, const WsToolCard *card,
          const WsToolState *state)
{
  g_autofree char *piece = wsi_html_piece (card->id);
  wsi_html_add (html,
                "<form class=\"measure\" method=\"post\" action=\"/measure/%s\" "
                "enctype=\"multipart/form-data\" data-upload=\"/api/tools/%s/inspections\"",
                piece, piece);
  add_script_words (html);
  g_string_append (html, ">\n");
  wsi_html_token (html, request);
  add_who (html, request);
  if (who (request) != NULL)
    wsi_html_add (html, "<p class=\"facts\">%s: %s</p>\n", _ ("Measured by"), who (request));
  add_file (html, "camera", _ ("Take the picture"), "capture=\"environment\"");
  add_file (html, "picture", _ ("Or choose pictures"), "multiple");
  wsi_html_add (html,
                "<p><button class=\"main\">%s</button></p>\n<ul class=\"progress\" "
                "aria-live=\"polite\"></ul>\n",
                _ ("Measure"));
  add_views (html, request, card, state);
  wsi_html_add (html,
                "<p><label class=\"choice\"><input type=\"checkbox\" name=\"reground\" "
                "value=\"yes\"> %s</label></p>\n",
                _ ("Just reground"));
  add_length (html, request, card);
  g_string_append (html, "</form>\n");
}

static void
add_samples (GString *html, WsServe *serve, const WsServeRequest *request, const WsToolCard *card)
{
  g_autofree char *piece = wsi_html_piece (card->id);
  g_autoptr (GPtrArray) samples = wsi_samples_of (serve->settings.samples, card->id);
  if (samples->len == 0)
    return;
  wsi_html_add (html, "<h2>%s</h2>\n<ul class=\"samples\">\n", _ ("Pictures of the demo"));
  for (guint i = 0; i < samples->len; i++)
  {
    const WsSample *sample = g_ptr_array_index (samples, i);
    wsi_html_add (html, "<li><form method=\"post\" action=\"/measure/%s\">", piece);
    wsi_html_token (html, request);
    add_who (html, request);
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
  WsArchive *archive = card != NULL ? wsi_serve_take (serve, &error) : NULL;
  g_autoptr (WsToolState) state =
    archive != NULL ? wsi_archive_tool_state (archive, card->card->id, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (state == NULL)
    return wsi_serve_take_error (serve, request, error);
  g_autofree char *words = wsi_card_words (card->card);
  g_autofree char *piece = wsi_html_piece (card->card->id);
  GString *html = wsi_html_page (request, card->card->id);
  wsi_html_add (html,
                "<h1>%s</h1>\n<p class=\"facts\">%s. <a href=\"/inspections?tool=%s\">%s</a></p>\n",
                card->card->id, words, piece, _ ("All of this tool"));
  if (serve->eye != NULL)
    wsi_html_add (html, "<p><a class=\"way main\" href=\"/measure/%s/live\">%s</a></p>\n", piece,
                  _ ("Look through the bench camera"));
  add_form (html, request, card->card, state);
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
    return wsi_serve_trouble (request, 422, _ ("No picture was sent. Go back and choose one."));
  return wsi_reply_take_location (location_of (request, ids));
}
