#include "edge/spread.h"

#include "image/light.h"
#include "maths/least_squares.h"
#include "maths/stats.h"

#include <math.h>

/* The averaged spread has bins of a quarter pixel along the normal, out to four blurs and as wide a
 * halo as cameras make; for FAR_PX beyond lie the levels of tool and ground. */
#define BINS_PER_PX 4
#define MAX_REACH_PX 24
#define N_BINS (2 * MAX_REACH_PX * BINS_PER_PX)
#define REACH_BLURS 4.0
#define HALO_PX 5.0
#define FAR_PX 3.0

/* The edge's own light is gone so many blurs from it, px; a halo doesn't change noise. */
#define CLEAR_BLURS 3.5
#define CLEAR_PX 1.0

/* About so many scan lines are averaged; fewer than LEAST tell nothing. */
#define SCANS 4000
#define LEAST_SCANS 100

/* A scan line counts where the outline is straight as far as it reaches on both sides. */
#define LEAST_CHORD 0.9      /* of the outline's length between its ends */
#define MAX_OFF_CHORD_PX 0.5 /* of any point */
#define MAX_BOW_PX 0.12      /* of all on average */

/* Levels beside the edge differ by this part of what they differ by at the edge, or of what they do
 * on the better scan lines: sharpening makes the edge steeper than tool and ground are apart. */
#define LEAST_STEP 0.7
#define BETTER_SCANS 0.9

/* What plain pictures have: rendered and real silhouettes stay below 0.0025 beyond what their noise
 * explains, the greatest of some forty bins being taken. */
#define PLAIN_EXCESS 0.003
#define NOISE_FACTOR 3.0

/* Where edges lie within pixels; so large a share of scan lines is no chance. */
#define N_PHASES 16
#define PHASE_SHARE 0.02

/* A scan line much noisier than most crosses dust or dirt. */
#define DIRTY 2.0

/* Likewise of the lopsided part, whose bins out to SYMMETRIC_BLURS are compared. */
#define PLAIN_LOPSIDED 0.0005

/* More where edges cross pixels at one place, whose bias isn't averaged out: for each part of the
 * scan lines beyond what chance puts there. */
#define ONE_PHASE_LOPSIDED 0.0035
#define ONE_PHASE_CHANCE 0.2
#define LOPSIDED_NOISE_FACTOR 2.5
#define SYMMETRIC_BLURS 3.0

/* Brighter grounds are clipped here and there, which is lopsided. */
#define MAX_GROUND 0.95

typedef struct
{
  double sum[N_BINS];
  guint n[N_BINS];
  guint scans;
  guint by_phase[N_PHASES];
  double tool, ground;                 /* levels, summed over scan lines */
  double tool_squares, ground_squares; /* of differences between neighbours */
  guint tool_pairs, ground_pairs;
  double near_squares, far_squares; /* of the ground's neighbours, and of neighbours but one */
} Spread;

static double
reach_of (const WsOutline *outline)
{
  return MIN (REACH_BLURS * outline->blur_px + HALO_PX, MAX_REACH_PX - FAR_PX - 1.0);
}

static const WsEdgePoint *
point_at (const WsOutline *outline, guint i)
{
  return &g_array_index (outline->points, WsEdgePoint, i % outline->points->len);
}

/* Whether the outline is straight about a point, and then its normal there: that of the chord,
 * since a single point's is as noisy as the picture. */
static gboolean
is_straight (const WsOutline *outline, guint i, double reach, WsPoint *normal)
{
  const WsEdgePoint *p = point_at (outline, i);
  const guint n = outline->points->len;
  const guint beside = (guint)ceil ((reach + FAR_PX) / outline->spacing_px);
  if (2 * beside >= n)
    return FALSE;
  const WsEdgePoint *from = point_at (outline, i + n - beside);
  const WsEdgePoint *to = point_at (outline, i + beside);
  const double dx = to->x - from->x, dy = to->y - from->y, length = hypot (dx, dy);
  if (length < LEAST_CHORD * 2 * beside * outline->spacing_px)
    return FALSE;
  double away = 0;
  for (guint k = 0; k <= 2 * beside; k++)
  {
    const WsEdgePoint *q = point_at (outline, i + n - beside + k);
    const double off = ((q->x - from->x) * dy - (q->y - from->y) * dx) / length;
    if (q->on_frame || q->after_gap || fabs (off) > MAX_OFF_CHORD_PX)
      return FALSE;
    away += off;
  }
  const double turn = p->nx * dy - p->ny * dx < 0 ? -1 : 1;
  *normal = (WsPoint){ turn * dy / length, -turn * dx / length };
  return fabs (away) <= MAX_BOW_PX * (2 * beside + 1);
}

static double
squared_change (const float *light, guint apart)
{
  const double change = ((double)light[apart] - (double)light[0]) / WS_IMAGE_FULL_SCALE;
  return change * change;
}

