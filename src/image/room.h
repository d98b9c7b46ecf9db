/*
 * Memory to work on a picture.
 */
#ifndef WS_IMAGE_ROOM_H
#define WS_IMAGE_ROOM_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* Whether there is as much as measuring and drawing a picture of this size take.  What is measured
 * takes its memory in many places, and GLib ends the program where there is none, so it is asked
 * for once before.  `name` is for the message.  Errors: WS_ERROR_TOO_LARGE. */
gboolean wsi_image_check_room (const WsImage *image, const char *name, GError **error);

/* The error of a picture that is lost (image/light.h). */
void wsi_image_set_lost (const WsImage *image, const char *name, GError **error);

G_END_DECLS

#endif
