#include "camera/expose.h"

#include <math.h>

#include <whetsight/error.h>

#include "image/tone.h"

/* How far off is near enough: a code of 255 either way is about half of it. */
#define NEAR_ENOUGH 0.02

/* The share of pixels that may be brighter than the background: glints, a lamp's hot spot. */
#define BRIGHTER_SHARE 0.05

/* Nothing can be told of light beyond this code, nor of light below that one. */
#define OVER 0.98
#define UNDER 0.01
#define STEP_DOWN 0.2
#define STEP_UP 30.0

#define BINS 4096

double
wsi_background_level (const WsImage *image)
{
  guint32 bins[BINS] = { 0 };
  const gsize n = (gsize)image->width * image->height;
  for (gsize i = 0; i < n; i++)
    bins[image->linear[i] / ((WS_IMAGE_FULL_SCALE + 1) / BINS)]++;
  gsize brighter = 0;
  guint bin = BINS - 1;
  while (bin > 0 && (double)(brighter + bins[bin]) <= BRIGHTER_SHARE * (double)n)
    brighter += bins[bin--];
  const double light = (bin + 0.5) / BINS;
  return image->tone == WS_TONE_LINEAR ? light : wsi_linear_to_srgb (light);
}

static double
light_of (const WsImage *image, double level)
{
  return image->tone == WS_TONE_LINEAR ? level : wsi_srgb_to_linear (level);
}

/* By how much more light must fall in. */
static double
step_of (const WsImage *image, double level)
{
  if (level > OVER)
    return STEP_DOWN;
  if (level < UNDER)
    return STEP_UP;
  return light_of (image, WS_EXPOSE_LEVEL) / light_of (image, level);
}

static gboolean
refuse (const WsSetting *read, double level, GError **error)
{
  const char *cure = read->state != WS_SETTING_FIXED
                       ? "the camera's exposure can't be set; set the lamp by hand"
                     : level > WS_EXPOSE_LEVEL ? "dim the lamp or close the iris, lower the gain"
                                               : "add light or open the iris";
  g_set_error (
    error, WS_ERROR, WS_ERROR_DATA,
    "the background lies at %.0f %% of full scale, not at %.0f %%, with an exposure of %g s: %s",
    100.0 * level, 100.0 * WS_EXPOSE_LEVEL, read->value, cure);
  return FALSE;
}

gboolean
wsi_expose (WsCamera *camera, guint timeout_ms, WsFrame *frame, WsSetting *read, GError **error)
{
  double level = 0.0;
  if (!wsi_camera_set (camera, WS_SETTING_EXPOSURE, NAN, read, error))
    return FALSE;
  for (guint i = 0; i < WS_EXPOSE_FRAMES; i++)
  {
    if (!wsi_camera_grab (camera, frame, timeout_ms, error))
      return FALSE;
    level = wsi_background_level (frame->image);
    if (fabs (level - WS_EXPOSE_LEVEL) <= NEAR_ENOUGH)
      return TRUE;
    if (read->state != WS_SETTING_FIXED)
      break;
    const double before = read->value;
    const double wished = CLAMP (before * step_of (frame->image, level), read->least, read->most);
    if (!wsi_camera_set (camera, WS_SETTING_EXPOSURE, wished, read, error))
      return FALSE;
    if (fabs (read->value - before) < 1e-9)
      break;
  }
  return refuse (read, level, error);
}
