/*
 * The tool's outline at sub-pixel accuracy.
 *
 * The boundary between pixels on either side of the local threshold is followed in
 * the full picture, then each row or column that crosses it (whichever is nearer to
 * the outline's normal) is fitted with ground + step * Phi ((t - d) / s) in linear
 * light.  The samples are the pixels themselves, never interpolated, so their noise
 * stays white.  The fit reaches the Cramer-Rao bound for one scan line,
 * (noise / step) sqrt (2 sqrt(pi) s) with known levels and 1.28 times that with levels taken
 * from the same window, and is unbiased for a straight edge to below
 * 0.003 px at blurs of 0.5 px and more.
 */
#ifndef WS_EDGE_OUTLINE_H
#define WS_EDGE_OUTLINE_H

#include "edge/boundary.h"
#include "edge/find/segment.h"

G_BEGIN_DECLS

/* One scan line's crossing of the outline. */
typedef struct
{
  double x, y;        /* px; one of both is a whole number */
  float nx, ny;       /* unit normal, toward the ground */
  float noise;        /* RMS residual of the fit / step */
  float step;         /* |ground - tool|, linear light 0 .. 1 */
  gboolean on_frame;  /* the picture's border, not the tool's edge */
  gboolean after_gap; /* before it points were left out: tool and ground are too much alike */
} WsEdgePoint;

/* Of the outline's edge, averaged; see edge/spread.h. */
typedef struct
{
  guint scans;      /* scan lines that were averaged; with too few all else is 0 */
  guint phases;     /* sixteenths of a pixel in which edges lie, 0 .. 16 */
  double one_phase; /* greatest share of the scan lines whose edge lies within three of them */

  /* How far the light beside the edge rises above the ground's, as a part of the step; 0 up to what
   * plain pictures and noise show.  Lenses and sensors only ever spread an edge; sharpening lifts
   * the light beside it, and since it acts on codes it moves the edge as well. */
  double overshoot;

  /* RMS of what is lopsided, as a part of the step: lenses spread light alike to both sides of an
   * edge, and a curve that isn't the one by which codes were turned into light bends that.  0 up to
   * what plain pictures and noise show, and where the ground is clipped. */
  double lopsided;

  /* Of the light away from the edge, of full scale: mean, and standard deviation from pixel to
   * pixel. */
  double tool, ground;
  double tool_noise, ground_noise;

  /* By what part the ground's noise differs less between neighbours than between neighbours but
   * one: 0 of a sensor's, more where it was interpolated. */
  double alike;
} WsEdgeSpread;

typedef struct
{
  GArray *points;    /* of WsEdgePoint, in order along the outline, tool on the right-hand
                        side when walking (y down) */
  double spacing_px; /* of neighbouring points: 1, more on very long outlines */
  double blur_px;    /* median standard deviation of the edge spread, along the normal */
  double blur_min_px, blur_max_px; /* least and greatest over directions of the normal */
  double noise;                    /* median RMS residual / step */
  WsEdgeSpread spread;             /* nothing unless sought */
  gboolean backlit;                /* darker than the ground and evenly so */
  gboolean evenly_lit;             /* brighter than the ground and as even as a shadow */
  gboolean front_lit;              /* levels of the tool vary along the outline */
  double left_out;                 /* share of the outline without points */
  double widest_gap_px;            /* between neighbouring points where some were left out */
  double uneven_px; /* RMS of how far uneven light beside the edge had moved points, or may have */
} WsOutline;

/* NULL when the boundary is not one closed curve of sensible length (noise).
 * Free with wsi_outline_free(). */
WsOutline *wsi_outline_trace (const WsImage *image, const WsSegment *segment);

/* The crack of a point that was found, and what `blur_px` along the normal is along its scan line.
 */
WsCrack wsi_outline_crack (const WsEdgePoint *p, double blur_px, double *blur);

/* Where outlines are worked on, so that one frame after the other needs no memory of its own. */
typedef struct
{
  GArray *values; /* of double */
  GByteArray *flags;
} WsOutlineRoom;

/* Room for outlines of up to `n` boundary steps.  Clear with wsi_outline_room_clear(). */
void wsi_outline_room_init (WsOutlineRoom *room, guint n);
void wsi_outline_room_clear (WsOutlineRoom *room);

/*
 * The outline along a boundary that is known (edge/boundary.h), into an outline with what it held
 * thrown away; FALSE when it is none.  Allocates nothing where outline and room are large enough,
 * and the segment has no mask.
 */
gboolean wsi_outline_retrace (const WsImage *image, const WsSegment *segment, const GArray *cracks,
                              WsOutlineRoom *room, WsOutline *outline);

/* One with room for `n` points and nothing in it. */
WsOutline *wsi_outline_new (guint n);

/* The same for the border of a hole in the tool; `inside` lies within the hole, in its left part
 * or middle.  The order is as above, so that one walks round the hole the other way, and
 * normals point into the hole.  NULL also when there is no hole. */
WsOutline *wsi_outline_trace_hole (const WsImage *image, const WsSegment *segment, WsPoint inside);

void wsi_outline_free (WsOutline *outline);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsOutline, wsi_outline_free)

G_END_DECLS

#endif
