#include "tool/form/squeeze.h"

#include <math.h>

#include "base/geometry.h"
#include "maths/least_squares.h"

/* Shift, turn, size, and the two ways a square becomes a rhomb or an oblong: how an affine map
 * moves a point along the profile's normal. */
#define N_TERMS 6

/* Each segment holds a place and a direction: of five there are four more than the map has terms,
 * which no grinder's fault meets by chance. */
#define LEAST_SEGMENTS 5

/* So much nearer must the outline come, root mean square, and by so much at least. */
#define FAR_BETTER 0.3
#define LEAST_SQUEEZE 0.003

/* Less than this is no reason to look for one, px. */
#define LEAST_RMS_PX 0.1

#define ROUNDS 4

static void
row_of (const WsFormPoint *p, WsPoint pivot, double row[N_TERMS])
{
  const WsPoint r = wsi_point_sub (p->foot, pivot), n = p->normal;
  row[0] = n.x;
  row[1] = n.y;
  row[2] = wsi_point_cross (r, n);
  row[3] = wsi_point_dot (r, n);
  row[4] = r.x * n.x - r.y * n.y;
  row[5] = r.x * n.y + r.y * n.x;
}

static guint
n_segments (const WsFormFit *fit)
{
  guint n = 0, last = 0;
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsFormPoint *p = &g_array_index (fit->points, WsFormPoint, i);
    if (!p->at_corner && p->number != last)
    {
      n++;
      last = p->number;
    }
  }
  return n;
}

/* Root mean square of what `terms` leave; weights of the next round by it. */
static double
left_over (const WsFormFit *fit, const double terms[N_TERMS], double *weights)
{
  const guint n = fit->points->len;
  double squares = 0, length = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = &g_array_index (fit->points, WsFormPoint, i);
    double row[N_TERMS], d = p->deviation;
    row_of (p, fit->pivot, row);
    for (guint k = 0; k < N_TERMS; k++)
      d -= terms[k] * row[k];
    weights[i] = fabs (d);
    squares += p->at_corner ? 0 : p->length * d * d;
    length += p->at_corner ? 0 : p->length;
  }
  const double rms = length > 0 ? sqrt (squares / length) : 0;
  for (guint i = 0; i < n; i++)
  {
    const WsFormPoint *p = &g_array_index (fit->points, WsFormPoint, i);
    weights[i] = p->at_corner || weights[i] > 3 * rms ? 0 : p->length;
  }
  return rms;
}

double
wsi_form_squeeze (const WsFormFit *fit)
{
  if (!(fit->rms > LEAST_RMS_PX) || n_segments (fit) < LEAST_SEGMENTS)
    return 0;
  double terms[N_TERMS] = { 0 }, rms = 0;
  g_autofree double *weights = g_new (double, fit->points->len + 1);
  left_over (fit, terms, weights);
  for (guint round = 0; round < ROUNDS; round++)
  {
    WsLeastSquares sums;
    wsi_least_squares_init (&sums, N_TERMS);
    for (guint i = 0; i < fit->points->len; i++)
    {
      const WsFormPoint *p = &g_array_index (fit->points, WsFormPoint, i);
      double row[N_TERMS];
      row_of (p, fit->pivot, row);
      wsi_least_squares_add (&sums, row, p->deviation, weights[i]);
    }
    if (!wsi_least_squares_solve (&sums, terms, NULL))
      return 0;
    rms = left_over (fit, terms, weights);
  }
  const double by = 2 * hypot (terms[4], terms[5]);
  return rms < FAR_BETTER * fit->rms && by > LEAST_SQUEEZE ? by : 0;
}
