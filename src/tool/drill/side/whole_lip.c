#include "tool/drill/side/whole_lip.h"

#include "base/geometry.h"
#include "edge/scan.h"
#include "maths/jackknife.h"
#include "maths/least_squares.h"
#include "maths/robust.h"
#include "maths/stats.h"

/* Legendre terms over the line's range, -1 .. 1: place, slope, bow, and what is left of the form.
 */
#define TERMS 4

/* The third term is this part of the bow, as flanks ground as cones or planes make it, and its
 * standard deviation: a part of the bow and of the radius. */
#define CUBIC (-0.03)
#define CUBIC_SD 0.03
#define CUBIC_LEAST 1.0e-5

/* A lip is looked at from so near the axis, in radii, and from so far behind the chisel edge's end,
 * parts of its half width and blurs. */
#define WHOLE_FROM 0.13
#define FLAT_CLEAR 1.2
#define FLAT_BLURS 3.0

/* And up to so near its corner, blurs and px, where the blurred corner begins; a lip that is but a
 * little worn there goes on as if it weren't for some more. */
#define CORNER_BLURS 8.0
#define CORNER_PX 5.0

/* Beyond the line's range a lip goes on as long as blocks of so many points are where it is
 * expected, in standard deviations. */
#define BLOCK 6
#define GOES_ON 3.0

/* The whole lip has to agree with its part, in standard deviations of what they may differ by. */
#define AGREES 3.0

#define ROUNDS 6

/* Light has its own noise, so that the tool's is the less; of the ground's variance it is taken for
 * no less than this, since a curve may hide what is darker. */
#define LEAST_SHARE 0.25

/* No edge scatters less than this, px. */
#define LEAST_SCATTER 0.004
#define LEAST_REACH 0.02

/* Place along the lip, -1 .. 1 over the line's range, and distance outside its line, px. */
typedef struct
{
  double q, d;
} Place;

/* A lip's points from the axis outward. */
typedef struct
{
  GArray *places; /* of Place */
  double *weight;
  double half;  /* of the line's range, px */
  double sigma; /* of a point */
  double radius;
  guint from, to; /* points that count */
} Whole;

/* What is known of the third term. */
typedef struct
{
  double mean, sd;
} Cubic;

static Place
at (const Whole *whole, guint i)
{
  return g_array_index (whole->places, Place, i);
}

static int
outward (gconstpointer a, gconstpointer b)
{
  const double qa = ((const Place *)a)->q, qb = ((const Place *)b)->q;
  return (qa > qb) - (qa < qb);
}

static void
fill_row (double q, double row[TERMS])
{
  row[0] = 1;
  row[1] = q;
  row[2] = 0.5 * (3 * q * q - 1);
  row[3] = 0.5 * (5 * q * q - 3) * q;
}

static double
residual (const Whole *whole, const double x[TERMS], guint i)
{
  double row[TERMS], sum = at (whole, i).d;
  fill_row (at (whole, i).q, row);
  for (guint k = 0; k < TERMS; k++)
    sum -= x[k] * row[k];
  return sum;
}

/* Without the points from `skip_from` up to `skip_to`. */
static gboolean
solve (const Whole *whole, const Cubic *cubic, guint skip_from, guint skip_to, double x[TERMS],
       double *inverse)
{
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, TERMS);
  for (guint i = whole->from; i < whole->to; i++)
  {
    double row[TERMS];
    if (i >= skip_from && i < skip_to)
      continue;
    fill_row (at (whole, i).q, row);
    wsi_least_squares_add (&sums, row, at (whole, i).d, whole->weight[i]);
  }
  const double part = whole->sigma / cubic->sd;
  wsi_least_squares_prior (&sums, 3, cubic->mean, part * part);
  return wsi_least_squares_solve (&sums, x, inverse);
}

static void
weigh (Whole *whole, const double x[TERMS])
{
  const double reach = WS_TUKEY_REACH * MAX (whole->sigma, LEAST_REACH);
  for (guint i = whole->from; i < whole->to; i++)
    whole->weight[i] = wsi_tukey_weight (residual (whole, x, i) / reach);
}

static double
scatter (const Whole *whole, const double x[TERMS])
{
  const guint n = whole->to - whole->from;
  g_autofree double *off = g_new (double, n);
  for (guint i = 0; i < n; i++)
    off[i] = fabs (residual (whole, x, whole->from + i));
  return MAX (wsi_absolute_sigma (off, n), LEAST_SCATTER);
}

/* Robust, the third term as the bow says. */
static gboolean
fit (Whole *whole, double x[TERMS], double inverse[TERMS * TERMS], Cubic *cubic)
{
  for (guint round = 0; round < ROUNDS; round++)
  {
    *cubic = (Cubic){ CUBIC * x[2], hypot (CUBIC_SD * x[2], CUBIC_LEAST * whole->radius) };
    weigh (whole, x);
    if (!solve (whole, cubic, 0, 0, x, inverse))
      return FALSE;
  }
  return TRUE;
}

