/*
 * A stretch of outline by points at even distances, and where another point lies beside it.
 */
#ifndef WS_EDGE_EVEN_RUN_H
#define WS_EDGE_EVEN_RUN_H

#include <glib.h>
#include <whetsight/point.h>

G_BEGIN_DECLS

/* Tool on the right-hand side, y down; the foremost point, that of least y, lies at (0,0). */
typedef struct
{
  WsPoint *points;
  guint n, foremost;
  double spacing;
} WsEvenRun;

/* About `n` points along a run; FALSE when it is too short for that.  Clear with
 * wsi_even_run_clear(). */
gboolean wsi_even_run_make (WsEvenRun *run, const WsPoint *points, guint n_points, guint n);
void wsi_even_run_clear (WsEvenRun *run);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsEvenRun, wsi_even_run_clear)

/* From the foremost point to the rearmost, and from the leftmost to the rightmost. */
double wsi_even_run_height (const WsEvenRun *run);
double wsi_even_run_width (const WsEvenRun *run);

/* Unit normal at a point, away from the tool: of the chord over `reach` points to either side. */
WsPoint wsi_even_run_normal (const WsEvenRun *run, guint i, guint reach);

typedef struct
{
  WsPoint at;     /* the nearest point of the run */
  WsPoint normal; /* unit normal there, away from the tool */
  double inside;  /* how far the point lies within the tool; below 0: outside */
} WsEvenNear;

/* FALSE for a point beyond the run's ends. */
gboolean wsi_even_run_near (const WsEvenRun *run, WsPoint p, WsEvenNear *near);

G_END_DECLS

#endif
