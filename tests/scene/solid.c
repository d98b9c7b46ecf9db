/*
 * A solid drill with two equal helical flutes.
 *
 * Flute face: D. F. Galloway, "Some experiments on the influence of various factors on
 * drill performance", Trans. ASME 79 (1957): the face is made so that a lip ground at the
 * design half angle is straight.  At height z = -s cot(kappa) that lip is at (s, w), and
 * the section there is the one at z = 0 turned by z tan(beta) / R, hence
 *   phi = atan (w / s) + s tan(beta) cot(kappa) / R,  r^2 = s^2 + w^2.
 *
 * Flank: a plane through the lip that falls behind it, or a cone.  The cone's generator is
 * parallel to the lip; its apex lies beyond the axis and ahead of the lip, so that the
 * surface falls behind the lip, more steeply near the axis (as the usual cone grinding
 * does, which makes the chisel edge stand at 120 to 135 degrees).
 */
#include "solid.h"

#include <math.h>

/* Finest step along the section, radii: a chord misses the arc by R step^2 / 8. */
#define STEP 0.0025
#define N_FACE 500
#define N_LIP 200

/* --- Section ------------------------------------------------------------- */

static void
add_point (GArray *points, double x, double y)
{
  const ScenePoint p = { x, y };
  g_array_append_val (points, p);
}

/* Points of an arc but for its last one. */
static void
add_arc (GArray *points, ScenePoint centre, double radius, double from, double to, double step)
{
  const int n = MAX (2, (int)ceil (fabs (to - from) * radius / step));
  for (int i = 0; i < n; i++)
  {
    const double t = from + (to - from) * i / n;
    add_point (points, centre.x + radius * cos (t), centre.y + radius * sin (t));
  }
}

static void
add_face (GArray *points, const Solid *solid)
{
  const double w = solid->half_web;
  const double s_max = sqrt (solid->radius * solid->radius - w * w);
  for (int i = 0; i < N_FACE; i++)
  {
    const double s = s_max * (N_FACE - i) / N_FACE;
    const double phi = atan2 (w, s) + s * solid->twist * solid->design_cot;
    add_point (points, hypot (s, w) * cos (phi), hypot (s, w) * sin (phi));
  }
}

/* From the foot of the face along the web, then by an arc that leaves the web's circle
 * smoothly, to the next land's heel. */
static void
add_flute_back (GArray *points, const Solid *solid, double heel_radius, double heel)
{
  const double w = solid->half_web;
  const double leave = G_PI / 2 + 0.2 * (heel - G_PI / 2);
  const ScenePoint axis = { 0.0, 0.0 };
  add_arc (points, axis, w, G_PI / 2, leave, STEP * solid->radius);
  const ScenePoint n = { cos (leave), sin (leave) };
  const ScenePoint d = { heel_radius * cos (heel) - w * n.x, heel_radius * sin (heel) - w * n.y };
  const double radius = (d.x * d.x + d.y * d.y) / (2.0 * (n.x * d.x + n.y * d.y));
  const ScenePoint centre = { (w + radius) * n.x, (w + radius) * n.y };
  const double from = leave - G_PI;
  double to = atan2 (heel_radius * sin (heel) - centre.y, heel_radius * cos (heel) - centre.x);
  while (to > from)
    to -= 2.0 * G_PI;
  add_arc (points, centre, radius, from, to, STEP * solid->radius);
}

