/* Meshes of the solid drill, and the depth buffer. */
#include "shade.h"

#include <math.h>
#include <string.h>

Vec3
shade_cross (Vec3 a, Vec3 b)
{
  return (Vec3){ a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x };
}

double
shade_dot (Vec3 a, Vec3 b)
{
  return a.x * b.x + a.y * b.y + a.z * b.z;
}

Vec3
shade_unit (Vec3 a)
{
  const double length = sqrt (shade_dot (a, a));
  return (Vec3){ a.x / length, a.y / length, a.z / length };
}

/* --- Inside the section? ------------------------------------------------------- */

#define N_BINS 4096

/* A little outwards, radii, so that no crack opens between meshes. */
#define SLACK 5e-5

/* A strip of the body's surface that runs along the helix. */
typedef struct
{
  ScenePoint a, b;   /* ends in the section at z = 0 */
  ScenePoint na, nb; /* outward normals there, in the section's plane */
  double from;       /* arc length at a, mm */
  ShadeRegion region;
} Strip;

struct ShadeModel
{
  const Solid *solid;
  double bottom, top;
  GArray *strips;  /* of Strip */
  guint *bin;      /* first edge of each sector, N_BINS + 1 */
  guint *bin_edge; /* edges of the section that lie in it */
};

static guint
bin_of (double x, double y)
{
  const double turn = atan2 (y, x) / (2.0 * G_PI);
  return (guint)MIN ((turn < 0.0 ? turn + 1.0 : turn) * N_BINS, N_BINS - 1.0);
}

/* Calls back for each sector that edge i of the section touches. */
static void
mark_bins (const Solid *solid, gsize i, guint *count, guint *edges, const guint *first)
{
  const ScenePoint a = solid->section[i], b = solid->section[(i + 1) % solid->n_section];
  guint from = bin_of (a.x, a.y), to = bin_of (b.x, b.y);
  if (a.x * b.y - a.y * b.x < 0.0)
  {
    const guint swap = from;
    from = to;
    to = swap;
  }
  for (guint k = from;; k = (k + 1) % N_BINS)
  {
    if (edges != NULL)
      edges[first[k] + count[k]] = (guint)i;
    count[k]++;
    if (k == to)
      break;
  }
}

static void
make_bins (ShadeModel *model)
{
  const Solid *solid = model->solid;
  g_autofree guint *count = g_new0 (guint, N_BINS);
  for (gsize i = 0; i < solid->n_section; i++)
    mark_bins (solid, i, count, NULL, NULL);
  model->bin = g_new0 (guint, N_BINS + 1);
  for (guint k = 0; k < N_BINS; k++)
    model->bin[k + 1] = model->bin[k] + count[k];
  model->bin_edge = g_new (guint, model->bin[N_BINS]);
  memset (count, 0, N_BINS * sizeof *count);
  for (gsize i = 0; i < solid->n_section; i++)
    mark_bins (solid, i, count, model->bin_edge, model->bin);
}

/* Outline crossings beyond p on the ray from the axis through it. */
static gboolean
in_section (const ShadeModel *model, ScenePoint p)
{
  const Solid *solid = model->solid;
  const double r = hypot (p.x, p.y);
  if (r < 0.5 * solid->half_web)
    return TRUE;
  const guint bin = bin_of (p.x, p.y);
  gboolean in = FALSE;
  for (guint k = model->bin[bin]; k < model->bin[bin + 1]; k++)
  {
    const gsize i = model->bin_edge[k];
    const ScenePoint a = solid->section[i], b = solid->section[(i + 1) % solid->n_section];
    const double ca = p.x * a.y - p.y * a.x, cb = p.x * b.y - p.y * b.x;
    if ((ca > 0.0) == (cb > 0.0))
      continue;
    const double t = ca / (ca - cb);
    const double along = (p.x * (a.x + t * (b.x - a.x)) + p.y * (a.y + t * (b.y - a.y))) / r;
    in ^= along > r - SLACK * solid->radius;
  }
  return in;
}

