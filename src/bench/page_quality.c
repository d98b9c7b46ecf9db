/*
 * For those who answer for quality: the archive's state, calibrations, accounts.
 */
#include <string.h>

#include <whetsight/calibration.h>
#include <whetsight/checks.h>
#include <whetsight/error.h>

#include "archive/account.h"
#include "base/language.h"
#include "bench/calibrations.h"
#include "bench/html.h"
#include "bench/pages.h"
#include "report/words.h"

/* ---- The chain ------------------------------------------------------------------------------ */

static void
add_button (GString *html, const WsServeRequest *request, const char *action, const char *words)
{
  wsi_html_add (html, "<form method=\"post\" action=\"%s\">", action);
  wsi_html_token (html, request);
  wsi_html_add (html, "<button>%s</button></form>\n", words);
}

static gboolean
add_chain (GString *html, WsServe *serve, const WsServeRequest *request, GError **error)
{
  guint64 count = 0;
  char hash[65] = "";
  WsArchive *archive = wsi_serve_take (serve, error);
  const gboolean read = archive != NULL && ws_archive_head (archive, &count, hash, error);
  wsi_serve_give (serve, archive);
  if (!read)
    return FALSE;
  g_autofree char *rows = g_strdup_printf ("%" G_GUINT64_FORMAT, count);
  wsi_html_add (html, "<section><h2>%s</h2>\n<p>%s: %s</p>\n<p class=\"hash\">%s: %s</p>\n",
                _ ("The archive"), _ ("Rows in the chain"), rows, _ ("Hash of the last"), hash);
  if (request->actor.role >= WS_ROLE_QUALITY)
  {
    g_string_append (html, "<div class=\"next\">");
    add_button (html, request, "/quality/verifications", _ ("Verify all of it"));
    add_button (html, request, "/quality/seals", _ ("Seal it"));
    g_string_append (html, "</div>\n");
  }
  g_string_append (html, "</section>\n");
  return TRUE;
}

static void
keep_what (const char *what, gpointer data)
{
  g_ptr_array_add (data, g_utf8_make_valid (what, -1));
}

static void
add_count (GString *html, const char *what, guint64 n)
{
  g_autofree char *text = g_strdup_printf ("%" G_GUINT64_FORMAT, n);
  wsi_html_add (html, "<li>%s: %s</li>\n", what, text);
}

static void
add_verification (GString *html, const WsVerification *found, const GPtrArray *told)
{
  wsi_html_add (html, "<h1>%s</h1>\n<ul>\n",
                found->wrong == 0 ? _ ("The archive is as it was written")
                                  : _ ("The archive is not as it was written"));
  add_count (html, _ ("Rows"), found->rows);
  add_count (html, _ ("of them notes"), found->notes);
  add_count (html, _ ("of them changes of cards, accounts and regrinds"), found->events);
  add_count (html, _ ("Pictures"), found->files);
  add_count (html, _ ("Wrong"), found->wrong);
  g_string_append (html, "</ul>\n");
  for (guint i = 0; i < told->len; i++)
    wsi_html_add (html, "<p class=\"trouble\">%s</p>\n", (const char *)g_ptr_array_index (told, i));
  wsi_html_add (html, "<p><a class=\"way\" href=\"/quality\">%s</a></p>\n", _ ("Back"));
}

/* Reads everything, so one at a time. */
WsServeReply *
wsi_page_verify (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsVerification found = { 0 };
  g_autoptr (GPtrArray) told = g_ptr_array_new_with_free_func (g_free);
  const WsVerifier verifier = { keep_what, NULL, told };
  if (!g_mutex_trylock (&serve->verifying))
    return wsi_serve_trouble (request, 503,
                              _ ("The archive is being verified already; try again in 10 s."));
  WsArchive *archive = wsi_serve_take (serve, &error);
  const gboolean done =
    archive != NULL && ws_archive_verify (archive, NULL, &verifier, &found, &error);
  wsi_serve_give (serve, archive);
  g_mutex_unlock (&serve->verifying);
  if (!done)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Verify all of it"));
  add_verification (html, &found, told);
  return wsi_html_take_page (200, html);
}

