#include "edge/chain.h"

#include "base/geometry.h"
#include "maths/jackknife.h"
#include "maths/robust.h"
#include "maths/stats.h"

#include <string.h>

/* Cuts are looked for at so many places at most, to within n / MAX_NODES points: finer than the
 * guard at the ends for any outline. */
#define MAX_NODES 700

#define LINE_PARAMETERS 3
#define ARC_PARAMETERS 4

/* A piece whose squares cost more than so many parameters is no piece of the best chain: it could
 * be cut into a dozen. */
#define HOPELESS 60

#define NEWTON_ROUNDS 12

/* An arc that exact points lie on has no scatter. */
#define SCATTER_FLOOR 0.02
#define ARC_ROUNDS 4

/* Lines nearer to one direction than this have no corner worth the name, rad (2 degrees). */
#define LEAST_TURN 0.035

/* ---- Squares about the best line and circle from moments -------------------------- */

typedef struct
{
  double n, x, y, xx, xy, yy, xz, yz, z, zz; /* sums; z = x^2 + y^2 */
} Moments;

static void
moments_add (Moments *m, WsPoint p)
{
  const double z = p.x * p.x + p.y * p.y;
  m->n += 1;
  m->x += p.x;
  m->y += p.y;
  m->xx += p.x * p.x;
  m->xy += p.x * p.y;
  m->yy += p.y * p.y;
  m->xz += p.x * z;
  m->yz += p.y * z;
  m->z += z;
  m->zz += z * z;
}

/* Means about the points' mean, as in N. Chernov, Circular and Linear Regression, 2010, 5.10. */
static Moments
centred (const Moments *m)
{
  const double n = m->n, a = m->x / n, b = m->y / n, cc = a * a + b * b;
  const double xx = m->xx / n, xy = m->xy / n, yy = m->yy / n, z = m->z / n;
  Moments c = { .n = n };
  c.xx = xx - a * a;
  c.xy = xy - a * b;
  c.yy = yy - b * b;
  c.z = c.xx + c.yy;
  /* z' = z - 2 a x - 2 b y + cc */
  c.xz = m->xz / n - 2 * a * xx - 2 * b * xy + a * cc - a * (z - 2 * a * a - 2 * b * b + cc);
  c.yz = m->yz / n - 2 * a * xy - 2 * b * yy + b * cc - b * (z - 2 * a * a - 2 * b * b + cc);
  c.zz = m->zz / n + 4 * a * a * xx + 4 * b * b * yy + cc * cc - 4 * a * m->xz / n -
         4 * b * m->yz / n + 2 * cc * z + 8 * a * b * xy - 4 * cc * cc;
  return c;
}

static double
line_squares (const Moments *c)
{
  const double half = 0.5 * (c->xx + c->yy), gap = 0.5 * (c->xx - c->yy);
  return c->n * MAX (half - hypot (gap, c->xy), 0);
}

/* Taubin's mean squared distance is the least root of the characteristic polynomial, which Newton's
 * rule reaches from 0 without passing it. */
static double
arc_squares (const Moments *c)
{
  const double cov = c->xx * c->yy - c->xy * c->xy, var = c->zz - c->z * c->z;
  const double a3 = 4 * c->z, a2 = -3 * c->z * c->z - c->zz;
  const double a1 = var * c->z + 4 * cov * c->z - c->xz * c->xz - c->yz * c->yz;
  const double a0 =
    c->xz * (c->xz * c->yy - c->yz * c->xy) + c->yz * (c->yz * c->xx - c->xz * c->xy) - var * cov;
  double root = 0;
  for (guint i = 0; i < NEWTON_ROUNDS; i++)
  {
    const double value = a0 + root * (a1 + root * (a2 + root * a3));
    const double slope = a1 + root * (2 * a2 + 3 * root * a3);
    if (!(fabs (slope) > 0))
      break;
    const double next = root - value / slope;
    if (!(next > root))
      break;
    root = next;
  }
  return c->n * MIN (root, line_squares (c) / c->n);
}

/* ---- Splitting -------------------------------------------------------------------- */

typedef struct
{
  double per_square;    /* 1 / (scatter^2 c) */
  double per_parameter; /* ln (n / c) */
  double least_bend;    /* mean squared distance from the line that an arc must have */
} Price;

/* An arc rising h above its chord has the mean squared distance 4 h^2 / 45 from the best line (of
 * the parabola, P2 with amplitude 2 h / 3). */
