/*
 * Is it drawn?  Ground metal has a grain and cameras have noise, drawings and screens neither.
 */
#ifndef WS_TOOL_FLANK_DRAWN_H
#define WS_TOOL_FLANK_DRAWN_H

#include <whetsight/image.h>
#include <whetsight/point.h>

G_BEGIN_DECLS

/* Start with { 0 }. */
typedef struct
{
  guint n;    /* pixels looked at */
  guint even; /* of them, as light as the one beside it to the last bit */
} WsDrawn;

/* Looks at the pixel at `at`; over-exposed ones and those outside tell nothing. */
void wsi_drawn_look (WsDrawn *drawn, const WsImage *image, WsPoint at);

/* FALSE where nothing was looked at. */
gboolean wsi_is_drawn (const WsDrawn *drawn);

G_END_DECLS

#endif
