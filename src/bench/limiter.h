/*
 * How often one who asks may do so: a bucket for each, which fills with time.
 */
#ifndef WS_BENCH_LIMITER_H
#define WS_BENCH_LIMITER_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct WsLimiter WsLimiter;

/* So many at once, and so many a second in the long run.  Free with wsi_limiter_free(). */
WsLimiter *wsi_limiter_new (double most, double a_second);
void wsi_limiter_free (WsLimiter *limiter);

/* TRUE when one more is granted at that time (µs, monotonic); else `wait_s` is when it will be.
 * From any thread. */
gboolean wsi_limiter_ask (WsLimiter *limiter, const char *who, gint64 now, guint *wait_s);

G_END_DECLS

#endif
