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

/* Depth along the tool's face from the edge that cuts the smallest radius to the one that cuts
 * radius r2: L = sqrt (r2^2 - (r1 sin g)^2) - r1 cos g. */
double ws_form_face_depth (const WsFormCorrection *correction, double r2);

/* The same depth measured square to the flank of a straight tool: t = L cos (a + g). */
double ws_form_flank_depth (const WsFormCorrection *correction, double r2);

/* Radius of a circular tool's own profile there: r = sqrt (R^2 + L^2 - 2 R L cos (a + g)); with
 * rake 0 that is sqrt ((sqrt (R^2 - H^2) - L)^2 + H^2), H = R sin a. */
double ws_form_circular_radius (const WsFormCorrection *correction, double r2);

/*
 * The part's profile (y along its radius, y least on the smallest radius) as it must stand on the
 * tool's face.  What is no longer a line or an arc becomes short chords that stay within
 * 1e-4 mm and keep their segment's number.  The caller owns the result.
 */
WsContour *ws_form_correct (const WsContour *part, const WsFormCorrection *correction);

G_END_DECLS

#endif
