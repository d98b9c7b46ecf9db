/*
 * A picture of which little is kept, as those who look at all of it need.
 */
#ifndef WS_IMAGE_SPARE_H
#define WS_IMAGE_SPARE_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* Bytes a pixel: 1, or 2 of light.  NULL of one that is small enough to be kept whole, and where
 * memory is short. */
WsImage *wsi_image_new_sparse (guint width, guint height, guint size);

G_END_DECLS

#endif
