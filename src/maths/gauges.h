/*
 * The same thing measured by several gauges, again and again: bias and spread of each, whether any
 * two agree, and whether one drifts.
 *
 * What a gauge reads in one week (one setting-up) counts once, as its mean, since readings of one
 * setting-up share what it did wrong.  Of w such means with standard deviation s, U is
 * k sqrt (s² / w + u²): u is what stays the same from reading to reading and no averaging takes
 * away, and k the factor of Student's t for 95 % with the effective degrees of freedom of Welch and
 * Satterthwaite (JCGM 100:2008, 4.2.3, 5.1.2, G.4.1).
 */
#ifndef WS_MATHS_GAUGES_H
#define WS_MATHS_GAUGES_H

#include <glib.h>

G_BEGIN_DECLS

/* Fewer weeks say too little of the scatter: U is that of a single reading then (common practice,
 * no source). */
#define WS_GAUGES_LEAST_SPREAD 3

/* Fewer weeks tell nothing of a drift (common practice, no source). */
#define WS_GAUGES_LEAST_DRIFT 5

/* Borrowed. */
typedef struct
{
  double day; /* since any Monday */
  double value;
  double u;         /* standard uncertainty of it all */
  double u_lasting; /* of that, what other readings of the gauge share */
} WsGaugeReading;

/* Unknown numbers are NAN. */
typedef struct
{
  const char *name;
  const WsGaugeReading *readings; /* in any order */
  gsize n;

  /* Set by wsi_gauges_compare(). */
  guint weeks;
  double mean;      /* of the weeks' means */
  double spread;    /* standard deviation of the weeks' means */
  double u_lasting; /* root mean square */
  double U;         /* of `mean`, 95 % */
  double bias, U_bias;
  double en; /* bias / U_bias */
  double span_days;
  double moved, U_moved; /* from the first to the last week, by a straight line */
} WsGauge;

typedef struct
{
  double reference, U_reference; /* NAN: there is none, and the weighted mean stands for it */
  WsGauge *gauges;
  gsize n;

  /* Set by wsi_gauges_compare(). */
  gboolean by_mean;
  double chi_square, chi_limit; /* of the mean: what it is, and what 95 % lie below; else NAN */
} WsGauges;

/* FALSE when there is neither a reference nor a second gauge with readings, so that nothing can be
 * said of biases; all else is set. */
gboolean wsi_gauges_compare (WsGauges *gauges);

/* E_n = (a - b) / sqrt (U_a² + U_b²), of expanded uncertainties: they agree up to 1 (ISO/IEC
 * 17043:2010, B.3.1.3 e; ISO 13528:2015, 9.7; both recalled from memory, the formula also read in
 * NIST's description of ISO 13528 E_n scores). */
double wsi_gauges_en (double a, double U_a, double b, double U_b);

/* Does the gauge stand apart (|E_n| > 1), has it moved more than U of that, and further than its
 * own U, so that it matters?  FALSE for unknown. */
gboolean wsi_gauge_is_apart (const WsGauge *gauge);
gboolean wsi_gauge_drifts (const WsGauge *gauge);
gboolean wsi_gauge_drifts_far (const WsGauge *gauge);

/* What |t| stays below with that probability, 0 < probability < 1. */
double wsi_t_factor (double probability, double freedom);

G_END_DECLS

#endif