/* --- Strips of the body ------------------------------------------------------------ */

/* Longest strip, radii: its chord misses the arc by R w^2 / 8. */
#define STRIP_WIDTH 0.01

static ShadeRegion
region_between (const Solid *solid, double cleared, ScenePoint a, ScenePoint b)
{
  const double tiny = 1e-9 * solid->radius, ra = hypot (a.x, a.y), rb = hypot (b.x, b.y);
  const gboolean out_a = fabs (ra - solid->radius) < tiny, out_b = fabs (rb - solid->radius) < tiny;
  const gboolean in_a = fabs (ra - cleared) < tiny, in_b = fabs (rb - cleared) < tiny;
  if (out_a && out_b)
    return SHADE_MARGIN;
  if (in_a && in_b)
    return SHADE_LAND;
  return (in_a && out_b) || (out_a && in_b) ? SHADE_STEP : SHADE_FLUTE;
}

static ScenePoint
normal_of (ScenePoint a, ScenePoint b)
{
  const double length = hypot (b.x - a.x, b.y - a.y);
  return (ScenePoint){ (b.y - a.y) / length, -(b.x - a.x) / length };
}

/* The normals of neighbours in one region meet halfway. */
static void
smooth_normals (GArray *strips)
{
  for (guint i = 0; i < strips->len; i++)
  {
    Strip *one = &g_array_index (strips, Strip, i);
    Strip *next = &g_array_index (strips, Strip, (i + 1) % strips->len);
    if (one->region != next->region)
      continue;
    const double x = one->nb.x + next->na.x, y = one->nb.y + next->na.y;
    const ScenePoint middle = { x / hypot (x, y), y / hypot (x, y) };
    one->nb = next->na = middle;
  }
}

static void
make_strips (ShadeModel *model)
{
  const Solid *solid = model->solid;
  model->strips = g_array_new (FALSE, FALSE, sizeof (Strip));
  /* The section begins on the cleared body. */
  const double cleared = hypot (solid->section[0].x, solid->section[0].y);
  double length = 0.0;
  for (gsize i = 0; i < solid->n_section;)
  {
    Strip strip = { .a = solid->section[i], .from = length };
    gsize k = i + 1;
    strip.b = solid->section[k % solid->n_section];
    strip.region = region_between (solid, cleared, strip.a, strip.b);
    for (; k < solid->n_section; k++)
    {
      const ScenePoint next = solid->section[(k + 1) % solid->n_section];
      if (region_between (solid, cleared, strip.b, next) != strip.region ||
          hypot (next.x - strip.a.x, next.y - strip.a.y) > STRIP_WIDTH * solid->radius)
        break;
      strip.b = next;
    }
    i = k;
    if (!(hypot (strip.b.x - strip.a.x, strip.b.y - strip.a.y) > 1e-9 * solid->radius))
      continue;
    strip.na = strip.nb = normal_of (strip.a, strip.b);
    length += hypot (strip.b.x - strip.a.x, strip.b.y - strip.a.y);
    g_array_append_val (model->strips, strip);
  }
  smooth_normals (model->strips);
}

ShadeModel *
shade_model_new (const Solid *solid, double bottom)
{
  ShadeModel *model = g_new0 (ShadeModel, 1);
  model->solid = solid;
  model->bottom = bottom;
  /* The chisel edge lies below where the lips' lines meet the axis. */
  model->top = 0.1 * solid->radius;
  make_bins (model);
  make_strips (model);
  return model;
}

void
shade_model_free (ShadeModel *model)
{
  if (model == NULL)
    return;
  g_array_unref (model->strips);
  g_free (model->bin);
  g_free (model->bin_edge);
  g_free (model);
}

const Solid *
shade_solid (const ShadeModel *model)
{
  return model->solid;
}

/* --- Triangles ---------------------------------------------------------------------- */

