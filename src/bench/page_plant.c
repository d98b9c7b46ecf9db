/*
 * For those who answer for many benches: what each makes of the same master tool, and how long
 * ground edges last.
 */
#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "base/number.h"
#include "bench/cards.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "report/plant.h"
#include "report/told.h"
#include "report/words.h"

#define MOST_PAIRS 5
#define MOST_SHORT 10

/* ---- Tables ---------------------------------------------------------------------------------- */

/* "118.012 ± 0.021", with the places that U shows. */
static void
add_pair (GString *html, double value, double U, gboolean is_signed)
{
  const guint places = wsi_number_places (U);
  if (!isfinite (value) || !isfinite (U))
  {
    g_string_append (html, "<td></td>");
    return;
  }
  g_autofree char *text = wsi_number_format (value, places);
  g_autofree char *of_it = wsi_number_format (U, places);
  wsi_html_add (html, "<td>%s%s ± %s</td>", is_signed && *text != '-' ? "+" : "", text, of_it);
}

static void
add_number (GString *html, double value, guint places)
{
  g_autofree char *text = isfinite (value) ? wsi_number_format (value, places) : g_strdup ("");
  wsi_html_add (html, "<td>%s</td>", text);
}

static void
add_left (GString *html, char *words)
{
  if (words != NULL)
    wsi_html_add (html, "<p class=\"trouble\">%s: %s</p>\n", _ ("Left out"), words);
  g_free (words);
}

/* ---- Benches --------------------------------------------------------------------------------- */

/* What it comes to stands before its numbers: a phone shows a table's left. */
static void
add_bench (GString *html, const WsPlantQuantity *of, const WsGauge *gauge)
{
  g_autofree char *drift = wsi_plant_drift_words (gauge);
  const gboolean stands_out = wsi_gauge_is_apart (gauge) || wsi_gauge_drifts_far (gauge);
  wsi_html_add (html, "<tr><th scope=\"row\">%s</th>", gauge->name);
  wsi_html_add (html, stands_out ? "<td><strong>%s; %s</strong></td>" : "<td>%s; %s</td>",
                _ (wsi_plant_bench_words (of, gauge)), drift);
  add_number (html, gauge->en, 2);
  add_pair (html, gauge->bias, gauge->U_bias, TRUE);
  add_pair (html, gauge->mean, gauge->U, FALSE);
  add_number (html, gauge->spread, wsi_number_places (gauge->spread));
  wsi_html_add (html, "<td>%u</td><td>%u</td></tr>\n", (guint)gauge->n, gauge->weeks);
}

static void
add_pairs (GString *html, const WsPlantQuantity *of)
{
  guint n, n_apart;
  g_autoptr (GArray) pairs = wsi_plant_pairs (of, MOST_PAIRS, &n, &n_apart);
  if (n == 0)
    return;
  g_autoptr (GString) list = g_string_new (NULL);
  for (guint i = 0; i < MIN (pairs->len, MAX (n_apart, 1)); i++)
  {
    const WsPlantPair *pair = &g_array_index (pairs, WsPlantPair, i);
    g_autofree char *en = wsi_number_format (pair->en, 2);
    g_string_append_printf (list, "%s%s – %s: %s", i > 0 ? "; " : "", pair->a->name, pair->b->name,
                            en);
  }
  g_autofree char *by_chance = wsi_number_format (0.05 * n, 0);
  wsi_html_add (html, "<p>%s: %u %s %u (%s %s). E_n: %s</p>\n", _ ("Pairs that don't agree"),
                n_apart, _ ("of"), n, _ ("by chance about"), by_chance, list->str);
}

static void
add_quantity (GString *html, const WsPlantQuantity *of)
{
  g_autofree char *label = wsi_told_label (ws_view_lookup, of->view, of->quantity, NULL);
  g_autofree char *reference = wsi_plant_reference_words (of);
  g_autofree char *doubt = wsi_plant_doubt_words (of);
  const char *unit = strrchr (of->quantity, '_');
  const char *const heads[] = { _ ("Bench"), _ ("Agrees?"), "E_n", _ ("Bias"),
                                _ ("Mean"),  _ ("Spread"),  "n",   _ ("Weeks") };
  wsi_html_add (html, "<h3>%s, %s (%s)</h3>\n<p class=\"facts\">%s</p>\n", label,
                unit != NULL ? unit + 1 : "", of->view, reference);
  if (doubt != NULL)
    wsi_html_add (html, "<p class=\"trouble\">%s</p>\n", doubt);
  wsi_html_begin_table (html, label, heads, G_N_ELEMENTS (heads));
  for (gsize i = 0; i < of->gauges.n; i++)
    add_bench (html, of, &of->gauges.gauges[i]);
  wsi_html_end_table (html);
  add_pairs (html, of);
}

