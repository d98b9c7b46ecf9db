#include "image/decoder.h"

gboolean
wsi_image_check_size (const WsImageSource *source, guint width, guint height, GError **error)
{
  const double megapixels = (double)width * (double)height / 1e6;

  if (megapixels <= source->max_megapixels && width <= G_MAXINT / 4 && height <= G_MAXINT / 4)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
               "%s: %u x %u pixels is more than the limit of %g megapixels; take a smaller "
               "picture or raise the limit",
               source->name, width, height, source->max_megapixels);
  return FALSE;
}

WsImage *
wsi_image_new_within (const WsImageSource *source, guint width, guint height, GError **error)
{
  if (!wsi_image_check_size (source, width, height, error))
    return NULL;

  WsImage *image = ws_image_new (width, height, error);
  if (image == NULL)
  {
    g_prefix_error (error, "%s: ", source->name);
    return NULL;
  }
  if (!(source->flags & WS_IMAGE_COLOUR))
    return image;

  image->rgb = g_try_malloc_n ((gsize)width * height, 3);
  if (image->rgb == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
                 "%s: no memory for a picture of %u x %u pixels; take a smaller one", source->name,
                 width, height);
    g_clear_pointer (&image, ws_image_free);
  }
  return image;
}

WsImage *
wsi_image_new_coded_within (const WsImageSource *source, guint width, guint height, GError **error)
{
  if (!wsi_image_check_size (source, width, height, error))
    return NULL;
  WsImage *image = ws_image_new_coded (width, height, error);
  if (image == NULL)
    g_prefix_error (error, "%s: ", source->name);
  return image;
}

gboolean
wsi_image_wants_codes (const WsImageSource *source)
{
  return (source->flags & WS_IMAGE_CODED) && !(source->flags & WS_IMAGE_COLOUR);
}

gboolean
wsi_image_set_no_room (const WsImageSource *source, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
               "%s: no memory for a picture of this size; take a smaller one", source->name);
  return FALSE;
}

void
wsi_image_set_damaged (const WsImageSource *source, const char *format, const char *detail,
                       GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: damaged %s (%s); take or copy the picture again", source->name, format, detail);
}

void
wsi_image_set_unsupported (const WsImageSource *source, const char *format, const char *detail,
                           GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: a kind of %s we can't read (%s); save it as PNG or as plain JPEG", source->name,
               format, detail);
}

guint16 *
wsi_image_linear_row (const WsImage *image, guint y)
{
  return image->linear != NULL ? image->linear + (gsize)y * image->width : NULL;
}

guint8 *
wsi_image_coded_row (const WsImage *image, guint y)
{
  return image->coded != NULL ? image->coded + (gsize)y * image->width : NULL;
}

guint8 *
wsi_image_rgb_row (const WsImage *image, guint y)
{
  return image->rgb != NULL ? image->rgb + 3 * (gsize)y * image->width : NULL;
}
