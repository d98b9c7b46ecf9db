/*
 * What measuring pictures again changed, for those who answer for limits and programs.
 */
#include <math.h>

#include <whetsight/error.h>
#include <whetsight/remeasure.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "base/number.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "report/told.h"

#define MOST_FLIPS 100

/* Less is shown as 0.00. */
#define LEAST_SHOWN 0.005

/* The shape tells it without its colour. */
static void
add_flip (GString *html, const WsFlip *flip)
{
  g_autofree char *piece = wsi_html_piece (flip->id);
  wsi_html_add (html, "<tr><th scope=\"row\"><a href=\"/inspections/%s\">%s</a></th><td>", piece,
                flip->tool != NULL ? flip->tool : flip->id);
  wsi_html_badge (html, flip->was);
  g_string_append (html, "</td><td>");
  wsi_html_badge (html, flip->now);
  wsi_html_add (html, "</td><td>%s</td><td>%s</td></tr>\n", flip->view, flip->reason);
}

static void
add_flips (GString *html, const WsComparison *comparison)
{
  const char *const heads[] = { _ ("Tool"), _ ("Was"), _ ("Now"), _ ("View"), _ ("Why") };
  const guint n = comparison->flips->len;
  wsi_html_add (html, "<section><h2>%s: %u</h2>\n", _ ("Verdicts that changed"), n);
  if (n > 0)
  {
    wsi_html_begin_table (html, _ ("Verdicts that changed"), heads, G_N_ELEMENTS (heads));
    for (guint i = n > MOST_FLIPS ? n - MOST_FLIPS : 0; i < n; i++)
      add_flip (html, g_ptr_array_index (comparison->flips, i));
    wsi_html_end_table (html);
  }
  if (n > MOST_FLIPS)
    wsi_html_add (html, "<p class=\"facts\">%s: %u. %s</p>\n", _ ("The newest so many"), MOST_FLIPS,
                  _ ("whetsight archive compare tells all."));
  g_string_append (html, "</section>\n");
}

static void
add_number (GString *html, double value)
{
  g_autofree char *text = isfinite (value) ? wsi_number_format (value, 2) : g_strdup ("");
  wsi_html_add (html, "<td>%s</td>", text);
}

static gboolean
has_moved (const WsShift *shift)
{
  return fabs (shift->largest) >= LEAST_SHOWN || fabs (shift->median_U - 1) >= LEAST_SHOWN ||
         shift->n_lost > 0 || shift->n_gained > 0;
}

/* "Point angle" of "point_angle_deg"; the name where no view declares it.  Free with g_free(). */
static char *
label_of (const char *quantity)
{
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    if (ws_view_lookup ((*view)->name, quantity) != NULL)
      return wsi_told_label (ws_view_lookup, (*view)->name, quantity, NULL);
  return g_strdup (quantity);
}

static void
add_shift (GString *html, const WsShift *shift)
{
  g_autofree char *label = label_of (shift->quantity);
  const double numbers[] = { shift->median, shift->rms, shift->percentile_95, shift->largest };
  wsi_html_add (html, "<tr><th scope=\"row\">%s</th><td>%u</td>", label, shift->n_beyond);
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
    add_number (html, shift->n > 0 ? numbers[i] : (double)NAN);
  add_number (html, shift->median_U);
  wsi_html_add (html, "<td>%u</td><td>%u</td><td>%u</td></tr>\n", shift->n, shift->n_lost,
                shift->n_gained);
}

static void
add_shifts (GString *html, const WsComparison *comparison)
{
  const char *const heads[] = { _ ("Quantity"), _ ("More than U"), _ ("median"), _ ("rms"),
                                "95 %",         _ ("largest"),     _ ("new U"),  "n",
                                _ ("lost"),     _ ("gained") };
  guint n = 0;
  wsi_html_add (html, "<section><h2>%s</h2>\n", _ ("By how much values moved"));
  wsi_html_add (html, "<p class=\"facts\">%s</p>\n",
                _ ("New less old, in units of the U that was stated before. Both are of one "
                   "picture: it says what program, card or settings changed, and nothing of how "
                   "well the picture shows the tool."));
  for (guint i = 0; i < comparison->shifts->len; i++)
    n += has_moved (g_ptr_array_index (comparison->shifts, i)) ? 1 : 0;
  if (n > 0)
    wsi_html_begin_table (html, _ ("By how much values moved"), heads, G_N_ELEMENTS (heads));
  for (guint i = 0; i < comparison->shifts->len; i++)
    if (has_moved (g_ptr_array_index (comparison->shifts, i)))
      add_shift (html, g_ptr_array_index (comparison->shifts, i));
  if (n > 0)
    wsi_html_end_table (html);
  wsi_html_add (html, "<p>%s: %u</p>\n</section>\n", _ ("Quantities that stayed"),
                comparison->shifts->len - n);
}

static void
keep_wrong (const char *id, const char *wrong, gpointer data)
{
  GString *html = data;
  wsi_html_add (html, "<p class=\"trouble\">%s: %s: %s</p>\n", _ ("Left out"), id, wrong);
}

/* Of the last year: rows are checked one by one, and the verb tells of all of them. */
WsServeReply *
wsi_page_again (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GDateTime) then = g_date_time_add_years (now, -1);
  g_autofree char *from = g_date_time_format (then, "%Y-%m-%d");
  g_autoptr (GString) wrong = g_string_new (NULL);
  filter.from = from;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (WsComparison) comparison =
    archive != NULL ? ws_archive_compare (archive, &filter, NULL, keep_wrong, wrong, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (comparison == NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Measured again"));
  wsi_html_add (html, "<h1>%s</h1>\n<p class=\"facts\">%s %s: %u %s %u</p>\n", _ ("Measured again"),
                _ ("Measured since"), from, (guint)comparison->n_again, _ ("of"),
                (guint)comparison->n_inspections);
  g_string_append (html, wrong->str);
  if (comparison->n_again == 0)
    wsi_html_add (html, "<p>%s</p>\n",
                  _ ("Nothing was measured again: whetsight remeasure does it, after a limit "
                     "changed or with a newer program."));
  else
  {
    add_flips (html, comparison);
    add_shifts (html, comparison);
  }
  wsi_html_add (html, "<p><a class=\"way\" href=\"/quality\">%s</a></p>\n", _ ("Back"));
  return wsi_html_take_page (200, html);
}