/* The row or column that a point was located on, as far as it is looked at. */
typedef struct
{
  float light[4 * MAX_REACH_PX];
  int from, to;         /* pixels along it */
  double place, cosine; /* of the edge, and from pixels to px along the normal */
  double tool, ground;  /* levels beyond the reach */
} Scan;

/* FALSE where the picture ends.  Its levels alone unless `whole`. */
static gboolean
read_scan (const WsImage *image, const WsEdgePoint *p, WsPoint normal, double reach, gboolean whole,
           Scan *scan)
{
  const gboolean along_x = fabs (normal.x) >= fabs (normal.y);
  scan->cosine = along_x ? normal.x : normal.y;
  scan->place = along_x ? p->x : p->y;
  const int across = (int)lrint (along_x ? p->y : p->x);
  const int n = (int)(along_x ? image->width : image->height);
  const double half = (reach + FAR_PX) / fabs (scan->cosine);
  scan->from = (int)ceil (scan->place - half);
  scan->to = (int)floor (scan->place + half);
  if (scan->from < 0 || scan->to >= n || across < 0 ||
      across >= (int)(along_x ? image->height : image->width) ||
      scan->to - scan->from + 1 > (int)G_N_ELEMENTS (scan->light))
    return FALSE;
  double sum[2] = { 0, 0 };
  guint n_beyond[2] = { 0, 0 };
  for (int i = scan->from; i <= scan->to; i++)
  {
    const double t = (i - scan->place) * scan->cosine;
    const gboolean is_beyond = fabs (t) > reach;
    if (!is_beyond && !whole)
      continue;
    const float light =
      wsi_image_light_at (image, (guint)(along_x ? i : across), (guint)(along_x ? across : i));
    scan->light[i - scan->from] = light;
    sum[t > 0] += is_beyond ? (double)light : 0;
    n_beyond[t > 0] += is_beyond ? 1 : 0;
  }
  scan->tool = sum[0] / MAX (n_beyond[0], 1);
  scan->ground = sum[1] / MAX (n_beyond[1], 1);
  return n_beyond[0] > 0 && n_beyond[1] > 0;
}

static void
add_scan (const Scan *scan, double reach, Spread *spread)
{
  const double step = scan->ground - scan->tool;
  spread->tool += scan->tool / WS_IMAGE_FULL_SCALE;
  spread->ground += scan->ground / WS_IMAGE_FULL_SCALE;
  for (int i = scan->from; i <= scan->to; i++)
  {
    const float *light = &scan->light[i - scan->from];
    const double t = (i - scan->place) * scan->cosine, next = t + scan->cosine;
    if (i < scan->to && MIN (t, next) > reach)
    {
      spread->ground_squares += squared_change (light, 1);
      spread->ground_pairs++;
    }
    else if (i < scan->to && MAX (t, next) < -reach)
    {
      spread->tool_squares += squared_change (light, 1);
      spread->tool_pairs++;
    }
    const int bin = (int)((t + MAX_REACH_PX) * BINS_PER_PX);
    spread->sum[bin] += ((double)*light - scan->tool) / step;
    spread->n[bin]++;
  }
  const double within = scan->place - floor (scan->place);
  spread->by_phase[(guint)(within * N_PHASES) % N_PHASES]++;
  spread->scans++;
}

/* How much of the light's change between neighbours but one is left between neighbours. */
static void
add_neighbours (const Scan *scan, double blur, Spread *spread)
{
  for (int i = scan->from; i + 2 <= scan->to; i++)
  {
    const float *light = &scan->light[i - scan->from];
    const double t = (i - scan->place) * scan->cosine, last = t + 2 * scan->cosine;
    if (MIN (t, last) < CLEAR_BLURS * blur + CLEAR_PX)
      continue;
    spread->near_squares += squared_change (light, 1);
    spread->far_squares += squared_change (light, 2);
  }
}

/* Mean of three neighbouring bins; `beyond` when one of them is empty. */
static double
mean_at (const Spread *spread, int bin, double beyond)
{
  double sum = 0;
  for (int k = bin - 1; k <= bin + 1; k++)
  {
    if (spread->n[k] == 0)
      return beyond;
    sum += spread->sum[k] / spread->n[k];
  }
  return sum / 3;
}

/* Beside the edge, the nearest two bins left out, light above the ground's level. */
static double
greatest_excess (const Spread *spread, double reach)
{
  double most = 0;
  for (int k = 2; k + 1 < (int)(reach * BINS_PER_PX); k++)
    most = MAX (most, mean_at (spread, N_BINS / 2 + k, 1) - 1);
  return most;
}

/* What a symmetric spread leaves nothing of: light so far outside the edge and the lack of it so
 * far inside, but for a shift and for the levels.  RMS. */
