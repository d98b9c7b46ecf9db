#include "edge/flake.h"

#include <math.h>

#include "base/geometry.h"
#include "image/light.h"
#include "maths/robust.h"
#include "maths/stats.h"

/* Light is looked at on curves outside of both lines, so far apart and at such steps, px. */
#define STEP 0.5
#define MOST_CURVES 400

/* Nearer to the lines the edges' own blur hides a flake: blurs and px.  A flake that ends there is
 * too low to be told. */
#define FROM_BLURS 1.5
#define FROM_PX 0.5
#define LEAST_BLURS 0.8

/* Across a flake: from where its darkness is greatest. */
#define ACROSS_BLURS 3.0
#define ACROSS_PX 2.0

/* Darker than the ground beside it by so much of the step and so many deviations of it: own trials
 * on rendered tips. */
#define LEAST_DARK 0.04
#define DEVIATIONS 6.0

/* It hangs at the tool: between, nothing is so much lighter than farther out. */
#define CONNECTED 0.35

/* Thicker for its height is a drop or a grain; between both the picture doesn't tell. */
#define ROUND 0.75
#define UNCLEAR 0.6

/* What an end that isn't cut square, or ragged teeth one behind the other, make of the height. */
#define END_BLURS 0.25
#define END_PX 0.15
#define END_SHARE 0.04

/* Beside the curve's near part, over so many px, the edges tell what the light is without it. */
#define LEAST_BESIDE 12.0

typedef struct
{
  const WsImage *image;
  const WsFlakeSight *sight;
  WsPoint out[2]; /* square to the lines, away from the tool */
  double turn;    /* from one of them to the other, rad, signed */
  double ground, tool;
} Work;

/* One curve at a distance from both lines. */
typedef struct
{
  double off;
  double dark;  /* greatest, above what lies beside it, of the step */
  double sum;   /* over the flake, px of full darkness */
  double u_sum; /* its standard deviation */
  double least; /* darkness that would be told */
  WsPoint at;   /* where it is darkest */
} Curve;

/* ---- Light ----------------------------------------------------------------------------------- */

/* FALSE outside of the picture. */
static gboolean
light_at (const WsImage *image, WsPoint p, double *light)
{
  if (!(p.x >= 0 && p.y >= 0 && p.x < image->width - 1.0 && p.y < image->height - 1.0))
    return FALSE;
  const guint x = (guint)p.x, y = (guint)p.y;
  const double a = p.x - x, b = p.y - y;
  const double above =
    (1 - a) * wsi_image_light_at (image, x, y) + a * wsi_image_light_at (image, x + 1, y);
  const double below =
    (1 - a) * wsi_image_light_at (image, x, y + 1) + a * wsi_image_light_at (image, x + 1, y + 1);
  *light = ((1 - b) * above + b * below) / WS_IMAGE_FULL_SCALE;
  return TRUE;
}

static WsPoint
beside (const Work *work, guint side, double along, double off)
{
  const WsPoint on = wsi_point_along (work->sight->place, along, work->sight->away[side]);
  return wsi_point_along (on, off, work->out[side]);
}

/* Mean light at that distance from the lines, away from the corner. */
static gboolean
mean_beside (const Work *work, double off, double *mean)
{
  const WsFlakeSight *sight = work->sight;
  double sum = 0;
  guint n = 0;
  for (guint side = 0; side < 2; side++)
    for (double along = sight->reach + sight->most; along < sight->length[side]; along += 1)
    {
      double light;
      if (!light_at (work->image, beside (work, side, along, off), &light))
        continue;
      sum += light;
      n++;
    }
  *mean = sum / MAX (n, 1);
  return n >= LEAST_BESIDE;
}

/* ---- Curves ---------------------------------------------------------------------------------- */

/* Places of the curve from one line round the corner to the other, STEP apart. */
static GArray *
places_of (const Work *work, double off)
{
  GArray *places = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  const double arc = fabs (work->turn) * off, sense = work->turn > 0 ? 1 : -1;
  const double near = work->sight->reach + work->sight->most;
  for (double s = -near; s < arc + near; s += STEP)
  {
    WsPoint p;
    if (s < 0 || s > arc)
      p = s < 0 ? beside (work, 0, -s, off) : beside (work, 1, s - arc, off);
    else
    {
      const double t = sense * s / off, c = cos (t), d = sin (t);
      const WsPoint o = work->out[0];
      p =
        wsi_point_along (work->sight->place, off, wsi_point (c * o.x - d * o.y, d * o.x + c * o.y));
    }
    g_array_append_val (places, p);
  }
  return places;
}

/* What the tool's own corner, blurred, darkens a place by: closely, for one of about 90 degrees. */
static double
corner_at (const Work *work, WsPoint p)
{
  const WsPoint d = wsi_point_sub (p, work->sight->place);
  const double blur = work->sight->blur;
  return wsi_normal_cdf (-wsi_point_dot (d, work->out[0]) / blur) *
         wsi_normal_cdf (-wsi_point_dot (d, work->out[1]) / blur);
}

