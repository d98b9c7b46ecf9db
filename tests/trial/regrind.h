/*
 * Regrinds with known truth: what the program says was ground off, from pictures before and after.
 *
 *   trial regrind [--kind drill|blade|side|form|spot] [--n N] [--seed S] [--each]
 */
#ifndef TRIAL_REGRIND_H
#define TRIAL_REGRIND_H

#include <glib.h>

#include "scene/regrind.h"

G_BEGIN_DECLS

/* Of one pair; px. */
typedef struct
{
  char *refused;               /* why, or NULL */
  double error, U;             /* of `shorter` */
  double point_error, point_U; /* of a drill's point; from the side of `lower` */
} TrialRegrind;

/* Clear with trial_regrind_clear(). */
void trial_regrind_measure (SceneRegrindKind kind, guint64 seed, TrialRegrind *regrind);
void trial_regrind_clear (TrialRegrind *regrind);

/* The verb; gives the exit status: 0 when all are inside U and half a pixel. */
int regrind_main (int argc, char **argv);

G_END_DECLS

#endif
