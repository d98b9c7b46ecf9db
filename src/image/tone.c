#include "image/tone.h"

#include <math.h>
#include <string.h>

/* Rec. 709 weights 0.2126, 0.7152, 0.0722 in parts of 2^15; they add up to exactly 1,
 * so that a neutral pixel keeps its light. */
#define LUMINANCE_BITS 15
#define LUMINANCE_RED 6966U
#define LUMINANCE_GREEN 23436U
#define LUMINANCE_BLUE 2366U

double
ws_srgb_to_linear (double code)
{
  return code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4);
}

double
ws_linear_to_srgb (double light)
{
  return light <= 0.0031308 ? light * 12.92 : 1.055 * pow (light, 1.0 / 2.4) - 0.055;
}

double
ws_tone_light (const WsToneCurve *curve, double code)
{
  switch (curve->tone)
  {
  case WS_TONE_GAMMA:
    return pow (code, curve->gamma);
  case WS_TONE_LINEAR:
    return code;
  case WS_TONE_SRGB_ASSUMED:
  case WS_TONE_SRGB:
  default:
    return ws_srgb_to_linear (code);
  }
}

void
ws_light_init (WsLight *light, const WsToneCurve *curve, guint bits, WsImageFlags flags)
{
  const guint n_codes = 1U << bits;

  light->bits = bits;
  light->codes_are_srgb =
    bits == 8 && (curve->tone == WS_TONE_SRGB || curve->tone == WS_TONE_SRGB_ASSUMED);
  light->light = g_new (guint16, n_codes);
  for (guint code = 0; code < n_codes; code++)
  {
    const double value = ws_tone_light (curve, (double)code / (n_codes - 1));
    light->light[code] = (guint16)lrint (value * WS_IMAGE_FULL_SCALE);
  }

  light->srgb = NULL;
  if (!(flags & WS_IMAGE_COLOUR))
    return;
  light->srgb = g_new (guint8, WS_IMAGE_FULL_SCALE + 1);
  for (guint value = 0; value <= WS_IMAGE_FULL_SCALE; value++)
    light->srgb[value] =
      (guint8)lrint (ws_linear_to_srgb ((double)value / WS_IMAGE_FULL_SCALE) * 255.0);
}

void
ws_light_clear (WsLight *light)
{
  g_clear_pointer (&light->light, g_free);
  g_clear_pointer (&light->srgb, g_free);
}

static inline guint
sample_at (const void *samples, gsize i, gboolean wide)
{
  return wide ? ((const guint16 *)samples)[i] : ((const guint8 *)samples)[i];
}

/* Fits 32 bits: full scale squared and a half is less than 2^32. */
static inline guint
over_white (guint light, guint alpha, guint opaque)
{
  return WS_IMAGE_FULL_SCALE - ((WS_IMAGE_FULL_SCALE - light) * alpha + opaque / 2) / opaque;
}

/* Inlined with constant `channels` and `wide`, one tight loop for each. */
static inline void
convert (const WsLight *light, const void *samples, guint channels, gboolean wide, guint n,
         guint16 *linear, guint8 *rgb)
{
  const guint16 *table = light->light;
  const guint opaque = wide ? 0xFFFF : 0xFF;
  const guint n_colours = channels < 3 ? 1 : 3;
  guint value[3] = { 0, 0, 0 };

  for (guint i = 0; i < n; i++)
  {
    const gsize first = (gsize)i * channels;
    for (guint c = 0; c < n_colours; c++)
      value[c] = table[sample_at (samples, first + c, wide)];
    if (channels == 2 || channels == 4)
    {
      const guint alpha = sample_at (samples, first + channels - 1, wide);
      for (guint c = 0; c < n_colours; c++)
        value[c] = over_white (value[c], alpha, opaque);
    }

    if (n_colours == 1)
      linear[i] = (guint16)value[0];
    else
      linear[i] = (guint16)((LUMINANCE_RED * value[0] + LUMINANCE_GREEN * value[1] +
                             LUMINANCE_BLUE * value[2] + (1U << (LUMINANCE_BITS - 1))) >>
                            LUMINANCE_BITS);
    if (rgb != NULL)
      for (gsize c = 0; c < 3; c++)
        rgb[3 * (gsize)i + c] = light->srgb[value[n_colours == 1 ? 0 : c]];
  }
}

void
ws_light_row (const WsLight *light, const void *samples, guint channels, guint n, guint16 *linear,
              guint8 *rgb)
{
  const gboolean wide = light->bits == 16;

  if (rgb != NULL && channels == 3 && light->codes_are_srgb)
  {
    memcpy (rgb, samples, 3 * (gsize)n);
    rgb = NULL;
  }
  switch (channels)
  {
  case 1:
    wide ? convert (light, samples, 1, TRUE, n, linear, rgb)
         : convert (light, samples, 1, FALSE, n, linear, rgb);
    break;
  case 2:
    wide ? convert (light, samples, 2, TRUE, n, linear, rgb)
         : convert (light, samples, 2, FALSE, n, linear, rgb);
    break;
  case 3:
    wide ? convert (light, samples, 3, TRUE, n, linear, rgb)
         : convert (light, samples, 3, FALSE, n, linear, rgb);
    break;
  default:
    wide ? convert (light, samples, 4, TRUE, n, linear, rgb)
         : convert (light, samples, 4, FALSE, n, linear, rgb);
    break;
  }
}

void
ws_palette_init (WsPalette *palette, const WsLight *light, const guint8 *rgba)
{
  ws_light_row (light, rgba, 4, 256, palette->linear,
                light->srgb != NULL ? &palette->rgb[0][0] : NULL);
}

void
ws_palette_row (const WsPalette *palette, const guint8 *indices, guint n, guint16 *linear,
                guint8 *rgb)
{
  for (guint i = 0; i < n; i++)
    linear[i] = palette->linear[indices[i]];
  if (rgb == NULL)
    return;
  for (guint i = 0; i < n; i++)
    for (gsize c = 0; c < 3; c++)
      rgb[3 * (gsize)i + c] = palette->rgb[indices[i]][c];
}

void
ws_grey_ramp (guint8 *rgba)
{
  for (guint code = 0; code < 256; code++)
  {
    for (guint c = 0; c < 3; c++)
      rgba[4 * code + c] = (guint8)code;
    rgba[4 * code + 3] = 0xFF;
  }
}
