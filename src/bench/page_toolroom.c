/*
 * The toolroom: which tools wait to be ground, by how much, and that they were.
 */
#include <whetsight/error.h>

#include "base/language.h"
#include "base/told_text.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "bench/shelf.h"
#include "report/words.h"

static void
add_amounts (GString *html, const json_t *record)
{
  const json_t *advice = json_object_get (record, "advice");
  if (json_array_size (advice) == 0)
    return;
  g_string_append (html, "<ul>\n");
  for (gsize i = 0; i < json_array_size (advice); i++)
  {
    const json_t *entry = json_array_get (advice, i);
    g_autofree char *told =
      wsi_told_text (json_is_string (entry) ? json_string_value (entry)
                                            : json_string_value (json_object_get (entry, "text")));
    wsi_html_add (html, "<li>%s</li>\n", told);
  }
  g_string_append (html, "</ul>\n");
}

static void
add_why (GString *html, const WsWaiting *waiting)
{
  if (waiting->handed != NULL)
  {
    g_autofree char *time = wsi_words_local_time (waiting->handed);
    wsi_html_add (html, "<p class=\"facts\">%s: %s, %s</p>\n", _ ("Handed over by"),
                  waiting->handed_by, time);
  }
  if (waiting->inspection == NULL)
  {
    wsi_html_add (html, "<p>%s</p>\n",
                  _ ("No picture says what is to be ground; measure it first."));
    return;
  }
  add_amounts (html, waiting->record);
  wsi_html_add (html, "<p><a class=\"way\" href=\"/inspections/%s\">%s</a></p>\n",
                waiting->inspection->id, _ ("The picture"));
}

/* Who ground it is who is signed in; where nobody signs in, who says so. */
static void
add_ground_form (GString *html, const WsServeRequest *request, const char *tool, guint n)
{
  g_autofree char *piece = wsi_html_piece (tool);
  if (request->actor.role < WS_ROLE_TOOLROOM)
    return;
  wsi_html_add (html, "<form class=\"note\" method=\"post\" action=\"/tools/%s/regrinds\">", piece);
  wsi_html_token (html, request);
  if (request->actor.is_local)
    wsi_html_add (html,
                  "<label for=\"by%u\">%s</label> <input id=\"by%u\" name=\"by\" "
                  "autocomplete=\"name\" required>\n",
                  n, _ ("Ground by"), n);
  wsi_html_add (html,
                "<label for=\"text%u\">%s</label> <input id=\"text%u\" name=\"text\" required "
                "autocomplete=\"off\"> <button>%s</button></form>\n",
                n, _ ("What was ground off"), n, _ ("Mark as ground"));
}

static gboolean
add_tool (GString *html, const WsServeRequest *request, WsArchive *archive, const WsToolCard *card,
          guint *n, GError **error)
{
  WsWaiting waiting = { .waits = FALSE };
  const gboolean found = wsi_waiting_find (archive, card->id, &waiting, error);
  if (found && waiting.waits)
  {
    g_autofree char *words = wsi_card_words (card);
    g_autofree char *piece = wsi_html_piece (card->id);
    wsi_html_add (html, "<li class=\"job\"><h2><a href=\"/tools/%s\">%s</a> %s</h2>\n", piece,
                  card->id, words);
    add_why (html, &waiting);
    wsi_html_add (html, "<p><a class=\"way\" href=\"/api/tools/%s/grind-sheet.pdf\">%s</a></p>\n",
                  piece, _ ("Grind sheet (PDF)"));
    add_ground_form (html, request, card->id, (*n)++);
    g_string_append (html, "</li>\n");
  }
  wsi_waiting_clear (&waiting);
  return found;
}

WsServeReply *
wsi_page_toolroom (WsServe *serve, WsServeRequest *request)
{
  guint n = 0;
  GError *error = NULL;
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (GString) jobs = g_string_new (NULL);
  for (guint i = 0; i < cards->len && archive != NULL; i++)
  {
    const WsServeCard *card = g_ptr_array_index (cards, i);
    if (card->card != NULL && card->card->id != NULL &&
        !add_tool (jobs, request, archive, card->card, &n, &error))
      break;
  }
  wsi_serve_give (serve, archive);
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Toolroom"));
  wsi_html_add (html, "<h1>%s</h1>\n", _ ("To be ground"));
  if (jobs->len == 0)
    wsi_html_add (html, "<p role=\"status\">%s</p>\n", _ ("No tool waits to be ground."));
  else
    g_string_append_printf (html, "<ul class=\"jobs\">\n%s</ul>\n", jobs->str);
  wsi_html_add (html, "<p><a class=\"way\" href=\"/labels.pdf\">%s</a></p>\n",
                _ ("Labels to print (PDF)"));
  return wsi_html_take_page (200, html);
}
