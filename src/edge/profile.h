/*
 * One scan line across an edge, fitted with a blurred step.
 */
#ifndef WS_EDGE_PROFILE_H
#define WS_EDGE_PROFILE_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_PROFILE_MAX_SAMPLES 129

#define WS_STEP_REACH 6
#define WS_STEP_PER_UNIT 16

/* The normal distribution at equal steps from -WS_STEP_REACH to WS_STEP_REACH.  Between them
 * Hermite's cubic is good to 1e-7, and ten times as fast as erfc(). */
typedef struct
{
  double cdf[2 * WS_STEP_REACH * WS_STEP_PER_UNIT + 2];
  double pdf[2 * WS_STEP_REACH * WS_STEP_PER_UNIT + 2];
} WsStepTable;

void wsi_step_table_fill (WsStepTable *table);

/* low + step * Phi ((t - place) / blur), t in samples. */
typedef struct
{
  double place;
  double blur; /* standard deviation along the scan line */
  double low;  /* level before the edge */
  double step; /* level after it, minus before */
  double rms;  /* of the residuals */
} WsProfile;

/*
 * Gauss-Newton on (place, low, step), and on blur too when `fit_blur`; `start` holds the
 * first guess and, without `fit_blur`, the blur.  FALSE when it does not converge to a
 * place inside the window.
 */
gboolean wsi_profile_fit (const WsStepTable *table, const float *samples, guint n,
                          gboolean fit_blur, WsProfile *start);

/*
 * Moves a profile that was fitted to where it lies when samples count by their noise: its variance
 * in the level before the edge is `share` of that after it, and rises with the light between.
 * FALSE, with the profile as it was, when that leads astray.
 */
gboolean wsi_profile_weigh (const WsStepTable *table, const float *samples, guint n, double share,
                            WsProfile *profile);

G_END_DECLS

#endif