static void
make_section (Solid *solid, const SceneDrill *drill)
{
  g_autoptr (GArray) points = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  const ScenePoint axis = { 0.0, 0.0 };
  const double R = solid->radius;
  const double Rc = R - drill->clearance;
  const double lead =
    atan2 (solid->half_web, sqrt (R * R - solid->half_web * solid->half_web)) +
    sqrt (R * R - solid->half_web * solid->half_web) * solid->twist * solid->design_cot;
  const double heel = lead - drill->land_deg * SCENE_DEG;
  const double margin = lead - drill->margin / R;
  add_arc (points, axis, Rc, heel, margin, STEP * R);
  add_point (points, Rc * cos (margin), Rc * sin (margin));
  add_arc (points, axis, R, margin, lead, STEP * R);
  add_face (points, solid);
  add_flute_back (points, solid, Rc, heel + G_PI);
  const guint half = points->len;
  for (guint i = 0; i < half; i++)
  {
    const ScenePoint p = g_array_index (points, ScenePoint, i);
    add_point (points, -p.x, -p.y);
  }
  solid->n_section = points->len;
  solid->section = (ScenePoint *)g_array_free (g_steal_pointer (&points), FALSE);
}

ScenePoint
solid_turn (const Solid *solid, ScenePoint p, double z)
{
  const double c = cos (z * solid->twist + solid->phase);
  const double s = sin (z * solid->twist + solid->phase);
  const ScenePoint turned = { p.x * c - p.y * s, p.x * s + p.y * c };
  return turned;
}

/* Several points side by side: each waits for its own least and greatest alone. */
#define SIDE_BY_SIDE 4

void
solid_reach (const Solid *solid, double c, double s, double *left, double *right)
{
  double least[SIDE_BY_SIDE], most[SIDE_BY_SIDE];
  for (gsize k = 0; k < SIDE_BY_SIDE; k++)
  {
    least[k] = G_MAXDOUBLE;
    most[k] = -G_MAXDOUBLE;
  }
  for (gsize i = 0; i < solid->n_section; i += SIDE_BY_SIDE)
  {
    /* The last ones are looked at again. */
    const ScenePoint *p = solid->section + MIN (i, solid->n_section - SIDE_BY_SIDE);
    for (gsize k = 0; k < SIDE_BY_SIDE; k++)
    {
      const double u = p[k].x * c - p[k].y * s;
      least[k] = MIN (least[k], u);
      most[k] = MAX (most[k], u);
    }
  }
  *left = MIN (MIN (least[0], least[1]), MIN (least[2], least[3]));
  *right = MAX (MAX (most[0], most[1]), MAX (most[2], most[3]));
}

static gboolean
in_section (const Solid *solid, ScenePoint p)
{
  gboolean in = FALSE;
  for (gsize i = 0, j = solid->n_section - 1; i < solid->n_section; j = i++)
  {
    const ScenePoint a = solid->section[i];
    const ScenePoint b = solid->section[j];
    if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y))
      in = !in;
  }
  return in;
}

gboolean
solid_contains (const Solid *solid, Vec3 p)
{
  if (p.z > solid_top (solid, p.x, p.y))
    return FALSE;
  const double t = -(p.z * solid->twist + solid->phase);
  const ScenePoint back = { p.x * cos (t) - p.y * sin (t), p.x * sin (t) + p.y * cos (t) };
  return in_section (solid, back);
}

/* --- Flanks -------------------------------------------------------------- */

/* Height of a cone's lower nappe: (p - apex) . u = |p - apex| cos(theta), quadratic in z.
 * The downward direction lies inside the cone, so each (x, y) has one such height. */
static double
cone_height (const Flank *flank, double x, double y)
{
  const double dx = x - flank->apex.x;
  const double dy = y - flank->apex.y;
  const double a = flank->axis_z * flank->axis_z - flank->cos2;
  const double b = dx * flank->axis_x * flank->axis_z;
  const double c = dx * dx * (flank->axis_x * flank->axis_x - flank->cos2) - dy * dy * flank->cos2;
  return flank->apex.z + (-b - sqrt (MAX (b * b - a * c, 0.0))) / a;
}

double
solid_flank_height (const Solid *solid, int lip, double x, double y)
{
  const Flank *flank = &solid->flank[lip];
  const double sign = lip == LIP_B ? 1.0 : -1.0;
  if (solid->cone_distance > 0.0)
    return cone_height (flank, sign * x, sign * y);
  return flank->corner_z + (solid->radius - sign * x) / tan (flank->half_angle) +
         (sign * y - solid->half_web) * solid->relief;
}

