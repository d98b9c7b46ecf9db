/*
 * The list of all inspections.
 */
#include <whetsight/error.h>

#include "base/language.h"
#include "bench/html.h"
#include "bench/listing.h"
#include "bench/pages.h"
#include "report/words.h"

static void
add_row (GString *html, const WsInspection *inspection)
{
  g_autofree char *time = wsi_words_local_time (inspection->time);
  if (inspection->wrong != NULL)
  {
    wsi_html_add (html,
                  "<tr><td><a href=\"/inspections/%s\">%s</a></td><td colspan=\"3\">%s</td></tr>\n",
                  inspection->id, time, _ ("Not as it was written"));
    return;
  }
  wsi_html_add (
    html,
    "<tr><td><a href=\"/inspections/%s\">%s</a></td><td>%s</td><td>%s</td><td class=\"last\">",
    inspection->id, time, inspection->tool != NULL ? inspection->tool : _ ("no card"),
    inspection->view);
  wsi_html_badge (html, inspection->verdict);
  g_string_append (html, "</td></tr>\n");
}

static const char *const filters[] = { "tool", "view", "verdict", "from", "to" };

/* "&amp;tool=…": what is looked for, for links. */
static void
add_filters (GString *html, const WsServeRequest *request)
{
  for (gsize i = 0; i < G_N_ELEMENTS (filters); i++)
  {
    const char *text = wsi_request_query (request, filters[i]);
    g_autofree char *piece = wsi_html_piece (text != NULL ? text : "");
    if (*piece != '\0')
      wsi_html_add (html, "&amp;%s=%s", filters[i], piece);
  }
}

static void
add_older (GString *html, const WsServeRequest *request, const GPtrArray *found)
{
  if (found->len < WSI_LISTING_USUAL)
    return;
  const WsInspection *last = g_ptr_array_index (found, found->len - 1);
  g_autofree char *before = g_strdup_printf ("%" G_GUINT64_FORMAT, last->number);
  wsi_html_add (html, "<p><a class=\"way\" href=\"/inspections?before=%s", before);
  add_filters (html, request);
  wsi_html_add (html, "\">%s</a></p>\n", _ ("Older ones"));
}

/* All that is found, not this page of it. */
static void
add_export (GString *html, const WsServeRequest *request)
{
  wsi_html_add (html, "<p><a class=\"way\" href=\"/inspections.csv?last=0");
  add_filters (html, request);
  wsi_html_add (html, "\">%s</a></p>\n", _ ("Export (CSV)"));
}

static void
add_field (GString *html, const WsServeRequest *request, const char *name, const char *label)
{
  const char *type = g_str_equal (name, "from") || g_str_equal (name, "to") ? "date" : "text";
  wsi_html_add (html,
                "<p><label for=\"%s\">%s</label> <input id=\"%s\" name=\"%s\" type=\"%s\" "
                "value=\"%s\"></p>\n",
                name, label, name, name, type, wsi_request_query (request, name));
}

static void
add_verdicts (GString *html, const WsServeRequest *request)
{
  const char *chosen = wsi_request_query (request, "verdict");
  const char *const verdicts[] = { "accept", "undecided", "reject", "retake" };
  wsi_html_add (html,
                "<p><label for=\"verdict\">%s</label> <select id=\"verdict\" "
                "name=\"verdict\"><option value=\"\">%s</option>",
                _ ("Verdict"), _ ("all"));
  for (gsize i = 0; i < G_N_ELEMENTS (verdicts); i++)
    wsi_html_add (html, "<option value=\"%s\"%s>%s</option>", verdicts[i],
                  g_strcmp0 (verdicts[i], chosen) == 0 ? " selected" : "",
                  wsi_html_verdict_word (verdicts[i]));
  g_string_append (html, "</select></p>\n");
}

static void
add_search (GString *html, const WsServeRequest *request)
{
  g_string_append (html, "<form class=\"search\" role=\"search\">\n");
  add_field (html, request, "tool", _ ("Tool"));
  add_field (html, request, "view", _ ("View"));
  add_verdicts (html, request);
  add_field (html, request, "from", _ ("From"));
  add_field (html, request, "to", _ ("To"));
  wsi_html_add (html, "<p><button>%s</button></p></form>\n", _ ("Find"));
}

static void
add_table (GString *html, const GPtrArray *found)
{
  const char *const heads[] = { _ ("Time"), _ ("Tool"), _ ("View"), _ ("Verdict") };
  wsi_html_add (html,
                "<div class=\"wide flow\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table>\n<thead><tr>",
                _ ("Inspections"));
  for (gsize i = 0; i < G_N_ELEMENTS (heads); i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
  for (guint i = 0; i < found->len; i++)
    add_row (html, g_ptr_array_index (found, i));
  g_string_append (html, "</tbody></table></div>\n");
}

WsServeReply *
wsi_page_inspections (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) found = wsi_listing_find (serve, request, &error);
  if (found == NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Inspections"));
  wsi_html_add (html, "<h1>%s</h1>\n", _ ("Inspections"));
  add_search (html, request);
  if (found->len > 0)
    add_table (html, found);
  else
    wsi_html_add (html, "<p role=\"status\">%s</p>\n", _ ("There are none."));
  add_older (html, request, found);
  add_export (html, request);
  return wsi_html_take_page (200, html);
}
