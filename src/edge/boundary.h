/*
 * The boundary of the tool between pixels, as a chain of steps along pixels' borders.
 */
#ifndef WS_EDGE_BOUNDARY_H
#define WS_EDGE_BOUNDARY_H

#include "edge/find/segment.h"

G_BEGIN_DECLS

/* One step of the boundary between a tool pixel and the ground pixel beside it. */
typedef struct
{
  int x, y;     /* the tool pixel */
  gint8 dx, dy; /* toward the ground pixel */
} WsCrack;

/* Of WsCrack, once round the tool, which is on the right-hand side.  NULL when it doesn't close
 * within a sensible length.  Free with g_array_unref(). */
GArray *wsi_boundary_trace (const WsImage *image, const WsSegment *segment);

/* The same of the hole about `inside`; NULL also when there is no hole. */
GArray *wsi_boundary_trace_hole (const WsImage *image, const WsSegment *segment, WsPoint inside);

/* The same from a crack that is known, into an array of WsCrack with what it held thrown away;
 * FALSE when it doesn't close.  Allocates nothing where the array has room for wsi_boundary_limit()
 * + 1.
 */
gboolean wsi_boundary_follow (const WsImage *image, const WsSegment *segment, const WsCrack *start,
                              GArray *cracks);

/* Longer boundaries are noise's. */
guint wsi_boundary_limit (const WsImage *image);

/* The area that a boundary encloses, px; positive when the tool is inside, negative for a hole's.
 */
double wsi_boundary_area (const GArray *cracks);

/* Unit normal toward the ground at the i-th crack. */
WsPoint wsi_boundary_normal (const GArray *cracks, guint i);

/* Is it the picture's border that is crossed? */
gboolean wsi_crack_touches_frame (const WsImage *image, const WsCrack *c);

/* Does the crack's scan line, a row or column, cross the boundary as nearly at right angles as one
 * can? */
gboolean wsi_crack_matches (const WsCrack *c, WsPoint normal);

/* Between scan line and normal, not less than a half. */
double wsi_crack_cosine (const WsCrack *c, WsPoint normal);

/* The first of `n` cracks from `first` on that has a scan line of its own.  A staircase repeats,
 * and steps of constant length through it may meet nothing else than cracks without one: at 45
 * degrees every other is. */
gboolean wsi_boundary_find_crossing (const WsImage *image, const GArray *cracks, guint first,
                                     guint n, guint *found);

G_END_DECLS

#endif
