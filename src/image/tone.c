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
wsi_srgb_to_linear (double code)
{
  return code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4);
}

double
wsi_linear_to_srgb (double light)
{
  return light <= 0.0031308 ? light * 12.92 : 1.055 * pow (light, 1.0 / 2.4) - 0.055;
}

static double
by_table (const float *table, double code)
{
  const double at = code * (WS_TONE_ENTRIES - 1);
  const guint i = (guint)MIN (floor (at), WS_TONE_ENTRIES - 2);
  return table[i] + (at - i) * ((double)table[i + 1] - table[i]);
}

gboolean
wsi_tone_told (WsImageFlags flags, WsToneCurve *curve)
{
  const gboolean linear = (flags & WS_IMAGE_TOLD_LINEAR) != 0;
  if (!linear && !(flags & WS_IMAGE_TOLD_SRGB))
    return FALSE;
  *curve = (WsToneCurve){ .tone = linear ? WS_TONE_LINEAR : WS_TONE_SRGB };
  return TRUE;
}

double
wsi_tone_light (const WsToneCurve *curve, double code)
{
  switch (curve->tone)
  {
  case WS_TONE_GAMMA:
    return pow (code, curve->gamma);
  case WS_TONE_LINEAR:
    return code;
  case WS_TONE_PROFILE:
    return by_table (curve->table, code);
  case WS_TONE_SRGB_ASSUMED:
  case WS_TONE_SRGB:
  default:
    return wsi_srgb_to_linear (code);
  }
}

void
wsi_light_init (WsLight *light, const WsToneCurve *curve, guint bits, WsImageFlags flags)
{
  const guint n_codes = 1U << bits;

  light->bits = bits;
  light->codes_are_srgb =
    bits == 8 && (curve->tone == WS_TONE_SRGB || curve->tone == WS_TONE_SRGB_ASSUMED);
  light->light = g_new (guint16, n_codes);
  for (guint code = 0; code < n_codes; code++)
  {
    const double value = wsi_tone_light (curve, (double)code / (n_codes - 1));
    light->light[code] = (guint16)lrint (value * WS_IMAGE_FULL_SCALE);
  }

  light->codes = NULL;
  light->clear = NULL;
  light->srgb = NULL;
  if (!(flags & WS_IMAGE_COLOUR))
    return;
  light->srgb = g_new (guint8, WS_IMAGE_FULL_SCALE + 1);
  for (guint value = 0; value <= WS_IMAGE_FULL_SCALE; value++)
    light->srgb[value] =
      (guint8)lrint (wsi_linear_to_srgb ((double)value / WS_IMAGE_FULL_SCALE) * 255.0);
}

void
wsi_light_clear (WsLight *light)
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

static inline guint
luminance (guint red, guint green, guint blue)
{
  const guint half = 1U << (LUMINANCE_BITS - 1);
  return (LUMINANCE_RED * red + LUMINANCE_GREEN * green + LUMINANCE_BLUE * blue + half) >>
         LUMINANCE_BITS;
}

/* Inlined with constant `channels` and `wide`, one tight loop for each. */
static inline void
convert (const WsLight *light, const void *samples, guint channels, gboolean wide, guint n,
         guint16 *linear, guint8 *rgb)
{
  const guint16 *table = light->light;
  const guint opaque = wide ? 0xFFFF : 0xFF;
  const gboolean coloured = channels >= 3;

  for (guint i = 0; i < n; i++)
  {
    const gsize at = (gsize)i * channels;
    guint red = table[sample_at (samples, at, wide)];
    guint green = coloured ? table[sample_at (samples, at + 1, wide)] : red;
    guint blue = coloured ? table[sample_at (samples, at + 2, wide)] : red;
    const guint alpha = channels % 2 == 0 ? sample_at (samples, at + channels - 1, wide) : opaque;

    if (alpha != opaque)
    {
      red = over_white (red, alpha, opaque);
      green = over_white (green, alpha, opaque);
      blue = over_white (blue, alpha, opaque);
    }
    linear[i] = (guint16)(coloured ? luminance (red, green, blue) : red);
    if (rgb != NULL)
    {
      rgb[3 * (gsize)i] = light->srgb[red];
      rgb[3 * (gsize)i + 1] = light->srgb[green];
      rgb[3 * (gsize)i + 2] = light->srgb[blue];
    }
  }
}

