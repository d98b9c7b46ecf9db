/*
 * Masks of cells or pixels, 1 where set, made greater and smaller.
 */
#ifndef WS_EDGE_FIND_MASK_H
#define WS_EDGE_FIND_MASK_H

#include <glib.h>

G_BEGIN_DECLS

/* Sets what is enclosed by cells of `mask` too: what can't be reached from the border. */
void wsi_mask_fill_holes (guint8 *mask, guint width, guint height);

/* Every cell that has one of the mask's within a square of `reach` cells each way. */
void wsi_mask_grow (guint8 *mask, guint width, guint height, guint reach);

/* Every cell all of whose neighbours within `reach` cells are the mask's; beyond the border
 * everything is. */
void wsi_mask_shrink (guint8 *mask, guint width, guint height, guint reach);

G_END_DECLS

#endif
