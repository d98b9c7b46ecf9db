/*
 * A wire edge, read off heights of an outline above a ground edge's line (docs/methods/drill.md,
 * (36)).
 */
#ifndef WS_EDGE_BURR_H
#define WS_EDGE_BURR_H

#include "base/geometry.h"

G_BEGIN_DECLS

/* One point of the outline. */
typedef struct
{
  double along;  /* the edge, px */
  double height; /* above its line, px; negative: below */
} WsBurrPlace;

typedef enum
{
  WS_BURR_WIRE,
  WS_BURR_UNCLEAR, /* a drop or a short wire edge: the picture doesn't tell */
  WS_BURR_ROUND,   /* as high for its length as drops and dust are */
} WsBurrShape;

typedef struct
{
  double height, u_height;  /* greatest; px */
  double higher;            /* than what was seen, that a tooth at the far end may stand, px */
  double length, u_length;  /* between its outermost places of a quarter of that */
  double from, to;          /* where those are */
  WsBurrShape shape;        /* of what is highest, up to where the line shows beside it */
  gboolean is_beside_round; /* grains may lengthen it */
  gboolean falls_off;       /* the edge does, at its far end, before it shows again */
  gboolean is_smooth;       /* one arc, as films of oil are, and what was rolled over */
} WsBurr;

/* `places` in order along the edge; `sigma` is a place's standard deviation, `u_line` that of
 * the line that heights count from, px.  Of nothing above 0 the height is 0. */
WsBurr wsi_burr_read (const WsBurrPlace *places, guint n, double blur, double sigma, double u_line);

G_END_DECLS

#endif
