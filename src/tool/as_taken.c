#include "tool/as_taken.h"

#include "base/geometry.h"
#include "image/resampled.h"
#include "maths/stats.h"
#include "result/build.h"

#include <math.h>

#define LINE "alignment: picture squeezed or skewed"

/* Where neither noise nor calibration tells: half widths of what resizing by mistake and shutters
 * that read row by row do (assumed). */
#define MOST_ASPECT 0.1
#define MOST_SKEW_DEG 4.0

/* Where noise tells that nothing was done, less than this may have been: its trace would be as long
 * as slow changes of the light (`LEAST_FREQUENCY` in image/resampled.c). */
#define MOST_UNSEEN 0.008

/* Sensors' pixels are square, and their rows square to their columns, to far less (assumed). */
#define U_SENSOR 0.0001

/* Ground cells so near to something else are left out: shadows and blur. */
#define NEAR 2

/* Steel of the ground's own light has marks; the ground has noise alone, which differs by so much
 * at most from its median between square patches of 3 x 3 cells. */
#define MOST_ROUGH 1.6

/* Variance of light in a cell. */
static double
roughness (const WsImage *image, guint factor, guint cx, guint cy)
{
  double sum = 0, squares = 0;
  for (guint y = cy * factor; y < (cy + 1) * factor; y++)
    for (guint x = cx * factor; x < (cx + 1) * factor; x++)
    {
      const double light = image->linear[(gsize)y * image->width + x];
      sum += light;
      squares += light * light;
    }
  const double n = (double)factor * factor;
  return MAX (squares / n - sum / n * sum / n, 0);
}

/* Mean of a plane over the cells about one. */
static double
mean_about (const WsCoarse *coarse, const double *plane, guint x, guint y)
{
  double sum = 0;
  guint n = 0;
  for (guint j = y > 0 ? y - 1 : 0; j <= MIN (y + 1, coarse->height - 1); j++)
    for (guint i = x > 0 ? x - 1 : 0; i <= MIN (x + 1, coarse->width - 1); i++, n++)
      sum += plane[(gsize)j * coarse->width + i];
  return sum / n;
}

static gboolean
is_apart (const WsCoarse *coarse, guint x, guint y)
{
  const guint left = x > NEAR ? x - NEAR : 0, top = y > NEAR ? y - NEAR : 0;
  for (guint j = top; j <= MIN (y + NEAR, coarse->height - 1); j++)
    for (guint i = left; i <= MIN (x + NEAR, coarse->width - 1); i++)
    {
      const gsize at = (gsize)j * coarse->width + i;
      if ((double)coarse->apart[at] >= coarse->least || coarse->tool[at] != 0)
        return TRUE;
    }
  return FALSE;
}

/* 1 where a cell and all about it is plain ground. */
static guint8 *
ground_of (const WsImage *image, const WsCoarse *coarse)
{
  const gsize n = (gsize)coarse->width * coarse->height;
  guint8 *in = g_new0 (guint8, n);
  g_autofree double *rough = g_new (double, n);
  g_autofree double *sorted = g_new (double, n);
  gsize found = 0;
  for (gsize i = 0; i < n; i++)
    rough[i] =
      roughness (image, coarse->factor, (guint)(i % coarse->width), (guint)(i / coarse->width));
  for (gsize i = 0; i < n; i++)
  {
    in[i] = !is_apart (coarse, (guint)(i % coarse->width), (guint)(i / coarse->width));
    if (in[i])
      sorted[found++] = rough[i];
  }
  const double most = found > 0 ? MOST_ROUGH * wsi_median (sorted, found) : 0;
  for (gsize i = 0; i < n; i++)
    in[i] = in[i] && mean_about (coarse, rough, (guint)(i % coarse->width),
                                 (guint)(i / coarse->width)) <= most;
  return in;
}

gboolean
wsi_picture_shape (const WsImage *image, const WsOptics *optics, const WsCoarse *coarse,
                   WsPictureShape *shape, WsResult *result)
{
  *shape = (WsPictureShape){ U_SENSOR, U_SENSOR };
  if (optics->lens != NULL && optics->lens->model == WS_LENS_PINHOLE)
    return TRUE;
  g_autofree guint8 *in = ground_of (image, coarse);
  const WsImageCells ground = { coarse->width, coarse->height, coarse->factor, in };
  double may_be;
  const WsResampled resampled = wsi_image_resampled (image, &ground, &may_be);
  if (resampled == WS_RESAMPLED_UNEVENLY)
    return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                              "the ground's noise shows that it was resized along one side only, "
                              "or skewed");
  const double most = resampled == WS_RESAMPLED_UNKNOWN ? 1 : MAX (may_be, MOST_UNSEEN);
  shape->u_aspect = MIN (most, MOST_ASPECT) / sqrt (3.0);
  shape->u_skew = MIN (most, wsi_radians (MOST_SKEW_DEG)) / sqrt (3.0);
  return TRUE;
}

void
wsi_picture_shape_add_to_lengths (const WsPictureShape *shape, WsResult *result)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = result->quantities->pdata[i];
    if (!quantity->known || quantity->info->unit != WS_UNIT_LENGTH)
      continue;
    wsi_quantity_add_line (quantity, LINE, WS_DISTRIBUTION_RECTANGULAR, shape->u_aspect,
                           fabs (quantity->value));
    wsi_quantity_combine (quantity);
  }
}

/* x' = x (1 + e) + g y turns a direction by -sin (a) (e cos (a) + g sin (a)); the difference of
 * two such turns is sin (b - a) (e cos (a + b) + g sin (a + b)). */
void
wsi_picture_shape_add_to_angle (const WsPictureShape *shape, double one, double other,
                                const WsOptics *optics, WsQuantity *quantity)
{
  if (!quantity->known)
    return;
  const double u = fabs (sin (other - one)) *
                   hypot (shape->u_aspect * cos (one + other), shape->u_skew * sin (one + other));
  wsi_quantity_add_seen_line (quantity, LINE, WS_DISTRIBUTION_RECTANGULAR, u, optics);
  wsi_quantity_combine (quantity);
}