static gboolean
add_master (GString *html, WsArchive *archive, const WsToolCard *card, const char *from,
            GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = card->id;
  filter.from = from;
  g_autoptr (WsPlantBenches) found = wsi_plant_benches (archive, &filter, card, error);
  if (found == NULL)
    return FALSE;
  wsi_html_add (html, "<section><h2>%s: %s</h2>\n", _ ("Master tool"), card->id);
  add_left (html, wsi_plant_left_words (&found->left));
  if (found->quantities->len == 0)
    wsi_html_add (html, "<p>%s</p>\n",
                  _ ("No bench has measured it so far, or none said its name (--station)."));
  for (guint i = 0; i < found->quantities->len; i++)
    add_quantity (html, g_ptr_array_index (found->quantities, i));
  g_string_append (html, "</section>\n");
  return TRUE;
}

static gboolean
add_masters (GString *html, const WsServe *serve, WsArchive *archive, const char *from,
             GError **error)
{
  guint n = 0;
  gboolean done = TRUE;
  g_autoptr (GPtrArray) cards = wsi_cards_list (serve->settings.cards);
  for (guint i = 0; done && i < cards->len; i++)
  {
    const WsToolCard *card = ((const WsServeCard *)g_ptr_array_index (cards, i))->card;
    if (card == NULL || card->id == NULL || !card->is_master)
      continue;
    done = add_master (html, archive, card, from, error);
    n++;
  }
  if (n > 0)
    wsi_html_add (html, "<p class=\"facts\">%s</p>\n",
                  _ ("U is for 95 %. A bench agrees where E_n, its bias over U of that, is 1 at "
                     "most; of benches that are right about 1 in 20 comes out beyond it, and as "
                     "many seem to drift. Look twice before one is stopped."));
  else
    wsi_html_add (html, "<section><h2>%s</h2><p>%s</p></section>\n", _ ("Master tool"),
                  _ ("No card says that its tool is a master tool: one that every bench measures "
                     "each week, and that is never used. Give its card a group [master] with what "
                     "is known of it: point_angle_deg = 118.021 +- 0.020"));
  return done;
}

/* ---- Lives ----------------------------------------------------------------------------------- */

static void
add_group (GString *html, const WsPlantLives *lives, const WsPlantGroup *group)
{
  g_autofree char *days = wsi_plant_median_words (&group->by_days, TRUE);
  g_autofree char *looks = wsi_plant_median_words (&group->by_inspections, FALSE);
  wsi_html_add (html, "<tr><th scope=\"row\">%s</th>", group->name);
  wsi_html_add (
    html, wsi_plant_ends_early (lives, group) ? "<td><strong>%s</strong></td>" : "<td>%s</td>",
    _ (wsi_plant_group_words (lives, group)));
  wsi_html_add (html, "<td>%u</td><td>%u</td>", group->by_days.n, group->by_days.n_ended);
  add_number (html, group->expected, 1);
  wsi_html_add (html, "<td>%s</td><td>%s</td><td>%u</td></tr>\n", days, looks, group->n_as_ground);
}

static void
add_shortest (GString *html, const WsPlantLives *lives)
{
  const char *const heads[] = { _ ("Tool"), _ ("Whose"), _ ("Reground"), _ ("Days") };
  if (lives->shortest->len == 0)
    return;
  wsi_html_add (html, "<h3>%s</h3>\n", _ ("Those that ended first"));
  wsi_html_begin_table (html, _ ("Those that ended first"), heads, G_N_ELEMENTS (heads));
  for (guint i = 0; i < MIN (lives->shortest->len, MOST_SHORT); i++)
  {
    const WsPlantShort *of = g_ptr_array_index (lives->shortest, i);
    g_autofree char *piece = wsi_html_piece (of->tool);
    g_autofree char *time = wsi_words_local_time (of->from);
    wsi_html_add (html,
                  "<tr><th scope=\"row\"><a href=\"/tools/%s\">%s</a></th><td>%s</td><td>%s</td>",
                  piece, of->tool, of->name, time);
    add_number (html, of->days, 1);
    g_string_append (html, "</tr>\n");
  }
  wsi_html_end_table (html);
}