typedef struct
{
  double x, y; /* px */
  ShadeFragment at;
} Vertex;

typedef struct
{
  const ShadeModel *model;
  const ShadeCamera *camera;
  ScenePoint offset;
  ShadeFragment *plane;
  float *depth; /* of what stands in the plane, alone: most is hidden, which this tells from less */
  int lip;      /* of the flank that is drawn */
} Cast;

static Vec3
in_picture (const ShadeCamera *camera, Vec3 p)
{
  const Vec3 d = { p.x - camera->origin.x, p.y - camera->origin.y, p.z - camera->origin.z };
  return (Vec3){ shade_dot (d, camera->right), shade_dot (d, camera->up),
                 -shade_dot (d, camera->toward) };
}

ScenePoint
shade_project (const ShadeCamera *camera, Vec3 p)
{
  const Vec3 q = in_picture (camera, p);
  const double growth = camera->distance > 0.0 ? camera->distance / (camera->distance + q.z) : 1.0;
  const double side = camera->mirrored ? -1.0 : 1.0;
  /* The line of sight through the picture's middle is square to it. */
  const ScenePoint middle = { 0.5 * (camera->width - 1.0), 0.5 * (camera->height - 1.0) };
  return (ScenePoint){ middle.x +
                         growth * (camera->at.x - middle.x + side * q.x / camera->mm_per_px),
                       middle.y + growth * (camera->at.y - middle.y - q.y / camera->mm_per_px) };
}

static Vertex
vertex (const Cast *cast, Vec3 p, Vec3 normal, double along, double across)
{
  const ScenePoint seen = shade_project (cast->camera, p);
  const Vec3 n = shade_unit (normal);
  Vertex v = { seen.x - cast->offset.x, seen.y - cast->offset.y, { .along = (float)along } };
  v.at.depth = (float)in_picture (cast->camera, p).z;
  v.at.across = (float)across;
  v.at.p[0] = (float)p.x;
  v.at.p[1] = (float)p.y;
  v.at.p[2] = (float)p.z;
  v.at.normal[0] = (float)n.x;
  v.at.normal[1] = (float)n.y;
  v.at.normal[2] = (float)n.z;
  return v;
}

static gboolean
is_there (const Cast *cast, const ShadeFragment *f)
{
  const Solid *solid = cast->model->solid;
  if (f->region != SHADE_FLANK)
    return f->p[2] <= solid_top (solid, f->p[0], f->p[1]) + SLACK * solid->radius;
  if (solid_flank_height (solid, 1 - cast->lip, f->p[0], f->p[1]) < (double)f->p[2])
    return FALSE;
  const double t = -(f->p[2] * solid->twist + solid->phase), c = cos (t), s = sin (t);
  const ScenePoint back = { f->p[0] * c - f->p[1] * s, f->p[0] * s + f->p[1] * c };
  return in_section (cast->model, back);
}

static float
mix (const double w[3], float a, float b, float c)
{
  return (float)(w[0] * (double)a + w[1] * (double)b + w[2] * (double)c);
}

static void
put (const Cast *cast, const Vertex *v[3], const double w[3], ShadeRegion region, gsize at)
{
  const ShadeFragment *a = &v[0]->at, *b = &v[1]->at, *c = &v[2]->at;
  ShadeFragment f = { .depth = mix (w, a->depth, b->depth, c->depth), .region = (guint8)region };
  if (cast->depth[at] <= f.depth)
    return;
  for (int k = 0; k < 3; k++)
  {
    f.p[k] = mix (w, a->p[k], b->p[k], c->p[k]);
    f.normal[k] = mix (w, a->normal[k], b->normal[k], c->normal[k]);
  }
  f.along = mix (w, a->along, b->along, c->along);
  f.across = mix (w, a->across, b->across, c->across);
  if (!is_there (cast, &f))
    return;
  cast->plane[at] = f;
  cast->depth[at] = f.depth;
}

