/*
 * A picture's light, whichever way its pixels are kept.
 */
#ifndef WS_IMAGE_LIGHT_H
#define WS_IMAGE_LIGHT_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* Of the pixel at `i`, row after row. */
static inline guint16
wsi_image_light (const WsImage *image, gsize i)
{
  return image->coded != NULL ? image->light[image->coded[i]] : image->linear[i];
}

/* `n` pixels from `i` on: where they lie, or copied to `room`, which holds as many. */
static inline const guint16 *
wsi_image_light_row (const WsImage *image, gsize i, gsize n, guint16 *room)
{
  if (image->coded == NULL)
    return image->linear + i;
  const guint8 *codes = image->coded + i;
  for (gsize k = 0; k < n; k++)
    room[k] = image->light[codes[k]];
  return room;
}

G_END_DECLS

#endif