WsServeReply *
wsi_page_seal (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autofree char *seal = archive != NULL ? ws_archive_seal (archive, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (seal == NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Seal it"));
  wsi_html_add (
    html,
    "<h1>%s</h1>\n<p>%s</p>\n<pre class=\"wide\" tabindex=\"0\">%s</pre>\n<p><a "
    "class=\"way\" href=\"/quality\">%s</a></p>\n",
    _ ("Sealed"),
    _ ("Keep this line elsewhere, too: it shows later that nothing before it was changed."), seal,
    _ ("Back"));
  return wsi_html_take_page (200, html);
}

/* ---- Calibrations --------------------------------------------------------------------------- */

static void
add_check (GString *html, const WsServeCalibration *named, const WsCalibration *calibration)
{
  WsCheckState state;
  g_autofree char *piece = wsi_html_piece (named->name);
  const gboolean known =
    ws_checks_load_state (named->path, ws_calibration_id (calibration), &state, NULL);
  g_autofree char *time =
    known && *state.time != '\0' ? wsi_words_local (state.time, "%Y-%m-%d %H:%M") : NULL;
  const char *words = !known || state.state == WS_CHECKED_NEVER ? _ ("never")
                      : state.state == WS_CHECKED_PASSED        ? _ ("passed")
                                                                : _ ("FAILED");
  wsi_html_add (html, "<td><a class=\"way\" href=\"/quality/check/%s\">%s</a></td><td>%s %s</td>",
                piece, _ ("Morning check"), words, time);
}

static void
add_calibration (GString *html, const WsServeCalibration *named)
{
  GError *error = NULL;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (WsCalibration) calibration = ws_calibration_load (named->path, &error);
  if (calibration == NULL)
  {
    wsi_html_add (html, "<tr><th scope=\"row\">%s</th><td colspan=\"5\">%s</td></tr>\n",
                  named->groups, error->message);
    g_error_free (error);
    return;
  }
  GDateTime *expires = ws_calibration_expires (calibration);
  g_autofree char *made = g_date_time_format (ws_calibration_made (calibration), "%Y-%m-%d");
  g_autofree char *until = expires != NULL ? g_date_time_format (expires, "%Y-%m-%d") : NULL;
  wsi_html_add (html, "<tr><th scope=\"row\">%s</th>", named->groups);
  add_check (html, named, calibration);
  wsi_html_add (html, "<td>%s</td><td>%s</td><td>%s%s%s</td></tr>\n",
                ws_calibration_camera (calibration), made, until != NULL ? until : _ ("never"),
                ws_calibration_expired (calibration, now) ? ", " : "",
                ws_calibration_expired (calibration, now) ? _ ("EXPIRED") : "");
}

static void
add_calibrations (GString *html, const WsServe *serve)
{
  g_autoptr (GPtrArray) list = wsi_calibrations_list (serve->settings.cards);
  const char *const heads[] = { _ ("For"),    _ ("Check"), _ ("Last check"),
                                _ ("Camera"), _ ("Made"),  _ ("Good until") };
  wsi_html_add (html, "<section><h2>%s</h2>\n", _ ("Calibrations"));
  if (list->len == 0)
  {
    wsi_html_add (html, "<p>%s</p></section>\n",
                  _ ("The setup names none: pictures are measured by a scale."));
    return;
  }
  wsi_html_add (html,
                "<div class=\"wide\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"%s\"><table><thead><tr>",
                _ ("Calibrations"));
  for (gsize i = 0; i < G_N_ELEMENTS (heads); i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
  for (guint i = 0; i < list->len; i++)
    add_calibration (html, g_ptr_array_index (list, i));
  g_string_append (html, "</tbody></table></div></section>\n");
}

WsServeReply *
wsi_page_quality (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GString) chain = g_string_new (NULL);
  if (!add_chain (chain, serve, request, &error))
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Quality"));
  wsi_html_add (html, "<h1>%s</h1>\n<div class=\"next\">", _ ("Quality"));
  wsi_html_add (html,
                "<a class=\"way\" href=\"/inspections?verdict=reject\">%s</a>\n<a class=\"way\" "
                "href=\"/inspections?verdict=undecided\">%s</a>\n",
                _ ("Rejected"), _ ("Undecided"));
  wsi_html_add (html, "<a class=\"way\" href=\"/quality/study\">%s</a>\n", _ ("Gauge study"));
  wsi_html_add (html, "<a class=\"way\" href=\"/quality/plant\">%s</a>\n", _ ("Plant"));
  wsi_html_add (html, "<a class=\"way\" href=\"/quality/again\">%s</a>\n", _ ("Measured again"));
  if (request->actor.role >= WS_ROLE_QUALITY)
    wsi_html_add (html, "<a class=\"way\" href=\"/accounts\">%s</a>\n", _ ("Accounts"));
  g_string_append_printf (html, "</div>\n%s", chain->str);
  add_calibrations (html, serve);
  return wsi_html_take_page (200, html);
}

/* ---- Accounts ------------------------------------------------------------------------------- */

static void
add_account (GString *html, const WsAccount *account)
{
  wsi_html_add (html, "<tr><th scope=\"row\">%s</th><td>%s</td><td>%s</td></tr>\n", account->name,
                _ (account->role), account->wrong);
}

static void
add_account_form (GString *html, const WsServeRequest *request)
{
  wsi_html_add (html, "<section><h2>%s</h2>\n<form method=\"post\" action=\"/accounts\">\n",
                _ ("Make an account, or change it"));
  wsi_html_token (html, request);
  wsi_html_add (html,
                "<p><label for=\"account\">%s</label> <input id=\"account\" name=\"account\" "
                "autocomplete=\"off\" autocapitalize=\"none\" required></p>\n<p><label "
                "for=\"role\">%s</label> <select id=\"role\" name=\"role\">",
                _ ("Name"), _ ("Role"));
  for (int role = WS_ROLE_OPERATOR; role < WS_N_ROLES; role++)
    wsi_html_add (html, "<option value=\"%s\">%s</option>", wsi_role_name ((WsServeRole)role),
                  _ (wsi_role_name ((WsServeRole)role)));
  wsi_html_add (html,
                "</select></p>\n<p><label for=\"password\">%s</label> <input id=\"password\" "
                "name=\"password\" type=\"password\" autocomplete=\"new-password\"></p>\n<p><label "
                "for=\"text\">%s</label> <input id=\"text\" name=\"text\" autocomplete=\"off\" "
                "required></p>\n",
                _ ("Password, 10 characters or more; empty: as it was"), _ ("Why"));
  wsi_html_add (html,
                "<p><label class=\"choice\"><input type=\"checkbox\" name=\"closed\" "
                "value=\"true\"> %s</label></p>\n<p><button class=\"main\">%s</button></p></form>"
                "</section>\n",
                _ ("Close it: nobody signs in by it any more"), _ ("Set the account"));
}

WsServeReply *
wsi_page_accounts (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) accounts = wsi_serve_accounts (serve, &error);
  if (accounts == NULL)
    return wsi_serve_take_error (serve, request, error);
  GString *html = wsi_html_page (request, _ ("Accounts"));
  wsi_html_add (html, "<h1>%s</h1>\n", _ ("Accounts"));
  if (accounts->len > 0)
  {
    wsi_html_add (html,
                  "<div class=\"wide\"><table><thead><tr><th scope=\"col\">%s</th><th "
                  "scope=\"col\">%s</th><th scope=\"col\">%s</th></tr></thead><tbody>\n",
                  _ ("Name"), _ ("Role"), _ ("State"));
    for (guint i = 0; i < accounts->len; i++)
      add_account (html, g_ptr_array_index (accounts, i));
    g_string_append (html, "</tbody></table></div>\n");
  }
  else
    wsi_html_add (html, "<p>%s</p>\n",
                  _ ("There are none yet. At this computer nobody needs one; the network does."));
  add_account_form (html, request);
  return wsi_html_take_page (200, html);
}
