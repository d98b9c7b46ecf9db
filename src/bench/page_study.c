/*
 * A gauge study, picture by picture: every operator measures every tool equally often.  Nothing is
 * kept of it: the address says what is studied, the archive what was measured since.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/study.h>
#include <whetsight/view.h>

#include "archive/store.h"
#include "base/language.h"
#include "bench/api.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "report/study.h"
#include "report/told.h"

#define MOST_NAMES 20
#define LEAST_TRIALS 2
#define MOST_TRIALS 10
#define USUAL_TRIALS 3

/* ---- What is studied ----------------------------------------------------------------------------
 */

typedef struct
{
  const char *quantity, *from;  /* borrowed of the request */
  GPtrArray *tools, *operators; /* of char * */
  guint trials;
  GArray *values; /* of double, [(tool x operators + operator) x trials + trial]; NAN: not yet */
} Asked;

static void
asked_clear (Asked *asked)
{
  g_clear_pointer (&asked->tools, g_ptr_array_unref);
  g_clear_pointer (&asked->operators, g_ptr_array_unref);
  g_clear_pointer (&asked->values, g_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Asked, asked_clear)

static void
add_name (GPtrArray *names, const char *name)
{
  g_autofree char *stripped = g_strstrip (g_strdup (name));
  if (*stripped != '\0' && names->len <= MOST_NAMES &&
      !g_ptr_array_find_with_equal_func (names, stripped, g_str_equal, NULL))
    g_ptr_array_add (names, g_steal_pointer (&stripped));
}

static GPtrArray *
split_names (const char *text)
{
  GPtrArray *names = g_ptr_array_new_with_free_func (g_free);
  g_auto (GStrv) pieces = g_strsplit (text != NULL ? text : "", ",", MOST_NAMES + 2);
  for (char **piece = pieces; *piece != NULL; piece++)
    add_name (names, *piece);
  return names;
}

#define TICKED "tool:" /* a form's boxes, since each needs a name of its own */

static gint
by_name (gconstpointer a, gconstpointer b)
{
  return g_strcmp0 (*(const char *const *)a, *(const char *const *)b);
}

static GPtrArray *
tools_of (const WsServeRequest *request)
{
  GHashTableIter iter;
  gpointer key;
  GPtrArray *tools = split_names (wsi_request_query (request, "tools"));
  g_hash_table_iter_init (&iter, request->query);
  while (g_hash_table_iter_next (&iter, &key, NULL))
    if (g_str_has_prefix (key, TICKED))
      add_name (tools, (const char *)key + strlen (TICKED));
  g_ptr_array_sort (tools, by_name);
  return tools;
}

static gboolean
is_enough (const GPtrArray *names)
{
  return names->len >= 2 && names->len <= MOST_NAMES;
}

static gboolean
read_asked (const WsServeRequest *request, Asked *asked, GError **error)
{
  asked->quantity = wsi_request_query (request, "quantity");
  asked->from = wsi_request_query (request, "from");
  asked->tools = tools_of (request);
  asked->operators = split_names (wsi_request_query (request, "operators"));
  asked->trials = (guint)wsi_request_count (request, "trials", MOST_TRIALS, USUAL_TRIALS);
  if (asked->quantity != NULL && is_enough (asked->tools) && is_enough (asked->operators) &&
      asked->trials >= LEAST_TRIALS)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               _ ("Choose a quantity, 2 tools or more, and 2 operators or more with commas between "
                  "them, %d of each at most; each measures each tool 2 to 10 times."),
               MOST_NAMES);
  return FALSE;
}

/* ---- What was measured --------------------------------------------------------------------------
 */

static double *
cell (const Asked *asked, guint tool, guint who)
{
  return &g_array_index (asked->values, double,
                         (tool * asked->operators->len + who) * asked->trials);
}

static guint
done_in (const Asked *asked, guint tool, guint who)
{
  guint n = 0;
  while (n < asked->trials && isfinite (cell (asked, tool, who)[n]))
    n++;
  return n;
}

