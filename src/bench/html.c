#include "bench/html.h"

#include <string.h>

#include "base/language.h"
#include "report/words.h"

void
wsi_html_text (GString *html, const char *text)
{
  for (const char *c = text != NULL ? text : ""; *c != '\0'; c++)
    switch (*c)
    {
    case '&':
      g_string_append (html, "&amp;");
      break;
    case '<':
      g_string_append (html, "&lt;");
      break;
    case '>':
      g_string_append (html, "&gt;");
      break;
    case '"':
      g_string_append (html, "&quot;");
      break;
    case '\'':
      g_string_append (html, "&#39;");
      break;
    default:
      g_string_append_c (html, *c);
    }
}

void
wsi_html_add (GString *html, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  for (const char *c = format; *c != '\0'; c++)
  {
    if (*c != '%')
    {
      g_string_append_c (html, *c);
      continue;
    }
    c++;
    if (*c == 's')
      wsi_html_text (html, va_arg (arguments, const char *));
    else if (*c == 'u')
      g_string_append_printf (html, "%u", va_arg (arguments, guint));
    else if (*c == 'd')
      g_string_append_printf (html, "%d", va_arg (arguments, int));
    else if (*c == '%')
      g_string_append_c (html, '%');
    else
      g_error ("a page's format knows no %%%c", *c);
  }
  va_end (arguments);
}

char *
wsi_html_piece (const char *text)
{
  return g_uri_escape_string (text, NULL, FALSE);
}

/* ---- The frame ------------------------------------------------------------------------------ */

typedef struct
{
  const char *path, *words;
  WsServeRole role;
} Way;

static const Way ways[] = {
  { "/", N_ ("Measure"), WS_ROLE_OPERATOR },
  { "/inspections", N_ ("Inspections"), WS_ROLE_OPERATOR },
  { "/toolroom", N_ ("Toolroom"), WS_ROLE_OPERATOR },
  { "/quality", N_ ("Quality"), WS_ROLE_OPERATOR },
};

/* Is the page that way, or below it? */
static gboolean
is_here (const WsServeRequest *request, const char *path)
{
  const char *first = request->path[0] != NULL ? request->path[0] : "measure";
  return g_str_equal (first, path[1] != '\0' ? path + 1 : "measure");
}

static void
add_ways (GString *html, const WsServeRequest *request)
{
  wsi_html_add (html, "<nav aria-label=\"%s\"><ul>", _ ("Pages"));
  for (gsize i = 0; i < G_N_ELEMENTS (ways); i++)
    if (request->actor.role >= ways[i].role)
      wsi_html_add (html, "<li><a href=\"%s\" class=\"%s\">%s</a></li>", ways[i].path,
                    is_here (request, ways[i].path) ? "here" : "", _ (ways[i].words));
  g_string_append (html, "</ul></nav>");
}

static void
add_actor (GString *html, const WsServeRequest *request)
{
  if (request->actor.role == WS_ROLE_NOBODY || request->actor.is_local)
    return;
  wsi_html_add (html,
                "<form class=\"actor\" method=\"post\" action=\"/sign-out\"><span>%s, %s</span> ",
                request->actor.account, _ (wsi_role_name (request->actor.role)));
  wsi_html_token (html, request);
  wsi_html_add (html, "<button>%s</button></form>", _ ("Sign out"));
}

GString *
wsi_html_page (const WsServeRequest *request, const char *title)
{
  GString *html = g_string_new ("<!doctype html>\n");
  wsi_html_add (html,
                "<html lang=\"%s\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
                "content=\"width=device-width, initial-scale=1\">\n",
                wsi_language_code ());
  wsi_html_add (html,
                "<title>%s - Whetsight</title>\n<link rel=\"stylesheet\" "
                "href=\"/assets/page.css\">\n<link rel=\"icon\" href=\"/assets/icon.svg\">\n"
                "<script type=\"module\" src=\"/assets/page.js\"></script>\n"
                "</head>\n<body>\n<a class=\"skip\" href=\"#main\">%s</a>\n<header>",
                title, _ ("To the content"));
  add_ways (html, request);
  add_actor (html, request);
  g_string_append (html, "</header>\n<main id=\"main\">\n");
  return html;
}

WsServeReply *
wsi_html_take_page (guint status, GString *html)
{
  wsi_html_add (html,
                "\n</main>\n<footer><a href=\"/preferences\">%s</a></footer>\n</body>\n</html>\n",
                _ ("Language and units"));
  return wsi_reply_take_text (status, "text/html; charset=utf-8", g_string_free (html, FALSE));
}

void
wsi_html_token (GString *html, const WsServeRequest *request)
{
  wsi_html_add (html, "<input type=\"hidden\" name=\"token\" value=\"%s\">", request->token);
}

