#include "image/spare.h"

#include "image/evened.h"
#include "image/smoothed.h"
#include "image/sparse.h"

/* Smaller ones take less time when they are kept whole, the more so where they would have to be
 * decoded again. */
#define LEAST_PIXELS 2500000

WsImage *
wsi_image_new_sparse (guint width, guint height, guint size)
{
  if ((gsize)width * height < LEAST_PIXELS)
    return NULL;
  g_autoptr (GArray) rows = g_array_new (FALSE, FALSE, sizeof (guint));
  g_autoptr (GArray) columns = g_array_new (FALSE, FALSE, sizeof (guint));
  const WsSparseLooks looks = { rows, columns, wsi_evened_first_every (width, height) };
  wsi_evened_first_lines (height, rows);
  wsi_evened_first_lines (width, columns);
  wsi_smoothed_rows (width, height, rows);
  WsSparse *sparse = wsi_sparse_new (width, height, size, &looks);
  if (sparse == NULL)
    return NULL;
  WsImage *image = g_new0 (WsImage, 1);
  image->width = width;
  image->height = height;
  image->pages = 1;
  image->format = "";
  image->sparse = sparse;
  return image;
}
