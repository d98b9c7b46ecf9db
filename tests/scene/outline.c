/*
 * The silhouette of the solid drill, and the truth about it.
 *
 * Row by row (equal height in the picture) the outermost points of the solid are found
 * among: points of the fluted section's boundary that are below both flanks, places where
 * that boundary meets a flank, lips and chisel edge, and the flanks' own horizons.  What a near
 * camera sees in one row lies on a tilted plane, which it shares with the row's horizontal.
 * Rows are refined until the outline is straight between them to TOLERANCE.
 */
#include "burr.h"
#include "side.h"
#include "solid.h"

#include <math.h>
#include <string.h>

/* Radii: 1e-6 of a 500 px radius is 0.0005 px. */
#define TOLERANCE 1e-6
#define FINEST 1e-7
#define N_CHISEL 600
#define N_LIP 300
#define N_RIDGE (2 * N_LIP + N_CHISEL)

typedef struct
{
  const Solid *solid;
  SolidView view;
  double sin_turn, cos_turn;
  double safe;                   /* below this height no flank cuts */
  ScenePoint ridge[N_RIDGE + 1]; /* lip a from its corner, chisel edge, lip b */
} Shadow;

/* What is seen at height v lies on a plane: z cos_lean + depth sin_lean = v (solid_lean()). */
typedef struct
{
  double v, left, right;
  SolidLean lean;
} Row;

/* --- One row ------------------------------------------------------------- */

static void
row_add (Row *row, double u)
{
  row->left = MIN (row->left, u);
  row->right = MAX (row->right, u);
}

/* A row's untilted section: its height and how far it is turned. */
typedef struct
{
  double z, c, s;
} Slice;

static Slice
slice_at (const Shadow *shadow, const Row *row)
{
  const double z = row->v / row->lean.c;
  const double angle = z * shadow->solid->twist + shadow->solid->phase;
  const Slice slice = { z, cos (angle), sin (angle) };
  return slice;
}

/* The point of the helix through `base` that is seen in the row, by Newton's rule. */
static Vec3
helix_point (const Shadow *shadow, const Slice *slice, ScenePoint base, const Row *row)
{
  Vec3 p = { base.x * slice->c - base.y * slice->s, base.x * slice->s + base.y * slice->c,
             slice->z };
  if (!(fabs (row->lean.s) > 0.0))
    return p;
  for (int i = 0; i < 8; i++)
  {
    const double depth = p.x * shadow->sin_turn + p.y * shadow->cos_turn;
    const double across = p.x * shadow->cos_turn - p.y * shadow->sin_turn;
    const double f = p.z * row->lean.c + depth * row->lean.s - row->v;
    const double step = f / (row->lean.c + shadow->solid->twist * across * row->lean.s);
    p.z -= step;
    const ScenePoint q = solid_turn (shadow->solid, base, p.z);
    p.x = q.x;
    p.y = q.y;
    if (fabs (step) < 1e-8 * shadow->solid->radius)
      break;
  }
  return p;
}

static double
across_view (const Shadow *shadow, Vec3 p)
{
  const double across = p.x * shadow->cos_turn - p.y * shadow->sin_turn;
  if (!(shadow->view.distance > 0.0))
    return across;
  const double foot = shadow->view.foot.x;
  return foot + (across - foot) * solid_growth (&shadow->view, p);
}

/* What equals v for all points of a row. */
static double
leaned (const Shadow *shadow, const Row *row, Vec3 p)
{
  const double depth = p.x * sin (shadow->view.turn) + p.y * cos (shadow->view.turn);
  return p.z * row->lean.c + depth * row->lean.s;
}

static double
below (const Shadow *shadow, Vec3 p)
{
  return solid_top (shadow->solid, p.x, p.y) - p.z;
}

