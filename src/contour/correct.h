/*
 * A part's profile as it must stand on the form tool that cuts it.
 */
#ifndef WS_CONTOUR_CORRECT_H
#define WS_CONTOUR_CORRECT_H

#include <whetsight/contour.h>

G_BEGIN_DECLS

/* Depth along the tool's face from the edge that cuts the smallest radius to the one that cuts
 * radius r2: L = sqrt (r2^2 - (r1 sin g)^2) - r1 cos g. */
double wsi_form_face_depth (const WsFormCorrection *correction, double r2);

/* The same depth measured square to the flank of a straight tool: t = L cos (a + g). */
double wsi_form_flank_depth (const WsFormCorrection *correction, double r2);

/* Radius of a circular tool's own profile there: r = sqrt (R^2 + L^2 - 2 R L cos (a + g)); with
 * rake 0 that is sqrt ((sqrt (R^2 - H^2) - L)^2 + H^2), H = R sin a. */
double wsi_form_circular_radius (const WsFormCorrection *correction, double r2);

/*
 * The part's profile (y along its radius, y least on the smallest radius) as it must stand on the
 * tool's face.  What is no longer a line or an arc becomes short chords that stay within
 * 1e-4 mm and keep their segment's number.  The caller owns the result.
 */
WsContour *wsi_form_correct (const WsContour *part, const WsFormCorrection *correction);

G_END_DECLS

#endif
