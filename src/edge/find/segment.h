/*
 * Where the tool is, roughly: background, tool and the threshold between them,
 * found on a reduced picture.  Good to about one reduced pixel; sub-pixel work
 * starts from here (outline.h).
 */
#ifndef WS_EDGE_FIND_SEGMENT_H
#define WS_EDGE_FIND_SEGMENT_H

#include <whetsight/image.h>
#include <whetsight/point.h>
#include <whetsight/retake.h>

#include "edge/find/field.h"

G_BEGIN_DECLS

/* Level at a place of the full picture, linear light, 0 .. 1. */
double wsi_level_at (const WsField *field, const WsImage *image, double x, double y);

typedef struct
{
  WsRetake trouble; /* WS_RETAKE_NONE, or why there is nothing to measure */
  char detail[96];  /* what was seen, when trouble */
  gboolean tool_is_dark;
  double tool_level;     /* median linear light of the tool, 0 .. 1 */
  double ground_level;   /* median linear light of the ground */
  double ground_clipped; /* share of ground at full scale */
  double tool_spread;    /* robust standard deviation of the tool's reduced pixels */
  double area_px;        /* the tool's area, px of the full picture */
  double beside;         /* area of what else lies in the picture, as part of the tool's */
  double holes;          /* what a brighter tool encloses as dark as the ground, as part of both */
  WsPoint inside;        /* a place well inside the tool */
  WsField threshold;     /* half-way between ground and tool */
  gboolean is_front_lit; /* the tool's own light is no small part of the ground's, or more */
  guint8 *mask;          /* 1 for the tool's pixels, where no threshold tells them: a front-lit tool
                            in part darker and in part brighter than the ground; else NULL */
} WsSegment;

/* Finds the one tool in the picture.  Free with wsi_segment_clear(). */
WsSegment wsi_segment_find (const WsImage *image);
void wsi_segment_clear (WsSegment *segment);

/* The same however over-exposed the ground is (see ground_clipped): for those who look at the light
 * beside the outline. */
WsSegment wsi_segment_find_clipped (const WsImage *image);

/* Finds the one dark thing before a bright ground, however much of the border it takes and
 * however over-exposed the ground is (see ground_clipped): for calibration, which can find out
 * how much the light blooms.  Holds nothing to free. */
WsSegment wsi_segment_find_backlit (const WsImage *image);

/* More of the ground at full scale than stray highlights account for. */
gboolean wsi_segment_is_clipped (const WsSegment *segment);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsSegment, wsi_segment_clear)

G_END_DECLS

#endif
