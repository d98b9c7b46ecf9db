/*
 * Discrete Fourier transform of real values.
 */
#ifndef WS_MATHS_SPECTRUM_H
#define WS_MATHS_SPECTRUM_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  double re, im;
} WsComplex;

/* Sums of values[i] exp (-2 pi j i k / n) for k = 0 .. n / 2 into `bins`, for n above 0. */
void wsi_spectrum (const double *values, guint n, WsComplex *bins);

G_END_DECLS

#endif
