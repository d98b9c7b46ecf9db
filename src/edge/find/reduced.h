/*
 * A picture made small enough to look at all of it, and what one threshold says of it.
 */
#ifndef WS_EDGE_FIND_REDUCED_H
#define WS_EDGE_FIND_REDUCED_H

#include <whetsight/image.h>

G_BEGIN_DECLS

typedef struct
{
  guint width, height; /* cells */
  guint factor;        /* px a cell */
  float *light;        /* 0 .. 1 */
  guint8 *tool;        /* 1 where the tool is */
  guint *label;        /* object number, 0 for ground */
} WsReduced;

/* Light only; no tool and no labels yet.  Clear with wsi_reduced_clear(). */
void wsi_reduced_init (const WsImage *image, WsReduced *reduced);
void wsi_reduced_clear (WsReduced *reduced);

/* The light that separates two classes best. */
double wsi_reduced_split (const WsReduced *reduced);

/* Share of the cells along the border that are brighter. */
double wsi_reduced_bright_border (const WsReduced *reduced, double threshold);

/* Does the cell's neighbourhood, two cells each way, hold any of the other class? */
gboolean wsi_reduced_is_near_other (const WsReduced *reduced, guint x, guint y, guint8 class);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsReduced, wsi_reduced_clear)

G_END_DECLS

#endif
