#include "tool/face/nothing.h"

#include "maths/stats.h"
#include "result/build.h"

#include <math.h>

/* Steel reflects a third of the light and more; where the brightest fiftieth has less than this
 * part of full scale, or the darkest more, nothing can stand out. */
#define DARK_LIGHT 0.02
#define BRIGHT_LIGHT 0.9
#define PART 0.02

/* Where so much of a picture without a tool is cut off, the tool may be among it. */
#define CUT_OFF_LIGHT 0.97
#define CUT_OFF_SHARE 0.1

/* Places that light is read at, at most, along either side of the picture. */
#define PLACES 400

static guint
step_of (guint size, guint places)
{
  return MAX (1, size / places);
}

static void
extremes (const WsImage *image, double *darkest, double *brightest, double *cut_off)
{
  guint n = 0;
  const guint dx = step_of (image->width, PLACES), dy = step_of (image->height, PLACES);
  g_autoptr (GArray) light = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint y = 0; y < image->height; y += dy)
    for (guint x = 0; x < image->width; x += dx)
    {
      const double here = (double)image->linear[(gsize)y * image->width + x] / WS_IMAGE_FULL_SCALE;
      g_array_append_val (light, here);
      n += here > CUT_OFF_LIGHT ? 1 : 0;
    }
  double *values = (double *)(void *)light->data;
  *cut_off = (double)n / light->len;
  *darkest = wsi_quantile (values, light->len, PART);
  *brightest = wsi_quantile (values, light->len, 1 - PART);
}

/* Texture is read in squares of so many px. */
#define SQUARE 16

/* Noise alone differs from square to square by a tenth; marks on steel stand out of it. */
#define TEXTURED 1.8

static double
roughness (const WsImage *image, guint x0, guint y0)
{
  double sum = 0, squares = 0;
  for (guint y = y0; y < y0 + SQUARE; y++)
    for (guint x = x0; x < x0 + SQUARE; x++)
    {
      const double light = image->linear[(gsize)y * image->width + x];
      sum += light;
      squares += light * light;
    }
  const double n = SQUARE * SQUARE;
  return sqrt (MAX (squares / n - sum / n * sum / n, 0));
}

/* Is a part of the picture rougher than the rest, as a tool is on a ground of its own light? */
static gboolean
has_texture (const WsImage *image)
{
  g_autoptr (GArray) rough = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint y = 0; y + SQUARE <= image->height; y += SQUARE)
    for (guint x = 0; x + SQUARE <= image->width; x += SQUARE)
    {
      const double here = roughness (image, x, y);
      g_array_append_val (rough, here);
    }
  if (rough->len < 16)
    return FALSE;
  double *values = (double *)(void *)rough->data;
  const double most = wsi_quantile (values, rough->len, 0.95);
  return most > TEXTURED * wsi_quantile (values, rough->len, 0.3);
}

gboolean
wsi_face_tell_nothing (const WsImage *image, WsResult *result)
{
  double darkest, brightest, cut_off;
  extremes (image, &darkest, &brightest, &cut_off);
  if (brightest < DARK_LIGHT)
    return wsi_result_retake (result, WS_RETAKE_UNDER_EXPOSED,
                              "the brightest parts have %.1f %% of full light", 100 * brightest);
  if (darkest > BRIGHT_LIGHT || cut_off > CUT_OFF_SHARE)
    return wsi_result_retake (result, WS_RETAKE_OVER_EXPOSED,
                              "%.0f %% of the picture have all the light there is", 100 * cut_off);
  if (!wsi_face_noise_check (image, result))
    return FALSE;
  if (has_texture (image))
    return wsi_result_retake (result, WS_RETAKE_LOW_CONTRAST,
                              "what is there hardly differs from what lies along the picture's "
                              "sides");
  return wsi_result_retake (result, WS_RETAKE_NO_TOOL,
                            "nothing comes in from the side of the picture");
}

/* Noise from pixel to pixel, of full light, in the quieter part of the picture, from which on edges
 * of some px can't be followed. */
#define NOISY 0.012
#define QUIETER 0.3

/* What a pixel differs by from the plane through its neighbours (Immerkaer 1996): slopes and
 * straight edges leave nothing. */
static double
noise_of (const WsImage *image, guint x0, guint y0)
{
  double sum = 0;
  const gsize w = image->width;
  for (guint y = y0 + 1; y + 1 < y0 + SQUARE; y++)
    for (guint x = x0 + 1; x + 1 < x0 + SQUARE; x++)
    {
      const guint16 *at = image->linear + y * w + x;
      sum += fabs (4.0 * at[0] - 2.0 * (at[-1] + at[1] + *(at - w) + at[w]) + *(at - w - 1) +
                   *(at - w + 1) + at[w - 1] + at[w + 1]);
    }
  const double n = (SQUARE - 2) * (SQUARE - 2);
  return sqrt (G_PI_2) * sum / (6 * n) / WS_IMAGE_FULL_SCALE;
}

gboolean
wsi_face_noise_check (const WsImage *image, WsResult *result)
{
  g_autoptr (GArray) noise = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint y = 0; y + SQUARE <= image->height; y += SQUARE)
    for (guint x = 0; x + SQUARE <= image->width; x += SQUARE)
    {
      const double here = noise_of (image, x, y);
      g_array_append_val (noise, here);
    }
  if (noise->len < 16)
    return TRUE;
  const double quiet = wsi_quantile ((double *)(void *)noise->data, noise->len, QUIETER);
  if (!(quiet > NOISY))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_UNDER_EXPOSED,
                            "noise of %.1f %% of full light from pixel to pixel", 100 * quiet);
}
