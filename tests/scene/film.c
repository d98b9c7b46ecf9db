/*
 * The camera: lens, light, noise, encoding.
 *
 * A pixel is the blurred scene averaged over its area.  At 2 cells a pixel, exact area
 * coverage, a sampled Gaussian of 2 sigma cells, and the mean of 2 x 2 cells give just
 * that but for aliasing of exp (-2 pi^2 (2 sigma)^2), under 1e-12 from sigma = 0.6 px on.
 */
#include "film.h"

#include <math.h>
#include <string.h>

/* Beyond this blur one cell a pixel is as good. */
#define COARSE_BLUR 1.2
/* The kernel is cut off where 1e-7 of its weight is left. */
#define KERNEL_SIGMAS 5.3
#define N_DISC 96
#define N_QUANTILES 65536

/* --- Blur ---------------------------------------------------------------- */

static float *
make_kernel (double sigma, guint *reach)
{
  *reach = (guint)ceil (KERNEL_SIGMAS * sigma);
  float *kernel = g_new (float, 2 * *reach + 1);
  double sum = 0.0;
  for (guint i = 0; i <= 2 * *reach; i++)
  {
    const double t = ((double)i - *reach) / sigma;
    kernel[i] = (float)exp (-0.5 * t * t);
    sum += kernel[i];
  }
  for (guint i = 0; i <= 2 * *reach; i++)
    kernel[i] = (float)(kernel[i] / sum);
  return kernel;
}

static void
blur_rows (float *plane, guint width, guint height, const float *kernel, guint reach)
{
  g_autofree float *line = g_new (float, width + 2 * (gsize)reach);
  for (guint j = 0; j < height; j++)
  {
    float *row = plane + (gsize)j * width;
    for (guint i = 0; i < reach; i++)
    {
      line[i] = row[0];
      line[reach + width + i] = row[width - 1];
    }
    memcpy (line + reach, row, width * sizeof *row);
    memset (row, 0, width * sizeof *row);
    for (guint k = 0; k <= 2 * reach; k++)
    {
      const float weight = kernel[k];
      const float *in = line + k;
      for (guint i = 0; i < width; i++)
        row[i] += weight * in[i];
    }
  }
}

static void
blur_columns (float *plane, guint width, guint height, const float *kernel, guint reach)
{
  float *in = g_memdup2 (plane, (gsize)width * height * sizeof *plane);
  for (guint j = 0; j < height; j++)
  {
    float *row = plane + (gsize)j * width;
    memset (row, 0, width * sizeof *row);
    for (guint k = 0; k <= 2 * reach; k++)
    {
      const gint64 from = CLAMP ((gint64)j + k - reach, 0, (gint64)height - 1);
      const float *other = in + (gsize)from * width;
      const float weight = kernel[k];
      for (guint i = 0; i < width; i++)
        row[i] += weight * other[i];
    }
  }
  g_free (in);
}

void
film_blur (float *plane, guint width, guint height, double sigma)
{
  if (!(sigma > 0.0))
    return;
  guint reach;
  g_autofree float *kernel = make_kernel (sigma, &reach);
  blur_rows (plane, width, height, kernel, reach);
  blur_columns (plane, width, height, kernel, reach);
}

/* --- Exposure ------------------------------------------------------------ */

/* Where the picture moves to while the shutter is open, and over the disc of confusion. */
static guint
make_shifts (const SceneCamera *camera, ScenePoint *shifts)
{
  const double c = cos (camera->motion_deg * G_PI / 180.0);
  const double s = sin (camera->motion_deg * G_PI / 180.0);
  const gboolean moves = camera->motion_px > 0.0 || camera->defocus_px > 0.0;
  const guint n = moves ? N_DISC : 1;
  for (guint i = 0; i < n; i++)
  {
    /* Sunflower points fill the disc evenly (Vogel 1979); the golden ratio
     * spreads the movement over them. */
    const double r = camera->defocus_px * sqrt ((i + 0.5) / n);
    const double angle = i * G_PI * (3.0 - sqrt (5.0));
    const double along = moves ? (fmod (i * 0.6180339887498949, 1.0) - 0.5) : 0.0;
    shifts[i].x = r * cos (angle) + camera->motion_px * along * c;
    shifts[i].y = r * sin (angle) + camera->motion_px * along * s;
  }
  return n;
}

static float *
cover (const ScenePolygon *polygons, gsize n, const SceneCamera *camera, guint cells)
{
  ScenePoint shifts[N_DISC];
  const guint n_shifts = make_shifts (camera, shifts);
  SceneGrid grid = { camera->width * cells, camera->height * cells, cells, 0.0, 0.0 };
  g_autofree double *sums = g_new0 (double, (gsize)(grid.width + 1) * grid.height);
  for (guint k = 0; k < n_shifts; k++)
    for (gsize i = 0; i < n; i++)
    {
      ScenePolygon polygon = polygons[i];
      polygon.weight /= n_shifts;
      grid.dx = shifts[k].x;
      grid.dy = shifts[k].y;
      scene_cover_add (&polygon, &grid, sums);
    }
  float *plane = g_new (float, (gsize)grid.width *grid.height);
  scene_cover_finish (&grid, sums, plane);
  return plane;
}