static double
lopsided_part (const Spread *spread, double blur)
{
  const int n = CLAMP ((int)(SYMMETRIC_BLURS * blur * BINS_PER_PX), 6, N_BINS / 2 - 2);
  WsLeastSquares sums;
  double even[N_BINS / 2], slope[N_BINS / 2], b[2], squares = 0;
  guint seen = 0;
  wsi_least_squares_init (&sums, 2);
  for (int k = 0; k < n; k++)
  {
    const double z = (k + 0.5) / BINS_PER_PX / blur;
    const double outside = mean_at (spread, N_BINS / 2 + k, NAN);
    const double inside = mean_at (spread, N_BINS / 2 - 1 - k, NAN);
    if (isnan (outside) || isnan (inside))
      continue;
    slope[seen] = exp (-0.5 * z * z);
    even[seen] = (outside + inside - 1) / 2;
    const double J[2] = { 1, slope[seen] };
    wsi_least_squares_add (&sums, J, even[seen++], 1);
  }
  if (2 * seen < (guint)n || !wsi_least_squares_solve (&sums, b, NULL))
    return 0;
  for (guint k = 0; k < seen; k++)
  {
    const double rest = even[k] - b[0] - b[1] * slope[k];
    squares += rest * rest;
  }
  return sqrt (squares / seen);
}

/* A point of the outline to be read, and how levels beyond the reach differ there, as a part of
 * what they do at the edge. */
typedef struct
{
  guint point;
  WsPoint normal;
  double step;
} Place;

static GArray *
find_places (const WsImage *image, const WsOutline *outline, double reach)
{
  GArray *places = g_array_new (FALSE, FALSE, sizeof (Place));
  const guint stride = MAX (1, outline->points->len / SCANS);
  for (guint i = 0; i < outline->points->len; i += stride)
  {
    const WsEdgePoint *p = point_at (outline, i);
    Place place = { .point = i };
    Scan scan;
    if ((double)p->noise > DIRTY * outline->noise ||
        !is_straight (outline, i, reach, &place.normal) ||
        !read_scan (image, p, place.normal, reach, FALSE, &scan))
      continue;
    const double at_edge = (double)p->step * WS_IMAGE_FULL_SCALE;
    place.step = fabs (scan.ground - scan.tool) / MAX (at_edge, 1e-9);
    g_array_append_val (places, place);
  }
  return places;
}

/* In a thin fin one window lies beyond the other edge, and levels differ by little. */
static double
least_step (const GArray *places)
{
  g_autofree double *steps = g_new (double, places->len + 1);
  for (guint i = 0; i < places->len; i++)
    steps[i] = g_array_index (places, Place, i).step;
  const double better = places->len > 0 ? wsi_quantile (steps, places->len, BETTER_SCANS) : 1;
  return LEAST_STEP * MIN (better, 1);
}

static void
add_all (const WsImage *image, const WsOutline *outline, double reach, Spread *spread)
{
  g_autoptr (GArray) places = find_places (image, outline, reach);
  const double least = least_step (places);
  for (guint i = 0; i < places->len; i++)
  {
    const Place *place = &g_array_index (places, Place, i);
    Scan scan;
    if (place->step >= least && place->step > 0 &&
        read_scan (image, point_at (outline, place->point), place->normal, reach, TRUE, &scan))
    {
      add_scan (&scan, reach, spread);
      add_neighbours (&scan, outline->blur_px, spread);
    }
  }
}

WsEdgeSpread
wsi_edge_spread (const WsImage *image, const WsOutline *outline)
{
  Spread spread = { .scans = 0 };
  const double reach = reach_of (outline);
  add_all (image, outline, reach, &spread);
  if (spread.scans < LEAST_SCANS)
    return (WsEdgeSpread){ .scans = spread.scans };
  /* Three bins hold three quarters of the scan lines. */
  const double noise = outline->noise / sqrt (0.75 * spread.scans);
  WsEdgeSpread found = {
    .scans = spread.scans,
    .overshoot = MAX (greatest_excess (&spread, reach) - PLAIN_EXCESS - NOISE_FACTOR * noise, 0),
    .tool = spread.tool / spread.scans,
    .ground = spread.ground / spread.scans,
    .tool_noise = sqrt (spread.tool_squares / (2 * MAX (spread.tool_pairs, 1))),
    .ground_noise = sqrt (spread.ground_squares / (2 * MAX (spread.ground_pairs, 1))),
    .alike = spread.far_squares > 0 ? 1 - spread.near_squares / spread.far_squares : 0,
  };
  for (guint k = 0; k < N_PHASES; k++)
  {
    found.phases += spread.by_phase[k] > PHASE_SHARE * spread.scans ? 1 : 0;
    const guint about = spread.by_phase[k] + spread.by_phase[(k + 1) % N_PHASES] +
                        spread.by_phase[(k + 2) % N_PHASES];
    found.one_phase = MAX (found.one_phase, (double)about / spread.scans);
  }
  const double plain =
    PLAIN_LOPSIDED + ONE_PHASE_LOPSIDED * MAX (found.one_phase - ONE_PHASE_CHANCE, 0);
  /* Both sides together are twice as many. */
  if (found.ground < MAX_GROUND)
    found.lopsided = MAX (lopsided_part (&spread, outline->blur_px) - plain -
                            LOPSIDED_NOISE_FACTOR * noise / G_SQRT2,
                          0);
  return found;
}