/* Where a chord of the section's boundary passes through a flank; fp and fq differ in sign. */
static Vec3
meet_flank (const Shadow *shadow, Vec3 p, Vec3 q, double fp)
{
  double low = 0.0, high = 1.0;
  Vec3 m = p;
  for (int i = 0; i < 40; i++)
  {
    const double t = 0.5 * (low + high);
    m.x = p.x + t * (q.x - p.x);
    m.y = p.y + t * (q.y - p.y);
    m.z = p.z + t * (q.z - p.z);
    if ((below (shadow, m) < 0.0) == (fp < 0.0))
      low = t;
    else
      high = t;
  }
  return m;
}

static void
row_add_cut_section (const Shadow *shadow, Row *row)
{
  const Solid *solid = shadow->solid;
  const Slice slice = slice_at (shadow, row);
  Vec3 p = helix_point (shadow, &slice, solid->section[solid->n_section - 1], row);
  double up = across_view (shadow, p);
  double fp = below (shadow, p);
  gboolean known = TRUE;
  for (gsize i = 0; i < solid->n_section; i++)
  {
    const Vec3 q = helix_point (shadow, &slice, solid->section[i], row);
    const double uq = across_view (shadow, q);
    /* Only what lies further out than all before is worth the flanks' square roots. */
    if (MAX (up, uq) > row->right || MIN (up, uq) < row->left)
    {
      fp = known ? fp : below (shadow, p);
      const double fq = below (shadow, q);
      if (fq >= 0.0)
        row_add (row, uq);
      if ((fp < 0.0) != (fq < 0.0))
        row_add (row, across_view (shadow, meet_flank (shadow, p, q, fp)));
      fp = fq;
      known = TRUE;
    }
    else
      known = FALSE;
    p = q;
    up = uq;
  }
}

/* By how much perspective moves points across, either of two, at most. */
static double
near_slack (const Shadow *shadow)
{
  const double R = shadow->solid->radius, distance = shadow->view.distance;
  return distance > 0.0 ? 2.0 * (R + fabs (shadow->view.foot.x)) * R / (distance - R) : 0.0;
}

/* A tilted section reaches at most R tan (tilt) up and down, and so turns a little: only
 * points near the extremes of the untilted one can be the outermost. */
static void
row_add_tilted_section (const Shadow *shadow, Row *row, double left, double right)
{
  const Solid *solid = shadow->solid;
  const Slice slice = slice_at (shadow, row);
  const double angle = slice.z * solid->twist + solid->phase + shadow->view.turn;
  const double c = cos (angle);
  const double s = sin (angle);
  const double turn = solid->radius * solid->twist * fabs (row->lean.s / row->lean.c);
  const double slack = 2.5 * turn * solid->radius + near_slack (shadow);
  for (gsize i = 0; i < solid->n_section; i++)
  {
    const ScenePoint b = solid->section[i];
    const double u = b.x * c - b.y * s;
    if (u < left + slack || u > right - slack)
      row_add (row, across_view (shadow, helix_point (shadow, &slice, b, row)));
  }
}

static void
row_add_whole_section (const Shadow *shadow, Row *row)
{
  const Solid *solid = shadow->solid;
  const double angle = row->v / row->lean.c * solid->twist + solid->phase + shadow->view.turn;
  const double c = cos (angle);
  const double s = sin (angle);
  double left, right;
  solid_reach (solid, c, s, &left, &right);
  if (fabs (shadow->view.tilt) > 0.0 || shadow->view.distance > 0.0)
  {
    row_add_tilted_section (shadow, row, left, right);
    return;
  }
  row->left = left;
  row->right = right;
}

static void
row_add_ridge (const Shadow *shadow, Row *row)
{
  for (int i = 0; i < N_RIDGE; i++)
  {
    const ScenePoint p = shadow->ridge[i];
    const ScenePoint q = shadow->ridge[i + 1];
    if ((p.y < row->v) != (q.y < row->v))
      row_add (row, p.x + (q.x - p.x) * (row->v - p.y) / (q.y - p.y));
  }
}

/* From the camera to the apex of a flank's cone, in the flank's frame; the length doesn't matter.
 */
