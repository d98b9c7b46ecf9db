#include "edge/spread.h"

#include <math.h>

/* The averaged spread has bins of a quarter pixel along the normal, out to four blurs and as wide a
 * halo as cameras make; for FAR_PX beyond lie the levels of tool and ground. */
#define BINS_PER_PX 4
#define MAX_REACH_PX 24
#define N_BINS (2 * MAX_REACH_PX * BINS_PER_PX)
#define REACH_BLURS 4.0
#define HALO_PX 5.0
#define FAR_PX 3.0

/* About so many scan lines are averaged; fewer than LEAST tell nothing. */
#define SCANS 1500
#define LEAST_SCANS 100

/* A scan line counts where the outline is straight as far as it reaches on both sides. */
#define STRAIGHT_COSINE 0.999

/* Levels beside the edge differ by this part of what they differ by at the edge. */
#define LEAST_STEP 0.7

/* What plain pictures have: rendered and real silhouettes stay below 0.0025 beyond what their noise
 * explains, the greatest of some forty bins being taken. */
#define PLAIN_EXCESS 0.003
#define NOISE_FACTOR 3.0

typedef struct
{
  double sum[N_BINS];
  guint n[N_BINS];
  guint scans;
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

static gboolean
is_straight (const WsOutline *outline, guint i, double reach)
{
  const WsEdgePoint *p = point_at (outline, i);
  const guint n = outline->points->len;
  const guint beside = (guint)ceil ((reach + FAR_PX) / outline->spacing_px);
  if (2 * beside >= n)
    return FALSE;
  for (guint k = 0; k <= 2 * beside; k += MAX (1, beside / 3))
  {
    const WsEdgePoint *q = point_at (outline, i + n - beside + k);
    if (q->on_frame || q->after_gap || p->nx * q->nx + p->ny * q->ny < STRAIGHT_COSINE)
      return FALSE;
  }
  return TRUE;
}

/* Along the row or column that the point was located on. */
static gboolean
add_scan (const WsImage *image, const WsEdgePoint *p, double reach, Spread *spread)
{
  const gboolean along_x = fabsf (p->nx) >= fabsf (p->ny);
  const double cosine = along_x ? p->nx : p->ny, place = along_x ? p->x : p->y;
  const int across = (int)lrint (along_x ? p->y : p->x);
  const int n = (int)(along_x ? image->width : image->height);
  const double half = (reach + FAR_PX) / fabs (cosine);
  const int from = (int)ceil (place - half), to = (int)floor (place + half);
  if (from < 0 || to >= n || across < 0 || across >= (int)(along_x ? image->height : image->width))
    return FALSE;
  double tool = 0, ground = 0;
  guint n_tool = 0, n_ground = 0;
  float light[4 * MAX_REACH_PX];
  if (to - from + 1 > (int)G_N_ELEMENTS (light))
    return FALSE;
  for (int i = from; i <= to; i++)
  {
    const gsize at =
      along_x ? (gsize)across * image->width + (gsize)i : (gsize)i * image->width + (gsize)across;
    const double t = (i - place) * cosine;
    light[i - from] = image->linear[at];
    if (t > reach)
    {
      ground += light[i - from];
      n_ground++;
    }
    else if (t < -reach)
    {
      tool += light[i - from];
      n_tool++;
    }
  }
  if (n_tool == 0 || n_ground == 0)
    return FALSE;
  tool /= n_tool;
  const double step = ground / n_ground - tool;
  /* In a thin fin one window lies beyond the other edge. */
  if (fabs (step) < LEAST_STEP * p->step * WS_IMAGE_FULL_SCALE)
    return FALSE;
  for (int i = from; i <= to; i++)
  {
    const double t = (i - place) * cosine;
    const int bin = (int)floor ((t + MAX_REACH_PX) * BINS_PER_PX);
    spread->sum[bin] += (light[i - from] - tool) / step;
    spread->n[bin]++;
  }
  return TRUE;
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

double
wsi_edge_overshoot (const WsImage *image, const WsOutline *outline)
{
  Spread spread = { .scans = 0 };
  const double reach = reach_of (outline);
  const guint stride = MAX (1, outline->points->len / SCANS);
  for (guint i = 0; i < outline->points->len; i += stride)
    if (is_straight (outline, i, reach) && add_scan (image, point_at (outline, i), reach, &spread))
      spread.scans++;
  if (spread.scans < LEAST_SCANS)
    return 0;
  /* Three bins hold three quarters of the scan lines. */
  const double by_noise = NOISE_FACTOR * outline->noise / sqrt (0.75 * spread.scans);
  return MAX (greatest_excess (&spread, reach) - PLAIN_EXCESS - by_noise, 0);
}
