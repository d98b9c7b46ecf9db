/*
 * The common kind of PNG pixels unpacked faster than libpng does: not interlaced, bytes.
 */
#ifndef WS_IMAGE_PNG_ROWS_H
#define WS_IMAGE_PNG_ROWS_H

#include <glib.h>

G_BEGIN_DECLS

/* Where to find the pixels of a file that libpng has read the header of. */
typedef struct
{
  const guint8 *bytes; /* the whole file, or what it begins with */
  gsize n_bytes, at;   /* its first IDAT chunk's data begin at `at` */
  gsize (*more) (gpointer more_data, const guint8 **bytes); /* how many come next, 0 at its end, and
                          which; NULL where there are no more */
  gpointer more_data;
  gsize row_bytes;   /* of a row without its filter's byte */
  guint pixel_bytes; /* 1 .. 8 */
  guint n_rows;
  guint8
    *plane; /* n_rows x row_bytes, where rows are put; NULL: one at a time into room of our own */
  void (*take) (gpointer data, guint y, const guint8 *row);
  gpointer data;
} WsPngRows;

/*
 * Hands out rows in order.  TRUE when the file is sound to its end: every check sum right, no byte
 * more or less than there should be, and nothing but plain text behind the pixels.  FALSE when it
 * isn't, or there is no library to unpack it: libpng then finds out what it is, from the first row
 * on.
 */
gboolean wsi_png_rows_read (const WsPngRows *rows);

/* Opens the library, if there is one: always TRUE, since it can be done without. */
gboolean wsi_png_rows_open (GError **error);

/* Whether it is there. */
gboolean wsi_png_rows_can (void);

/* Undoes a row's filter (PNG 3rd edition, 9.2), 0 .. 4; FALSE for another.  `above` and `row` may
 * not overlap `from`. */
gboolean wsi_png_unfilter (guint filter, const guint8 *from, const guint8 *above, gsize n,
                           guint pixel_bytes, guint8 *row);

G_END_DECLS

#endif