WsServeReply *
wsi_html_trouble (const WsServeRequest *request, guint status, const char *words)
{
  GString *html = wsi_html_page (request, _ (wsi_reply_status_words (status)));
  wsi_html_add (html,
                "<h1>%s</h1>\n<p class=\"trouble\" role=\"alert\">%s</p>\n<p><a class=\"main\" "
                "href=\"/\">%s</a></p>",
                _ (wsi_reply_status_words (status)), words, _ ("Go on"));
  return wsi_html_take_page (status, html);
}

/* ---- Verdicts ------------------------------------------------------------------------------- */

/* The same shapes as on annotated pictures (src/report/canvas.c): a tick in a disc, a beam on a
 * wedge, a cross, a frame about a dot. */
static const struct
{
  const char *verdict, *path;
} shapes[] = {
  { "accept", "M1 0A1 1 0 1 1-1 0A1 1 0 1 1 1 0z"
              "M-.62 .04L-.42-.16-.17 .09 .42-.5 .62-.3-.17 .49z" },
  { "undecided", "M-1-.66H1V-.26H-1zM0-.2L.78 .86H-.78z" },
  { "reject", "M-.84-.52L-.52-.84 0-.31 .52-.84 .84-.52 .31 0 .84 .52 .52 .84 0 .31-.52 .84-.84 .52"
              "-.31 0z" },
  { "retake", "M.28-.88H.88V-.28H.64V-.64H.28zM.88 .28V.88H.28V.64H.64V.28z"
              "M-.28 .88H-.88V.28H-.64V.64H-.28zM-.88-.28V-.88H-.28V-.64H-.64V-.28z"
              "M.28 0A.28 .28 0 1 1-.28 0A.28 .28 0 1 1 .28 0z" },
};

void
wsi_html_shape (GString *html, const char *verdict)
{
  for (gsize i = 0; i < G_N_ELEMENTS (shapes); i++)
    if (g_strcmp0 (verdict, shapes[i].verdict) == 0)
      wsi_html_add (html,
                    "<svg class=\"shape\" viewBox=\"-1.1 -1.1 2.2 2.2\" aria-hidden=\"true\"><path "
                    "fill-rule=\"evenodd\" d=\"%s\"/></svg>",
                    shapes[i].path);
}

const char *
wsi_html_verdict_word (const char *verdict)
{
  for (int i = WS_VERDICT_ACCEPT; verdict != NULL && i <= WS_VERDICT_RETAKE; i++)
    if (g_str_equal (verdict, ws_verdict_name ((WsVerdict)i)))
      return _ (wsi_words_verdict ((WsVerdict)i));
  return _ (wsi_words_verdict (WS_VERDICT_NONE));
}

void
wsi_html_badge (GString *html, const char *verdict)
{
  wsi_html_add (html, "<span class=\"badge %s\">", verdict != NULL ? verdict : "none");
  wsi_html_shape (html, verdict);
  wsi_html_add (html, "%s</span>", wsi_html_verdict_word (verdict));
}

gboolean
wsi_html_has_figure (const WsInspection *inspection)
{
  return inspection->wrong == NULL && inspection->has_pictures && inspection->annotated != NULL;
}

void
wsi_html_figure (GString *html, const WsInspection *inspection, const char *title)
{
  g_autofree char *time = wsi_words_local_time (inspection->time);
  wsi_html_add (html, "<figure><figcaption>%s, %s ", title, time);
  wsi_html_badge (html, inspection->verdict);
  wsi_html_add (html,
                "</figcaption><a href=\"/inspections/%s\"><img loading=\"lazy\" "
                "src=\"/api/inspections/%s/picture\" alt=\"%s: %s\"></a></figure>\n",
                inspection->id, inspection->id, title, inspection->view);
}

void
wsi_html_tool (GString *html, const char *href, const char *name, const char *words,
               const char *verdict)
{
  wsi_html_add (html, "<li><a class=\"tool\" href=\"%s\"><strong>%s</strong> <span>%s</span>", href,
                name, words);
  if (verdict != NULL)
    wsi_html_badge (html, verdict);
  g_string_append (html, "</a></li>\n");
}

void
wsi_html_begin_table (GString *html, const char *label, const char *const *heads, gsize n)
{
  wsi_html_add (html,
                "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"%s\"><table>"
                "<thead><tr>",
                label);
  for (gsize i = 0; i < n; i++)
    wsi_html_add (html, "<th scope=\"col\">%s</th>", heads[i]);
  g_string_append (html, "</tr></thead><tbody>\n");
}

void
wsi_html_end_table (GString *html)
{
  g_string_append (html, "</tbody></table></div>\n");
}
