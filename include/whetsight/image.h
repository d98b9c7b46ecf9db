/*
 * Pictures in linear light.
 *
 * Whatever the file held, a WsImage is one plane of luminance in linear light,
 * since an edge is displaced when encoded values are taken for light (about
 * -0.6 px an edge for sRGB at a blur of 1 px).
 *
 * Coordinates: x to the right, y down, the centre of pixel (0,0) at (0,0), so
 * the picture covers [-0.5, width - 0.5] x [-0.5, height - 0.5].
 */
#ifndef WHETSIGHT_IMAGE_H
#define WHETSIGHT_IMAGE_H

#include <glib.h>

#include <whetsight/taken.h>

G_BEGIN_DECLS

#define WS_IMAGE_FULL_SCALE 65535
#define WS_IMAGE_CODES 256

/* How the samples were turned into light. */
typedef enum
{
  WS_TONE_SRGB_ASSUMED, /* the file doesn't say: IEC 61966-2-1 transfer curve */
  WS_TONE_SRGB,         /* the file says sRGB */
  WS_TONE_GAMMA,        /* a power law from the file, see WsImage.gamma */
  WS_TONE_LINEAR,       /* gamma 1 */
  WS_TONE_PROFILE       /* a curve from the file's colour profile */
} WsTone;

/* Limits that hold before any pixel is allocated. */
typedef struct
{
  double max_megapixels;  /* width x height / 10^6; default 100 */
  guint64 max_file_bytes; /* default 512 MiB */
} WsImageLimits;

#define WS_IMAGE_LIMITS_DEFAULT                                                                    \
  {                                                                                                \
    100.0, G_GUINT64_CONSTANT (512) << 20                                                          \
  }

typedef enum
{
  WS_IMAGE_GREY = 0,             /* luminance only */
  WS_IMAGE_COLOUR = 1 << 0,      /* keep 8-bit sRGB colour beside it, for views that judge colour */
  WS_IMAGE_TOLD_SRGB = 1 << 1,   /* codes are sRGB, */
  WS_IMAGE_TOLD_LINEAR = 1 << 2, /* or linear light, whatever files say */
  WS_IMAGE_CONFINED = 1 << 3, /* of ws_image_load(): decoded in a process of its own that a hostile
                                picture gains nothing by; refused where there can be none */
  WS_IMAGE_CODED = 1 << 4     /* pixels that are single bytes in the file may stay such: half the
                                  memory; not with WS_IMAGE_COLOUR or WS_IMAGE_CONFINED */
} WsImageFlags;

typedef struct
{
  guint width;     /* px, 1 .. G_MAXINT / 4 */
  guint height;    /* px */
  guint16 *linear; /* width x height, row-major without padding, 0 .. WS_IMAGE_FULL_SCALE; NULL
                      where there is `coded` */
  guint8 *coded;   /* with WS_IMAGE_CODED, where the file allows it, the same as codes, and */
  guint16 light[WS_IMAGE_CODES]; /* each one's light; else NULL, and nothing */
  guint8 *rgb;                   /* width x height x 3 sRGB bytes, or NULL */

  const char *format;  /* "PNG", "JPEG", "TIFF", "BMP"; static */
  guint bits;          /* bits per sample in the file, 1 .. 16 */
  gboolean has_colour; /* the file held colour */
  gboolean lossy;      /* the file's compression is lossy */
  WsTone tone;
  guint32 codes[WS_IMAGE_CODES]; /* how many pixels have each code in the file, of green where there
                                    is colour; 0 where its compression is lossy, above 8 bits */
  double gamma;        /* exponent from code to light for WS_TONE_GAMMA (about 2.2), else 0 */
  double pixel_aspect; /* width of a pixel over its height, as the file says; 0 when it doesn't */
  char sha256[65];     /* lower-case hex of the file's bytes; "" for a picture made in memory */
  guint pages;         /* in the file, of which this is the first; 1 where a format has none */
  guint64 n_clear;     /* pixels that let more through than they show */
  WsImageFlags flags;  /* that it was loaded with */
  WsTaken *taken;      /* NULL when the file doesn't say */
  GBytes *file; /* of a picture in colour that ws_image_load() kept no colour of, else NULL */
  struct WsSparse *sparse; /* private: NULL of a picture that has `linear` or `coded` */
} WsImage;

/* A black picture.  NULL and WS_ERROR_TOO_LARGE or WS_ERROR_DATA (zero size) on failure.
 * Free with ws_image_free(). */
WsImage *ws_image_new (guint width, guint height, GError **error);

/* The same in codes; `light` is 0 for each, too. */
WsImage *ws_image_new_coded (guint width, guint height, GError **error);

/*
 * Decodes PNG (1 to 16 bits, grey, palette, RGB, alpha over white, interlaced,
 * gAMA and sRGB honoured), JPEG (EXIF orientation applied, an exact turn or
 * flip), TIFF and BigTIFF (1 to 16 bits, grey, palette, RGB, alpha over white,
 * strips or tiles, the first page, orientation applied; CMYK and L*a*b* as 8-bit
 * RGB) and BMP.  The kind is read from the content, not from a name.
 * Colour profiles are not looked at.  Of a JPEG's colours WS_IMAGE_GREY takes the
 * luma alone, which has every pixel of its own, and puts it through the sRGB
 * curve: exactly the luminance where the picture is neutral.
 *
 * Errors: WS_ERROR_NO_INPUT, WS_ERROR_DATA (damaged, truncated, not a picture),
 * WS_ERROR_TOO_LARGE (beyond `limits`, NULL for the defaults).
 * The caller owns the result.
 */
WsImage *ws_image_load (const char *path, const WsImageLimits *limits, WsImageFlags flags,
                        GError **error);

/* The same for a file's bytes in memory; `name` is used in messages only. */
WsImage *ws_image_decode (const guint8 *bytes, gsize n_bytes, const char *name,
                          const WsImageLimits *limits, WsImageFlags flags, GError **error);

/*
 * The same picture with its colour, for views that find out only while measuring that they want it:
 * a silhouette then never pays for it.  NULL when it has none, or came without its file.  The
 * caller owns the result.
 */
WsImage *ws_image_in_colour (const WsImage *image);

void ws_image_free (WsImage *image);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsImage, ws_image_free)

G_END_DECLS

#endif
