#include "report/pdf/sheet.h"

#include <whetsight/error.h>

#include "image/confined.h"

/* Each pixel as cairo has it: 0xXXRRGGBB in the machine's order. */
static void
copy_rows (const WsImage *image, cairo_surface_t *sheet)
{
  guint8 *to = cairo_image_surface_get_data (sheet);
  const gsize stride = (gsize)cairo_image_surface_get_stride (sheet);
  for (guint y = 0; y < image->height; y++)
  {
    const guint8 *from = image->rgb + 3 * (gsize)y * image->width;
    guint32 *row = (guint32 *)(void *)(to + y * stride);
    for (guint x = 0; x < image->width; x++, from += 3)
      row[x] = (guint32)from[0] << 16 | (guint32)from[1] << 8 | from[2];
  }
}

cairo_surface_t *
wsi_sheet_read (const char *path, GError **error)
{
  g_autoptr (WsImage) image = wsi_image_read_confined (path, NULL, WS_IMAGE_COLOUR, error);
  if (image == NULL || !wsi_late_has_cairo (error))
    return NULL;
  cairo_surface_t *sheet =
    cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int)image->width, (int)image->height);
  if (cairo_surface_status (sheet) == CAIRO_STATUS_SUCCESS)
  {
    cairo_surface_flush (sheet);
    copy_rows (image, sheet);
    cairo_surface_mark_dirty (sheet);
    return sheet;
  }
  g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE, "%s: too large to be printed", path);
  cairo_surface_destroy (sheet);
  return NULL;
}
