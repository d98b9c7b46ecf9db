/*
 * The fit of both flanks' forms to all pictures: docs/methods/drill-roll.md, (R35) to (R40).
 */
#ifndef WS_TOOL_DRILL_ROLL_FLANK_FIT_H
#define WS_TOOL_DRILL_ROLL_FLANK_FIT_H

#include "tool/drill/roll/flank_form.h"

G_BEGIN_DECLS

#define WS_FLANK_N_UNKNOWNS (2 * WS_FLANK_N)

/* What is known of a flank's terms beforehand, in radii. */
extern const double wsi_flank_usual[WS_FLANK_N];

typedef struct
{
  WsLipFit take; /* frames and points; its unknowns are the lips' */
  WsFlankForm form;
  guint n_terms; /* of each flank's that are free, by their order */
  /* Turns up to which lip a's, b's flank is the outline all along, and near the axis, degrees. */
  double limit[2], inner[2];
  double agrees;   /* by how much a side may stand off, radii */
  double slide;    /* of the frames along the axis, standard deviation, radii */
  double sigma;    /* radii */
  double wide;     /* what it is at least, radii */
  GArray *touched; /* of WsFlankTouch, one a point */
  /* Normal equations, slides eliminated. */
  double whole[WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS], wb[WS_FLANK_N_UNKNOWNS];
} WsFlankFit;

/* What a point rests on. */
typedef struct
{
  WsFlankContact contact;
  double rest, weight;
  gboolean on_flank, counts;
} WsFlankTouch;

static inline WsFlankTouch *
wsi_flank_touch (const WsFlankFit *fit, guint i)
{
  return &g_array_index (fit->touched, WsFlankTouch, i);
}

/* Points lie frame by frame: the first one of the frame after that of `from`. */
guint wsi_flank_fit_next_frame (const WsFlankFit *fit, guint from);

/* Where every point touches, by the form so far; weights stay. */
void wsi_flank_fit_touch (WsFlankFit *fit);

/* Rounds of Gauss and Newton, halved where they overshoot; a point counts although it stands off by
 * `wide`, in radii, at first. */
gboolean wsi_flank_fit_run (WsFlankFit *fit, guint rounds, double wide);

/* Whether no term that bends a flank's form stands off what is usual by more than so many spreads.
 */
gboolean wsi_flank_fit_is_likely (const WsFlankFit *fit, double spreads);

/* Covariance of the terms: by the outline's noise, of which neighbours share much and which what is
 * known beforehand bounds, and by each frame's turn. */
gboolean wsi_flank_fit_covariance (const WsFlankFit *fit,
                                   double C[WS_FLANK_N_UNKNOWNS * WS_FLANK_N_UNKNOWNS]);

G_END_DECLS

#endif
