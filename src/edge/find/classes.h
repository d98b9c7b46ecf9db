/*
 * Tool and ground on a reduced picture, told apart by a threshold that follows uneven light.
 */
#ifndef WS_EDGE_FIND_CLASSES_H
#define WS_EDGE_FIND_CLASSES_H

#include <whetsight/point.h>

#include "edge/find/field.h"
#include "edge/find/reduced.h"

G_BEGIN_DECLS

typedef struct
{
  double ground, tool; /* median light */
  double tool_spread;  /* robust standard deviation */
} WsLevels;

/* One of the tool's class that hangs together. */
typedef struct
{
  double area; /* cells */
  guint label;
} WsObject;

/* The ground's light, clear of the tool's edge; `level` where the ground is too scanty. */
WsField wsi_classes_fit_ground (const WsReduced *reduced, double level);

/* Sets reduced->tool. */
void wsi_classes_split (WsReduced *reduced, const WsField *threshold, gboolean tool_is_dark);

/* The tool's are left as they are when it has no cells. */
void wsi_classes_find_levels (const WsReduced *reduced, WsLevels *levels);

/* Sets reduced->label; the two largest objects, largest first.  Slices of neighbours that the
 * border cuts off (edge/find/which_tool.h) are none. */
void wsi_classes_find_objects (WsReduced *reduced, WsObject objects[2]);

/* Share of the ground's pixels of the full picture at full scale. */
double wsi_classes_clipped_share (const WsImage *image, const WsReduced *reduced);

/* The object's pixel farthest from its edge, in the full picture. */
WsPoint wsi_classes_deepest (const WsReduced *reduced, guint label);

/*
 * How much of the step from tool to ground happens within three reduced pixels of the object's
 * borders, whichever way they face: about 1 for an object, little for a slope of the light.
 */
double wsi_classes_sharpness (const WsReduced *reduced, guint label, double step);

G_END_DECLS

#endif