#define BEND_PER_RISE (4.0 / 45.0)

static Price
price_of (guint n, const WsChainRules *rules)
{
  const double c = MAX (rules->correlated, 1);
  return (Price){ 1 / (rules->scatter * rules->scatter * c), log (MAX (n / c, 3)),
                  BEND_PER_RISE * rules->least_rise * rules->least_rise };
}

static double
cost_of (const Moments *m, const Price *price, WsChainKind *kind)
{
  const Moments c = centred (m);
  const double squares = line_squares (&c);
  const double line = squares * price->per_square + LINE_PARAMETERS * price->per_parameter;
  *kind = WS_CHAIN_LINE;
  if (m->n < 5)
    return line;
  /* A slightly bowed edge costs what an arc does, and is a line all the same. */
  const double arc = arc_squares (&c) * price->per_square + ARC_PARAMETERS * price->per_parameter;
  if (arc < line && squares >= m->n * price->least_bend)
    *kind = WS_CHAIN_ARC;
  return MIN (arc, line);
}

typedef struct
{
  double cost;
  guint previous;
  WsChainKind kind;
} Node;

/* Carries the cost of node i on to all later nodes. */
static void
reach_from (const WsPoint *points, guint n, guint stride, guint i, const Price *price, Node *nodes)
{
  Moments m = { 0 };
  const WsPoint origin = points[i * stride];
  guint k = i * stride;
  for (guint j = i + 1; (j - 1) * stride < n; j++)
  {
    for (; k < MIN (j * stride, n); k++)
      moments_add (&m, wsi_point_sub (points[k], origin));
    WsChainKind kind;
    const double cost = cost_of (&m, price, &kind);
    if (nodes[i].cost + cost < nodes[j].cost)
      nodes[j] = (Node){ nodes[i].cost + cost, i, kind };
    if (cost > HOPELESS * price->per_parameter)
      break;
  }
}

/* Pieces of the best chain, in order; only kind, from and to are set. */
static GArray *
best_cuts (const WsPoint *points, guint n, const Price *price)
{
  const guint stride = (n + MAX_NODES - 1) / MAX_NODES, n_nodes = (n + stride - 1) / stride;
  g_autofree Node *nodes = g_new (Node, n_nodes + 1);
  for (guint i = 0; i <= n_nodes; i++)
    nodes[i] = (Node){ i == 0 ? 0 : HUGE_VAL, 0, WS_CHAIN_LINE };
  for (guint i = 0; i < n_nodes; i++)
    reach_from (points, n, stride, i, price, nodes);

  GArray *pieces = g_array_new (FALSE, TRUE, sizeof (WsChainPiece));
  for (guint j = n_nodes; j > 0; j = nodes[j].previous)
  {
    const WsChainPiece piece = { .kind = nodes[j].kind,
                                 .from = nodes[j].previous * stride,
                                 .to = MIN (j * stride, n) };
    g_array_prepend_val (pieces, piece);
  }
  return pieces;
}

static WsChainPiece *
piece_at (const GArray *pieces, guint i)
{
  return &g_array_index (pieces, WsChainPiece, i);
}

/* Drops the blur's reach at the ends, and what is too short then. */
static void
trim (GArray *pieces, guint guard)
{
  for (guint i = pieces->len; i-- > 0;)
  {
    WsChainPiece *piece = piece_at (pieces, i);
    if (piece->to - piece->from < 2 * guard + WS_LINE_MIN_POINTS)
    {
      g_array_remove_index (pieces, i);
      continue;
    }
    piece->from += guard;
    piece->to -= guard;
  }
}

/* ---- Merging ---------------------------------------------------------------------- */

static double
cost_of_both (const WsPoint *points, const WsChainPiece *a, const WsChainPiece *b,
              const Price *price, WsChainKind *kind)
{
  Moments m = { 0 };
  const WsPoint origin = points[a->from];
  for (guint i = a->from; i < a->to; i++)
    moments_add (&m, wsi_point_sub (points[i], origin));
  for (guint i = b != NULL ? b->from : 0; b != NULL && i < b->to; i++)
    moments_add (&m, wsi_point_sub (points[i], origin));
  return cost_of (&m, price, kind);
}