/* Whether `n` points from `from` on lie where the lip is expected. */
static gboolean
goes_on (const Whole *whole, const double x[TERMS], const double inverse[TERMS * TERMS], guint from,
         guint n)
{
  double row[TERMS], mean = 0, spread = 1.0 / n;
  for (guint i = from; i < from + n; i++)
    mean += residual (whole, x, i) / n;
  fill_row (at (whole, from + n / 2).q, row);
  for (guint j = 0; j < TERMS; j++)
    for (guint k = 0; k < TERMS; k++)
      spread += row[j] * inverse[j * TERMS + k] * row[k];
  return fabs (mean) < GOES_ON * whole->sigma * sqrt (spread);
}

/* From the line's range on to both ends, as far as the lip goes on. */
static void
reach_out (Whole *whole, const double x[TERMS], const double inverse[TERMS * TERMS])
{
  const guint n = whole->places->len;
  for (gboolean is_lip = TRUE; is_lip && whole->from > 0;)
  {
    const guint block = MIN (BLOCK, whole->from);
    is_lip = goes_on (whole, x, inverse, whole->from - block, block);
    whole->from -= is_lip ? block : 0;
  }
  for (gboolean is_lip = TRUE; is_lip && whole->to < n;)
  {
    const guint block = MIN (BLOCK, n - whole->to);
    is_lip = goes_on (whole, x, inverse, whole->to, block);
    whole->to += is_lip ? block : 0;
  }
}

/* What each point's distance counts in the slope, without those that are skipped. */
static gboolean
find_shares (const Whole *whole, const Cubic *cubic, guint skip_from, guint skip_to, double *shares)
{
  double x[TERMS], inverse[TERMS * TERMS];
  if (!solve (whole, cubic, skip_from, skip_to, x, inverse))
    return FALSE;
  for (guint i = whole->from; i < whole->to; i++)
  {
    double row[TERMS], sum = 0;
    fill_row (at (whole, i).q, row);
    for (guint k = 0; k < TERMS; k++)
      sum += inverse[TERMS + k] * row[k];
    shares[i - whole->from] = i >= skip_from && i < skip_to ? 0 : whole->weight[i] * sum;
  }
  return TRUE;
}

/* Standard uncertainty of the slope by the edge's scatter.  A jackknife is too great where blocks
 * count for much, as a line's ends do: by as much as it would be were the scatter white, which is
 * known, it is made less. */
static double
u_by_scatter (const Whole *whole, const Cubic *cubic)
{
  const guint n = whole->to - whole->from, blocks = WS_JACKKNIFE_BLOCKS;
  g_autofree double *shares = g_new (double, (blocks + 1) * (gsize)n);
  double without[WS_JACKKNIFE_BLOCKS] = { 0 }, white = 0, jackknife = 0;
  gboolean is_known = find_shares (whole, cubic, 0, 0, shares + blocks * (gsize)n);
  for (guint b = 0; b < blocks && is_known; b++)
  {
    is_known = find_shares (whole, cubic, whole->from + wsi_jackknife_from (n, b),
                            whole->from + wsi_jackknife_from (n, b + 1), shares + b * (gsize)n);
    for (guint i = 0; i < n && is_known; i++)
      without[b] += shares[b * (gsize)n + i] * at (whole, whole->from + i).d;
  }
  for (guint i = 0; i < n && is_known; i++)
  {
    double of_point[WS_JACKKNIFE_BLOCKS];
    for (guint b = 0; b < blocks; b++)
      of_point[b] = shares[b * (gsize)n + i];
    jackknife += pow (wsi_jackknife_u (of_point), 2);
    white += pow (shares[blocks * (gsize)n + i], 2);
  }
  return is_known && jackknife > 0 ? wsi_jackknife_u (without) * sqrt (white / jackknife)
                                   : HUGE_VAL;
}

/* And with what the third term leaves uncertain. */
static double
u_of_slope (const Whole *whole, const Cubic *cubic, double slope)
{
  const Cubic other = { cubic->mean + cubic->sd, cubic->sd };
  double x[TERMS];
  if (!solve (whole, &other, 0, 0, x, NULL))
    return HUGE_VAL;
  return hypot (u_by_scatter (whole, cubic), x[1] - slope);
}

/* 1 where the line runs outward, else -1; and where its normal points out of the tool. */
static double
outward_along (const WsDrillLip *lip)
{
  return lip->line.direction.x * lip->side < 0 ? -1 : 1;
}

static double
outward_across (const WsDrillLip *lip)
{
  return lip->line.direction.x - lip->line.direction.y * lip->side < 0 ? -1 : 1;
}

