/*
 * A picture's light, whichever way its pixels are kept.
 */
#ifndef WS_IMAGE_LIGHT_H
#define WS_IMAGE_LIGHT_H

#include <whetsight/image.h>

#include "image/sparse.h"

G_BEGIN_DECLS

/* Beside WS_IMAGE_CODED, of ws_image_load(): few of a picture's pixels may be kept.  The picture is
 * for one thread then, and who measured it asks wsi_image_is_lost() at the end. */
#define WSI_IMAGE_SPARSE ((WsImageFlags)(1 << 16))

/* Whether pixels that weren't kept couldn't be had, for want of memory or since the file changed.
 */
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
  const guint16 code = tile != NULL ? wsi_sparse_code_of (sparse, tile, within)
                                    : wsi_sparse_code (image->sparse, x, y);
  return sparse->size == 1 ? image->light[code] : code;
}

/* The `i`th of a line's codes that a sparse picture keeps whole, as light. */
static inline guint16
wsi_image_light_of (const WsImage *image, const guint8 *codes, gsize i)
{
  const guint16 code = wsi_sparse_code_of (image->sparse, codes, i);
  return image->sparse->size == 1 ? image->light[code] : code;
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
  const guint8 *kept = image->sparse != NULL ? wsi_sparse_line (image->sparse, FALSE, y) : NULL;
  for (guint x = 0; x < n; x++)
    room[x] = image->coded != NULL ? image->light[image->coded[y * n + x]]
              : kept != NULL       ? wsi_image_light_of (image, kept, x)
                                   : wsi_image_light_at (image, x, y);
  return room;
}

G_END_DECLS

#endif
