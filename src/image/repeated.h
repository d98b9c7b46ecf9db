/*
 * What enlarging without smoothing leaves in a picture.
 */
#ifndef WS_IMAGE_REPEATED_H
#define WS_IMAGE_REPEATED_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/*
 * How many times as large along x or y a picture was made by repeating its lines: more than 1 where
 * some repeat the line before, noise and all, at even distances; 1 where none does, or noise is too
 * little to tell.
 */
double wsi_image_repeated (const WsImage *image);

G_END_DECLS

#endif