static Vec3
sight_of (const Shadow *shadow, const Vec3 *apex, double sign)
{
  const SolidView *view = &shadow->view;
  const double st = sin (view->turn), ct = cos (view->turn);
  const double sp = sin (view->tilt), cp = cos (view->tilt);
  Vec3 d = { st * cp, ct * cp, -sp };
  if (view->distance > 0.0)
  {
    const Vec3 eye = solid_eye (view);
    d.x = apex->x - eye.x;
    d.y = apex->y - eye.y;
    d.z = apex->z - eye.z;
  }
  d.x *= sign;
  d.y *= sign;
  return d;
}

/* A cone's horizon: generators g = cos(t) u + sin(t) e whose normal n = -sin(t) u + cos(t) e
 * is square to the line of sight d: cos(t) e.d = sin(t) u.d.  A generator's tangent plane holds
 * the apex, so for a near camera it is the sight of the apex that counts. */
static void
row_add_horizon (const Shadow *shadow, int lip, Row *row)
{
  const Solid *solid = shadow->solid;
  const Flank *flank = &solid->flank[lip];
  const double sign = lip == LIP_B ? 1.0 : -1.0;
  const Vec3 apex = { sign * flank->apex.x, sign * flank->apex.y, flank->apex.z };
  const Vec3 d = sight_of (shadow, &apex, sign);
  const double along = d.x * flank->axis_x + d.z * flank->axis_z;
  const double e1 = d.x * flank->axis_z - d.z * flank->axis_x; /* e1 = (uz, 0, -ux) */
  const double e2 = d.y;
  const double cone_cos = sqrt (flank->cos2);
  const double cone_sin = sqrt (1.0 - flank->cos2);
  const double ratio = along * cone_sin / cone_cos / hypot (e1, e2);
  if (fabs (ratio) > 1.0)
    return;
  for (int side = -1; side <= 1; side += 2)
  {
    const double psi = atan2 (e2, e1) + side * acos (ratio);
    const Vec3 g = { sign * (cone_cos * flank->axis_x + cone_sin * cos (psi) * flank->axis_z),
                     sign * cone_sin * sin (psi),
                     cone_cos * flank->axis_z - cone_sin * cos (psi) * flank->axis_x };
    const double t = (row->v - leaned (shadow, row, apex)) / leaned (shadow, row, g);
    const Vec3 p = { apex.x + t * g.x, apex.y + t * g.y, apex.z + t * g.z - 1e-12 * solid->radius };
    const double u = solid_view (&shadow->view, p).x;
    if (t > 0.0 && (u < row->left || u > row->right) && solid_contains (solid, p))
      row_add (row, u);
  }
}

static Row
row_at (const Shadow *shadow, double v)
{
  Row row = { v, G_MAXDOUBLE, -G_MAXDOUBLE, solid_lean (&shadow->view, v) };
  if (v < shadow->safe)
  {
    row_add_whole_section (shadow, &row);
    return row;
  }
  row_add_ridge (shadow, &row);
  row_add_cut_section (shadow, &row);
  if (shadow->solid->cone_distance > 0.0)
    for (int lip = 0; lip < N_LIPS; lip++)
      row_add_horizon (shadow, lip, &row);
  return row;
}

/* --- All rows ------------------------------------------------------------ */

static double
off_chord (double x0, double v0, double x1, double v1, double x, double v)
{
  const double dx = x1 - x0;
  const double dv = v1 - v0;
  return fabs ((x - x0) * dv - (v - v0) * dx) / hypot (dx, dv);
}

