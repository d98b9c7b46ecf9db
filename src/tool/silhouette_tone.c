#include "tool/silhouette_tone.h"

#include "image/codes.h"
#include "image/taken.h"
#include "image/tone.h"
#include "maths/stats.h"
#include "result/build.h"

#include <math.h>

/* ---- Changed tones ---- */

/* Own trials: pictures as taken have no gap and up to three doubles where noise stands out, those
 * with a gamma of 0.9 or 1.1 laid over five of both and more, or a gap and three doubles. */
#define MAX_GAPS 1
#define MAX_TORN 4
#define MAX_BESIDE_GAP 1
#define MAX_MISSING 0.3

/* Metal lit from the front has light and shade: mostly more than 0.07 of the step.  What is bright
 * and as even as a shadow may be the negative of one. */
#define MAX_NEGATIVE_SPREAD 0.065

/* Negatives have up to ten times this, dark-field pictures nothing. */
#define MAX_LOPSIDED_NEGATIVE 0.001

/* Beyond this overshoot chips and corners are changed, too. */
#define MAX_OVERSHOOT 0.1

/* And beyond this lopsided part, which the S-curves of contrast filters have, the edge may be
 * anywhere in it. */
#define MAX_LOPSIDED 0.006

/*
 * A sensor's noise grows with light: its variance in the dark is at least the light's share of that
 * in the light, which is shot noise.  Codes that are linear light but are taken for sRGB squeeze
 * the dark, whose noise then is less by far, and so does a negative, whose dark was light; the
 * factor is for what differs between sensors.
 */
#define LEAST_NOISE 0.3

/* In codes: less isn't measured but rounded. */
#define LEAST_CODES 0.7

/* And less than this doesn't spread light over codes. */
#define ANY_CODES 0.2
#define LEAST_PHASES 12

/* Where more of the edges cross pixels at one place than this, twice what chance gives, only noise
 * of so many codes makes their heaps smooth. */
#define MOST_IN_PHASE 0.4
#define HEAP_CODES 4.0

/* In linear light there can't be more noise in the dark than in the light, but for chance; where
 * less of it is the sensor's own than shot noise there is much less. */
#define MOST_NOISE 1.3
#define USUAL_NOISE 0.6

/* Light by one code, at a level. */
static double
light_per_code (const WsImage *image, double light)
{
  const double codes = (1U << MIN (image->bits, 16)) - 1;
  if (image->tone == WS_TONE_LINEAR)
    return 1 / codes;
  const double code = wsi_linear_to_srgb (light);
  return wsi_srgb_to_linear (code + 1 / codes) - light;
}

/* Variance of the darker side over that of the brighter one. */
static double
noise_ratio (const WsEdgeSpread *spread)
{
  const gboolean dark_tool = spread->tool < spread->ground;
  const double dark = dark_tool ? spread->tool_noise : spread->ground_noise;
  const double light = dark_tool ? spread->ground_noise : spread->tool_noise;
  const double ratio = dark / MAX (light, 1e-9);
  return ratio * ratio;
}

/* As a part of what shot noise alone would leave in the dark. */
static double
noise_in_dark (const WsEdgeSpread *spread)
{
  const double share =
    MIN (spread->tool, spread->ground) / MAX (MAX (spread->tool, spread->ground), 1e-9);
  return noise_ratio (spread) / MAX (share, 1e-9);
}

/* Of the brighter side, in codes. */
static double
noise_in_codes (const WsImage *image, const WsEdgeSpread *spread)
{
  const gboolean dark_tool = spread->tool < spread->ground;
  const double light = dark_tool ? spread->ground : spread->tool;
  const double noise = dark_tool ? spread->ground_noise : spread->tool_noise;
  return noise / light_per_code (image, light);
}

static gboolean
noise_is_measured (const WsImage *image, const WsOutline *outline)
{
  return !image->lossy && outline->spread.scans > 0 &&
         noise_in_codes (image, &outline->spread) > LEAST_CODES;
}

static gboolean
negative_passes (const WsImage *image, const WsEdgeSpread *spread, WsResult *result)
{
  const gboolean seen = !image->lossy && spread->scans > 0;
  if (spread->lopsided <= MAX_LOPSIDED_NEGATIVE && !(seen && noise_in_dark (spread) < LEAST_NOISE))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_TONES_CHANGED,
                            "the tool is evenly bright before a dark ground, as in a negative");
}

