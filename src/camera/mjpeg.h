/*
 * Pictures that a camera compressed one by one: Motion JPEG.
 */
#ifndef WS_CAMERA_MJPEG_H
#define WS_CAMERA_MJPEG_H

#include "camera/samples.h"

G_BEGIN_DECLS

typedef struct WsMjpeg WsMjpeg;

/* Free with wsi_mjpeg_free(). */
WsMjpeg *wsi_mjpeg_new (void);
void wsi_mjpeg_free (WsMjpeg *mjpeg);

/* Decodes one picture to samples of this size, RGB with `colour`, else its luma; they belong to
 * `mjpeg` and hold until the next one.  FALSE when it is damaged or of another size. */
gboolean wsi_mjpeg_decode (WsMjpeg *mjpeg, const guint8 *bytes, gsize n_bytes, gboolean colour,
                           WsSamples *samples);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsMjpeg, wsi_mjpeg_free)

G_END_DECLS

#endif
