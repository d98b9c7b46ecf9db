/*
 * What came of a picture, to be read from two metres.
 */
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "archive/note.h"
#include "archive/state.h"
#include "base/language.h"
#include "base/number.h"
#include "base/told_text.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "bench/prefer.h"
#include "report/told.h"
#include "report/words.h"

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

/* ---- The verdict ---------------------------------------------------------------------------- */

static WsVerdict
verdict_of (const char *name)
{
  for (int i = WS_VERDICT_ACCEPT; name != NULL && i <= WS_VERDICT_RETAKE; i++)
    if (g_str_equal (name, ws_verdict_name ((WsVerdict)i)))
      return (WsVerdict)i;
  return WS_VERDICT_NONE;
}

/* One word for two metres, one sentence why, one what to do. */
static void
add_verdict (GString *html, const WsInspection *inspection, const json_t *record)
{
  const char *action = wsi_words_action_named (text_at (record, "action"));
  const char *aside = text_at (record, "set_aside");
  g_autofree char *told = wsi_told_reason (ws_view_lookup, inspection->view, record);
  const char *reason = *told != '\0' ? told : wsi_words_meaning (verdict_of (inspection->verdict));
  wsi_html_add (html, "<section class=\"verdict %s\" aria-label=\"%s\">",
                inspection->verdict != NULL ? inspection->verdict : "none", _ ("Verdict"));
  wsi_html_shape (html, inspection->verdict);
  wsi_html_add (html, "<h1>%s</h1></section>\n", wsi_html_verdict_word (inspection->verdict));
  g_autofree char *why = wsi_told_text (reason);
  g_autofree char *aside_told = wsi_told_text (aside);
  if (*why != '\0')
    wsi_html_add (html, "<p class=\"reason\">%s</p>\n", why);
  if (action != NULL)
    wsi_html_add (html, "<p class=\"action\">%s%s%s</p>\n", _ (action), aside != NULL ? " " : "",
                  aside_told);
}

static void
add_list (GString *html, const char *title, const json_t *list)
{
  if (json_array_size (list) == 0)
    return;
  wsi_html_add (html, "<section><h2>%s</h2><ul>\n", title);
  for (gsize i = 0; i < json_array_size (list); i++)
  {
    const json_t *entry = json_array_get (list, i);
    g_autofree char *told =
      wsi_told_text (json_is_string (entry) ? json_string_value (entry) : text_at (entry, "text"));
    wsi_html_add (html, "<li>%s</li>\n", told);
  }
  g_string_append (html, "</ul></section>\n");
}

/* The card's next view that isn't good yet; NULL when there is none, or the card asks for none. */
static const char *
next_view (const WsInspection *inspection, const WsToolCard *card, const WsToolState *state)
{
  for (char **view = card != NULL ? card->views : NULL; view != NULL && *view != NULL; view++)
  {
    gboolean is_good = g_str_equal (*view, inspection->view);
    for (guint i = 0; i < state->views->len && !is_good; i++)
    {
      const WsViewState *known = &g_array_index (state->views, WsViewState, i);
      is_good = g_str_equal (known->view, *view) && known->verdict == WS_VERDICT_ACCEPT;
    }
    if (!is_good)
      return *view;
  }
  return NULL;
}

static void
add_handover (GString *html, const WsServeRequest *request, const char *piece)
{
  wsi_html_add (html, "<form method=\"post\" action=\"/tools/%s/handovers\">", piece);
  wsi_html_token (html, request);
  wsi_html_add (html, "<button>%s</button></form>\n", _ ("Hand to the toolroom"));
}

static void
add_ways_on (GString *html, const WsServeRequest *request, const WsInspection *inspection,
             const char *next)
{
  if (inspection->tool == NULL)
    return;
  g_autofree char *piece = wsi_html_piece (inspection->tool);
  const gboolean is_done = g_strcmp0 (inspection->verdict, "accept") == 0;
  const char *main_class = is_done && next != NULL ? "" : "main";
  wsi_html_add (html,
                "<div class=\"next\"><a class=\"way %s\" href=\"/measure/%s?view=%s\">%s</a>\n",
                main_class, piece, inspection->view, _ ("Measure again"));
  if (next != NULL)
    wsi_html_add (html, "<a class=\"way %s\" href=\"/measure/%s?view=%s\">%s: %s</a>\n",
                  is_done ? "main" : "", piece, next, _ ("Next view"), next);
  if (g_strcmp0 (inspection->verdict, "reject") == 0)
    add_handover (html, request, piece);
  wsi_html_add (
    html, "<a class=\"way\" href=\"/tools/%s\">%s</a>\n<a class=\"way\" href=\"/\">%s</a></div>\n",
    piece, _ ("This tool"), _ ("Another tool"));
}