/* Edges that lie along the rows or columns cross pixels at one place only, and light then is on few
 * codes, or heaped about them, unless noise spreads it. */
static gboolean
codes_are_filled (const WsImage *image, const WsEdgeSpread *spread)
{
  const double noise = spread->scans > 0 ? noise_in_codes (image, spread) : 0;
  if (spread->one_phase > MOST_IN_PHASE)
    return noise > HEAP_CODES;
  return noise > LEAST_CODES || (noise > ANY_CODES && spread->phases >= LEAST_PHASES);
}

static gboolean
light_is_spread (const WsImage *image, const WsEdgeSpread *spread)
{
  return spread->phases >= LEAST_PHASES ||
         (spread->scans > 0 && noise_in_codes (image, spread) > ANY_CODES);
}

static gboolean
codes_pass (const WsImage *image, const WsOutline *outline, WsResult *result)
{
  WsCodes codes = wsi_codes_look (image->codes);
  if (!codes_are_filled (image, &outline->spread))
    codes.gaps = codes.doubles = 0;
  if (!light_is_spread (image, &outline->spread))
    codes.missing = 0;
  if (codes.missing > MAX_MISSING)
    return wsi_result_retake (result, WS_RETAKE_TONES_CHANGED,
                              "%.0f %% of the levels between dark and bright are left out",
                              100 * codes.missing);
  if (codes.gaps <= MAX_GAPS && codes.doubles <= (codes.gaps > 0 ? MAX_BESIDE_GAP : MAX_TORN))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_TONES_CHANGED,
                            "%u of its levels were pulled apart, %u pushed together", codes.gaps,
                            codes.doubles);
}

static gboolean
edge_passes (const WsEdgeSpread *spread, WsResult *result)
{
  if (spread->overshoot > MAX_OVERSHOOT)
    return wsi_result_retake (result, WS_RETAKE_SHARPENED,
                              "light beside the edge rises by %.0f %% of the step",
                              100 * spread->overshoot);
  if (spread->lopsided > MAX_LOPSIDED)
    return wsi_result_retake (result, WS_RETAKE_TONES_CHANGED,
                              "light goes from dark to bright lopsidedly, by %.1f %% of the step",
                              100 * spread->lopsided);
  return TRUE;
}

gboolean
wsi_silhouette_is_evenly_lit (const WsSegment *segment)
{
  const double step = segment->tool_level - segment->ground_level;
  return step > 0 && segment->tool_spread <= MAX_NEGATIVE_SPREAD * step;
}

gboolean
wsi_silhouette_tone_passes (const WsImage *image, const WsOutline *outline, WsResult *result)
{
  const WsEdgeSpread *spread = &outline->spread;
  if (outline->evenly_lit && !negative_passes (image, spread, result))
    return FALSE;
  /* Between a tool and a ground with shades of their own light goes any way. */
  const gboolean is_plain = !outline->front_lit && (outline->backlit || outline->evenly_lit);
  if (!codes_pass (image, outline, result) || (is_plain && !edge_passes (spread, result)))
    return FALSE;
  if (image->tone == WS_TONE_SRGB_ASSUMED && !outline->front_lit &&
      noise_is_measured (image, outline) && noise_in_dark (spread) < LEAST_NOISE)
    return wsi_result_retake (result, WS_RETAKE_TONE_UNKNOWN,
                              "its noise in the dark is too little for sRGB");
  return TRUE;
}

/* ---- What is left in doubt ---- */

/* The transfer curves that cameras call sRGB leave at most a hundredth of the blur or so
 * (assumed, no source); linear files a part of that. */
#define LEVEL_ASSUMED 0.006
#define LEVEL_STATED 0.003

/* Own trials, unsharp masks of radius 1 to 4 px and 50 to 200 % on codes: an edge moves toward the
 * ground by up to the overshoot's root times the blur. */
#define LEVEL_SHARPENED 0.6

/* And curves of contrast and gamma on codes: by up to so many times the lopsided part. */
#define LEVEL_LOPSIDED 120.0

/* Half width of what developing does to light, as a power (assumed; curves of contrast move edges
 * as far). */
#define MOST_POWER 1.5

/* An evenly bright tool that may be a negative's: by as much edges of negatives are off. */
#define LEVEL_NEGATIVE 0.6