/* Appends the rows between a and b, then b. */
static void
refine (const Shadow *shadow, GArray *rows, const Row *a, const Row *b)
{
  const double R = shadow->solid->radius;
  if (a->v - b->v > FINEST * R)
  {
    /* Off the middle, so that a bend half-way doesn't hide. */
    const Row m = row_at (shadow, a->v + 0.47 * (b->v - a->v));
    const double off = MAX (off_chord (a->left, a->v, b->left, b->v, m.left, m.v),
                            off_chord (a->right, a->v, b->right, b->v, m.right, m.v));
    /* The foremost sliver can lie above every sampled point of the chisel. */
    if (m.left <= m.right && off > TOLERANCE * R)
    {
      refine (shadow, rows, a, &m);
      refine (shadow, rows, &m, b);
      return;
    }
  }
  g_array_append_val (rows, *b);
}

static ScenePoint
chisel_view (const Shadow *shadow, double y)
{
  return solid_view (&shadow->view, solid_chisel_point (shadow->solid, y));
}

static ScenePoint
foremost_point (const Shadow *shadow, double y0, double y1)
{
  const double golden = 0.5 * (sqrt (5.0) - 1.0);
  for (int i = 0; i < 80; i++)
  {
    const double p = y1 - golden * (y1 - y0);
    const double q = y0 + golden * (y1 - y0);
    if (chisel_view (shadow, p).y > chisel_view (shadow, q).y)
      y1 = q;
    else
      y0 = p;
  }
  return chisel_view (shadow, 0.5 * (y0 + y1));
}

/* The flanks are concave, so over the disc they are lowest on its rim. */
static double
safe_height (const Shadow *shadow)
{
  const Solid *solid = shadow->solid;
  double low = G_MAXDOUBLE;
  for (int i = 0; i < 720; i++)
  {
    const double t = i * G_PI / 360.0;
    low = MIN (low, solid_top (solid, solid->radius * cos (t), solid->radius * sin (t)));
  }
  const SolidView *view = &shadow->view;
  const double safe = (low - solid->radius * (0.01 + fabs (sin (view->tilt)))) * cos (view->tilt);
  if (!(view->distance > 0.0))
    return safe;
  return safe - fabs (safe - view->foot.y) * solid->radius / (view->distance - solid->radius);
}

/* `y0`, `y1`: where the chisel edge ends. */
static void
make_ridge (Shadow *shadow, double *y0, double *y1)
{
  const Solid *solid = shadow->solid;
  const double s_max = sqrt (solid->radius * solid->radius - solid->half_web * solid->half_web);
  const double a = solid_lip_start (solid, LIP_A);
  const double b = solid_lip_start (solid, LIP_B);
  *y0 = solid_lip_point (solid, LIP_A, a).y;
  *y1 = solid_lip_point (solid, LIP_B, b).y;
  for (int i = 0; i < N_LIP; i++)
  {
    const double t = (double)i / N_LIP;
    const Vec3 p = solid_lip_point (solid, LIP_A, s_max + (a - s_max) * t);
    const Vec3 q = solid_lip_point (solid, LIP_B, s_max + (b - s_max) * t);
    shadow->ridge[i] = solid_view (&shadow->view, p);
    shadow->ridge[N_RIDGE - i] = solid_view (&shadow->view, q);
  }
  for (int i = 0; i <= N_CHISEL; i++)
    shadow->ridge[N_LIP + i] = chisel_view (shadow, *y0 + (*y1 - *y0) * i / N_CHISEL);
}

static GArray *
make_rows (Shadow *shadow, double bottom)
{
  const Solid *solid = shadow->solid;
  const double R = solid->radius;
  double y0, y1;
  make_ridge (shadow, &y0, &y1);
  shadow->safe = safe_height (shadow);
  const ScenePoint top = foremost_point (shadow, y0, y1);

  GArray *rows = g_array_new (FALSE, FALSE, sizeof (Row));
  Row last = { top.y, top.x, top.x, solid_lean (&shadow->view, top.y) };
  g_array_append_val (rows, last);
  double v = top.y;
  for (int i = 1; v > bottom; i++)
  {
    const double step = 0.02 * R;
    v = i <= 40 ? top.y - step * (i * i) / 1600.0 : v - (v > shadow->safe ? 0.5 : 1.0) * step;
    const Row next = row_at (shadow, v);
    if (next.left > next.right)
      continue;
    refine (shadow, rows, &last, &next);
    last = next;
  }
  return rows;
}

