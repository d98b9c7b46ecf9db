/* Tools in front light. */
#include "flank.h"

#include "heat.h"

#include <math.h>
#include <string.h>

/* --- Light on a place ------------------------------------------------------ */

typedef struct
{
  double c[3];
} Light;

typedef Light (*Shade) (const void *scene, double x, double y);

/* A number of -1 to 1 that belongs to a streak. */
static double
streak (guint64 seed, double place)
{
  const double at = floor (place);
  double value[2];
  for (int k = 0; k < 2; k++)
  {
    SceneRng rng;
    scene_rng_init (&rng,
                    seed ^ (guint64)(gint64)(at + k) * G_GUINT64_CONSTANT (0x9e3779b97f4a7c15));
    value[k] = scene_rng_uniform (&rng, -1.0, 1.0);
  }
  return value[0] + (place - at) * (value[1] - value[0]);
}

/* Stretches of the border that wander by themselves, an edge. */
#define BORDER_WAVES 10.0

static double
heat_depth (const SceneHeat *heat, guint64 seed, double along)
{
  return heat->depth * (1.0 + heat->uneven * streak (seed + 9, BORDER_WAVES * along));
}

double
scene_heat_greatest (const SceneHeat *heat, guint64 seed)
{
  double greatest = 0.0;
  for (int i = 0; i <= 200; i++)
    greatest =
      MAX (greatest, heat_depth (heat, seed, heat->from + (heat->to - heat->from) * i / 200.0));
  return greatest;
}

static Light
heat_tint (const SceneHeat *heat, guint64 seed, double along, double depth)
{
  Light tint = { { 1.0, 1.0, 1.0 } };
  if (heat->depth <= 0.0 || depth < 0.0)
    return tint;
  /* Colour ends along the edge as it does across. */
  const double inside = MIN (along - heat->from, heat->to - along) / 0.06;
  const double part_hot =
    MIN (1.0 - depth / heat_depth (heat, seed, along), CLAMP (inside, 0.0, 1.0));
  if (part_hot <= 0.0)
    return tint;
  const double t = heat->hottest * pow (part_hot, heat->bend);
  scene_film_tint (t, tint.c);
  return tint;
}

static Light
grey (double light)
{
  return (Light){ { light, light, light } };
}

static Light
times (Light light, Light by)
{
  for (int c = 0; c < 3; c++)
    light.c[c] *= by.c[c];
  return light;
}

/* --- The picture ------------------------------------------------------------ */

#define SUB 3

static Light *
expose (const SceneLamp *lamp, Shade shade, const void *scene)
{
  Light *plane = g_new0 (Light, (gsize)lamp->width * lamp->height);
  for (guint j = 0; j < lamp->height; j++)
    for (guint i = 0; i < lamp->width; i++)
      for (int k = 0; k < SUB * SUB; k++)
      {
        const int column = k % SUB, row = k / SUB;
        const double x = i + (column + 0.5) / SUB - 0.5, y = j + (row + 0.5) / SUB - 0.5;
        const Light light = shade (scene, x, y);
        for (int c = 0; c < 3; c++)
          plane[(gsize)j * lamp->width + i].c[c] += light.c[c] * lamp->lamp[c] / (SUB * SUB);
      }
  return plane;
}

/* A Gaussian along rows or columns. */
static void
blur (Light *plane, const SceneLamp *lamp, gboolean down)
{
  const int reach = (int)ceil (3.0 * lamp->blur_px);
  const guint n = down ? lamp->height : lamp->width, m = down ? lamp->width : lamp->height;
  const gsize step = down ? lamp->width : 1, next = down ? 1 : lamp->width;
  g_autofree Light *line = g_new (Light, n);
  for (guint k = 0; k < m; k++)
  {
    Light *first = plane + k * next;
    for (guint i = 0; i < n; i++)
      line[i] = first[i * step];
    for (guint i = 0; i < n; i++)
    {
      Light sum = grey (0.0);
      double total = 0.0;
      for (int d = -reach; d <= reach; d++)
      {
        const double w = exp (-0.5 * d * d / (lamp->blur_px * lamp->blur_px));
        const Light *at = &line[CLAMP ((int)i + d, 0, (int)n - 1)];
        for (int c = 0; c < 3; c++)
          sum.c[c] += w * at->c[c];
        total += w;
      }
      for (int c = 0; c < 3; c++)
        first[i * step].c[c] = sum.c[c] / total;
    }
  }
}

/* IEC 61966-2-1. */
static guint8
code_of (double light)
{
  light = CLAMP (light, 0.0, 1.0);
  const double code = light <= 0.0031308 ? 12.92 * light : 1.055 * pow (light, 1.0 / 2.4) - 0.055;
  return (guint8)lrint (255.0 * code);
}

