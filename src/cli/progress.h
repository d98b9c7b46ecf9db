/*
 * How far a long task is, on standard error: one line that renews itself on a terminal, a line
 * now and then elsewhere.
 */
#ifndef WS_CLI_PROGRESS_H
#define WS_CLI_PROGRESS_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  const char *verb; /* "measured" */
  const char *unit; /* "" for things, "MB" for bytes counted in millions */
  double all;
  gboolean on_terminal;
  gint64 start_us, shown_us;
  gboolean visible; /* a line to be renewed stands on the terminal */
  gboolean gone;    /* one stood there until it was taken away */
} WsProgress;

void wsi_progress_start (WsProgress *progress, const char *verb, const char *unit, double all);
void wsi_progress_show (WsProgress *progress, double done);

/* Takes the line away, before something else is printed and at the end. */
void wsi_progress_clear (WsProgress *progress);

double wsi_progress_seconds (const WsProgress *progress);

G_END_DECLS

#endif