/* Puts the cone where its surface passes over (R, w) at corner_z. */
static void
place_flank (const Solid *solid, Flank *flank)
{
  if (!(solid->cone_distance > 0.0))
    return;
  const double theta = solid->cone_share * flank->half_angle;
  const double chi = flank->half_angle - theta;
  const double rho = solid->cone_distance + solid->radius / sin (flank->half_angle);
  flank->axis_x = sin (chi);
  flank->axis_z = -cos (chi);
  flank->cos2 = cos (theta) * cos (theta);
  flank->apex.x = solid->radius - rho * sin (flank->half_angle);
  flank->apex.y = solid->half_web + solid->relief * rho * tan (theta) * sin (flank->half_angle);
  flank->apex.z = 0.0;
  flank->apex.z = flank->corner_z - cone_height (flank, solid->radius, solid->half_web);
}

double
solid_top (const Solid *solid, double x, double y)
{
  return MIN (solid_flank_height (solid, LIP_A, x, y), solid_flank_height (solid, LIP_B, x, y));
}

/* --- Edges --------------------------------------------------------------- */

/* How far the flank lies above the point of the section when that is at height z. */
static double
above (const Solid *solid, int lip, ScenePoint base, double z)
{
  const ScenePoint q = solid_turn (solid, base, z);
  return solid_flank_height (solid, lip, q.x, q.y) - z;
}

Vec3
solid_lip_point (const Solid *solid, int lip, double s)
{
  const double sign = lip == LIP_B ? 1.0 : -1.0;
  const double r = hypot (s, solid->half_web);
  const double phi = atan2 (solid->half_web, s) + s * solid->twist * solid->design_cot;
  const ScenePoint base = { sign * r * cos (phi), sign * r * sin (phi) };
  /* Secant rule; the flank's height changes little as the section turns. */
  double z0 = -s * solid->design_cot;
  double f0 = above (solid, lip, base, z0);
  double z1 = z0 + f0;
  for (int i = 0; i < 20 && fabs (z1 - z0) > 1e-14 * solid->radius; i++)
  {
    const double f1 = above (solid, lip, base, z1);
    const double rise = (f1 - f0) / (z1 - z0);
    z0 = z1;
    f0 = f1;
    if (!(fabs (rise) > 0.0))
      break;
    z1 -= f1 / rise;
  }
  const ScenePoint q = solid_turn (solid, base, z1);
  const Vec3 p = { q.x, q.y, z1 };
  return p;
}

double
solid_lip_start (const Solid *solid, int lip)
{
  double low = 0.0;
  double high = 0.5 * solid->radius;
  for (int i = 0; i < 60; i++)
  {
    const double s = 0.5 * (low + high);
    const Vec3 p = solid_lip_point (solid, lip, s);
    if (solid_flank_height (solid, 1 - lip, p.x, p.y) < p.z)
      low = s;
    else
      high = s;
  }
  return high;
}

Vec3
solid_chisel_point (const Solid *solid, double y)
{
  double low = -solid->radius;
  double high = solid->radius;
  for (int i = 0; i < 60; i++)
  {
    const double x = 0.5 * (low + high);
    if (solid_flank_height (solid, LIP_A, x, y) < solid_flank_height (solid, LIP_B, x, y))
      low = x;
    else
      high = x;
  }
  const Vec3 p = { high, y, solid_top (solid, high, y) };
  return p;
}

double
solid_growth (const SolidView *view, Vec3 p)
{
  const double depth = p.x * sin (view->turn) + p.y * cos (view->turn);
  const double nearer = p.z * sin (view->tilt) - depth * cos (view->tilt);
  return view->distance / (view->distance - nearer);
}