static gboolean
are_one (const WsPoint *points, const WsChainPiece *a, const WsChainPiece *b, const Price *price)
{
  WsChainKind kind, own;
  const double apart =
    cost_of_both (points, a, NULL, price, &own) + cost_of_both (points, b, NULL, price, &own);
  return cost_of_both (points, a, b, price, &kind) < apart && a->kind == kind && b->kind == kind;
}

static void
merge (const WsPoint *points, GArray *pieces, const Price *price)
{
  for (guint i = 0; i + 1 < pieces->len;)
  {
    WsChainPiece *a = piece_at (pieces, i);
    const WsChainPiece *b = piece_at (pieces, i + 1);
    if (!are_one (points, a, b, price))
    {
      i++;
      continue;
    }
    a->to = b->to;
    g_array_remove_index (pieces, i + 1);
    /* What grew may take in what lay before it, too. */
    i = i > 0 ? i - 1 : 0;
  }
}

/* ---- Fitting ---------------------------------------------------------------------- */

static double
distance_from (const WsCircle *circle, WsPoint p)
{
  return wsi_point_distance (p, circle->centre) - circle->radius;
}

static WsPoint
on_circle (const WsCircle *circle, WsPoint p)
{
  const WsPoint d = wsi_point_sub (p, circle->centre);
  return wsi_point_along (circle->centre, circle->radius / MAX (wsi_point_length (d), 1e-9), d);
}

static gboolean
fit_line (const WsPoint *points, guint n, WsChainPiece *piece)
{
  g_autofree guint8 *used = g_new (guint8, n);
  WsLineFit *line = &piece->line;
  if (!wsi_line_fit (points, n, used, line))
    return FALSE;
  if (wsi_point_dot (line->direction, wsi_point_sub (points[n - 1], points[0])) < 0)
  {
    line->direction = wsi_point (-line->direction.x, -line->direction.y);
    const double low = line->t_low;
    line->t_low = -line->t_high;
    line->t_high = -low;
    line->bow = -line->bow;
  }
  piece->start = wsi_point_along (line->centre, line->t_low, line->direction);
  piece->end = wsi_point_along (line->centre, line->t_high, line->direction);
  piece->scatter = line->scatter;
  piece->used = (double)line->n_used / n;
  return TRUE;
}

/* Keeps the points within reach of the circle; returns how many. */
static guint
sound_points (const WsPoint *points, guint n, WsChainPiece *piece, WsPoint *kept, double *scratch)
{
  for (guint i = 0; i < n; i++)
    scratch[i] = fabs (distance_from (&piece->circle, points[i]));
  piece->scatter = wsi_absolute_sigma (scratch, n);
  const double reach = WS_TUKEY_REACH * MAX (piece->scatter, SCATTER_FLOOR);
  guint m = 0;
  for (guint i = 0; i < n; i++)
    if (fabs (distance_from (&piece->circle, points[i])) < reach)
      kept[m++] = points[i];
  return m;
}

static double
radius_u (const WsPoint *kept, guint m, double radius, WsPoint *rest)
{
  double found[WS_JACKKNIFE_BLOCKS];
  for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
  {
    const guint from = wsi_jackknife_from (m, b), to = wsi_jackknife_from (m, b + 1);
    memcpy (rest, kept, sizeof (WsPoint) * from);
    memcpy (rest + from, kept + to, sizeof (WsPoint) * (m - to));
    WsCircle circle;
    found[b] = wsi_circle_fit (rest, m - (to - from), &circle) ? circle.radius : 2 * radius;
  }
  return wsi_jackknife_u (found);
}

static gboolean
fit_arc (const WsPoint *points, guint n, WsChainPiece *piece)
{
  if (n < WS_LINE_MIN_POINTS || !wsi_circle_fit (points, n, &piece->circle))
    return FALSE;
  g_autofree WsPoint *kept = g_new (WsPoint, 2 * (gsize)n);
  g_autofree double *scratch = g_new (double, n);
  guint m = 0;
  for (guint round = 0; round < ARC_ROUNDS; round++)
  {
    m = sound_points (points, n, piece, kept, scratch);
    if (2 * m < n || !wsi_circle_fit (kept, m, &piece->circle))
      return FALSE;
  }
  piece->used = (double)m / n;
  piece->u_radius = radius_u (kept, m, piece->circle.radius, kept + n);
  piece->start = on_circle (&piece->circle, points[0]);
  piece->end = on_circle (&piece->circle, points[n - 1]);
  /* From the middle, so that turns beyond half a circle keep their sign. */
  const WsPoint a = wsi_point_sub (piece->start, piece->circle.centre),
                b = wsi_point_sub (points[n / 2], piece->circle.centre),
                c = wsi_point_sub (piece->end, piece->circle.centre);
  piece->turn = atan2 (wsi_point_cross (a, b), wsi_point_dot (a, b)) +
                atan2 (wsi_point_cross (b, c), wsi_point_dot (b, c));
  return TRUE;
}

