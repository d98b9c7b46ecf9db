/*
 * Pictures that came from elsewhere, decoded where a picture that attacks its decoder gains
 * nothing: in a child process that has no files and no network, and little memory and time.
 */
#ifndef WS_IMAGE_CONFINED_H
#define WS_IMAGE_CONFINED_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* As ws_image_load(), which it gives the same picture as.  Errors: also WS_ERROR_DATA when the
 * decoder breaks off, takes too long or asks for more memory than pictures within `limits` need;
 * WS_ERROR_INTERNAL where this system doesn't let a process be confined. */
WsImage *wsi_image_read_confined (const char *path, const WsImageLimits *limits, WsImageFlags flags,
                                  GError **error);

/* The same for a file's bytes, which are borrowed; `name` is for messages. */
WsImage *wsi_image_decode_bytes_confined (const guint8 *bytes, gsize n_bytes, const char *name,
                                          const WsImageLimits *limits, WsImageFlags flags,
                                          GError **error);

/* What runs in the child; ws_image_decode() is one. */
typedef WsImage *(*WsImageDecoder) (const guint8 *bytes, gsize n_bytes, const char *name,
                                    const WsImageLimits *limits, WsImageFlags flags,
                                    GError **error);

typedef struct
{
  WsImageDecoder decode;
  const guint8 *bytes; /* of the file */
  gsize n_bytes;
  const char *name; /* for messages */
  WsImageLimits limits;
  WsImageFlags flags;
  guint max_seconds;
} WsConfinedTask;

/* The same for a decoder and a file's bytes, which are borrowed. */
WsImage *wsi_image_decode_confined (const WsConfinedTask *task, GError **error);

G_END_DECLS

#endif
