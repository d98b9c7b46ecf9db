/*
 * A part of a picture, roughly.
 */
#ifndef WS_IMAGE_CELLS_H
#define WS_IMAGE_CELLS_H

#include <glib.h>

G_BEGIN_DECLS

/* Squares of `factor` px, row by row. */
typedef struct
{
  guint width, height, factor;
  const guint8 *in; /* 1 for those that count */
} WsImageCells;

G_END_DECLS

#endif