/* Each of `n` bytes, `step` apart.  Neighbours are mostly alike, and one count of the same byte
 * waits for the one before it: so four are kept. */
static void
count_bytes (guint32 counts[WS_IMAGE_CODES], const guint8 *bytes, gsize step, gsize n)
{
  guint32 beside[3][WS_IMAGE_CODES] = { { 0 } };
  gsize i = 0;
  for (; i + 4 <= n; i += 4, bytes += 4 * step)
  {
    counts[bytes[0]]++;
    beside[0][bytes[step]]++;
    beside[1][bytes[2 * step]]++;
    beside[2][bytes[3 * step]]++;
  }
  for (; i < n; i++, bytes += step)
    counts[*bytes]++;
  for (gsize code = 0; code < WS_IMAGE_CODES; code++)
    counts[code] += beside[0][code] + beside[1][code] + beside[2][code];
}

static void
count_codes (guint32 *codes, const guint8 *samples, guint channels, guint n)
{
  count_bytes (codes, samples + (channels >= 3 ? 1 : 0), channels, n);
}

static void
count_clear (const WsLight *light, const void *samples, guint channels, guint n)
{
  const gboolean wide = light->bits == 16;
  const guint half = wide ? 0x8000 : 0x80;
  for (gsize i = 0; i < n; i++)
    *light->clear += sample_at (samples, (i + 1) * channels - 1, wide) < half ? 1 : 0;
}

void
wsi_light_row (const WsLight *light, const void *samples, guint channels, guint n, guint16 *linear,
               guint8 *rgb)
{
  const gboolean wide = light->bits == 16;

  if (light->codes != NULL && !wide)
    count_codes (light->codes, samples, channels, n);
  if (light->clear != NULL && channels % 2 == 0)
    count_clear (light, samples, channels, n);
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
wsi_palette_init (WsPalette *palette, const WsLight *light, const guint8 *rgba)
{
  WsLight uncounted = *light;
  uncounted.codes = NULL;
  uncounted.clear = NULL;
  wsi_light_row (&uncounted, rgba, 4, 256, palette->linear,
                 light->srgb != NULL ? &palette->rgb[0][0] : NULL);
  for (guint i = 0; i < 256; i++)
  {
    palette->code[i] = rgba[4 * i + 1];
    palette->is_clear[i] = rgba[4 * i + 3] < 0x80;
  }
  palette->clear = light->clear;
  palette->codes = light->codes;
}

void
wsi_palette_count (const WsPalette *palette, const guint8 *indices, guint n)
{
  if (palette->codes == NULL && palette->clear == NULL)
    return;
  guint32 seen[WS_IMAGE_CODES] = { 0 };
  count_bytes (seen, indices, 1, n);
  for (guint i = 0; i < WS_IMAGE_CODES; i++)
  {
    if (palette->codes != NULL)
      palette->codes[palette->code[i]] += seen[i];
    if (palette->clear != NULL && palette->is_clear[i])
      *palette->clear += seen[i];
  }
}

void
wsi_palette_row (const WsPalette *palette, const guint8 *indices, guint n, guint16 *linear,
                 guint8 *rgb)
{
  for (guint i = 0; i < n; i++)
    linear[i] = palette->linear[indices[i]];
  wsi_palette_count (palette, indices, n);
  if (rgb == NULL)
    return;
  for (guint i = 0; i < n; i++)
    for (gsize c = 0; c < 3; c++)
      rgb[3 * (gsize)i + c] = palette->rgb[indices[i]][c];
}

void
wsi_grey_ramp (guint8 *rgba)
{
  for (guint code = 0; code < 256; code++)
  {
    for (guint c = 0; c < 3; c++)
      rgba[4 * code + c] = (guint8)code;
    rgba[4 * code + 3] = 0xFF;
  }
}
