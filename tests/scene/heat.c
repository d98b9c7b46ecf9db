/* Stains on finished pictures. */
#include "heat.h"

#include <math.h>

/* Reflectance under heat's film, part of bare steel's, from faint straw to grey blue: by eye after
 * printed charts of temper colours. */
static const double film[][4] = {
  { 0.00, 1.00, 1.00, 1.00 }, { 0.10, 0.97, 0.93, 0.80 }, { 0.25, 0.88, 0.72, 0.40 },
  { 0.40, 0.66, 0.40, 0.16 }, { 0.50, 0.40, 0.15, 0.17 }, { 0.58, 0.22, 0.08, 0.26 },
  { 0.68, 0.09, 0.10, 0.42 }, { 0.80, 0.10, 0.25, 0.60 }, { 0.92, 0.30, 0.50, 0.70 },
  { 1.00, 0.45, 0.58, 0.66 },
};

void
scene_film_tint (double t, double tint[3])
{
  gsize i = 1;
  t = CLAMP (t, 0.0, 1.0);
  while (i + 1 < G_N_ELEMENTS (film) && film[i][0] < t)
    i++;
  const double part = (t - film[i - 1][0]) / (film[i][0] - film[i - 1][0]);
  for (int c = 0; c < 3; c++)
    tint[c] = film[i - 1][c + 1] + part * (film[i][c + 1] - film[i - 1][c + 1]);
}

/* IEC 61966-2-1 and back. */
static double
light_of (guint8 byte)
{
  const double code = byte / 255.0;
  return code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4);
}

static guint8
byte_of (double light)
{
  light = CLAMP (light, 0.0, 1.0);
  const double code = light <= 0.0031308 ? 12.92 * light : 1.055 * pow (light, 1.0 / 2.4) - 0.055;
  return (guint8)lrint (255.0 * code);
}

/* How much of a pixel is tool. */
static double
tool_part (const SceneImage *image, const SceneStain *stain, guint x, guint y)
{
  const guint8 *at = (const guint8 *)image->data + 3 * ((gsize)y * image->width + x);
  return CLAMP ((stain->ground - light_of (at[1])) / (stain->ground - stain->tool), 0.0, 1.0);
}

/* Where ground meets tool, of ScenePoint, within `most` px of a place. */
static GArray *
rim_of (const SceneImage *image, const SceneStain *stain, guint row, double most)
{
  GArray *rim = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  for (guint y = 0; y + 1 < image->height; y++)
    for (guint x = 0; x + 1 < image->width; x++)
    {
      if (hypot ((double)x - stain->column, (double)y - row) > most)
        continue;
      const double here = tool_part (image, stain, x, y),
                   next[2] = { tool_part (image, stain, x + 1, y),
                               tool_part (image, stain, x, y + 1) };
      for (int k = 0; k < 2; k++)
        if ((here < 0.5) != (next[k] < 0.5))
        {
          const double part = (0.5 - here) / (next[k] - here);
          const ScenePoint at = { k == 0 ? x + part : x, k == 1 ? y + part : y };
          g_array_append_val (rim, at);
        }
    }
  return rim;
}

static double
depth_of (const GArray *rim, guint x, guint y)
{
  double least = HUGE_VAL;
  for (guint i = 0; i < rim->len; i++)
  {
    const ScenePoint at = g_array_index (rim, ScenePoint, i);
    least = MIN (least, hypot (at.x - x, at.y - y));
  }
  return least;
}

static guint
edge_row (const SceneImage *image, const SceneStain *stain)
{
  guint y = 0;
  while (y + 1 < image->height && tool_part (image, stain, stain->column, y) < 0.5)
    y++;
  return y;
}

static void
tint_of (const SceneStain *stain, double depth, double inside, double tint[3])
{
  const double t = MIN (1.0 - depth / stain->depth, CLAMP (inside, 0.0, 1.0));
  if (stain->hottest > 0.0)
    scene_film_tint (stain->hottest * t, tint);
  else
    for (int c = 0; c < 3; c++)
      tint[c] = t > 0.0 ? stain->tint[c] : 1.0;
}

void
scene_stain (SceneImage *image, const SceneStain *stain)
{
  const guint row = edge_row (image, stain);
  const SceneImage before = { .width = image->width,
                              .height = image->height,
                              .data =
                                g_memdup2 (image->data, 3 * (gsize)image->width * image->height) };
  GArray *rim = rim_of (&before, stain, row, stain->radius + stain->depth);
  guint8 *data = image->data;
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
    {
      const double away = hypot ((double)x - stain->column, (double)y - row);
      const double part = away < stain->radius ? tool_part (&before, stain, x, y) : 0.0;
      if (part <= 0.0)
        continue;
      double tint[3];
      tint_of (stain, depth_of (rim, x, y), (stain->radius - away) / (0.2 * stain->radius), tint);
      for (int c = 0; c < 3; c++)
      {
        guint8 *byte = data + 3 * ((gsize)y * image->width + x) + c;
        *byte = byte_of (light_of (*byte) - part * stain->tool * (1.0 - tint[c]));
      }
    }
  g_array_unref (rim);
  g_free (before.data);
}
