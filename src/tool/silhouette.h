/*
 * What views in silhouette share: the outline with its gates, and how well it is known.
 */
#ifndef WS_TOOL_SILHOUETTE_H
#define WS_TOOL_SILHOUETTE_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* Finds the tool, traces and marks its outline, moves it to the ideal picture.  NULL when the
 * picture can't be measured; the result then is a retake.  Free with wsi_outline_free(). */
WsOutline *wsi_silhouette_trace (const WsImage *image, const WsOptics *optics, WsResult *result);

/* The same for a view in which another face shows beside the tool's side, maybe nearly as light as
 * the ground when lit from the front: it must be inside. */
WsOutline *wsi_silhouette_trace_faces (const WsImage *image, const WsOptics *optics,
                                       WsResult *result);

/* The same with gaps, for a view that looks after them: where a front-lit tool is as bright as the
 * ground. */
WsOutline *wsi_silhouette_trace_parts (const WsImage *image, const WsOptics *optics,
                                       WsResult *result);

/* Tells a distortion that is more than `told` has, or lenses for measuring; else nothing. */
void wsi_silhouette_tell_bend (double distortion, const WsOptics *told, WsResult *result);

/* What is known of the camera after a look at the tool's straight edges: without a calibration they
 * tell how much its lens bends at least, and `lens_distortion` becomes no less.  For tools with
 * straight edges; a drill's lands fall away at their ends, which looks the same. */
WsOptics wsi_silhouette_optics (const WsImage *image, const WsOutline *outline,
                                const WsOptics *optics, WsResult *result);

/* An edge of a tool of that area, px, that is blurred over more than this is out of focus, px. */
double wsi_silhouette_blur_limit (double area_px);

/* Standard uncertainty of the outline's place as a whole, px: a transfer curve that is not quite
 * the assumed one moves every edge outward or inward by a part of the blur. */
double wsi_silhouette_level_u (const WsImage *image, const WsOutline *outline);

/* What the light of a front-lit tool, which varies along its edges, makes of the scatter that a
 * jackknife tells: a factor, 1 in silhouette. */
double wsi_silhouette_light_factor (const WsOutline *outline);

/* Standard deviation of one outline point, px: the Cramer-Rao bound of its scan line, and more
 * where the tool is lit from the front. */
double wsi_silhouette_point_u (const WsOutline *outline);

/* How far a round edge of radius `radius` px looks inside its true place, px: half the light
 * lies where a Gaussian of the blur's width covers half of a disc, s^2 / (2 r) inside. */
double wsi_silhouette_rounding (const WsOutline *outline, double radius);

G_END_DECLS

#endif
