#include "bench/prefer.h"

#include <string.h>

#include "base/language.h"
#include "bench/html.h"

/* "in.de": units, then the language or nothing. */
#define COOKIE "whetsight-shown"
#define INCHES "in"
#define KEPT_S 31536000 /* a year */

static const char *
kept (const WsServeRequest *request)
{
  const char *value = g_hash_table_lookup (request->cookies, COOKIE);
  return value != NULL ? value : "";
}

gboolean
wsi_prefer_inches (const WsServeRequest *request)
{
  return g_str_has_prefix (kept (request), INCHES ".");
}

/* "" for what the browser asks for. */
static const char *
chosen_language (const WsServeRequest *request)
{
  const char *dot = strchr (kept (request), '.');
  return dot != NULL ? dot + 1 : "";
}

void
wsi_prefer_language (const WsServeRequest *request)
{
  const char *chosen = chosen_language (request);
  wsi_language_use (*chosen != '\0' ? chosen : wsi_request_header (request, "accept-language"));
}

/* ---- The page ------------------------------------------------------------------------------- */

typedef struct
{
  const char *value, *words;
} Choice;

static void
add_choice (GString *html, const char *name, const Choice *choice, gboolean is_it)
{
  wsi_html_add (html,
                "<label class=\"choice\"><input type=\"radio\" name=\"%s\" value=\"%s\"%s> "
                "%s</label>\n",
                name, choice->value, is_it ? " checked" : "", choice->words);
}

/* Languages are named in themselves: who can't read the page finds his. */
static void
add_languages (GString *html, const WsServeRequest *request)
{
  const char *chosen = chosen_language (request);
  const Choice choices[] = { { "", _ ("As the browser asks") },
                             { "en", "English" },
                             { "de", "Deutsch" } };
  wsi_html_add (html, "<fieldset><legend>%s</legend>\n", _ ("Language"));
  for (gsize i = 0; i < G_N_ELEMENTS (choices); i++)
    add_choice (html, "language", &choices[i], g_str_equal (choices[i].value, chosen));
  g_string_append (html, "</fieldset>\n");
}

static void
add_units (GString *html, const WsServeRequest *request)
{
  const gboolean inches = wsi_prefer_inches (request);
  const Choice mm = { "mm", _ ("Millimetres") }, in = { INCHES, _ ("Inches") };
  wsi_html_add (html, "<fieldset><legend>%s</legend>\n", _ ("Lengths"));
  add_choice (html, "units", &mm, !inches);
  add_choice (html, "units", &in, inches);
  g_string_append (html, "</fieldset>\n");
}

WsServeReply *
wsi_prefer_page (WsServe *serve, WsServeRequest *request)
{
  GString *html = wsi_html_page (request, _ ("Language and units"));
  (void)serve;
  wsi_html_add (html, "<h1>%s</h1>\n<form method=\"post\" action=\"/preferences\">\n",
                _ ("Language and units"));
  wsi_html_token (html, request);
  add_languages (html, request);
  add_units (html, request);
  wsi_html_add (html, "<p><button class=\"main\">%s</button></p></form>\n", _ ("Show it so"));
  return wsi_html_take_page (200, html);
}

WsServeReply *
wsi_prefer_set (WsServe *serve, WsServeRequest *request)
{
  g_autofree char *language = wsi_request_field (request, "language");
  g_autofree char *units = wsi_request_field (request, "units");
  const gboolean is_known =
    language != NULL && (g_str_equal (language, "en") || g_str_equal (language, "de"));
  (void)serve;
  WsServeReply *reply = wsi_reply_take_location (g_strdup ("/preferences"));
  reply->cookie = g_strdup_printf (COOKIE "=%s.%s; Path=/; HttpOnly; SameSite=Strict; Max-Age=%d",
                                   g_strcmp0 (units, INCHES) == 0 ? INCHES : "mm",
                                   is_known ? language : "", KEPT_S);
  return reply;
}