/* How dark they are beside a clean corner, of the step; FALSE where some lie outside of the
 * picture. */
static gboolean
darkness_of (const Work *work, const GArray *places, double *dark)
{
  for (guint i = 0; i < places->len; i++)
  {
    double light;
    const WsPoint p = g_array_index (places, WsPoint, i);
    if (!light_at (work->image, p, &light))
      return FALSE;
    dark[i] = (work->ground - light) / (work->ground - work->tool) - corner_at (work, p);
  }
  return TRUE;
}

/* The darkest place, mean of three, within `within` of `last` where that isn't NULL. */
static guint
darkest (const GArray *places, const double *dark, const WsPoint *last, double within)
{
  guint best = 0;
  double most = -HUGE_VAL;
  for (guint i = 1; i + 1 < places->len; i++)
  {
    const double mean = (dark[i - 1] + dark[i] + dark[i + 1]) / 3;
    if (mean > most &&
        (last == NULL || wsi_point_distance (g_array_index (places, WsPoint, i), *last) < within))
    {
      most = mean;
      best = i;
    }
  }
  return best;
}

static gboolean
read_curve (const Work *work, const WsPoint *last, Curve *curve)
{
  const double across = ACROSS_BLURS * work->sight->blur + ACROSS_PX;
  g_autoptr (GArray) places = places_of (work, curve->off);
  g_autofree double *dark = g_new (double, places->len);
  g_autofree double *rest = g_new (double, places->len);
  if (places->len < 3 || !darkness_of (work, places, dark))
    return FALSE;
  const guint at = darkest (places, dark, last, across);
  curve->at = g_array_index (places, WsPoint, at);
  guint n = 0, inside = 0;
  double sum = 0;
  for (guint i = 0; i < places->len; i++)
    if (wsi_point_distance (g_array_index (places, WsPoint, i), curve->at) > across)
      rest[n++] = dark[i];
    else
    {
      sum += dark[i];
      inside++;
    }
  if (n < LEAST_BESIDE / STEP || at == 0 || at + 1 >= places->len)
    return FALSE;
  const double base = wsi_median (rest, n);
  for (guint i = 0; i < n; i++)
    rest[i] = fabs (rest[i] - base);
  const double sigma = wsi_absolute_sigma (rest, n);
  curve->dark = (dark[at - 1] + dark[at] + dark[at + 1]) / 3 - base;
  curve->sum = STEP * (sum - inside * base);
  /* Neighbours share pixels: two places, a pixel. */
  curve->u_sum = STEP * sigma * sqrt (2.0 * inside) + 0.3 * STEP * sigma * sqrt ((double)inside);
  curve->least = MAX (LEAST_DARK, DEVIATIONS * sigma);
  return TRUE;
}

/* From where a flake would show, outward. */
static GArray *
read_curves (const Work *work)
{
  const WsFlakeSight *sight = work->sight;
  GArray *curves = g_array_new (FALSE, FALSE, sizeof (Curve));
  Curve curve = { .off = FROM_BLURS * sight->blur + FROM_PX };
  WsPoint last;
  for (guint i = 0; i < MOST_CURVES && curve.off < sight->most; i++, curve.off += STEP)
  {
    if (!read_curve (work, i > 0 ? &last : NULL, &curve))
      break;
    last = curve.at;
    g_array_append_val (curves, curve);
  }
  return curves;
}

/* ---- The flake's end ------------------------------------------------------------------------- */

/* How thick a flake is from the lines outward: about as thick all the way, as foil is, or pointed.
 */
typedef enum
{
  FOIL,
  POINTED
} Taper;

/* Of foil the end has no less than this of its root's thickness. */
#define FOIL_LEAST 0.5

/* Squares that a thickness a + b off, blurred where it ends, leaves of the sums. */
static double
misfit (const GArray *curves, Taper taper, double end, double blur)
{
  double aa = 0, ab = 0, bb = 0, ay = 0, by = 0, yy = 0;
  for (guint i = 0; i < curves->len; i++)
  {
    const Curve *c = &g_array_index (curves, Curve, i);
    const double w = 1 / MAX (c->u_sum * c->u_sum, 1e-6);
    const double f = wsi_normal_cdf ((end - c->off) / blur), g = f * c->off / end;
    aa += w * f * f;
    ab += w * f * g;
    bb += w * g * g;
    ay += w * f * c->sum;
    by += w * g * c->sum;
    yy += w * c->sum * c->sum;
  }
  const double det = aa * bb - ab * ab;
  const double b = det > 1e-9 * aa * bb ? (by * aa - ay * ab) / (ay * bb - by * ab) : 0;
  /* Of its root's thickness, what it loses outward. */
  const double lost = taper == POINTED ? 1 : isfinite (b) ? CLAMP (-b, 0, 1 - FOIL_LEAST) : 0;
  const double pp = aa - 2 * lost * ab + lost * lost * bb, py = ay - lost * by;
  return pp > 0 && py > 0 ? yy - py * py / pp : yy;
}

typedef struct
{
  double at, u, squares;
} End;

