/*
 * Gates: what the errors over many pictures must keep to, quantity by quantity, never pooled.  Each
 * lies so near to what is achieved that a change for the worse is noticed.
 */
#ifndef TRIAL_GATES_H
#define TRIAL_GATES_H

#include "trial/trial.h"

G_BEGIN_DECLS

/* Whether the environment variable WHETSIGHT_FEW_SCENES is set, as for builds with sanitizers,
 * which are slow and look for other things.  With few scenes shares and ratios mean nothing and
 * aren't asked; each picture is. */
gboolean trial_few_scenes (void);

/* How many scenes to look at: `full`, or with few scenes `few`. */
guint trial_scenes (guint full, guint few);

/* The same for what is looked at on a sample each time, and at large with WHETSIGHT_MANY_SCENES in
 * the environment. */
guint trial_sample (guint large, guint usual, guint few);

typedef struct
{
  TrialQuantity quantity;
  double rms;      /* about 1.5 times what is achieved; degrees or parts of the size */
  double padding;  /* median U over RMS, at most, without what scenes don't have:
                       alignment, unknown lens, skew and pixels not square; 0: 3 */
  double U;        /* median U at most, alignment included: what is useful; 0: not asked */
  double coverage; /* share of errors that U covers, at least; 0: 0.95 */
} TrialGate;

/* Each quantity's RMS and, of 20 errors and more, padding keep to its gate, U covers the error in
 * 95 % of pictures, no error is greater than five times the RMS gate and U, and no quantity is
 * there without a gate. Prints what was achieved and what was asked when not, or when the
 * environment variable WHETSIGHT_GATES is set. */
gboolean trial_gates_hold (const char *what, const TrialTable *table, const TrialGate *gates,
                           gsize n_gates);

/* One line a quantity that U covers too seldom or covers by padding, for benchmarks, which have
 * scenes of their own and so no RMS to keep to; "" when there is none.  Free with g_free(). */
char *trial_gates_short (const TrialTable *table);

G_END_DECLS

#endif
