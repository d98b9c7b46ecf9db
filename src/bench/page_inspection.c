/*
 * What came of a picture, to be read from two metres; and the list of all.
 */
#include <string.h>

#include <jansson.h>
#include <whetsight/error.h>
#include <whetsight/view.h>

#include "base/number.h"
#include "bench/html.h"
#include "bench/listing.h"
#include "bench/pages.h"
#include "report/told.h"
#include "report/words.h"

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

static const char *
verdict_word (const char *verdict)
{
  for (int i = WS_VERDICT_ACCEPT; verdict != NULL && i <= WS_VERDICT_RETAKE; i++)
    if (g_str_equal (verdict, ws_verdict_name ((WsVerdict)i)))
      return wsi_words_verdict ((WsVerdict)i);
  return wsi_words_verdict (WS_VERDICT_NONE);
}

/* ---- The verdict ---------------------------------------------------------------------------- */

static void
add_verdict (GString *html, const WsInspection *inspection, const json_t *record)
{
  const char *action = wsi_words_action_named (text_at (record, "action"));
  const char *aside = text_at (record, "set_aside");
  g_autofree char *reason = wsi_told_reason (ws_view_lookup, inspection->view, record);
  wsi_html_add (html, "<section class=\"verdict %s\" aria-label=\"Verdict\">",
                inspection->verdict != NULL ? inspection->verdict : "none");
  wsi_html_shape (html, inspection->verdict);
  wsi_html_add (html, "<h1>%s</h1></section>\n", verdict_word (inspection->verdict));
  if (*reason != '\0')
    wsi_html_add (html, "<p class=\"reason\">%s</p>\n", reason);
  if (action != NULL)
    wsi_html_add (html, "<p class=\"action\">%s%s%s</p>\n", action, aside != NULL ? " " : "",
                  aside);
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
    wsi_html_add (html, "<li>%s</li>\n",
                  json_is_string (entry) ? json_string_value (entry) : text_at (entry, "text"));
  }
  g_string_append (html, "</ul></section>\n");
}

static void
add_ways_on (GString *html, const WsInspection *inspection)
{
  if (inspection->tool == NULL)
    return;
  g_autofree char *piece = wsi_html_piece (inspection->tool);
  wsi_html_add (html,
                "<p class=\"next\"><a class=\"main\" href=\"/measure/%s?view=%s\">Measure "
                "again</a> <a href=\"/inspections?tool=%s\">All of this tool</a></p>\n",
                piece, inspection->view, piece);
}

static void
add_picture (GString *html, const WsInspection *inspection)
{
  if (!inspection->has_pictures || inspection->annotated == NULL)
    return;
  wsi_html_add (
    html,
    "<p class=\"picture\"><a href=\"/api/inspections/%s/picture\"><img "
    "src=\"/api/inspections/%s/picture\" alt=\"The picture with what was found drawn on "
    "it\"></a></p>\n",
    inspection->id, inspection->id);
}

static void
add_quantity (GString *html, const char *view, const char *name, const json_t *entry)
{
  const WsQuantityInfo *info;
  const char *verdict = text_at (entry, "verdict");
  const double U = json_number_value (json_object_get (entry, "U"));
  g_autofree char *label = wsi_told_label (ws_view_lookup, view, name, &info);
  g_autofree char *value =
    json_is_number (json_object_get (entry, "value"))
      ? wsi_number_format (json_number_value (json_object_get (entry, "value")),
                           wsi_number_places (U))
      : g_strdup ("unknown");
  g_autofree char *U_text = json_is_number (json_object_get (entry, "U"))
                              ? wsi_number_format (U, wsi_number_places (U))
                              : NULL;
  const char *unit = strrchr (name, '_');
  wsi_html_add (
    html, "<tr><th scope=\"row\">%s</th><td>%s%s%s</td><td>%s</td><td class=\"%s\">%s</td></tr>\n",
    label, value, U_text != NULL ? " ± " : "", U_text, unit != NULL ? unit + 1 : "", verdict,
    verdict);
}

static void
add_quantities (GString *html, const WsInspection *inspection, const json_t *record)
{
  const char *name;
  json_t *entry, *quantities = json_object_get (record, "quantities");
  if (json_object_size (quantities) == 0)
    return;
  g_string_append (html,
                   "<section><h2>Measured</h2><div class=\"wide\"><table>\n<thead><tr><th "
                   "scope=\"col\">Quantity</th><th scope=\"col\">Value</th><th "
                   "scope=\"col\">Unit</th><th scope=\"col\">Verdict</th></tr></thead><tbody>\n");
  json_object_foreach (quantities, name, entry)
  {
    add_quantity (html, inspection->view, name, entry);
  }
  g_string_append (html, "</tbody></table></div></section>\n");
}

