/*
 * What a calibration's covariance means for something measured through its lens.
 */
#ifndef WS_OPTICS_PROPAGATE_H
#define WS_OPTICS_PROPAGATE_H

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* A quantity as another lens would give it from the same picture. */
typedef double (*WsThroughLens) (const WsLens *lens, gconstpointer data);

/* Standard uncertainty of the quantity by the lens' covariance, first order (JCGM 100:2008,
 * 5.2.2): root sum of squares over the lens' deviations (deviate.h). */
double wsi_lens_propagate (const WsLens *lens, WsThroughLens quantity, gconstpointer data);

G_END_DECLS

#endif