/* The script makes it larger in its place; without it the picture opens by itself. */
static void
add_picture (GString *html, const WsInspection *inspection)
{
  if (!inspection->has_pictures || inspection->annotated == NULL)
    return;
  wsi_html_add (html,
                "<section class=\"picture\" data-larger=\"%s\" data-smaller=\"%s\"><h2>%s</h2>\n",
                _ ("Larger"), _ ("Smaller"), _ ("The picture"));
  wsi_html_add (html,
                "<div class=\"pan\" tabindex=\"0\" role=\"region\" aria-label=\"%s\"><a "
                "href=\"/api/inspections/%s/picture\"><img src=\"/api/inspections/%s/picture\" "
                "alt=\"%s\"></a></div>\n",
                _ ("The picture, to be moved"), inspection->id, inspection->id,
                _ ("The picture with what was found drawn on it"));
  wsi_html_add (html,
                "<p><a class=\"way\" href=\"/api/inspections/%s/original\">%s</a> <a class=\"way\" "
                "href=\"/api/inspections/%s/report.pdf\">%s</a></p></section>\n",
                inspection->id, _ ("As it was taken"), inspection->id, _ ("Report (PDF)"));
}

#define MM_AN_INCH 25.4

/* "6.488 ± 0.004", in the unit that is shown; "" when unknown.  Free with g_free(). */
static char *
value_text (const json_t *entry, const char *key, double unit, gboolean with_U)
{
  const json_t *value = json_object_get (entry, key), *U = json_object_get (entry, "U");
  const double uncertainty = json_number_value (U) / unit;
  const guint places = json_is_number (U) ? wsi_number_places (uncertainty) : 3;
  if (!json_is_number (value))
    return g_strdup ("");
  g_autofree char *text = wsi_number_format (json_number_value (value) / unit, places);
  if (!with_U || !json_is_number (U))
    return g_steal_pointer (&text);
  g_autofree char *U_text = wsi_number_format (uncertainty, places);
  return g_strconcat (text, " ± ", U_text, NULL);
}

static char *
limits_text (const json_t *entry, double unit)
{
  g_autofree char *lower = value_text (entry, "lower", unit, FALSE);
  g_autofree char *upper = value_text (entry, "upper", unit, FALSE);
  return *lower == '\0' && *upper == '\0' ? g_strdup ("")
                                          : g_strconcat (lower, " .. ", upper, NULL);
}

static void
add_quantity (GString *html, const char *view, const char *name, const json_t *entry,
              gboolean inches)
{
  const char *verdict = text_at (entry, "verdict");
  const char *suffix = strrchr (name, '_');
  const char *shown = suffix != NULL ? suffix + 1 : "";
  const gboolean convert = inches && g_str_equal (shown, "mm");
  const double unit = convert ? MM_AN_INCH : 1;
  g_autofree char *label = wsi_told_label (ws_view_lookup, view, name, NULL);
  g_autofree char *value = value_text (entry, "value", unit, TRUE);
  g_autofree char *limits = limits_text (entry, unit);
  wsi_html_add (html, "<tr><th scope=\"row\">%s</th><td>%s</td><td>%s</td>", label,
                *value != '\0' ? value : _ ("unknown"), convert ? "in" : shown);
  if (*limits != '\0')
    wsi_html_add (html, "<td data-head=\"%s\">%s</td>", _ ("Limits"), limits);
  else
    g_string_append (html, "<td></td>");
  g_string_append (html, "<td class=\"last\">");
  if (verdict != NULL)
    wsi_html_badge (html, verdict);
  g_string_append (html, "</td></tr>\n");
}