static SceneImage *
take (const SceneLamp *lamp, Shade shade, const void *scene)
{
  g_autofree Light *plane = expose (lamp, shade, scene);
  blur (plane, lamp, FALSE);
  blur (plane, lamp, TRUE);
  SceneImage *image = g_new0 (SceneImage, 1);
  image->width = lamp->width;
  image->height = lamp->height;
  image->channels = 3;
  image->bits = 8;
  image->encoding = SCENE_SRGB;
  const gsize n = (gsize)lamp->width * lamp->height;
  image->data = g_malloc (3 * n);
  SceneRng rng;
  scene_rng_init (&rng, lamp->seed + 77);
  for (gsize i = 0; i < 3 * n; i++)
  {
    const double light = plane[i / 3].c[i % 3];
    const double sigma = lamp->noise * sqrt (MAX (light, 0.0) + 0.01);
    image->data[i] = code_of (light + sigma * scene_rng_normal (&rng));
  }
  return image;
}

/* Place in mm of a px, x to the right and y down, turned back by the roll. */
static ScenePoint
place_of (const SceneLamp *lamp, double x, double y, double cx, double cy)
{
  const double c = cos (lamp->roll_deg * G_PI / 180.0), s = sin (lamp->roll_deg * G_PI / 180.0);
  const double dx = (x - cx) * lamp->mm_per_px, dy = (y - cy) * lamp->mm_per_px;
  return (ScenePoint){ c * dx + s * dy, -s * dx + c * dy };
}

static Light
ground_at (const SceneLamp *lamp, double x, double y)
{
  return grey (lamp->ground * (1.0 + 0.1 * x / lamp->width - 0.08 * y / lamp->height));
}

/* --- The blade's flank ------------------------------------------------------- */

static const Light wood = { { 1.0, 0.66, 0.36 } };

static Light
part_of (Light tint, double part)
{
  for (int c = 0; c < 3; c++)
    tint.c[c] = 1.0 - part * (1.0 - tint.c[c]);
  return tint;
}

static Light
cover_tint (const SceneFace *face, double along, double depth)
{
  static const Light blue = { { 0.12, 0.3, 0.75 } }, gold = { { 0.85, 0.62, 0.2 } },
                     coolant = { { 0.95, 0.88, 0.55 } };
  switch (face->cover)
  {
  case SCENE_BLUE_COATING:
    return blue;
  case SCENE_GOLD_COATING:
    return gold;
  case SCENE_BLUE_PAINT:
    return along > 0.3 && along < 0.6 && depth < 0.2 * face->width ? blue : grey (1.0);
  case SCENE_COOLANT:
    return part_of (coolant,
                    CLAMP ((0.16 - hypot (along - 0.5, depth / face->width)) / 0.02, 0.0, 1.0));
  case SCENE_WOOD:
    return part_of (wood, 0.6 * MAX (1.0 - depth / (0.15 * face->width), 0.0));
  case SCENE_BARE:
  case SCENE_N_COVERS:
    break;
  }
  return grey (1.0);
}

/* Two columns of patches on a black card, px of the picture. */
#define CARD_X 20.0
#define CARD_Y 250.0
#define PATCH 46.0
#define GAP 6.0

static gboolean
on_card (const SceneFace *face, double x, double y, Light *light)
{
  static const Light patches[6][2] = {
    { { { 0.03, 0.03, 0.03 } }, { { 0.02, 0.24, 0.40 } } },
    { { { 0.09, 0.09, 0.09 } }, { { 0.45, 0.08, 0.28 } } },
    { { { 0.18, 0.18, 0.18 } }, { { 0.72, 0.52, 0.03 } } },
    { { { 0.36, 0.36, 0.36 } }, { { 0.05, 0.08, 0.32 } } },
    { { { 0.59, 0.59, 0.59 } }, { { 0.07, 0.30, 0.08 } } },
    { { { 0.80, 0.80, 0.80 } }, { { 0.42, 0.05, 0.05 } } },
  };
  const double u = x - CARD_X, v = y - CARD_Y, step = PATCH + GAP;
  if (!face->card || u < 0.0 || v < 0.0 || u > 2.0 * step + GAP || v > 6.0 * step + GAP)
    return FALSE;
  const double i = floor (u / step), j = floor (v / step);
  const gboolean on_patch = u - i * step > GAP && v - j * step > GAP && i < 2.0 && j < 6.0;
  *light = on_patch ? patches[(int)j][(int)i] : grey (0.015);
  return TRUE;
}

