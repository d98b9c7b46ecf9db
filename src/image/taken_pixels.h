/*
 * What a camera's pixels were, in a word that a picture's file keeps.
 */
#ifndef WS_IMAGE_TAKEN_PIXELS_H
#define WS_IMAGE_TAKEN_PIXELS_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* "grey 16 bits linear", "colour 8 bits sRGB assumed JPEG".  Free with g_free(). */
char *wsi_taken_pixels (const WsImage *image);

/* Makes the picture, loaded as linear light, doubted as much as the camera's own would be. */
void wsi_taken_apply (const WsTaken *taken, WsImage *image);

G_END_DECLS

#endif
