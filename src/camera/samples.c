#include "camera/samples.h"

#include <math.h>

#include "camera/bayer.h"
#include "image/tone.h"

/* A saturated pixel here and there is hot, not too bright: more than this share counts. */
#define SATURATED_SHARE 1e-4

#define CODES_8 256

/* Chroma of a limited range goes this far from its middle, Rec. ITU-R BT.601-7, 2.5.3. */
#define CHROMA_MIDDLE 128
#define CHROMA_LIMITED 112.0
#define CHROMA_FULL 127.5

gsize
wsi_samples_row_bytes (const WsSamples *samples)
{
  static const guint n_bytes[] = {
    [WS_SAMPLES_GREY] = 1, [WS_SAMPLES_YUYV] = 2,  [WS_SAMPLES_RGB] = 3,
    [WS_SAMPLES_BGR] = 3,  [WS_SAMPLES_BAYER] = 1,
  };
  return (gsize)samples->width * n_bytes[samples->layout] * (samples->bits > 8 ? 2 : 1);
}

/* Light of each 8-bit code. */
static void
make_table (const WsSamples *samples, guint16 *light)
{
  const double black = samples->black, white = samples->white > 0 ? samples->white : CODES_8 - 1;
  for (guint code = 0; code < CODES_8; code++)
  {
    const double share = CLAMP ((code - black) / (white - black), 0.0, 1.0);
    light[code] =
      (guint16)lround (WS_IMAGE_FULL_SCALE * (samples->srgb ? wsi_srgb_to_linear (share) : share));
  }
}

/* ---- Light of one channel a pixel ---------------------------------------------------------- */

static void
row_of_8 (const guint16 *light, const guint8 *from, guint step, guint width, guint16 *to)
{
  for (guint x = 0; x < width; x++)
    to[x] = light[from[(gsize)x * step]];
}

static void
row_of_16 (const WsSamples *samples, const guint16 *from, guint16 *to)
{
  const guint greatest = (1U << samples->bits) - 1;
  for (guint x = 0; x < samples->width; x++)
  {
    const guint code = MIN (from[x], greatest);
    to[x] = (guint16)((code * (guint64)WS_IMAGE_FULL_SCALE + greatest / 2) / greatest);
  }
}

static void
row_of_one (const WsSamples *samples, const guint16 *light, const guint8 *from, guint16 *to)
{
  if (samples->bits > 8)
    row_of_16 (samples, (const guint16 *)(const void *)from, to);
  else
    row_of_8 (light, from, samples->layout == WS_SAMPLES_YUYV ? 2 : 1, samples->width, to);
}

/* ---- Light of three ------------------------------------------------------------------------ */

static void
row_of_rgb (const guint16 *light, const guint8 *from, gboolean blue_first, guint width, guint16 *to)
{
  const guint red = blue_first ? 2 : 0;
  for (guint x = 0; x < width; x++, from += 3, to += 3)
  {
    to[0] = light[from[red]];
    to[1] = light[from[1]];
    to[2] = light[from[2 - red]];
  }
}

/* Red and blue are luma and so many times their chroma, and luma is the rest of its weights:
 * Rec. ITU-R BT.601-7, 2.5.1; BT.709-6, 3.2 to 3.4. */
typedef struct
{
  double red, green, blue; /* weights of luma */
  double black, range;     /* of luma codes */
  double chroma;           /* codes from no colour to the most there is */
} Weights;

static Weights
weights_of (const WsSamples *samples)
{
  Weights weights = { 0.299, 0.587, 0.114, samples->black, CODES_8 - 1, CHROMA_FULL };
  if (samples->bt709)
    weights = (Weights){ 0.2126, 0.7152, 0.0722, samples->black, CODES_8 - 1, CHROMA_FULL };
  if (samples->white > 0)
  {
    weights.range = (double)samples->white - samples->black;
    weights.chroma = CHROMA_LIMITED;
  }
  return weights;
}

static guint16
light_of (double share, gboolean srgb, const guint16 *curve)
{
  const double code = CLAMP (share, 0.0, 1.0) * (CODES_8 - 1);
  const guint below = (guint)MIN (code, CODES_8 - 2);
  const double light = curve[below] + (code - below) * (curve[below + 1] - curve[below]);
  return (guint16)lround (srgb ? light : code / (CODES_8 - 1) * WS_IMAGE_FULL_SCALE);
}

