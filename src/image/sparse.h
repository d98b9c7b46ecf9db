/*
 * Of a picture the pixels beside steps of light, and few others: all that measuring a silhouette
 * mostly looks at, in a small part of the memory.  Who asks for another makes the file be decoded
 * again, whole; so pixels are what they are in any case.  A pixel is kept as its byte in the file,
 * or as its light, 16 bits, here called its code in both cases.
 */
#ifndef WS_IMAGE_SPARSE_H
#define WS_IMAGE_SPARSE_H

#include "image/boxes.h"

G_BEGIN_DECLS

/* Pixels are kept in squares of this side. */
#define WSI_TILE_BITS 5
#define WSI_TILE (1U << WSI_TILE_BITS)

typedef struct
{
  guint16 least, most;
} WsLightRange;

typedef struct WsSparseRest WsSparseRest;
typedef struct WsPassing WsPassing;

typedef struct WsSparse
{
  guint width, height;
  guint size;          /* bytes a pixel: 1, or 2 of light */
  guint across, down;  /* tiles */
  guint8 **tile;       /* row after row of them; NULL where it isn't kept */
  WsLightRange *range; /* of each one's light */
  WsBoxes boxes;
  WsPassing *passing; /* what was noted while rows passed; NULL where nothing was */
  void (*free_passing) (WsPassing *passing);
  gboolean is_lost; /* decoding again failed: what was measured then is of no worth */
  WsSparseRest *rest;
} WsSparse;

/* What those look at who look at all of a picture. */
typedef struct
{
  GArray *rows, *columns; /* guint: kept whole */
  gsize every;            /* so many pixels, row after row, from one that is kept to the next */
} WsSparseLooks;

/* Of bytes, or of light.  NULL where memory is short. */
WsSparse *wsi_sparse_new (guint width, guint height, guint size, const WsSparseLooks *looks);
void wsi_sparse_free (WsSparse *sparse);

/* Where row `y` has to be put, from 0 on, and what is done then; `light` of bytes.  It lies there
 * until so many more have come. */
#define WSI_SPARSE_ROWS (2 * WSI_TILE)
void *wsi_sparse_place (WsSparse *sparse, guint y);
void wsi_sparse_take (WsSparse *sparse, guint y, const guint16 light[256]);

/* After the last row. */
void wsi_sparse_end (WsSparse *sparse);

/* How it can be decoded again: all of its pixels, free with g_free(); NULL where that fails. */
typedef guint8 *(*WsSparseAgain) (gpointer data);
void wsi_sparse_keep_file (WsSparse *sparse, WsSparseAgain again, gpointer data,
                           GDestroyNotify free_data);

/* That `data`. */
gpointer wsi_sparse_file (const WsSparse *sparse);

/* A pixel's code whose tile isn't kept. */
guint16 wsi_sparse_code (WsSparse *sparse, guint x, guint y);

/* A row or column that is kept whole; else NULL. */
const guint8 *wsi_sparse_line (const WsSparse *sparse, gboolean column, guint at);

/* The `i`th of such codes. */
static inline guint16
wsi_sparse_code_of (const WsSparse *sparse, const guint8 *codes, gsize i)
{
  return sparse->size == 1 ? codes[i] : ((const guint16 *)(const void *)codes)[i];
}

G_END_DECLS

#endif