static Light
shade_face (const void *scene, double x, double y)
{
  const SceneFace *face = scene;
  const SceneLamp *lamp = &face->lamp;
  const ScenePoint p = place_of (lamp, x, y, 0.5 * (lamp->width - 1.0), 0.5 * (lamp->height - 1.0));
  /* The edge lies a quarter of the picture's height above its middle. */
  const double depth = p.y + 0.25 * lamp->height * lamp->mm_per_px;
  Light card;
  if (on_card (face, x, y, &card))
    return card;
  const double half = 0.5 * face->width - MAX (depth, 0.0) * tan (face->taper_deg * G_PI / 180.0);
  if (depth < 0.0 || fabs (p.x) > half)
    return times (ground_at (lamp, x, y), face->cover == SCENE_WOOD ? wood : grey (1.0));
  const double along = 0.5 + p.x / face->width;
  double light = lamp->steel * (1.0 + lamp->streaks * streak (lamp->seed, p.x / 0.04));
  const double land = face->land + face->land_wave * sin (9.0 * along);
  if (face->land > 0.0 && depth < land)
    light *= face->land_light;
  return times (times (grey (light), heat_tint (&face->heat, lamp->seed, along, depth)),
                cover_tint (face, along, depth));
}

SceneImage *
scene_render_face (const SceneFace *face)
{
  return take (&face->lamp, shade_face, face);
}

/* --- The drill's point from the end ------------------------------------------- */

/* Frame: t along lip a, n square to it toward its flute; half a turn maps lip a onto b. */
static gboolean
in_flute (const SceneEnd *end, double t, double n, double R)
{
  const double before = MAX (0.12 * R - t, 0.0);
  return n > 0.5 * end->web + 1.1 * before * before / R;
}

static gboolean
in_margin (const SceneEnd *end, double t, double n, double R)
{
  /* Behind the corner, into the flank: n falls as the angle grows. */
  const double corner = asin (0.5 * end->web / R);
  const double behind = (corner - atan2 (n, t)) * 180.0 / G_PI;
  return behind >= -0.5 && behind <= end->margin_deg;
}

static Light
shade_end (const void *scene, double x, double y)
{
  const SceneEnd *end = scene;
  const SceneLamp *lamp = &end->lamp;
  const ScenePoint p = place_of (lamp, x, y, 0.48 * lamp->width, 0.51 * lamp->height);
  const double R = 0.5 * end->diameter, r = hypot (p.x, p.y);
  if (r > R)
    return ground_at (lamp, x, y);
  double t = p.x, n = end->left_hand ? p.y : -p.y;
  const double swirl = 1.0 + 0.15 * streak (lamp->seed + 5, r / 0.3);
  if (in_flute (end, t, n, R) || in_flute (end, -t, -n, R))
    return grey (0.25 * lamp->steel * swirl);
  if (r > 0.97 * R && !in_margin (end, t, n, R) && !in_margin (end, -t, -n, R))
    return grey (0.3 * lamp->steel);
  /* The chisel edge runs at the acute angle to the lip. */
  const double acute = (180.0 - end->chisel_deg) * G_PI / 180.0;
  const gboolean on_a = t * sin (acute) - n * cos (acute) > 0.0;
  const double depth = on_a ? 0.5 * end->web - n : 0.5 * end->web + n;
  const double along = fabs (t) / R;
  double light = (on_a ? end->flank_a : end->flank_b) *
                 (1.0 + lamp->streaks * streak (lamp->seed, (on_a ? n : -n) / 0.05));
  if (end->land > 0.0 && depth < end->land)
    light = MAX (end->flank_a, end->flank_b) * end->land_light;
  return times (grey (light), heat_tint (&end->heat, lamp->seed, along, depth));
}

SceneImage *
scene_render_end (const SceneEnd *end)
{
  return take (&end->lamp, shade_end, end);
}

/* --- Whole scenes -------------------------------------------------------------- */

static void
random_lamp (SceneRng *rng, guint64 seed, SceneLamp *lamp)
{
  *lamp = (SceneLamp){ .width = 800, .height = 600, .seed = seed };
  lamp->blur_px = scene_rng_uniform (rng, 0.6, 1.3);
  lamp->noise = scene_rng_uniform (rng, 0.003, 0.012);
  lamp->ground = scene_rng_uniform (rng, 0.02, 0.12);
  lamp->steel = scene_rng_uniform (rng, 0.35, 0.6);
  lamp->streaks = scene_rng_uniform (rng, 0.03, 0.12);
  const double warm = scene_rng_uniform (rng, -0.06, 0.06);
  lamp->lamp[0] = 1.0 + warm;
  lamp->lamp[1] = 1.0;
  lamp->lamp[2] = 1.0 - warm;
}

