/*
 * Nominal profiles: one chain of straight lines and circular arcs, in mm.
 *
 * x to the right and y up, as drawings have it.  File formats: docs/profiles.md.
 */
#ifndef WHETSIGHT_CONTOUR_H
#define WHETSIGHT_CONTOUR_H

#include <whetsight/point.h>

G_BEGIN_DECLS

/* More segments or a greater coordinate than these no ground profile has. */
#define WS_CONTOUR_MAX_SEGMENTS 1000
#define WS_CONTOUR_MAX_MM 10000.0

typedef struct
{
  WsPoint from, to;
  double sweep;   /* 0 for a line; of an arc the angle it turns, rad, positive counter-clockwise,
                     |sweep| < 2 pi */
  WsPoint centre; /* of an arc */
  double radius;  /* of an arc, > 0 */
  guint number;   /* of the drawn segment it is, or is part of, from 1 */
} WsContourSegment;

typedef struct
{
  GArray *segments; /* of WsContourSegment, each starting where the one before ends */
  gboolean is_closed;
  guint n_numbers; /* of drawn segments */
} WsContour;

/*
 * From the bytes of a DXF file (ASCII; entities LINE, ARC, LWPOLYLINE, POLYLINE) or of a plain
 * .profile file; which, is told from the content.  `name` is used in messages only.  An open
 * contour runs from left to right.
 *
 * Errors: WS_ERROR_DATA with file, line and what is expected: damaged, binary, too many segments,
 * coordinates out of range, entities that aren't read, gaps, branches.
 * Free with ws_contour_free().
 */
WsContour *ws_contour_parse (const char *bytes, gsize n_bytes, const char *name, GError **error);

/* The same for a file.  Errors also: WS_ERROR_NO_INPUT. */
WsContour *ws_contour_load (const char *path, GError **error);

/* Point of a segment, t from 0 to 1. */
WsPoint ws_contour_point (const WsContourSegment *segment, double t);

/* Along the segment, mm. */
double ws_contour_length (const WsContourSegment *segment);

/* Least and greatest y, arcs included. */
void ws_contour_heights (const WsContour *contour, double *least, double *greatest);

/* Turns the contour over, x to -x; an open one still runs from left to right, its segments keep
 * their numbers. */
void ws_contour_mirror (WsContour *contour);

void ws_contour_free (WsContour *contour);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsContour, ws_contour_free)

/* ---- What grinding a form tool needs --------------------------------------------- */

typedef struct
{
  double rake, relief;    /* rad; top rake, and front clearance at the smallest radius */
  double smallest_radius; /* of the part, mm: what its lowest point lies on */
  double tool_radius;     /* of a circular form tool, mm; NAN for a straight one */
} WsFormCorrection;

G_END_DECLS

#endif
