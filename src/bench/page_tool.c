/*
 * A tool's life: its pictures, a quantity in time, before and after a regrind.
 */
#include <math.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "archive/event.h"
#include "archive/state.h"
#include "base/language.h"
#include "base/number.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "bench/regrinds.h"
#include "bench/shelf.h"
#include "report/history.h"
#include "report/told.h"
#include "report/words.h"

/* So many of its newest inspections are looked at, and so many pictures shown. */
#define LOOKED_AT 200
#define PICTURES_SHOWN 12

/* ---- What is left of it --------------------------------------------------------------------- */

static void
add_life (GString *html, const GPtrArray *shelf)
{
  g_autoptr (WsHistory) history = wsi_history_new (shelf);
  g_autofree char *length = wsi_history_length_words (history);
  wsi_html_add (html, "<section><h2>%s</h2>\n", _ ("Length and regrinds"));
  if (length != NULL)
    wsi_html_add (html, "<p>%s</p>\n", length);
  if (isfinite (history->left))
  {
    g_autofree char *left = wsi_number_format (floor (history->left), 0);
    wsi_html_add (html, "<p><strong>%s: %s</strong></p>\n", _ ("Regrinds left"), left);
  }
  else if (!isfinite (history->least))
    wsi_html_add (
      html, "<p>%s</p>\n",
      _ ("The card doesn't say how long the tool must stay (min_length), so it can't be "
         "told how many regrinds are left."));
  g_string_append (html, "</section>\n");
}

/* ---- A quantity in time --------------------------------------------------------------------- */

/* Its names in the records, in the order in which they are met; of char *. */
static GPtrArray *
quantities_of (const GPtrArray *shelf)
{
  g_autoptr (GHashTable) seen = g_hash_table_new (g_str_hash, g_str_equal);
  GPtrArray *names = g_ptr_array_new_with_free_func (g_free);
  for (guint i = shelf->len; i-- > 0;)
  {
    const char *name;
    json_t *entry;
    const WsInspection *inspection = g_ptr_array_index (shelf, i);
    json_t *record = inspection->wrong == NULL ? json_loads (inspection->record, 0, NULL) : NULL;
    json_object_foreach (json_object_get (record, "quantities"), name, entry)
    {
      char *kept = g_strdup (name);
      if (json_is_number (json_object_get (entry, "value")) && g_hash_table_add (seen, kept))
        g_ptr_array_add (names, kept);
      else
        g_free (kept);
    }
    json_decref (record);
  }
  return names;
}

/* What was asked for, else what was judged and wears the tool most. */
static const char *
choose (const WsServeRequest *request, const GPtrArray *shelf, const GPtrArray *names)
{
  const char *asked = wsi_request_query (request, "quantity");
  g_autoptr (WsHistory) history = wsi_history_new (shelf);
  const char *worn = history->wear->len > 0 ? g_array_index (history->wear, WsWear, 0).name : NULL;
  const char *chosen = g_ptr_array_index (names, 0);
  for (guint i = 0; i < names->len; i++)
    if (g_strcmp0 (g_ptr_array_index (names, i), worn) == 0)
      chosen = g_ptr_array_index (names, i);
  for (guint i = 0; i < names->len; i++)
    if (g_strcmp0 (g_ptr_array_index (names, i), asked) == 0)
      chosen = g_ptr_array_index (names, i);
  return chosen;
}

static void
add_quantities (GString *html, const GPtrArray *names, const char *chosen)
{
  wsi_html_add (html,
                "<form class=\"search\"><p><label for=\"quantity\">%s</label> <select "
                "id=\"quantity\" name=\"quantity\">",
                _ ("Quantity"));
  for (guint i = 0; i < names->len; i++)
  {
    const char *name = g_ptr_array_index (names, i);
    g_autofree char *label = wsi_told_label (ws_view_lookup, "", name, NULL);
    wsi_html_add (html, "<option value=\"%s\"%s>%s</option>", name,
                  name == chosen ? " selected" : "", label);
  }
  wsi_html_add (html, "</select></p> <p><button>%s</button></p></form>\n", _ ("Show"));
}

