/*
 * Before and after a regrind: both pictures, their outlines laid on each other, and what was taken
 * off in a table.
 */
#include <math.h>

#include <whetsight/error.h>

#include "base/language.h"
#include "base/number.h"
#include "bench/api.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "bench/prefer.h"
#include "bench/regrinds.h"
#include "bench/shelf.h"

#define LOOKED_AT 200
#define MM_AN_INCH 25.4

/* ---- The page's section -----------------------------------------------------------------------
 */

/* "0.34 ± 0.02 mm"; free with g_free(). */
static char *
length_text (const json_t *object, const char *key, const WsServeRequest *request)
{
  const gboolean inches = wsi_prefer_inches (request);
  const double unit = inches ? MM_AN_INCH : 1;
  const double value = json_number_value (json_object_get (object, key)) / unit;
  const double U = json_number_value (json_object_get (object, "U_mm")) / unit;
  g_autofree char *number = wsi_number_format (value, wsi_number_places (U));
  g_autofree char *around = wsi_number_format (U, wsi_number_places (U));
  return g_strdup_printf ("%s ± %s %s", number, around, inches ? "in" : "mm");
}

static char *
plain_text (const json_t *object, const char *key, const WsServeRequest *request)
{
  const gboolean inches = wsi_prefer_inches (request);
  const double value = json_number_value (json_object_get (object, key));
  g_autofree char *number =
    wsi_number_format (fabs (inches ? value / MM_AN_INCH : value), inches ? 3 : 2);
  return g_strconcat (number, inches ? " in" : " mm", NULL);
}

/* "1.20 mm left, 0.80 mm behind the tip"; free with g_free(). */
static char *
where_text (const json_t *place, const WsServeRequest *request)
{
  g_autofree char *across = plain_text (place, "x_mm", request);
  g_autofree char *back = plain_text (place, "y_mm", request);
  const gboolean is_left = json_number_value (json_object_get (place, "x_mm")) < 0;
  const gboolean is_ahead = json_number_value (json_object_get (place, "y_mm")) < 0;
  return g_strdup_printf ("%s %s, %s %s", across, is_left ? _ ("to the left") : _ ("to the right"),
                          back, is_ahead ? _ ("ahead") : _ ("behind"));
}

static void
add_place (GString *html, const json_t *place, guint number, gboolean is_least,
           const WsServeRequest *request)
{
  const gboolean stands_out = json_is_true (json_object_get (place, "stands_out"));
  g_autofree char *depth = length_text (place, "depth_mm", request);
  g_autofree char *where = where_text (place, request);
  g_autofree char *length = plain_text (place, "length_mm", request);
  wsi_html_add (html, "<tr><th scope=\"row\">%u</th><td>%s</td><td>%s%s</td>", number,
                stands_out ? _ ("stands out further") : _ ("ground off"),
                is_least && !stands_out ? "≥ " : "", depth);
  wsi_html_add (html, "<td data-head=\"%s\">%s</td><td data-head=\"%s\">%s</td></tr>\n",
                _ ("Where, from the tip"), where, _ ("Over"), length);
}