/* Widens low to high by where the side from a to b crosses the row y. */
static void
reach_across (const Vertex *a, const Vertex *b, double y, double *low, double *high)
{
  if (MIN (a->y, b->y) > y || MAX (a->y, b->y) < y)
    return;
  const double dy = b->y - a->y;
  const double first = fabs (dy) > 0.0 ? a->x + (b->x - a->x) * (y - a->y) / dy : a->x;
  const double last = fabs (dy) > 0.0 ? first : b->x;
  *low = MIN (*low, MIN (first, last));
  *high = MAX (*high, MAX (first, last));
}

/* More than rounding does to where a side crosses a row, px. */
#define ROUNDING 0.01

static void
draw_triangle (const Cast *cast, const Vertex *a, const Vertex *b, const Vertex *c,
               ShadeRegion region)
{
  const double area = (b->x - a->x) * (c->y - a->y) - (b->y - a->y) * (c->x - a->x);
  const int y0 = (int)MAX (0.0, ceil (MIN (MIN (a->y, b->y), c->y)));
  const int y1 = (int)MIN (cast->camera->height - 1.0, floor (MAX (MAX (a->y, b->y), c->y)));
  if (!(fabs (area) > 1e-12))
    return;
  const Vertex *v[3] = { a, b, c };
  for (int y = y0; y <= y1; y++)
  {
    double low = G_MAXDOUBLE, high = -G_MAXDOUBLE;
    for (int k = 0; k < 3; k++)
      reach_across (v[k], v[(k + 1) % 3], y, &low, &high);
    const int x0 = (int)MAX (0.0, ceil (low - ROUNDING));
    const int x1 = (int)MIN (cast->camera->width - 1.0, floor (high + ROUNDING));
    for (int x = x0; x <= x1; x++)
    {
      double w[3];
      w[0] = ((b->x - x) * (c->y - y) - (b->y - y) * (c->x - x)) / area;
      w[1] = ((c->x - x) * (a->y - y) - (c->y - y) * (a->x - x)) / area;
      w[2] = 1.0 - w[0] - w[1];
      if (w[0] >= 0.0 && w[1] >= 0.0 && w[2] >= 0.0)
        put (cast, v, w, region, (gsize)y * cast->camera->width + (gsize)x);
    }
  }
}

static void
draw_quad (const Cast *cast, const Vertex v[4], ShadeRegion region)
{
  draw_triangle (cast, &v[0], &v[1], &v[2], region);
  draw_triangle (cast, &v[0], &v[2], &v[3], region);
}

/* --- Surfaces ------------------------------------------------------------------------ */

/* Turn of the helix between two rows, rad; and their distance at most, radii. */
#define ROW_TURN 0.01
#define ROW_HEIGHT 0.05

/* Both ends of each strip at the height z. */
static void
body_row (const Cast *cast, double z, Vertex *row)
{
  const ShadeModel *model = cast->model;
  const double turn = z * model->solid->twist + model->solid->phase;
  const double c = cos (turn), s = sin (turn);
  for (guint k = 0; k < 2 * model->strips->len; k++)
  {
    const Strip *strip = &g_array_index (model->strips, Strip, k / 2);
    const ScenePoint base = k % 2 == 0 ? strip->a : strip->b;
    const ScenePoint n0 = k % 2 == 0 ? strip->na : strip->nb;
    const ScenePoint p = { base.x * c - base.y * s, base.x * s + base.y * c };
    const ScenePoint n = { n0.x * c - n0.y * s, n0.x * s + n0.y * c };
    /* Square to the section's tangent and to the helix (-y t, x t, 1). */
    const Vec3 outward = { n.x, n.y, (n.x * p.y - n.y * p.x) * model->solid->twist };
    const double across =
      strip->from + (k % 2 == 0 ? 0.0 : hypot (strip->b.x - strip->a.x, strip->b.y - strip->a.y));
    row[k] = vertex (cast, (Vec3){ p.x, p.y, z }, outward, z, across);
  }
}

