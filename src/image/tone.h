/*
 * From code values to linear light.
 */
#ifndef WS_IMAGE_TONE_H
#define WS_IMAGE_TONE_H

#include <whetsight/image.h>

G_BEGIN_DECLS

/* IEC 61966-2-1:1999, 5.2 and 5.3; both arguments and results 0 .. 1. */
double wsi_srgb_to_linear (double code);
double wsi_linear_to_srgb (double light);

/* Of a curve by table: between them the straight line is off by 1e-6 for a gamma of 3. */
#define WS_TONE_ENTRIES 1025

typedef struct
{
  WsTone tone;
  double gamma;                 /* for WS_TONE_GAMMA: light = code ^ gamma */
  float table[WS_TONE_ENTRIES]; /* for WS_TONE_PROFILE: light by code, both 0 .. 1 */
} WsToneCurve;

/* Sets the curve that the user told, and returns TRUE; FALSE where none was told. */
gboolean wsi_tone_told (WsImageFlags flags, WsToneCurve *curve);

/* Light 0 .. 1 of a code 0 .. 1. */
double wsi_tone_light (const WsToneCurve *curve, double code);

/* Turns rows of samples into light through tables, since a row is still in the cache
 * when it comes from the decoder. */
typedef struct
{
  gboolean codes_are_srgb; /* samples are sRGB bytes already */
  guint bits;              /* of a sample: 8, or 16 in the machine's byte order */
  guint16 *light;          /* by code: 1 << bits entries */
  guint32 *codes;          /* by code: pixels seen, WS_IMAGE_CODES entries; NULL unless wanted */
  guint64 *clear;          /* transparent pixels seen; NULL unless wanted */
  guint8 *srgb; /* sRGB code by light, WS_IMAGE_FULL_SCALE + 1 entries; NULL unless wanted */
} WsLight;

/* Set up for `bits` of 8 or 16, codes not counted.  Free with wsi_light_clear(). */
void wsi_light_init (WsLight *light, const WsToneCurve *curve, guint bits, WsImageFlags flags);
void wsi_light_clear (WsLight *light);

/*
 * Luminance of `n` pixels, and their sRGB bytes unless `rgb` is NULL.
 * `channels`: 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha.  Alpha is laid over
 * white in linear light; luminance has the weights of Rec. ITU-R BT.709-6, 3.2.
 */
void wsi_light_row (const WsLight *light, const void *samples, guint channels, guint n,
                    guint16 *linear, guint8 *rgb);

/* The same for pictures whose pixels are one of at most 256 colours or greys. */
typedef struct
{
  guint16 linear[256];
  guint8 rgb[256][3];
  guint8 code[256]; /* green's */
  gboolean is_clear[256];
  guint32 *codes; /* as in WsLight, */
  guint64 *clear; /* likewise */
} WsPalette;

/* `light` for 8 bits; `rgba`: 256 colours with alpha, 4 bytes each. */
void wsi_palette_init (WsPalette *palette, const WsLight *light, const guint8 *rgba);

void wsi_palette_row (const WsPalette *palette, const guint8 *indices, guint n, guint16 *linear,
                      guint8 *rgb);

/* Counts alone, as `codes` and `clear` want. */
void wsi_palette_count (const WsPalette *palette, const guint8 *indices, guint n);

/* All 256 greys, opaque, into 256 x 4 bytes. */
void wsi_grey_ramp (guint8 *rgba);

G_END_DECLS

#endif
