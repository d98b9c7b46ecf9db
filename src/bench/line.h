/*
 * Connections by what they are at, so that those who take their time can be cut: whoever sends a
 * byte now and then would else hold a place for ever.
 */
#ifndef WS_BENCH_LINE_H
#define WS_BENCH_LINE_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct WsLine WsLine;
typedef struct WsLines WsLines;

WsLines *wsi_lines_new (void);
void wsi_lines_free (WsLines *lines);

/* By any key that stays the connection's own; `socket` is its socket. */
void wsi_lines_add (WsLines *lines, gpointer key, int socket);
void wsi_lines_remove (WsLines *lines, gpointer key);

/* Stays until it is removed; NULL for one that was never added. */
WsLine *wsi_lines_find (WsLines *lines, gpointer key);

/* What it is at from now on: waiting for a head, reading a body of so many bytes, being worked for,
 * sending.  NULL is passed over. */
void wsi_line_waits (WsLine *line);
void wsi_line_reads (WsLine *line, guint64 n_bytes);
void wsi_line_works (WsLine *line);
void wsi_line_sends (WsLine *line);

/* Shuts those down that are late at that time, µs. */
void wsi_lines_cut (WsLines *lines, gint64 now);

G_END_DECLS

#endif
