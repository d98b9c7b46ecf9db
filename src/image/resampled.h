/*
 * What resizing leaves in a picture's noise.
 */
#ifndef WS_IMAGE_RESAMPLED_H
#define WS_IMAGE_RESAMPLED_H

#include <whetsight/image.h>

#include "image/cells.h"

G_BEGIN_DECLS

typedef enum
{
  WS_RESAMPLED_UNKNOWN,  /* compression, little noise or little ground hide it */
  WS_RESAMPLED_NOT,      /* or alike in both directions */
  WS_RESAMPLED_LITTLE,   /* or not at all: a trace that rounding may have left as well */
  WS_RESAMPLED_UNEVENLY, /* along one side only, by different factors, or skewed */
} WsResampled;

/*
 * Whether the picture was resized along one of x and y only, by different factors along both, or
 * skewed, after it was taken: by the noise of a plain ground; NULL: of what is bright.  `may_be`:
 * by how much, relative, where that is little, else 0.
 */
WsResampled wsi_image_resampled (const WsImage *image, const WsImageCells *ground, double *may_be);

G_END_DECLS

#endif
