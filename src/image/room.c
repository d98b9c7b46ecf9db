#include "image/room.h"

#include <whetsight/error.h>

#include "base/shown.h"

/* A flood's marks and the annotated sheet, at 4 bytes a pixel each; then fonts and libraries. */
#define BYTES_A_PIXEL 8
#define MORE_BYTES (48U << 20)

void
wsi_image_set_lost (const WsImage *image, const char *name, GError **error)
{
  g_autofree char *shown = wsi_shown (name);
  g_set_error (
    error, WS_ERROR, WS_ERROR_TOO_LARGE,
    "%s: no memory to read a picture of %u x %u pixels once more, or its file was changed "
    "meanwhile; measure it again, or take a smaller one",
    shown, image->width, image->height);
}

gboolean
wsi_image_check_room (const WsImage *image, const char *name, GError **error)
{
  const gsize n = (gsize)image->width * image->height;
  const gpointer room = g_try_malloc (n * BYTES_A_PIXEL + MORE_BYTES);
  if (room == NULL)
  {
    g_autofree char *shown = wsi_shown (name);
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                 "%s: no memory to measure a picture of %u x %u pixels; take a smaller one", shown,
                 image->width, image->height);
    return FALSE;
  }
  g_free (room);
  return TRUE;
}