static void
add_places (GString *html, const json_t *said, const WsServeRequest *request)
{
  const json_t *places = json_object_get (said, "places");
  const gboolean is_least = json_is_true (json_object_get (said, "is_least"));
  const char *const heads[] = { _ ("Number"), _ ("What"), _ ("Deepest"), _ ("Where, from the tip"),
                                _ ("Over") };
  if (json_array_size (places) == 0)
  {
    wsi_html_add (html, "<p>%s</p>\n", _ ("No difference is greater than its uncertainty."));
    return;
  }
  wsi_html_add (html,
                "<div class=\"wide flow\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table><thead><tr>",
                _ ("What was taken off"));
  for (gsize i = 0; i < G_N_ELEMENTS (heads); i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
  for (guint i = 0; i < json_array_size (places); i++)
    add_place (html, json_array_get (places, i), i + 1, is_least, request);
  g_string_append (html, "</tbody></table></div>\n");
}

static void
add_shorter (GString *html, const json_t *said, const WsServeRequest *request)
{
  const gboolean is_least = json_is_true (json_object_get (said, "is_least"));
  const double least = json_number_value (json_object_get (said, "shorter_mm"));
  const double U = json_number_value (json_object_get (said, "U_mm"));
  g_autofree char *shorter =
    is_least ? plain_text (said, "shorter_mm", request) : length_text (said, "shorter_mm", request);
  if (!is_least || least > U)
    wsi_html_add (html, "<p><strong>%s: %s%s</strong></p>\n", _ ("Shorter than before"),
                  is_least ? "≥ " : "", shorter);
  if (is_least)
    wsi_html_add (html, "<p>%s</p>\n",
                  _ ("The sides run straight and don't tell how far one outline lies along the "
                     "other: at least so much was taken off, maybe more."));
}

static void
add_overlay (GString *html, WsServe *serve, const WsServeRequest *request,
             const WsRegrindPair *pair)
{
  g_autoptr (GError) error = NULL;
  g_auto (WsRegrindTold) told = { 0 };
  const char *tool = request->ids[0];
  g_autofree char *piece = wsi_html_piece (tool);
  if (!wsi_regrinds_tell (serve, tool, pair, &told, &error))
  {
    wsi_html_add (html, "<p role=\"status\">%s: %s</p>\n",
                  _ ("The outlines aren't laid on each other yet; open the page again"),
                  error->message);
    return;
  }
  if (told.why != NULL)
  {
    wsi_html_add (html, "<p>%s</p>\n", told.why);
    return;
  }
  add_shorter (html, told.said, request);
  wsi_html_add (html, "<p><img class=\"chart\" src=\"/api/tools/%s/regrind.svg\" alt=\"%s\"></p>\n",
                piece,
                _ ("Both outlines laid on each other; what differs is hatched and numbered as in "
                   "the table below"));
  add_places (html, told.said, request);
}

void
wsi_regrinds_add (GString *html, WsServe *serve, const WsServeRequest *request,
                  const GPtrArray *shelf)
{
  const WsRegrindPair pair = wsi_regrinds_last (shelf);
  if (pair.after == NULL)
    return;
  wsi_html_add (html, "<section id=\"regrind\"><h2>%s</h2><div class=\"pair\">\n",
                _ ("Before and after the last regrind"));
  wsi_html_figure (html, pair.before, _ ("Before"));
  wsi_html_figure (html, pair.after, _ ("After"));
  g_string_append (html, "</div>\n");
  add_overlay (html, serve, request, &pair);
  g_string_append (html, "</section>\n");
}

/* ---- For programs ------------------------------------------------------------------------------
 */

/* FALSE with the answer that tells why. */
static gboolean
tell (WsServe *serve, const WsServeRequest *request, WsRegrindTold *told, WsServeReply **reply,
      json_t **ids)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (GPtrArray) shelf =
    archive != NULL ? wsi_shelf_of (archive, request->ids[0], LOOKED_AT, &error) : NULL;
  wsi_serve_give (serve, archive);
  const WsRegrindPair pair =
    shelf != NULL ? wsi_regrinds_last (shelf) : (WsRegrindPair){ NULL, NULL };
  if (error == NULL && pair.after == NULL)
    *reply = wsi_serve_trouble (request, 404, "There are no pictures before and after a regrind.");
  else if (error != NULL || !wsi_regrinds_tell (serve, request->ids[0], &pair, told, &error))
    *reply = wsi_serve_take_error (serve, request, error);
  else if (told->why != NULL)
    *reply = wsi_serve_trouble (request, 422, told->why);
  else
  {
    *ids = json_pack ("{s:s, s:s, s:s}", "before", pair.before->id, "after", pair.after->id, "view",
                      pair.after->view);
    return TRUE;
  }
  return FALSE;
}

WsServeReply *
wsi_api_regrind_told (WsServe *serve, WsServeRequest *request)
{
  json_t *object = NULL;
  WsServeReply *reply = NULL;
  g_auto (WsRegrindTold) told = { 0 };
  if (!tell (serve, request, &told, &reply, &object))
    return reply;
  json_object_update (object, told.said);
  return wsi_reply_take_json (200, object);
}

WsServeReply *
wsi_api_regrind_chart (WsServe *serve, WsServeRequest *request)
{
  json_t *object = NULL;
  WsServeReply *reply = NULL;
  g_auto (WsRegrindTold) told = { 0 };
  if (!tell (serve, request, &told, &reply, &object))
    return reply;
  json_decref (object);
  return wsi_reply_chart (told.drawing);
}
