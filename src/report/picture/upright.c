#include "report/picture/upright.h"

#include <math.h>

#include "base/geometry.h"

/* Nobody turns their head for less. */
#define LEAST_TURN_DEG 45.0

/* Room beside and above the tool, as parts of the area's width and height. */
#define ASIDE 0.14
#define ABOVE 0.16

/* ---- Where it points ----------------------------------------------------------------------- */

static const WsMark *
first_mark (const WsResult *result, WsMarkRole role)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    if (mark->role == role && mark->points->len >= 2)
      return mark;
  }
  return NULL;
}

static const WsMark *
last_mark (const WsResult *result, WsMarkRole role)
{
  const WsMark *last = NULL;
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    if (mark->role == role && mark->points->len >= 2)
      last = mark;
  }
  return last;
}

static gboolean
unit_vector (WsPoint of, WsPoint *unit)
{
  const double length = wsi_point_length (of);
  if (!(length > 0.0) || !isfinite (length))
    return FALSE;
  *unit = wsi_point (of.x / length, of.y / length);
  return TRUE;
}

gboolean
wsi_upright_direction (const WsResult *result, WsPoint *up)
{
  const WsMark *axis = first_mark (result, WS_MARK_AXIS);
  const WsMark *first = first_mark (result, WS_MARK_SEGMENT),
               *last = last_mark (result, WS_MARK_SEGMENT);
  /* An axis' mark runs toward the point. */
  if (axis != NULL)
    return unit_vector (wsi_point_sub (g_array_index (axis->points, WsPoint, 1),
                                       g_array_index (axis->points, WsPoint, 0)),
                        up);
  if (first == NULL)
    return FALSE;
  /* The tool is on the right-hand side of its outline. */
  const WsPoint run = wsi_point_sub (g_array_index (last->points, WsPoint, last->points->len - 1),
                                     g_array_index (first->points, WsPoint, 0));
  return unit_vector (wsi_point (run.y, -run.x), up);
}

gboolean
wsi_upright_helps (const WsResult *result)
{
  WsPoint up;
  return wsi_upright_direction (result, &up) && -up.y < cos (wsi_radians (LEAST_TURN_DEG));
}

/* ---- Turning ------------------------------------------------------------------------------- */

/* Lines of the tool itself. */
static gboolean
is_of_tool (WsMarkRole role)
{
  return role == WS_MARK_OUTLINE || role == WS_MARK_EDGE_LINE || role == WS_MARK_EDGE_USED ||
         role == WS_MARK_SEGMENT;
}

/* The box about the tool's marks, turned. */
static void
extent_of (const WsResult *result, const WsTurn *turn, WsPoint *low, WsPoint *high)
{
  *low = wsi_point (HUGE_VAL, HUGE_VAL);
  *high = wsi_point (-HUGE_VAL, -HUGE_VAL);
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    for (guint k = 0; is_of_tool (mark->role) && k < mark->points->len; k++)
    {
      const WsPoint p = g_array_index (mark->points, WsPoint, k);
      const WsPoint turned =
        wsi_point (turn->c * p.x - turn->s * p.y, turn->s * p.x + turn->c * p.y);
      *low = wsi_point (fmin (low->x, turned.x), fmin (low->y, turned.y));
      *high = wsi_point (fmax (high->x, turned.x), fmax (high->y, turned.y));
    }
  }
}

void
wsi_upright_turn (WsSheet *sheet, const WsResult *result)
{
  WsPoint up, low, high;
  if (!wsi_upright_direction (result, &up))
    return;
  /* Takes `up` to (0, -1). */
  WsTurn turn = { .is_turned = TRUE, .c = -up.y, .s = -up.x };
  extent_of (result, &turn, &low, &high);
  if (!(high.x > low.x))
    return;
  sheet->factor = fmin (sheet->factor, (1.0 - 2.0 * ASIDE) * sheet->width / (high.x - low.x));
  turn.origin = wsi_point (sheet->x + 0.5 * sheet->width - 0.5 * (low.x + high.x) * sheet->factor,
                           sheet->y + ABOVE * sheet->height - low.y * sheet->factor);
  sheet->turn = turn;
}
