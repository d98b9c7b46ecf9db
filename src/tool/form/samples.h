/*
 * The outline's points as a profile is laid on them.
 */
#ifndef WS_TOOL_FORM_SAMPLES_H
#define WS_TOOL_FORM_SAMPLES_H

#include "edge/outline.h"

G_BEGIN_DECLS

/* An outline point with the direction in which the outline runs. */
typedef struct
{
  WsPoint at, heading;
  double length;
  double misfit;       /* of its scan line from the edge's shape, of the step (WsEdgePoint.noise) */
  gboolean is_crowded; /* its scan line meets another edge within its window */
  gboolean is_veiled;  /* along here something lets a part of the light through beside the edge */
  gboolean is_spoilt;  /* its scan line alone misfits: a pixel that reads wrong */
} WsFormSample;

/* Of WsFormSample: points of tool edge, the stretch each stands for within its neighbours.  Free
 * with g_array_unref(). */
GArray *wsi_form_samples (const WsOutline *outline);

G_END_DECLS

#endif