static void
add_notes (GString *html, const WsInspection *inspection)
{
  if (inspection->notes == NULL || inspection->notes->len == 0)
    return;
  g_string_append (html, "<section><h2>Added to it</h2><ul>\n");
  for (guint i = 0; i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    g_autofree char *time = wsi_words_local_time (note->time);
    wsi_html_add (html, "<li><strong>%s</strong> by %s, %s: %s</li>\n",
                  ws_note_kind_name (note->kind), note->by, time, note->text);
  }
  g_string_append (html, "</ul></section>\n");
}

static void
add_inspection (GString *html, const WsInspection *inspection)
{
  json_t *record = json_loads (inspection->record, 0, NULL);
  g_autofree char *time = wsi_words_local_time (inspection->time);
  add_verdict (html, inspection, record);
  wsi_html_add (html, "<p class=\"facts\">%s, %s, %s</p>\n",
                inspection->tool != NULL ? inspection->tool : inspection->kind, inspection->view,
                time);
  add_list (html, "What to do", json_object_get (record, "advice"));
  add_list (html, "Take care", json_object_get (record, "cautions"));
  add_ways_on (html, inspection);
  add_picture (html, inspection);
  add_quantities (html, inspection, record);
  add_list (html, "What was found", json_object_get (record, "findings"));
  add_notes (html, inspection);
  json_decref (record);
}

WsServeReply *
wsi_page_inspection (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (WsInspection) inspection =
    archive != NULL ? ws_archive_find (archive, request->ids[0], &error) : NULL;
  wsi_serve_give (serve, archive);
  if (inspection == NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html =
    wsi_html_page (request, inspection->tool != NULL ? inspection->tool : "Inspection");
  if (inspection->wrong != NULL)
    wsi_html_add (
      html,
      "<h1>Not as it was written</h1>\n<p role=\"alert\">%s. Nothing of it is shown as a "
      "result.</p>\n",
      inspection->wrong);
  else
    add_inspection (html, inspection);
  return wsi_html_take_page (200, html);
}

/* ---- The list ------------------------------------------------------------------------------- */

static void
add_row (GString *html, const WsInspection *inspection)
{
  g_autofree char *time = wsi_words_local_time (inspection->time);
  if (inspection->wrong != NULL)
  {
    wsi_html_add (html,
                  "<tr><td><a href=\"/inspections/%s\">%s</a></td><td colspan=\"3\">not as it was "
                  "written</td></tr>\n",
                  inspection->id, time);
    return;
  }
  wsi_html_add (html,
                "<tr><td><a href=\"/inspections/%s\">%s</a></td><td>%s</td><td>%s</td><td "
                "class=\"%s\">%s</td></tr>\n",
                inspection->id, time, inspection->tool != NULL ? inspection->tool : "no card",
                inspection->view, inspection->verdict, verdict_word (inspection->verdict));
}

static void
add_older (GString *html, const WsServeRequest *request, const GPtrArray *found)
{
  const char *tool = wsi_request_query (request, "tool");
  const char *verdict = wsi_request_query (request, "verdict");
  if (found->len < WSI_LISTING_USUAL)
    return;
  const WsInspection *last = g_ptr_array_index (found, found->len - 1);
  g_autofree char *before = g_strdup_printf ("%" G_GUINT64_FORMAT, last->number);
  g_autofree char *tool_piece = wsi_html_piece (tool != NULL ? tool : "");
  g_autofree char *verdict_piece = wsi_html_piece (verdict != NULL ? verdict : "");
  wsi_html_add (
    html, "<p><a href=\"/inspections?before=%s&amp;tool=%s&amp;verdict=%s\">Older ones</a></p>\n",
    before, tool_piece, verdict_piece);
}

WsServeReply *
wsi_page_inspections (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (GPtrArray) found =
    archive != NULL ? wsi_listing_find (archive, request, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (found == NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, "Inspections");
  wsi_html_add (
    html,
    "<h1>Inspections</h1>\n<form class=\"search\"><label for=\"tool\">Tool</label> <input "
    "id=\"tool\" name=\"tool\" value=\"%s\"> <button>Find</button></form>\n"
    "<div class=\"wide\"><table>\n<thead><tr><th scope=\"col\">Time</th><th "
    "scope=\"col\">Tool</th><th scope=\"col\">View</th><th scope=\"col\">Verdict</th></tr>"
    "</thead><tbody>\n",
    wsi_request_query (request, "tool"));
  for (guint i = 0; i < found->len; i++)
    add_row (html, g_ptr_array_index (found, i));
  g_string_append (html, "</tbody></table></div>\n");
  if (found->len == 0)
    g_string_append (html, "<p>There are none.</p>\n");
  add_older (html, request, found);
  return wsi_html_take_page (200, html);
}
