/*
 * A JPEG block's pixels of its coefficients (ITU-T T.81, A.3.3), to the bit those of libjpeg's
 * accurate method, by vectors.
 */
#ifndef WS_IMAGE_JPEG_BLOCK_H
#define WS_IMAGE_JPEG_BLOCK_H

#include <glib.h>

G_BEGIN_DECLS

#define WSI_JPEG_SIDE 8
#define WSI_JPEG_BLOCK (WSI_JPEG_SIDE * WSI_JPEG_SIDE)

/* Coefficients' sizes may add up to this: no sum on the way then needs more than its bits. */
#define WSI_JPEG_MOST 5800

/* Whether this machine can. */
gboolean wsi_jpeg_block_can (void);

/* Where the coefficient has to be put that is `i`th by rows. */
guint wsi_jpeg_block_place (guint i);

/* Of coefficients times their steps; pixels' rows lie `stride` apart. */
void wsi_jpeg_block_make (const gint16 block[WSI_JPEG_BLOCK], guint8 *pixels, gsize stride);

/* Where only the first coefficient isn't 0. */
void wsi_jpeg_block_make_flat (int first, guint8 *pixels, gsize stride);

G_END_DECLS

#endif
