/*
 * What making a picture smaller by leaving out rows and columns does to its edges.
 */
#ifndef WS_EDGE_SKIPPED_H
#define WS_EDGE_SKIPPED_H

#include "edge/outline.h"

G_BEGIN_DECLS

/*
 * Of every so many rows and columns, not a whole number, one was kept, so that the places of those
 * kept are off by up to half of it in turns: points of the outline then lie beside their neighbours
 * in step with the row and the column that they are in, whichever way the edge runs.
 *
 * How many rows or columns a turn has, where edges are in step by both and far enough off to
 * matter; 0 where they aren't, or too little outline is straight.  Of points before any correction
 * of the lens.
 */
double wsi_outline_skipped (const WsOutline *outline);

G_END_DECLS

#endif