ScenePoint
solid_view (const SolidView *view, Vec3 p)
{
  const double depth = p.x * sin (view->turn) + p.y * cos (view->turn);
  ScenePoint q = { p.x * cos (view->turn) - p.y * sin (view->turn),
                   p.z * cos (view->tilt) + depth * sin (view->tilt) };
  if (view->distance > 0.0)
  {
    const double growth = solid_growth (view, p);
    q.x = view->foot.x + (q.x - view->foot.x) * growth;
    q.y = view->foot.y + (q.y - view->foot.y) * growth;
  }
  return q;
}

/* With y the upright part of a point and h how much nearer it is,
 * (y - foot) distance = (v - foot) (distance - h), linear in z and depth. */
SolidLean
solid_lean (const SolidView *view, double v)
{
  const double slope = view->distance > 0.0 ? (v - view->foot.y) / view->distance : 0.0;
  const SolidLean lean = { cos (view->tilt) + slope * sin (view->tilt),
                           sin (view->tilt) - slope * cos (view->tilt) };
  return lean;
}

Vec3
solid_eye (const SolidView *view)
{
  const double st = sin (view->turn), ct = cos (view->turn);
  const double sp = sin (view->tilt), cp = cos (view->tilt);
  const double depth = view->foot.y * sp - view->distance * cp;
  const Vec3 eye = { view->foot.x * ct + depth * st, -view->foot.x * st + depth * ct,
                     view->foot.y * cp + view->distance * sp };
  return eye;
}

/* --- Lip line ------------------------------------------------------------ */

static double
lip_parameter_at (const Solid *solid, int lip, double distance)
{
  double low = 0.0;
  double high = solid->radius;
  for (int i = 0; i < 50; i++)
  {
    const double s = 0.5 * (low + high);
    if (fabs (solid_lip_point (solid, lip, s).x) < distance)
      low = s;
    else
      high = s;
  }
  return 0.5 * (low + high);
}

typedef struct
{
  ScenePoint p[N_LIP + 1];
  double weight[N_LIP + 1];
} LipSample;

static void
sample_lip (const Solid *solid, int lip, const SolidView *view, LipSample *sample)
{
  const double from = lip_parameter_at (solid, lip, 0.24 * solid->radius);
  const double to = lip_parameter_at (solid, lip, 0.90 * solid->radius);
  for (int i = 0; i <= N_LIP; i++)
  {
    const Vec3 p = solid_lip_point (solid, lip, from + (to - from) * i / N_LIP);
    sample->p[i] = solid_view (view, p);
    if (lip == LIP_A)
      sample->p[i].x = -sample->p[i].x;
    sample->weight[i] = 0.0;
  }
  for (int i = 0; i < N_LIP; i++)
  {
    const double d =
      hypot (sample->p[i + 1].x - sample->p[i].x, sample->p[i + 1].y - sample->p[i].y);
    sample->weight[i] += 0.5 * d;
    sample->weight[i + 1] += 0.5 * d;
  }
}

/* K. Pearson 1901: the line through the centroid along the greater principal axis. */
static void
fit_line (const LipSample *sample, ScenePoint *middle, double *direction)
{
  double sw = 0.0, sx = 0.0, sy = 0.0;
  for (int i = 0; i <= N_LIP; i++)
  {
    sw += sample->weight[i];
    sx += sample->weight[i] * sample->p[i].x;
    sy += sample->weight[i] * sample->p[i].y;
  }
  middle->x = sx / sw;
  middle->y = sy / sw;
  double xx = 0.0, xy = 0.0, yy = 0.0;
  for (int i = 0; i <= N_LIP; i++)
  {
    const double dx = sample->p[i].x - middle->x;
    const double dy = sample->p[i].y - middle->y;
    xx += sample->weight[i] * dx * dx;
    xy += sample->weight[i] * dx * dy;
    yy += sample->weight[i] * dy * dy;
  }
  *direction = 0.5 * atan2 (2.0 * xy, xx - yy);
}