static void
take (const Asked *asked, guint tool, const WsInspection *inspection)
{
  guint who;
  double value;
  json_t *record = inspection->wrong == NULL ? json_loads (inspection->record, 0, NULL) : NULL;
  const char *by = json_string_value (json_object_get (record, "measured_by"));
  if (by != NULL && g_strcmp0 (inspection->verdict, "retake") != 0 &&
      g_ptr_array_find_with_equal_func (asked->operators, by, g_str_equal, &who) &&
      ws_archive_value (inspection, asked->quantity, &value) && isfinite (value))
  {
    const guint n = done_in (asked, tool, who);
    if (n < asked->trials)
      cell (asked, tool, who)[n] = value;
  }
  json_decref (record);
}

static gboolean
gather (WsServe *serve, Asked *asked, GError **error)
{
  const double none = NAN;
  gboolean done = TRUE;
  asked->values = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < asked->tools->len * asked->operators->len * asked->trials; i++)
    g_array_append_val (asked->values, none);
  WsArchive *archive = wsi_serve_take (serve, error);
  done = archive != NULL;
  for (guint tool = 0; done && tool < asked->tools->len; tool++)
  {
    WsArchiveFilter filter = WS_ARCHIVE_ALL;
    filter.tool = g_ptr_array_index (asked->tools, tool);
    filter.from = asked->from;
    g_autoptr (GPtrArray) found = wsi_store_find_all (archive, &filter, error);
    done = found != NULL;
    for (guint i = 0; done && i < found->len; i++)
      take (asked, tool, g_ptr_array_index (found, i));
  }
  wsi_serve_give (serve, archive);
  return done;
}

/* The cell with the fewest, in turns, so that nobody measures one tool over and over.  FALSE when
 * all is done. */
static gboolean
find_next (const Asked *asked, guint *tool, guint *who)
{
  guint least = asked->trials;
  for (guint o = 0; o < asked->operators->len; o++)
    for (guint t = 0; t < asked->tools->len; t++)
      if (done_in (asked, t, o) < least)
      {
        least = done_in (asked, t, o);
        *tool = t;
        *who = o;
      }
  return least < asked->trials;
}

static gboolean
conclude (const Asked *asked, WsStudy *study, GError **error)
{
  return ws_study_crossed ((const double *)(void *)asked->values->data, asked->tools->len,
                           asked->operators->len, asked->trials, WS_STUDY_POOL, study, error);
}

/* ---- The page -----------------------------------------------------------------------------------
 */

static void
add_quantities (GString *html)
{
  wsi_html_add (html,
                "<p><label for=\"quantity\">%s</label> <select id=\"quantity\" "
                "name=\"quantity\">",
                _ ("Quantity"));
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
  {
    if ((*view)->series != NULL)
      continue;
    wsi_html_add (html, "<optgroup label=\"%s\">", (*view)->name);
    for (gsize i = 0; i < (*view)->n_quantities; i++)
    {
      const WsQuantityInfo *info = &(*view)->quantities[i];
      if (strstr (info->stem, "_N") != NULL)
        continue;
      g_autofree char *name =
        g_strdup_printf ("%s_%s", info->stem, ws_unit_suffix (info->unit, TRUE));
      wsi_html_add (html, "<option value=\"%s\">%s</option>", name, _ (info->label));
    }
    g_string_append (html, "</optgroup>");
  }
  g_string_append (html, "</select></p>\n");
}

static void
add_tools (GString *html, const WsServe *serve)
{
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  wsi_html_add (html, "<fieldset><legend>%s</legend>\n", _ ("Tools: spread as the shop's are"));
  for (guint i = 0; i < cards->len; i++)
  {
    const WsServeCard *card = g_ptr_array_index (cards, i);
    if (card->card == NULL || card->card->id == NULL)
      continue;
    g_autofree char *words = wsi_card_words (card->card);
    wsi_html_add (html,
                  "<label class=\"choice\"><input type=\"checkbox\" name=\"" TICKED
                  "%s\" value=\"yes\"> <strong>%s</strong> <span>%s</span></label>\n",
                  card->card->id, card->card->id, words);
  }
  g_string_append (html, "</fieldset>\n");
}