/* --- One side ------------------------------------------------------------- */

/* From the point down, as if lip b's side. */
static GArray *
make_side (const GArray *rows, int lip)
{
  GArray *side = g_array_sized_new (FALSE, FALSE, sizeof (ScenePoint), rows->len);
  for (guint i = 0; i < rows->len; i++)
  {
    const Row *row = &g_array_index (rows, Row, i);
    const ScenePoint p = { lip == LIP_B ? row->right : -row->left, row->v };
    g_array_append_val (side, p);
  }
  return side;
}

/* --- Truth ---------------------------------------------------------------- */

typedef struct
{
  LipLine line;
  double chip_depth;
  BurrTruth burr;
  double wear;
} SideTruth;

static void
fill_truth (const Solid *solid, const SideTruth *a, const SideTruth *b, double top,
            SceneTruth *truth)
{
  const double R = solid->radius;
  const double ta = 1.0 / tan (a->line.half_angle);
  const double tb = 1.0 / tan (b->line.half_angle);
  const double height = a->line.corner_z - b->line.corner_z;
  const double offset = (R * (tb - ta) - height) / (ta + tb);
  truth->half_angle_a_deg = a->line.half_angle / SCENE_DEG;
  truth->half_angle_b_deg = b->line.half_angle / SCENE_DEG;
  truth->point_angle_deg = truth->half_angle_a_deg + truth->half_angle_b_deg;
  truth->half_angle_difference_deg = truth->half_angle_a_deg - truth->half_angle_b_deg;
  truth->lip_length_a_mm = (R + offset) / sin (a->line.half_angle);
  truth->lip_length_b_mm = (R - offset) / sin (b->line.half_angle);
  truth->lip_length_difference_mm = truth->lip_length_a_mm - truth->lip_length_b_mm;
  truth->lip_height_difference_mm = height;
  truth->point_offset_mm = offset;
  truth->diameter_mm = 2.0 * R;
  truth->point_length_mm = top - 0.5 * (a->line.corner_z + b->line.corner_z);
  truth->corner_wear_a_mm = a->wear;
  truth->corner_wear_b_mm = b->wear;
  truth->lip_straightness_a_mm = a->line.straightness;
  truth->lip_straightness_b_mm = b->line.straightness;
  truth->lip_bow_mm = MAX (a->line.bow, b->line.bow);
  truth->chip_depth_a_mm = a->chip_depth;
  truth->chip_depth_b_mm = b->chip_depth;
  truth->burr_height_a_mm = a->burr.height;
  truth->burr_height_b_mm = b->burr.height;
  truth->burr_length_a_mm = a->burr.length;
  truth->burr_length_b_mm = b->burr.length;
  truth->chisel_flat_mm = fabs (solid_lip_point (solid, LIP_B, solid_lip_start (solid, LIP_B)).x -
                                solid_lip_point (solid, LIP_A, solid_lip_start (solid, LIP_A)).x);
}

/* --- The whole ------------------------------------------------------------ */

static ScenePolygon
join_sides (const GArray *left, const GArray *right)
{
  ScenePolygon polygon = { NULL, (gsize)left->len + right->len - 1, 1.0 };
  polygon.points = g_new (ScenePoint, polygon.n);
  gsize n = 0;
  for (guint i = left->len; i-- > 1;)
  {
    const ScenePoint p = g_array_index (left, ScenePoint, i);
    polygon.points[n].x = -p.x;
    polygon.points[n++].y = p.y;
  }
  memcpy (polygon.points + n, right->data, right->len * sizeof (ScenePoint));
  return polygon;
}

