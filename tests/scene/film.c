/* The camera: lens, light, noise, encoding. */
#include "film.h"
#include "sheen.h"

#include <math.h>
#include <string.h>

#define N_DISC 96
#define N_QUANTILES 65536

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
    /* Sunflower points fill the disc evenly (Vogel 1979).  37 has no divisor in common
     * with 96, so the movement takes each of 96 steps once, in mixed order. */
    const double r = camera->defocus_px * sqrt ((i + 0.5) / n);
    const double angle = i * G_PI * (3.0 - sqrt (5.0));
    const double along = moves ? ((i * 37 % n) + 0.5) / n - 0.5 : 0.0;
    shifts[i].x = r * cos (angle) + camera->motion_px * along * c;
    shifts[i].y = r * sin (angle) + camera->motion_px * along * s;
  }
  return n;
}

float *
film_expose (const ScenePolygon *polygons, gsize n, const SceneCamera *camera)
{
  ScenePoint shifts[N_DISC];
  const guint n_shifts = make_shifts (camera, shifts);
  SceneGrid grid = { camera->width, camera->height, camera->blur_px, { 0.0, 0.0 } };
  g_autofree double *sums = g_new0 (double, (gsize)(grid.width + 1) * grid.height);
  for (guint k = 0; k < n_shifts; k++)
    for (gsize i = 0; i < n; i++)
    {
      ScenePolygon polygon = polygons[i];
      polygon.weight /= n_shifts;
      grid.shift = shifts[k];
      scene_cover_add (&polygon, &grid, sums);
    }
  float *plane = g_new (float, (gsize)grid.width *grid.height);
  scene_cover_finish (&grid, sums, plane);
  return plane;
}

/* --- Development --------------------------------------------------------- */

/* Quantiles of the normal distribution at (i + 1/2) / n, by Newton's rule on erfc; made once. */
static const float *
noise_quantiles (void)
{
  static float q[N_QUANTILES];
  static gsize made;
  if (!g_once_init_enter (&made))
    return q;
  double x = 0.0;
  for (int i = N_QUANTILES / 2; i < N_QUANTILES; i++)
  {
    const double upper = 1.0 - (i + 0.5) / N_QUANTILES;
    for (int round = 0; round < 3; round++)
      x += (0.5 * erfc (x / G_SQRT2) - upper) * sqrt (2.0 * G_PI) * exp (0.5 * x * x);
    q[i] = (float)x;
    q[N_QUANTILES - 1 - i] = (float)-x;
  }
  g_once_init_leave (&made, 1);
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

#define N_LIGHTS 65536

/* Of every light in 8 bits; made once. */
static const guint8 *
codes_of (SceneEncoding encoding)
{
  static guint8 codes[2][N_LIGHTS];
  static gsize made[2];
  const int which = encoding == SCENE_LINEAR ? 0 : 1;
  if (g_once_init_enter (&made[which]))
  {
    for (guint i = 0; i < N_LIGHTS; i++)
      codes[which][i] = (guint8)lrint (255.0 * encode (encoding, i / (N_LIGHTS - 1.0)));
    g_once_init_leave (&made[which], 1);
  }
  return codes[which];
}

typedef struct
{
  const SceneCamera *camera;
  SceneImage *image;
  const float *quantiles;
  const guint8 *codes;
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

/* Of one row; apart from what is written, so that a compiler needn't read the camera anew each
 * time. */
static void
light_row (const SceneCamera *camera, const SheenBeside *beside, const float *taken, guint j,
           double *light)
{
  const gboolean plain = !beside->is_there && sheen_is_plain (camera);
  for (guint i = 0; i < camera->width; i++)
  {
    const double t = taken[i], ground = ground_light (camera, i, j);
    light[i] = ground * (1.0 - t) + camera->front * t;
    if (plain)
      continue;
    const double thing = sheen_beside (camera, beside, i, j);
    light[i] = isfinite (thing) ? thing
                                : ground * sheen_on_ground (camera, i, j) * (1.0 - t) +
                                    camera->front * sheen_on_tool (camera, i, j) * t;
  }
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
    const guint16 seen = (guint16)lrint (65535.0 * encode (camera->encoding, light));
    const guint16 code = camera->negative ? (guint16)(65535 - seen) : seen;
    memcpy (room->image->data + 2 * sample, &code, 2);
  }
  else
  {
    const guint8 seen = room->codes[lrint (65535.0 * light)];
    room->image->data[sample] = camera->negative ? (guint8)(255 - seen) : seen;
  }
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
  room.quantiles = noise_quantiles ();
  room.codes = codes_of (camera->encoding);
  scene_rng_init (&room.rng, camera->seed ^ G_GUINT64_CONSTANT (0x5eed0f7e11c0ffee));
  const SheenBeside beside = sheen_place (camera, taken);
  g_autofree double *light = g_new (double, image->width);
  gsize sample = 0;
  for (guint j = 0; j < image->height; j++)
  {
    light_row (camera, &beside, taken + (gsize)j * image->width, j, light);
    for (guint i = 0; i < image->width; i++)
      for (guint c = 0; c < image->channels; c++)
        put (&room, sample++, light[i] * (camera->colour ? camera->tint[c] : 1.0));
  }
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
