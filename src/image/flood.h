/*
 * Cells of a reduced picture that hang together.
 */
#ifndef WS_IMAGE_FLOOD_H
#define WS_IMAGE_FLOOD_H

#include <glib.h>

G_BEGIN_DECLS

/* Cells that were reached from one. */
typedef struct
{
  guint area;                     /* cells */
  guint touching;                 /* of these on the picture's border */
  guint left, right, top, bottom; /* the outermost cells' columns and rows */
} WsPatch;

typedef struct
{
  guint width, height;
  guint *marks; /* width x height: 0 where no flood has been */

  /* May a flood pass from a cell to its neighbour? */
  gboolean (*joins) (gconstpointer data, guint from, guint to);
  gconstpointer data;

  GArray *reached; /* of guint: the cells of the last flood, the seed first */
} WsFlood;

/* Nothing is marked. Clear with wsi_flood_clear(). */
void wsi_flood_init (WsFlood *flood, guint width, guint height,
                     gboolean (*joins) (gconstpointer data, guint from, guint to),
                     gconstpointer data);
void wsi_flood_clear (WsFlood *flood);

/* Marks `seed` and whatever hangs together with it by its four sides with `number`, not 0, as far
 * as nothing is marked yet. */
WsPatch wsi_flood_from (WsFlood *flood, guint seed, guint number);

/* Only a slice of what lies there is in the picture, `width` x `height` cells: it reaches along a
 * border farther than in from it. */
gboolean wsi_patch_is_slice (const WsPatch *patch, guint width, guint height);

/* For `joins`, `data` being a mask of guint8: both cells have the same value. */
gboolean wsi_flood_same_value (gconstpointer data, guint from, guint to);

/* Numbers the patches of cells that `mask` sets, from 1, into `labels`, width x height.  Of
 * WsPatch; patch n at n - 1. Free with g_array_unref(). */
GArray *wsi_flood_label (const guint8 *mask, guint width, guint height, guint *labels);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsFlood, wsi_flood_clear)

G_END_DECLS

#endif