/* No sensor is without noise: where so few codes of it are left that rounding hides it, a filter
 * may have taken it, and with it blurred edges as codes, not as light.  Own trials, filters of 1 to
 * 3 px that spare steep edges: by up to 0.55 of what half way in codes is off half way in light,
 * and by less the less blur there is beyond a camera's. */
#define SENSOR_CODES 0.3
#define LEVEL_FILTERED 0.3
#define CAMERA_BLUR_PX 0.65
#define FILTERED_BLUR_PX 3.05

/* Whether the curve is what the file says.  A gamma is written to sRGB pictures as well, and not
 * always the nearest; linear codes of 16 bits were written by who knows what light is, unless noise
 * speaks against it, and noise may speak for those of 8. */
static gboolean
is_credible (const WsImage *image, const WsOutline *outline)
{
  if (image->tone == WS_TONE_GAMMA)
    return FALSE;
  if (image->tone != WS_TONE_LINEAR || image->flags & WS_IMAGE_TOLD_LINEAR)
    return TRUE;
  if (image->bits > 8)
    return !noise_is_measured (image, outline) || noise_ratio (&outline->spread) < MOST_NOISE;
  return outline->spread.scans > 0 && noise_ratio (&outline->spread) < USUAL_NOISE;
}

static double
code_of (const WsImage *image, double light)
{
  return image->tone == WS_TONE_GAMMA ? pow (MAX (light, 0), 1 / image->gamma) : light;
}

/* How far from its middle, in blurs, a blurred edge has a level between those beside it. */
static double
blurs_from_half (double level, double tool, double ground)
{
  const double share = (level - tool) / (ground - tool);
  return share > 0 && share < 1 ? fabs (wsi_normal_quantile (share)) : 0;
}

/* How far the edge would lie from where it is, in blurs, if the codes were sRGB after all. */
static double
distance_to_srgb (const WsImage *image, const WsEdgeSpread *spread)
{
  const double tool = wsi_srgb_to_linear (code_of (image, spread->tool));
  const double ground = wsi_srgb_to_linear (code_of (image, spread->ground));
  const double half = wsi_srgb_to_linear (code_of (image, (spread->tool + spread->ground) / 2));
  return blurs_from_half (half, tool, ground);
}

/* How far the edge would lie from where it is, in blurs, if light had been raised to a power before
 * it was written. */
static double
distance_to_power (const WsEdgeSpread *spread, double power)
{
  const double tool = pow (MAX (spread->tool, 0), 1 / power);
  const double ground = pow (MAX (spread->ground, 0), 1 / power);
  const double half = pow (MAX (spread->tool + spread->ground, 0) / 2, 1 / power);
  return blurs_from_half (half, tool, ground);
}

/* Whether somebody answers for the curve: who measures, or the camera's own file, which says all of
 * how it was taken. */
static gboolean
is_vouched_for (const WsImage *image)
{
  const gboolean as_taken =
    image->tone == WS_TONE_LINEAR && image->taken != NULL && wsi_taken_is_whole (image->taken);
  return as_taken || image->flags & (WS_IMAGE_TOLD_SRGB | WS_IMAGE_TOLD_LINEAR);
}

/* A curve laid over codes of 8 bits leaves gaps and doubles among them.  Files of more bits come
 * from programs that develop pictures, most of them with a curve of contrast, and show nothing of
 * it: an edge's spread under a power of light is all but a shifted one, and its noise may be any
 * sensor's.  Nor is there more to be seen where such a file says that it is linear. */
static double
unseen_curve (const WsImage *image, const WsEdgeSpread *spread)
{
  if (image->bits <= 8 || spread->scans == 0 || is_vouched_for (image))
    return 0;
  return MAX (distance_to_power (spread, MOST_POWER), distance_to_power (spread, 1 / MOST_POWER)) /
         sqrt (3.0);
}

/* How far an edge lies, in blurs, where codes were blurred, not light. */
static double
distance_of_codes (const WsEdgeSpread *spread)
{
  const double tool = wsi_linear_to_srgb (spread->tool);
  const double ground = wsi_linear_to_srgb (spread->ground);
  const double half = wsi_linear_to_srgb ((spread->tool + spread->ground) / 2);
  return blurs_from_half (half, tool, ground);
}

