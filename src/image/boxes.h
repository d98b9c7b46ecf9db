/*
 * Sums of light over boxes of pixels: what a picture looks like made small.
 */
#ifndef WS_IMAGE_BOXES_H
#define WS_IMAGE_BOXES_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  guint width, height; /* boxes */
  guint factor;        /* px a box */
  guint rows, skip;    /* of each box so many rows, so far apart: reading every pixel again would
                          cost a tenth of decoding */
  guint *sums;         /* of light, of 16 bits a pixel */
} WsBoxes;

/* All 0; a rest at the right and lower border is left out.  Clear with wsi_boxes_clear(). */
void wsi_boxes_init (WsBoxes *boxes, guint width, guint height);
void wsi_boxes_clear (WsBoxes *boxes);

/* Adds row `y` of a picture, if any box takes it: each once. */
void wsi_boxes_add (WsBoxes *boxes, guint y, const guint16 *row);

/* The same of bytes whose light a table tells. */
void wsi_boxes_add_codes (WsBoxes *boxes, guint y, const guint8 *row, const guint16 light[256]);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsBoxes, wsi_boxes_clear)

G_END_DECLS

#endif
