#include "burr.h"
#include "side.h"

#include <math.h>

/* A number between 0 and 1 for every whole number, the same each time. */
static double
knot (guint64 seed, gint64 k)
{
  guint64 z = seed + (guint64)k * G_GUINT64_CONSTANT (0x9e3779b97f4a7c15);
  z = (z ^ (z >> 30)) * G_GUINT64_CONSTANT (0xbf58476d1ce4e5b9);
  z = (z ^ (z >> 27)) * G_GUINT64_CONSTANT (0x94d049bb133111eb);
  return (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

/* Goes from knot to knot, a unit apart. */
static double
wander (guint64 seed, double x)
{
  const double k = floor (x), t = x - k;
  const double a = knot (seed, (gint64)k), b = knot (seed, (gint64)k + 1);
  return a + (b - a) * t * t * (3.0 - 2.0 * t);
}

/* 0 to 1, up from nothing at both ends. */
static double
ends (const SceneBurr *burr, double place)
{
  const double t = (place - burr->from) / (burr->to - burr->from);
  if (!(t > 0.0 && t < 1.0))
    return 0.0;
  const double e = MAX (burr->taper, 1e-6);
  /* At the corner it breaks off square. */
  const double out = burr->to >= 1.0 ? 1.0 : MIN (1.0, (1.0 - t) / e);
  const double both = MIN (1.0, t / e) * out;
  return both * both * (3.0 - 2.0 * both);
}

double
burr_height (const SceneBurr *burr, double radius, double place)
{
  const double along = place * radius / burr->grain;
  if (burr->rolled)
    return burr->height * ends (burr, place) * (0.6 + 0.4 * wander (burr->seed, along));
  const double torn =
    0.65 * wander (burr->seed, along) + 0.35 * wander (burr->seed + 1, 3.1 * along);
  return burr->height * ends (burr, place) * MAX (0.0, 1.35 * torn - 0.25);
}

double
side_raise_burr (GArray *side, const LipLine *line, double radius, const SceneBurr *burr)
{
  if (!(burr->height > 0.0))
    return 0.0;
  const double s = sin (line->half_angle), c = cos (line->half_angle),
               low = line->corner_z - 0.02 * radius;
  side_densify (side, low, MIN (0.002 * radius, 0.2 * burr->grain));
  double greatest = 0.0;
  for (guint i = 0; i < side->len; i++)
  {
    ScenePoint *p = &g_array_index (side, ScenePoint, i);
    /* Along the lip, from the corner toward the axis. */
    const double along = -s * (p->x - radius) + c * (p->y - line->corner_z);
    const double place = 1.0 - along * s / radius;
    if (p->y < low || place > 1.0)
      continue;
    const double height = burr_height (burr, radius, place);
    greatest = MAX (greatest, height);
    p->x += c * height;
    p->y += s * height;
  }
  return greatest;
}