static WsServeReply *
begin (const WsServe *serve, const WsServeRequest *request)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  GString *html = wsi_html_page (request, _ ("Gauge study"));
  wsi_html_add (html, "<h1>%s</h1>\n<p>%s</p>\n<form method=\"get\" action=\"/quality/study\">\n",
                _ ("Gauge study"),
                _ ("How much of the spread of measured values comes from measuring: every operator "
                   "measures every tool equally often, set up anew each time."));
  wsi_html_add (html, "<input type=\"hidden\" name=\"from\" value=\"%s\">\n", time);
  add_quantities (html);
  wsi_html_add (html,
                "<p><label for=\"operators\">%s</label> <input id=\"operators\" "
                "name=\"operators\" required autocomplete=\"off\"></p>\n<p><label "
                "for=\"trials\">%s</label> <input id=\"trials\" name=\"trials\" "
                "inputmode=\"numeric\" value=\"%u\"></p>\n",
                _ ("Operators, with commas between them"),
                _ ("How often each measures each tool, 2 to 10"), (guint)USUAL_TRIALS);
  add_tools (html, serve);
  wsi_html_add (html, "<p><button class=\"main\">%s</button></p></form>\n", _ ("Begin"));
  return wsi_html_take_page (200, html);
}

/* The card's view that measures it, or NULL. */
static const char *
view_for (const WsServe *serve, const char *tool, const char *quantity)
{
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, tool, NULL);
  g_autofree const char **views = card != NULL ? wsi_card_views (card->card) : NULL;
  for (guint i = 0; views != NULL && views[i] != NULL; i++)
    if (ws_view_lookup (views[i], quantity) != NULL)
      return views[i];
  return NULL;
}

static void
add_next (GString *html, const WsServe *serve, const WsServeRequest *request, const Asked *asked,
          guint t, guint o)
{
  const char *tool = g_ptr_array_index (asked->tools, t);
  const char *who = g_ptr_array_index (asked->operators, o);
  const char *view = view_for (serve, tool, asked->quantity);
  g_autofree char *tool_piece = wsi_html_piece (tool);
  g_autofree char *who_piece = wsi_html_piece (who);
  wsi_html_add (html, "<p class=\"action\">%s: %s, %s</p>\n<p>%s</p>\n", _ ("Next"), tool, who,
                request->actor.is_local
                  ? _ ("Set the tool up anew, as always; measure; come back to this page.")
                  : _ ("Signed in by that name: set the tool up anew, as always; measure; come "
                       "back to this page."));
  if (view == NULL)
    wsi_html_add (html, "<p class=\"trouble\">%s</p>\n",
                  _ ("No view of this tool measures that quantity."));
  else
    wsi_html_add (html,
                  "<p><a class=\"way main\" href=\"/measure/%s?view=%s&amp;by=%s\">%s</a></p>\n",
                  tool_piece, view, who_piece, _ ("Measure"));
}

static void
add_cells (GString *html, const Asked *asked)
{
  wsi_html_add (html,
                "<section><h2>%s</h2><div class=\"wide\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table><thead><tr><th scope=\"col\">%s</th>",
                _ ("Measured so far"), _ ("Measured so far"), _ ("Tool"));
  for (guint o = 0; o < asked->operators->len; o++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>",
                  (const char *)g_ptr_array_index (asked->operators, o));
  g_string_append (html, "</tr></thead><tbody>\n");
  for (guint t = 0; t < asked->tools->len; t++)
  {
    wsi_html_add (html, "<tr><th scope=\"row\">%s</th>",
                  (const char *)g_ptr_array_index (asked->tools, t));
    for (guint o = 0; o < asked->operators->len; o++)
    {
      const guint n = done_in (asked, t, o);
      wsi_html_add (html, "<td>%u %s %u%s</td>", n, _ ("of"), asked->trials,
                    n == asked->trials ? " ✓" : "");
    }
    g_string_append (html, "</tr>\n");
  }
  g_string_append (html, "</tbody></table></div></section>\n");
}

