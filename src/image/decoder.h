/*
 * What the readers of the file formats share.
 */
#ifndef WS_IMAGE_DECODER_H
#define WS_IMAGE_DECODER_H

#include "image/tone.h"

#include <whetsight/error.h>

G_BEGIN_DECLS

/* A file's bytes and what is wanted of them; all borrowed. */
typedef struct
{
  const guint8 *bytes;
  gsize n_bytes;
  gsize (*more) (gpointer data, const guint8 **bytes); /* NULL, or what comes next where `bytes` are
                          those that a file begins with; a reader then keeps few pixels, or fails */
  gpointer data;                                       /* for it */
  const char *name;                                    /* for messages */
  double max_megapixels;
  WsImageFlags flags;
} WsImageSource;

/* A file format: how it is told by its content, and its reader.  A reader checks the
 * size with wsi_image_new_within() before it takes memory for pixels. */
typedef struct
{
  const char *name;
  gboolean (*matches) (const WsImageSource *source);
  WsImage *(*decode) (const WsImageSource *source, GError **error);
  gboolean (*open) (
    GError **error);  /* the library behind it; NULL when that is there from the start */
  gboolean in_pieces; /* can be read with `more` */
} WsImageFormat;

extern const WsImageFormat wsi_image_format_png;
extern const WsImageFormat wsi_image_format_jpeg;
extern const WsImageFormat wsi_image_format_tiff;
extern const WsImageFormat wsi_image_format_bmp;

/* Formats by number, for what can't hand over a name's place; NULL beyond the last. */
guint wsi_image_format_index (const char *name);
const char *wsi_image_format_name (guint index);

/* Opens what the reader of such bytes needs: a confined process couldn't.  TRUE for bytes that no
 * reader is for. */
gboolean wsi_image_open_reader (const guint8 *bytes, gsize n_bytes, GError **error);

/* A file's content, within `limits`.  Free with g_free(). */
guint8 *wsi_image_read_file (const char *path, const WsImageLimits *limits, gsize *n_bytes,
                             GError **error);

/* A picture for `source`, with a colour plane if that is wanted; NULL beyond the limit. */
WsImage *wsi_image_new_within (const WsImageSource *source, guint width, guint height,
                               GError **error);

/* The same in codes. */
WsImage *wsi_image_new_coded_within (const WsImageSource *source, guint width, guint height,
                                     GError **error);

/* Whether single bytes may stay what they are. */
gboolean wsi_image_wants_codes (const WsImageSource *source);

/* FALSE and WS_ERROR_TOO_LARGE beyond the limit. */
gboolean wsi_image_check_size (const WsImageSource *source, guint width, guint height,
                               GError **error);

/* Reports that there is no memory for what the file claims; returns FALSE. */
gboolean wsi_image_set_no_room (const WsImageSource *source, GError **error);

/* Reports a damaged file; `detail` says what was found. */
void wsi_image_set_damaged (const WsImageSource *source, const char *format, const char *detail,
                            GError **error);

/* Reports a sound file of a kind that isn't read; `detail` says which. */
void wsi_image_set_unsupported (const WsImageSource *source, const char *format, const char *detail,
                                GError **error);

/* The file of a picture in colour that ws_image_load() kept no colour of; else NULL. */
GBytes *wsi_image_file (const WsImage *image);

/* The row's place in the planes; NULL when there is no such plane. */
guint16 *wsi_image_linear_row (const WsImage *image, guint y);
guint8 *wsi_image_rgb_row (const WsImage *image, guint y);
guint8 *wsi_image_coded_row (const WsImage *image, guint y);

/* An exact turn or flip by an EXIF 2.32 (4.6.4 A) orientation, 1 .. 8; others change
 * nothing.  FALSE and WS_ERROR_TOO_LARGE when there is no memory for it. */
gboolean wsi_image_orient (WsImage *image, guint orientation, GError **error);

/* Pixels for each length along both sides of the picture, as a file has them, to its pixels' width
 * over their height; 0 where one of them isn't above 0. */
double wsi_image_aspect (double along_x, double along_y);

/* The first value of a SHORT or LONG tag in the first directory of EXIF data, which are laid out
 * as TIFF 6.0, section 2, says. */
gboolean wsi_exif_tag (const guint8 *bytes, gsize n_bytes, guint tag, guint32 *value);

/* The same of a RATIONAL tag, whose parts are above 0. */
gboolean wsi_exif_ratio (const guint8 *bytes, gsize n_bytes, guint tag, double *value);

G_END_DECLS

#endif
