/*
 * Grinding marks: the texture by which a ground flank is told from what only has its shape.
 */
#ifndef WS_TOOL_FLANK_MARKS_H
#define WS_TOOL_FLANK_MARKS_H

#include "colour/band.h"

G_BEGIN_DECLS

typedef struct
{
  gboolean seen;    /* marks of one direction run over the whole flank */
  double coherence; /* 0: no direction, 1: one alone; where it is greatest of the scales */
  double direction; /* of the marks: rad from the edge's own, -pi/2 .. pi/2 */
  double agreeing;  /* share of the flank's parts whose marks run in that direction */
  double strength;  /* standard deviation of log light there, high frequencies alone */
  guint parts;      /* that could be looked at */
} WsMarks;

/* Looks at the cells from `from` px of depth on.  docs/methods/front-lit.md (L112). */
void wsi_marks_find (const WsBand *band, guint from, WsMarks *marks);

G_END_DECLS

#endif
