/*
 * A camera's frame as a JPEG, to be looked at.
 */
#ifndef WS_BENCH_GREY_JPEG_H
#define WS_BENCH_GREY_JPEG_H

#include <whetsight/image.h>

G_BEGIN_DECLS

#define WSI_GREY_LEVELS 4096
#define WSI_GREY_SHIFT 4 /* from 16 bits */

/* Codes of sRGB for linear light in equal steps. */
typedef struct
{
  guint8 code[WSI_GREY_LEVELS];
} WsGreyTable;

void wsi_grey_table_fill (WsGreyTable *table);

/* Appends it; FALSE when there is no memory for it. */
gboolean wsi_grey_jpeg (const WsImage *image, const WsGreyTable *table, GByteArray *out);

G_END_DECLS

#endif