static void
add_quantities (GString *html, const WsServeRequest *request, const WsInspection *inspection,
                const json_t *record)
{
  const char *name;
  json_t *entry, *quantities = json_object_get (record, "quantities");
  if (json_object_size (quantities) == 0)
    return;
  const char *const heads[] = { _ ("Quantity"), _ ("Value"), _ ("Unit"), _ ("Limits"),
                                _ ("Verdict") };
  wsi_html_add (html,
                "<section><h2>%s</h2><div class=\"wide flow\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table>\n<thead><tr>",
                _ ("Measured"), _ ("Measured"));
  for (gsize i = 0; i < G_N_ELEMENTS (heads); i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
  json_object_foreach (quantities, name, entry)
  {
    add_quantity (html, inspection->view, name, entry, wsi_prefer_inches (request));
  }
  g_string_append (html, "</tbody></table></div></section>\n");
}

static void
add_note_form (GString *html, const WsServeRequest *request, const char *id, const char *kind,
               const char *label)
{
  wsi_html_add (html, "<form class=\"note\" method=\"post\" action=\"/inspections/%s/%s\">", id,
                kind);
  wsi_html_token (html, request);
  wsi_html_add (html,
                "<label for=\"%s\">%s</label> <input id=\"%s\" name=\"text\" required "
                "autocomplete=\"off\"> <button>%s</button></form>\n",
                kind, label, kind, _ ("Write it down"));
}

/* A green verdict doesn't stand alone above what is worse now. */
static void
add_worse (GString *html, const WsInspection *inspection)
{
  const WsNote *worse = wsi_archive_worse (inspection);
  if (worse == NULL)
    return;
  g_autofree char *time = wsi_words_local_time (worse->time);
  g_autofree char *words = wsi_note_told (worse, time);
  wsi_html_add (html, "<p class=\"trouble\">%s</p>\n", words);
}

static void
add_notes (GString *html, const WsServeRequest *request, const WsInspection *inspection)
{
  wsi_html_add (html, "<section><h2>%s</h2>\n", _ ("Added to it"));
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    g_autofree char *time = wsi_words_local_time (note->time);
    g_autofree char *words = wsi_note_told (note, time);
    wsi_html_add (html, "<p>%s</p>\n", words);
  }
  add_note_form (html, request, inspection->id, "comments", _ ("Comment"));
  const WsVerdict verdict = verdict_of (inspection->verdict);
  if (request->actor.role >= WS_ROLE_QUALITY && verdict != WS_VERDICT_RETAKE)
    add_note_form (html, request, inspection->id, "sign-offs", _ ("Sign the verdict off"));
  if (request->actor.role >= WS_ROLE_QUALITY &&
      (verdict == WS_VERDICT_REJECT || verdict == WS_VERDICT_UNDECIDED))
    add_note_form (html, request, inspection->id, "releases",
                   _ ("Release against the verdict, because"));
  g_string_append (html, "</section>\n");
}

/* What the whole tool is by all its views. */
static void
add_state (GString *html, const WsToolState *state)
{
  g_autofree char *words = wsi_words_state (state);
  wsi_html_add (html, "<p class=\"facts\">%s: %s</p>\n", _ ("The tool by all its views"), words);
}

static void
add_inspection (GString *html, const WsServeRequest *request, const WsInspection *inspection,
                const WsToolState *state, const char *next)
{
  json_t *record = json_loads (inspection->record, 0, NULL);
  g_autofree char *time = wsi_words_local_time (inspection->time);
  add_verdict (html, inspection, record);
  add_worse (html, inspection);
  wsi_html_add (html, "<p class=\"facts\">%s, %s, %s</p>\n",
                inspection->tool != NULL ? inspection->tool : inspection->kind, inspection->view,
                time);
  add_ways_on (html, request, inspection, next);
  add_list (html, _ ("What to do"), json_object_get (record, "advice"));
  add_list (html, _ ("Take care"), json_object_get (record, "cautions"));
  if (state != NULL)
    add_state (html, state);
  add_picture (html, inspection);
  add_quantities (html, request, inspection, record);
  add_list (html, _ ("What was found"), json_object_get (record, "findings"));
  add_notes (html, request, inspection);
  json_decref (record);
}

WsServeReply *
wsi_page_inspection (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (WsInspection) inspection =
    archive != NULL ? ws_archive_find (archive, request->ids[0], &error) : NULL;
  g_autoptr (WsToolState) state = inspection != NULL && inspection->tool != NULL
                                    ? wsi_archive_tool_state (archive, inspection->tool, &error)
                                    : NULL;
  wsi_serve_give (serve, archive);
  if (error != NULL)
    return wsi_serve_take_error (serve, request, error);
  g_autoptr (WsServeCard) card =
    state != NULL ? wsi_cards_find (serve->settings.cards, inspection->tool, NULL) : NULL;
  const char *next = card != NULL ? next_view (inspection, card->card, state) : NULL;
  GString *html =
    wsi_html_page (request, inspection->tool != NULL ? inspection->tool : _ ("Inspection"));
  if (inspection->wrong != NULL)
    wsi_html_add (html, "<h1>%s</h1>\n<p role=\"alert\">%s. %s</p>\n", _ ("Not as it was written"),
                  inspection->wrong, _ ("Nothing of it is shown as a result."));
  else
    add_inspection (html, request, inspection, state, next);
  return wsi_html_take_page (200, html);
}
