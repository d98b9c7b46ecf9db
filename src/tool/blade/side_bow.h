/*
 * Faces that the rim of a wheel left hollow, or a hand left round: their angle is that right behind
 * the edge, as ISO 3002-1 has its angles at a point of the edge.  docs/methods/blade.md, (B9a).
 */
#ifndef WS_TOOL_BLADE_SIDE_BOW_H
#define WS_TOOL_BLADE_SIDE_BOW_H

#include <whetsight/image.h>
#include <whetsight/optics.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

typedef struct
{
  double depth; /* of its middle under the line between its ends, px; < 0: it bulges */
  double turn;  /* of its direction at the tip against that of its whole length, rad */
  double u_turn;
  gboolean is_sure; /* more than noise and an unknown lens make of a straight edge */
} WsSideBow;

WsSideBow wsi_side_bow (const WsBlade *blade, guint edge, guint tip, const WsImage *image,
                        const WsOptics *optics);

/*
 * Puts the edge's line through the tip, along the edge there, with what is known of it then, and as
 * long as the edge hardly leaves it.  The corner is left as it was.
 */
void wsi_side_bow_take (WsBlade *blade, guint edge, guint tip, const WsSideBow *bow);

G_END_DECLS

#endif