/* The outline from chisel edge to corner, sorted since it may begin on a lip. */
static gboolean
collect (const WsDrillPoint *point, const WsDrillLip *lip, const double *moves, Whole *whole)
{
  const WsLineFit *line = &lip->line;
  const WsOutline *outline = point->outline;
  const double blur = outline->blur_max_px, R = point->radius;
  const double flat = (point->apex.y - point->tip.y) * tan (lip->half_angle);
  const double from =
    MAX (WHOLE_FROM * R, FLAT_CLEAR * flat + fabs (point->apex.x) + FLAT_BLURS * blur);
  const double to = R - MAX (CORNER_BLURS * blur, CORNER_PX);
  const double middle = 0.5 * (line->t_low + line->t_high);
  const double along = outward_along (lip), across = outward_across (lip);
  const guint n = outline->points->len;
  for (guint i = 0; i < n; i++)
  {
    const WsPoint p = point->uz[i];
    const double out = p.x * lip->side;
    if (out < from || out > to || p.y < lip->corner.y ||
        g_array_index (outline->points, WsEdgePoint, i).on_frame)
      continue;
    const double t = wsi_point_dot (wsi_point_sub (p, line->centre), line->direction);
    const Place place = { along * (t - middle) / whole->half,
                          across * wsi_line_distance (line, p) + moves[i] };
    g_array_append_val (whole->places, place);
  }
  g_array_sort (whole->places, outward);
  return whole->places->len >= WS_LINE_MIN_POINTS;
}

/* The points of the line's own range. */
static void
begin_with_part (Whole *whole)
{
  const guint n = whole->places->len;
  whole->from = 0;
  while (whole->from < n && at (whole, whole->from).q < -1)
    whole->from++;
  whole->to = whole->from;
  while (whole->to < n && at (whole, whole->to).q <= 1)
    whole->to++;
}

static void
direct (WsDrillPoint *point, guint k, Whole *whole)
{
  WsDrillLip *lip = &point->lips[k];
  double x[TERMS] = { 0 }, of_part[TERMS * TERMS], of_whole[TERMS * TERMS];
  Cubic cubic;
  begin_with_part (whole);
  const guint n_part = whole->to - whole->from;
  x[2] = outward_across (lip) * lip->line.bow;
  if (n_part < WS_LINE_MIN_POINTS || !fit (whole, x, of_part, &cubic))
    return;
  const double before = whole->sigma * whole->sigma * of_part[TERMS + 1];
  whole->sigma = scatter (whole, x);
  reach_out (whole, x, of_part);
  if (whole->to - whole->from < n_part + BLOCK || !fit (whole, x, of_whole, &cubic))
    return;
  const double variance = before - whole->sigma * whole->sigma * of_whole[TERMS + 1];
  if (!(fabs (x[1]) < AGREES * sqrt (MAX (variance, 0))))
    return;
  const double turn = outward_along (lip) * outward_across (lip) * atan (x[1] / whole->half);
  const double u = u_of_slope (whole, &cubic, x[1]);
  if (!isfinite (u))
    return;
  lip->line.u_angle = u / whole->half;
  lip->white_angle = whole->sigma * sqrt (of_whole[TERMS + 1]) / whole->half;
  wsi_drill_point_turn_lip (point, k, turn);
}

/* Where something may stand proud unseen, more than scatter is in doubt. */
static gboolean
is_clean (const WsDrillLip *lip)
{
  return !(lip->proud.height > 0) && !lip->proud.unclear && !(lip->wire.height > 0) &&
         !lip->wire.on_tip && !(lip->hidden > 0) && lip->proud.u_angle <= lip->line.u_angle;
}

double *
wsi_whole_lips_weigh (const WsImage *image, const WsDrillPoint *point)
{
  const WsOutline *outline = point->outline;
  const guint n = outline->points->len;
  const double low = MIN (point->lips[0].corner.y, point->lips[1].corner.y);
  const double tool = outline->spread.tool_noise, ground = outline->spread.ground_noise;
  double *moves = g_new0 (double, n + 1);
  if (outline->front_lit || !(tool < ground))
    return moves;
  const double share = MAX (tool * tool / (ground * ground), LEAST_SHARE);
  WsScanFitter fitter;
  wsi_scan_fitter_init (&fitter, image, FALSE);
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    if (p->on_frame || point->uz[i].y < low)
      continue;
    double blur;
    const WsCrack c = wsi_outline_crack (p, outline->blur_px, &blur);
    moves[i] = wsi_scan_weighed_move (&fitter, &c, blur, share) *
               MAX (fabs ((double)p->nx), fabs ((double)p->ny));
  }
  return moves;
}

void
wsi_whole_lips_direct (WsDrillPoint *point, const double *moves)
{
  if (point->outline->front_lit)
    return;
  for (guint k = 0; k < 2; k++)
  {
    const WsDrillLip *lip = &point->lips[k];
    const guint n = point->outline->points->len;
    g_autoptr (GArray) places = g_array_new (FALSE, FALSE, sizeof (Place));
    g_autofree double *weight = g_new0 (double, n + 1);
    Whole whole = { .places = places,
                    .weight = weight,
                    .half = 0.5 * (lip->line.t_high - lip->line.t_low),
                    .sigma = MAX (lip->line.scatter, LEAST_SCATTER),
                    .radius = point->radius };
    if (is_clean (lip) && collect (point, lip, moves, &whole))
      direct (point, k, &whole);
  }
}