static void
shrink (const float *fine, guint width, guint height, guint cells, float *out)
{
  const float share = 1.0f / (float)(cells * cells);
  for (guint j = 0; j < height; j++)
    for (guint i = 0; i < width; i++)
    {
      float sum = 0.0f;
      for (guint y = 0; y < cells; y++)
        for (guint x = 0; x < cells; x++)
          sum += fine[((gsize)j * cells + y) * width * cells + (gsize)i * cells + x];
      out[(gsize)j * width + i] = sum * share;
    }
}

float *
film_expose (const ScenePolygon *polygons, gsize n, const SceneCamera *camera)
{
  const guint cells = camera->blur_px < COARSE_BLUR ? 2 : 1;
  float *fine = cover (polygons, n, camera, cells);
  film_blur (fine, camera->width * cells, camera->height * cells, camera->blur_px * cells);
  if (cells == 1)
    return fine;
  float *plane = g_new (float, (gsize)camera->width * camera->height);
  shrink (fine, camera->width, camera->height, cells, plane);
  g_free (fine);
  return plane;
}

/* --- Development --------------------------------------------------------- */

/* Quantiles of the normal distribution at (i + 1/2) / n, by Newton's rule on erfc. */
static float *
make_quantiles (void)
{
  float *q = g_new (float, N_QUANTILES);
  double x = 0.0;
  for (int i = N_QUANTILES / 2; i < N_QUANTILES; i++)
  {
    const double upper = 1.0 - (i + 0.5) / N_QUANTILES;
    for (int round = 0; round < 3; round++)
      x += (0.5 * erfc (x / G_SQRT2) - upper) * sqrt (2.0 * G_PI) * exp (0.5 * x * x);
    q[i] = (float)x;
    q[N_QUANTILES - 1 - i] = (float)-x;
  }
  return q;
}

/* IEC 61966-2-1. */
static double
encode (SceneEncoding encoding, double light)
{
  if (encoding == SCENE_LINEAR)
    return light;
  return light <= 0.0031308 ? 12.92 * light : 1.055 * pow (light, 1.0 / 2.4) - 0.055;
}

static guint8 *
make_codes (SceneEncoding encoding)
{
  guint8 *codes = g_new (guint8, 65536);
  for (guint i = 0; i < 65536; i++)
    codes[i] = (guint8)lrint (255.0 * encode (encoding, i / 65535.0));
  return codes;
}

typedef struct
{
  const SceneCamera *camera;
  SceneImage *image;
  float *quantiles;
  guint8 *codes;
  SceneRng rng;
  guint64 bits;
  guint n_bits;
} Darkroom;

static double
noise (Darkroom *room)
{
  if (room->n_bits == 0)
  {
    room->bits = scene_rng_next (&room->rng);
    room->n_bits = 64;
  }
  const float q = room->quantiles[room->bits & 0xffff];
  room->bits >>= 16;
  room->n_bits -= 16;
  return q;
}

static double
ground_light (const SceneCamera *camera, guint i, guint j)
{
  const double x = (i + 0.5) / (0.5 * camera->width) - 1.0;
  const double y = (j + 0.5) / (0.5 * camera->height) - 1.0;
  return camera->back * (1.0 + camera->light_x * x + camera->light_y * y) *
         (1.0 - 0.5 * camera->vignette * (x * x + y * y));
}

static void
put (Darkroom *room, gsize sample, double light)
{
  const SceneCamera *camera = room->camera;
  if (camera->shot > 0.0 || camera->read > 0.0)
    light += sqrt (camera->shot * camera->shot * MAX (light, 0.0) + camera->read * camera->read) *
             noise (room);
  light = CLAMP (light, 0.0, 1.0);
  if (room->image->bits == 16)
  {
    const guint16 code = (guint16)lrint (65535.0 * encode (camera->encoding, light));
    memcpy (room->image->data + 2 * sample, &code, 2);
  }
  else
    room->image->data[sample] = room->codes[lrint (65535.0 * light)];
}

SceneImage *
film_develop (const float *taken, const SceneCamera *camera)
{
  SceneImage *image = g_new0 (SceneImage, 1);
  image->width = camera->width;
  image->height = camera->height;
  image->channels = camera->colour ? 3 : 1;
  image->bits = camera->bits == 16 ? 16 : 8;
  image->encoding = camera->encoding;
  image->tagged = camera->tagged;
  const gsize samples = (gsize)image->width * image->height * image->channels;
  image->data = g_malloc (samples * (image->bits / 8));

  Darkroom room = { .camera = camera, .image = image };
  room.quantiles = make_quantiles ();
  room.codes = make_codes (camera->encoding);
  scene_rng_init (&room.rng, camera->seed ^ G_GUINT64_CONSTANT (0x5eed0f7e11c0ffee));
  gsize sample = 0;
  for (guint j = 0; j < image->height; j++)
    for (guint i = 0; i < image->width; i++)
    {
      const double t = taken[(gsize)j * image->width + i];
      const double light = ground_light (camera, i, j) * (1.0 - t) + camera->front * t;
      for (guint c = 0; c < image->channels; c++)
        put (&room, sample++, light * (camera->colour ? camera->tint[c] : 1.0));
    }
  g_free (room.quantiles);
  g_free (room.codes);
  return image;
}

void
scene_image_free (SceneImage *image)
{
  if (image == NULL)
    return;
  g_free (image->data);
  g_free (image);
}
