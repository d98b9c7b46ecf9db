#include "tool/form/sides.h"

#include "base/geometry.h"
#include "edge/chain.h"
#include "tool/form/runs.h"

/* Sides of a dovetail run along the drawing's y within this, and are this long beside the whole
 * outline (own trials). */
#define SIDE_RAD 0.09
#define SIDE_SHARE 0.06

typedef struct
{
  double heading, u, length; /* of a long line, rad, undirected */
  double u_lens;             /* of its heading, by a lens that nobody calibrated */
  WsPoint middle;
} Side;

/* Undirected angle between a and b, -pi/2 .. pi/2. */
static double
between (double a, double b)
{
  return remainder (a - b, G_PI);
}

static double
outline_size (const WsOutline *outline)
{
  double x0 = HUGE_VAL, x1 = -HUGE_VAL, y0 = HUGE_VAL, y1 = -HUGE_VAL;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &g_array_index (outline->points, WsEdgePoint, i);
    x0 = MIN (x0, p->x);
    x1 = MAX (x1, p->x);
    y0 = MIN (y0, p->y);
    y1 = MAX (y1, p->y);
  }
  return hypot (x1 - x0, y1 - y0);
}

/* With what the lens makes of its direction. */
static Side
side_of (const WsFormComparison *work, const WsChainPiece *piece)
{
  const WsPoint d = piece->line.direction, ends[2] = { piece->start, piece->end };
  const WsFormLensU lens = wsi_form_lens_direction (work->lens, ends);
  Side side = { .heading = atan2 (-d.y, d.x),
                .u = piece->line.u_angle,
                .length = wsi_point_distance (piece->start, piece->end),
                .middle = piece->line.centre };
  if (work->optics->lens != NULL)
    side.u = hypot (side.u, hypot (lens.calibration, lens.left_over));
  else
    side.u_lens = lens.calibration;
  return side;
}

/* Long lines along the profile's y that are no part of the profile. */
static GArray *
find_sides (const WsFormComparison *work)
{
  const WsChainRules rules = { work->task.scatter, 4, 1.5, (guint)ceil (work->task.guard) };
  const double y_axis = work->fit->angle + G_PI / 2, size = outline_size (work->outline);
  GArray *sides = g_array_new (FALSE, FALSE, sizeof (Side));
  g_autoptr (GPtrArray) runs = wsi_form_runs (work->outline);
  for (guint i = 0; i < runs->len; i++)
  {
    const WsFormRun *run = g_ptr_array_index (runs, i);
    g_autoptr (GArray) pieces = wsi_chain_split (run->points, run->n, &rules);
    for (guint k = 0; k < pieces->len; k++)
    {
      const WsChainPiece *piece = &g_array_index (pieces, WsChainPiece, k);
      const Side side = side_of (work, piece);
      if (piece->kind != WS_CHAIN_LINE || fabs (between (side.heading, y_axis)) > SIDE_RAD ||
          side.length < SIDE_SHARE * size)
        continue;
      gboolean is_profile = FALSE;
      for (guint j = 0; j < work->fit->points->len && !is_profile; j++)
        is_profile = wsi_point_distance (wsi_form_fit_point (work->fit, j)->at, side.middle) < 3;
      if (!is_profile)
        g_array_append_val (sides, side);
    }
  }
  return sides;
}

static int
longer_first (gconstpointer a, gconstpointer b)
{
  const double p = ((const Side *)a)->length, q = ((const Side *)b)->length;
  return p > q ? -1 : p < q;
}

gboolean
wsi_form_direction_by_sides (const WsFormComparison *work, WsFormDirection *direction)
{
  g_autoptr (GArray) sides = find_sides (work);
  g_array_sort (sides, longer_first);
  if (sides->len < 2)
    return FALSE;
  const double y_axis = work->fit->angle + G_PI / 2;
  double off = 0, squares = 0, by_lens = 0;
  for (guint i = 0; i < 2; i++)
  {
    const Side *side = &g_array_index (sides, Side, i);
    off += 0.5 * between (side->heading, y_axis);
    squares += 0.25 * side->u * side->u;
    by_lens += 0.25 * side->u_lens * side->u_lens;
  }
  *direction = (WsFormDirection){ work->fit->angle + off, sqrt (squares), sqrt (by_lens) };
  return TRUE;
}
