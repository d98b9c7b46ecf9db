/*
 * The only door to OpenCV, in C.  No C++ type, exception or message comes through it.
 */
#ifndef WS_VISION_H
#define WS_VISION_H

#include <glib.h>

G_BEGIN_DECLS

/* A decoded picture.  Free with ws_vision_picture_clear(). */
typedef struct
{
  guint width, height;
  guint channels;  /* 1 grey, 3 RGB */
  guint bits;      /* 8, or 16 in the machine's byte order */
  guint8 *samples; /* rows from top to bottom, `row_bytes` apart */
  gsize row_bytes;
} WsVisionPicture;

/*
 * Decodes a TIFF or BMP file's bytes.  The caller has checked the size they claim.
 * Errors: WS_ERROR_DATA (damaged, or of a kind that isn't read), WS_ERROR_INTERNAL
 * (the module with OpenCV can't be opened).
 */
gboolean ws_vision_decode (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture,
                           GError **error);

void ws_vision_picture_clear (WsVisionPicture *picture);

/* What the module hands to vision.c, under the name WS_VISION_MODULE_SYMBOL. */
typedef struct
{
  /* NULL, or what is wrong; static.  `picture` is zeroed by the caller. */
  const char *(*decode) (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture);
} WsVisionModule;

#define WS_VISION_MODULE_SYMBOL "ws_vision_module"

G_END_DECLS

#endif
