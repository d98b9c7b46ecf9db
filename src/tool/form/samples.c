#include "tool/form/samples.h"

#include "base/geometry.h"

/* A scan line's window is 4.5 blurs and 3 px long on either side (edge/outline.c), and another
 * edge's own blur reaches 2.5 blurs into it. */
#define WINDOW_BLURS 7.0
#define WINDOW_PX 3.0

/* Nearer than this to an edge of another direction, blur has moved the outline (a Gaussian's tail
 * beyond 3.5 deviations moves it by less than 0.001 of one). */
#define ROUNDED_BLURS 3.5
#define ROUNDED_PX 1.0

static gboolean
meets (const WsFormSample *a, const WsFormSample *b, double window, double rounded)
{
  /* Most pairs are farther apart than either rule reaches. */
  const double dx = a->at.x - b->at.x, dy = a->at.y - b->at.y;
  const double reach = MAX (rounded, G_SQRT2 * window);
  if (fabs (dx) > reach || fabs (dy) > reach || wsi_point_dot (a->heading, b->heading) > 0.5)
    return FALSE;
  if (hypot (dx, dy) < rounded)
    return TRUE;
  /* Rows or columns are scanned, whichever is nearer to the normal. */
  const gboolean by_row = fabs (a->heading.y) >= fabs (a->heading.x);
  const double cosine = by_row ? fabs (a->heading.y) : fabs (a->heading.x);
  const double along = fabs (by_row ? dx : dy), across = fabs (by_row ? dy : dx);
  return across < 1 && along < window / cosine;
}

/* In a sharp corner or a narrow notch an edge's light is mixed with the other's. */
static void
find_crowded (GArray *samples, double blur)
{
  const double window = WINDOW_PX + WINDOW_BLURS * blur;
  const double rounded = ROUNDED_PX + ROUNDED_BLURS * blur;
  for (guint i = 0; i < samples->len; i++)
  {
    WsFormSample *a = &g_array_index (samples, WsFormSample, i);
    for (guint j = 0; j < samples->len && !a->is_crowded; j++)
      a->is_crowded = meets (a, &g_array_index (samples, WsFormSample, j), window, rounded);
  }
}

/* Plain edges' scan lines misfit alike within a factor of 2; so many times the outline's own
 * misfit, and this part of the step, has something else beside the edge.  Own trials: under a film
 * of oil 0.03 to 0.1. */
#define MISFITS 4.0
#define LEAST_MISFIT 0.02

/* Most of so many points on either side: dust and hairs are shorter, and stand proud. */
#define BESIDE 12
#define MOST 0.6

/* `misfits`: of each sample. */
static void
find_veiled (GArray *samples, const float *misfits, double most)
{
  guint over = 0, n = 0;
  for (guint i = 0; i < samples->len + BESIDE; i++)
  {
    over += i < samples->len && (double)misfits[i] > most ? 1 : 0;
    n += i < samples->len ? 1 : 0;
    if (i > 2 * BESIDE)
    {
      over -= (double)misfits[i - 2 * BESIDE - 1] > most ? 1 : 0;
      n--;
    }
    if (i >= BESIDE)
      g_array_index (samples, WsFormSample, i - BESIDE).is_veiled = over > MOST * n;
  }
}

/* A pixel that reads wrong spoils so many scan lines; a nick or a speck spoils more, since blur
 * spreads it: a sharper picture than this might show one as narrow. */
#define MOST_SPOILT 2
#define SPREADS_PX 0.7

/* `misfits`: of each sample. */
static void
find_spoilt (GArray *samples, const float *misfits, double most)
{
  for (guint i = 0, n; i < samples->len; i += n + 1)
  {
    for (n = 0; i + n < samples->len && (double)misfits[i + n] > most;)
      n++;
    for (guint k = i; k < i + n && n <= MOST_SPOILT; k++)
      g_array_index (samples, WsFormSample, k).is_spoilt = TRUE;
  }
}

GArray *
wsi_form_samples (const WsOutline *outline)
{
  const WsEdgePoint *p = (const WsEdgePoint *)(void *)outline->points->data;
  const guint n = outline->points->len;
  GArray *samples = g_array_sized_new (FALSE, FALSE, sizeof (WsFormSample), n);
  g_autofree float *misfits = g_new (float, n);
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *a = &p[(i + n - 1) % n], *b = &p[(i + 1) % n];
    if (p[i].on_frame)
      continue;
    const double length = 0.5 * hypot (b->x - a->x, b->y - a->y);
    /* The tool lies on the right-hand side, the ground's normal on the left. */
    const WsFormSample sample = { { p[i].x, p[i].y },
                                  { -(double)p[i].ny, (double)p[i].nx },
                                  MIN (length, 4 * outline->spacing_px),
                                  (double)p[i].noise,
                                  FALSE,
                                  FALSE,
                                  FALSE };
    misfits[samples->len] = p[i].noise;
    g_array_append_val (samples, sample);
  }
  find_crowded (samples, outline->blur_px);
  const double most = MAX (MISFITS * outline->noise, LEAST_MISFIT);
  find_veiled (samples, misfits, most);
  if (outline->blur_px >= SPREADS_PX)
    find_spoilt (samples, misfits, most);
  return samples;
}
