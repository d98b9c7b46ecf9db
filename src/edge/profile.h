/*
 * One scan line across an edge, fitted with a blurred step.
 */
#ifndef WS_EDGE_PROFILE_H
#define WS_EDGE_PROFILE_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_PROFILE_MAX_SAMPLES 129

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
gboolean ws_profile_fit (const float *samples, guint n, gboolean fit_blur, WsProfile *start);

G_END_DECLS

#endif
