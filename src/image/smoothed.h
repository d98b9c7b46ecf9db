/*
 * Whether a picture's noise was taken away after it was taken.
 */
#ifndef WS_IMAGE_SMOOTHED_H
#define WS_IMAGE_SMOOTHED_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/*
 * The noise that a sensor adds is as great between neighbours as between pixels farther apart.
 * What a noise filter, a compression or an enlargement leaves is alike between neighbours, and
 * nothing is left where the filter is strong or the picture has few codes.
 *
 * On a plain bright ground: the mean second difference between neighbours over that between pixels
 * `WS_SMOOTHED_APART` px apart; 1 as a sensor leaves it.  NAN where too little ground is seen or
 * no noise is.
 */
#define WS_SMOOTHED_APART 5
double wsi_image_noise_between (const WsImage *image);

/* The rows of such a picture that are looked at for it. */
void wsi_smoothed_rows (guint width, guint height, GArray *rows);

G_END_DECLS

#endif