static double
filtered (const WsImage *image, const WsOutline *outline)
{
  const WsEdgeSpread *spread = &outline->spread;
  const gboolean may_be = !image->lossy && image->bits <= 8 && image->tone != WS_TONE_LINEAR &&
                          !outline->front_lit && spread->scans > 0 &&
                          noise_in_codes (image, spread) < SENSOR_CODES;
  const double beyond = (outline->blur_px - CAMERA_BLUR_PX) / (FILTERED_BLUR_PX - CAMERA_BLUR_PX);
  return may_be ? LEVEL_FILTERED * distance_of_codes (spread) * CLAMP (beyond, 0, 1) : 0;
}

double
wsi_silhouette_tone_u (const WsImage *image, const WsOutline *outline)
{
  const WsEdgeSpread *spread = &outline->spread;
  const double curve = image->tone == WS_TONE_SRGB_ASSUMED ? LEVEL_ASSUMED : LEVEL_STATED;
  const double sharpened = outline->front_lit ? 0 : LEVEL_SHARPENED * sqrt (spread->overshoot);
  const double bent = outline->front_lit ? 0 : LEVEL_LOPSIDED * spread->lopsided;
  const double stated =
    spread->scans > 0 && !is_credible (image, outline) ? distance_to_srgb (image, spread) : 0;
  const double negative =
    outline->evenly_lit && !noise_is_measured (image, outline) ? LEVEL_NEGATIVE : 0;
  const double unseen = unseen_curve (image, spread);
  const double blurred = filtered (image, outline);
  return sqrt (negative * negative + curve * curve + sharpened * sharpened + bent * bent +
               stated * stated + unseen * unseen + blurred * blurred);
}

/* ---- Resized in codes ----
 *
 * Programs that resize pictures reckon with codes as if they were light.  An edge of blur s that
 * they spread by a variance v more then lies 0.22 v / s farther toward the light (derived, for sRGB
 * and a tool that is dark; own trials: up to 1.35 times that), alike all round, and as symmetric as
 * before.  As a standard uncertainty, over the root of 3:
 */
#define RESIZED_SHIFT 0.15

/* Interpolating between samples by factors from 0.5 to 1.1 leaves noise alike by 0.64 to 0.15,
 * nearly in proportion; from 1.5 on, with the mean over what becomes a pixel, by next to nothing,
 * but then v is no more than this. */
#define ALIKE_WHOLE 1.32 /* factor of none */
#define ALIKE_STEEP 1.275
#define LEAST_FACTOR 0.45
#define SHRUNK_VARIANCE 0.08 /* px^2 */

/* Own trials: 40 plain pictures were alike by 0.03 at most, and nearly all that were shrunk by 1.6
 * and more blurred by less than this, px. */
#define MOST_ALIKE 0.045
#define LEAST_BLUR_PX 0.68

/* What shows nothing of it is seldom resized all the same: by this part of what that would do. */
#define SELDOM 0.4

/* With less noise, in codes, nothing is shown. */
#define ALIKE_CODES 0.4

/* What rounding adds to noise is alike nowhere. */
#define ROUNDING (1.0 / 12.0) /* codes^2 */

static double
resized_variance (const WsImage *image, const WsEdgeSpread *spread)
{
  const double codes = noise_in_codes (image, spread);
  const double apart = codes * codes / (1 - spread->alike);
  const double alike = spread->alike * apart / MAX (apart - ROUNDING, 0.5 * apart);
  const double factor = MAX (ALIKE_WHOLE - ALIKE_STEEP * alike, LEAST_FACTOR);
  return MAX (1 / (6 * factor * factor), SHRUNK_VARIANCE);
}

double
wsi_silhouette_resized_u (const WsImage *image, const WsOutline *outline)
{
  const WsEdgeSpread *spread = &outline->spread;
  const double shift = RESIZED_SHIFT / MAX (outline->blur_px, 0.3);
  if (image->tone == WS_TONE_LINEAR)
    return 0;
  const gboolean has_noise = outline->backlit && !image->lossy && spread->scans > 0;
  if (has_noise && spread->alike > MOST_ALIKE)
    return shift * resized_variance (image, spread);
  const gboolean is_plain =
    has_noise && noise_in_codes (image, spread) > ALIKE_CODES && outline->blur_px > LEAST_BLUR_PX;
  return shift * SHRUNK_VARIANCE * (is_plain ? SELDOM : 1);
}
