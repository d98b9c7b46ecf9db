/*
 * Wire edges with known truth, in every silhouette view that tells them: how well height and length
 * are told, what is invented on clean tools, and what is taken for a chip or dirt.
 *
 *   trial burr [--kind drill|spot|blade-plan|blade-side|form-plan|form-side] [--n N] [--seed S]
 *              [--each] PROGRAM
 */
#ifndef TRIAL_BURR_H
#define TRIAL_BURR_H

#include <glib.h>

#include "scene/scene.h"

G_BEGIN_DECLS

typedef enum
{
  TRIAL_BURR_DRILL,
  TRIAL_BURR_SPOT,
  TRIAL_BURR_BLADE_PLAN,
  TRIAL_BURR_BLADE_SIDE,
  TRIAL_BURR_FORM_PLAN,
  TRIAL_BURR_FORM_SIDE,
  TRIAL_BURR_N_KINDS
} TrialBurrKind;

/* NAN: unknown. */
typedef struct
{
  double truth, told, U, least; /* px */
} TrialBurrNumber;

#define TRIAL_BURR_MOST 2

/* Of one picture; of a drill's lips a and b. */
typedef struct
{
  guint n;
  TrialBurrNumber height[TRIAL_BURR_MOST], length[TRIAL_BURR_MOST];
  gboolean chipped[TRIAL_BURR_MOST]; /* in truth */
  gboolean told_chip[TRIAL_BURR_MOST];
  gboolean told_wire, told_dirt;
  char *retake; /* its reason, or NULL */
  char *verdict;
} TrialBurr;

/* A flake of metal that hangs at an edge seen end-on: from its root on, which reaches into the tool
 * `inward`, `length` long along the other unit vector, as thick as `root` and `tip` there. */
ScenePolygon trial_burr_flake (ScenePoint at, ScenePoint inward, ScenePoint along, double length,
                               double root, double tip);

/* Clean where two of five seeds ask for it.  Clear with trial_burr_clear(). */
void trial_burr_measure (const char *program, TrialBurrKind kind, guint64 seed, TrialBurr *burr);
void trial_burr_clear (TrialBurr *burr);

/* The verb; gives the exit status: 0 when none is invented or mistaken, and all within a fifth and
 * a pixel. */
int burr_main (int argc, char **argv);

G_END_DECLS

#endif