static void
begin_lives (GString *html)
{
  wsi_html_add (html, "<section><h2>%s</h2>\n<div class=\"next\">", _ ("How long edges last"));
  wsi_html_add (html,
                "<a class=\"way\" href=\"/quality/plant?by=grinder\">%s</a>\n<a class=\"way\" "
                "href=\"/quality/plant?by=station\">%s</a>\n<a class=\"way\" "
                "href=\"/quality/plant?by=kind\">%s</a></div>\n",
                _ ("By grinder"), _ ("By bench"), _ ("By kind"));
}

static gboolean
add_lives (GString *html, WsArchive *archive, WsPlantBy by, const char *from, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.from = from;
  const char *const heads[] = { _ ("Whose"),
                                _ ("End early?"),
                                _ ("Edges"),
                                _ ("Ended"),
                                _ ("Would be, like others"),
                                _ ("Half after"),
                                _ ("in looks"),
                                _ ("Bad as ground") };
  g_autoptr (WsPlantLives) lives = wsi_plant_lives (archive, &filter, by, error);
  if (lives == NULL)
    return FALSE;
  begin_lives (html);
  add_left (html, wsi_plant_left_words (&lives->left));
  add_left (html, wsi_plant_edges_words (lives));
  if (lives->groups->len == 0)
    wsi_html_add (
      html, "<p>%s</p>\n",
      _ ("No edge's regrind is in the archive since then: mark tools as ground, and say "
         "who ground them."));
  else
  {
    wsi_html_begin_table (html, _ ("How long edges last"), heads, G_N_ELEMENTS (heads));
    for (guint i = 0; i < lives->groups->len; i++)
      add_group (html, lives, g_ptr_array_index (lives->groups, i));
    wsi_html_end_table (html);
    add_shortest (html, lives);
    wsi_html_add (html, "<p class=\"facts\">%s</p>\n",
                  _ ("An edge ends with its first reject; one that is in use or was reground "
                     "before counts as having lasted so long at least (Kaplan and Meier; "
                     "intervals for 95 %). Days are those at which it was looked at, and say "
                     "nothing of how much it cut."));
  }
  g_string_append (html, "</section>\n");
  return TRUE;
}

/* ---- The page -------------------------------------------------------------------------------- */

/* Every row of a year is checked for it, so it is told when it is asked for. */
static gboolean
add_asked_lives (GString *html, const WsServeRequest *request, WsArchive *archive, const char *from,
                 GError **error)
{
  static const char *const words[] = { [WS_PLANT_BY_GRINDER] = "grinder",
                                       [WS_PLANT_BY_STATION] = "station",
                                       [WS_PLANT_BY_KIND] = "kind" };
  const char *asked = wsi_request_query (request, "by");
  for (guint by = 0; by < G_N_ELEMENTS (words); by++)
    if (g_strcmp0 (asked, words[by]) == 0)
      return add_lives (html, archive, (WsPlantBy)by, from, error);
  begin_lives (html);
  g_string_append (html, "</section>\n");
  return TRUE;
}

/* Of the last year: rows are checked one by one, and the verb tells of all of them. */
WsServeReply *
wsi_page_plant (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GDateTime) then = g_date_time_add_years (now, -1);
  g_autofree char *from = g_date_time_format (then, "%Y-%m-%d");
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (GString) body = g_string_new (NULL);
  const gboolean done = archive != NULL && add_masters (body, serve, archive, from, &error) &&
                        add_asked_lives (body, request, archive, from, &error);
  wsi_serve_give (serve, archive);
  if (!done)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Plant"));
  wsi_html_add (html, "<h1>%s</h1>\n<p class=\"facts\">%s %s</p>\n", _ ("Plant"),
                _ ("Measured since"), from);
  g_string_append (html, body->str);
  wsi_html_add (html, "<p><a class=\"way\" href=\"/quality\">%s</a></p>\n", _ ("Back"));
  return wsi_html_take_page (200, html);
}
