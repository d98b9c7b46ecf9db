/*
 * What lies on a plain ground, found on a reduced picture: the ground is a smooth field of
 * lightness, and whatever differs from it, brighter or darker, belongs to a thing.
 */
#ifndef WS_EDGE_FIND_THINGS_H
#define WS_EDGE_FIND_THINGS_H

#include "edge/find/field.h"
#include "image/flood.h"

G_BEGIN_DECLS

typedef struct
{
  guint width, height; /* cells */
  float *apart;        /* lightness, the square root of light 0 .. 1, less the ground's */
  WsField ground;      /* the ground's lightness */
  double spread;       /* robust standard deviation of the ground's cells about it */
  double least;        /* cells farther apart belong to things */
  guint *label;        /* number of the thing, from 1; 0 on the ground */
  GArray *things;      /* of WsPatch, thing n at n - 1 */
} WsThings;

/* `light` holds width x height cells, linear, 0 .. 1; both at least 1.  The ground is looked for
 * about the light `ground`, or, when that is NAN, about the commonest along the border.  Never
 * NULL. Free with wsi_things_free(). */
WsThings *wsi_things_find (const float *light, guint width, guint height, double ground);
void wsi_things_free (WsThings *things);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsThings, wsi_things_free)

G_END_DECLS

#endif
