/*
 * What was told of regrinds already: telling takes a second, and it doesn't change.
 */
#ifndef WS_BENCH_REGRINDS_KEPT_H
#define WS_BENCH_REGRINDS_KEPT_H

#include <jansson.h>

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  json_t *said;    /* as wsi_regrind_work() has it; NULL when it can't be told */
  char *why;       /* then a sentence; else NULL */
  GBytes *drawing; /* SVG */
} WsRegrindTold;

void wsi_regrind_told_clear (WsRegrindTold *told);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsRegrindTold, wsi_regrind_told_clear)

/* A few dozen, from any thread. */
typedef struct WsRegrindsKept WsRegrindsKept;

WsRegrindsKept *wsi_regrinds_kept_new (void);
void wsi_regrinds_kept_free (WsRegrindsKept *kept);

/* Copies it under a name; FALSE when it isn't there. */
gboolean wsi_regrinds_kept_find (WsRegrindsKept *kept, const char *name, WsRegrindTold *told);
void wsi_regrinds_keep (WsRegrindsKept *kept, const char *name, const WsRegrindTold *told);

G_END_DECLS

#endif