static void
add_outcome (GString *html, const Asked *asked)
{
  WsStudy study;
  g_autoptr (GError) error = NULL;
  if (!conclude (asked, &study, &error))
  {
    wsi_html_add (html, "<p class=\"trouble\">%s</p>\n", error->message);
    return;
  }
  g_autofree char *text = ws_study_text (&study, WS_STUDY_POOL, 0);
  g_autofree char *share = g_strdup_printf ("%.1f %%", study.percent_study[WS_STUDY_GAUGE]);
  /* Values that repeat exactly say nothing of the gauge, as the text does. */
  if (!wsi_study_repeats_exactly (&study))
    wsi_html_add (html, "<p class=\"action\">%s: %s</p>\n<p>%s: %u</p>\n",
                  _ ("The gauge's share of the spread"), share,
                  _ ("Classes of tools that it tells apart"), study.categories);
  wsi_html_add (html, "<pre class=\"wide\" tabindex=\"0\">%s</pre>\n", text);
}

WsServeReply *
wsi_page_study (WsServe *serve, WsServeRequest *request)
{
  guint tool = 0, who = 0;
  GError *error = NULL;
  g_auto (Asked) asked = { 0 };
  if (wsi_request_query (request, "quantity") == NULL)
    return begin (serve, request);
  if (!read_asked (request, &asked, &error) || !gather (serve, &asked, &error))
    return wsi_serve_take_error (serve, request, error);
  g_autofree char *label = wsi_told_label (ws_view_lookup, "", asked.quantity, NULL);
  GString *html = wsi_html_page (request, _ ("Gauge study"));
  wsi_html_add (html, "<h1>%s: %s</h1>\n<p class=\"facts\">%s</p>\n", _ ("Gauge study"), label,
                _ ("This page's address is the study: keep it to go on later."));
  if (find_next (&asked, &tool, &who))
    add_next (html, serve, request, &asked, tool, who);
  else
    add_outcome (html, &asked);
  add_cells (html, &asked);
  wsi_html_add (html, "<p><a class=\"way\" href=\"/quality\">%s</a></p>\n", _ ("Back"));
  return wsi_html_take_page (200, html);
}

/* ---- For programs -------------------------------------------------------------------------------
 */

static json_t *
cells_json (const Asked *asked)
{
  json_t *cells = json_array ();
  for (guint t = 0; t < asked->tools->len; t++)
    for (guint o = 0; o < asked->operators->len; o++)
      json_array_append_new (cells, json_pack ("{s:s, s:s, s:i}", "tool",
                                               g_ptr_array_index (asked->tools, t), "operator",
                                               g_ptr_array_index (asked->operators, o), "done",
                                               (int)done_in (asked, t, o)));
  return cells;
}

WsServeReply *
wsi_api_study (WsServe *serve, WsServeRequest *request)
{
  WsStudy study;
  guint t = 0, o = 0;
  GError *error = NULL;
  g_auto (Asked) asked = { 0 };
  if (!read_asked (request, &asked, &error) || !gather (serve, &asked, &error))
    return wsi_serve_take_error (serve, request, error);
  json_t *object = json_pack ("{s:s, s:i, s:o}", "quantity", asked.quantity, "trials",
                              (int)asked.trials, "cells", cells_json (&asked));
  if (find_next (&asked, &t, &o))
    json_object_set_new (object, "next",
                         json_pack ("{s:s, s:s}", "tool", g_ptr_array_index (asked.tools, t),
                                    "operator", g_ptr_array_index (asked.operators, o)));
  else if (conclude (&asked, &study, NULL))
  {
    g_autofree char *text = ws_study_json (&study, WS_STUDY_POOL, 0);
    json_object_set_new (object, "study", json_loads (text, 0, NULL));
  }
  return wsi_reply_take_json (200, object);
}
