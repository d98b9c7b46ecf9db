#include "camera/samples.h"

#include <math.h>

#include "image/tone.h"

/* A saturated pixel here and there is hot, not too bright: more than this share counts. */
#define SATURATED_SHARE 1e-4

#define CODES_8 256

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

/* Luminance by Rec. ITU-R BT.709-6, 3.2. */
static guint16
luminance (const guint16 *light, const guint8 *pixel, gboolean blue_first)
{
  const guint16 red = light[pixel[blue_first ? 2 : 0]], blue = light[pixel[blue_first ? 0 : 2]];
  return (guint16)lround (0.2126 * red + 0.7152 * light[pixel[1]] + 0.0722 * blue);
}

static gsize
row_of_8 (const WsSamples *samples, const guint16 *light, const guint8 *from, guint16 *to)
{
  gsize n_full = 0;
  for (guint x = 0; x < samples->width; x++, from += samples->channels)
  {
    to[x] = samples->channels == 3 ? luminance (light, from, samples->blue_first) : light[from[0]];
    n_full += to[x] == WS_IMAGE_FULL_SCALE;
  }
  return n_full;
}

static gsize
row_of_16 (const WsSamples *samples, const guint16 *from, guint16 *to)
{
  const guint greatest = (1U << samples->bits) - 1;
  gsize n_full = 0;
  for (guint x = 0; x < samples->width; x++)
  {
    const guint code = MIN (from[x], greatest);
    to[x] = (guint16)((code * (guint64)WS_IMAGE_FULL_SCALE + greatest / 2) / greatest);
    n_full += code == greatest;
  }
  return n_full;
}

gboolean
wsi_samples_to_frame (const WsSamples *samples, WsFrame *frame, GError **error)
{
  guint16 light[CODES_8];
  gsize n_full = 0;
  WsImage *image = wsi_frame_room (frame, samples->width, samples->height, error);
  if (image == NULL)
    return FALSE;
  make_table (samples, light);
  for (guint y = 0; y < samples->height; y++)
  {
    const guint8 *from = (const guint8 *)samples->bytes + y * samples->stride;
    guint16 *to = image->linear + (gsize)y * samples->width;
    n_full += samples->bits > 8 ? row_of_16 (samples, (const guint16 *)(const void *)from, to)
                                : row_of_8 (samples, light, from, to);
  }
  image->bits = samples->bits;
  image->format = "camera";
  image->tone = samples->srgb ? WS_TONE_SRGB : WS_TONE_LINEAR;
  frame->saturated = (double)n_full > SATURATED_SHARE * samples->width * samples->height;
  return TRUE;
}