gboolean
wsi_chain_fit (const WsPoint *points, guint from, guint to, WsChainPiece *piece)
{
  piece->from = from;
  piece->to = to;
  if (to <= from)
    return FALSE;
  return piece->kind == WS_CHAIN_LINE ? fit_line (points + from, to - from, piece)
                                      : fit_arc (points + from, to - from, piece);
}

/* An arc that turns less than this is a line with a bow, as lenses and wheels leave one: its radius
 * would say nothing, rad (2 degrees; own choice, as for corners). */
#define LEAST_ARC_TURN 0.035

/* What only its ends, now left out, made an arc of, or damage, is a line after all. */
static gboolean
fit_as_found (const WsPoint *points, const WsChainRules *rules, WsChainPiece *piece)
{
  if (!wsi_chain_fit (points, piece->from, piece->to, piece))
    return FALSE;
  if (piece->kind == WS_CHAIN_LINE ||
      (piece->circle.radius * (1 - cos (0.5 * piece->turn)) >= rules->least_rise &&
       fabs (piece->turn) >= LEAST_ARC_TURN))
    return TRUE;
  piece->kind = WS_CHAIN_LINE;
  return wsi_chain_fit (points, piece->from, piece->to, piece);
}

GArray *
wsi_chain_split (const WsPoint *points, guint n, const WsChainRules *rules)
{
  if (n < WS_LINE_MIN_POINTS)
    return g_array_new (FALSE, TRUE, sizeof (WsChainPiece));
  const Price price = price_of (n, rules);
  GArray *pieces = best_cuts (points, n, &price);
  trim (pieces, rules->guard);
  merge (points, pieces, &price);
  for (guint i = pieces->len; i-- > 0;)
  {
    WsChainPiece *piece = piece_at (pieces, i);
    if (!fit_as_found (points, rules, piece))
      g_array_remove_index (pieces, i);
  }
  return pieces;
}

/* ---- Corners ---------------------------------------------------------------------- */

static double
length_of (const WsChainPiece *piece)
{
  return wsi_point_distance (piece->start, piece->end);
}

static gboolean
is_line (const GArray *pieces, guint i)
{
  return piece_at (pieces, i)->kind == WS_CHAIN_LINE;
}

/* Length of the outline between two pieces. */
static double
length_between (const WsPoint *points, const WsChainPiece *a, const WsChainPiece *b)
{
  double length = 0;
  for (guint i = a->to; i < b->from; i++)
    length += wsi_point_distance (points[i], points[i - 1]);
  return length;
}

static gboolean
corner_of (const WsPoint *points, const GArray *pieces, guint i, guint j, WsChainCorner *corner)
{
  const WsChainPiece *a = piece_at (pieces, i), *b = piece_at (pieces, j);
  const WsPoint p = a->line.direction, q = b->line.direction;
  const double turn = atan2 (wsi_point_cross (p, q), wsi_point_dot (p, q));
  if (fabs (turn) < LEAST_TURN || !wsi_line_meet (&a->line, &b->line, &corner->where) ||
      length_between (points, a, b) > MIN (length_of (a), length_of (b)))
    return FALSE;
  corner->before = i;
  corner->after = j;
  corner->angle = G_PI - fabs (turn);
  corner->u_angle = hypot (a->line.u_angle, b->line.u_angle);
  corner->is_convex = turn > 0;
  return TRUE;
}

GArray *
wsi_chain_corners (const GArray *pieces, const WsPoint *points)
{
  GArray *corners = g_array_new (FALSE, TRUE, sizeof (WsChainCorner));
  for (guint i = 0; i + 1 < pieces->len; i++)
  {
    if (!is_line (pieces, i))
      continue;
    const guint j = is_line (pieces, i + 1) ? i + 1 : i + 2;
    WsChainCorner corner;
    if (j < pieces->len && is_line (pieces, j) && corner_of (points, pieces, i, j, &corner))
      g_array_append_val (corners, corner);
  }
  return corners;
}
