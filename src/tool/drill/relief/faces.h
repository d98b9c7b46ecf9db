/*
 * Whether an edge that was found parts the flank from the margin.
 */
#ifndef WS_TOOL_DRILL_RELIEF_FACES_H
#define WS_TOOL_DRILL_RELIEF_FACES_H

#include <whetsight/image.h>

#include "tool/drill/relief/tangent.h"

G_BEGIN_DECLS

/* TRUE where the surface below the edge has the grain of ground metal, as drawings don't. */
gboolean wsi_relief_has_grain (const WsImage *image, const WsOptics *optics,
                               const WsReliefEdge *edge);

/* TRUE where two faces of light of their own meet along the edge; a line on one face parts none. */
gboolean wsi_relief_parts_faces (const WsImage *image, const WsOptics *optics,
                                 const WsReliefEdge *edge, const WsReliefTangent *tangent);

G_END_DECLS

#endif
