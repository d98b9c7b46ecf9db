/*
 * The flank under a cutting edge, seen square on: a blade or form tool that comes in from one
 * side of the picture and ends in a straight edge.
 */
#ifndef WS_TOOL_FACE_FACE_H
#define WS_TOOL_FACE_FACE_H

#include <whetsight/result.h>

#include "edge/find/coarse.h"
#include "edge/line.h"
#include "tool/flank/strip.h"

G_BEGIN_DECLS

typedef struct
{
  WsCoarse *coarse;
  WsStrip strip; /* its `lift` is owned here */
  WsLineFit line;
  double blur_px;   /* of the edge, standard deviation */
  gboolean in_part; /* the edge goes on beyond the picture */
} WsFace;

/* Does the tool come in from more than one side of the picture, so that its edge leaves it, too? */
gboolean wsi_face_goes_on (const WsFace *face);

/* FALSE when the picture can't be measured; the result then is a retake.  Clear in both cases
 * with wsi_face_clear(). */
gboolean wsi_face_find (const WsSampler *sampler, const WsOptics *optics, WsFace *face,
                        WsResult *result);
void wsi_face_clear (WsFace *face);

/* The flank in cells of a px; free with wsi_band_free(). */
WsBand *wsi_face_band (const WsFace *face, const WsSampler *sampler, const WsOptics *optics);

/* The same down to `depth` px. */
WsBand *wsi_face_deep_band (const WsFace *face, double depth, const WsSampler *sampler,
                            const WsOptics *optics);

G_END_DECLS

#endif
