/*
 * Pages as text.  Whatever is put in by %s or %c is escaped, so that nothing that came from outside
 * can act on the page: the format alone is markup, and formats are written in the code.
 */
#ifndef WS_BENCH_HTML_H
#define WS_BENCH_HTML_H

#include <whetsight/archive.h>

#include "bench/reply.h"
#include "bench/request.h"

G_BEGIN_DECLS

/* Knows %s, %d, %u and %%; NULL for %s is nothing. */
void wsi_html_add (GString *html, const char *format, ...) G_GNUC_PRINTF (2, 3);

/* Text, escaped. */
void wsi_html_text (GString *html, const char *text);

/* "QT-D%2F1" of "QT-D/1": a piece of a path.  Free with g_free(). */
char *wsi_html_piece (const char *text);

/* A page's beginning up to its main part: head, the way to the other pages, who is signed in.
 * `request` was admitted. */
GString *wsi_html_page (const WsServeRequest *request, const char *title);

/* Ends it; takes it over. */
WsServeReply *wsi_html_take_page (guint status, GString *html);

/* The hidden field that every form that changes something has. */
void wsi_html_token (GString *html, const WsServeRequest *request);

/* A page that says what is wrong and what to do. */
WsServeReply *wsi_html_trouble (const WsServeRequest *request, guint status, const char *words);

/* The verdict's shape, which tells it without its colour, as an element of the page. */
void wsi_html_shape (GString *html, const char *verdict);

/* "ACCEPT" of "accept", as it is shown; what is none has no limits.  Static. */
const char *wsi_html_verdict_word (const char *verdict);

/* Shape and word, small, for lists. */
void wsi_html_badge (GString *html, const char *verdict);

/* A table that scrolls by itself where it is too wide; rows come between the two. */
void wsi_html_begin_table (GString *html, const char *label, const char *const *heads, gsize n);
void wsi_html_end_table (GString *html);

/* The annotated picture with its title, time and verdict, a link to its page; one without pictures
 * or that isn't as it was written has none, see wsi_html_has_figure(). */
void wsi_html_figure (GString *html, const WsInspection *inspection, const char *title);
gboolean wsi_html_has_figure (const WsInspection *inspection);

/* A list's line: a link over all of it, its words, and the verdict where there is one. */
void wsi_html_tool (GString *html, const char *href, const char *name, const char *words,
                    const char *verdict);

G_END_DECLS

#endif
