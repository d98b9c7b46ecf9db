#include <sys/mman.h>

#include <whetsight/error.h>
#include <whetsight/image.h>

#include "image/sparse.h"
#include "image/taken.h"

/* The kernel fills a plane page by page as it is first written to; with huge pages that
 * takes a tenth of the time.  Only a hint, so what it returns doesn't matter. */
static void
advise_huge_pages (gpointer plane, gsize n_bytes)
{
#ifdef MADV_HUGEPAGE
  const gsize huge = (gsize)2 << 20;
  const gsize skipped = (huge - (guintptr)plane % huge) % huge;
  if (n_bytes > skipped)
    madvise ((char *)plane + skipped, (n_bytes - skipped) / huge * huge, MADV_HUGEPAGE);
#else
  (void)plane;
  (void)n_bytes;
#endif
}

/* With a plane of so many bytes a pixel. */
static WsImage *
new_image (guint width, guint height, gsize size, gpointer *plane, GError **error)
{
  *plane = NULL;
  if (width == 0 || height == 0)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "a picture without pixels");
    return NULL;
  }
  if (width <= G_MAXINT / 4 && height <= G_MAXINT / 4)
    *plane = g_try_malloc0_n ((gsize)width * height, size);
  if (*plane == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                 "no memory for a picture of %u x %u pixels; take a smaller one", width, height);
    return NULL;
  }
  advise_huge_pages (*plane, (gsize)width * height * size);

  WsImage *image = g_new0 (WsImage, 1);
  image->width = width;
  image->height = height;
  image->bits = 16;
  image->pages = 1;
  image->tone = WS_TONE_LINEAR;
  image->format = "";
  return image;
}

WsImage *
ws_image_new (guint width, guint height, GError **error)
{
  gpointer plane;
  WsImage *image = new_image (width, height, sizeof (guint16), &plane, error);
  if (image != NULL)
    image->linear = plane;
  return image;
}

WsImage *
ws_image_new_coded (guint width, guint height, GError **error)
{
  gpointer plane;
  WsImage *image = new_image (width, height, sizeof (guint8), &plane, error);
  if (image != NULL)
    image->coded = plane;
  return image;
}

void
ws_image_free (WsImage *image)
{
  if (image == NULL)
    return;
  g_free (image->linear);
  g_free (image->coded);
  g_free (image->rgb);
  wsi_sparse_free (image->sparse);
  g_clear_pointer (&image->file, g_bytes_unref);
  wsi_taken_free (image->taken);
  g_free (image);
}
