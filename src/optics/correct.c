#include "optics/correct.h"

#include "base/geometry.h"
#include "optics/lens.h"

/* Length of the step along the normal that shows how the lens turns it, px. */
#define STEP_PX 4.0

static void
correct_point (const WsLens *lens, WsEdgePoint *point)
{
  const WsPoint normal = { point->nx, point->ny };
  const WsPoint edge =
    wsi_point_along (wsi_point (point->x, point->y), lens->parameters[WS_LENS_EDGE_SHIFT], normal);
  /* A lens keeps tangents; the normal follows from where the tangent goes. */
  const WsPoint ahead =
    ws_lens_to_ideal (lens, wsi_point_along (edge, STEP_PX, wsi_point (-normal.y, normal.x)));
  const WsPoint ideal = ws_lens_to_ideal (lens, edge);
  const WsPoint run = wsi_point_sub (ahead, ideal);
  const double length = wsi_point_length (run);
  if (!(length > 0))
  {
    point->on_frame = TRUE;
    return;
  }
  point->x = ideal.x;
  point->y = ideal.y;
  point->nx = (float)(run.y / length);
  point->ny = (float)(-run.x / length);
}

void
wsi_optics_correct (const WsOptics *optics, WsOutline *outline)
{
  if (optics->lens == NULL)
    return;
  for (guint i = 0; i < outline->points->len; i++)
  {
    WsEdgePoint *point = &g_array_index (outline->points, WsEdgePoint, i);
    if (!point->on_frame)
      correct_point (optics->lens, point);
  }
}