static void
add_value (GString *html, const WsTrendPoint *point)
{
  g_autofree char *time = wsi_words_local_time (point->time);
  g_autofree char *value = wsi_number_format (point->value, wsi_number_places (point->U));
  g_autofree char *U = wsi_number_format (point->U, wsi_number_places (point->U));
  wsi_html_add (html, "<tr><td>%s</td><td>%s ± %s</td><td>%s</td></tr>\n", time, value, U,
                point->reground ? _ ("first since a regrind") : "");
}

static void
add_values (GString *html, const GPtrArray *shelf, const char *quantity)
{
  WsTrend trend = { .title = "" };
  g_autoptr (GArray) points = wsi_history_trend (shelf, quantity, &trend);
  const char *const heads[] = { _ ("Time"), _ ("Value"), _ ("Regrind") };
  wsi_html_add (html,
                "<div class=\"wide\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table><thead><tr>",
                _ ("Values in time"));
  for (gsize i = 0; i < G_N_ELEMENTS (heads); i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
  for (guint i = points->len; i-- > 0;)
    add_value (html, &g_array_index (points, WsTrendPoint, i));
  g_string_append (html, "</tbody></table></div>\n");
}

static void
add_trend (GString *html, const WsServeRequest *request, const GPtrArray *shelf)
{
  g_autoptr (GPtrArray) names = quantities_of (shelf);
  if (names->len == 0)
    return;
  const char *chosen = choose (request, shelf, names);
  g_autofree char *piece = wsi_html_piece (request->ids[0]);
  g_autofree char *label = wsi_told_label (ws_view_lookup, "", chosen, NULL);
  wsi_html_add (html, "<section id=\"trend\"><h2>%s</h2>\n", _ ("In time"));
  add_quantities (html, names, chosen);
  wsi_html_add (html,
                "<p><img class=\"chart\" src=\"/api/tools/%s/trend.svg?quantity=%s\" alt=\"%s: "
                "%s\"></p>\n",
                piece, chosen, label, _ ("its values stand in the table below"));
  add_values (html, shelf, chosen);
  g_string_append (html, "</section>\n");
}

/* ---- What to do with it ---------------------------------------------------------------------- */

/* Good may mean "when it is honed": what a view's newest picture says to do, where that isn't
 * plain. */
static void
add_actions (GString *html, const WsToolState *state, const GPtrArray *shelf)
{
  for (guint i = 0; i < state->views->len; i++)
  {
    const WsViewState *view = &g_array_index (state->views, WsViewState, i);
    const WsInspection *newest = NULL;
    for (guint k = shelf->len; k-- > 0 && newest == NULL;)
    {
      const WsInspection *inspection = g_ptr_array_index (shelf, k);
      if (inspection->wrong == NULL && g_strcmp0 (inspection->view, view->view) == 0)
        newest = inspection;
    }
    json_t *record = newest != NULL ? json_loads (newest->record, 0, NULL) : NULL;
    const char *name = json_string_value (json_object_get (record, "action"));
    const char *action = wsi_words_action_named (name);
    if (action != NULL && g_strcmp0 (name, ws_action_name (WS_ACTION_USE)) != 0 &&
        g_strcmp0 (name, ws_action_name (WS_ACTION_OTHER_VIEWS)) != 0)
      wsi_html_add (html, "<p class=\"reason\"><a href=\"/inspections/%s\">%s</a>: %s</p>\n",
                    newest->id, view->view, _ (action));
    json_decref (record);
  }
}

/* ---- The page ------------------------------------------------------------------------------- */

static void
add_pictures (GString *html, const GPtrArray *shelf)
{
  guint n = 0;
  wsi_html_add (html, "<section><h2>%s</h2><div class=\"pair\">\n", _ ("Pictures, newest first"));
  for (guint i = shelf->len; i-- > 0 && n < PICTURES_SHOWN;)
  {
    const WsInspection *inspection = g_ptr_array_index (shelf, i);
    if (!wsi_html_has_figure (inspection))
      continue;
    wsi_html_figure (html, inspection, inspection->view);
    n++;
  }
  g_string_append (html, "</div></section>\n");
}

static void
add_events (GString *html, const GPtrArray *events, const char *title)
{
  if (events->len == 0)
    return;
  wsi_html_add (html, "<section><h2>%s</h2><ul>\n", title);
  for (guint i = events->len; i-- > 0;)
  {
    const WsEvent *event = g_ptr_array_index (events, i);
    g_autofree char *time = wsi_words_local_time (event->time);
    wsi_html_add (html, "<li>%s, %s: %s</li>\n", time, event->by, event->text);
  }
  g_string_append (html, "</ul></section>\n");
}

/* What the archive knows of it. */
typedef struct
{
  WsToolState *state;
  GPtrArray *shelf, *regrinds;
} Known;

static void
known_clear (Known *known)
{
  wsi_tool_state_free (known->state);
  g_clear_pointer (&known->shelf, g_ptr_array_unref);
  g_clear_pointer (&known->regrinds, g_ptr_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Known, known_clear)

static gboolean
read_known (WsServe *serve, const char *tool, Known *known, GError **error)
{
  WsArchive *archive = wsi_serve_take (serve, error);
  if (archive == NULL)
    return FALSE;
  known->state = wsi_archive_tool_state (archive, tool, error);
  if (known->state != NULL)
    known->shelf = wsi_shelf_of (archive, tool, LOOKED_AT, error);
  if (known->shelf != NULL)
    known->regrinds = wsi_events_of (archive, WS_EVENT_REGRIND, tool, error);
  wsi_serve_give (serve, archive);
  return known->regrinds != NULL;
}

static void
add_ways (GString *html, const WsServeRequest *request, gboolean has_card)
{
  g_autofree char *piece = wsi_html_piece (request->ids[0]);
  g_string_append (html, "<div class=\"next\">");
  if (has_card)
    wsi_html_add (html, "<a class=\"way main\" href=\"/measure/%s\">%s</a>\n", piece,
                  _ ("Measure"));
  wsi_html_add (html, "<a class=\"way\" href=\"/inspections?tool=%s\">%s</a>\n", piece,
                _ ("All inspections"));
  if (has_card)
    wsi_html_add (html, "<a class=\"way\" href=\"/labels.pdf?tool=%s\">%s</a>\n", piece,
                  _ ("Label (PDF)"));
  if (has_card)
  {
    wsi_html_add (html, "<form method=\"post\" action=\"/tools/%s/handovers\">", piece);
    wsi_html_token (html, request);
    wsi_html_add (html, "<button>%s</button></form>\n", _ ("Hand to the toolroom"));
  }
  g_string_append (html, "</div>\n");
}

WsServeReply *
wsi_page_tool (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_auto (Known) known = { 0 };
  const char *tool = request->ids[0];
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, tool, NULL);
  if (!read_known (serve, tool, &known, &error))
    return wsi_serve_take_error (serve, request, error);
  if (card == NULL && known.shelf->len == 0)
    return wsi_serve_trouble (request, 404, _ ("There is no such tool card."));
  g_autofree char *state = wsi_words_state (known.state);
  g_autofree char *words = card != NULL ? wsi_card_words (card->card) : NULL;
  GString *html = wsi_html_page (request, tool);
  wsi_html_add (html, "<h1>%s</h1>\n<p class=\"facts\">%s</p>\n", tool, words);
  if (known.shelf->len > 0)
    wsi_html_add (html, "<p class=\"action\">%s</p>\n", state);
  if (known.shelf->len > 0)
    add_actions (html, known.state, known.shelf);
  else
    wsi_html_add (html, "<p>%s</p>\n", _ ("It wasn't measured yet."));
  add_ways (html, request, card != NULL);
  if (known.shelf->len > 0)
  {
    add_life (html, known.shelf);
    add_events (html, known.regrinds, _ ("Ground"));
    wsi_regrinds_add (html, serve, request, known.shelf);
    add_trend (html, request, known.shelf);
    add_pictures (html, known.shelf);
  }
  return wsi_html_take_page (200, html);
}
