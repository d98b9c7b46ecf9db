#include <sys/mman.h>

#include <whetsight/error.h>
#include <whetsight/image.h>

#include "image/taken.h"

/* The kernel fills a plane page by page as it is first written to; with huge pages that
 * takes a tenth of the time.  Only a hint, so what it returns doesn't matter. */
static void
advise_huge_pages (guint16 *plane, gsize n_pixels)
{
#ifdef MADV_HUGEPAGE
  const gsize huge = (gsize)2 << 20;
  const gsize n_bytes = n_pixels * sizeof *plane;
  const gsize skipped = (huge - (guintptr)plane % huge) % huge;
  if (n_bytes > skipped)
    madvise ((char *)plane + skipped, (n_bytes - skipped) / huge * huge, MADV_HUGEPAGE);
#else
  (void)plane;
  (void)n_pixels;
#endif
}

WsImage *
ws_image_new (guint width, guint height, GError **error)
{
  if (width == 0 || height == 0)
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "a picture without pixels");
    return NULL;
  }

  WsImage *image = g_new0 (WsImage, 1);
  image->width = width;
  image->height = height;
  image->bits = 16;
  image->pages = 1;
  image->tone = WS_TONE_LINEAR;
  image->format = "";
  if (width <= G_MAXINT / 4 && height <= G_MAXINT / 4)
    image->linear = g_try_malloc0_n ((gsize)width * height, sizeof *image->linear);
  if (image->linear == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                 "no memory for a picture of %u x %u pixels; take a smaller one", width, height);
    g_clear_pointer (&image, ws_image_free);
    return NULL;
  }
  advise_huge_pages (image->linear, (gsize)width * height);
  return image;
}

void
ws_image_free (WsImage *image)
{
  if (image == NULL)
    return;
  g_free (image->linear);
  g_free (image->rgb);
  g_clear_pointer (&image->file, g_bytes_unref);
  wsi_taken_free (image->taken);
  g_free (image);
}
