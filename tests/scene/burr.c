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

/* Between the outermost places of a quarter of the greatest height, along the lip. */
static double
length_of (const LipLine *line, double radius, const SceneBurr *burr, const GArray *places,
           double greatest)
{
  double from = HUGE_VAL, to = -HUGE_VAL;
  for (guint i = 0; i < places->len; i++)
  {
    const double place = g_array_index (places, double, i);
    if (burr_height (burr, radius, place) < 0.25 * greatest)
      continue;
    from = MIN (from, place);
    to = MAX (to, place);
  }
  return to > from ? (to - from) * radius / sin (line->half_angle) : 0.0;
}

BurrTruth
side_raise_burr (GArray *side, const LipLine *line, double radius, const SceneBurr *burr)
{
  BurrTruth truth = { 0.0, 0.0 };
  if (!(burr->height > 0.0))
    return truth;
  const double s = sin (line->half_angle), c = cos (line->half_angle),
               low = line->corner_z - 0.02 * radius;
  side_densify (side, low, MIN (0.002 * radius, 0.2 * burr->grain));
  g_autoptr (GArray) places = g_array_new (FALSE, FALSE, sizeof (double));
  for (guint i = 0; i < side->len; i++)
  {
    ScenePoint *p = &g_array_index (side, ScenePoint, i);
    /* Along the lip, from the corner toward the axis. */
    const double along = -s * (p->x - radius) + c * (p->y - line->corner_z);
    const double place = 1.0 - along * s / radius;
    if (p->y < low || place > 1.0)
      continue;
    const double height = burr_height (burr, radius, place);
    truth.height = MAX (truth.height, height);
    g_array_append_val (places, place);
    p->x += c * height;
    p->y += s * height;
  }
  truth.length = length_of (line, radius, burr, places, truth.height);
  return truth;
}
