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
#define STEP_DOWN 0.1
#define STEP_UP 30.0

/* Levels grow less than light where cameras bend their codes, and no faster than this; two frames
 * in noise may say anything. */
#define LEAST_POWER 0.25
#define MOST_POWER 1.5
#define MOST_STEP 100.0
#define FLAT_POWER 0.05

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

/* A frame's exposure and level. */
typedef struct
{
  double exposure, level; /* 0 before there was one */
} Seen;

/* The frames nearest to what is sought: the brightest that was too dark, the darkest that was too
 * bright; and the last one that wasn't beyond what can be told. */
typedef struct
{
  Seen low, high, before;
} Search;

static gboolean
tells (const Seen *seen)
{
  return seen->exposure > 0.0 && seen->level > UNDER && seen->level < OVER;
}

static double
power_between (const Seen *a, const Seen *b)
{
  return log (a->level / b->level) / log (a->exposure / b->exposure);
}

/* The power of the exposure by which the level grows: as two frames say, else by the curve that the
 * camera is read by. */
static double
power_at (const WsImage *image, const Search *search, const Seen *now)
{
  double power = NAN;
  if (tells (&search->before))
    power = power_between (&search->before, now);
  if (isfinite (power))
    return CLAMP (power, LEAST_POWER, MOST_POWER);
  if (image->tone == WS_TONE_LINEAR)
    return 1.0;
  return log (WS_EXPOSE_LEVEL / now->level) /
         log (wsi_srgb_to_linear (WS_EXPOSE_LEVEL) / wsi_srgb_to_linear (now->level));
}

/* Some cameras clip below the end of their codes: there more light makes nothing brighter. */
static gboolean
is_flat (const Search *search, const Seen *now)
{
  return now->level > WS_EXPOSE_LEVEL && tells (&search->before) &&
         fabs (power_between (&search->before, now)) < FLAT_POWER;
}

/* By how much more light must fall in. */
static double
step_of (const WsImage *image, const Search *search, const Seen *now)
{
  if (now->level > OVER || is_flat (search, now))
    return STEP_DOWN;
  if (now->level < UNDER)
    return STEP_UP;
  const double step = pow (WS_EXPOSE_LEVEL / now->level, 1.0 / power_at (image, search, now));
  return CLAMP (step, 1.0 / MOST_STEP, MOST_STEP);
}

/* The exposure to try next: between those that are known to be wrong. */
static double
next_of (const WsImage *image, Search *search, const Seen *now)
{
  Seen *side = now->level > WS_EXPOSE_LEVEL ? &search->high : &search->low;
  *side = *now;
  const double low = search->low.exposure, high = search->high.exposure;
  double next = now->exposure * step_of (image, search, now);
  if (low > 0.0 && high > low && (next <= low || next >= high))
    next = sqrt (low * high);
  search->before = tells (now) ? *now : search->before;
  return next;
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
  Search search = { { 0.0, 0.0 }, { 0.0, 0.0 }, { 0.0, 0.0 } };
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
    const Seen now = { before, level };
    const double next = next_of (frame->image, &search, &now);
    const double wished = CLAMP (next, read->least, read->most);
    if (!wsi_camera_set (camera, WS_SETTING_EXPOSURE, wished, read, error))
      return FALSE;
    if (fabs (read->value - before) < 1e-9)
      break;
  }
  return refuse (read, level, error);
}
