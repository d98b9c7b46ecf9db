/*
 * The light of a lamp that flickers while rows are read.
 */
#ifndef WS_IMAGE_EVENED_H
#define WS_IMAGE_EVENED_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/*
 * The same picture of a dark thing before a bright ground with such a flicker divided out, where
 * the ground left and right shows that rows (or, of a picture that was turned, columns) get
 * brighter and darker alike, by so much that edges are moved.  NULL where it shows none, where it
 * may be the panel's own light, and where memory is short.  `clipped` becomes the share of the
 * ground that is at full scale, whose light isn't known.  The caller owns the result; it has no
 * colour beside it.
 */
WsImage *wsi_image_evened (const WsImage *image, double *clipped);

/* What it looks at of a picture whose lamp is far from flickering: rows or columns, of so many as
 * lie across them, and every so-many-th pixel. */
void wsi_evened_first_lines (guint across, GArray *lines);
gsize wsi_evened_first_every (guint width, guint height);

G_END_DECLS

#endif