static GArray *
finish_side (const Shadow *shadow, const GArray *rows, const SceneDrill *drill, int lip,
             SideTruth *truth)
{
  const double R = shadow->solid->radius;
  const gboolean is_a = (lip == LIP_A) != drill->left_hand;
  GArray *side = make_side (rows, lip);
  truth->line = solid_lip_line (shadow->solid, lip, &shadow->view);
  truth->chip_depth =
    side_break_chip (side, &truth->line, R, is_a ? &drill->chip_a : &drill->chip_b);
  side_round_corner (side, &truth->line, R, is_a ? drill->corner_a : drill->corner_b);
  const ScenePoint corner = { R, truth->line.corner_z };
  truth->wear = side_distance (side, corner);
  truth->burr = side_raise_burr (side, &truth->line, R, is_a ? &drill->burr_a : &drill->burr_b);
  return side;
}

static ScenePolygon
outline_seen (const Solid *solid, const SceneDrill *drill, const SolidView *view, double bottom,
              SceneTruth *truth)
{
  g_autofree Shadow *shadow = g_new0 (Shadow, 1);
  shadow->solid = solid;
  shadow->view = *view;
  shadow->sin_turn = sin (view->turn);
  shadow->cos_turn = cos (view->turn);
  g_autoptr (GArray) rows = make_rows (shadow, bottom);
  SideTruth of[N_LIPS];
  g_autoptr (GArray) left = finish_side (shadow, rows, drill, LIP_A, &of[LIP_A]);
  g_autoptr (GArray) right = finish_side (shadow, rows, drill, LIP_B, &of[LIP_B]);
  ScenePolygon polygon = join_sides (left, right);
  if (truth != NULL)
  {
    const int lip_a = drill->left_hand ? LIP_B : LIP_A;
    fill_truth (solid, &of[lip_a], &of[1 - lip_a], g_array_index (rows, Row, 0).v, truth);
  }
  if (drill->left_hand)
    for (gsize i = 0; i < polygon.n; i++)
      polygon.points[i].x = -polygon.points[i].x;
  return polygon;
}

ScenePolygon
scene_drill_seen (const SceneDrill *drill, const SceneView *seen, double bottom, SceneTruth *truth)
{
  Solid solid;
  solid_init (&solid, drill);
  const SolidView square = { 0 };
  /* A left-hand drill is built as its mirror picture. */
  const double mirror = drill->left_hand ? -1.0 : 1.0;
  const SolidView view = { .turn = seen->turn_deg * SCENE_DEG,
                           .tilt = seen->tilt_deg * SCENE_DEG,
                           .distance = seen->distance,
                           .foot = { mirror * seen->foot.x, seen->foot.y } };
  const gboolean is_square =
    !(fabs (seen->turn_deg) > 0.0 || fabs (seen->tilt_deg) > 0.0 || seen->distance > 0.0);
  if (truth != NULL && !is_square)
  {
    ScenePolygon point = outline_seen (&solid, drill, &square, -2.0 * solid.radius, truth);
    scene_polygon_clear (&point);
  }
  ScenePolygon polygon = outline_seen (&solid, drill, &view, bottom, is_square ? truth : NULL);
  if (truth != NULL)
    truth->view_turn_deg = seen->turn_deg;
  solid_clear (&solid);
  return polygon;
}

ScenePolygon
scene_drill_outline (const SceneDrill *drill, double turn_deg, double tilt_deg, double bottom,
                     SceneTruth *truth)
{
  const SceneView view = { .turn_deg = turn_deg, .tilt_deg = tilt_deg };
  return scene_drill_seen (drill, &view, bottom, truth);
}

void
scene_drill_init (SceneDrill *drill, double diameter)
{
  const SceneDrill good = {
    .diameter = diameter,
    .helix_deg = 30.0,
    .web = 0.15 * diameter,
    .design_half_angle = 59.0,
    .margin = 0.08 * diameter,
    .clearance = 0.015 * diameter,
    .land_deg = 88.0,
    .relief_deg = 12.0,
    .cone_distance = 2.2,
    .cone_share = 0.6,
    .half_angle_a = 59.0,
    .half_angle_b = 59.0,
  };
  *drill = good;
}
