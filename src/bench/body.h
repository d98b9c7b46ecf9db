/*
 * A request's body as it comes in: short ones in memory, long ones in a file without a name, so
 * that many at once take little memory.
 */
#ifndef WS_BENCH_BODY_H
#define WS_BENCH_BODY_H

#include <glib.h>

G_BEGIN_DECLS

/* Where the long ones lie, and how much of them. */
typedef struct WsSpool WsSpool;

WsSpool *wsi_spool_new (const char *folder);
void wsi_spool_free (WsSpool *spool);

typedef struct WsBody WsBody;

/* Of `most` bytes at most.  Free with wsi_body_free(). */
WsBody *wsi_body_new (WsSpool *spool, guint64 most);
void wsi_body_free (WsBody *body);

/* FALSE when it gets too long. */
gboolean wsi_body_add (WsBody *body, const char *bytes, gsize n_bytes);

/* The whole of it; NULL when there was no room.  The caller owns it; it outlives the body. */
GBytes *wsi_body_take (WsBody *body);

G_END_DECLS

#endif
