/*
 * The lines, arcs and corners of a tool's outline as quantities, without a nominal profile.
 */
#ifndef WS_TOOL_FORM_SEGMENTS_H
#define WS_TOOL_FORM_SEGMENTS_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "edge/chain.h"
#include "edge/outline.h"
#include "tool/flank/burn_outline.h"

G_BEGIN_DECLS

enum
{
  WS_FORM_DEVIATION_MAX,
  WS_FORM_DEVIATION_MIN,
  WS_FORM_DEVIATION_RMS,
  WS_FORM_PROFILE_TURN,
  WS_FORM_BURR_HEIGHT,
  WS_FORM_BURR_LENGTH,
  WS_FORM_SEGMENT_DEVIATION, /* numbered from here on */
  WS_FORM_SEGMENT_ANGLE,
  WS_FORM_SEGMENT_RADIUS,
  WS_FORM_CORNER_ANGLE,
  WS_FORM_BURN, /* and so on, as in burn_outline.h */
  WS_FORM_N_QUANTITIES = WS_FORM_BURN + WS_BURN_OUTLINE_N
};

/* All quantities of form-plan. */
extern const WsQuantityInfo wsi_form_quantities[WS_FORM_N_QUANTITIES];

/* Where segments and corners come from. */
typedef struct
{
  const WsImage *image;
  const WsOutline *outline;
  const WsOptics *optics;
  const WsLens *lens; /* the calibration's, or wsi_unknown_lens() */
  WsResult *result;
  double axis;         /* direction that angles are told from, rad, counter-clockwise as seen */
  double u_axis;       /* its standard uncertainty */
  const char *against; /* for people: "the picture's rows" */
  guint n_corners;     /* added so far */
  const double
    *drawn; /* direction that each piece is drawn with, degrees; NULL without a profile */
} WsFormAdding;

/* Adds the pieces of one run as segments, piece i under numbers[i], and their corners. */
void wsi_form_pieces_add (WsFormAdding *adding, const WsPoint *points, const GArray *pieces,
                          const guint *numbers);

/* "3.125 mm" or "312.5 px".  Free with g_free(). */
char *wsi_form_size_words (const WsOptics *optics, double px);

/* How far a sound outline scatters about its form: its points, and the ground edge; px. */
double wsi_form_scatter (const WsOutline *outline);

/* Lines of a budget: a plate that leans, of an angle (`arm` 1) or of places that far from what is
 * held, px; and what is left of a round edge's rounding by blur, px. */
void wsi_form_add_lean_line (WsQuantity *quantity, double arm, const WsOptics *optics);
void wsi_form_add_rounding_line (WsQuantity *quantity, double rounding, const WsOptics *optics);

/* The blur's reach from a corner, px. */
double wsi_form_guard (const WsOutline *outline);

/* Adds segments and corners with budgets, findings with their places, and marks; makes the
 * result a retake when there is not one segment. */
void wsi_form_segments_add (const WsImage *image, const WsOutline *outline, const WsOptics *optics,
                            WsResult *result);

G_END_DECLS

#endif
