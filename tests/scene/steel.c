/* Light on ground steel.  Nothing here bears on truth: it is made to look as pictures do. */
#include "steel.h"

#include <math.h>

/* --- Grinding marks -------------------------------------------------------------- */

/* A number of -1 to 1 for a cell. */
static double
cell (guint64 seed, gint64 i, gint64 j)
{
  guint64 z = seed + (guint64)i * G_GUINT64_CONSTANT (0x9e3779b97f4a7c15) +
              (guint64)j * G_GUINT64_CONSTANT (0xc2b2ae3d27d4eb4f);
  z = (z ^ (z >> 30)) * G_GUINT64_CONSTANT (0xbf58476d1ce4e5b9);
  z = (z ^ (z >> 27)) * G_GUINT64_CONSTANT (0x94d049bb133111eb);
  return (double)((z ^ (z >> 31)) >> 11) * 0x1p-52 - 1.0;
}

/* The same between cells, smooth. */
static double
texture (guint64 seed, double x, double y)
{
  const double fx = floor (x), fy = floor (y);
  const gint64 i = (gint64)fx, j = (gint64)fy;
  const double u = (x - fx) * (x - fx) * (3.0 - 2.0 * (x - fx));
  const double v = (y - fy) * (y - fy) * (3.0 - 2.0 * (y - fy));
  const double low = cell (seed, i, j) * (1.0 - u) + cell (seed, i + 1, j) * u;
  const double high = cell (seed, i, j + 1) * (1.0 - u) + cell (seed, i + 1, j + 1) * u;
  return low * (1.0 - v) + high * v;
}

/* --- Lamps -------------------------------------------------------------------------- */

static void
add_lamp (SteelLook *look, double right, double up, double toward, double width, double power)
{
  look->lamps[look->n_lamps++] =
    (SteelLamp){ shade_unit ((Vec3){ right, up, toward }), width, power };
}

static void
add_ring (SteelLook *look, double radius)
{
  for (int k = 0; k < STEEL_MAX_LAMPS; k++)
  {
    const double angle = 2.0 * G_PI * k / STEEL_MAX_LAMPS;
    add_lamp (look, radius * cos (angle), radius * sin (angle), 1.0, 0.25, 0.35);
  }
}

void
steel_light_init (SteelLook *look, SteelLight light, SceneRng *rng)
{
  look->n_lamps = 0;
  look->ambient = scene_rng_uniform (rng, 0.02, 0.05);
  look->sky = scene_rng_uniform (rng, 0.0, 0.03);
  const double side = scene_rng_uniform (rng, 0.0, 1.0) < 0.5 ? -1.0 : 1.0;
  const double width = scene_rng_uniform (rng, 0.2, 0.4);
  switch (light)
  {
  case STEEL_SOFT_BOXES:
    add_lamp (look, -0.8, scene_rng_uniform (rng, 0.1, 0.5), 0.7, width, 1.0);
    add_lamp (look, 0.8, scene_rng_uniform (rng, 0.1, 0.5), 0.7, width,
              scene_rng_uniform (rng, 0.5, 1.0));
    break;
  case STEEL_SIDE:
    add_lamp (look, side, scene_rng_uniform (rng, 0.0, 0.4), 0.3, 1.5 * width, 1.0);
    look->ambient *= 3.0;
    look->sky += 0.1;
    break;
  case STEEL_RING:
    add_ring (look, scene_rng_uniform (rng, 0.25, 0.6));
    break;
  default:
    add_lamp (look, 0.2 * side, 0.5, 0.6, 0.8, 0.5);
    look->ambient = scene_rng_uniform (rng, 0.1, 0.25);
    look->sky = scene_rng_uniform (rng, 0.2, 0.5);
    break;
  }
}

static double
light_from (const SteelLook *look, Vec3 direction, double spread)
{
  double sum = look->ambient + look->sky * (0.5 + 0.5 * direction.y);
  for (guint i = 0; i < look->n_lamps; i++)
  {
    const SteelLamp *lamp = &look->lamps[i];
    const double w2 = lamp->width * lamp->width + spread * spread;
    const double off = 1.0 - shade_dot (direction, lamp->from);
    sum += off < 6.0 * w2 ? lamp->power * exp (-off / w2) * lamp->width * lamp->width / w2 : 0.0;
  }
  return sum;
}

/* --- Steel --------------------------------------------------------------------------- */

/* Widths of marks, mm, and their lengths. */
#define MARK_WIDTH 0.02
#define MARK_LENGTH 1.2
#define BLOTCH 1.5

/* Along the marks: the helix on the body, the generator on the flanks. */
static Vec3
marks_direction (const Solid *solid, const ShadeFragment *f)
{
  if (f->region != SHADE_FLANK)
    return shade_unit ((Vec3){ -f->p[1] * solid->twist, f->p[0] * solid->twist, 1.0 });
  const Vec3 n = { f->normal[0], f->normal[1], f->normal[2] };
  return shade_unit (shade_cross ((Vec3){ 0.0, 1.0, 0.0 }, n));
}

