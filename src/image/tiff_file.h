/*
 * A TIFF file in memory as libtiff opens it, and what libtiff says about it.
 */
#ifndef WS_IMAGE_TIFF_FILE_H
#define WS_IMAGE_TIFF_FILE_H

#include "image/decoder.h"
#include "late/tiff.h"

G_BEGIN_DECLS

typedef struct
{
  const WsImageSource *source;
  guint64 at; /* next byte to hand out */
  TIFF *tiff;
  guint64 max_bytes;       /* of one piece of memory; 0 for no limit */
  gboolean reading_pixels; /* a warning may mean pixels that were made up */
  char message[96];        /* libtiff's first that counts; "" without any */
} WsTiffFile;

/* Opens the first page.  FALSE, with `message`, when there is none.  Close with
 * wsi_tiff_file_close(), in either case. */
gboolean wsi_tiff_file_open (WsTiffFile *file, const WsImageSource *source);
void wsi_tiff_file_close (WsTiffFile *file);

/* A tag of one SHORT, by its default where the file says nothing. */
guint wsi_tiff_file_short (const WsTiffFile *file, guint32 tag);

G_END_DECLS

#endif
