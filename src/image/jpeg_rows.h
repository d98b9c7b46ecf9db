/*
 * The common kind of JPEG's brightness unpacked faster than libjpeg does: one scan of Huffman
 * codes, 8 bits, brightness of full size.
 */
#ifndef WS_IMAGE_JPEG_ROWS_H
#define WS_IMAGE_JPEG_ROWS_H

/* jpeglib.h needs stdio.h first. */
#include <stdio.h>

#include <glib.h>
#include <jpeglib.h>

G_BEGIN_DECLS

/* Up to so many rows are made at a time. */
#define WSI_JPEG_ROWS 32

typedef struct
{
  gsize stride;                              /* from row to row */
  guint8 *(*place) (gpointer data, guint y); /* where rows from `y` on are put, which is a multiple
                                                of how many */
  void (*take) (gpointer data, guint y);     /* row `y` lies there */
  gpointer data;
} WsJpegRows;

/* At least so much room a row takes. */
static inline gsize
wsi_jpeg_rows_stride (guint width)
{
  return ((gsize)width + 31) / 32 * 32;
}

/*
 * Hands out rows in order, of a file whose header was read, from memory.  TRUE when they are what
 * libjpeg makes of it, without a warning.  FALSE where it isn't of that kind, or not sound, or
 * nearly too odd to be: libjpeg then finds out what it is, from the first row on.
 */
gboolean wsi_jpeg_rows_read (const struct jpeg_decompress_struct *jpeg, const WsJpegRows *rows);

G_END_DECLS

#endif