static void
random_heat (SceneRng *rng, guint64 seed, double width, SceneHeat *heat)
{
  SceneRng border; /* of its own, so that scenes keep what else they had */
  scene_rng_init (&border, seed + 4711);
  heat->uneven = scene_rng_uniform (&border, 0.0, 0.12);
  heat->bend = scene_rng_uniform (&border, 1.0, 1.4);
  heat->depth = scene_rng_uniform (rng, 0.12, 0.3) * width;
  heat->hottest = scene_rng_uniform (rng, 0.3, 1.0);
  heat->from = scene_rng_uniform (rng, 0.1, 0.4);
  heat->to = heat->from + scene_rng_uniform (rng, 0.3, 0.5);
}

void
scene_random_face (guint64 seed, SceneFace *face)
{
  SceneRng rng;
  scene_rng_init (&rng, seed);
  *face = (SceneFace){ .cover = SCENE_BARE, .land_light = 1.0 };
  random_lamp (&rng, seed, &face->lamp);
  face->width = scene_rng_uniform (&rng, 2.0, 5.0);
  face->taper_deg = scene_rng_uniform (&rng, 0.5, 2.5);
  face->lamp.mm_per_px = face->width / scene_rng_uniform (&rng, 240.0, 380.0);
  face->lamp.roll_deg = scene_rng_uniform (&rng, -6.0, 6.0) + 90.0 * (double)(seed % 4);
  if (seed % 4 % 2 == 1)
  {
    const guint width = face->lamp.width;
    face->lamp.width = face->lamp.height;
    face->lamp.height = width;
  }
  if (seed % 2 == 0)
    random_heat (&rng, seed, face->width, &face->heat);
  if (seed % 3 == 0)
  {
    face->land = scene_rng_uniform (&rng, 0.03, 0.1) * face->width;
    face->land_wave = 0.15 * face->land;
    face->land_light = scene_rng_uniform (&rng, 1.4, 2.2);
  }
}

void
scene_random_end (guint64 seed, SceneEnd *end)
{
  SceneRng rng;
  scene_rng_init (&rng, seed);
  *end = (SceneEnd){ .land_light = 1.0 };
  random_lamp (&rng, seed, &end->lamp);
  end->diameter = scene_rng_uniform (&rng, 4.0, 16.0);
  end->web = scene_rng_uniform (&rng, 0.13, 0.2) * end->diameter;
  end->chisel_deg = scene_rng_uniform (&rng, 115.0, 132.0);
  end->margin_deg = scene_rng_uniform (&rng, 8.0, 14.0);
  end->left_hand = seed % 5 == 0;
  end->lamp.mm_per_px = end->diameter / scene_rng_uniform (&rng, 400.0, 520.0);
  end->lamp.roll_deg = scene_rng_uniform (&rng, 0.0, 360.0);
  end->flank_a = end->lamp.steel * scene_rng_uniform (&rng, 1.0, 1.3);
  end->flank_b = end->flank_a * scene_rng_uniform (&rng, 0.6, 0.85);
  if (seed % 2 == 0)
    random_heat (&rng, seed, 0.4 * end->diameter, &end->heat);
}

static char *
number (double value)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  return g_strdup (g_ascii_dtostr (text, sizeof text, value));
}

double
scene_face_land_mean (const SceneFace *face)
{
  return face->land > 0.0 ? face->land + face->land_wave * (1.0 - cos (9.0)) / 9.0 : 0.0;
}

char *
scene_face_json (const char *file, const SceneFace *face)
{
  g_autofree char *scale = number (face->lamp.mm_per_px);
  g_autofree char *land = number (scene_face_land_mean (face));
  g_autofree char *typical = number (face->heat.depth);
  g_autofree char *burn = number (scene_heat_greatest (&face->heat, face->lamp.seed));
  g_autofree char *width = number (face->width);
  return g_strdup_printf (
    "{\"file\": \"%s\", \"view\": \"blade-face\", \"mm_per_px\": %s, "
    "\"width_mm\": %s, \"truth\": {\"wear_land_mean_mm\": %s, \"burn_depth_max_mm\": %s, "
    "\"burn_depth_typical_mm\": %s}}",
    file, scale, width, land, burn, typical);
}

char *
scene_end_json (const char *file, const SceneEnd *end)
{
  g_autofree char *scale = number (end->lamp.mm_per_px);
  g_autofree char *diameter = number (end->diameter), *web = number (end->web);
  g_autofree char *chisel = number (end->chisel_deg);
  g_autofree char *typical = number (end->heat.depth);
  g_autofree char *burn = number (scene_heat_greatest (&end->heat, end->lamp.seed));
  return g_strdup_printf (
    "{\"file\": \"%s\", \"view\": \"drill-end\", \"mm_per_px\": %s, \"diameter_mm\": %s, "
    "\"truth\": {\"web_thickness_mm\": %s, \"chisel_edge_angle_deg\": %s, \"burn_depth_max_mm\": "
    "%s, "
    "\"burn_depth_typical_mm\": %s}}",
    file, scale, diameter, web, chisel, burn, typical);
}
