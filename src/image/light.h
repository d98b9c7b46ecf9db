/*
 * A picture's light, whichever way its pixels are kept.
 */
#ifndef WS_IMAGE_LIGHT_H
#define WS_IMAGE_LIGHT_H

#include <whetsight/image.h>

#include "image/sparse.h"

G_BEGIN_DECLS

/* Beside WS_IMAGE_CODED, of ws_image_load(): few of a JPEG's pixels may be kept.  The picture is
 * for one thread then, and who measured it asks wsi_image_is_lost() at the end. */
#define WSI_IMAGE_SPARSE ((WsImageFlags)(1 << 16))

/* Whether pixels that weren't kept couldn't be had for want of memory. */
static inline gboolean
wsi_image_is_lost (const WsImage *image)
{
  return image->sparse != NULL && image->sparse->is_lost;
}

static inline guint16
wsi_image_light_at (const WsImage *image, guint x, guint y)
{
  if (image->linear != NULL)
    return image->linear[(gsize)y * image->width + x];
  if (image->coded != NULL)
    return image->light[image->coded[(gsize)y * image->width + x]];
  const WsSparse *sparse = image->sparse;
  const guint8 *tile = sparse->tile[(y >> WSI_TILE_BITS) * sparse->across + (x >> WSI_TILE_BITS)];
  const guint within = (y & (WSI_TILE - 1)) << WSI_TILE_BITS | (x & (WSI_TILE - 1));
  return image->light[tile != NULL ? tile[within] : wsi_sparse_byte (image->sparse, x, y)];
}

/* Of the pixel at `i`, row after row: slower where few pixels are kept. */
static inline guint16
wsi_image_light (const WsImage *image, gsize i)
{
  if (image->linear != NULL)
    return image->linear[i];
  if (image->coded != NULL)
    return image->light[image->coded[i]];
  return wsi_image_light_at (image, (guint)(i % image->width), (guint)(i / image->width));
}

/* Of a pixel that isn't kept: between which its light is.  Else FALSE. */
static inline gboolean
wsi_image_light_between (const WsImage *image, guint x, guint y, WsLightRange *range)
{
  const WsSparse *sparse = image->sparse;
  if (sparse == NULL)
    return FALSE;
  const guint tile = (y >> WSI_TILE_BITS) * sparse->across + (x >> WSI_TILE_BITS);
  *range = sparse->range[tile];
  return sparse->tile[tile] == NULL;
}

/* Pixels of a row: where they lie, or put into `room`, which holds as many. */
static inline const guint16 *
wsi_image_light_row (const WsImage *image, guint y, guint16 *room)
{
  const gsize n = image->width;
  if (image->linear != NULL)
    return image->linear + y * n;
  const guint8 *codes =
    image->coded != NULL ? image->coded + y * n : wsi_sparse_line (image->sparse, FALSE, y);
  for (guint x = 0; x < n; x++)
    room[x] = codes != NULL ? image->light[codes[x]] : wsi_image_light_at (image, x, y);
  return room;
}

G_END_DECLS

#endif
