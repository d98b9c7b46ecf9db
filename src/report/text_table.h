/*
 * The table of quantities in the text for people.
 */
#ifndef WS_REPORT_TEXT_TABLE_H
#define WS_REPORT_TEXT_TABLE_H

#include <whetsight/report.h>

G_BEGIN_DECLS

/* All quantities, with the probability of each to be inside, and where built-in limits are from. */
void wsi_text_table (GString *text, const WsReport *report);

/* In at most `n_lines` lines: what isn't accepted before what is, and that before what has no
 * limits; the rest is counted.  What isn't accepted stays, down to a few rows, however few lines
 * there are. */
void wsi_text_table_fitting (GString *text, const WsReport *report, guint n_lines);

/* The lines that such a table takes at least. */
guint wsi_text_table_least (const WsResult *result);

/* Breaks `words` at spaces; lines after the first start with `indent` spaces. */
void wsi_text_wrap (GString *text, const char *first, const char *words, glong indent);

G_END_DECLS

#endif
