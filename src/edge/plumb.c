#include "edge/plumb.h"

#include "edge/runs.h"
#include "maths/least_squares.h"

#include <math.h>

/* For the cut: so many points are enough; PRICE in px^2. */
#define CUT_POINTS 600
#define CUT_SHORTEST 10
#define PRICE 9.0

/* Shorter stretches, as parts of the picture's diagonal, tell nothing beside their own bow. */
#define LEAST_LENGTH 0.06

/* Left out at each end, where corners and curves begin: a part of the stretch, and blurs. */
#define TRIM 0.08
#define TRIM_BLURS 3.0

/* What ground edges are bowed by themselves, px. */
#define OWN_BOW_PX 0.03

/* Farther from its parabola, RMS and px, a stretch isn't straight; nor is it when its middle has
 * another bow. */
#define MAX_RMS_PX 0.35
#define MIDDLE 0.6
#define MAX_SIGMAS 3.0

/* Neighbouring points share what the edge does: one in so many counts. */
#define CORRELATED 5.0

typedef struct
{
  const WsEdgePoint *points;
  guint n;
  WsPoint centre, direction, normal; /* of its line, px */
  double half;                       /* of its length */
} Stretch;

typedef struct
{
  double bow, u; /* how far its middle lies off its ends along the normal */
  double rms;
} Bow;

/* A parabola by least squares through what lies within `part` of the middle, once more without what
 * is farther than three deviations. */
static gboolean
fit_bow (const Stretch *stretch, double part, Bow *bow)
{
  double b[3] = { 0 }, inverse[9], most = HUGE_VAL;
  for (int pass = 0; pass < 2; pass++)
  {
    WsLeastSquares sums;
    double squares = 0;
    guint n = 0;
    wsi_least_squares_init (&sums, 3);
    for (int fitted = 0; fitted < 2; fitted++)
    {
      if (fitted && !wsi_least_squares_solve (&sums, b, inverse))
        return FALSE;
      for (guint i = 0; i < stretch->n; i++)
      {
        const WsEdgePoint *p = &stretch->points[i];
        const double dx = p->x - stretch->centre.x, dy = p->y - stretch->centre.y;
        const double t = (dx * stretch->direction.x + dy * stretch->direction.y) / stretch->half;
        const double off = dx * stretch->normal.x + dy * stretch->normal.y;
        const double row[3] = { 1, t, 1 - t * t };
        const double rest = off - b[0] - b[1] * row[1] - b[2] * row[2];
        if (fabs (t) > part || p->on_frame || p->after_gap || fabs (rest) > most)
          continue;
        if (!fitted)
          wsi_least_squares_add (&sums, row, off, 1);
        squares += fitted ? rest * rest : 0;
        n += fitted ? 1 : 0;
      }
    }
    if (n < 2 * CUT_SHORTEST)
      return FALSE;
    bow->rms = sqrt (squares / n);
    most = MAX (3 * bow->rms, 0.05);
  }
  bow->bow = b[2];
  bow->u = bow->rms * sqrt (CORRELATED * inverse[8]);
  return TRUE;
}

/* Both parabolas are one where a lens bowed a line; flutes and worn ends fall away at the ends. */
static gboolean
measure_bow (const Stretch *stretch, Bow *bow)
{
  Bow middle;
  if (!fit_bow (stretch, 1, bow) || !fit_bow (stretch, MIDDLE, &middle) || bow->rms > MAX_RMS_PX)
    return FALSE;
  /* Of the middle part the parabola's coefficient is the whole one's as well. */
  return fabs (middle.bow - bow->bow) < MAX_SIGMAS * hypot (middle.u, bow->u);
}

static gboolean
stretch_of (const WsOutline *outline, const WsRun *run, guint stride, double least,
            Stretch *stretch)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)outline->points->data;
  const guint from = run->from * stride, n = (run->to - run->from) * stride;
  const guint trim =
    (guint)ceil (MAX (TRIM * n, TRIM_BLURS * outline->blur_px / outline->spacing_px));
  if (n <= 2 * trim || (n - 2 * trim) * outline->spacing_px < least)
    return FALSE;
  const WsEdgePoint *first = &points[from + trim], *last = &points[from + n - trim - 1];
  const double dx = last->x - first->x, dy = last->y - first->y, length = hypot (dx, dy);
  if (!(length >= 0.9 * least))
    return FALSE;
  *stretch = (Stretch){ .points = first,
                        .n = n - 2 * trim,
                        .centre = { 0.5 * (first->x + last->x), 0.5 * (first->y + last->y) },
                        .direction = { dx / length, dy / length },
                        .normal = { -dy / length, dx / length },
                        .half = 0.5 * length };
  return TRUE;
}

typedef struct
{
  double tell, told, squares; /* sums of p^2, p b and b^2 over u^2 */
  guint lines;
} Sums;

WsPlumb
wsi_plumb_find (const WsOutline *outline, guint width, guint height)
{
  const guint stride = MAX (1, outline->points->len / CUT_POINTS);
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)outline->points->data;
  const WsPoint middle = { 0.5 * (width - 1.0), 0.5 * (height - 1.0) };
  const double corner = hypot (middle.x, middle.y);
  g_autoptr (GArray) runs =
    wsi_runs_cut (points, outline->points->len, stride, CUT_SHORTEST, PRICE);
  Sums sums = { 0 };
  for (guint i = 0; i < runs->len; i++)
  {
    Stretch stretch;
    Bow bow;
    if (!stretch_of (outline, &g_array_index (runs, WsRun, i), stride, 2 * LEAST_LENGTH * corner,
                     &stretch) ||
        !measure_bow (&stretch, &bow))
      continue;
    const double away = (stretch.centre.x - middle.x) * stretch.normal.x +
                        (stretch.centre.y - middle.y) * stretch.normal.y;
    const double h = stretch.half / corner, predicted = -away * h * h;
    const double weight = 1 / (bow.u * bow.u + OWN_BOW_PX * OWN_BOW_PX);
    sums.tell += weight * predicted * predicted;
    sums.told += weight * predicted * bow.bow;
    sums.squares += weight * bow.bow * bow.bow;
    sums.lines++;
  }
  WsPlumb plumb = { .u = HUGE_VAL, .lines = sums.lines };
  if (sums.lines < 2 || !(sums.tell > 0))
    return plumb;
  plumb.distortion = sums.told / sums.tell;
  const double left = (sums.squares - plumb.distortion * sums.told) / (sums.lines - 1);
  plumb.u = sqrt (MAX (left, 1) / sums.tell);
  return plumb;
}