/* Where the misfit is least, and by how much that may be off. */
static End
find_end (const GArray *curves, Taper taper, double from, double to, double blur)
{
  const double grain = 0.05;
  End end = { from, grain, HUGE_VAL };
  for (double at = from; at <= to; at += grain)
  {
    const double squares = misfit (curves, taper, at, blur);
    if (squares < end.squares)
      end = (End){ at, grain, squares };
  }
  /* Of residuals that are more than noise the deviations are as much greater. */
  const double scale = MAX (end.squares / MAX (curves->len - 3.0, 1), 1);
  double low = end.at, high = low;
  while (low > from && misfit (curves, taper, low - grain, blur) < end.squares + scale)
    low -= grain;
  while (high < to && misfit (curves, taper, high + grain, blur) < end.squares + scale)
    high += grain;
  end.u = MAX (0.5 * (high - low), grain);
  return end;
}

/* Foil, unless a point explains the light that much better; then what they differ by may be off. */
#define POINTED_LESS 2.0

static End
either_end (const GArray *curves, double from, double to, double blur)
{
  const End foil = find_end (curves, FOIL, from, to, blur),
            pointed = find_end (curves, POINTED, from, to, blur);
  const double n = curves->len;
  const double a = 1 / pow (foil.squares + n, 2), b = 1 / pow (pointed.squares + n, 2);
  const double share = foil.squares + n <= POINTED_LESS * (pointed.squares + n) ? 1 : a / (a + b);
  return (End){ share * foil.at + (1 - share) * pointed.at,
                hypot (share * foil.u + (1 - share) * pointed.u,
                       sqrt (share * (1 - share)) * (pointed.at - foil.at)),
                MIN (foil.squares, pointed.squares) };
}

/* Curves that it darkens in one go from the tool on, as an index behind the last; 0: none. */
static guint
dark_to (const GArray *curves)
{
  guint last = 0;
  double farther = 0;
  for (guint i = curves->len; i-- > 0;)
  {
    const Curve *c = &g_array_index (curves, Curve, i);
    if (c->dark > c->least && last == 0)
      last = i + 1;
    /* A gap: what lies beyond it doesn't hang at the tool. */
    if (c->dark < CONNECTED * farther)
    {
      last = 0;
      farther = 0;
    }
    farther = MAX (farther, c->dark);
  }
  return last;
}

static double
thickness_at (const GArray *curves, double off)
{
  double nearest = HUGE_VAL, sum = 0;
  for (guint i = 0; i < curves->len; i++)
  {
    const Curve *c = &g_array_index (curves, Curve, i);
    if (fabs (c->off - off) < nearest)
    {
      nearest = fabs (c->off - off);
      sum = c->sum;
    }
  }
  return sum;
}

static void
read_flake (const Work *work, GArray *curves, guint last, WsFlake *flake)
{
  const WsFlakeSight *sight = work->sight;
  const Curve *end = &g_array_index (curves, Curve, last - 1);
  const double from = g_array_index (curves, Curve, 0).off - sight->blur;
  const double to = end->off + 2 * sight->blur;
  const gboolean is_cut = last == curves->len;
  flake->where = end->at;
  g_array_set_size (curves, MIN (curves->len, last + (guint)ceil (2 * sight->blur / STEP)));
  const End found = either_end (curves, from, to, sight->blur);
  flake->height = found.at;
  flake->u_height =
    hypot (hypot (found.u, END_PX + END_BLURS * sight->blur), END_SHARE * flake->height);
  flake->thickness = thickness_at (curves, 0.5 * flake->height);
  flake->shape = is_cut || flake->thickness > ROUND * flake->height ? WS_BURR_ROUND
                 : flake->thickness > UNCLEAR * flake->height       ? WS_BURR_UNCLEAR
                                                                    : WS_BURR_WIRE;
}

gboolean
wsi_flake_read (const WsImage *image, const WsFlakeSight *sight, WsFlake *flake)
{
  Work work = { .image = image, .sight = sight };
  const double deep = 4 * sight->blur + 2;
  *flake = (WsFlake){ .least = (FROM_BLURS + LEAST_BLURS) * sight->blur + FROM_PX };
  for (guint side = 0; side < 2; side++)
  {
    const WsPoint along = sight->away[side], other = sight->away[1 - side];
    const double sense = wsi_point_cross (along, other) > 0 ? 1 : -1;
    work.out[side] = wsi_point (sense * along.y, -sense * along.x);
  }
  work.turn =
    atan2 (wsi_point_cross (work.out[0], work.out[1]), wsi_point_dot (work.out[0], work.out[1]));
  if (!mean_beside (&work, sight->most, &work.ground) || !mean_beside (&work, -deep, &work.tool) ||
      !(fabs (work.ground - work.tool) > 0.02))
    return FALSE;
  g_autoptr (GArray) curves = read_curves (&work);
  if (curves->len * STEP < 3 * sight->blur + 4)
    return FALSE;
  const guint last = dark_to (curves);
  if (last > 0)
    read_flake (&work, curves, last, flake);
  return TRUE;
}