static Vec3
to_picture (const ShadeCamera *camera, Vec3 v)
{
  const double side = camera->mirrored ? -1.0 : 1.0;
  return (Vec3){ side * shade_dot (v, camera->right), shade_dot (v, camera->up),
                 shade_dot (v, camera->toward) };
}

/* Light sent to the camera, over normals spread across the marks. */
static double
steel_light (const SteelLook *look, const ShadeCamera *camera, const Solid *solid,
             const ShadeFragment *f)
{
  static const double weights[] = { 0.12, 0.24, 0.28, 0.24, 0.12 };
  const Vec3 normal = { f->normal[0], f->normal[1], f->normal[2] };
  const Vec3 n = to_picture (camera, normal);
  const Vec3 c = to_picture (camera, shade_cross (marks_direction (solid, f), normal));
  const guint64 seed = look->seed + 1000u * f->region;
  const double mark = texture (seed, f->across / MARK_WIDTH, f->along / MARK_LENGTH) +
                      0.6 * texture (seed + 1, f->across / (4.0 * MARK_WIDTH), f->along / 4.0);
  const double blotch = texture (seed + 2, f->across / BLOTCH, f->along / BLOTCH);
  double sum = 0.0;
  for (int k = 0; k < 5; k++)
  {
    const double tilt =
      look->marks * (mark + 0.5 * blotch) + 0.7 * (k - 2) * look->rough[f->region];
    const Vec3 m = shade_unit ((Vec3){ n.x + tilt * c.x, n.y + tilt * c.y, n.z + tilt * c.z });
    const Vec3 r = { 2.0 * m.z * m.x, 2.0 * m.z * m.y, 2.0 * m.z * m.z - 1.0 };
    sum += weights[k] * light_from (look, r, 0.15);
  }
  const double grain = texture (seed + 3, f->across / 0.012, f->along / 0.012);
  return look->albedo[f->region] * (0.85 * sum + 0.15 * light_from (look, n, 0.8)) *
         (1.0 + 0.15 * mark + 0.15 * blotch + look->grain * grain);
}

/* From bare steel through straw, brown and purple to blue, by eye. */
static const double heat_colours[][3] = { { 1.0, 1.0, 1.0 },
                                          { 0.9, 0.75, 0.45 },
                                          { 0.6, 0.36, 0.14 },
                                          { 0.25, 0.1, 0.25 },
                                          { 0.12, 0.18, 0.45 } };

static double
heat_tint (const SteelLook *look, const ShadeFragment *f, int channel)
{
  const double dx = f->p[0] - look->hot.x, dy = f->p[1] - look->hot.y, dz = f->p[2] - look->hot.z;
  const double part = 1.0 - sqrt (dx * dx + dy * dy + dz * dz) / MAX (look->heat, 1e-9);
  if (!(look->heat > 0.0) || part <= 0.0 || f->region == SHADE_FLUTE)
    return 1.0;
  const double at = MIN (part * 4.0, 3.999);
  const int i = (int)at;
  return heat_colours[i][channel] * (i + 1 - at) + heat_colours[i + 1][channel] * (at - i);
}

/* --- The picture ------------------------------------------------------------------------ */

#define CHANNELS 3
#define SAMPLES 2

typedef struct
{
  float *light, *cover;
  /* Light changes little within a pixel where the surface doesn't: of the sample before. */
  float *sent;
  guint8 *region;
} Plate;

static void
add_sample (const SteelLook *look, const ShadeCamera *camera, const Solid *solid,
            const ShadeFragment *fragments, const Plate *plate)
{
  const gsize n = (gsize)camera->width * camera->height;
  const double part = 1.0 / (SAMPLES * SAMPLES);
  for (gsize i = 0; i < n; i++)
  {
    if (fragments[i].region == SHADE_GROUND)
      continue;
    if (plate->region[i] != fragments[i].region)
      plate->sent[i] = (float)steel_light (look, camera, solid, &fragments[i]);
    plate->region[i] = fragments[i].region;
    for (int c = 0; c < CHANNELS; c++)
      plate->light[CHANNELS * i + (gsize)c] +=
        (float)(part * (double)plate->sent[i] * heat_tint (look, &fragments[i], c));
    plate->cover[i] += (float)part;
  }
}

static int
compare_floats (const void *a, const void *b)
{
  const float x = *(const float *)a, y = *(const float *)b;
  return (x > y) - (x < y);
}

/* Factor that gives the brightest 5 % of the drill the light asked for. */
static double
expose (const SteelLook *look, const float *light, const float *cover, gsize n)
{
  g_autofree float *seen = g_new (float, n);
  gsize m = 0;
  for (gsize i = 0; i < n; i += 7)
    if (cover[i] > 0.99f)
      seen[m++] = light[CHANNELS * i + 1];
  if (m == 0)
    return 1.0;
  qsort (seen, m, sizeof *seen, compare_floats);
  return look->exposure / MAX ((double)seen[(gsize)(0.95 * (double)(m - 1))], 1e-6);
}

