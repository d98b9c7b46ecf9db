/*
 * An outline laid beside its nominal profile: what is compared, and how far they are apart.
 */
#ifndef WS_TOOL_FORM_COMPARISON_H
#define WS_TOOL_FORM_COMPARISON_H

#include <whetsight/card.h>
#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/form/fit.h"
#include "tool/form/lens.h"

G_BEGIN_DECLS

typedef struct
{
  const WsImage *image;
  const WsOutline *outline;
  const WsToolCard *card;
  const WsOptics *optics;
  const WsLens *lens; /* the calibration's, or wsi_unknown_lens() */
  WsResult *result;
  WsFormTask task;
  const WsFormFit *fit;
  double *map;               /* smoothed deviation of every point, px; NAN at corners */
  guint *counts;             /* of points that each of its means stands on */
  const double *beside;      /* how far something beside the edge may have moved each mean, px */
  double u_window;           /* of each of its means, as seen; 0: points are independent */
  const WsFormLensU *lens_u; /* of every point's deviation */
} WsFormComparison;

/* The same quantities from a fit: greatest, least, RMS, then each segment's. */
typedef struct
{
  double max, min, rms; /* px; NAN when there is nothing to tell */
  gint at_max, at_min;
  guint n;       /* of numbers */
  double *worst; /* by number, from 1; NAN where nothing was seen */
  gint *at;
} WsFormSummary;

void wsi_form_summary_clear (WsFormSummary *summary);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsFormSummary, wsi_form_summary_clear)

static inline const WsFormPoint *
wsi_form_fit_point (const WsFormFit *fit, guint i)
{
  return &g_array_index (fit->points, WsFormPoint, i);
}

/* Deviations are means over so much outline, px. */
double wsi_form_window_px (const WsOutline *outline);

/* Of all its segments. */
double wsi_form_profile_px (const WsContour *nominal, double scale);

/* Points beside the profile farther apart than this have something missing between them, px. */
double wsi_form_gap_px (const WsOutline *outline);

/* Running means along the profile, within one segment and away from corners, and unless
 * `beside_gaps` from where the outline leaves the profile; NAN there.  `counts`: of how many points
 * each.  Free with g_free(). */
double *wsi_form_smooth (const WsFormComparison *work, gboolean beside_gaps, guint *counts);

/* The place, px, below which so much of a segment lies on the map; 0 where none of it does. */
double wsi_form_level (const WsFormFit *fit, const double *map, guint number, double share);

/* How far what lies beside the edge, or lets a part of the light through, may have moved each of
 * the map's means, px; 0 where nothing shows in the edge's shape.  Free with g_free(). */
double *wsi_form_veils (const WsFormComparison *work, const double *map);

/* Standard deviation of such means, from how those of windows beside each other differ: where
 * errors of neighbouring points are alike, it doesn't fall with their number.  0 with too few of
 * them. */
double wsi_form_window_u (const WsFormFit *fit, const double *map, double window);

/* Clear with wsi_form_summary_clear(). */
void wsi_form_summarise (const WsFormFit *fit, const double *map, guint n_numbers,
                         WsFormSummary *summary);

G_END_DECLS

#endif
