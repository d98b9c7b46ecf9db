/*
 * Burn along the edges of an outline: for views that measure silhouettes, where the picture has
 * colour and light falls on the tool's surface.
 */
#ifndef WS_TOOL_FLANK_BURN_OUTLINE_H
#define WS_TOOL_FLANK_BURN_OUTLINE_H

#include <whetsight/card.h>
#include <whetsight/result.h>

#include "edge/outline.h"
#include "tool/flank/burn_report.h"

G_BEGIN_DECLS

/* For the list that a view declares, at its end: of views that see the face square on, and of those
 * that see it foreshortened and tell no depth. */
#define WS_BURN_OUTLINE_N WS_BURN_N
#define WS_BURN_OUTLINE_QUANTITIES WS_BURN_QUANTITIES
#define WS_BURN_SLANTED_N (WS_BURN_N - 1)
#define WS_BURN_SLANTED_QUANTITIES WS_BURN_AREA_QUANTITY, WS_BURN_LENGTH_QUANTITY

typedef struct WsBurnEdges WsBurnEdges;

/* NULL for pictures without colour and for silhouettes, at next to no cost.  All are borrowed, the
 * outline only until edges are added; it is NULL for edges inside the tool, which then are added by
 * wsi_burn_edges_add_columns().  Free with wsi_burn_edges_free(). */
WsBurnEdges *wsi_burn_edges_new (const WsImage *image, const WsOptics *optics,
                                 const WsOutline *outline);
void wsi_burn_edges_free (WsBurnEdges *edges);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBurnEdges, wsi_burn_edges_free)

/* A cutting edge: the outline's points from `from` on, `n` of them, on from its first after its
 * last.  At most two.  `label`: static, or NULL.  Nothing with NULL. */
void wsi_burn_edges_add (WsBurnEdges *edges, const WsOutline *outline, const char *label,
                         guint from, guint n);

/* An edge inside the tool: copies `n` places, about a px apart, each with the direction (unit) that
 * heat is followed in, up to `depth` px.  Ideal picture. */
void wsi_burn_edges_add_columns (WsBurnEdges *edges, const WsPoint *places, const WsPoint *inwards,
                                 guint n, double depth);

/* The longest stretch of outline between stretches of frame. */
void wsi_burn_edges_add_longest (WsBurnEdges *edges, const WsOutline *outline);

/*
 * Judges them and adds quantities, findings and marks.  With NULL, or where all is grey, adds
 * unknown quantities if the card has limits for them, else nothing.
 */
void wsi_burn_edges_report (WsBurnEdges *edges, const WsToolCard *card, const WsOptics *optics,
                            gboolean depth_is_seen, WsResult *result);

/* Does a band of another lustre run along the first edge, as a wear land does along a flank's?
 * `blur`: the outline's, px.  FALSE with NULL. */
gboolean wsi_burn_edges_show_land (const WsBurnEdges *edges, double blur_px);

G_END_DECLS

#endif
