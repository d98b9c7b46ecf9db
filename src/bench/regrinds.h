/*
 * A tool's last regrind: its pictures before and after, and what it took off.
 */
#ifndef WS_BENCH_REGRINDS_H
#define WS_BENCH_REGRINDS_H

#include "bench/regrinds_kept.h"
#include "bench/serve.h"

G_BEGIN_DECLS

typedef struct
{
  const WsInspection *before, *after; /* borrowed of the shelf; NULL when there is no such pair */
} WsRegrindPair;

/* The newest picture that was the first since a regrind, and the last of the same view before it;
 * of a tool's inspections, the oldest first. */
WsRegrindPair wsi_regrinds_last (const GPtrArray *shelf);

/* Laid on each other by a process that measures, in this thread's language.  FALSE with an error:
 * busy, or the archive can't be read. */
gboolean wsi_regrinds_tell (WsServe *serve, const char *tool, const WsRegrindPair *pair,
                            WsRegrindTold *told, GError **error);

/* The section of a tool's page; nothing without a pair. */
void wsi_regrinds_add (GString *html, WsServe *serve, const WsServeRequest *request,
                       const GPtrArray *shelf);

G_END_DECLS

#endif