LipLine
solid_lip_line (const Solid *solid, int lip, const SolidView *view)
{
  g_autofree LipSample *sample = g_new (LipSample, 1);
  sample_lip (solid, lip, view, sample);
  ScenePoint middle;
  double direction;
  fit_line (sample, &middle, &direction);
  double low = 0.0, high = 0.0;
  for (int i = 0; i <= N_LIP; i++)
  {
    const double n =
      (sample->p[i].y - middle.y) * cos (direction) - (sample->p[i].x - middle.x) * sin (direction);
    low = MIN (low, n);
    high = MAX (high, n);
  }
  const LipLine line = { G_PI / 2 + direction,
                         middle.y + (solid->radius - middle.x) * tan (direction), high - low,
                         MAX (high, -low) };
  return line;
}

/* --- Grinding ------------------------------------------------------------ */

/* Turns the flutes so that both lips, on average, lie across x. */
static double
lips_direction (const Solid *solid)
{
  double sum = 0.0;
  for (int lip = 0; lip < N_LIPS; lip++)
  {
    const Vec3 p = solid_lip_point (solid, lip, 0.24 * solid->radius);
    const Vec3 q = solid_lip_point (solid, lip, 0.90 * solid->radius);
    const double sign = lip == LIP_B ? 1.0 : -1.0;
    sum += 0.5 * atan2 (sign * (q.y - p.y), sign * (q.x - p.x));
  }
  return sum;
}

/* A cone's lip, or one not at the design angle, is no straight line along the generator:
 * move the wheel until the lip line is as asked. */
static void
grind (Solid *solid, const double half_angle[N_LIPS], const double corner_z[N_LIPS])
{
  const SolidView square = { 0 };
  for (int lip = 0; lip < N_LIPS; lip++)
  {
    solid->flank[lip].half_angle = half_angle[lip];
    solid->flank[lip].corner_z = corner_z[lip];
    place_flank (solid, &solid->flank[lip]);
  }
  double change = 1.0;
  for (int round = 0; round < 12 && change > 1e-9; round++)
  {
    solid->phase -= lips_direction (solid);
    change = 0.0;
    for (int lip = 0; lip < N_LIPS; lip++)
    {
      const LipLine line = solid_lip_line (solid, lip, &square);
      solid->flank[lip].half_angle += half_angle[lip] - line.half_angle;
      solid->flank[lip].corner_z += corner_z[lip] - line.corner_z;
      place_flank (solid, &solid->flank[lip]);
      change = MAX (change, fabs (half_angle[lip] - line.half_angle));
    }
  }
}

/* Lips at h + (R -+ x) cot(kappa) meet at x0 when
 *   h_a - h_b = R (cot b - cot a) - x0 (cot a + cot b);
 * unequal angles alone are ground with level corners. */
void
solid_init (Solid *solid, const SceneDrill *drill)
{
  const double R = 0.5 * drill->diameter;
  solid->radius = R;
  solid->half_web = 0.5 * drill->web;
  solid->twist = tan (drill->helix_deg * SCENE_DEG) / R;
  solid->phase = 0.0;
  solid->design_cot = 1.0 / tan (drill->design_half_angle * SCENE_DEG);
  solid->relief = tan (drill->relief_deg * SCENE_DEG);
  solid->cone_distance = drill->cone_distance * R;
  solid->cone_share = drill->cone_share;
  make_section (solid, drill);

  const double a = drill->half_angle_a * SCENE_DEG;
  const double b = drill->half_angle_b * SCENE_DEG;
  const double cots = 1.0 / tan (a) + 1.0 / tan (b);
  const double difference = drill->height - drill->offset * cots;
  const double level = -0.5 * R * cots;
  const int lip_a = drill->left_hand ? LIP_B : LIP_A;
  double half_angle[N_LIPS], corner_z[N_LIPS];
  half_angle[lip_a] = a;
  half_angle[1 - lip_a] = b;
  corner_z[lip_a] = level + 0.5 * difference;
  corner_z[1 - lip_a] = level - 0.5 * difference;
  grind (solid, half_angle, corner_z);
}

void
solid_clear (Solid *solid)
{
  g_clear_pointer (&solid->section, g_free);
}