/* Surfaces that face away are hidden by others. */
static gboolean
faces_away (const Cast *cast, const Vertex *v)
{
  const Vec3 n = { v->at.normal[0], v->at.normal[1], v->at.normal[2] };
  return shade_dot (n, cast->camera->toward) < -0.1;
}

static void
draw_body (const Cast *cast)
{
  const ShadeModel *model = cast->model;
  const guint n_strips = model->strips->len;
  const double step =
    MIN (ROW_TURN / MAX (model->solid->twist, 1e-9), ROW_HEIGHT * model->solid->radius);
  const int n = (int)ceil ((model->top - model->bottom) / step);
  g_autofree Vertex *rows = g_new (Vertex, 4 * n_strips);
  /* From the point down: seen from there it hides what follows. */
  body_row (cast, model->bottom + n * step, rows + n % 2 * 2 * (int)n_strips);
  for (int i = n; i >= 1; i--)
  {
    Vertex *low = rows + (i - 1) % 2 * 2 * (int)n_strips, *high = rows + i % 2 * 2 * (int)n_strips;
    body_row (cast, model->bottom + (i - 1) * step, low);
    for (guint k = 0; k < n_strips; k++)
    {
      const Vertex v[4] = { low[2 * k], low[2 * k + 1], high[2 * k + 1], high[2 * k] };
      if (!faces_away (cast, &v[0]) || !faces_away (cast, &v[1]))
        draw_quad (cast, v, g_array_index (model->strips, Strip, k).region);
    }
  }
}

/* Cells of a flank over the diameter. */
#define FLANK_CELLS 160

static Vertex
flank_vertex (const Cast *cast, int i, int j)
{
  const Solid *solid = cast->model->solid;
  const double R = solid->radius, d = 1e-4 * R;
  const double x = R * (2.0 * i / FLANK_CELLS - 1.0), y = R * (2.0 * j / FLANK_CELLS - 1.0);
  const int lip = cast->lip;
  const Vec3 n = {
    (solid_flank_height (solid, lip, x - d, y) - solid_flank_height (solid, lip, x + d, y)) / d,
    (solid_flank_height (solid, lip, x, y - d) - solid_flank_height (solid, lip, x, y + d)) / d, 2.0
  };
  const double sign = lip == LIP_B ? 1.0 : -1.0;
  return vertex (cast, (Vec3){ x, y, solid_flank_height (solid, lip, x, y) }, n, sign * x,
                 sign * y + 100.0 * R);
}

static void
draw_flank (const Cast *cast)
{
  const int n = FLANK_CELLS + 1;
  g_autofree Vertex *row = g_new (Vertex, 2 * n);
  for (int i = 0; i < n; i++)
    row[i] = flank_vertex (cast, i, 0);
  for (int j = 1; j < n; j++)
  {
    Vertex *below = row + ((j + 1) % 2) * n, *above = row + (j % 2) * n;
    for (int i = 0; i < n; i++)
      above[i] = flank_vertex (cast, i, j);
    for (int i = 0; i + 1 < n; i++)
    {
      const Vertex v[4] = { below[i], below[i + 1], above[i + 1], above[i] };
      if (!faces_away (cast, &v[0]) || !faces_away (cast, &v[2]))
        draw_quad (cast, v, SHADE_FLANK);
    }
  }
}

void
shade_cast (const ShadeModel *model, const ShadeCamera *camera, ScenePoint offset,
            ShadeFragment *plane)
{
  const gsize n = (gsize)camera->width * camera->height;
  g_autofree float *depth = g_new (float, n);
  for (gsize i = 0; i < n; i++)
    depth[i] = INFINITY;
  Cast cast = { model, camera, offset, plane, depth, LIP_A };
  memset (plane, 0, n * sizeof *plane);
  for (cast.lip = LIP_A; cast.lip < N_LIPS; cast.lip++)
    draw_flank (&cast);
  draw_body (&cast);
}
