#include "image/taken_pixels.h"

#include <stdlib.h>
#include <string.h>

#define ASSUMED " sRGB assumed"
#define TOLD " sRGB"
#define COMPRESSED " JPEG"

/* Codes by a curve of their own are no better known than sRGB is. */
char *
wsi_taken_pixels (const WsImage *image)
{
  const char *tone = image->tone == WS_TONE_LINEAR ? " linear"
                     : image->tone == WS_TONE_SRGB ? TOLD
                                                   : ASSUMED;
  return g_strdup_printf ("%s %u bits%s%s", image->has_colour ? "colour" : "grey", image->bits,
                          tone, image->lossy ? COMPRESSED : "");
}

void
wsi_taken_apply (const WsTaken *taken, WsImage *image)
{
  const char *pixels = taken->of[WS_TAKEN_PIXELS];
  const char *bits = strchr (pixels, ' ');
  const long n = bits != NULL ? strtol (bits, NULL, 10) : 0;
  image->lossy = image->lossy || strstr (pixels, COMPRESSED) != NULL;
  if (image->tone != WS_TONE_LINEAR || strstr (pixels, TOLD) == NULL || n < 1 || n > 16)
    return;
  image->tone = strstr (pixels, ASSUMED) != NULL ? WS_TONE_SRGB_ASSUMED : WS_TONE_SRGB;
  image->bits = (guint)n;
}
