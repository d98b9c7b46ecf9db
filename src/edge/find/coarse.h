/*
 * A front-lit tool on a plain ground, found by colour on a reduced picture.
 */
#ifndef WS_EDGE_FIND_COARSE_H
#define WS_EDGE_FIND_COARSE_H

#include "colour/sampler.h"

G_BEGIN_DECLS

typedef struct
{
  guint factor;        /* px a cell */
  guint width, height; /* cells */
  float *lab;          /* 3 a cell */
  float *apart;        /* colour distance (CIE 1976) from the ground */
  guint8 *tool;        /* 1 where the tool is */
  double least;        /* and from which colour distance on something is there at all */
  WsLight ground;      /* median of what is not tool */
  guint touching[4];   /* cells of tool along the picture's top, right, bottom, left */
  guint area;          /* cells of tool */
  gboolean several;    /* another thing as large is there, or nearly */
} WsCoarse;

/* Things that touch the picture's frame (a blade held from outside) or things that don't (a
 * drill seen along its axis).  NULL when there is none.  Free with wsi_coarse_free(). */
WsCoarse *wsi_coarse_find (const WsSampler *sampler, gboolean touching_frame);
void wsi_coarse_free (WsCoarse *coarse);

/* Of a place in the picture, px. */
gboolean wsi_coarse_is_tool (const WsCoarse *coarse, WsPoint at);

/* Is anything there, tool or not, that isn't ground? */
gboolean wsi_coarse_is_thing (const WsCoarse *coarse, WsPoint at);

/*
 * The first clear change of colour along a line in the picture: distance of the half-way point
 * from `start` along the unit `direction`, px; `contrast`: colour distance of the plateau.  NAN
 * when there is none within `reach` px or the line leaves the picture.  The ground is taken from
 * the line's first fifth.
 */
double wsi_coarse_crossing (const WsSampler *sampler, WsPoint start, WsPoint direction,
                            double reach, double least_contrast, double *contrast, double *width);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsCoarse, wsi_coarse_free)

G_END_DECLS

#endif
