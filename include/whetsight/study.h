/*
 * Gauge studies: how much of the spread of measured values is the gauge's.
 *
 * Crossed design: every operator measures every part equally often.  Analysis of variance with
 * both factors random (AIAG, Measurement Systems Analysis, 4th ed. 2010; D. C. Montgomery, Design
 * and Analysis of Experiments, expected mean squares of the two-factor random model).
 */
#ifndef WHETSIGHT_STUDY_H
#define WHETSIGHT_STUDY_H

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  WS_STUDY_PART,
  WS_STUDY_OPERATOR,
  WS_STUDY_INTERACTION,
  WS_STUDY_REPEATABILITY,
  WS_STUDY_TOTAL,
  WS_STUDY_N_SOURCES
} WsStudySource;

typedef struct
{
  double ss; /* sum of squares */
  guint df;  /* degrees of freedom */
  double ms; /* mean square; NAN for the total */
  double f;  /* by the interaction's mean square; the interaction's by the repeatability's */
  double p;  /* of an F as great by chance; NAN where there is no F */
} WsStudyLine;

/* Variances; those that come out negative are 0. */
typedef enum
{
  WS_STUDY_GAUGE, /* repeatability and reproducibility */
  WS_STUDY_V_REPEATABILITY,
  WS_STUDY_REPRODUCIBILITY, /* operator and interaction */
  WS_STUDY_V_OPERATOR,
  WS_STUDY_V_INTERACTION, /* 0 when pooled */
  WS_STUDY_V_PART,
  WS_STUDY_V_TOTAL,
  WS_STUDY_N_COMPONENTS
} WsStudyComponent;

typedef struct
{
  guint parts, operators, trials;
  double mean;
  WsStudyLine anova[WS_STUDY_N_SOURCES];
  gboolean pooled;                 /* the interaction was taken into repeatability */
  double pooled_ms;                /* its mean square then, with */
  guint pooled_df;                 /* so many degrees of freedom */
  double pooled_f[2], pooled_p[2]; /* of part and operator, by that mean square */
  double variance[WS_STUDY_N_COMPONENTS];
  double percent_contribution[WS_STUDY_N_COMPONENTS]; /* of the total variance */
  double percent_study[WS_STUDY_N_COMPONENTS];        /* of the total standard deviation */
  guint categories; /* 1.41 x part over gauge standard deviation, cut off, at least 1 */
} WsStudy;

/* The usual threshold: the interaction is pooled when an F as great comes by chance more often
 * than this (0.25 keeps it in doubt; common practice, also 0.05, no source). */
#define WS_STUDY_POOL 0.25

/* `values`[(part * operators + operator) * trials + trial].  `pool` 0 .. 1: threshold; 1 never
 * pools.  Errors: WS_ERROR_DATA with fewer than 2 parts, operators or trials, or values that are
 * not finite. */
gboolean ws_study_crossed (const double *values, guint parts, guint operators, guint trials,
                           double pool, WsStudy *study, GError **error);

/* Text for people, with the threshold it was made with.  `tolerance`: width of the tolerance that
 * the gauge is for, or 0.  Free with g_free(). */
char *ws_study_text (const WsStudy *study, double pool, double tolerance);

/* One line of JSON; free with g_free(). */
char *ws_study_json (const WsStudy *study, double pool, double tolerance);

G_END_DECLS

#endif
