/*
 * How far away an uncalibrated camera stands, told by the drill itself.
 *
 * A near camera makes the outline of a helical body asymmetric (tool/drill/perspective.h), by an
 * amount that grows with 1 / distance, and undoing the perspective of the true distance and hand of
 * the flutes makes it symmetric again.  So the distance is the one whose undoing leaves the least
 * asymmetry.
 */
#ifndef WS_TOOL_DRILL_CAMERA_DISTANCE_H
#define WS_TOOL_DRILL_CAMERA_DISTANCE_H

#include "tool/drill/perspective.h"

G_BEGIN_DECLS

typedef enum
{
  WS_CAMERA_FAR,       /* nothing to undo: the body looks symmetric */
  WS_CAMERA_NEAR,      /* the distance was found, and the perspective undone */
  WS_CAMERA_UNCLEAR,   /* the body looks asymmetric, and no distance explains it well */
  WS_CAMERA_WRONG_HAND /* found for flutes of the other hand than the card's */
} WsCameraDistance;

/*
 * `perspective` holds web, hand and foot (the picture's middle, for want of better); its distance
 * and what follows from it are filled in.  Where the camera is near, the outline on which `*point`
 * rests is moved to where parallel projection would show it and `*point` is replaced; else both
 * stay.  An unclear body leaves the lines that the likeliest near camera would make of it in
 * `perspective->otherwise`, if one helps at all.
 */
WsCameraDistance wsi_camera_distance_seek (WsPerspective *perspective, WsDrillPoint **point);

G_END_DECLS

#endif