static void
add_ground (const SteelLook *look, const ShadeCamera *camera, const float *cover, double factor,
            float *light)
{
  for (guint j = 0; j < camera->height; j++)
    for (guint i = 0; i < camera->width; i++)
    {
      const gsize k = (gsize)j * camera->width + i;
      const double ground =
        look->ground * (1.0 + look->slope_x * ((double)i / camera->width - 0.5) +
                        look->slope_y * ((double)j / camera->height - 0.5));
      for (gsize c = 0; c < CHANNELS; c++)
        light[CHANNELS * k + c] =
          (float)(factor * (double)light[CHANNELS * k + c] + (1.0 - (double)cover[k]) * ground);
    }
}

/* A Gaussian along one line of samples that lie `step` apart. */
static void
blur_line (float *first, guint n, gsize step, const double *kernel, int reach, float *line)
{
  /* Beyond the ends it goes on as it ends. */
  for (int i = -reach; i < (int)n + reach; i++)
    line[i + reach] = first[(gsize)CLAMP (i, 0, (int)n - 1) * step];
  for (guint i = 0; i < n; i++)
  {
    double sum = 0.0;
    for (int d = 0; d <= 2 * reach; d++)
      sum += kernel[d] * (double)line[i + (guint)d];
    first[i * step] = (float)sum;
  }
}

static void
blur (const SteelLook *look, const ShadeCamera *camera, float *light)
{
  const int reach = (int)ceil (3.0 * look->blur_px);
  const guint width = camera->width, height = camera->height;
  g_autofree double *kernel = g_new (double, 2 * reach + 1);
  g_autofree float *line = g_new (float, MAX (width, height) + 2 * (guint)reach);
  double total = 0.0;
  for (int d = -reach; d <= reach; d++)
    total += kernel[d + reach] = exp (-0.5 * d * d / (look->blur_px * look->blur_px));
  for (int d = 0; d <= 2 * reach; d++)
    kernel[d] /= total;
  for (gsize c = 0; c < CHANNELS; c++)
  {
    for (guint j = 0; j < height; j++)
      blur_line (light + CHANNELS * (gsize)j * width + c, width, CHANNELS, kernel, reach, line);
    for (guint i = 0; i < width; i++)
      blur_line (light + CHANNELS * (gsize)i + c, height, CHANNELS * (gsize)width, kernel, reach,
                 line);
  }
}

#define N_CODES 8192

/* IEC 61966-2-1. */
static guint8 *
make_codes (void)
{
  guint8 *codes = g_new (guint8, N_CODES);
  for (int i = 0; i < N_CODES; i++)
  {
    const double light = i / (N_CODES - 1.0);
    codes[i] = (guint8)lrint (
      255.0 * (light <= 0.0031308 ? 12.92 * light : 1.055 * pow (light, 1.0 / 2.4) - 0.055));
  }
  return codes;
}

static SceneImage *
develop (const SteelLook *look, const ShadeCamera *camera, const float *light)
{
  SceneImage *image = g_new0 (SceneImage, 1);
  image->width = camera->width;
  image->height = camera->height;
  image->channels = look->colour ? CHANNELS : 1;
  image->bits = 8;
  image->encoding = SCENE_SRGB;
  const gsize n = (gsize)image->width * image->height * image->channels;
  image->data = g_malloc (n);
  SceneRng rng;
  scene_rng_init (&rng, look->seed + 77);
  g_autofree guint8 *codes = make_codes ();
  for (gsize i = 0; i < n; i++)
  {
    const float *at = &light[CHANNELS * (i / image->channels)];
    const double one = look->colour
                         ? (double)at[i % CHANNELS]
                         : 0.2126 * (double)at[0] + 0.7152 * (double)at[1] + 0.0722 * (double)at[2];
    const double noisy = one + look->noise * sqrt (MAX (one, 0.0) + 0.01) * scene_rng_normal (&rng);
    image->data[i] = codes[lrint ((N_CODES - 1.0) * CLAMP (noisy, 0.0, 1.0))];
  }
  return image;
}

SceneImage *
steel_picture (const ShadeModel *model, const ShadeCamera *camera, const SteelLook *look)
{
  const gsize n = (gsize)camera->width * camera->height;
  g_autofree ShadeFragment *fragments = g_new (ShadeFragment, n);
  g_autofree float *light = g_new0 (float, CHANNELS *n);
  g_autofree float *cover = g_new0 (float, n);
  g_autofree float *sent = g_new0 (float, n);
  g_autofree guint8 *region = g_new0 (guint8, n);
  const Plate plate = { light, cover, sent, region };
  for (int k = 0; k < SAMPLES * SAMPLES; k++)
  {
    const int column = k % SAMPLES, row = k / SAMPLES;
    const ScenePoint offset = { (column + 0.5) / SAMPLES - 0.5, (row + 0.5) / SAMPLES - 0.5 };
    shade_cast (model, camera, offset, fragments);
    add_sample (look, camera, shade_solid (model), fragments, &plate);
  }
  add_ground (look, camera, cover, expose (look, light, cover, n), light);
  blur (look, camera, light);
  return develop (look, camera, light);
}