/* Two pixels share their chroma.  An odd width's last pixel has a pair's first half alone. */
static void
row_of_yuyv (const Weights *weights, const WsSamples *samples, const guint16 *curve,
             const guint8 *from, guint16 *to)
{
  for (guint x = 0; x < samples->width; x++, to += 3)
  {
    const guint8 *pair = from + (gsize)(x / 2) * 4;
    const gboolean whole = (x | 1U) < samples->width;
    const double luma = (pair[x % 2 == 0 ? 0 : 2] - weights->black) / weights->range;
    const double to_blue = 0.5 * (pair[1] - CHROMA_MIDDLE) / weights->chroma;
    const double to_red = whole ? 0.5 * (pair[3] - CHROMA_MIDDLE) / weights->chroma : 0.0;
    const double red = luma + 2.0 * (1.0 - weights->red) * to_red;
    const double blue = luma + 2.0 * (1.0 - weights->blue) * to_blue;
    const double green = (luma - weights->red * red - weights->blue * blue) / weights->green;
    to[0] = light_of (red, samples->srgb, curve);
    to[1] = light_of (green, samples->srgb, curve);
    to[2] = light_of (blue, samples->srgb, curve);
  }
}

/* ---- Frames -------------------------------------------------------------------------------- */

static const guint8 *
row_at (const WsSamples *samples, guint y)
{
  return (const guint8 *)samples->bytes + y * samples->stride;
}

static void
fill_grey (const WsSamples *samples, const guint16 *light, guint16 *to)
{
  for (guint y = 0; y < samples->height; y++)
    row_of_one (samples, light, row_at (samples, y), to + (gsize)y * samples->width);
}

static void
fill_colour (const WsSamples *samples, const guint16 *light, guint16 *to)
{
  const Weights weights = weights_of (samples);
  WsSamples full = *samples;
  full.black = full.white = 0;
  guint16 curve[CODES_8];
  make_table (&full, curve);
  for (guint y = 0; y < samples->height; y++, to += 3 * (gsize)samples->width)
    if (samples->layout == WS_SAMPLES_YUYV)
      row_of_yuyv (&weights, samples, curve, row_at (samples, y), to);
    else
      row_of_rgb (light, row_at (samples, y), samples->layout == WS_SAMPLES_BGR, samples->width,
                  to);
}

static gboolean
fill_bayer (const WsSamples *samples, const guint16 *light, WsFrame *frame, GError **error)
{
  const WsBayer bayer = { samples->width, samples->height, samples->red_x, samples->red_y };
  if (!wsi_bayer_room (&bayer, frame, error))
    return FALSE;
  for (guint y = 0; y < samples->height; y++)
    row_of_one (samples, light, row_at (samples, y), wsi_bayer_row (&bayer, frame, y));
  wsi_bayer_fill (&bayer, frame);
  return TRUE;
}

static gboolean
is_saturated (const guint16 *light, gsize n)
{
  gsize n_full = 0;
  for (gsize i = 0; i < n; i++)
    n_full += light[i] == WS_IMAGE_FULL_SCALE;
  return (double)n_full > SATURATED_SHARE * (double)n;
}

gboolean
wsi_samples_to_frame (const WsSamples *samples, WsFrame *frame, GError **error)
{
  guint16 light[CODES_8];
  const WsSamplesLayout layout = samples->layout;
  const gboolean one = layout == WS_SAMPLES_GREY || (layout == WS_SAMPLES_YUYV && !samples->colour);
  WsImage *image = wsi_frame_room (frame, samples->width, samples->height, !one, error);
  if (image == NULL)
    return FALSE;
  const gsize n = (gsize)samples->width * samples->height;
  make_table (samples, light);
  if (one)
    fill_grey (samples, light, image->linear);
  else if (layout != WS_SAMPLES_BAYER)
    fill_colour (samples, light, frame->colour);
  else if (!fill_bayer (samples, light, frame, error))
    return FALSE;
  if (!one)
    wsi_frame_take_luminance (frame);
  frame->saturated =
    is_saturated (image->linear, n) || (!one && is_saturated (frame->colour, 3 * n));
  image->bits = samples->bits;
  image->format = "camera";
  image->tone = samples->srgb ? WS_TONE_SRGB_ASSUMED : WS_TONE_LINEAR;
  image->lossy = FALSE;
  image->has_colour = samples->colour && !one;
  return TRUE;
}
