/*
 * A wire edge seen end-on: a flake at the corner where two straight edges meet
 * (docs/methods/blade.md, (B75)).
 *
 * It may be thinner than the blur, so that the half-level outline doesn't show it at all.  What it
 * takes of the ground's light does: summed across it, that is its thickness, however blurred.
 */
#ifndef WS_EDGE_FLAKE_H
#define WS_EDGE_FLAKE_H

#include <whetsight/image.h>
#include <whetsight/point.h>

#include "edge/burr.h"

G_BEGIN_DECLS

typedef struct
{
  WsPoint place;    /* where the lines meet, px */
  WsPoint away[2];  /* unit vectors along the lines, from there over the tool's border */
  double length[2]; /* over which the edges are straight, px */
  double reach;     /* of what a rounded corner spoils of them, px */
  double blur;      /* px */
  double most;      /* higher things are no wire edges, px */
} WsFlakeSight;

typedef struct
{
  double height, u_height; /* of its end outside of what both lines enclose, px; 0: none */
  double least;            /* lower ones aren't seen, px */
  double thickness;        /* halfway up, px */
  WsPoint where;           /* its end */
  WsBurrShape shape;
} WsFlake;

/* FALSE where the picture shows too little of the ground before the corner to tell. */
gboolean wsi_flake_read (const WsImage *image, const WsFlakeSight *sight, WsFlake *flake);

G_END_DECLS

#endif
