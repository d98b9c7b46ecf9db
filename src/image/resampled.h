/*
 * What resizing leaves in a picture's noise.
 */
#ifndef WS_IMAGE_RESAMPLED_H
#define WS_IMAGE_RESAMPLED_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/*
 * TRUE where the noise of a plain bright ground tells that the picture was resized along one of x
 * and y only, by different factors along both, or skewed, after it was taken.  FALSE where it tells
 * nothing, as after lossy compression.
 */
gboolean wsi_image_resampled_unevenly (const WsImage *image);

G_END_DECLS

#endif
