/*
 * A place: what every layer from the first edge to the last drawing speaks of.
 */
#ifndef WHETSIGHT_POINT_H
#define WHETSIGHT_POINT_H

#include <glib.h>

G_BEGIN_DECLS

/* In the picture px, x right and y down; in a profile mm, y up; in the tool frame (u, z). */
typedef struct
{
  double x, y;
} WsPoint;

G_END_DECLS

#endif
